"""``compare --telling`` shows only what decides."""

from __future__ import annotations

import pytest


def test_only_what_decides_is_left(catalogue) -> None:
    whole = catalogue.compare(["Kelly forceps", "Crile forceps"]).comparison
    telling = catalogue.compare(["Kelly forceps", "Crile forceps"], telling=True).comparison
    assert telling.differences == tuple(d for d in whole.differences if d.decides)
    assert telling.differences and not telling.shared and not telling.not_recorded
    assert telling.telling_signs == whole.telling_signs


def test_three_that_no_single_feature_tells_apart(catalogue) -> None:
    """Kelly is serrated over the distal half, Crile over the full length (VetSurgeryOnline, ch. 3); only Allis has teeth."""
    labels = ("Kelly forceps", "Crile forceps", "Allis tissue forceps")
    found = catalogue.compare(labels, telling=True).comparison
    assert found.differences and not any(d.decides for d in found.differences)
    assert {pair for d in found.differences for pair in d.separates} == {(1, 0), (2, 0), (2, 1)}
    assert "extent of the serration" in {d.feature for d in found.differences}
    assert "Tip teeth and extent of the serration: enough to tell all of them apart." in found.telling_signs


def test_what_nothing_tells_apart_is_named(catalogue) -> None:
    """A pattern beside a variant that is made as it is itself: nothing recorded can decide."""
    labels = ("Crile forceps", "curved Crile forceps", "Allis tissue forceps")
    found = catalogue.compare(labels, telling=True).comparison
    assert "Nothing recorded tells Crile forceps from curved Crile forceps." in found.telling_signs


def test_in_words(catalogue) -> None:
    answer = catalogue.ask("what tells Kelly from Crile?")
    assert answer.comparison.only_telling
    assert catalogue.parse(answer.reading) == catalogue.parse("what tells Kelly from Crile?")


@pytest.mark.parametrize(
    "text",
    [
        "describe Kelly forceps",
        "telling signs of Kelly forceps",
        "telling signs of Kelly forceps among artery forceps that are curved",
        "telling signs of needle holders",
        "look-alikes of Kelly forceps",
        "what tells Kelly and Crile apart?",
    ],
)
def test_read_back(catalogue, text) -> None:
    from kg.language import say

    question = catalogue.parse(text)
    assert catalogue.parse(say(question, catalogue.lexicon)) == question


@pytest.mark.parametrize("format", ["text", "json", "csv", "markdown"])
@pytest.mark.parametrize(
    "arguments",
    [
        ["describe", "Kelly forceps"],
        ["compare", "Kelly forceps", "Crile forceps", "--telling"],
        ["compare", "needle holders", "artery forceps", "--telling"],
        ["ask", "look-alikes of Kelly forceps"],
        ["ask", "telling signs of Kelly forceps"],
    ],
)
def test_on_the_command_line(capsys, arguments, format) -> None:
    from repl.cli import main

    assert main([*arguments, "--format", format]) == 0
    out = capsys.readouterr()
    assert out.out.strip() and not out.err
