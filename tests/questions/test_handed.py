"""What somebody tells of a thing in the hand, and then asks what it is, is identified; a name that is told is not."""

from __future__ import annotations

from typing import Any

import pytest

from kg import answer_lines, plain


@pytest.mark.parametrize(
    ("question", "reading"),
    [
        (
            "I have been given curved artery forceps with longitudinal grooves. What are they?",
            "identify curved artery forceps with longitudinal grooves",
        ),
        ("I was given long scissors with angled blades. What are they?", "identify long scissors with angled blades"),
        ("I was handed a curved clamp. Which one is it?", "identify curved clamp"),
        (
            "I have been given a curved clamp with longitudinal grooves. What is it?",
            "identify curved clamp with longitudinal grooves",
        ),
    ],
)
def test_a_thing_told_of_is_identified(catalogue: Any, question: str, reading: str) -> None:
    assert catalogue.ask(question).reading == reading


@pytest.mark.parametrize(
    ("question", "kind"),
    [
        ("I was handed a Kocher. What is it?", "define"),
        ("I have a Babcock in my hand, what is it?", "define"),
        ("I was given a Kocher. What is it used for?", "value"),
    ],
)
def test_a_name_is_no_description(catalogue: Any, question: str, kind: str) -> None:
    assert catalogue.ask(question).kind == kind


def test_little_seen_and_all_understood_says_where_to_look(catalogue: Any) -> None:
    answer = catalogue.ask("I have been given a curved clamp with longitudinal grooves. What is it?")
    text = " ".join(plain(answer_lines(answer, 200)).split())
    assert "Too little has been seen to name it" in text and "Look at:" in text


@pytest.mark.parametrize(
    ("seen", "reading"),
    [
        ("light tissue forceps", "has a delicate build"),
        ("forceps, light", "has a delicate build"),
        ("scope with a light", "comes with a light"),
        ("it has a light", "comes with a light"),
        ("forceps with a row of interlocking teeth", "has interlocking teeth"),
    ],
)
def test_a_word_says_how_a_thing_is_unless_it_is_had(catalogue: Any, seen: str, reading: str) -> None:
    assert reading in [s.reading for s in catalogue.identify(seen).seen]
