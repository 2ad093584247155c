"""Why this but not that: the difference only."""

from __future__ import annotations

import pytest

from kg.language import nodes, say

QUESTIONS = [
    "why is the Alder clamp but not the Birch clamp a non-crushing clamp",
    "why Alder clamp but not Birch clamp is a non-crushing clamp?",
    "why is the Alder clamp a non-crushing clamp but not the Birch clamp",
    "why is the Alder clamp a non-crushing clamp but the Birch clamp is not?",
    "why is Alder clamp, but not the Birch clamp, a non-crushing clamp",
    "why is the Alder clamp a non-crushing clamp and the Birch clamp isn't?",
]


@pytest.mark.parametrize("question", QUESTIONS)
def test_forms(small, question):
    tree = small.parse(question)
    assert tree == nodes.Contrast("bl:AlderClamp", "bl:BirchClamp", nodes.IsA("bl:NonCrushingClamp"))
    assert small.parse(say(tree, small.lexicon)) == tree


def test_only_the_difference_is_told(told):
    """Both are made for clamping bowel: that is not said."""
    assert (
        told(QUESTIONS[0])
        == """\
I read this as: why is Alder clamp but not Birch clamp a non-crushing clamp?

It is so of the first and not of the second.

What makes the difference
  1. The Alder clamp is non-crushing.
      A made-up page
  2. The Birch clamp is crushing.
      A made-up book
"""
    )


def test_what_is_not_recorded_of_the_other_is_said_so(small):
    argument = small.ask("why is the Elm holder but not the Birch clamp an instrument with finger rings").argument
    assert argument.holds == "not recorded"
    assert argument.justifications[0][-1].text == "Of the Birch clamp: finger rings (not recorded)."


@pytest.mark.parametrize(
    ("question", "otherwise"),
    [
        ("why is the Alder clamp but not the Birch clamp an intestinal clamp", "It holds of the Birch clamp as well."),
        (
            "why is the Birch clamp but not the Elm holder a non-crushing clamp",
            "Of the Birch clamp it does not hold: effect on tissue: non-crushing (fails: recorded as crushing).",
        ),
        (
            "why is the Alder clamp but not the Elm holder a clamp with finger rings",
            "Of the Alder clamp it is not decided: finger rings (not recorded).",
        ),
    ],
)
def test_a_question_that_supposes_what_is_not_so(small, question, otherwise):
    argument = small.ask(question).argument
    assert (argument.holds, argument.justifications, argument.missing) == (False, (), (otherwise,))


def test_two_instruments_of_the_shipped_catalogue(catalogue):
    """Kelly and Crile differ in how far the jaws are serrated (surgical texts; see the outside facts of the contents)."""
    answer = catalogue.ask("why is the Kelly forceps but not the Crile forceps a half-serrated artery forceps")
    assert answer.argument.holds is True
    assert [r.text for r in answer.argument.justifications[0]] == [
        "The Kelly forceps is serrated over the distal half.",
        "The Crile forceps is serrated over the full length.",
    ]
    assert all(r.sources for r in answer.argument.justifications[0])
