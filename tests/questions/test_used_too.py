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
    ("text", "holds"),
    [
        ("can a Kocher be used to rupture the membranes?", True),
        ("can a Babcock be used to rupture the membranes?", "not recorded"),
        ("is a Babcock made for rupturing the membranes?", False),
        ("is the Deaver used to drill bone?", False),
        ("is the amniotomy hook used to clamp the cord?", False),
    ],
)
def test_a_task_of_its_own_is_not_excluded_by_another_purpose(catalogue: Any, text: str, holds: bool | str) -> None:
    assert catalogue.ask(text).argument.holds == holds


@pytest.mark.parametrize(
    ("text", "among", "both"),
    [
        ("which instruments rupture the membranes?", "Kocher forceps", True),
        ("which instruments are made for rupturing the membranes?", "Kocher forceps", False),
        ("what clamps the umbilical cord?", "Kelly forceps", True),
        ("instruments that hold tissue", "Halsted mosquito forceps", False),
    ],
)
def test_a_list_by_a_task_has_what_is_used_for_it_besides(catalogue: Any, text: str, among: str, both: bool) -> None:
    assert (among in [m.label for m in catalogue.ask(text, limit=500).matches]) is both


def test_what_it_is_for_tells_the_operations_too(catalogue: Any) -> None:
    assert any("caesarean section" in n for n in catalogue.ask("what is a Wrigley for?").notes)
    assert not any("used in" in n for n in catalogue.ask("what is the joint of the Wrigley?").notes)


@pytest.mark.parametrize(
    ("text", "one"),
    [
        ("what is used to castrate bulls?", "emasculator"),
        ("what packs amalgam into a cavity?", "amalgam plugger"),
        ("which clamps go on the renal pedicle?", "Satinsky clamp"),
        ("what holds the appendix during appendectomy?", "Babcock tissue forceps"),
        ("what hooks out the uterus in a spay?", "spay hook"),
        ("which instruments are used for dacryocystorhinostomy?", "Kerrison rongeur"),
    ],
)
def test_a_use_that_sources_tell_of_is_found(catalogue: Any, text: str, one: str) -> None:
    assert one in [m.label for m in catalogue.ask(text, limit=500).matches]


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
