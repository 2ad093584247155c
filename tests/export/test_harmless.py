"""Hostile labels come out as text in every form. What counts as harmful is told by readers that are not ours:
the standard library's HTML and CSV readers, openpyxl, pdfium, and a CommonMark parser's rules quoted where they are used."""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from html.parser import HTMLParser

import pytest

from kg.export import Wishes, handout_bytes, make_handout
from kg.render.spans import clean
from tests.export.hostile import DATE, HOSTILE

STEERING = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2066-\u2069]")


@pytest.fixture(scope="module")
def handout(hostile):
    return make_handout(hostile, "clamps", Wishes(date=DATE, title="=1+1 <b>*title*</b> \x1b[0m"))


def as_text(handout, ending: str) -> str:
    return handout_bytes(handout, ending).decode("utf-8")


def test_all_are_listed(handout) -> None:
    assert {c.label for c in handout.cards} == set(HOSTILE.values())


@pytest.mark.parametrize("ending", [".html", ".md", ".csv"])
def test_nothing_steers_a_terminal_or_turns_a_line_round(handout, ending) -> None:
    assert STEERING.search(as_text(handout, ending)) is None


def test_html_has_no_element_from_a_label(handout) -> None:
    class Reader(HTMLParser):
        def __init__(self) -> None:
            super().__init__(convert_charrefs=True)
            self.elements: list[tuple[str, dict]] = []
            self.names: list[str] = []
            self.inside = False

        def handle_starttag(self, tag, attrs):
            self.elements.append((tag, dict(attrs)))
            self.inside = tag == "bdi"
            if self.inside:
                self.names.append("")

        def handle_endtag(self, tag):
            self.inside = False if tag == "bdi" else self.inside

        def handle_data(self, data):
            if self.inside:
                self.names[-1] += data

    reader = Reader()
    reader.feed(as_text(handout, ".html"))
    assert [t for t, _ in reader.elements].count("script") == 1
    assert not {"img", "iframe", "object", "base", "form", "x"} & {t for t, _ in reader.elements}
    assert not [a for _, attrs in reader.elements for a in attrs if a.startswith("on") or a == "style"]
    assert not [v for _, attrs in reader.elements for v in attrs.values() if v and v.lower().startswith("javascript:")]
    assert set(reader.names) == {clean(label) for label in HOSTILE.values()}


def test_csv_has_no_formula(handout) -> None:
    """A spreadsheet runs a cell that begins with one of these signs (OWASP, CSV injection)."""
    rows = list(csv.reader(io.StringIO(as_text(handout, ".csv"))))
    assert len(rows) == len(HOSTILE) + 1
    assert len({len(r) for r in rows}) == 1
    assert not [c for row in rows for c in row if c.startswith(("=", "+", "-", "@", "\t", "\r"))]


def test_xlsx_has_no_formula(handout) -> None:
    import openpyxl

    data = handout_bytes(handout, ".xlsx")
    book = openpyxl.load_workbook(io.BytesIO(data))
    cells = [c for sheet in book for row in sheet for c in row if c.value is not None]
    assert {c.data_type for c in cells} == {"s"}
    assert all(c.quotePrefix for c in cells if str(c.value).startswith(("=", "+", "-", "@")))
    assert clean(HOSTILE["Formula"]) in {c.value for c in cells}
    assert not [c for c in cells if STEERING.search(str(c.value))]
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert not any(b"<f>" in archive.read(n) for n in archive.namelist())
        assert not [n for n in archive.namelist() if "external" in n.lower() or "vba" in n.lower()]
    assert book["study list"].freeze_panes == "D2"


def test_pdf_shows_the_labels(handout) -> None:
    import pypdfium2

    document = pypdfium2.PdfDocument(handout_bytes(handout, ".pdf"))
    text = " ".join("".join(page.get_textpage().get_text_bounded() for page in document).split())
    for name in ("Script", "Quotes", "Formula", "Minus", "At"):
        assert " ".join(HOSTILE[name].split()) in text
    assert "panic" in text
    assert not re.search(rb"/(JavaScript|JS|Launch|OpenAction|AA)\b", handout_bytes(handout, ".pdf"))


def test_markdown_has_no_markup_from_a_label(handout) -> None:
    """CommonMark 0.31, 2.4: a backslash before ASCII punctuation makes it text; 4.6 and 6.6: HTML begins with ``<``."""
    text = as_text(handout, ".md")
    bare = re.sub(r"\\[!-/:-@\[-`{-~]", "", text)
    assert "<" not in bare
    assert "](" not in bare
    assert "`" not in bare
    assert bare.count("# ") == text.count("# ")
    names = [line for line in text.splitlines() if line.startswith("### ")]
    assert len(names) == len(HOSTILE)


def test_json_is_json(handout) -> None:
    found = json.loads(as_text(handout, ".json"))
    assert {p["label"] for p in found["handout"]["patterns"]} == set(HOSTILE.values())


@pytest.mark.parametrize("cover", ["names", "facts"])
@pytest.mark.parametrize("ending", [".html", ".md", ".csv", ".xlsx", ".pdf"])
def test_covered_forms_can_be_written(hostile, cover, ending) -> None:
    covered = make_handout(hostile, "clamps", Wishes(date=DATE, cover=cover))
    assert handout_bytes(covered, ending)
