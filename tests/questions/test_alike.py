"""Instruments like a named one but otherwise in something.

What a teacher would name first is common practice, with no source: a Kelly with teeth is the Ochsner (Kocher) pattern; an Allis
without teeth is a Babcock; a Doyen that crushes is a Payr.
"""

from __future__ import annotations

from typing import Any

import pytest

from kg.answer.lookalikes import telling_slots


@pytest.mark.parametrize(
    ("text", "first", "never"),
    [
        ("like a Kelly but with teeth", "Kocher forceps", "Crile forceps"),
        ("something like the Allis tissue forceps but without teeth", "Babcock tissue forceps", "Littlewood tissue forceps"),
        ("which clamp is like the Doyen intestinal clamp but crushing?", "Payr clamp", "Doyen intestinal clamp"),
        ("artery forceps like the Kelly but fully serrated", "Crile forceps", "Kelly forceps"),
    ],
)
def test_what_a_teacher_would_name(catalogue: Any, text: str, first: str, never: str) -> None:
    answer = catalogue.ask(text)
    assert answer.kind == "like"
    found = [m.label for m in answer.matches]
    assert first in found[:3] and never not in found
    assert [a.label for a in answer.look_alikes] == found


@pytest.mark.parametrize("name", ["Kelly forceps", "Metzenbaum scissors", "Langenbeck retractor", "Mayo-Hegar needle holder"])
@pytest.mark.parametrize("what", ["curved", "with a ratchet", "without finger rings", "used on bowel"])
def test_all_that_is_given_fits_and_differs_in_little(catalogue: Any, name: str, what: str) -> None:
    """Against the list of the same condition, and the slots that a comparison tells apart by."""
    answer = catalogue.ask(f"instruments like {name} but {what}", limit=1000)
    fit = {m.name for m in catalogue.ask(f"instruments that are {what}" if what == "curved" else f"instruments {what}").matches}
    assert {m.name for m in answer.matches} <= fit
    pattern = answer.tree.pattern
    for alike in answer.look_alikes:
        apart = {catalogue.vocabulary.label(s) for s in telling_slots(catalogue.context, pattern, alike.name)}
        assert {sign[0] for sign in alike.signs} <= apart
        assert alike.name != pattern


@pytest.mark.parametrize(("size", "end"), [("longer", 1), ("shorter", 0)])
def test_sizes(catalogue: Any, size: str, end: int) -> None:
    answer = catalogue.ask(f"like Kelly forceps but {size}")
    assert answer.matches
    here = _span(catalogue, answer.tree.pattern)
    for match in answer.matches:
        there = _span(catalogue, match.name)
        assert there[end] > here[end] if end else there[end] < here[end], match.label


def _span(catalogue: Any, pattern: str) -> tuple[float, float]:
    return catalogue.context.reader.facts([pattern], ["bl:length"])[pattern].known.length


def test_without_a_condition_it_asks_for_look_alikes(catalogue: Any) -> None:
    assert catalogue.ask("instruments like the Babcock").kind == "look-alikes"


def test_it_reads_back(catalogue: Any) -> None:
    for text in (
        "like a Kelly but with teeth and that is curved",
        "clamps like the Kelly but longer",
        "like the Allis but no teeth",
    ):
        answer = catalogue.ask(text)
        assert catalogue.ask(answer.reading).tree == answer.tree
