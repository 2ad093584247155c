"""A form that is tried last because its words are not in the question changes no reading and no refusal."""

from __future__ import annotations

import csv

import pytest

from kg.errors import QuestionError
from kg.language import parse_forms
from kg.language.lexicon import Lexicon
from kg.language.parse import parse
from tests.language.conftest import ROOT


def outcome(text: str, lexicon: Lexicon) -> tuple:
    """The tree of a question, or all that its refusal says."""
    lexicon.parsed.clear()
    try:
        return (parse(text, lexicon),)
    except QuestionError as error:
        return error.code, str(error), error.span, error.near, error.expected, error.readings, error.hint


def test_the_order_changes_nothing(catalogue, monkeypatch: pytest.MonkeyPatch) -> None:
    texts: list[str] = []
    for name in ("asked.tsv", "kept.tsv"):
        with (ROOT / "tests" / "corpus" / name).open(encoding="utf-8", newline="") as file:
            texts += [row["question"] for row in csv.DictReader(file, delimiter="\t")]
    texts += [text.rsplit(" ", 1)[0] for text in texts if " " in text]  # cut short, so that more are refused
    texts += ["which is the longest", "the longest of the", "which of Kelly and Crile is", "not (not (not curved)) clamps"]
    now = {t: outcome(t, catalogue.lexicon) for t in texts}
    monkeypatch.setattr(parse_forms, "_NEEDED", {})
    plain = {t: outcome(t, catalogue.lexicon) for t in texts}
    assert now == plain
    assert sum(len(o) > 1 for o in now.values()) > 100


def test_what_is_needed_names_forms(catalogue) -> None:
    forms = {f.__name__ for f in parse_forms.FormParser("", [], catalogue.lexicon)._forms()}
    assert set(parse_forms._NEEDED) <= forms
    for words in parse_forms._NEEDED.values():
        assert all(catalogue.lexicon.words.keywords[w.removeprefix("kw.")] for w in words)
