"""Instruments described in anybody's words, and asked for in anybody's words: the right one is among the first three.

The questions were written by people who had not seen the program, or before its words were looked at; what is right is what
every textbook of the trade says.
"""

from __future__ import annotations

import pytest

import kg
from kg.identify.records import Candidate, Identification, Seen
from kg.identify.sure import sure
from kg.language.nameless import described, tells_of_one

ASKED = [
    ("Poole suction tube", "i'm holding a long tube-handled sucker with loads of holes in an outer sleeve, name?"),
    ("Finochietto rib retractor", "what do they call the crank thing that pushes the ribs appart"),
    ("Blumenthal rongeur", "quick - thing like pliers with a round hollow, used to eat away bone bit by bit"),
    ("Gigli saw", "What do we call the flat wire-cutting saw looped under a bone?"),
    ("malleable retractor", "no idea what its called: flat malleable strip, you bend it, holds guts back"),
    ("tongue-holding forceps", "wats the thing called for pulling the uvula/tongue forward in an emergency"),
    ("chalazion clamp", "A clamp with a ring on one jaw and a flat plate on the other, screwed on an eyelid lump. Ideas?"),
    ("tracheal hook", "Tracheostomy: a small retractor with hook to pull the trachea up. Name?"),
    (
        "Allis tissue forceps",
        "a tissue grabber with little interlocking teeth across the end, ring handles and a ratchet. Name?",
    ),
    ("Auvard speculum", "in gyn tray theres a speculum with one weighted handle that hangs down. name pls"),
    ("Barron haemorrhoid ligator", "banding gun thing for piles, name"),
    (
        "Babcock tissue forceps",
        "a ringed instrument with a box joint, ratchet, short curved jaws that are fenestrated and have no teeth, what is it?",
    ),
    ("Yankauer suction tube", "a curved hard plastic tube with a bulb end for sucking, what is it?"),
    ("malleable retractor", "a flat metal strip that you can bend, what is it?"),
    ("Backhaus towel clip", "a ringed thing with sharp curved points that cross over, for the drapes, what is it?"),
    ("Metzenbaum scissors", "I've got long slim scissors, blades short compared with the shanks, blunt ends. What is it?"),
]
UNASKED = [
    ("Littauer stitch scissors", "which scissors have one tiny hook shaped blade for stitches"),
    ("Finochietto rib retractor", "the crank thing that opens a chest wound"),
    ("Potts scissors", "which scissors would a vascular surgeon use to lengthen a cut in an artery"),
    ("anoscope", "Which goes through the anus for viewing, with an obturator in it?"),
    ("tracheostomy tube", "tube left in the windpipe through a hole in neck"),
]


def _answer(catalogue, text: str) -> kg.Answer:
    out = catalogue.ask(text)
    assert out.identification is not None, out.reading
    return out


@pytest.mark.parametrize(("name", "text"), ASKED + UNASKED, ids=[n for n, _ in ASKED + UNASKED])
def test_the_right_one_is_among_the_first_three(catalogue, name: str, text: str) -> None:
    wanted = catalogue.vocabulary.subtree(catalogue.pattern_named(name))
    out = catalogue.ask(text)
    if out.identification is None:  # words that are all those of the catalogue make a list, which has to be as short
        assert out.kind == "filter" and len(out.matches) <= 3 and not out.unread, out.reading
    first = out.identification.candidates[:3] if out.identification else out.matches
    assert any(c.name in wanted or c.variant_of in wanted for c in first), [c.label for c in first]


@pytest.mark.parametrize(
    "text", [t for _, t in UNASKED if t.casefold().startswith(("which", "opens")) and "vascular surgeon" not in t]
)
def test_it_is_told_that_no_name_was_asked_for(catalogue, text: str) -> None:
    assert any("read as the description of one instrument" in n for n in _answer(catalogue, text).notes)


@pytest.mark.parametrize(
    "text",
    [
        "the flumox that wobbles the grunkle, name?",
        "which retractor is for the zonk",
        "no idea what it is called: it grunkles",
        "clamps with a handbrake",
        "guess this: something for my car engine",
    ],
)
def test_what_says_too_little_is_refused(catalogue, text: str) -> None:
    with pytest.raises(kg.QuestionError):
        catalogue.ask(text)


@pytest.mark.parametrize(
    "text",
    [
        "a sharp spoon goes by which other name",
        "Name two thoracic retractors that spread ribs by rack and pinion.",
        "Explain the word ratchet for a first-year",
        "bone cutting vs bone nibbling: instruments under each heading",
        "which Gigli saws are for bone",
        "list the clamps that hold bowel gently",
    ],
)
def test_what_asks_for_something_else_is_no_description(catalogue, text: str) -> None:
    assert described(text, catalogue.lexicon, catalogue.talk) is None


def test_the_words_round_a_description_are_taken_off(catalogue) -> None:
    asked = "erm, help please - I was handed a wire loop on a handle, what do you call it?"
    found = described(asked, catalogue.lexicon, catalogue.talk)
    assert found[:2] == ("wire loop on a handle", True)
    found = described("which thing holds the tongue down", catalogue.lexicon, catalogue.talk)
    assert found[:2] == ("holds the tongue down", False)


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("a small fine curved haemostat about 12 cm, serrated for the full length", "curved Halsted mosquito forceps"),
        ("duck-billed speculum with two valves and a screw", "Cusco speculum"),
        (
            "ring handled forceps with broad fenestrated triangular jaws for the uterine incision edges",
            "Green-Armytage forceps",
        ),
        ("self-retaining retractor with one sharp point on each side", "Gelpi retractor"),
        ("scissors with long shanks and short fine blades with blunt tips", "Metzenbaum scissors"),
        ("I was handed a needle holder without finger rings, held in the palm, with a ratchet", "Mathieu needle holder"),
    ],
)
def test_one_thing_told_of_at_length_is_named(catalogue, text: str, named: str) -> None:
    """Common practice, with no source; each stands among the first four."""
    answer = catalogue.ask(text)
    assert answer.kind == "identify" and named in [c.label for c in answer.identification.candidates[:4]]


@pytest.mark.parametrize(
    "text",
    [
        "clamps with double lever jaws and a heavy build and no ratchet at all",
        "needle holders with gold handles and a screw at the far end of the shanks",
        "Ear instruments only please, nothing for the furrow or throat.",
    ],
)
def test_what_is_asked_of_several_is_no_description(catalogue, text: str) -> None:
    assert not tells_of_one(text, catalogue.lexicon, catalogue.talk)


def test_a_word_of_absence_turns_no_wording_round(catalogue) -> None:
    said = [o.text for o in catalogue.identifier.observe("does not crush stones", [], catalogue.talk.unseen)]
    crushing = catalogue.identifier.observe("crushes stones", [], catalogue.talk.unseen)
    assert [o.text for o in crushing] == ["crushes stones"]
    assert "crush stones" not in said


def _outcome(*probabilities: float, agrees: int = 2, unknown: int = 0, disagrees: int = 0) -> Identification:
    clauses = tuple(map(str, range(9)))
    seen = tuple(Seen(c, c) for c in clauses[: agrees + unknown + disagrees])
    candidates = tuple(
        Candidate(f"bl:X{i}", "x", p, clauses[:agrees], clauses[:disagrees], clauses[:unknown])
        for i, p in enumerate(probabilities)
    )
    return Identification(seen, candidates, len(candidates), (), (), "", "", None)


def test_how_sure_is_sure_enough() -> None:
    assert sure(_outcome(0.3, 0.2), (), asked=True)
    assert not sure(_outcome(0.05, 0.04, unknown=1), (), asked=True)
    assert not sure(_outcome(0.3, 0.2, unknown=1), ("zonk",), asked=True)
    assert sure(_outcome(0.6, 0.1, unknown=1), ("zonk",), asked=True)
    assert not sure(_outcome(0.9), ("a", "b", "c"), asked=True)
    assert sure(_outcome(0.2), (), asked=False)
    assert not sure(_outcome(0.9), ("zonk",), asked=False)
    assert not sure(_outcome(0.9, disagrees=1), (), asked=False)
    assert not sure(_outcome(*[0.02] * 10), (), asked=False)
