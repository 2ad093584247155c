"""Questions beyond the grammar: shorthand, one word of a name, plain talk, an instrument in the hand, refusals that say why."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import kg

CASES = Path(__file__).parent / "cases" / "understood.txt"


def cases() -> list[tuple[str, str]]:
    lines = CASES.read_text(encoding="utf-8").splitlines()
    return [tuple(c.strip() for c in x.split(" ; ")) for x in lines if x and not x.startswith("#")]  # type: ignore[misc]


@pytest.mark.parametrize(("talk", "reading"), cases())
def test_read_as(talk: str, reading: str, catalogue: Any) -> None:
    before: Any = None
    for text in talk.split(" > "):
        try:
            before = catalogue.ask(text, after=before)
        except kg.QuestionError as error:
            before = error
    assert before.reading == reading
    assert catalogue.parse(before.reading) == before.tree


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("what do the sources weigh", "BL-Q11"),
        ("Which rongeurs have an up-cutting or angled jaw?", "BL-Q11"),
        ("heaviest scissors", "BL-Q11"),
        ("Which retractors need two hands?", "BL-Q11"),
        ("Which retractor is used in children?", "BL-Q11"),
        ("What is the long thin rod with a bulb on the end for?", "BL-Q02"),
        ("which trocars are 10 mm", "BL-Q11"),
        ("trocars between 5 and 12 mm", "BL-Q11"),
        ("Hegar dilator 8 mm", "BL-Q11"),
        ("suction tubes 10 Fr or larger", "BL-Q11"),
        ("Which laparoscopic instruments are 5 mm in diameter?", "BL-Q11"),
        ("diameter of the Yankauer", "BL-Q11"),
        ("clip appliers", "BL-Q02"),
        ("which clamps have the longest jaws?", "BL-Q11"),
        ("scissors whose blades are longer than 4 cm", "BL-Q03"),
        ("scissors with blades longer than 3 cm", "BL-Q03"),
        ("needle holders heavier than a Mayo-Hegar", "BL-Q11"),
        ("forceps with three rings", "BL-Q03"),
        ("clamps gentler on the bowel than a Kocher", "BL-Q02"),
        ("who invented the Babcock", "BL-Q11"),
        ("How old was Halsted when he died?", "BL-Q11"),
        ("who was Deaver", "BL-Q11"),
        ("was Lister the inventor of sinus forceps", "BL-Q11"),
        ("in which hospital did Allis work", "BL-Q11"),
        ("which claims have only one source", "BL-Q11"),
        ("What does the knurling on a thumb forceps handle do?", "BL-Q02"),
        ("what do blue handles mean", "BL-Q02"),
        ("should you use a Kocher on bowel", "BL-Q06"),
        ("plan six sessions on retractors", "BL-Q12"),
        ("quiz me on clamps", "BL-Q12"),
        ("who won the match last night", "BL-Q13"),
        ("my pt is bleeding what do i clamp", "BL-Q06"),
        ("how much is a debakey", "BL-Q06"),
        ("compare the Kelly and the Xyzzy", "BL-Q02"),
        ("does a metzenbam have a ratchet", "BL-Q02"),
        ("Heaney", "BL-Q05"),
        ("Is a Volkmann sharp or blunt?", "BL-Q05"),
        ("which instrument cuts off the lower pole of the tonsil?", "BL-Q02"),
        ("Which company sells the best sharpening service?", "BL-Q06"),
        ("How much is a Gigli saw?", "BL-Q06"),
    ],
)
def test_refused_with_its_reason(text: str, code: str, catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError) as caught:
        catalogue.ask(text)
    assert caught.value.code == code
    assert caught.value.hint or caught.value.near or caught.value.expected or caught.value.readings


def test_a_misspelling_is_offered_and_not_run(catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError) as caught:
        catalogue.ask("does a metzenbam have a ratchet")
    assert caught.value.near[0] == "Metzenbaum"


def test_words_passed_over_are_told(catalogue: Any) -> None:
    notes = catalogue.ask("tell my students what the difference is between Kelly and Crile").notes
    assert any("students" in note for note in notes)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("which vascular clamps deserve a slide", "slide"),
        ("omg which scissors are curved", "omg"),
        ("interesting: which scissors would my poster need for cutting wire?", "poster"),
    ],
)
def test_words_of_no_weight_are_left_out_and_told(text: str, word: str, catalogue: Any) -> None:
    assert any(word in note for note in catalogue.ask(text).notes)


@pytest.mark.parametrize(
    "text",
    [
        "which forceps are lovely?",  # it is what is asked
        "the most lovely forceps",
        "Grant retractors",  # it may be a name
        "which clamps does the Enquiry set hold",
        "draw a Kelly forceps",
    ],
)
def test_a_word_of_no_weight_is_kept_where_it_weighs(text: str, catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError):
        catalogue.ask(text)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("Kelly and Crile are not the same", "not"),
        ("never mind Kelly or Crile", "never"),
        ("Kelly forceps but not for me", "not"),
        ("my granny says the Babcock bites", "granny"),
    ],
)
def test_what_is_not_read_is_told_before_the_answer(text: str, word: str, catalogue: Any) -> None:
    answer = catalogue.ask(text)
    assert word in answer.unread and word in answer.to_json()["not_read"]
    assert answer.kind in ("compare", "describe", "value") and answer.argument is None
    lines = kg.plain(kg.answer_lines(answer, 100))
    assert f'Not understood: "{word}"' in lines.splitlines()[2] or "Not understood" in "".join(lines.splitlines()[:4])


@pytest.mark.parametrize(
    "text",
    [
        "compare Kelly and Crile except the jaws",
        "anything gentler than an Allis for the cuff",
        "which urology dilators suit a Lister",
        "the Judd-Xyzzy against the Allis",
        "does the Hartmann aural forceps bend",
        "something other than a Kelly please please now",
        "is the proctoscoqe longer than the Babcock wrench",
    ],
)
def test_no_instrument_is_described_in_place_of_another(text: str, catalogue: Any) -> None:
    try:
        answer = catalogue.ask(text)
    except kg.QuestionError as error:
        assert error.message and (error.hint or error.near or error.expected or error.readings or error.span)
    else:
        assert answer.unread is None, answer.reading


@pytest.mark.parametrize(
    ("text", "same_as"),
    [
        ("What clamps do we have over 9 inches?", "clamps longer than 9 inches"),
        ("Is there anything with a ratchet that is designed for use in the eye?", "instruments with a ratchet for the eye"),
        ("Which artery forceps, if any, lack a ratchet?", "artery forceps without a ratchet"),
        ("List everything you hold with a box joint, please.", "instruments that have a box lock"),
        ("Next week's topic is retractors under 20 cm; what have you got?", "retractors shorter than 20 cm"),
        ("scissors, hooked or notched blade", "scissors with a hooked blade or with a notched blade"),
        ("retractors about 20 cm long", "retractors between 18 cm and 22 cm"),
        ("what proportion of clamps are curved?", "are clamps curved?"),
    ],
)
def test_read_piece_by_piece(text: str, same_as: str, catalogue: Any) -> None:
    assert catalogue.parse(text) == catalogue.parse(same_as)


@pytest.mark.parametrize(
    "text",
    [
        "which clamps were there before scissors",
        "clamps longer than scissors",
        "clamps that are like scissors",
        "how do scissors that cut wire feel",
        "which clamps does the Xyzzy set hold",
    ],
)
def test_a_condition_is_never_dropped(text: str, catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError):
        catalogue.ask(text)


def test_a_negation_ends_at_a_comma_without_or(catalogue: Any) -> None:
    tree = catalogue.parse("forceps with no ratchet, a spring handle and teeth")
    assert "without a ratchet" in catalogue.ask("forceps with no ratchet, a spring handle and teeth").reading, tree


def test_it_means_nothing_without_a_question_before(catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError):
        catalogue.ask("is it curved?")


def test_a_name_that_two_of_the_readings_bear_is_asked_again(catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError) as first:
        catalogue.ask("kocher")
    with pytest.raises(kg.QuestionError) as second:
        catalogue.ask("the forceps", after=first.value)
    assert second.value.code == "BL-Q05" and len(second.value.readings) == 2


@pytest.mark.parametrize(
    ("text", "same_as"),
    [
        ("Hi, quick one before my viva. Which clamps are curved? Thanks.", "curved clamps"),
        ("Morning! Retractors for the liver. Cheers", "retractors for the liver"),
    ],
)
def test_what_is_said_round_a_question_is_left_out(text: str, same_as: str, catalogue: Any) -> None:
    assert catalogue.parse(text) == catalogue.parse(same_as)


@pytest.mark.parametrize("text", ["For bowel. Which clamps are curved?", "Not today. Which clamps are curved?"])
def test_a_clause_that_bounds_is_not_left_out(text: str, catalogue: Any) -> None:
    try:
        question = catalogue.parse(text)
    except kg.QuestionError:
        return
    assert question != catalogue.parse("curved clamps")


@pytest.mark.parametrize(
    ("before", "text", "same_as"),
    [
        ("haemostats", "leave out the curved ones", "artery forceps that are not curved"),
        ("how many haemostats are there", "and which have teeth", "artery forceps with teeth at the tip"),
        (
            "haemostats that are not curved",
            "only the 1s under 18cm",
            "artery forceps that are not curved and shorter than 18 cm",
        ),
    ],
)
def test_a_list_is_narrowed_in_a_conversation(before: str, text: str, same_as: str, catalogue: Any) -> None:
    answer = catalogue.ask(text, after=catalogue.ask(before))
    assert [m.name for m in answer.matches] == [m.name for m in catalogue.ask(same_as).matches]


def test_disputes_on_one_feature(catalogue: Any) -> None:
    answer = catalogue.ask("which recorded disputes concern serrations?")
    assert answer.disputed and {d.feature for d in answer.disputed} == {"jaw surface"}
    assert answer.reading == "disputes about the jaw surface"
    assert len(answer.disputed) < len(catalogue.ask("disputes").disputed)


@pytest.mark.parametrize("word", ["oval", "stubby", "flat"])
def test_a_word_of_several_values_is_seen(word: str, catalogue: Any) -> None:
    seen = catalogue.identify(f"{word}, with a ratchet").seen
    assert any(word in s.text for s in seen)


def test_a_refusal_offers_what_could_be_read(catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError) as caught:
        catalogue.ask("show me the curved clamps that glow")
    assert caught.value.code == "BL-Q02" and '"glow"' in caught.value.message
    assert caught.value.hint.startswith('What could be answered of this: "curved clamps". It would give Blalock clamp, ')
    assert caught.value.hint.endswith(" more.")


def test_a_name_with_the_head_of_the_next_one(catalogue: Any) -> None:
    answer = catalogue.ask("difference between plain and toothed dissecting forceps")
    assert answer.comparison.subjects == ("plain dissecting forceps", "toothed dissecting forceps")


@pytest.mark.parametrize(
    ("text", "reading"),
    [
        ("Apart from the Kelly, which straight artery forceps do you hold?", "straight artery forceps except Kelly forceps"),
        ("everything but crushing clamps", "instruments that are not crushing clamps"),
        ("artery forceps, all of them except those with teeth", "artery forceps without teeth at the tip"),
        ("how many instruments in each speciality", "instruments by speciality"),
    ],
)
def test_what_is_excepted_and_counted(catalogue: Any, text: str, reading: str) -> None:
    assert catalogue.ask(text).reading == reading


@pytest.mark.parametrize(
    "text",
    [
        "How much would a pair of Mayo scissors set me back?",
        "which can safely be left on bowel",
        "which instrument should I use on my patient",
        "which instruments do I need for my patient",
        "Contrast a cystolithotrite with a lithotomy forceps.",
        "Hudson brace what burrs go in it",
        "What is a Castroviejo caliper?",
        "Is a Kelly caliper curved?",
        "and how many of those hold themselves open?",
        "Which is the closest to it and is it longer?",
        "What is a Langenbeck scissors?",
        "What are Kocher retractors used for?",
        "Which instruments catch a specimen so that it does not spill?",
        "Which instruments may be used by either hand?",
        "Which instruments have three rings?",
        "Which instruments let you look inside without an open wound?",
        "Are there saws with no teeth?",
        "Does a Castroviejo needle holder hold only fine needles?",
        "Is it true that only Kocher forceps have teeth at the end?",
        "Who first described the retractor that keeps the belly open?",
        "Which families have the fewest recorded facts?",
        "What is the smallest retractor used around the eye?",
        "Is the tip of an Adson wide or narrow?",
        "Which instruments are used first in a laparotomy?",
        "Are there any forceps whose tips cross?",
    ],
)
def test_what_cannot_be_answered_is_refused(text: str, catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError) as caught:
        catalogue.ask(text)
    assert caught.value.code in ("BL-Q02", "BL-Q03", "BL-Q06")


def test_which_of_these(catalogue: Any) -> None:
    answer = catalogue.ask("which of these is self-retaining: Gelpi, Deaver, Travers")
    assert {m.label for m in answer.matches} == {"Gelpi retractor", "Travers retractor"}


def test_nothing_is_made_of_a_question_understood_in_part(catalogue: Any) -> None:
    text = "my granny says the Babcock bites"
    assert catalogue.ask(text).unread == ("granny", "bites")
    for work in (catalogue.parse, lambda t: catalogue.compare([t, "Kelly"])):
        with pytest.raises(kg.QuestionError):
            work(text)


def test_how_completely_a_vessel_is_closed_is_told_by_what_is_recorded(catalogue):
    """A Satinsky closes a part of the vessel: common practice, with no source. That one closes it wholly is no fact here."""
    told = catalogue.ask("Does the Satinsky clamp occlude completely?")
    assert told.kind == "value" and "partial occlusion of a vessel" in {v.label for v in told.values}
    listed = catalogue.ask("Which vascular clamps occlude the vessel completely?")
    assert listed.matches and "Satinsky clamp" not in {m.label for m in listed.matches}
