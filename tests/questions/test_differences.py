"""What differs within a set: feature by feature, what is seen first; what is not recorded is no difference."""

from __future__ import annotations

import pytest

from kg.answer.differences import MOST, NONE, ONE
from kg.errors import QuestionError
from kg.language import nodes
from kg.model import Difference
from kg.render import answer_markdown
from kg.render.apart import NOT_RECORDED
from kg.render.data import answer_tables


def recorded(line: Difference) -> set[tuple[str, ...]]:
    return {values for _, values in line.values if values != (NOT_RECORDED,)}


def test_members_are_those_of_the_list_without_their_variants(catalogue):
    listed = catalogue.ask("which bowel clamps?")
    compared = catalogue.ask("compare the bowel clamps")
    assert compared.kind == "compare" and compared.reading == "compare intestinal clamps"
    assert compared.sparql == listed.sparql and compared.matches == listed.matches
    found = {m.name for m in listed.matches}
    assert list(compared.comparison.subjects) == [m.label for m in listed.matches if m.variant_of not in found]


@pytest.mark.parametrize("family", ["bowel clamps", "towel clips", "obstetric forceps", "bone-holding forceps"])
def test_what_is_not_recorded_is_no_difference(catalogue, family):
    found = catalogue.ask(f"compare the {family}").comparison
    assert found.differences
    for line in found.differences:
        assert line.separates and len(recorded(line)) > 1
        for one, two in line.separates:
            assert (NOT_RECORDED,) not in (line.values[one][1], line.values[two][1])
            assert line.values[one][1] != line.values[two][1]
    assert all(len(recorded(line)) > 1 and not line.separates for line in found.overlapping)
    assert all(len(recorded(line)) == 1 and (NOT_RECORDED,) not in dict(line.values).values() for line in found.shared)
    assert all(len(recorded(line)) < 2 for line in found.not_recorded)


def test_what_is_seen_comes_first(catalogue):
    features = [line.feature for line in catalogue.ask("compare the bowel clamps").comparison.differences]
    assert features.index("tip teeth") < features.index("effect on tissue")


def test_a_pair_that_is_told_apart_is_told_apart_by_name_too(catalogue):
    found = catalogue.ask("compare the bowel clamps").comparison
    line = next(line for line in found.differences if line.feature == "tip teeth")
    one, two = (found.subjects[i] for i in line.separates[0])
    pair = catalogue.ask(f"compare {one} and {two}").comparison
    assert "tip teeth" in [d.feature for d in pair.differences if d.decides]


def test_variants_are_compared_where_they_are_all_there_is(catalogue):
    found = catalogue.ask("compare the Mayo scissors")
    assert found.tree == nodes.Differences(nodes.Named("bl:MayoScissors"))
    assert found.comparison.subjects == ("curved Mayo scissors", "straight Mayo scissors")
    assert "curvature" in [line.feature for line in found.comparison.differences]


def test_many_are_told_in_groups(catalogue):
    found = catalogue.ask("compare the retractors")
    assert len(found.comparison.subjects) > MOST
    assert 1 < len(found.comparison.differences) <= 4
    for line in found.comparison.differences:
        assert [label for label, _ in line.values] == list(found.comparison.subjects)
    fewer = next(note for note in found.notes if "ask for fewer" in note).split('"')[1]
    assert 1 < len(catalogue.ask(fewer).comparison.subjects) <= MOST
    assert "held by a frame" in answer_markdown(found)


def test_one_or_none_is_said(catalogue):
    assert ONE in catalogue.ask("compare the rib shears").notes
    assert NONE in catalogue.ask("compare the single use scissors").notes


def test_json_and_table_have_the_form_of_a_comparison(catalogue):
    found = catalogue.ask("compare the bowel clamps")
    data = found.to_json()
    assert data.keys() == catalogue.ask("compare Babcock and Allis").to_json().keys()
    assert len(data["differences"]) == len(found.comparison.differences) + len(found.comparison.overlapping)
    (header, rows), *_ = answer_tables(found)
    assert header == ("kind", "part", "feature", "decides", *found.comparison.subjects)
    assert {row[0] for row in rows} == {"difference", "shared", "not recorded"}


def test_each_value_stands_with_those_that_bear_it(catalogue):
    shown = answer_markdown(catalogue.ask("compare the bowel clamps"))
    assert "heavy build" in shown and "Shared" in shown and "not recorded for all of them" in shown
    assert "all of them" in shown and "2 more patterns could match" in shown


@pytest.mark.parametrize(
    "question",
    [
        "compare the purple clamps",
        "how do the sources differ",
        "differences between joints",
        "which of these is which",
        "compare them",
    ],
)
def test_what_names_no_one_set_is_refused(catalogue, question):
    with pytest.raises(QuestionError):
        catalogue.ask(question)


def test_too_many_names_are_not_compared(catalogue):
    with pytest.raises(QuestionError, match="too many to compare"):
        catalogue.ask("compare them", after=catalogue.ask("look-alikes of Kelly forceps"))


@pytest.mark.parametrize("reply", ["how do they differ?", "How do I tell them apart?", "what's different?"])
def test_too_many_look_alikes_are_told_by_what_tells_them_apart(catalogue, reply):
    found = catalogue.ask(reply, after=catalogue.ask("look-alikes of Kelly forceps"))
    assert found.tree == nodes.Telling("bl:KellyForceps")


def test_two_halves_of_one_family_are_compared(catalogue):
    answer = catalogue.ask("compare curved and straight artery forceps")
    assert answer.kind == "compare" and answer.reading == "compare curved artery forceps and straight artery forceps"
