"""Clauses into sentences, on a vocabulary of three words."""

from __future__ import annotations

import pytest

from kg.answer.spoken import Clause, had, sentence, value_clause, varying_clause
from kg.vocabulary import Feature, Term, Vocabulary

WORDS = {
    "bl:A": Term("bl:A", "value", "artery", spoken="arteries"),
    "bl:B": Term("bl:B", "value", "bone"),
    "bl:C": Term("bl:C", "value", "fine tip"),
    "bl:D": Term("bl:D", "value", "blunt tip"),
    "bl:N": Term("bl:N", "value", "no insert"),
}
VOCABULARY = Vocabulary(WORDS, {}, {})


@pytest.mark.parametrize(
    ("head", "attributes", "expected"),
    [
        ("jaws", [], "jaws"),
        ("jaws", ["solid jaws", "transverse serration", "no insert"], "solid jaws with transverse serration and no insert"),
        ("jaws", ["short jaws", "solid jaws"], "short, solid jaws"),
        ("a tip", ["a fine tip", "no teeth"], "a fine tip with no teeth"),
        ("a joint", ["a box-lock joint"], "a box-lock joint"),
        ("a cutting edge", ["a curved cutting edge"], "a curved cutting edge"),
        (
            "blades",
            ["blades that are long for the shank", "blunt-blunt tips"],
            "blades that are long for the shank, with blunt-blunt tips",
        ),
        ("", ["a ring handle"], "a ring handle"),
    ],
)
def test_a_part_with_what_is_said_of_it(head, attributes, expected) -> None:
    assert had(head, attributes) == expected


@pytest.mark.parametrize(
    ("clauses", "many", "expected"),
    [
        ([Clause("has", "a shank"), Clause("lacks", "ratchet")], False, "It has a shank, but no ratchet."),
        ([Clause("lacks", "ratchet"), Clause("lacks", "joint")], False, "It has no ratchet and no joint."),
        ([Clause("is", "curved"), Clause("other", "is made solid")], True, "It are curved and are made solid."),
        (
            [Clause("is", "reusable"), Clause("is", "critical"), Clause("other", "can be boiled")],
            False,
            "It is reusable and critical, and can be boiled.",
        ),
        ([], False, ""),
    ],
)
def test_sentences(clauses, many, expected) -> None:
    assert sentence("it", clauses, many=many) == expected


def test_values_stand_as_they_are_spoken() -> None:
    used = Feature("bl:f", phrase="is used on {value}")
    assert str(value_clause(used, ["bl:A", "bl:B"], VOCABULARY)) == "is used on arteries and bone"
    tip = Feature("bl:t", single=True, phrase="has {a value}")
    assert str(varying_clause(tip, ["bl:C", "bl:D"], VOCABULARY)) == "is made with a fine tip or with a blunt tip"
    assert str(varying_clause(tip, ["bl:C"], VOCABULARY)) == "is sometimes made with a fine tip"
    assert value_clause(Feature("bl:i", phrase="has {value}"), ["bl:N"], VOCABULARY) == Clause("lacks", "insert")
