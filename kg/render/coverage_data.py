"""What a course covers as JSON, CSV and XLSX. All are complete: nothing is shortened as in a text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from kg import memory
from kg.course.records import Coverage, ObjectiveResult
from kg.errors import InputError
from kg.render.coverage import groups_matrix, short
from kg.render.data import csv_text
from kg.render.english import CAUTION
from kg.render.spans import clean
from kg.workbooks import workbook_bytes

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

COLUMNS = (
    "id",
    "text",
    "question",
    "reading",
    "status",
    "met",
    "count",
    "minimum",
    "weight",
    "session",
    "in_session",
    "lacks",
    "in_catalogue",
    "could_match",
    "inferred",
    "met_by",
    "would_do",
    "contradicted",
)
"""Columns of the table of objectives; after them one for each family, with the number of taught matches."""
LONGEST_CELL = 32_767
SHADES = ("E9E1F6", "D0C1EA", "AE96DA", "8060BA", "553391")
"""One hue from light to dark, as in HTML; a figure stands in every cell."""


def coverage_json(found: Coverage) -> dict[str, Any]:
    """``Coverage.to_json`` with the matrix of objectives by families, and the standing caution among the notes."""
    families, rows = groups_matrix(found)
    out = found.to_json()
    matrix = {"families": [g.label for g in families], "rows": [{"id": o.id, "counts": counts} for o, counts in rows]}
    return out | {"matrix": matrix, "notes": [*out["notes"], CAUTION]}


def coverage_csv(found: Coverage) -> str:
    """One row an objective, with a column for each family."""
    return csv_text(*_objectives(found))


def _objectives(found: Coverage) -> tuple[tuple[str, ...], list[tuple[object, ...]]]:
    families, rows = groups_matrix(found)
    header = (*COLUMNS, *(short(g.label) for g in families))
    return header, [(*_row(o), *counts) for o, counts in rows]


def _row(o: ObjectiveResult) -> tuple[object, ...]:
    return (
        o.id,
        o.text,
        o.question,
        o.reading,
        str(o.status),
        o.met,
        o.count,
        o.minimum,
        f"{o.weight:g}",
        o.session,
        "" if o.in_session is None else o.in_session,
        o.lacks,
        o.in_catalogue,
        o.open_in_catalogue,
        len(o.inferred),
        _join(label for _, label in o.instruments),
        _join(o.helpful),
        _join(f"{c.label} ({c.reason})" if c.reason else c.label for c in o.claims if c.verdict == "contradicted"),
    )


def _join(items: Iterable[str]) -> str:
    return "; ".join(items)


# --- XLSX -----------------------------------------------------------------------------------------------------------
def coverage_xlsx(found: Coverage) -> bytes:
    """A workbook: objectives with the shaded matrix, families, categories, what is never taught, look-alikes, what no objective
    reaches, and what else was reckoned. Raises InputError (BL-I09) if openpyxl is not installed.
    """
    memory.need(memory.LIBRARY, "A workbook")
    try:
        import openpyxl
    except ImportError as e:
        what = "Writing a workbook needs the package openpyxl, which is not installed."
        raise InputError("BL-I09", what, hint="pip install 'boxlock[sheets]', or write CSV.") from e
    book = openpyxl.Workbook()
    header, rows = _objectives(found)
    sheet = _sheet(book.active, "objectives", header, rows)
    _shade(sheet, len(COLUMNS))
    for title, columns, content in _tables(found):
        if content:
            _sheet(book.create_sheet(), title, columns, content)
    _sheet(book.create_sheet(), "notes", ("note",), [(n,) for n in (found.title, *found.notes, found.verified_by, CAUTION)])
    return workbook_bytes(book)


def _tables(found: Coverage) -> Iterable[tuple[str, tuple[str, ...], list[tuple[object, ...]]]]:
    groups = ("label", "taught", "in catalogue", "objectives")
    yield "families", groups, [(g.label, g.taught, g.in_catalogue, g.objectives) for g in found.families]
    yield "categories", groups, [(g.label, g.taught, g.in_catalogue, g.objectives) for g in found.categories]
    values = [(g.part, g.label, v, n, g.visible, g.whole) for g in found.feature_gaps for v, n in g.values]
    yield "never shown", ("part", "feature", "value", "in catalogue", "can be seen", "whole feature"), values
    pairs = [
        (p.pair[0][1], p.pair[1][1], p.how, _join(p.signs), *(", ".join(s) for s in p.sessions)) for p in found.split_pairs
    ]
    yield "look-alikes", ("one", "other", "how", "told apart by", "sessions of one", "sessions of other"), pairs
    yield "not reached", ("family", "instrument"), [(short(f), label) for f, i in found.unreached for _, label in i]
    yield "shown for no objective", ("instrument",), [(label,) for _, label in found.idle]
    repeated = [(label, ", ".join(s)) for (_, label), s in found.repeated]
    yield "shown again", ("instrument", "sessions"), repeated
    for title, part in (("smallest list", found.smallest), ("every value", found.every_value)):
        if part is not None:
            picks = [(p.instrument[1], p.taught, _join(p.needed_for), part.proof) for p in part.picks]
            yield title, ("instrument", "shown already", "needed for", "proof"), picks
    if found.more is not None:
        steps = [(s.count, s.share, _join(s.gained), _join(n for _, n in s.added), s.proof) for s in found.more.steps]
        yield "what more buys", ("more", "share met", "gains", "by adding", "proof"), steps
    if found.changes is not None:
        lines: list[tuple[object, ...]] = [(i, "standing", b, a) for i, b, a in found.changes.moved]
        lines += list(found.changes.reworded)
        lines += [(i, "objective", "", "new") for i in found.changes.added]
        lines += [(i, "objective", "taken out", "") for i in found.changes.removed]
        yield "changes", ("id", "what", "before", "now"), lines


def _sheet(sheet: Worksheet, title: str, header: Sequence[str], rows: Iterable[Sequence[object]]) -> Worksheet:
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    sheet.title = title
    wide = [len(h) for h in header]
    for number, row in enumerate((header, *rows), 1):
        for column, value in enumerate(row, 1):
            cell = sheet.cell(number, column)
            if isinstance(value, bool):
                value = "yes" if value else "no"
            cell.value = clean(value)[:LONGEST_CELL] if isinstance(value, str) else value
            if isinstance(value, str):
                cell.data_type = "s"  # a text that begins like a formula stays a text
            wide[column - 1] = max(wide[column - 1], len(str(value)))
    for column, width in enumerate(wide, 1):
        sheet.column_dimensions[get_column_letter(column)].width = min(max(width + 2, 6), 50)
    for cell in sheet[1]:
        cell.font = Font(bold=True)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
    sheet.freeze_panes = "B2"
    return sheet


def _shade(sheet: Worksheet, first: int) -> None:
    """Shades the cells of the matrix, which begins after column ``first``: the more, the darker; the figure stays."""
    from openpyxl.styles import Font, PatternFill

    for row in sheet.iter_rows(min_row=2, min_col=first + 1):
        for cell in row:
            level = shade(int(cell.value or 0))
            if level:
                cell.fill = PatternFill("solid", fgColor=SHADES[level - 1])
                cell.font = Font(color="FFFFFF" if level > 3 else "000000")


def shade(count: int) -> int:
    """0 for none, else 1 to 5 as the number grows: 1, 2, 3 or 4, 5 to 9, 10 and more."""
    return sum(count >= least for least in (1, 2, 3, 5, 10))
