"""What a file from outside says comes out harmless where it is printed or written: terminal, pages, tables, JSON."""

from __future__ import annotations

import csv
import io
import json
from html.parser import HTMLParser
from pathlib import Path
from unicodedata import category

import pytest

import kg
from repl.screen import open_screen

EVIL = "<script>alert(1)</script><img src=x onerror=alert(1)> [a](javascript:alert(1)) 1+1 \u202e \x9b31m"
"""What a course may say; a text that begins like a formula is refused when it is read."""


@pytest.fixture(scope="module")
def course(catalogue, tmp_path_factory: pytest.TempPathFactory):
    text = json.dumps(EVIL)
    file: Path = tmp_path_factory.mktemp("course") / "c.toml"
    file.write_text(
        f'title = {text}\n[[objective]]\nid = "o1"\ntext = {text}\nquestion = "artery forceps"\n'
        f'[[session]]\nid = "s1"\ntitle = {text}\nshows = ["Kelly forceps"]\n',
        encoding="utf-8",
    )
    return catalogue.coverage([str(file)])


@pytest.mark.parametrize("text", ["=1+1", "@SUM(1)"])
def test_a_course_that_begins_like_a_formula_is_refused(catalogue, tmp_path: Path, text: str) -> None:
    file = tmp_path / "c.toml"
    file.write_text(f'[[objective]]\nid = "o1"\ntext = {json.dumps(text)}\nquestion = "artery forceps"\n', encoding="utf-8")
    with pytest.raises(kg.InputError) as raised:
        catalogue.coverage([str(file)])
    assert raised.value.code == "BL-I03"


def steers(text: str) -> set[str]:
    return {c for c in text if c not in "\n\t" and category(c) in ("Cc", "Cf", "Zl", "Zp")}


def test_a_report_as_a_page(course) -> None:
    class Reader(HTMLParser):
        seen: list[tuple[str, list]] = []  # noqa: RUF012 - one reader

        def handle_starttag(self, tag, attrs):
            self.seen.append((tag, attrs))

    page = kg.coverage_html(course)
    reader = Reader()
    reader.feed(page)
    assert "alert(1)" in page
    assert not {"script", "img"} & {tag for tag, _ in reader.seen}
    assert not [a for _, attrs in reader.seen for a, _ in attrs if a.startswith("on")]


def test_a_report_in_words(course) -> None:
    for text in (kg.plain(kg.coverage_lines(course, 80)), kg.coverage_markdown(course), kg.coverage_csv(course)):
        assert not steers(text)
    assert "<script" not in kg.coverage_markdown(course).replace("\\<", "")


def test_a_report_as_tables(course) -> None:
    cells = [c for row in csv.reader(io.StringIO(kg.coverage_csv(course))) for c in row]
    assert any("1+1" in c for c in cells)
    assert not [c for c in cells if c.startswith(("=", "+", "-", "@", "\t", "\r"))]
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(kg.coverage_xlsx(course)))
    assert not [c for sheet in book for row in sheet for c in row if c.data_type == "f"]


@pytest.mark.parametrize("sign", ["\x7f", "\x85", "\x9b", "\u061c", "\u200e", "\u2028", "\u202e", "\u2066", "\ufeff", "\ud800"])
def test_json_and_csv_carry_nothing_that_steers(sign: str) -> None:
    text = kg.json_text({f"a{sign}": [f"{sign}b"]})
    assert sign not in text and json.loads(text) == {f"a{sign}": [f"{sign}b"]}
    found = kg.findings_csv([kg.Finding("error", f"{sign}.csv", 1, "BL-I03", f"a {sign}", "")])
    assert sign not in found and found.count("\ufffd") == 2


def test_progress_names_files_without_what_steers(capsys) -> None:
    open_screen().progress("reading \x1b[2J\u202ex.ttl")
    assert not steers(capsys.readouterr().err)


def test_labels_in_the_template_are_no_formulas(catalogue, tmp_path: Path) -> None:
    from dataclasses import replace

    import openpyxl

    from kg.intake.template import write_template

    terms = dict(catalogue.vocabulary.terms)
    terms["bl:KellyForceps"] = terms["bl:KellyForceps"]._replace(label='=HYPERLINK("x")\x1b forceps')
    write_template(tmp_path / "t.xlsx", replace(catalogue.vocabulary, terms=terms), ("=1+1",), ("@src",))
    cells = [c for sheet in openpyxl.load_workbook(tmp_path / "t.xlsx") for row in sheet for c in row]
    assert any("HYPERLINK" in str(c.value) for c in cells) and not [c for c in cells if c.data_type == "f"]
