"""Replies after an answer: the opposite, another value, both and either, the list again; and what is refused then."""

from __future__ import annotations

from typing import Any

import pytest

import kg
from kg.language.replies import KNOWN


def asked(talk: str, catalogue: Any) -> Any:
    """The answer to the last question of a conversation, divided by >."""
    before: Any = None
    *earlier, last = talk.split(" > ")
    for text in earlier:
        before = catalogue.ask(text, after=before)
    return catalogue.ask(last, after=before)


def test_every_act_is_known(catalogue: Any) -> None:
    acts = [act.split()[0] for _, act in (*catalogue.talk.replies, *catalogue.talk.replies_last)]
    assert [a for a in acts if (a.startswith("=") or a.endswith(":")) and a not in KNOWN] == []


@pytest.mark.parametrize(
    "talk",
    [
        "which scissors are for the eye? > what would you use instead for stitches?",
        "list retractors > four prongs, if you please, instead of what you said",
        "is the Deaver hand-held? > which one isn't?",
        "list retractors > how do I tell these two apart?",
        "describe the Cusco > which ones?",
        "list retractors > is it self-retaining?",
        "which instruments have a guard? > which don't?",
    ],
)
def test_refused(talk: str, catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError):
        asked(talk, catalogue)


@pytest.mark.parametrize(
    ("talk", "same_as"),
    [
        ("list retractors > which scissors are curved?", "curved scissors"),
        ("list retractors > what is a rongeur?", "what is a rongeur?"),
        ("compare Allis and Babcock > which forceps are for eyes?", "forceps for the eye"),
        ("what is a rongeur? > how many scissors are there?", "how many scissors?"),
        ("which clamps are crushing? > what does crushing mean?", "what does crushing mean?"),
    ],
)
def test_a_question_of_its_own_is_no_reply(talk: str, same_as: str, catalogue: Any) -> None:
    assert asked(talk, catalogue).tree == catalogue.parse(same_as)


def test_it_is_none_of_several_likely_candidates(catalogue: Any) -> None:
    seen = catalogue.ask("it has two sharp pointed hooks and ring handles with a ratchet")
    assert seen.identification.alike > 1
    told = catalogue.ask("what do you use it for?", after=seen)
    assert told.kind == "group"
    assert all(c.label in told.reading for c in seen.identification.candidates[: seen.identification.alike])


def test_a_list_knows_what_it_was_narrowed_from(catalogue: Any) -> None:
    whole = catalogue.ask("retractors")
    held = catalogue.ask("which of these are self-retaining?", after=whole)
    brain = catalogue.ask("which are for the brain?", after=held)
    assert list(brain.wider) == [whole.tree, held.tree]
    assert catalogue.ask("curved scissors", after=brain).wider == ()
