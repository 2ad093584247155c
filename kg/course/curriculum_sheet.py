"""Files of a course -> rows with places: CSV and XLSX through the readers of evidence, TOML here."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from kg.course.curriculum import COURSE_FORMATS, DIVIDER, FORM, Curriculum, assembled, refuse
from kg.intake.read_csv import read_csv
from kg.intake.read_xlsx import read_xlsx
from kg.intake.rows import Cell, Place, Report, Row, shorten
from kg.intake.tables import heading, usable
from kg.intake.text import decode, read_bytes
from kg.nesting import MOST_DOTS, too_dotted

HEAD = ("title", "note")
BLOCKS = {"objective": "objectives", "session": "sessions"}
"""Name of a block in TOML -> the table it is a row of."""
_AT = re.compile(r"\(at line (\d+), column \d+\)")
_HEADER = re.compile(r"\s*\[\[?\s*([\w-]+|\"[^\"]*\"|'[^']*')\s*\]\]?\s*(#.*)?")
_KEY = re.compile(r"\s*([\w-]+|\"[^\"]*\"|'[^']*')\s*=")
_WORKBOOKS = (b"PK\3\4", b"\xd0\xcf\x11\xe0")


def read_curriculum(paths: Sequence[str | Path], report: Report | None = None) -> Curriculum:
    """The course that one or more files write down: one TOML or XLSX, or the CSV tables of one course.

    Raises InputError with all that is wrong as ``findings``: BL-I02, BL-I03, BL-I04, BL-I10, with file and line. With a
    ``report`` of the caller nothing is raised: it takes the findings, and what could be read is given.
    """
    found = report or Report()
    head: dict[str, str] = {}
    rows: list[Row] = []
    for path in paths:
        rows += read_rows(Path(path), str(path), head, found)
    course = assembled(rows, head, [str(p) for p in paths], found)
    if report is None:
        refuse(found, paths)
    return course


def read_rows(path: Path, shown: str, head: dict[str, str], report: Report) -> list[Row]:
    """The rows of one file, by the ending of its name; what stands above the rows goes into ``head``.

    Findings for everything that cannot be read, and if nothing is there.
    """
    suffix = path.suffix.lower()
    if suffix not in COURSE_FORMATS:
        what = f"files that end in {shorten(suffix, 20) or 'nothing'} are not read"
        report.error("BL-I03", Place(shown), what, f"A course is written in one of {', '.join(COURSE_FORMATS)}.")
        return []
    data = read_bytes(path, shown, report, FORM.if_empty)
    if data is None:
        return []
    found = len(report.findings())
    rows: list[Row] = []
    if suffix == ".xlsx":
        rows = read_xlsx(data, shown, report, FORM)
    elif data.startswith(_WORKBOOKS):
        report.error("BL-I03", Place(shown), "this is a workbook under another name", "Name it .xlsx, or save it as CSV.")
    elif (text := decode(data, shown, report)) is not None:
        rows = read_csv(text, shown, report, FORM) if suffix == ".csv" else _toml(text, shown, head, report)
    if not rows and len(report.findings()) == found:
        report.error("BL-I03", Place(shown), "there is no objective and no session in it", FORM.if_empty)
    return rows


# --- TOML -----------------------------------------------------------------------------------------------------------
def _toml(text: str, shown: str, head: dict[str, str], report: Report) -> list[Row]:
    if dotted := too_dotted(text):
        report.error("BL-I04", Place(shown, dotted), f"a key has more than {MOST_DOTS} parts", FORM.if_empty)
        return []
    try:
        content = tomllib.loads(text)
    except RecursionError:
        report.error("BL-I04", Place(shown), "the file is too deeply nested", FORM.if_empty)
        return []
    except ValueError as e:  # TOMLDecodeError, and the plain one for a number of thousands of digits
        at = _AT.search(str(e))
        line = int(at.group(1)) if at else len(text.splitlines())
        what = _AT.sub("", str(e)).replace("(at end of document)", "").strip().rstrip(":")
        if not isinstance(e, tomllib.TOMLDecodeError):
            what, line = "a number has thousands of digits", 0
        report.error("BL-I03", Place(shown, line), f"not valid TOML: {shorten(what, 100)}", "Mend this line, or the one above.")
        return []
    lines = _lines(text)
    rows: list[Row] = []
    for key, value in content.items():
        if key in BLOCKS:
            blocks = value if isinstance(value, list) else [value]
            for number, block in enumerate(blocks):
                place = lines.get((key, number), {})
                if isinstance(block, dict):
                    rows.append(_row(key, block, place, shown, report))
                else:
                    what = f"{key} is not a list of blocks"
                    report.error("BL-I03", Place(shown, place.get("", 0)), what, f"Begin each with [[{key}]].")
        elif key in HEAD and isinstance(value, str):
            head[key] = " ".join(value.split())
        else:
            place = lines.get(("", 0), {})
            line = place.get(key, lines.get((key, 0), {}).get("", 0))
            what = f'"{shorten(key)}" means nothing here' if key not in HEAD else f"{key} is not a text"
            report.error("BL-I03", Place(shown, line), what, f"Known: {', '.join(HEAD)}, [[objective]], [[session]].")
    return rows


def _row(key: str, block: dict[str, Any], lines: dict[str, int], shown: str, report: Report) -> Row:
    table = BLOCKS[key]
    start = lines.get("", 0)
    cells: dict[str, Cell] = {}
    for name, value in block.items():
        column = heading(name)
        place = Place(shown, lines.get(name, start))
        if column not in FORM.columns[table]:
            known = ", ".join(c.replace(" ", "_") for c in FORM.columns[table])
            report.error("BL-I03", place, f'"{shorten(name)}" is no key of [[{key}]]', f"Known: {known}.")
            continue
        if column in cells:
            report.error("BL-I03", place, f"{column} is there twice", "Keep one.")
        text = _text(value, column in ("shows", "met by"), place, name, report)
        cell = Cell(text.strip(), place)
        if cell.text and usable(cell, report):
            cells[column] = cell
    row = Row(table, cells, Place(shown, start))
    if "id" not in cells:
        report.error("BL-I03", row.place, f"[[{key}]] has no id", "Give it one.")
    return row


def _text(value: Any, listed: bool, place: Place, name: str, report: Report) -> str:
    """A value of TOML as the text that a cell of a table would hold."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int) and abs(value) < 10**9:
        return str(value)
    if isinstance(value, float) and abs(value) < 10**9:
        return f"{value:.9f}".rstrip("0").rstrip(".")
    if isinstance(value, str):
        if listed and DIVIDER in value:
            report.error("BL-I03", place, f'{name}: "{DIVIDER}" cannot be part of a name', "Write a list: [ ..., ... ].")
        return value
    if listed and isinstance(value, list) and all(isinstance(v, str) and DIVIDER not in v for v in value):
        return DIVIDER.join(value)
    wanted = "a list of texts" if listed else "a text or a number"
    report.error("BL-I03", place, f"{name} is not {wanted}", f"Write {name} = " + ('[ "..." ]' if listed else '"..."'))
    return ""


def _lines(text: str) -> dict[tuple[str, int], dict[str, int]]:
    """(block, its number) -> key -> line, with the line of the block's heading under the empty key.

    ``("", 0)`` are the keys above all blocks. Lines within a text of several lines are passed over.
    """
    found: dict[tuple[str, int], dict[str, int]] = {("", 0): {}}
    counts: dict[str, int] = {}
    current = found["", 0]
    for number, line in _outer_lines(text):
        if header := _HEADER.fullmatch(line):
            name = header.group(1).strip("\"'")
            place = (name, counts.get(name, 0))
            counts[name] = place[1] + 1
            current = found[place] = {"": number}
        elif key := _KEY.match(line):
            current.setdefault(key.group(1).strip("\"'"), number)
    return found


def _outer_lines(text: str) -> Iterator[tuple[int, str]]:
    """(number, line) of the lines that do not begin within a text of several lines."""
    inside = ""
    for number, line in enumerate(text.split("\n"), 1):
        if not inside:
            yield number, line.rstrip("\r")
        rest = line
        while rest:
            marks = [m for m in ('"""', "'''") if m in rest] if not inside else [inside] if inside in rest else []
            if not marks:
                break
            mark = min(marks, key=rest.index)
            rest = rest[rest.index(mark) + 3 :]
            inside = "" if inside else mark
