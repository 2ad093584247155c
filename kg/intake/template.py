"""The workbook to fill in: the three tables with drop-down lists made from the vocabulary, and how to use it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from kg import memory, names
from kg.errors import InputError
from kg.files import write_bytes
from kg.intake.resolve import FIELDS
from kg.intake.rows import LONGEST_CELL, MOST_ROWS, shorten
from kg.intake.tables import COLUMNS
from kg.vocabulary import Vocabulary
from kg.workbooks import workbook_bytes

if TYPE_CHECKING:
    import openpyxl

    from kg.catalogue import Catalogue

ROWS = 1000
"""Rows that have drop-down lists."""
_WIDTHS = {"title": 44, "definition": 60, "definition source": 24, "subject": 30, "feature": 28, "value": 34, "synonyms": 30}
INSTRUCTIONS = (
    "How to fill in this workbook",
    "",
    "sources: one row a source. id is a short name of your own, such as my-textbook-p12. The kind decides its weight.",
    "A source of the kind ruling is your own decision: it beats the count of the others.",
    "patterns: only instruments that the catalogue does not have yet. Divide several synonyms, misspellings or",
    "definition sources by |. A variant names the pattern it is a variant of.",
    "statements: one row for each thing that one source says. Subject, feature and value may be the words of the lists,",
    "or ids. is: true of every piece. some: true of some pieces (straight or curved: two rows). not: expressly denied.",
    "A length is millimetres: 140, or 127..178 for all the sizes made.",
    "Never state a category (such as: an artery forceps): it is inferred from what the instrument is like.",
    "Write only what the words of the source support. Use no formulas, and no names of makers or product lines.",
    f"A column named note is for you and is not read. At most {MOST_ROWS:,} rows are read at once.",
    "",
    "The sheet example shows an INVENTED instrument from an INVENTED source. It is not read.",
    "",
    "Then: boxlock check FILE.xlsx (writes nothing), and boxlock add FILE.xlsx (all or nothing).",
    "For study: local policy, makers' instructions and licensed practice decide.",
)


def export_template(catalogue: Catalogue, path: Path) -> Path:
    """Writes the workbook for an open catalogue and returns ``path``. Raises InputError as ``write_template``."""
    from kg.build import adoption_rules

    kinds = tuple(sorted(adoption_rules(catalogue.root, {})[0].weight_of_kind))
    sources = tuple(sorted(t.name.removeprefix("src:") for t in catalogue.vocabulary.by_role("source")))
    write_template(path, catalogue.vocabulary, kinds, sources)
    return path


def write_template(path: Path, vocabulary: Vocabulary, kinds: tuple[str, ...], sources: tuple[str, ...]) -> None:
    """Writes the workbook. ``kinds``: kinds of source; ``sources``: ids that may be cited besides one's own.

    Raises InputError: BL-I01 if openpyxl is not installed, BL-I02 if the file is there already or cannot be written.
    """
    memory.need(memory.LIBRARY, "A workbook")
    try:
        import openpyxl
    except ImportError as e:
        what = "writing a workbook needs the package openpyxl, which is not installed"
        raise InputError("BL-I01", what, hint="pip install 'boxlock[sheets]'") from e
    if path.suffix.lower() != ".xlsx":
        raise InputError("BL-I01", "The name of a template ends in .xlsx.", file=str(path))
    if path.exists():
        raise InputError(
            "BL-I02", "There is such a file already; it is not overwritten.", file=str(path), hint="Choose another."
        )
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "instructions"
    sheet.column_dimensions["A"].width = 120
    for line in INSTRUCTIONS:
        sheet.append([line])
    sheet["A1"].font = openpyxl.styles.Font(bold=True)
    for table in ("statements", "sources", "patterns"):
        _table(book.create_sheet(table), (*COLUMNS[table], "note"))
    _example(book.create_sheet("example"), vocabulary)
    _lists(book, vocabulary, kinds, sources)
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, str):
                    cell.data_type = "s"  # a label that begins like a formula stays a text
    write_bytes(path, workbook_bytes(book))


def _table(sheet: Any, columns: tuple[str, ...]) -> None:
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    sheet.append(columns)
    sheet.freeze_panes = "A2"
    for index, column in enumerate(columns, 1):
        sheet.cell(1, index).font = Font(bold=True)
        look = sheet.column_dimensions[get_column_letter(index)]
        look.width = _WIDTHS.get(column, 18)
        look.number_format = "@"  # text: a page 3-12 is not to become a date


def pairs(vocabulary: Vocabulary) -> list[tuple[str, str]]:
    """(label of a feature, label of one of its values), sorted: what the lists offer and the reader understands."""
    out = set()
    for name in vocabulary.features:
        home = vocabulary.features[name].denies or name
        values = vocabulary.values_of(home) or tuple(t.name for t in vocabulary.by_role("pattern"))
        out |= {(vocabulary.label(name), vocabulary.label(v)) for v in values}
    out |= {(vocabulary.label(p), t.label) for p in names.PARTS for t in vocabulary.by_role("part")}
    return sorted(out)


def _lists(book: openpyxl.Workbook, vocabulary: Vocabulary, kinds: tuple[str, ...], sources: tuple[str, ...]) -> None:
    from kg.evidence.statements import LENGTH

    sheet = book.create_sheet("lists")
    sheet.sheet_state = "hidden"
    offered = pairs(vocabulary)
    subjects = sorted({t.label for role in ("pattern", "kind") for t in vocabulary.by_role(role)}, key=str.casefold)
    columns = {
        "A": sorted({f for f, _ in offered} | {vocabulary.label(LENGTH)}),
        "B": [f for f, _ in offered],
        "C": [v for _, v in offered],
        "D": subjects,
        "E": ["is", "some", "not"],
        "F": list(kinds),
        "G": list(FIELDS),
        "H": sorted(t.label for t in vocabulary.by_role("pattern")),
        "I": list(sources),
    }
    for letter, values in columns.items():
        for row, value in enumerate(values, 1):
            sheet[f"{letter}{row}"] = shorten(value, LONGEST_CELL)  # openpyxl refuses what is not printable

    def whole(letter: str) -> str:
        return f"lists!${letter}$1:${letter}${max(len(columns[letter]), 1)}"

    last = len(offered)
    of_feature = (
        f"OFFSET(lists!$C$1,MATCH($D2,lists!$B$1:$B${last},0)-1,0,COUNTIF(lists!$B$1:$B${last},$D2),1)"  # sorted by feature
    )
    own = f"sources!$A$2:$A${ROWS + 1}"
    for table, column, formula, strict in (
        ("statements", "A", own, False),
        ("statements", "B", whole("D"), False),
        ("statements", "C", whole("E"), True),
        ("statements", "D", whole("A"), True),
        ("statements", "E", of_feature, False),
        ("sources", "D", whole("F"), True),
        ("sources", "E", whole("G"), True),
        ("patterns", "F", whole("H"), False),
        ("patterns", "H", whole("I"), False),
    ):
        _offer(book[table], column, formula, strict)


def _offer(sheet: Any, column: str, formula: str, strict: bool) -> None:
    from openpyxl.worksheet.datavalidation import DataValidation

    rule = DataValidation(type="list", formula1=formula, allow_blank=True, showErrorMessage=strict)
    rule.error, rule.errorTitle = "Take a value from the list.", "Not in the list"
    sheet.add_data_validation(rule)
    rule.add(f"{column}2:{column}{ROWS + 1}")


def _example(sheet: Any, vocabulary: Vocabulary) -> None:
    """An invented pattern; features and values are the first ones of the vocabulary, so that they exist."""
    sheet.append(["INVENTED: neither this instrument nor this source exists. This sheet is not read."])
    sheet.append([])
    sheet.append(["sources", *COLUMNS["sources"]])
    sheet.append(["", "invented-book", "A Book That Does Not Exist", "Nobody", "textbook", "human", "", "12", "", "2026-01"])
    sheet.append([])
    sheet.append(["patterns", *COLUMNS["patterns"]])
    words = ["", "InventedForceps", "invented forceps", "", "made-up forceps|sample forceps", "", ""]
    sheet.append([*words, "An invented instrument that only shows how a row is filled in.", "invented-book"])
    sheet.append([])
    sheet.append(["statements", *COLUMNS["statements"]])
    shown: dict[str, str] = {}
    for feature, value in pairs(vocabulary):
        shown.setdefault(feature, value)
    for feature, value in list(shown.items())[:3]:
        sheet.append(["", "invented-book", "invented forceps", "is", shorten(feature), shorten(value)])
    sheet.append(["", "invented-book", "invented forceps", "is", "length", "127..178"])
