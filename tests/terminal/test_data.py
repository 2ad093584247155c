"""JSON and CSV: complete, with the keys of the contract, and harmless in a spreadsheet."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from types import SimpleNamespace
from unicodedata import category

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kg.errors import InputError, QuestionError
from kg.model import Answer, Finding, Match
from kg.render.data import (
    answer_csv,
    answer_json,
    csv_text,
    findings_csv,
    findings_json,
    json_text,
    raw_csv,
    raw_json,
)
from kg.render.english import CAUTION
from kg.render.faults import error_json
from kg.store.base import Cell
from kg.store.guard import QueryForm
from kg.store.sandbox import RawResult

ASKED = {"question", "reading", "kind", "sparql", "matches", "not_recorded", "possible_count", "disputed"}


def rows(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline="")))


@pytest.mark.parametrize(
    ("name", "keys"),
    [
        ("found", set()),
        ("grouped", {"groups"}),
        ("valued", {"values"}),
        ("compared", {"subjects", "differences", "shared", "not_recorded", "telling_signs"}),
        ("argued", {"statement", "holds", "justifications", "missing"}),
    ],
)
def test_json_has_the_keys_of_the_contract(name: str, keys: set[str], made: SimpleNamespace) -> None:
    value = answer_json(getattr(made, name)())
    assert set(value) >= ASKED | keys | {"verified_by"}
    assert json.loads(json_text(value)) == json.loads(json.dumps(value))


def test_json_is_complete_where_text_is_shortened(made: SimpleNamespace) -> None:
    value = answer_json(made.valued())
    assert value["values"][0]["sources"] == ["F921, ASTM", "Hemostat, Wikipedia", "A third", "A fourth"]


def test_the_caution_is_a_note_once(made: SimpleNamespace) -> None:
    assert answer_json(made.found())["notes"] == ["A caution that belongs to this answer.", CAUTION]
    assert answer_json(replace(made.found(), notes=(CAUTION,)))["notes"] == [CAUTION]


def test_json_keeps_letters_and_survives_lone_surrogates() -> None:
    assert json_text({"a": "Péan"}) == '{\n  "a": "Péan"\n}\n'
    assert json_text({"a": "Péan"}, ascii_only=True, lines=True) == '{"a": "P\\u00e9an"}\n'
    assert json_text({"a": "\udc80"}, lines=True) == '{"a": "\\udc80"}\n'


def test_csv_of_a_filter_tells_the_three_results_apart(made: SimpleNamespace) -> None:
    table = rows(answer_csv(made.found()))
    assert table[0] == ["result", "label", "iri", "inferred", "basis", "variant_of", "reason"]
    assert [r[0] for r in table[1:]] == ["match"] * 5 + ["disputed"] * 3 + ["could match"] * 3
    assert table[2][1:5] == ["curved Kelly forceps", "https://boxlock.example/ns#CurvedKelly", "yes", ""]


def test_csv_of_other_kinds(made: SimpleNamespace) -> None:
    assert rows(answer_csv(made.grouped()))[1] == ["haemostatic", "2", "curved Kelly forceps; Kelly forceps"]
    assert rows(answer_csv(made.valued()))[4] == ["trauma", "traumatic", "inferred", "Kelly forceps", ""]
    assert rows(answer_csv(made.compared()))[1] == [
        "difference", "jaws", "extent of the serration", "yes", "distal half", "full length",
    ]  # fmt: skip
    argued = rows(answer_csv(made.argued()))
    assert argued[0] == ["holds", "kind", "way", "step", "text", "disputed", "sources"]
    assert [r[2:4] for r in argued[1:]] == [["1", "1"], ["1", "2"], ["1", "3"], ["2", "1"], ["2", "2"]]
    disputes = replace(made.found(), kind="disputes")
    assert [r[5] for r in rows(answer_csv(disputes))[1:]] == [
        "criss-cross serration", "criss-cross serration", "criss-cross serration", "longitudinal serration",
    ]  # fmt: skip


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\n"])
def test_formulas_are_defused(sign: str) -> None:
    evil = Answer("q", "r", "filter", matches=(Match("bl:X", f"{sign}cmd|' /C calc'!A0"),))
    assert rows(answer_csv(evil))[1][1] == f"'{sign}cmd|' /C calc'!A0"


@given(st.lists(st.text(st.characters(exclude_categories=["Cs"])), min_size=2, max_size=4))
def test_csv_reads_back_without_formulas(cells: list[str]) -> None:
    # What steers a terminal is replaced; a carriage return would end the row. Line by line as ``clean`` does, but tabs stay.
    text = csv_text(["head"] * len(cells), [cells])
    assert "\x00" not in text
    (_, row) = csv.reader(io.StringIO(text, newline=""))
    for cell, got in zip(cells, row, strict=True):
        assert not got.startswith(("=", "+", "-", "@", "\t", "\n"))
        kept = cell.replace("\r\n", "\n").replace("\r", "\n")
        kept = "\n".join("\t".join(map(steerless, line.split("\t"))) for line in kept.split("\n"))
        assert got.removeprefix("'") == kept.removeprefix("'")


def steerless(text: str) -> str:
    """Without control and format characters by their Unicode category, which is not how the program finds them."""
    kept = "\u00ad\ufff9\ufffa\ufffb"  # soft hyphens and notes: they neither steer nor reorder
    steers = {"\u061c", "\u2028", "\u2029", "\ufeff", *map(chr, range(0x200B, 0x2010)), *map(chr, range(0x202A, 0x202F))}
    steers |= set(map(chr, range(0x2060, 0x2070)))
    return "".join("\ufffd" if c not in kept and (c in steers or category(c) == "Cc") else c for c in text)


def test_raw_results() -> None:
    iri = "https://boxlock.example/ns#KellyForceps"
    select = RawResult(QueryForm.SELECT, ("p", "n"), [{"p": Cell("iri", iri), "n": Cell("literal", "a", "", "en")}, {}])
    assert raw_json(select) == {
        "form": "select",
        "truncated": False,
        "variables": ["p", "n"],
        "rows": [{"p": {"kind": "iri", "value": iri}, "n": {"kind": "literal", "value": "a", "lang": "en"}}, {}],
    }
    assert rows(raw_csv(select)) == [["p", "n"], [iri, "a"], ["", ""]]
    ask = RawResult(QueryForm.ASK, text="true")
    assert raw_json(ask)["answer"] is True and raw_csv(ask) == "answer\nyes\n"
    triples = RawResult(QueryForm.CONSTRUCT, text='<a> <b> "c" .\n')
    assert raw_json(triples)["triples"] == '<a> <b> "c" .\n'
    assert rows(raw_csv(triples)) == [["triple"], ['<a> <b> "c" .']]


def test_findings() -> None:
    finding = Finding("error", "a.ttl", 3, "BL-C04", "text", "fix")
    assert findings_json([finding], False) == {
        "findings": [
            {"severity": "error", "file": "a.ttl", "line": 3, "code": "BL-C04", "text": "text", "fix": "fix"},
        ],
        "consistent": False,
    }
    assert rows(findings_csv([finding]))[1] == ["error", "a.ttl", "3", "BL-C04", "text", "fix"]


def test_errors_have_every_key() -> None:
    lists = {"expected": ("e",), "near": ("n",), "readings": ("r",)}
    error = QuestionError("BL-Q02", "m", question="q", span=(1, 2), hint="h", **lists)
    assert error_json(error) == {
        "code": "BL-Q02",
        "message": "m",
        "span": [1, 2],
        "expected": ["e"],
        "near": ["n"],
        "readings": ["r"],
        "hint": "h",
    }
    other = error_json(InputError("BL-I02", "m", file="f", line=4))
    assert other["span"] == [0, 0] and other["near"] == [] and (other["file"], other["line"]) == ("f", 4)
