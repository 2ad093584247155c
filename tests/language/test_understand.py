"""Questions beyond the grammar: shorthand, one word of a name, plain talk, an instrument in the hand, refusals that say why."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import kg

CASES = Path(__file__).parent / "cases" / "understood.txt"


def cases() -> list[tuple[str, str]]:
    lines = CASES.read_text(encoding="utf-8").splitlines()
    return [tuple(c.strip() for c in x.split(" ; ")) for x in lines if x and not x.startswith("#")]  # type: ignore[misc]


@pytest.mark.parametrize(("talk", "reading"), cases())
def test_read_as(talk: str, reading: str, catalogue: Any) -> None:
    before: Any = None
    for text in talk.split(" > "):
        try:
            before = catalogue.ask(text, after=before)
        except kg.QuestionError as error:
            before = error
    assert before.reading == reading
    assert catalogue.parse(before.reading) == before.tree


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("what do the sources weigh", "BL-Q11"),
        ("heaviest scissors", "BL-Q11"),
        ("who invented the Babcock", "BL-Q11"),
        ("plan six sessions on retractors", "BL-Q12"),
        ("quiz me on clamps", "BL-Q12"),
        ("who won the match last night", "BL-Q13"),
        ("my pt is bleeding what do i clamp", "BL-Q06"),
        ("how much is a debakey", "BL-Q06"),
        ("compare the Kelly and the Xyzzy", "BL-Q02"),
        ("does a metzenbam have a ratchet", "BL-Q02"),
        ("Kelly forceps but not for me", "BL-Q03"),
        ("Heaney", "BL-Q05"),
    ],
)
def test_refused_with_its_reason(text: str, code: str, catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError) as caught:
        catalogue.ask(text)
    assert caught.value.code == code
    assert caught.value.hint or caught.value.near or caught.value.expected or caught.value.readings


def test_a_misspelling_is_offered_and_not_run(catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError) as caught:
        catalogue.ask("does a metzenbam have a ratchet")
    assert caught.value.near[0] == "Metzenbaum"


def test_words_passed_over_are_told(catalogue: Any) -> None:
    notes = catalogue.ask("tell my students what the difference is between Kelly and Crile").notes
    assert any("students" in note for note in notes)


@pytest.mark.parametrize(
    "text", ["Kelly and Crile are not the same", "compare Kelly and Crile except the jaws", "never mind Kelly or Crile"]
)
def test_words_that_turn_a_question_round_are_never_passed_over(text: str, catalogue: Any) -> None:
    try:
        question = catalogue.parse(text)
    except kg.QuestionError:
        return
    assert not isinstance(question, kg.language.nodes.Compare)


def test_a_negation_ends_at_a_comma_without_or(catalogue: Any) -> None:
    tree = catalogue.parse("forceps with no ratchet, a spring handle and teeth")
    assert "without a ratchet" in catalogue.ask("forceps with no ratchet, a spring handle and teeth").reading, tree


def test_it_means_nothing_without_a_question_before(catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError):
        catalogue.ask("is it curved?")


def test_a_name_that_two_of_the_readings_bear_is_asked_again(catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError) as first:
        catalogue.ask("kocher")
    with pytest.raises(kg.QuestionError) as second:
        catalogue.ask("the forceps", after=first.value)
    assert second.value.code == "BL-Q05" and len(second.value.readings) == 2
