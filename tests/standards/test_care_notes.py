"""Notes on care without an instrument: what is asked is found by part and step, and every line has its source.

The expectations come from outside the project: the instrument preparation working group (jointed instruments open in the
machine), APIC (a lumen is flushed and brushed before it is sterilised), NICE IPG196 (instruments for high-risk tissue stay with
their set), and what nurses and students asked who had not seen the program.
"""

from __future__ import annotations

import pytest

from kg import QuestionError
from kg.language.nodes import CareNotes, Define, Holds, Reprocessing


def lines(answer) -> str:
    return " ".join(c.text for c in answer.care)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("do I close the ratchet before autoclaving", "Open in the steriliser"),
        ("Should scissors go into the washer open or shut", "Open in the washer"),
        ("lumened suction tubes: how do you clean the inside", "flushed and brushed"),
        ("Steriliser temperature that steel instruments usually get?", "134 °C"),
        ("Can I put chlorine bleach on stainless steel?", "pit"),
        ("Is it OK to soak stainless clamps in saline overnight?", "Saline corrodes"),
        ("Will boiling blunt the scissors?", "1901"),
        ("what should I check on a ratchet at inspection?", "tap test"),
        ("how to check if scissors r still sharp?", "surgical glove"),
        ("How do we get blood out of the joint of an artery clip that has dried in?", "worked open and shut"),
        ("titanium together with steel in washing", "do not share one cleaning cycle"),
        ("do you lubricate b4 or after sterilising", "before sterilising"),
        ("Prion-risk work and neuro instruments - what's in your notes?", "do not move from one set"),
        ("reprocessing diamond knives in eye set", "kept apart"),
        ("Can a fibre-lit laryngoscope blade go through the autoclave?", "semicritical"),
        ("Can a gold-handled needle holder be put in the ultrasonic bath?", "carbide"),
        ("diathermy forceps, what to check on the insulation before use", "pinholes"),
        ("Is it safe to put an eye spud thru the ultrasonic bath?", "ultrasonic bath"),
        ("difference between cleaning, disinfecting and sterilising", "spores"),
    ],
)
def test_care_is_answered_by_the_rules_of_the_part_and_the_step(fresh, text, said):
    answer = fresh.ask(text)
    assert answer.kind == "reprocessing"
    assert said in lines(answer)
    assert all(c.sources for c in answer.care)
    assert any("maker" in note and "policy" in note for note in answer.notes)


def test_both_sides_are_told_where_sources_differ(fresh):
    said = lines(fresh.ask("ultrasonic bath for micro scissors?"))
    assert "one side" in said and "the other side" in said


@pytest.mark.parametrize(
    "text",
    [
        "how do you sterilise milk?",
        "How do you clean my kitchen floor?",
        "Should I clean the wound with saline?",
        "should the patient have saline",
        "what temperature should the patient be",
        "tungsten inserts chipped - keep or bin?",
        "can I autoclave it",
    ],
)
def test_what_is_no_care_of_instruments_is_refused(fresh, text):
    with pytest.raises(QuestionError):
        fresh.ask(text)


@pytest.mark.parametrize(
    "text",
    ["which scissors have sharp-sharp tips?", "Any instruments that must never be autoclaved?", "scissors with blunt tips"],
)
def test_a_list_is_left_a_list(fresh, text):
    assert not isinstance(fresh.understand(text).question, CareNotes)


def test_what_an_instrument_tells_itself_is_left_to_it(fresh):
    assert fresh.understand("What do I do with the Kelly before the autoclave?").question == Reprocessing("bl:KellyForceps")
    asked = fresh.understand("Can I autoclave the Kelly?").question  # a yes or no on the method on record
    assert isinstance(asked, Holds) and asked.pattern == "bl:KellyForceps" and "SteamSterilisation" in repr(asked.expr)
    assert fresh.understand("does the Kelly go in the ultrasonic bath?").question == CareNotes(
        ("ultrasonic",), "bl:KellyForceps"
    )
    own = fresh.answer(Reprocessing("bl:KellyForceps"))
    more = fresh.answer(CareNotes(("ultrasonic",), "bl:KellyForceps"))
    assert {c.text for c in own.care} <= {c.text for c in more.care}
    assert any("joint open" in c.text for c in more.care)


def test_every_topic_is_read_back(fresh):
    from kg.language import say

    topics = fresh.lexicon.words.care
    for name in topics:
        asked = CareNotes((name,))
        assert fresh.parse(say(asked, fresh.lexicon)) == asked
    both = CareNotes(tuple(topics)[:4], "bl:KellyForceps")
    assert fresh.parse(say(both, fresh.lexicon)) == both


def test_every_rule_can_be_told(fresh):
    rules = fresh.context.tables["care"]["rule"]
    for rule in rules:
        assert rule["text"] in lines(fresh.answer(CareNotes(tuple(rule["about"]))))


def test_the_meaning_of_a_mark_is_no_question_of_care(fresh):
    assert isinstance(fresh.understand('What does "single use" mean on an instrument?').question, Define)
