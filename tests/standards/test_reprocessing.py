"""Reprocessing from construction and use, with the fact behind each line.

The checks are against CDC/HICPAC 2008 (risk categories, steam preferred for critical items that bear heat), the AMA Archives of
Ophthalmology 1954;51:311 (eye knives cannot be autoclaved without corrosion), Community Eye Health 2004;17(49):14 (knives
autoclaved with a protector), OSAP (dry heat does not dull edges) and a published summary of dry heat conditions (it may).
"""

from __future__ import annotations

import pytest

from kg.language.nodes import Reprocessing
from kg.render import answer_lines
from kg.render.data import answer_csv, answer_json


def steps(answer) -> dict[str, list]:
    out: dict[str, list] = {}
    for line in answer.care:
        out.setdefault(line.step, []).append(line)
    return out


@pytest.mark.parametrize(
    ("text", "subject"),
    [
        ("how is the Kelly reprocessed?", "bl:KellyForceps"),
        ("reprocessing of Mayo scissors", "bl:MayoScissors"),
        ("how are needle holders cleaned?", "bl:NeedleHolder"),
        ("care of the Poole suction tube", "bl:PooleSuctionTube"),
    ],
)
def test_forms(fresh, text, subject):
    asked = fresh.parse(text)
    assert asked == Reprocessing(subject)
    from kg.language import say

    assert fresh.parse(say(asked, fresh.lexicon)) == asked


def test_every_line_has_its_reason_and_its_source(fresh):
    for pattern in ("bl:KellyForceps", "bl:MayoScissors", "bl:Laparoscope", "bl:FoleyCatheter", "bl:ScalpelHandle3"):
        answer = fresh.answer(Reprocessing(pattern))
        assert answer.care
        assert any("maker" in note and "policy" in note for note in answer.notes)
        for line in answer.care:
            assert line.sources, line
            assert line.because or line.text == "Clean before any disinfection or sterilisation."


def test_critical_is_sterilised_because_it_is_critical(fresh):
    # CDC 2008: surgical instruments enter sterile tissue, so they are critical and have to be sterile.
    (line,) = steps(fresh.ask("how is the Kelly reprocessed?"))["risk category"]
    assert "has to be sterile" in line.text and "critical" in line.because
    assert any("Guideline for Disinfection" in s for s in line.fact_sources)


def test_semicritical_needs_high_level_disinfection(fresh):
    # American Academy of Pediatrics, table of the Spaulding categories: laryngoscope, semicritical.
    (line,) = steps(fresh.ask("how is the Macintosh laryngoscope reprocessed?"))["risk category"]
    assert "high-level disinfection" in line.text and "has to be sterile" not in line.text


def test_construction_triggers_its_lines(fresh):
    scissors = steps(fresh.ask("how is the Mayo scissors reprocessed?"))
    assert any("joint" in line.because for line in scissors["cleaning"])  # ASTM F1078: scissors have a joint
    assert all("cutting edge" in line.because for line in scissors["cutting edge"])  # ASTM F1078: and cutting edges
    plain = steps(fresh.ask("how is the Kelly reprocessed?"))
    assert "cutting edge" not in plain
    assert any("serration" in line.text for line in plain["cleaning"])


def test_a_lumen_is_flushed(fresh):
    # APIC, Basics of cleaning: soil has to come out of serrations, joints and lumens.
    facts = fresh.context.reader.facts(fresh_patterns(fresh))
    hollow = [p for p, f in facts.items() if ("bl:hasPart", "bl:Lumen") in f.known.holds]
    again = [p for p in hollow if ("bl:singleUse", "bl:SingleUseOnly") not in facts[p].known.holds]
    assert again
    for pattern in again:
        lines = [c for c in fresh.answer(Reprocessing(pattern)).care if "lumen" in c.because]
        assert any("flushing and brushing" in c.text for c in lines), pattern


def fresh_patterns(catalogue) -> list[str]:
    return [t.name for t in catalogue.vocabulary.by_role("pattern")]


def test_both_sides_on_steam_and_on_dry_heat_are_given(fresh):
    lines = steps(fresh.ask("how is the Mayo scissors reprocessed?"))["cutting edge"]
    steam = [c for c in lines if c.text.startswith("Steam")]
    dry = [c for c in lines if c.text.startswith("Dry heat")]
    assert len(steam) == len(dry) == 2
    assert {s for c in steam for s in c.sources}.isdisjoint({s for c in dry for s in c.sources})
    assert not set(steam[0].sources) & set(steam[1].sources)


def test_steam_for_eye_knives_is_a_recorded_dispute(fresh):
    knives = [
        p
        for p, f in fresh.context.reader.facts(fresh_patterns(fresh)).items()
        if ("bl:ofKind", "kind:EyeKnife") in f.known.holds
    ]
    assert knives
    for pattern in knives:
        disputes = fresh.ask(f"disputes about {fresh.vocabulary.label(pattern)}").disputed
        (steam,) = [d for d in disputes if d.feature == "sterilisation method"]
        sides = {*steam.adopted.sources, *(s for q in steam.also_said for s in q.sources)}
        assert any("Arch Ophthalmol 1954" in s for s in sides)
        assert any("Community Eye Health" in s for s in sides)
        assert "sterilisation method" in {d.feature for d in fresh.answer(Reprocessing(pattern)).disputed}


def test_what_no_source_decides_is_said(fresh):
    answer = fresh.ask("how is the Kelly reprocessed?")
    assert any(note.startswith("Not recorded") and "lumen" in note for note in answer.notes)
    unknown = [c for c in fresh.answer(Reprocessing("bl:ListerBandageScissors")).care if c.step == "risk category"]
    assert unknown


def test_a_category_names_the_members_that_differ(fresh):
    answer = fresh.ask("how are needle holders reprocessed?")
    cutters = [c for c in answer.care if c.step == "cutting edge"]
    # ASTM F1325 speaks of needle holders without an edge; the Olsen-Hegar is the one with scissors in it (common practice).
    assert cutters and all("Olsen-Hegar needle holder" in c.applies_to for c in cutters)
    assert all(len(c.applies_to) < len(answer.matches) for c in cutters)
    shown = "\n".join("".join(t for _, t in line) for line in answer_lines(answer, 100))
    assert f"of {len(answer.matches)}: " in shown


def test_json_and_csv_are_complete(fresh):
    answer = fresh.ask("how is the Mayo scissors reprocessed?")
    assert len(answer_json(answer)["care"]) == len(answer.care)
    assert len(answer_csv(answer).splitlines()) == len(answer.care) + 1


def test_what_is_made_for_one_use_is_discarded_and_nothing_more(fresh):
    # FDA, product classification NNH (70 FR 56911): a reprocessed single-use needle needs validation data.
    single = [
        p
        for p, f in fresh.context.reader.facts(fresh_patterns(fresh)).items()
        if ("bl:singleUse", "bl:SingleUseOnly") in f.known.holds
    ]
    assert single
    for pattern in single:
        answer = fresh.answer(Reprocessing(pattern))
        assert answer.care[-1].step == "reuse" and "discard" in answer.care[-1].text
        assert {c.step for c in answer.care} <= {"risk category", "reuse"}
        assert len(answer.notes) == 1
