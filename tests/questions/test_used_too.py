"""What an instrument is used for beside what it is made for; names heard as several words; what is not counted."""

from __future__ import annotations

from typing import Any

import pytest

from kg import QuestionError


@pytest.mark.parametrize(
    ("text", "holds"),
    [
        ("can the Olsen-Hegar cut sutures?", True),
        ("is the Olsen-Hegar made for cutting sutures?", False),
        ("can Mayo scissors cut wire?", False),
    ],
)
def test_what_it_is_used_for_besides_counts(catalogue: Any, text: str, holds: bool) -> None:
    assert catalogue.ask(text).argument.holds is holds


@pytest.mark.parametrize(
    ("text", "offered"),
    [
        ("lang and beck retractor", "Langenbeck"),
        ("weit laner", "Weitlaner"),
        ("hager dilators", "Hegar"),
        ("crial", "Crile"),
        ("coker clamp", "Kocher intestinal clamp"),
    ],
)
def test_a_name_heard_otherwise_is_offered(catalogue: Any, text: str, offered: str) -> None:
    with pytest.raises(QuestionError) as refused:
        catalogue.ask(text)
    assert offered in (*refused.value.near, *refused.value.readings)


@pytest.mark.parametrize("text", ["which clamp came first, Kelly or Crile?", "what lies in the slot of a Boyle-Davis gag?"])
def test_words_between_are_no_part_of_a_name(catalogue: Any, text: str) -> None:
    try:
        assert catalogue.ask(text).unread is not None
    except QuestionError as refused:
        assert "No instrument is called" not in refused.message


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("which retractors come in more than one size?", "BL-Q06"),
        ("which instruments must be flushed?", "BL-Q06"),
        ("which clamps have at least two rings?", "BL-Q11"),
        ("which instruments are used for cattle?", "BL-Q11"),
        ("clamps used on the uterine artery", "BL-Q03"),
    ],
)
def test_what_is_not_recorded_is_refused_with_its_reason(catalogue: Any, text: str, code: str) -> None:
    with pytest.raises(QuestionError) as refused:
        catalogue.ask(text)
    assert refused.value.code == code and refused.value.hint


def test_of_two_values_that_exclude_each_other_either_is_offered(catalogue: Any) -> None:
    with pytest.raises(QuestionError) as refused:
        catalogue.ask("clamps that are both straight and curved")
    assert refused.value.readings == ("clamps that are straight or curved",)
