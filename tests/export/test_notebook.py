"""Answers show themselves in a notebook and become data frames; the examples of the package's documentation run."""

from __future__ import annotations

import builtins
import doctest
from html.parser import HTMLParser

import pytest

import kg
from kg.errors import InputError


@pytest.mark.parametrize(
    "question", ["self-closing clamps", "compare Allis and Babcock", "describe Kelly forceps", "is the Allis traumatic?"]
)
def test_answers_show_themselves(shipped, question) -> None:
    shown = shipped.ask(question)._repr_html_()
    opened: list[str] = []

    class Reader(HTMLParser):
        def handle_starttag(self, tag, attrs):
            opened.append(tag)

        def handle_endtag(self, tag):
            assert opened.pop() == tag

    Reader().feed(shown)
    assert opened == []
    assert "licensed practice decide" in shown
    assert "<script" not in shown


def test_identifications_show_themselves(shipped) -> None:
    assert "Kelly" in shipped.identify("ring handle, ratchet, box lock, serrated over the distal half")._repr_html_()


def test_hostile_labels_in_a_notebook(hostile) -> None:
    shown = hostile.ask("clamps")._repr_html_()
    assert "<script" not in shown
    assert "&lt;script&gt;" in shown
    assert "\x1b" not in shown


def test_data_frame(shipped) -> None:
    answer = shipped.ask("self-closing clamps")
    frame = answer.to_pandas()
    assert list(frame.label[frame.result == "match"]) == [m.label for m in answer.matches]
    assert list(shipped.ask("compare Allis and Babcock").to_pandas().columns)[:4] == ["kind", "part", "feature", "decides"]


def test_error_without_pandas(shipped, monkeypatch) -> None:
    real = builtins.__import__

    def without(name, *rest):
        if name == "pandas":
            raise ImportError(name)
        return real(name, *rest)

    answer = shipped.ask("self-closing clamps")
    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(InputError, match="pandas") as caught:
        answer.to_pandas()
    assert caught.value.hint == "pip install pandas"


@pytest.mark.parametrize(("ending", "package"), [(".pdf", "typst"), (".xlsx", "openpyxl")])
def test_error_without_an_extra(shipped, monkeypatch, ending, package) -> None:
    real = builtins.__import__

    def without(name, *rest):
        if name == package:
            raise ImportError(name)
        return real(name, *rest)

    handout = kg.make_handout(shipped, "self-closing clamps")
    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(InputError, match=package) as caught:
        kg.handout_bytes(handout, ending)
    assert caught.value.hint.startswith("pip install 'boxlock[")


def test_examples_of_the_package(tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    found = doctest.testmod(kg, optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE)
    assert found.attempted >= 8
    assert found.failed == 0
