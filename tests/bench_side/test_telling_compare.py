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
    """Kelly half, Crile full, Allis toothed: two features together (sources as in the catalogue)."""
    names = ["Kelly forceps", "Crile forceps", "Allis tissue forceps"]
    found = catalogue.compare(names, telling=True).comparison
    assert found.differences
    assert all(d.separates for d in found.differences)
    assert any(sign.startswith("Together") for sign in found.telling_signs)


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
