"""The documented table form: which tables and columns there are, and how a grid of cells becomes rows.

``statements``: source, subject, mode, feature, value. ``sources``: id, title, publisher, kind, field, work, page, url, seen.
``patterns``: id, label, plural, synonyms, misspellings, variant of, definition, definition source. The first row names
the columns, in any order; several synonyms, misspellings or definition sources are divided by ``|``. A column ``note`` is
for the person who fills the sheet, and is not read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from kg.intake.rows import LONGEST_CELL, MOST_ROWS, Cell, Place, Report, Row, shorten

COLUMNS: dict[str, tuple[str, ...]] = {
    "statements": ("source", "subject", "mode", "feature", "value"),
    "sources": ("id", "title", "publisher", "kind", "field", "work", "page", "url", "seen"),
    "patterns": ("id", "label", "plural", "synonyms", "misspellings", "variant of", "definition", "definition source"),
}
NEEDED: dict[str, tuple[str, ...]] = {
    "statements": COLUMNS["statements"],
    "sources": ("id", "title", "kind"),
    "patterns": ("id", "label", "definition", "definition source"),
}
IGNORED = ("note", "notes")


@dataclass(frozen=True)
class Form:
    """Which tables there are: ``columns`` of each, the ``needed`` ones among them, and the remedy for an empty file."""

    columns: Mapping[str, tuple[str, ...]]
    needed: Mapping[str, tuple[str, ...]]
    if_empty: str = "Fill in the template: boxlock export --template"

    @property
    def header_fix(self) -> str:
        """The remedy for a header that names no table."""
        return "The first row names the columns: " + "; ".join(f"{t}: {', '.join(c)}" for t, c in self.columns.items()) + "."


EVIDENCE = Form(COLUMNS, NEEDED)


def heading(text: str) -> str:
    """A column's name as it is compared: small letters, underscores as spaces."""
    return " ".join(text.replace("_", " ").casefold().split())


def table_of(header: Iterable[str], form: Form = EVIDENCE) -> str:
    """The table whose columns a header names best; empty if it names fewer than two of any."""
    given = {heading(h) for h in header}
    best = max(form.columns, key=lambda t: len(given & set(form.columns[t])))
    return best if len(given & set(form.columns[best])) >= 2 else ""


def rows_of(grid: Sequence[Sequence[Cell]], table: str, report: Report, form: Form = EVIDENCE) -> list[Row]:
    """A grid (its first line the header) -> rows; empty lines are left out. Findings for everything out of form."""
    header, *lines = grid
    known, needed = form.columns[table], form.needed[table]
    lower = next((line for line in lines[:20] if table_of((c.text for c in line), form)), None)
    if lower and not any(heading(c.text) in known for c in header):
        at = lower[0].place
        what = f"the names of the columns stand in {'row' if '!' in at.cell else 'line'} {at.line}, below something else"
        report.error("BL-I03", Place(at.file, header[0].place.line), what, "Take out what stands above them.")
        return []
    columns: dict[int, str] = {}
    for index, cell in enumerate(header):
        name = heading(cell.text)
        if not name or name in IGNORED:
            continue
        if name not in known:
            near = get_close_matches(name, known, 1)
            fix = f"Did you mean {near[0]}?" if near else f"Columns of {table}: {', '.join(known)}, note."
            report.error("BL-I03", cell.place, f'"{shorten(cell.text)}" is no column of the table {table}', fix)
        elif name in columns.values():
            report.error("BL-I03", cell.place, f"the column {name} is there twice", "Keep one.")
        else:
            columns[index] = name
    missing = [c for c in needed if c not in columns.values()]
    if missing:
        place = header[0].place if header else Place("")
        report.error("BL-I03", Place(place.file, place.line), f"the table {table} lacks {', '.join(missing)}", form.header_fix)
        return []
    out = []
    for line in lines:
        cells = {columns[i]: c for i, c in enumerate(line) if i in columns and c.text}
        for index, cell in enumerate(line):
            if cell.text and index not in columns and (index >= len(header) or not header[index].text):
                report.error("BL-I03", cell.place, "this cell stands in no column", "Name the column, or move the cell.")
        if not cells:
            continue
        first = next(iter(cells.values())).place
        row = Row(table, cells, Place(first.file, first.line, first.cell.rsplit("!")[0] if "!" in first.cell else ""))
        lacking = [c for c in needed if c not in cells]
        if lacking:
            fix = "Fill it in, or take the row out."
            if row.place.cell:
                fix += " Where cells are joined into one, only the first of them holds the text."
            report.error("BL-I03", row.place, f"no {' and no '.join(lacking)} given", fix)
        out.append(row)
    return out


def usable(cell: Cell, report: Report) -> bool:
    """Whether a cell is plain text of a sensible length; a finding if not."""
    if len(cell.text) > LONGEST_CELL:
        what = f"this text has {len(cell.text):,} characters; at most {LONGEST_CELL:,} fit a cell"
        report.error("BL-I04", cell.place, what, "Shorten it.")
        return False
    if cell.text[:1] in ("=", "+", "@"):
        what = f'"{shorten(cell.text, 30)}" is a formula; a cell is plain text, and what a formula shows can change'
        report.error("BL-I03", cell.place, what, "Paste the value instead.")
        return False
    control = next((c for c in cell.text if ord(c) < 32 and c not in "\t\n\r"), None)
    if control is not None:
        report.error("BL-I03", cell.place, f"the text holds a control character (U+{ord(control):04X})", "Remove it.")
        return False
    return True


def count(rows: Sequence[Row], report: Report) -> bool:
    """False with a finding if there are more rows than are read at once."""
    if len(rows) <= MOST_ROWS:
        return True
    place = rows[MOST_ROWS].place
    report.error("BL-I04", place, f"there are more than {MOST_ROWS:,} rows", "Split the file and add the parts in turn.")
    return False
