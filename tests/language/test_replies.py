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
        "what should I check on a needle holder? > and its jaws?",
        "how is a Kelly sterilised? > and at 121?",
        "list the elevators > the last one > and the next?",
        "does a Heaney clamp have teeth? > does the Zeppelin have them too?",
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


def test_the_variant_is_told_by_what_it_has(catalogue: Any) -> None:
    told = asked("what is an Adson? > the forceps with teeth", catalogue)
    assert [m.label for m in told.matches] == ["toothed Adson forceps"]


def test_it_is_none_of_several_likely_candidates(catalogue: Any) -> None:
    seen = catalogue.ask("it has two sharp pointed hooks and ring handles with a ratchet")
    assert seen.identification.alike > 1
    told = catalogue.ask("what do you use it for?", after=seen)
    assert told.kind == "group"
    assert all(c.label in told.reading for c in seen.identification.candidates[: seen.identification.alike])


def test_a_name_is_argued_for_an_instrument_in_the_hand(catalogue: Any) -> None:
    seen = catalogue.ask("it has ring handles, a ratchet and one into two teeth at the tip")
    told = catalogue.ask("could it be an Allis?", after=seen)
    assert told.kind == "identify"
    assert told.identification.claim.label == "Allis tissue forceps"
    assert catalogue.ask("how do I tell the two apart?", after=told).kind == "compare"
    assert catalogue.ask("is it straight?", after=seen).identification is None


def test_a_list_knows_what_it_was_narrowed_from(catalogue: Any) -> None:
    whole = catalogue.ask("retractors")
    held = catalogue.ask("which of these are self-retaining?", after=whole)
    brain = catalogue.ask("which are for the brain?", after=held)
    assert list(brain.wider) == [whole.tree, held.tree]
    assert catalogue.ask("curved scissors", after=brain).wider == ()
