"""XLSX -> rows. The archive is looked over before anything unpacks or parses it."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections import Counter
from datetime import date, datetime, time

from kg import memory
from kg.intake.rows import MOST_ROWS, Cell, Place, Report, Row, shorten
from kg.intake.tables import EVIDENCE, Form, heading, rows_of, table_of, usable

LARGEST_UNPACKED = 40_000_000
MOST_MEMBERS = 400
MOST_COLUMNS = 40
OTHER_SHEETS = ("instructions", "example", "lists")
"""Sheets of the template that are not filled in."""
_FAR_CELL = re.compile(rb'<c r="((?:A[O-Z]|[B-Z][A-Z]|[A-Z]{3})[0-9]{1,7})"[^>]*[^/]>')
"""A cell with a content in a column beyond ``MOST_COLUMNS``."""
_DECLARATION = re.compile(rb"<!(DOCTYPE|ENTITY)", re.IGNORECASE)


def read_xlsx(data: bytes, shown: str, report: Report, form: Form = EVIDENCE) -> list[Row]:
    """The rows of the sheets that the form names. Findings for what is unsafe or out of form."""
    if not _safe(data, shown, report):
        return []
    memory.need(memory.LIBRARY, "A workbook")
    try:
        import openpyxl
    except ImportError:
        what = "reading a spreadsheet needs the package openpyxl, which is not installed"
        report.error("BL-I03", Place(shown), what, "pip install 'boxlock[sheets]', or save the sheets as CSV.")
        return []
    rows: list[Row] = []
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about looks that openpyxl does not keep; nothing is written back
            book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, keep_links=False)
            for sheet in book.worksheets:
                rows += _sheet(sheet, shown, report, form, only=len(book.worksheets) == 1)
            book.close()
    except Exception as e:  # whatever a damaged workbook makes openpyxl raise
        what = f"the workbook cannot be read ({type(e).__name__})"
        fix = "Open it in a spreadsheet program, take out sheets that hold a chart alone, and save it as XLSX again."
        report.error("BL-I03", Place(shown), what, fix)
        return []
    return rows


def _safe(data: bytes, shown: str, report: Report) -> bool:
    place = Place(shown)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = archive.infolist()
            twice = next((n for n, times in Counter(m.filename for m in members).items() if times > 1), "")
            if twice:
                what = f"the part {shorten(twice)} is in the workbook twice, so that nobody can tell which is meant"
                report.error("BL-I04", place, what, "Do not trust this file; copy the rows into a new one.")
                return False
            if len(members) > MOST_MEMBERS:
                what = f"the workbook has {len(members):,} parts; at most {MOST_MEMBERS} are opened"
                report.error("BL-I04", place, what, "Copy the sheets into a new workbook.")
                return False
            left = LARGEST_UNPACKED
            for member in members:
                with archive.open(member) as stream:  # the sizes in the directory may lie: count what comes out
                    content = stream.read(left + 1)
                left -= len(content)
                if left < 0:
                    what = f"unpacked the workbook has more than {LARGEST_UNPACKED / 1e6:.0f} MB; that is no sheet to fill in"
                    report.error("BL-I04", place, what, "Look for a cell that is far too long; copy the rows into a new file.")
                    return False
                if _DECLARATION.search(content.replace(b"\0", b"")):  # also when written as UTF-16
                    what = f"the part {member.filename[:60]} declares entities, which no spreadsheet program writes"
                    report.error("BL-I04", place, what, "Do not trust this file; copy the rows into a new one.")
                    return False
                far = _FAR_CELL.search(content) if member.filename.startswith("xl/worksheets/") else None
                if far:
                    what = f"there is a cell {far[1].decode()}; cells beyond column {_column(MOST_COLUMNS - 1)} are not read"
                    report.warning("BL-I03", place, what, "Move it to the table, or clear it.")
    except (zipfile.BadZipFile, OSError, EOFError, NotImplementedError, RuntimeError, ValueError) as e:
        report.error("BL-I03", place, f"this is not an XLSX workbook ({type(e).__name__})", "Save it as XLSX, or as CSV.")
        return False
    except Exception as e:  # zlib.error and its like, for a damaged part
        report.error("BL-I03", place, f"the workbook is damaged ({type(e).__name__})", "Save it as XLSX again.")
        return False
    return True


def _sheet(sheet, shown: str, report: Report, form: Form, *, only: bool) -> list[Row]:
    title = sheet.title
    name = heading(title)
    if name in OTHER_SHEETS:
        return []
    if not hasattr(sheet, "reset_dimensions"):
        return []  # a sheet of charts
    sheet.reset_dimensions()  # what the file says of its size is not to be trusted
    grid: list[list[Cell]] = []
    table = ""
    for number, line in enumerate(sheet.iter_rows(max_col=MOST_COLUMNS), 1):
        if number > 4 * MOST_ROWS or len(grid) > MOST_ROWS + 1:
            if number > 4 * MOST_ROWS:
                what = f"the sheet goes on below row {4 * MOST_ROWS:,}"
                report.error("BL-I04", Place(shown, number, title), what, "Take out the empty rows, or split the sheet.")
            break
        if all(cell.value is None for cell in line):
            continue
        places = [Place(shown, number, f"{title}!{_column(index)}{number}") for index in range(len(line))]
        if not grid:
            table = _table(sheet, [str(cell.value or "") for cell in line], shown, report, form, only=only)
            if not table:
                return []  # whatever else stands in such a sheet is none of our business
        else:
            _dates(line, places, [heading(c.text) for c in grid[0]], report, form)
        cells = [_cell(cell, at, report) for cell, at in zip(line, places, strict=True)]
        if any(c.text for c in cells):
            grid.append(cells)
    return rows_of(grid, table, report, form) if grid else []


def _table(sheet, header: list[str], shown: str, report: Report, form: Form, *, only: bool) -> str:
    """The table that a sheet holds, by its title or, if it is the ``only`` one, its header; empty, with a finding, if none."""
    name, title = heading(sheet.title), shorten(sheet.title, 31)
    looks = table_of(header, form)
    table = name if name in form.columns else looks if only else ""
    at = Place(shown, 0, sheet.title)
    if not table and only:
        report.error(
            "BL-I03", Place(shown, 1, sheet.title), "the first row does not name the columns of a table", form.header_fix
        )
    elif not table:
        what = f'the sheet "{title}" is not read: it is none of {", ".join(form.columns)}'
        if looks:  # it would be left out without a word
            report.error("BL-I03", at, f"{what}, but has the columns of {looks}", f"Name it {looks}.")
        else:
            report.warning("BL-I03", at, what, "Rename it if it should be.")
    elif sheet.sheet_state != "visible":
        what = f'the sheet "{title}" is hidden, and is read like the others'
        report.warning("BL-I03", at, what, "Show it, to see what is added; or take it out.")
    return table


def _dates(line, places: list[Place], columns: list[str], report: Report, form: Form) -> None:
    """Pages and ids such as 3-12 become dates in a spreadsheet while they are typed."""
    for cell, at, column in zip(line, places, columns, strict=False):
        if (
            isinstance(cell.value, datetime | date | time)
            and column != "seen"
            and any(column in names for names in form.columns.values())
        ):
            what = f"the {column} is a date or a time, into which a spreadsheet turns what looks like one"
            report.error("BL-I03", at, what, "Set the format of the cell to text, and type it again.")


def _cell(cell, at: Place, report: Report) -> Cell:
    value = cell.value
    if value is None:
        return Cell("", at)
    if getattr(cell, "data_type", "") == "f":
        value = value if isinstance(value, str) else "=…"
        value = value if value.startswith("=") else f"={value}"
    elif getattr(cell, "data_type", "") == "e":
        report.error("BL-I03", at, f"the cell shows an error ({value})", "Put the value in.")
        return Cell("", at)
    elif isinstance(value, datetime | date):
        value = value.strftime("%Y-%m-%d")
    elif isinstance(value, bool):
        value = str(value).lower()
    elif isinstance(value, float):
        value = f"{value:.10g}"
    found = Cell(str(value).strip(), at)
    return found if usable(found, report) else Cell("", at)


def _column(index: int) -> str:
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
