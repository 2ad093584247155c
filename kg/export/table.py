"""A handout as rows: CSV, the sheets of a workbook, and JSON. Complete: every source of every line is written out.

In CSV a cell that a spreadsheet would run as a formula gets a leading apostrophe; in a workbook every cell is typed as text
and marked as such, so that it stays text when it is edited.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from kg import memory
from kg.errors import InputError
from kg.export.handout import Card, Footnote, Handout
from kg.export.marks import joined, legend, remark
from kg.export.text import tells_name
from kg.model import Answer
from kg.names import expand
from kg.render.data import answer_json, answer_tables, csv_text
from kg.render.spans import clean
from kg.workbooks import workbook_bytes

_WIDTHS = {"no": 5, "name": 24, "result": 12, "own notes": 34, "why": 34, "about this list": 110, "source": 110}
_NARROW, _WIDE = 10, 40
_LINE, _TALLEST = 13.0, 400.0
"""Height of a line and of the tallest row, in points: programs do not size a row by its wrapped text when they open a file."""


# --- rows -------------------------------------------------------------------------------------------------------------
def rows_of(handout: Handout, *, cover: str | None = None) -> tuple[list[str], list[list[str]]]:
    """(header, rows): a row for each card, then one for each pattern that could match. Covered cells are empty."""
    cover = handout.cover if cover is None else cover
    header = ["no", "result", "name"]
    header += ["group"] if handout.group else []
    header += [f.heading for f in handout.fields]
    header += ["rests on", "why", "disputes", "variant of", "sources"]
    header += ["own notes"] if handout.notes_wanted else []
    notes = {f.number: dispute_text(f) for f in handout.footnotes}
    rows = [_row(handout, card, n, cover, notes) for n, card in enumerate(handout.cards, 1)]
    blank = [""] * (len(handout.fields) + bool(handout.group))
    for group in handout.open:
        for _, label in group.patterns:
            rest = ["", group.text, "", "", "", *([""] if handout.notes_wanted else [])]
            rows.append(["", "could match", label, *blank, *rest])
    return header, rows


def _row(handout: Handout, card: Card, n: int, cover: str, notes: dict[int, str]) -> list[str]:
    names, facts = cover == "names", cover == "facts"
    row = [str(n), "" if card.result == "subject" else card.result, "" if names else card.label]
    row += ["; ".join(card.groups)] if handout.group else []
    for field, cell in zip(handout.fields, card.cells, strict=True):
        hidden = facts or (names and tells_name(field))
        row.append("" if hidden else joined(cell, about=field.by_part, named=not names))
    said = "\n".join(notes[i] for i in card.notes)
    sources = dict.fromkeys(s for cell in card.cells for line in cell for s in line.sources)
    row += [remark(card), card.reason]
    row += ["", "", ""] if cover != "nothing" else [said, card.variant_of, "\n".join(sources)]
    return row + ([""] if handout.notes_wanted else [])


def dispute_text(note: Footnote) -> str:
    """A dispute in one line, with both sides and their witnesses."""

    def side(value: str, sources: Sequence[str]) -> str:
        return f"{value} ({'; '.join(sources)})" if sources else value

    adopted = side(note.adopted.value, note.adopted.sources) if note.adopted.value else "nothing, it is left open"
    also = "; also said: ".join(side(q.value, q.sources) for q in note.also_said)
    return f"dispute {note.number}, {note.feature}: adopted: {adopted}; also said: {also}"


def to_csv(handout: Handout) -> str:
    """One table: the patterns of a list or description, else the answer itself as ``answer_csv`` has it.

    What a page says once (title, date, question, cautions) stands in columns of its own, the same in each row. With a cover
    the covered cells are empty; the answers are in the file written without a cover.
    """
    once = {"title": handout.title, "date": handout.date}
    once |= {heading.lower(): text for heading, text in handout.fact_texts}
    once["cautions"] = " ".join((*handout.cautions, *handout.remarks))
    if not handout.lists_patterns:
        header, rows = answer_rows(handout.answer)
        return _csv([*header, *once], [[*row, *once.values()] for row in rows or [[""] * len(header)]])
    header, rows = rows_of(handout)
    iris = {c.label: expand(c.name) for c in handout.cards}
    iris |= {label: expand(name) for group in handout.open for name, label in group.patterns}
    full = [*header, "iri", *once]
    texts = [[*row, iris.get(row[2], ""), *once.values()] for row in rows]
    if not texts:  # an empty answer is an answer
        texts = [[*[""] * (len(header) + 1), *once.values()]]
        texts[0][1] = "no pattern is listed"
    return _csv(full, texts)


def _csv(header: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    return csv_text(header, [[safe(text) for text in row] for row in rows])


def answer_rows(answer: Answer) -> tuple[list[str], list[list[str]]]:
    """(header, rows) of an answer by itself, as text."""
    header, rows = answer_tables(answer)[0]
    words = {True: "yes", False: "no"}
    return list(header), [[words[c] if isinstance(c, bool) else str(c) for c in row] for row in rows]


# --- JSON -------------------------------------------------------------------------------------------------------------
def to_json(handout: Handout) -> dict[str, Any]:
    """The answer's own keys, and ``handout`` with title, date, fields, patterns (cards), disputes, signs and cautions."""
    out = answer_json(handout.answer)
    return out | {
        "handout": {
            "title": handout.title,
            "date": handout.date,
            "order": handout.order,
            "group": handout.group or None,
            "groups": list(handout.groups),
            "fields": [{"key": f.key, "heading": f.heading} for f in handout.fields],
            "patterns": [c.to_json(handout.fields) for c in handout.cards],
            "disputes": [f.to_json() for f in handout.footnotes],
            "cautions": list(handout.cautions),
            "remarks": list(handout.remarks),
        }
    }


# --- workbook ---------------------------------------------------------------------------------------------------------
def to_workbook(handout: Handout) -> bytes:
    """An XLSX file: the list, with a cover also the answers, the disputes, and a sheet about the handout. No formulas.

    Raises InputError (BL-I01) if openpyxl is not installed.
    """
    memory.need(memory.LIBRARY, "A workbook")
    try:
        import openpyxl
    except ImportError as e:
        what = "writing a workbook needs the package openpyxl, which is not installed"
        raise InputError("BL-I01", what, hint="pip install 'boxlock[sheets]'") from e
    book = openpyxl.Workbook()
    book.remove(book.active)
    header, rows = rows_of(handout, cover="nothing")
    if not handout.lists_patterns and handout.cover == "nothing":
        _sheet(book, "answer", *answer_rows(handout.answer), frozen="A2")
    if rows or handout.lists_patterns:
        _sheet(book, "study list", *_lean(*rows_of(handout)), frozen="D2")
    if handout.cover != "nothing":
        if not handout.lists_patterns:
            _sheet(book, "answer", *answer_rows(handout.answer), frozen="A2")
        _sheet(book, "answers", *_lean(header, rows), frozen="D2")
    if handout.footnotes:
        notes = [[str(f.number), ", ".join(f.labels), f.feature, dispute_text(f)] for f in handout.footnotes]
        _sheet(book, "disputes", ["no", "patterns", "feature", "why"], notes, frozen="A2")
    at = header.index("sources")
    sources = [[row[0], row[2], source] for row in rows for source in row[at].split("\n") if source]
    if sources:
        _sheet(book, "sources", ["no", "name", "source"], sources, frozen="A2")
    about = [["title", handout.title], ["date", handout.date], *(list(f) for f in handout.fact_texts)]
    about += [["order", handout.order_text]]
    about += [["caution", c] for c in handout.cautions] + [["note", r] for r in handout.remarks]
    about += [[sign, text] for sign, text in legend(handout) if not sign.startswith("[")]
    _sheet(book, "about", ["", "about this list"], about, frozen="A2")
    year, month, day = map(int, handout.date.split("-"))
    book.properties.created = book.properties.modified = datetime(year, month, day)
    book.properties.creator, book.properties.title = "Boxlock", safe(handout.title)
    return workbook_bytes(book)


def _lean(header: list[str], rows: list[list[str]]) -> tuple[list[str], list[list[str]]]:
    """Without columns that are empty from top to bottom, and without the sources, which have a sheet of their own."""
    kept = [
        i
        for i, heading in enumerate(header)
        if heading != "sources" and (heading in ("name", "own notes") or any(row[i] for row in rows))
    ]
    return [header[i] for i in kept], [[row[i] for i in kept] for row in rows]


def _sheet(book: Any, title: str, header: Sequence[str], rows: Sequence[Sequence[str]], *, frozen: str) -> None:
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
    from openpyxl.utils import get_column_letter

    sheet = book.create_sheet(title)
    sheet.freeze_panes = frozen
    rule = Side(style="thin", color="C9C4B8")
    for r, row in enumerate([header, *rows], 1):
        for c, text in enumerate(row, 1):
            cell = sheet.cell(r, c)
            cell.value = safe(text) or None
            if cell.value is not None:
                cell.data_type = "s"  # never a formula, whatever the text begins with
                cell.quotePrefix = text.startswith(("=", "+", "-", "@"))
            cell.alignment = Alignment(wrap_text=True, vertical="top")
            cell.border = Border(bottom=rule)
            if r == 1:
                cell.font = Font(bold=True, color="FFFFFF")
                cell.fill = PatternFill("solid", fgColor="24443E")
            elif header[c - 1] == "name":
                cell.font = Font(bold=True, size=10)
            else:
                cell.font = Font(size=10)
    widths = [_width(heading, [row[c] for row in rows]) for c, heading in enumerate(header)]
    for c, width in enumerate(widths, 1):
        sheet.column_dimensions[get_column_letter(c)].width = width
    for r, row in enumerate(rows, 2):
        tallest = max(_lines(text, width) for text, width in zip(row, widths, strict=True))
        sheet.row_dimensions[r].height = min(tallest * _LINE + 4, _TALLEST)
    if title == "study list" and rows:
        sheet.auto_filter.ref = f"A1:{get_column_letter(len(header))}{len(rows) + 1}"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_title_rows = "1:1"


def _width(heading: str, texts: Sequence[str]) -> int:
    """How wide a column is, in letters."""
    longest = max((len(line) for text in (heading, *texts) for line in text.split("\n")), default=0)
    return _WIDTHS.get(heading, min(_WIDE, max(_NARROW, longest + 2)))


def _lines(text: str, width: int) -> int:
    """About so many lines does a text take in a column: words are not broken, so a line is not quite full."""
    return sum(max(1, -(-len(line) // max(1, width - 3))) for line in text.split("\n"))


def safe(text: str) -> str:
    """Text without what steers or reorders a line; its own line ends stay."""
    return "\n".join(clean(line) for line in text[:32_000].split("\n"))
