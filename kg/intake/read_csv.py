"""CSV -> rows. The divider (comma, semicolon, tab) is the one that the header uses."""

from __future__ import annotations

import csv
import io
import re

from kg.intake.rows import LONGEST_CELL, MOST_ROWS, Cell, Place, Report, Row
from kg.intake.tables import EVIDENCE, Form, rows_of, table_of, usable

MOST_COLUMNS = 1_000
_DIVIDERS = {",": "commas", ";": "semicolons", "\t": "tabs"}


def read_csv(text: str, shown: str, report: Report, form: Form = EVIDENCE) -> list[Row]:
    """The rows of one CSV text; which table it is follows from its header. Findings for what is out of form."""
    grid: list[list[Cell]] = []
    header = next((line for line in text.splitlines() if line.strip()), "")
    divider = max(",;\t", key=header.count)
    csv.field_size_limit(max(csv.field_size_limit(), len(text) + 1))  # long cells are reported, not met by an exception
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=divider, strict=True)
    start = 1
    while True:
        try:
            record = next(reader)
        except StopIteration:
            break
        except csv.Error as e:
            what = f"not valid CSV: {e}"
            report.error("BL-I03", Place(shown, start), what, "Look for a quotation mark that is not closed or not doubled.")
            return []
        if len(record) > MOST_COLUMNS:
            what = f"the line has {len(record):,} columns; at most {MOST_COLUMNS:,} are read"
            report.error("BL-I04", Place(shown, start), what, "Take out the dividers at the end of the lines.")
            return []
        line = [Cell(t.strip(), Place(shown, start, f"column {i + 1}")) for i, t in enumerate(record)]
        start = reader.line_num + 1
        if any(c.text for c in line):
            grid.append(line)
        if len(grid) > MOST_ROWS + 1:
            break  # rows beyond the limit are counted, not read
    if not grid:
        return []  # dividers alone; the caller says that nothing is there
    names = [c.text for c in grid[0]]
    table = table_of((n[:LONGEST_CELL] for n in names), form)
    if not table:
        lower = next((line for line in grid[1:20] if table_of((c.text[:LONGEST_CELL] for c in line), form)), None)
        if lower:
            what = f"the names of the columns stand in line {lower[0].place.line}, below something else"
            report.error("BL-I03", grid[0][0].place, what, "Take out what stands above them.")
        elif table_of(re.split(r"[|\s]+", header[:LONGEST_CELL]), form):
            what = "the columns of the first line are not divided by a comma, a semicolon or a tab"
            report.error("BL-I03", Place(shown, 1), what, "Save it as CSV with commas.")
        else:
            report.error("BL-I03", Place(shown, 1), "the first line does not name the columns of a table", form.header_fix)
        return []
    place = [n or f"column {i + 1}" for i, n in enumerate(names)]
    named = [grid[0]]
    for line in grid[1:]:
        other = next((d for d in ",;\t" if d != divider and len(line) == 1 and line[0].text.count(d) >= 2), "")
        if other:
            what = f"this line is divided by {_DIVIDERS[other]}, the first line by {_DIVIDERS[divider]}"
            report.error("BL-I03", Place(shown, line[0].place.line), what, "Divide all lines alike.")
            continue
        cells = [
            Cell(c.text, Place(shown, c.place.line, f"column {place[i]}" if i < len(place) and names[i] else c.place.cell))
            for i, c in enumerate(line)
        ]
        named.append([c if usable(c, report) else Cell("", c.place) for c in cells])
    return rows_of(named, table, report, form)
