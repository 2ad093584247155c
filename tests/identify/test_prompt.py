"""Naming an instrument at the prompt: what is typed and what is shown."""

from __future__ import annotations

import pytest

from repl.session import PROMPT
from tests.typed import Typed


@pytest.fixture
def typed(catalogue) -> Typed:
    return Typed(catalogue)


def test_it_is_entered_and_left(typed: Typed) -> None:
    assert typed.session.prompt == PROMPT
    assert "Worth a look" in typed("identify")
    assert typed.session.prompt != PROMPT
    typed("done")
    assert typed.session.prompt == PROMPT and typed.session.mode is None
    assert "A pivot joint" in typed("what is a box lock?")


def test_what_is_seen_is_added_and_taken_back(typed: Typed) -> None:
    shown = typed("identify ring handles, box lock, half serrated, curved")
    assert "Kelly forceps" in shown
    assert typed.seen == ["ring handles", "box lock", "half serrated", "curved"]
    assert "Taken back: curved" in typed("take back")
    typed("take back 1")
    assert typed.seen == ["box lock", "half serrated"]
    typed("take back joint")
    assert typed.seen == ["half serrated"]
    typed("take back half serrated")
    assert typed.seen == []
    assert "Nothing has been said" in typed("take back")


def test_after_taking_back_the_answer_is_as_before(typed: Typed) -> None:
    before = typed("identify ring handles, half serrated")
    typed("fenestrated jaws")
    after = typed("take back").split("\n", 2)[1:]
    assert "\n".join(after).strip().split() == before.strip().split()


def test_what_cannot_be_told_is_not_asked_again(typed: Typed) -> None:
    typed("identify ring handles")
    first = typed.session.mode.outcome.next[0]  # type: ignore[union-attr]
    assert f"Left out: {first.feature}" in typed("cannot tell")
    assert first.slot not in [look.slot for look in typed.session.mode.outcome.next]  # type: ignore[union-attr]
    assert "Left out: ratchet" in typed("skip ratchet")
    assert "left out:" in typed("so far")


@pytest.mark.parametrize(
    "question", ["why was the Kelly forceps ruled out?", "Why not a Kelly forceps", "why isn't it the Kelly forceps?"]
)
def test_why_a_name_was_ruled_out(typed: Typed, question: str) -> None:
    typed("identify fenestrated jaws, no ratchet")
    shown = typed(question)
    assert "Is it Kelly forceps?" in shown
    assert "against it: has no ratchet; recorded: has a ratchet" in shown


def test_what_to_look_at_next(typed: Typed) -> None:
    typed("identify ring handles")
    assert "Worth a look, most telling first" in typed("what should I look at next?")


def test_an_error_leaves_what_was_seen(typed: Typed) -> None:
    typed("identify ring handles")
    assert "BL-Q02" in typed("curved, flibber")
    assert "BL-Q03" in typed("skip flibber")
    assert "BL-Q" in typed("why was the flibber ruled out?")
    assert typed.seen == ["ring handles"]


def test_the_sentence_and_a_new_start(typed: Typed) -> None:
    typed("identify ring handles, ratchet, transverse serration, half serrated, curved, about 14 cm")
    assert typed("say it").startswith("Most likely a curved Kelly forceps")
    typed("start again")
    assert typed.seen == []
    assert "take back" in typed("help")
