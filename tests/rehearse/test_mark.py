"""Marking: other words, less exact ones, denials, slips of the pen, two instruments, and what is wrong.

The facts asked about: Kelly half and Crile full serration (VetSurgeryOnline, Hemostatic Forceps, ch. 3; BSAVA manual of head,
neck and thoracic surgery, p. 16); box lock and rings of haemostatic forceps (ASTM F921); the rest by common practice.
"""

from __future__ import annotations

import pytest

from kg import InputError


def credits(catalogue, item, text: str) -> dict[str, float]:
    return {m.fact.text: m.credit for m in catalogue.mark(item, text).marks}


@pytest.mark.parametrize(
    ("text", "fact", "credit"),
    [
        ("finger rings", "has a ring handle", 1),
        ("ring-handled", "has a ring handle", 1),
        ("it's got rings for fingers", "has a ring handle", 1),
        ("box joint", "has a box-lock joint", 1),
        ("box lock", "has a box-lock joint", 1),
        ("a joint", "has a box-lock joint", 0),
        ("it has a ratchet", "has a ratchet", 1),
        ("ratchett", "has a ratchet", 1),
        ("there is no ratchet", "has a ratchet", 0),
        ("ratchet absent", "has a ratchet", 0),
        ("transverse serrations", "has transverse serration", 1),
        ("serrated jaws", "has transverse serration", 0.5),
        ("longitudinal serrations", "has transverse serration", 0),
        ("half serrated", "is serrated over the distal half", 1),
        ("serrated over the distal half of the jaw", "is serrated over the distal half", 1),
        ("fully serrated", "is serrated over the distal half", 0),
        ("no teeth", "has no teeth", 1),
        ("without teeth", "has no teeth", 1),
        ("teeth: none", "has no teeth", 1),
        ("it has teeth", "has no teeth", 0),
        ("no rings, a ratchet", "has a ratchet", 1),
        ("no rings, shanks or ratchet", "has a ratchet", 0),
        ("unlike the Crile, half serrated", "is serrated over the distal half", 1),
        ("rather than fully serrated, half serrated", "is serrated over the distal half", 1),
    ],
)
def test_one_fact_of_a_description(catalogue, ask, text: str, fact: str, credit: float) -> None:
    assert credits(catalogue, ask("describe", "Kelly forceps"), text)[fact] == credit


def test_what_is_against_the_record_is_named(catalogue, ask) -> None:
    marked = catalogue.mark(ask("describe", "Kelly forceps"), "Ring handles, screw joint, no ratchet, teeth at the tip.")
    assert len(marked.wrong) == 3
    assert any("screw joint" in w and "box lock" in w for w in marked.wrong)
    assert any(w.startswith('You said no "ratchet"') for w in marked.wrong)


def test_a_slip_of_the_pen_is_read_and_shown(catalogue, ask) -> None:
    marked = catalogue.mark(ask("describe", "Kelly forceps"), "trasverse serations, a ratcket")
    assert credits(catalogue, marked.item, marked.given)["has transverse serration"] == 1
    assert ("ratcket", "ratchet") in marked.read_as


@pytest.mark.parametrize(
    ("text", "kelly", "crile"),
    [
        ("The Kelly is half serrated, the Crile is fully serrated.", 1, 1),
        ("Kelly: distal half only. Crile: full length.", 1, 1),
        ("half serrated in the Kelly, fully serrated in the Crile", 1, 1),
        ("the former is half serrated and the latter fully serrated", 1, 1),
        ("The Crile is half serrated, the Kelly is fully serrated.", 0, 0),
        ("The Kelly is half serrated.", 1, 0),
        ("Crile fully serrated", 0, 1),
        ("one is half serrated, one is fully serrated", 0.5, 0.5),
        ("both are fully serrated", 0, 1),
    ],
)
def test_two_instruments_are_kept_apart(catalogue, ask, text: str, kelly: float, crile: float) -> None:
    found = credits(catalogue, ask("tell apart", "Kelly forceps", "Crile forceps"), text)
    assert found["is serrated over the distal half"] == kelly
    assert found["is serrated over the full length"] == crile


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("Kelly forceps", 1),
        ("it's a kelly clamp", 1),
        ("a Kelly hemostat", 1),
        ("Crile", 0),
        ("not a Crile, a Kelly", 1),
        ("Kelly or Crile", 0.5),
        ("curved Kelly", 0.5),
        ("artery forceps", 0),
    ],
)
def test_a_name(catalogue, every_item, text: str, share: float) -> None:
    items = [i for i in every_item if i.task in ("name", "name from use") and i.labels == ("Kelly forceps",)]
    if not items:  # the name item of another pattern with the same rules
        pytest.fail("the Kelly forceps is not asked for by name")
    item = items[0]
    if text in ("Crile", "Kelly or Crile") and any("Crile" in item.answer for _ in (0,)):
        share = 1  # nothing that was said tells the two apart
    assert catalogue.mark(item, text).share == share


def test_use_in_other_words(catalogue, ask) -> None:
    item = ask("use", "Kelly forceps")
    assert catalogue.mark(item, "To stop haemorrhage from small vessels; it crushes.").share == 1
    assert catalogue.mark(item, "haemostasis of arteries, crushing").share == 1
    half = catalogue.mark(item, "to control bleeding")
    assert 0 < half.share < 1


def test_where_never_wants_the_place_and_not_the_word_never(catalogue, every_item) -> None:
    items = [i for i in every_item if i.task == "where never"]
    assert items
    for item in items:
        places = item.facts[0].text.removeprefix("is not to be used on ")
        assert catalogue.mark(item, f"never on {places}").marks[0].credit == 1
        assert catalogue.mark(item, places).marks[0].credit == 1


def test_either_side_of_a_dispute_earns_the_mark(catalogue, ask) -> None:
    item = ask("describe", "Doyen intestinal clamp")
    facts = [f for f in item.facts if f.status == "disputed" and "serration" in f.text]
    assert facts
    for text in ("longitudinal serration", "criss-cross serration"):
        assert credits(catalogue, item, text)[facts[0].text] == 1
    assert any("either side earns the mark" in note for note in item.notes)


def test_too_long_an_answer_is_refused_and_odd_characters_are_not(catalogue, ask) -> None:
    item = ask("describe", "Kelly forceps")
    with pytest.raises(InputError) as caught:
        catalogue.mark(item, "ratchet " * 1000)
    assert caught.value.code == "BL-I04"
    for odd in (
        "\x1b[31mratchet\x1b[0m",
        "ratchet \u202e no",
        "((((",
        "no. no no; no, nor",
        "½ cm",
        "\ud800 ratchet",
        "." * 3000,
    ):
        catalogue.mark(item, odd)
