"""Sterilisation cycles: the published figures, and that none is ever shown without its conditions.

CDC7: CDC/HICPAC, Guideline for Disinfection and Sterilization in Healthcare Facilities, 2008, table 7 (minimum cycle times for
steam). CDC1: the same, table 1. NAVY: US Navy, Hospital Corpsman training manual. DRY: a published summary of dry heat
conditions (Sterilization of medical or laboratory equipment with dry heat).
"""

from __future__ import annotations

import csv
import io

import pytest

from kg.language.nodes import Cycles
from kg.render import answer_lines, answer_markdown
from kg.render.data import answer_csv, answer_json

STEAM, GRAVITY, PREVACUUM = "steam sterilisation", "gravity displacement steriliser", "prevacuum steriliser"

# method, load, steriliser, °C, minutes, least, drying, source
PUBLISHED = [
    (STEAM, "wrapped instruments", GRAVITY, 121, (30,), True, (15, 30), "table 7"),  # CDC7
    (STEAM, "wrapped instruments", GRAVITY, 132, (15,), True, (15, 30), "table 7"),  # CDC7
    (STEAM, "textile packs", GRAVITY, 121, (30,), True, (15,), "table 7"),  # CDC7
    (STEAM, "textile packs", GRAVITY, 132, (25,), True, (15,), "table 7"),  # CDC7
    (STEAM, "wrapped utensils", GRAVITY, 121, (30,), True, (15, 30), "table 7"),  # CDC7
    (STEAM, "wrapped utensils", GRAVITY, 132, (15,), True, (15, 30), "table 7"),  # CDC7
    (STEAM, "wrapped instruments", PREVACUUM, 132, (4,), True, (20, 30), "table 7"),  # CDC7
    (STEAM, "textile packs", PREVACUUM, 132, (4,), True, (5, 20), "table 7"),  # CDC7
    (STEAM, "wrapped utensils", PREVACUUM, 132, (4,), True, (20,), "table 7"),  # CDC7
    ("dry heat", "metal, glass, ceramics and some fabrics", "hot air oven", 140, (180,), False, (), "dry heat"),  # DRY
    ("dry heat", "metal, glass, ceramics and some fabrics", "hot air oven", 150, (150,), False, (), "dry heat"),  # DRY
    ("dry heat", "metal, glass, ceramics and some fabrics", "hot air oven", 160, (120,), False, (), "dry heat"),  # DRY
    ("dry heat", "metal, glass, ceramics and some fabrics", "hot air oven", 170, (60,), False, (), "dry heat"),  # DRY
    ("dry heat", "items unsuitable for moist heat", "hot air oven", 160, (120,), True, (), "Hospital Corpsman"),  # NAVY
]


@pytest.fixture(scope="module")
def every(fresh):
    return fresh.ask("sterilisation cycles").cycles


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda r: f"{r[1]}-{r[2]}-{r[3]}")
def test_the_published_figure_is_on_record(every, row):
    method, load, steriliser, celsius, minutes, least, drying, source = row
    found = [c for c in every if (c.method, c.load, c.steriliser, c.celsius) == (method, load, steriliser, (celsius,))]
    assert [(c.minutes, c.least, c.drying) for c in found] == [(minutes, least, drying)]
    assert source in found[0].source


def test_table_7_marks_prevacuum_at_121_as_not_applicable(every):
    # CDC7: the 121 °C column of dynamic-air-removal sterilisers is marked not applicable for all three loads.
    marked = [c for c in every if not c.used]
    assert {(c.steriliser, c.celsius) for c in marked} == {(PREVACUUM, (121,))}
    assert len(marked) == 3
    assert not any(c.minutes for c in marked)


@pytest.mark.parametrize(
    ("method", "minutes", "words"),
    [
        ("ethylene oxide", (60, 360), "aeration"),  # CDC1: 1 to 6 h, aeration 8 to 12 h
        ("hydrogen peroxide gas plasma", (45, 72), "lumen"),  # CDC1: within limits of lumen length and diameter
        ("liquid chemical sterilisation", (12,), "0.2 %"),  # CDC 2008, peracetic acid: 50 °C, 35 % diluted to 0.2 %
    ],
)
def test_low_temperature_methods_carry_their_conditions(fresh, every, method, minutes, words):
    found = [c for c in every if c.method == method and c.minutes == minutes]
    assert found
    assert any(words in " ".join((*c.conditions, "aeration" if c.aeration_hours else "")) for c in found)


# --- questions --------------------------------------------------------------------------------------------------------
def test_minimum_steam_time_for_wrapped_instruments_at_132(fresh):
    answer = fresh.ask("minimum steam time for wrapped instruments at 132 C")
    assert answer.kind == "cycles"
    # CDC7: several sterilisers give several rows, 15 min by gravity and 4 min with a prevacuum.
    assert [(c.steriliser, c.minutes, c.drying) for c in answer.cycles] == [
        (GRAVITY, (15,), (15, 30)),
        (PREVACUUM, (4,), (20, 30)),
    ]


@pytest.mark.parametrize(
    "asked", ["132 C", "132C", "132 °C", "132°C", "270 F", "270 °F", "132 degrees Celsius", "270 degrees fahrenheit"]
)
def test_units_are_understood(fresh, asked):
    answer = fresh.ask(f"steam sterilization of wrapped instruments at {asked}")
    assert [c.minutes for c in answer.cycles] == [(15,), (4,)]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("steam sterilisation of wrapped instruments", Cycles("bl:SteamSterilisation", "wrapped-instruments")),
        ("ethylene oxide cycle", Cycles("bl:EthyleneOxide")),
        ("textile packs in a prevacuum sterilizer", Cycles("", "textile-packs", "prevacuum")),
        (
            "how long must wrapped instruments be sterilised by steam at 132 C",
            Cycles("bl:SteamSterilisation", "wrapped-instruments", "", 132.0),
        ),
        ("what is the minimum exposure time for utensils in a gravity autoclave?", Cycles("", "wrapped-utensils", "gravity")),
        ("dry heat cycles at 320 F", Cycles("bl:DryHeat", "", "", 320.0, "f")),
        ("sterilisation cycles", Cycles()),
    ],
)  # fmt: skip
def test_forms(fresh, text, wanted):
    assert fresh.parse(text) == wanted


def test_every_question_reads_back_as_itself(fresh):
    from kg.language import say

    words = fresh.lexicon.words
    methods = ["", *fresh.vocabulary.values_of(words.cycle_feature)]
    for method in methods:
        for load in ("", *words.loads):
            for steriliser in ("", *words.sterilisers):
                for degrees, unit in ((None, "c"), (121.5, "c"), (270.0, "f")):
                    asked = Cycles(method, load, steriliser, degrees, unit)
                    assert fresh.parse(say(asked, fresh.lexicon)) == asked


@pytest.mark.parametrize(
    "text", ["steam", "what is steam sterilisation?", "instruments sterilised by steam", "how is the Kelly sterilised?"]
)
def test_questions_about_instruments_stay_what_they_are(fresh, text):
    assert not isinstance(fresh.parse(text), Cycles)


@pytest.mark.parametrize(
    "text", ["steam time at 5000 C", "steam time at 132", "steam time at 1/2 C", "wrapped instruments at 121 C at 132 C"]
)
def test_what_cannot_be_meant_is_refused_with_its_place(fresh, text):
    from kg.errors import QuestionError

    with pytest.raises(QuestionError) as caught:
        fresh.parse(text)
    assert caught.value.code.startswith("BL-Q")
    assert caught.value.span


def test_no_cycle_is_not_silence(fresh):
    answer = fresh.ask("steam sterilisation of wrapped instruments at 134 C")
    assert answer.cycles == ()
    assert any("121 °C and 132 °C" in note for note in answer.notes)  # CDC7 has these two columns
    silent = fresh.ask("ethylene oxide cycle at 55 C")
    assert any("gives no temperature" in note for note in silent.notes)


# --- no bare number ---------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    "text", ["sterilisation cycles", "minimum steam time for wrapped instruments at 132 C", "dry heat cycles"]
)
def test_no_figure_without_its_conditions_in_any_form(fresh, text):
    answer = fresh.ask(text)
    assert any("conditions" in note and "policy" in note for note in answer.notes)
    for width in (60, 100, 200):
        shown = "\n".join("".join(t for _, t in line) for line in answer_lines(answer, width))
        for cycle in answer.cycles:
            assert all(word in shown for word in cycle.load.split())
            assert all(word in shown for word in cycle.source.split())
    assert "source" in answer_markdown(answer)
    rows = list(csv.DictReader(io.StringIO(answer_csv(answer))))
    assert len(rows) == len(answer.cycles) == len(answer_json(answer)["cycles"])
    for row in rows:
        assert row["method"] and row["load"] and row["source"]
        assert row["minutes"] or row["used"] == "not applicable"


def test_cycles_seen_at_second_hand_say_so(fresh):
    answer = fresh.ask("dry heat cycles")
    assert any("original" in note for note in answer.notes)
    assert {c.second_hand for c in answer.cycles} == {True, False}


WORDS = """
minimum steam time for wrapped instruments at 132 C 132C 270 °F ° in a prevacuum steriliser by ethylene oxide hot air oven cycle
reprocessing of Kelly how is needle holders reprocessed ½ 99999999999999999999 F 0 , ( ) and critical device class II 21 CFR
878.4800 glutaraldehyde ℃
"""


def test_signs_and_numbers_in_any_order_are_never_a_fault(fresh):
    import random

    from kg.errors import QuestionError

    words = WORDS.split()
    chosen = random.Random(11)
    understood = 0
    for _ in range(1500):
        text = " ".join(chosen.choice(words) for _ in range(chosen.randint(1, 7)))
        try:
            fresh.parse(text)
            understood += 1
        except QuestionError as error:
            assert error.code.startswith("BL-Q")
    assert understood > 20
