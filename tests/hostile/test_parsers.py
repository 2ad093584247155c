"""Oversized, deeply nested and exploding input for every reader of files: a finding or a plain error, in time."""

from __future__ import annotations

import io
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from kg.course.curriculum_sheet import read_rows
from kg.errors import BoxlockError, CatalogueError
from kg.export.reopen import files_of
from kg.intake.read_csv import read_csv
from kg.intake.read_rdf import read_rdf
from kg.intake.read_xlsx import read_xlsx
from kg.intake.rows import Report
from kg.load import parse_turtle
from kg.rehearse.answers import read_answers
from tests.hostile.conftest import boxlock, plainly

HEAD = b"@prefix bl: <https://boxlock.example/ns#> . bl:a bl:b "
DEEP = 200_000
RDF = {
    "lists": HEAD + b"( " * DEEP,
    "lists, closed": HEAD + b"( " * DEEP + b") " * DEEP + b".",
    "blank nodes": HEAD + b"[ bl:b " * DEEP,
    "terms": HEAD + b"<<( bl:a bl:b " * DEEP,
    "terms, closed": HEAD + b"<<( bl:a bl:b " * DEEP + b"bl:c" + b" )>>" * DEEP + b" .",
    "terms, closed in comments": HEAD + b"<<( bl:a bl:b # >>\n" * DEEP + b"bl:c" + b" )>>" * DEEP + b" .",
    "statements, closed": HEAD + b"<< bl:a bl:b " * DEEP + b"bl:c" + b" >>" * DEEP + b" .",
    "one long name": HEAD + b"bl:" + b"x" * 7_000_000 + b" .",
    "one long text": HEAD + b'"' + b"x" * 7_000_000 + b'" .',
    "a text that never ends": HEAD + b'"""' + b"x" * 7_000_000,
    "another host": HEAD + b"bl:c . @base <http://127.0.0.1:9/> . <x> <http://www.w3.org/2002/07/owl#imports> <y> .",
    "not UTF-8": HEAD + b"\xff\xfe .",
}
JSON = {
    "objects": b'{"@id":"urn:a","urn:b":' * DEEP,
    "objects, closed": b'{"@id":"urn:a","urn:b":' * 30_000 + b"1" + b"}" * 30_000,
    "lists, closed": b'{"@id":"urn:a","urn:b":{"@list":' + b'[{"@list":' * 20_000 + b"[]" + b"}]" * 20_000 + b"}}",
    "contexts": b'{"@context":' + b'[{"@context":' * 20_000 + b"{}" + b"}]" * 20_000 + b"}",
    "brackets in a text that never ends": b'["' + b"[" * DEEP,
    "a context elsewhere": b'{"@context":"http://127.0.0.1:9/x","a":1}',
    "one long text": b'{"urn:a":"' + b"x" * 20_000_000 + b'"}',
    "a number without end": b'{"@id":"urn:a","urn:b":' + b"9" * 1_000_000 + b"}",
}


@pytest.fixture(autouse=True)
def in_time() -> Iterator[None]:
    started = time.monotonic()
    yield
    assert time.monotonic() - started < 40


@pytest.mark.parametrize("named_graphs", [False, True], ids=["Turtle", "TriG"])
@pytest.mark.parametrize("name", RDF)
def test_evidence(name: str, named_graphs: bool) -> None:
    report = Report()
    rows = read_rdf(RDF[name].decode("utf-8", "replace"), "x.ttl", report, named_graphs=named_graphs)
    assert report.failed and not rows
    assert {f.code for f in report.errors} <= {"BL-I03", "BL-I04", "BL-I05", "BL-I07"}
    assert all(len(f.text) < 500 for f in report.errors)


@pytest.mark.parametrize("name", RDF)
def test_an_exported_turtle_file(name: str, tmp_path: Path) -> None:
    with pytest.raises(BoxlockError) as raised:
        files_of(tmp_path / "x.ttl", RDF[name])
    assert raised.value.code in ("BL-I03", "BL-I04")


@pytest.mark.parametrize("name", JSON)
def test_an_exported_json_ld_file(name: str, tmp_path: Path) -> None:
    with pytest.raises(BoxlockError) as raised:
        files_of(tmp_path / "x.jsonld", JSON[name])
    assert raised.value.code in ("BL-I03", "BL-I04")


def test_an_ontology_file(tmp_path: Path) -> None:
    file = tmp_path / "x.ttl"
    file.write_bytes(RDF["terms, closed"])
    with pytest.raises(CatalogueError) as raised:
        parse_turtle(file, "x.ttl")
    assert raised.value.code == "BL-C04"


def test_the_whole_process_lives(tmp_path: Path) -> None:
    """What is refused here ended the process, which no test inside it could have told."""
    (tmp_path / "x.ttl").write_bytes(RDF["terms, closed"])
    (tmp_path / "x.jsonld").write_bytes(JSON["objects, closed"])
    for name in ("x.ttl", "x.jsonld"):
        assert "BL-I04" in plainly(boxlock("ask", "clamps", "--catalogue", str(tmp_path / name)), 2).stderr


TABLES = {
    "dividers": "," * 5_000_000,
    "quotation marks": '"' * 1_000_001,
    "lines": "a\n" * 2_000_000,
    "a cell": "source,subject\n" + "x" * 5_000_000,
    "open quotation marks": '"a' * 100_000,
    "returns": "\r" * 100_000,
    "rows": "a,b\n" * 300_000,
}


@pytest.mark.parametrize("text", TABLES.values(), ids=TABLES)
def test_csv(text: str) -> None:
    report = Report()
    rows = read_csv(text, "x.csv", report)
    assert report.failed or not rows


TOML = {
    "lists": "a = " + "[" * 50_000,
    "tables": "a = " + "{ b = " * 20_000,
    "keys": "a" + ".a" * 50_000 + " = 1",
    "quoted keys": '"a"' + '."a"' * 30_000 + " = 1",
    "keys in a table": "a = { b" + " . b" * 30_000 + " = 1 }",
    "headings": "[" + "a." * 20_000 + "a]",
    "number": "a = " + "9" * 100_000,
    "text": 'a = """' + "x" * 150_000,
    "blocks": "[[objective]]\n" * 10_000,
    "remark": "# " + "x" * 190_000,
}


@pytest.mark.parametrize("text", TOML.values(), ids=TOML)
def test_toml(text: str, tmp_path: Path, catalogue) -> None:
    file = tmp_path / "x.toml"
    file.write_text(text)
    report = Report()
    read_rows(file, "x.toml", {}, report)
    assert report.failed
    with pytest.raises(BoxlockError) as raised:
        catalogue.stations("scissors", count=1, seed=1, blueprint=str(file))
    assert raised.value.code in ("BL-I03", "BL-I04", "BL-I10")
    if not text.startswith("#"):  # a file without estimates changes none
        with pytest.raises(BoxlockError):
            catalogue.plan("scissors", minutes=30, estimate=str(file))


def test_a_table_of_evidence(tmp_path: Path) -> None:
    for text in ("source,subject\n" + "x" * 200_000, "\0", '"' * 1_001, "source,subject,mode,feature,value\n" + ",,,,\n" * 10):
        (tmp_path / "t.csv").write_text(text)
        done = boxlock("table", str(tmp_path / "t.csv"), "--into", str(tmp_path / "out"))
        assert done.returncode in (0, 2) and "BL-X" not in done.stderr and "Traceback" not in done.stderr


def test_answers(tmp_path: Path) -> None:
    file = tmp_path / "x.txt"
    for text in ("1. x\n" * 100_000, "1." * 400_000, "9" * 900_000, "\0" * 900_000, "1. " + "word " * 190_000):
        file.write_text(text)
        try:
            read_answers(file, range(1, 11))
        except BoxlockError as error:
            assert error.code in ("BL-I03", "BL-I04")


# --- workbooks ------------------------------------------------------------------------------------------------------------
TYPES = '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>'
LAUGHS = "<!DOCTYPE l [" + '<!ENTITY a "aaaaaaaaaa">' + "".join(
    f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">' for i in range(9)
) + "]><l>&j;</l>"  # fmt: skip
OUTSIDE = '<!DOCTYPE l [<!ENTITY x SYSTEM "file:///etc/passwd">]><l>&x;</l>'


def archive(parts: dict[str, bytes | str], *, compress: bool = True) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED if compress else zipfile.ZIP_STORED) as zipped:
        for name, content in parts.items():
            zipped.writestr(name, content)
    return out.getvalue()


WORKBOOKS = {
    "zeros of a gigabyte": lambda: archive({"xl/worksheets/sheet1.xml": bytes(300_000_000)}),
    "many parts": lambda: archive({f"xl/{n}.xml": "" for n in range(5_000)}),
    "a zip in a zip in a zip": lambda: archive({"a.zip": archive({"b.zip": archive({"c": bytes(10_000_000)})})}),
    "entities": lambda: archive({"[Content_Types].xml": LAUGHS}),
    "entities in UTF-16": lambda: archive({"[Content_Types].xml": LAUGHS.encode("utf-16")}),
    "a file from outside": lambda: archive({"[Content_Types].xml": OUTSIDE}),
    "a way out": lambda: archive({"../../../../tmp/taken": "x", "[Content_Types].xml": TYPES}),
    "deep XML": lambda: archive({"[Content_Types].xml": TYPES, "xl/workbook.xml": "<a>" * 1_000_000}),
    "no parts": lambda: archive({}),
    "cut off": lambda: archive({"[Content_Types].xml": TYPES * 100})[:200],
    "rubbish": lambda: b"PK\x03\x04" + bytes(range(256)) * 500,
}


@pytest.mark.parametrize("name", WORKBOOKS)
def test_xlsx(name: str) -> None:
    report = Report()
    assert read_xlsx(WORKBOOKS[name](), "x.xlsx", report) == []
    assert {f.code for f in report.errors} <= {"BL-I03", "BL-I04"} and report.errors
    assert "root:" not in str(report.findings())


def test_rdf_xml_is_read_nowhere(tmp_path: Path) -> None:
    """The form that has entities: no command takes it, by any name."""
    head = '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
    text = OUTSIDE.replace("<l>", head).replace("</l>", "</rdf:RDF>")
    for ending in ("rdf", "owl", "xml", "ttl"):
        file = tmp_path / f"x.{ending}"
        file.write_text(text)
        for arguments in (("check", str(file), "--no-hermit"), ("ask", "clamps", "--catalogue", str(file))):
            done = boxlock(*arguments)
            assert done.returncode in (1, 2) and "BL-I0" in done.stdout + done.stderr
            assert "root:" not in done.stdout + done.stderr and "Traceback" not in done.stderr
