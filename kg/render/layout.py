"""Blocks -> lines that fit a width. Nothing overflows; tables that cannot fit are stacked, one small list a row."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from kg.render.blocks import Block, Heading, Para, Spans, Table, Verbatim
from kg.render.spans import MIN_WIDTH, Line, Span, clean, line_width, pad, width_of, wrap

INDENT = 2
GAP = 2
_NARROWEST = 8  # columns; a table whose columns would be narrower is stacked


def lay_out(blocks: Iterable[Block], width: int) -> list[Line]:
    """The lines of the blocks, at most ``width`` columns each (at least ``MIN_WIDTH``); verbatim lines stay whole."""
    width = max(width, MIN_WIDTH)
    lines: list[Line] = []
    under_heading = False
    for block in blocks:
        drawn = _draw(block, width)
        if not drawn:
            continue
        if lines and not (getattr(block, "close", False) or under_heading):
            lines.append([])
        lines += drawn
        under_heading = isinstance(block, Heading)
    return lines


def _draw(block: Block, width: int) -> list[Line]:
    match block:
        case Para(spans, indent, lead):
            return _paragraph(spans, indent * INDENT, lead, width)
        case Heading(text, style):
            return wrap([(style, text)], width)
        case Table():
            return table(block, width)
        case Verbatim(spans):
            return [[(style, clean(text))] for style, text in spans]
    raise TypeError(f"not a block: {block!r}")


def _paragraph(spans: Spans, indent: int, lead: Spans, width: int) -> list[Line]:
    if not lead:
        return wrap(spans, width, first=indent, rest=indent + (INDENT if indent else 0))
    marker = [(style, clean(text)) for style, text in lead]
    hang = indent + line_width(marker) + 1
    if hang > width // 2:
        return wrap([*lead, ("", " "), *spans], width, first=indent, rest=indent)
    body = wrap(spans, width, first=hang, rest=hang) or [[("", " " * hang)]]
    body[0] = [("", " " * indent), *marker, ("", " "), *body[0][1:]]
    return body


# --- tables ---------------------------------------------------------------------------------------------------------
def table(block: Table, width: int) -> list[Line]:
    """Columns side by side, or stacked rows if they would become too narrow."""
    rows = [row for row in block.rows if any(row)]
    if not rows:
        return []
    kept = [i for i in range(len(rows[0])) if any(row[i] for row in rows)]
    header = [block.header[i] if block.header else "" for i in kept]
    cells = [[row[i] for i in kept] for row in rows]
    widths = _columns(header, cells, width - INDENT - GAP * (len(kept) - 1))
    if widths is None:
        return _stacked(header, cells, block.key, width)
    lines: list[Line] = []
    if any(header):
        lines += _row([(("heading", h),) if h else () for h in header], widths)
    above: list[Spans] = []
    for row in cells:
        shown = list(row)
        for i in range(min(block.blank_repeats, len(row))):
            if not above or above[: i + 1] != row[: i + 1]:
                break
            shown[i] = ()
        lines += _row(shown, widths)
        above = row
    return lines


def _columns(header: Sequence[str], cells: Sequence[Sequence[Spans]], room: int) -> list[int] | None:
    """Widths of the columns that together fit ``room``, or None. Wide columns give way first."""
    count = len(header)
    natural = [max([width_of(clean(header[i])), *(_natural(row[i]) for row in cells)]) for i in range(count)]
    if sum(natural) <= room:
        return natural
    words = [_longest_word(header[i], [row[i] for row in cells]) for i in range(count)]
    least = [min(natural[i], max(_NARROWEST, words[i])) for i in range(count)]
    least = [min(n, max(_NARROWEST, room // 3)) for n in least]
    if sum(least) > room:
        return None
    # Narrow columns get all they want; what is left is shared evenly by the wide ones, narrowest first.
    widths = [0] * count
    left = room
    for done, i in enumerate(sorted(range(count), key=lambda i: (natural[i], i))):
        others = sorted(range(count), key=lambda i: (natural[i], i))[done + 1 :]
        share = min(left // (count - done), left - sum(least[o] for o in others))
        widths[i] = min(natural[i], max(share, least[i]))
        left -= widths[i]
    return widths


def _natural(cell: Spans) -> int:
    return line_width([(s, clean(t)) for s, t in cell])


def _longest_word(header: str, cells: Iterable[Spans]) -> int:
    texts = [header, *("".join(text for _, text in cell) for cell in cells)]
    return max((width_of(word) for text in texts for word in clean(text).split(" ")), default=0)


def _row(cells: Sequence[Spans], widths: Sequence[int]) -> list[Line]:
    columns = [wrap(cell, w) for cell, w in zip(cells, widths, strict=True)]
    lines: list[Line] = []
    for i in range(max(len(c) for c in columns)):
        line: Line = [("", " " * INDENT)]
        for j, (column, w) in enumerate(zip(columns, widths, strict=True)):
            part: Line = column[i] if i < len(column) else []
            last = j == len(columns) - 1
            line += part if last else pad(part, w + GAP)
        lines.append(_trimmed(line))
    return lines


def _trimmed(line: Line) -> Line:
    """Without blanks at the end."""
    out: list[Span] = list(line)
    while out and not out[-1][1].strip():
        out.pop()
    if out:
        out[-1] = (out[-1][0], out[-1][1].rstrip())
    return out


def _stacked(header: Sequence[str], cells: Sequence[Sequence[Spans]], key: int, width: int) -> list[Line]:
    lines: list[Line] = []
    for row in cells:
        title: list[Span] = []
        for cell in row[:key]:
            title += [("", ": "), *cell] if title and cell else list(cell)
        lines += wrap(title, width, first=INDENT, rest=2 * INDENT)
        for name, cell in zip(header[key:], row[key:], strict=True):
            if cell:
                named = [("remark", f"{name}: ")] if name else []
                lines += wrap([*named, *cell], width, first=2 * INDENT, rest=3 * INDENT)
    return lines
