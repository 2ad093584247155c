"""Some parts of an instrument described, several things asked of one instrument at once, and what is made both ways.

That the jaws of a Babcock are fenestrated and its tip has no teeth, that a Mayo has no ratchet, and that a needle holder with
a suture cutter cuts as well is common practice, with no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from kg import answer_lines, plain


@pytest.mark.parametrize(
    ("text", "parts", "said", "never"),
    [
        ("describe the jaws of the Babcock", {"jaws"}, "fenestrated jaws", "ratchet"),
        ("what does the tip of an Adson-Brown look like?", {"tip"}, "fine teeth", "straight"),
        (
            "describe the tip of the Maryland dissector",
            {"jaws", "insulated shaft", "tip"},
            "curved",
            "handle",
        ),  # of the tip alone little is told
        ("describe the ratchet of the Mayo scissors", {"ratchet"}, "no ratchet", "screw"),
        ("what are the ratchet and the joint of the Allis like?", {"ratchet", "joint"}, "box-lock joint", "serrated"),
    ],
)
def test_a_part_alone_is_described(catalogue: Any, text: str, parts: set[str], said: str, never: str) -> None:
    described = catalogue.ask(text).description
    assert {p.about for p in described.parts} == parts
    assert said in described.spoken and never not in described.spoken
    assert not described.categories and not described.use and not described.reprocessing
    whole = catalogue.ask(f"describe {described.label}").description
    assert {p.text for p in described.parts} <= {p.text for p in whole.parts}


def test_of_a_part_on_which_nothing_is_recorded_its_end_is_described(catalogue: Any) -> None:
    described = catalogue.ask("describe the tip of the Gelpi retractor").description
    assert described.not_recorded == ("tip",) and "Nothing is recorded of the tip alone" in described.spoken
    assert "prongs" in described.spoken and "finger rings" not in described.spoken
    near = catalogue.ask("describe the handle end of the Gelpi retractor").description
    assert "finger rings" in near.spoken and "prongs" not in near.spoken


def test_what_can_be_seen_is_told_where_a_feature_is_not_recorded(catalogue: Any) -> None:
    answer = catalogue.ask("what is the tip shape of the Gelpi retractor?")
    assert [v.status for v in answer.values] == ["not recorded"]
    assert any("prongs" in note for note in answer.notes)


def test_several_things_asked_at_once_are_all_told(catalogue: Any) -> None:
    answer = catalogue.ask("Babcock: uses, length, look-alikes and reprocessing")
    assert {"purpose", "length"} <= {v.feature for v in answer.values}
    assert answer.also.kind == "look-alikes" and answer.also.also.kind == "reprocessing"
    text = plain(answer_lines(answer, 100))
    assert text.count("And the other question") == 2 and "Risk category" in text
    assert catalogue.ask("name, parts, uses and category of the Babcock").kind == "describe"


def test_what_a_family_is_not_made_for_is_what_it_is_used_for_besides(catalogue: Any) -> None:
    cutting = {m.label for m in catalogue.ask("which needle holders cut as well?").matches}
    assert {"Gillies needle holder", "Olsen-Hegar needle holder"} <= cutting
    assert cutting < {m.label for m in catalogue.ask("needle holders").matches}
    held = {m.label for m in catalogue.ask("which clamps hold bowel?").matches}
    assert held == {m.label for m in catalogue.ask("clamps used on bowel").matches}
    none = catalogue.ask("which retractors cut?")
    assert not none.matches and any("retracting" in note for note in none.notes)


def test_a_word_of_a_family_means_its_namesakes_where_the_family_has_none(catalogue: Any) -> None:
    def found(text: str) -> set[str]:
        return {m.label for m in catalogue.ask(text).matches}

    assert found("which forceps lift sterile instruments out of disinfectant") == {"Cheatle forceps"}
    assert found("specula that hold the lids open") > {"Barraquer speculum", "Lang speculum"}
    assert not found("artery forceps that coagulate")  # a longer name means that family alone


def test_of_what_people_do_not_tell_apart_any_is_meant_where_nothing_has_the_one(catalogue: Any) -> None:
    taken = {m.label for m in catalogue.ask("elevators used for taking out teeth").matches}
    assert {"Coupland elevator", "Cryer elevator"} <= taken and "Freer elevator" not in taken
    both = {m.label for m in catalogue.ask("stone forceps for kidney stones").matches}
    assert "Randall stone forceps" in both and "Mazzariello forceps" not in both


def test_of_two_places_that_nothing_has_both_of_either_will_do(catalogue: Any) -> None:
    found = catalogue.ask("dilators used in urology and gynaecology")
    each = [{m.name for m in catalogue.ask(f"dilators used in {field}").matches} for field in ("urology", "gynaecology")]
    assert {m.name for m in found.matches} == each[0] | each[1] and " or " in found.reading and all(each)


def test_what_matches_in_some_pieces_is_told_before_what_is_not_recorded(catalogue: Any) -> None:
    """Needle holders are sold with and without carbide inserts: common practice, with no source."""
    answer = catalogue.ask("needle holders with tungsten carbide inserts")
    some = [p.label for p in answer.possible if p.reason.startswith("varies")]
    assert "Mayo-Hegar needle holder" in some and [p.label for p in answer.possible][: len(some)] == some
    text = plain(answer_lines(answer, 100))
    assert text.index("match in some of their pieces") < text.index("could match")
    assert "No pattern is known to match in all its pieces." in text


@pytest.mark.parametrize(
    "text", ["how many kinds of joint are there?", "how many kinds of serration do you distinguish, and what are they called?"]
)
def test_kinds_are_counted_as_kinds(catalogue: Any, text: str) -> None:
    assert catalogue.ask(text).kind == "define"


def test_a_length_without_its_unit_keeps_the_one_before(catalogue: Any) -> None:
    before = catalogue.ask("retractors longer than 30 cm")
    assert catalogue.ask("and over 40?", after=before).reading == "retractors longer than 400 mm"
    before = catalogue.ask("scissors shorter than 6 inches")
    assert catalogue.ask("and under 5?", after=before).reading == "scissors shorter than 127 mm"


def test_alternatives_are_told_one_by_one(catalogue: Any) -> None:
    answer = catalogue.ask("does the Kelly have a ratchet or a suture cutter?")
    assert answer.kind == "holds" and any("ratchet: yes; suture cutter: not recorded" in note for note in answer.notes)
