"""The page of a drawing: the main picture with its labels and scale, magnified views, the key, the caution.

All lengths are millimetres on paper. One pattern makes one column; two stand side by side, at one scale where both lengths
are recorded.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from kg.draw.ink import (
    BLACK,
    DASH,
    GHOST_DASH,
    GREY,
    OUTLINE,
    THIN,
    badge_svg,
    badge_width,
    item_svg,
    lines_svg,
    stroke_svg,
    text_svg,
)
from kg.draw.labels import Label, height, place, row_svg
from kg.draw.paths import number
from kg.draw.sheet import Sheet, View
from kg.draw.words import escape, wrap
from kg.wording import CAUTION

MARGIN = 7.0
ONE, TWO = 178.0, 132.0
"""Width of the column of one pattern alone, and of each of two."""
TALL = 62.0
"""The greatest height of the main picture."""
DETAIL_WIDE, DETAIL_TALL = 54.0, 21.0
TITLE, CAPTION, SMALL = 4.6, 2.7, 2.3
BARS = (5, 10, 20, 50, 100, 200)
STUDY = "Study aid: schematic, not to shape. Bends are turned into the plane of the page."


@dataclass
class Column:
    """One pattern's part of a page. ``rows`` are lines of the key: (sample, text); ``marks``: slot -> number of a difference.

    ``real``: whether the length is recorded, so that the scale means something.
    """

    sheet: Sheet
    title: str
    subtitle: str
    real: bool
    length_text: str
    rows: Sequence[tuple[str, str]] = ()
    marks: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Page:
    width: float
    height: float
    body: str


def compose(columns: Sequence[Column], differences: Sequence[tuple[str, str]] = ()) -> Page:
    """The page. ``differences``: (number, text) of what differs between two columns."""
    wide = ONE if len(columns) == 1 else TWO
    scales = [_scale(c, wide) for c in columns]
    if len(columns) > 1 and all(c.real for c in columns) and max(scales) < 3 * min(scales):
        scales = [min(scales)] * len(columns)
    total = MARGIN * 2 + wide * len(columns) + (len(columns) - 1) * MARGIN
    lefts = [MARGIN + i * (wide + MARGIN) for i in range(len(columns))]
    out = ['<rect width="100%" height="100%" fill="#fff"/>']
    y = MARGIN + TITLE
    for column, x in zip(columns, lefts, strict=True):
        out.append(lines_svg(x, y, wrap(column.title, wide, TITLE, 1), TITLE, bold=True))
        out.append(lines_svg(x, y + 4.4, wrap(column.subtitle, wide, CAPTION, 1), CAPTION, colour=GREY))
    y += 7.0
    mains = [_main(c, x, wide, s) for c, x, s in zip(columns, lefts, scales, strict=True)]
    above, tall, below = (max(m[k] for m in mains) for k in range(3))
    for main in mains:
        out.append(main[3](y + above, tall))
    y += above + tall + below + 6.5
    bottoms = []
    for column, x in zip(columns, lefts, strict=True):
        text, bottom = _details(column, x, y, wide)
        out.append(text)
        bottoms.append(bottom)
    y = max(bottoms)
    if differences:
        text, y = _differences(differences, y, total)
        out.append(text)
    bottoms = []
    for column, x in zip(columns, lefts, strict=True):
        text, bottom = _key(column.rows, x, y, wide)
        out.append(text)
        bottoms.append(bottom)
    y = max(bottoms) + 1.0
    out.append(stroke_svg([(MARGIN, y), (total - MARGIN, y)], weight=0.15, colour=GREY))
    out.append(lines_svg(MARGIN, y + 3.4, (STUDY, CAUTION), SMALL, colour=GREY))
    y += 3.4 + 2.4 * SMALL
    return Page(total, round(y + MARGIN - 3.0, 1), "".join(out))


# --- the main picture -----------------------------------------------------------------------------------------------
def _scale(column: Column, wide: float) -> float:
    left, top, right, bottom = column.sheet.main.bounds()
    return min((wide - 8.0) / max(right - left, 1e-6), TALL / max(bottom - top, 1e-6), 6.0)


def _main(column: Column, x: float, wide: float, scale: float):  # type: ignore[no-untyped-def]
    """(room above, height, room below, how to draw it when its top and its row's height are known)."""
    view = column.sheet.main
    left, top, right, bottom = view.bounds()
    across = (right - left) * scale
    start = x + (wide - across) / 2 - left * scale
    labels = _labels(column, view)
    shown = [Label(t, (start + ax * scale, ay * scale), m) for t, (ax, ay), m in labels]
    above, below, over = place(shown, x, x + wide, (top + bottom) / 2 * scale)
    own = (bottom - top) * scale

    def draw(y: float, row: float) -> str:
        lift = y + (row - own) / 2 - top * scale
        for found in (*above, *below):
            found.anchor = (found.anchor[0], found.anchor[1] + lift)
        body = "".join(item_svg(i, lambda p: (start + p[0] * scale, lift + p[1] * scale)) for i in view.items)
        body += row_svg(above, y + (row - own) / 2, above=True)
        body += row_svg(below, y + (row + own) / 2, above=False)
        body += _ruler(column, x + wide, y + row + height(below) + 5.0, scale)
        return body

    column.rows = [*column.rows, *(("", found.text) for found in over)]
    return height(above) + 3.0, own, height(below) + 4.5, draw


def _labels(column: Column, view: View) -> list[tuple[str, tuple[float, float], str]]:
    out: dict[str, tuple[str, tuple[float, float], str]] = {}
    for item in view.items:
        if item.label and item.anchor is not None and item.label not in out:
            mark = " ".join(dict.fromkeys(column.marks[s] for s in item.slots if s in column.marks))
            out[item.label] = (item.label, item.anchor, mark)
    return list(out.values())


def _ruler(column: Column, right: float, y: float, scale: float) -> str:
    """The scale bar; dashed where no length is recorded, since the drawing then has the size of its family only."""
    length = next((b for b in BARS if b * scale >= 12.0), BARS[-1])
    size = length * scale
    left = right - size
    dash = "" if column.real else "1 0.7"
    out = stroke_svg([(left, y), (right, y)], weight=OUTLINE, dash=dash)
    out += stroke_svg([(left, y - 0.9), (left, y + 0.9)]) + stroke_svg([(right, y - 0.9), (right, y + 0.9)])
    out += text_svg((left + right) / 2, y - 1.3, f"{length} mm", SMALL, anchor="middle", colour=GREY)
    return out + text_svg(left - 2.0, y + 0.8, column.length_text, SMALL, anchor="end", colour=GREY)


# --- magnified views ------------------------------------------------------------------------------------------------
def _details(column: Column, x: float, y: float, wide: float) -> tuple[str, float]:
    views = [v for v in column.sheet.views[1:] if v.items]
    if not views:
        return "", y
    columns = max(int(wide // DETAIL_WIDE), 1)
    out, tallest = [], 0.0
    for n, view in enumerate(views):
        if n and n % columns == 0:
            y += tallest
            tallest = 0.0
        left = x + (n % columns) * (wide / columns)
        text, used = _detail(view, left, y, wide / columns - 5.0, column.marks)
        out.append(text)
        tallest = max(tallest, used)
    return "".join(out), y + tallest


def _detail(view: View, x: float, y: float, wide: float, marks: Mapping[str, str]) -> tuple[str, float]:
    left, top, right, bottom = view.bounds()
    scale = min(wide / max(right - left, 1e-6), DETAIL_TALL / max(bottom - top, 1e-6), 1.6)
    mark = " ".join(dict.fromkeys(marks[s] for i in view.items for s in i.slots if s in marks))
    indent = badge_width(mark, CAPTION) + 1.0 if mark else 0.0
    out = [badge_svg(x, y + CAPTION, mark, CAPTION)] if mark else []
    out.append(text_svg(x + indent, y + CAPTION, view.caption, CAPTION, bold=True))
    dx, dy = x - left * scale + 0.5, y + 5.2 - top * scale
    out += [item_svg(i, lambda p: (dx + p[0] * scale, dy + p[1] * scale)) for i in view.items]
    used = 5.2 + (bottom - top) * scale
    notes = wrap(view.note, wide, SMALL) if view.note else []
    out.append(lines_svg(x, y + used + 3.4, notes, SMALL))
    return "".join(out), used + 3.4 + 1.2 * SMALL * len(notes) + 3.0


# --- the key --------------------------------------------------------------------------------------------------------
def _key(rows: Sequence[tuple[str, str]], x: float, y: float, wide: float) -> tuple[str, float]:
    """The lines of the key: a sample of the stroke, and what it stands for."""
    out = []
    for sample, text in rows:
        lines = wrap(text, wide - 13.0, SMALL)
        if sample in ("recorded", "not recorded", "varies"):
            dash = {"not recorded": DASH, "varies": GHOST_DASH}.get(sample, "")
            weight, colour = (THIN, GREY) if sample == "varies" else (OUTLINE, BLACK)
            out.append(stroke_svg([(x, y + 1.6), (x + 10, y + 1.6)], weight=weight, dash=dash, colour=colour))
        out.append(lines_svg(x + 13, y + SMALL, lines, SMALL))
        y += 1.2 * SMALL * len(lines) + 0.9
    return "".join(out), y


def _differences(rows: Sequence[tuple[str, str]], y: float, total: float) -> tuple[str, float]:
    out = [text_svg(MARGIN, y + CAPTION, "What differs", CAPTION, bold=True)]
    y += CAPTION + 1.6
    for mark, text in rows:
        lines = wrap(text, total - 2 * MARGIN - 9.0, CAPTION)
        out.append(badge_svg(MARGIN, y + CAPTION, mark, CAPTION))
        out.append(lines_svg(MARGIN + 9, y + CAPTION, lines, CAPTION))
        y += 1.2 * CAPTION * len(lines) + 0.7
    return "".join(out), y + 2.0


# --- the document ---------------------------------------------------------------------------------------------------
def document(page: Page, *, title: str, text: str, metadata: str, name: str) -> str:
    """The SVG document. Its ids begin with ``name``, so that several may stand in one page of HTML."""
    from kg.draw.ink import FONT

    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{number(page.width)}mm" height="{number(page.height)}mm"'
        f' viewBox="0 0 {number(page.width)} {number(page.height)}" role="img" aria-labelledby="{name}-title {name}-desc"'
        f' font-family="{escape(FONT)}" stroke-linecap="round" stroke-linejoin="round">'
    )
    return (
        f'{head}\n<title id="{name}-title">{escape(title)}</title>\n<desc id="{name}-desc">{escape(text)}</desc>\n'
        f"<metadata>{escape(metadata)}</metadata>\n{page.body}\n</svg>\n"
    )
