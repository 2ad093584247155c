"""Lists by what instruments have in common with a named one, or by its length; facts as in the catalogue."""

from __future__ import annotations

from typing import Any

import pytest

import kg


def test_what_is_put_in_the_place_of_the_name_is_told(catalogue: Any) -> None:
    answer = catalogue.ask("which needle holders have the same handle as the Castroviejo?")
    assert answer.notes[0] == "Castroviejo needle holder: type of handle spring handle."
    assert {m.name for m in answer.matches} == {
        m.name for m in catalogue.ask("needle holders with a spring handle", limit=1000).matches
    }


def test_longer_is_longer_than_the_longest_size_and_shorter_than_the_shortest(catalogue: Any) -> None:
    low, high = catalogue.context.reader.facts(["bl:MayoScissors"], ["bl:length"])["bl:MayoScissors"].known.length
    assert low < high
    assert catalogue.ask("scissors longer than a Mayo").tree == catalogue.parse(f"scissors longer than {high:g} mm")
    assert catalogue.ask("scissors shorter than a Mayo").tree == catalogue.parse(f"scissors shorter than {low:g} mm")
    assert catalogue.ask("scissors no longer than a Mayo").tree == catalogue.parse(f"scissors no longer than {high:g} mm")


def test_nothing_recorded_to_compare_with_is_said(catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError) as caught:
        catalogue.ask("which retractors are shorter than a Morris?")
    assert caught.value.code == "BL-Q11"
    assert caught.value.message == "Of Morris retractor no length is recorded, so nothing can be compared with it."
    assert caught.value.question[slice(*caught.value.span)] == "Morris"


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("is the Kelly longer than the Crile?", "extreme"),
        ("is the Kocher the same instrument as the Ochsner?", "define"),
        ("which instruments look the same as the Kelly?", "look-alikes"),
        ("scissors other than the Mayo", "filter"),
    ],
)
def test_other_comparisons_stay_what_they_are(text: str, kind: str, catalogue: Any) -> None:
    answer = catalogue.ask(text)
    assert answer.kind == kind
    assert "mm" not in answer.reading


def test_more_is_not_longer(catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError):
        catalogue.ask("clamps that crush more than the Kelly")


def test_words_written_otherwise_do_not_grow(catalogue: Any) -> None:
    from kg.language.otherwise import said_otherwise

    lexicon, talk = catalogue.lexicon, catalogue.talk
    for text in (
        "instruments for the lens",
        "clamps used in hernia",
        "scissors for joint work",
        "retractors used on the teeth",
    ):
        sizes = []
        for _ in range(4):
            text = said_otherwise(text, lexicon, talk) or text
            sizes.append(len(text))
        assert sizes[1:] == sizes[1:2] * 3, text
