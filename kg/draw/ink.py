"""Items as SVG: stroke weights, dashes and the data attributes by which a drawing can be read back."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from kg.draw.paths import Path, Point, number
from kg.draw.sheet import BOLD, GHOST, HAIR, HOLE, INK, LINE, SHADE, SOLID, Item
from kg.draw.words import escape

BLACK, GREY, PAPER, METAL = "#111", "#555", "#fff", "#f3f5f5"
OUTLINE, THIN, FINE = 0.42, 0.24, 0.15
"""Stroke weights on paper, in millimetres."""
DASH, GHOST_DASH = "1.5 1", "2.6 0.7 0.5 0.7"
FONT = "Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif"


def item_svg(item: Item, move: Callable[[Point], Point]) -> str:
    """An item with its facts as nested groups, outermost first."""
    body = "".join(_stroke(kind, [p.map(move) for p in paths], item.dashed) for kind, paths in item.strokes)
    if not body:
        return ""
    if item.label:
        body = f"<title>{escape(item.label)}</title>{body}"
    for tag in reversed(item.tags or ()):
        attributes = f'data-feature="{escape(tag.feature)}" data-value="{escape(tag.value)}" data-status="{escape(tag.status)}"'
        body = f"<g {attributes}>{body}</g>"
    return body if item.tags else f"<g>{body}</g>"


def _stroke(kind: str, paths: Sequence[Path], dashed: bool) -> str:
    dash = f' stroke-dasharray="{DASH}"' if dashed else ""
    data = [p.d() for p in paths]
    joined = "".join(data)
    if kind == SOLID:
        # Outlines of all first, then all surfaces: shapes that overlap get one common outline.
        under = f'<path fill="none" stroke="{BLACK}" stroke-width="{number(2 * OUTLINE)}"{dash} d="{joined}"/>'
        return under + "".join(f'<path fill="{METAL}" fill-rule="evenodd" d="{d}"/>' for d in data)
    if kind == HOLE:
        return f'<path fill="{PAPER}" stroke="{BLACK}" stroke-width="{number(OUTLINE)}"{dash} d="{joined}"/>'
    if kind == INK:
        return f'<path fill="{BLACK}" d="{joined}"/>'
    if kind == SHADE:
        return f'<path fill="#d9dddd" d="{joined}"/>'
    if kind == GHOST:
        return f'<path fill="none" stroke="{GREY}" stroke-width="{number(THIN)}" stroke-dasharray="{GHOST_DASH}" d="{joined}"/>'
    weight = {LINE: THIN, BOLD: OUTLINE, HAIR: FINE}[kind]
    return f'<path fill="none" stroke="{BLACK}" stroke-width="{number(weight)}"{dash} d="{joined}"/>'


def text_svg(
    x: float, y: float, text: str, size: float, *, anchor: str = "start", bold: bool = False, colour: str = BLACK
) -> str:
    """One line of text; direction is kept apart from what stands around it."""
    extra = ' font-weight="bold"' if bold else ""
    extra += f' text-anchor="{anchor}"' if anchor != "start" else ""
    return (
        f'<text x="{number(x)}" y="{number(y)}" font-size="{number(size)}" fill="{colour}"{extra}'
        f' unicode-bidi="isolate">{escape(text)}</text>'
    )


def lines_svg(
    x: float, y: float, lines: Iterable[str], size: float, *, anchor: str = "start", bold: bool = False, colour: str = BLACK
) -> str:
    """Lines of text under each other, 1.2 sizes apart; ``y`` is the first baseline."""
    return "".join(
        text_svg(x, y + 1.2 * size * i, text, size, anchor=anchor, bold=bold, colour=colour) for i, text in enumerate(lines)
    )


def stroke_svg(points: Sequence[Point], *, weight: float = THIN, dash: str = "", colour: str = BLACK) -> str:
    """A plain line through points."""
    data = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)
    extra = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<path fill="none" stroke="{colour}" stroke-width="{number(weight)}"{extra} d="{data}"/>'


def badge_svg(x: float, y: float, text: str, size: float) -> str:
    """A number on a black disc that ties a place to a list; ``x`` is the left edge, ``y`` the baseline."""
    r = badge_width(text, size) / 2
    disc = f'<rect x="{number(x)}" y="{number(y - 0.98 * size)}" width="{number(2 * r)}" height="{number(1.25 * size)}"'
    disc += f' rx="{number(0.62 * size)}" fill="{BLACK}"/>'
    return disc + text_svg(x + r, y, text, size * 0.86, anchor="middle", bold=True, colour=PAPER)


def badge_width(text: str, size: float) -> float:
    """How wide a badge is."""
    return max(1.25, 0.7 + 0.55 * len(text)) * size


def dot_svg(x: float, y: float, r: float = 0.45, colour: str = BLACK) -> str:
    return f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(r)}" fill="{colour}"/>'
