"""The same evidence in every form gives the same staging, and the template is a form that the reader understands."""

from __future__ import annotations

import zipfile
from pathlib import Path

import openpyxl
import pytest

from kg.build import stage, verify
from kg.errors import InputError
from kg.evidence.statements import Statement
from kg.intake import turtle
from kg.intake.inspect import inspect, read
from kg.intake.rows import Report
from kg.intake.tables import COLUMNS
from kg.intake.template import export_template, pairs
from kg.reason.neighbourhood import neighbourhoods

SAID = """source,subject,mode,feature,value
my-book,Kelly forceps,is,type of joint,box lock
my-book,Kelly forceps,some,curvature,curved
my-book,Kelly forceps,not,used on,bowel
my-book,Kelly forceps,is,length,127..178
my-book,Kelly forceps,is,part,ratchet
"""
SOURCES = "id,title,kind\nmy-book,A Book of the Test,textbook\n"
TURTLE = """@prefix b: <https://boxlock.example/ns#> .
@prefix src: <https://boxlock.example/source/> .
@prefix s: <https://boxlock.example/some/> .
@prefix n: <https://boxlock.example/not/> .
@prefix dcterms: <http://purl.org/dc/terms/> .
src:my-book a b:Source ; dcterms:title "A Book of the Test" ; b:sourceKind "textbook" .
"""
FACTS = """b:KellyForceps b:joint b:BoxLock ; s:curvature b:Curved ; n:usedOn b:Bowel ; b:hasPart b:Ratchet ;
    b:shortestLength 127 ; b:longestLength 178 .
"""
EXPECTED = {
    Statement("bl:KellyForceps", "bl:joint", "is", "bl:BoxLock", "src:my-book"),
    Statement("bl:KellyForceps", "bl:curvature", "some", "bl:Curved", "src:my-book"),
    Statement("bl:KellyForceps", "bl:usedOn", "not", "bl:Bowel", "src:my-book"),
    Statement("bl:KellyForceps", "bl:length", "is", "127..178", "src:my-book"),
    Statement("bl:KellyForceps", "bl:hasPart", "is", "bl:Ratchet", "src:my-book"),
}


def workbook(path: Path, **tables: str) -> None:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, text in tables.items():
        sheet = book.create_sheet(name.title())
        for line in text.splitlines():
            sheet.append(line.split(","))
    book.save(path)


def write(folder: Path, form: str) -> list[Path]:
    one, two = folder / "sources.csv", folder / "said.csv"
    if form == "turtle":
        two = folder / "said.ttl"
        two.write_text(TURTLE + FACTS, encoding="utf-8")
        return [two]
    if form == "trig":
        two = folder / "said.trig"
        two.write_text(f"{TURTLE}src:my-book {{ {FACTS} }}\n", encoding="utf-8")
        return [two]
    if form == "xlsx":
        two = folder / "said.xlsx"
        workbook(two, sources=SOURCES, statements=SAID)
        return [two]
    encoding = {"utf-8 with mark": "utf-8-sig", "utf-16": "utf-16"}.get(form, "utf-8")
    divide = {"semicolons": ";", "tabs": "\t"}.get(form, ",")
    text = SAID if form != "ids" else SAID.replace("Kelly forceps", "bl:KellyForceps").replace("box lock", "BoxLock")
    one.write_text(SOURCES.replace(",", divide), encoding=encoding)
    two.write_text(text.replace(",", divide), encoding=encoding)
    return [one, two]


FORMS = ("commas", "semicolons", "tabs", "utf-8 with mark", "utf-16", "ids", "turtle", "trig", "xlsx")


@pytest.mark.parametrize("form", FORMS)
def test_every_form_says_the_same(form: str, tmp_path: Path, staged, ontology_folder: Path) -> None:
    found = inspect(write(tmp_path, form), ontology_folder, {}, hermit=False, before=staged)
    assert found.accepted, found.findings
    assert set(found.staging.said) == EXPECTED
    source = found.staging.sources["src:my-book"]
    assert (source.title, source.kind) == ("A Book of the Test", "textbook")
    assert all(place.line for place in found.staging.said.values())


def test_what_is_staged_reads_back(tmp_path: Path, staged, ontology_folder: Path) -> None:
    found = inspect(write(tmp_path, "turtle"), ontology_folder, {}, hermit=False, before=staged)
    again = stage(ontology_folder, turtle.source_files(found.files), base=staged)
    assert set(again.statements) - set(staged.statements) == EXPECTED
    whole = stage(ontology_folder, turtle.source_files(found.files))
    assert whole.records == again.records and whole.types() == again.types()


# --- the template -------------------------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def template(catalogue, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return export_template(catalogue, tmp_path_factory.mktemp("template") / "mine.xlsx")


def test_the_template_has_the_documented_tables_and_lists(template: Path, catalogue) -> None:
    book = openpyxl.load_workbook(template)
    assert book.sheetnames == ["instructions", "statements", "sources", "patterns", "example", "lists"]
    assert book["lists"].sheet_state == "hidden"
    for table, columns in COLUMNS.items():
        assert tuple(c.value for c in book[table][1]) == (*columns, "note")
    assert len(book["statements"].data_validations.dataValidation) == 5
    assert "INVENTED" in book["example"]["A1"].value
    offered = [(b.value, c.value) for b, c in zip(book["lists"]["B"], book["lists"]["C"], strict=True) if b.value]
    assert offered == pairs(catalogue.vocabulary)


def test_an_empty_template_is_no_evidence(template: Path) -> None:
    report = Report()
    assert read(template, "mine.xlsx", report) == []
    assert [f.text for f in report.findings()] == ["nothing in it is evidence"]


def test_everything_the_lists_offer_is_understood(
    template: Path, catalogue, staged, tmp_path: Path, ontology_folder: Path
) -> None:
    """Every pair of feature and value, said of some pieces (so that nothing contradicts anything), in the template itself."""
    book = openpyxl.load_workbook(template)
    book["sources"].append(["my-book", "A Book", "", "textbook"])
    for feature, value in pairs(catalogue.vocabulary):
        book["statements"].append(["my-book", "Kelly forceps", "some", feature, value])
    filled = tmp_path / "filled.xlsx"
    book.save(filled)
    found = inspect([filled], ontology_folder, {}, hermit=False, before=staged)
    assert not [f for f in found.findings if f.code in ("BL-I03", "BL-I05")], found.findings[:3]
    assert len(found.staging.said) == len(pairs(catalogue.vocabulary))


def test_a_template_overwrites_nothing(template: Path, catalogue) -> None:
    before = template.read_bytes()
    with pytest.raises(InputError) as caught:
        export_template(catalogue, template)
    assert caught.value.code == "BL-I02" and template.read_bytes() == before
    assert zipfile.is_zipfile(template)


# --- the neighbourhood --------------------------------------------------------------------------------------------------
@pytest.mark.reasoner
def test_the_neighbourhood_is_enough_for_hermit(staged) -> None:
    """HermiT gives a sample of patterns the same categories on their neighbourhood as the rules on everything."""
    sample = sorted(staged.records)[::40]
    assert "HermiT" in verify(staged, sample)
    (part,) = neighbourhoods(staged.with_facts(sample), [sample])
    assert len(part) < len(staged.with_facts(sample)) / 2
