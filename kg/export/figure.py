"""The picture of a card: the views of a drawing without any words on it, small enough for hundreds in one file.

A drawing of its own names its pattern and says what is recorded; on a card the card says that, and a name on the picture
would give away what is covered. The strokes carry classes; ``STYLE`` gives their weights, and a page may colour them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING

from kg.render.html import text

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.draw.paths import Path
    from kg.draw.sheet import View

UNIT = 10
"""Units of the picture to a millimetre on paper: whole numbers are fine enough, and short."""
WIDE, TALL = 1200, 520
DETAIL_WIDE, DETAIL_TALL, CAPTION = 585, 190, 42
GAP = 30
STYLE = (
    "path{fill:none;stroke:#111;stroke-width:3;stroke-linecap:round;stroke-linejoin:round}"
    ".o,.s{stroke-width:8.5}.s{fill:#f1f3f3;paint-order:stroke}.f{fill:#f1f3f3;stroke:none;fill-rule:evenodd}"
    ".h{fill:#fff;stroke-width:4.2}.i{fill:#111;stroke:none}.g{fill:#d9dddd;stroke:none}.b{stroke-width:4.2}.x{stroke-width:1.8}"
    ".v{stroke:#555;stroke-dasharray:26 7 5 7}.d{stroke-dasharray:15 10}"
    "text{font:36px sans-serif;fill:#444}"
)
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_KINDS = {"hole": "h", "ink": "i", "shade": "g", "ghost": "v", "line": "", "bold": "b", "hair": "x"}


def figure(catalogue: Catalogue, pattern: str) -> str:
    """The picture of a pattern as an SVG element without a style; empty if nothing of it can be drawn."""
    from kg.draw.views import sheet_of

    sheet = sheet_of(catalogue, pattern)
    views = [v for v in sheet.views if any(i.strokes for i in v.items)]
    if not views:
        return ""
    body, y = "", 10
    if any(i.strokes for i in sheet.main.items):
        drawn, y = _view(sheet.main, 10, y, WIDE - 20, TALL, centre=True)
        body += drawn
        y += GAP
    x, below = 10, y
    for view in [v for v in views if v is not sheet.main]:
        if x + DETAIL_WIDE > WIDE:
            x, y = 10, below + GAP
        body += f'<text x="{x}" y="{y + 34}">{text(view.caption)}</text>' if view.caption else ""
        drawn, bottom = _view(view, x, y + CAPTION + 8, DETAIL_WIDE - GAP, DETAIL_TALL)
        body += drawn
        below = max(below, bottom)
        x += DETAIL_WIDE + 10
    high = max(y, below) + 10
    return f'<svg class="figure" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {high}">{body}</svg>'


def standing_alone(svg: str) -> str:
    """A picture of ``figure`` with its style, as a document of its own."""
    return svg.replace(">", f"><style>{STYLE}</style>", 1)


def _view(view: View, x: float, y: float, wide: float, tall: float, *, centre: bool = False) -> tuple[str, int]:
    """(the strokes of a view, scaled into a box; its bottom)."""
    left, top, right, bottom = view.bounds()
    scale = min(wide / max(right - left, 1e-6), tall / max(bottom - top, 1e-6), 6.0 * UNIT)
    dx = x - left * scale + ((wide - (right - left) * scale) / 2 if centre else 0)
    dy = y - top * scale
    out = []
    for item in view.items:
        for kind, paths in item.strokes:
            moved = [p.map(lambda at: (dx + at[0] * scale, dy + at[1] * scale)) for p in paths]
            out.append(_stroke(kind, moved, "d" if item.dashed else ""))
    return "".join(out), round(y + (bottom - top) * scale)


def _stroke(kind: str, paths: list[Path], dashed: str) -> str:
    data = [short(p.d()) for p in paths]
    if kind != "solid":
        return _path(f"{_KINDS[kind]} {dashed}".strip(), data)
    if len(data) == 1 and len(paths[0].runs) == 1:
        return _path(f"s {dashed}".strip(), data)
    # Outlines of all first, then all surfaces: shapes that overlap get one common outline.
    return _path(f"o {dashed}".strip(), data) + "".join(_path("f", [d]) for d in data)


def _path(kind: str, data: Iterable[str]) -> str:
    return f'<path class="{kind}" d="{"".join(data)}"/>' if kind else f'<path d="{"".join(data)}"/>'


def short(data: str) -> str:
    """Path data with whole numbers, relative to the point before (SVG 1.1, section 8.3), which is much shorter."""
    out: list[str] = []
    here = start = (0, 0)
    for command, numbers in re.findall(r"([MLCZ])([^MLCZ]*)", data):
        values = [round(float(n)) for n in _NUMBER.findall(numbers)]
        points = list(zip(values[::2], values[1::2], strict=True))
        if command == "Z":
            out.append("z")
            here = start
            continue
        if command == "L" and points[-1] == here:
            continue
        if command == "M":
            out.append("M" + _joined([points[0]]))
            here = start = points[0]
            continue
        out.append(command.lower() + _joined([(x - here[0], y - here[1]) for x, y in points]))
        here = points[-1]
    return "".join(out)


def _joined(points: list[tuple[int, int]]) -> str:
    texts = [str(n) for point in points for n in point]
    return "".join(t if i == 0 or t.startswith("-") else f" {t}" for i, t in enumerate(texts))
