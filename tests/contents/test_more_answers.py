"""Rankings, all and any, gaps and names: against a look at every pattern's own record, and against plain text search."""

from __future__ import annotations

from typing import Any

import pytest

import kg
from kg.language import nodes

FAMILY = nodes.IsA("bl:ArteryForceps")


def lengths(catalogue: Any, patterns: list[str]) -> dict[str, tuple[float, float]]:
    facts = catalogue.context.reader.facts(patterns)
    return {p: f.known.length for p, f in facts.items() if f.known.length}


@pytest.mark.parametrize(("most", "end", "best"), [(True, 1, max), (False, 0, min)])
def test_the_longest_and_the_shortest_by_brute_force(catalogue: Any, most: bool, end: int, best: Any) -> None:
    members = [m.name for m in catalogue.answer(nodes.Filter(FAMILY)).matches]
    sizes = lengths(catalogue, members)
    wanted = best(size[end] for size in sizes.values())
    found = catalogue.answer(nodes.Extreme(FAMILY, most))
    assert {m.name for m in found.matches} == {p for p, size in sizes.items() if size[end] == wanted}


def test_the_widest_range_by_brute_force(catalogue: Any) -> None:
    members = [m.name for m in catalogue.answer(nodes.Filter(FAMILY)).matches]
    spans = {p: size[1] - size[0] for p, size in lengths(catalogue, members).items()}
    found = catalogue.answer(nodes.Extreme(FAMILY, True, "range"))
    assert {m.name for m in found.matches} == {p for p, span in spans.items() if span == max(spans.values())}


@pytest.mark.parametrize("feature", ["bl:length", "bl:material", "bl:jawSurface", "bl:procedure", "bl:tipTeeth"])
def test_what_is_recorded_and_what_is_not_divide_the_catalogue(catalogue: Any, feature: str) -> None:
    everything = {t.name for t in catalogue.vocabulary.by_role("pattern")}
    stated = catalogue.answer(nodes.Filter(nodes.Recorded(feature)))
    missing = catalogue.answer(nodes.Filter(nodes.Not(nodes.Recorded(feature))))
    one, two = {m.name for m in stated.matches}, {m.name for m in missing.matches}
    assert one | two == everything and not one & two and not stated.possible_count and not missing.possible_count
    facts = catalogue.context.reader.facts(sorted(everything))
    for pattern in everything:
        known = facts[pattern].known
        if feature == "bl:length":
            assert (pattern in one) is (known.length is not None)
        elif any(f == feature for f, _ in known.holds):
            assert pattern in one


@pytest.mark.parametrize("name", ["Kocher", "Mayo", "Doyen", "Spencer Wells", "Péan"])
def test_names_shared_by_text_search(catalogue: Any, name: str) -> None:
    plain = name.casefold().replace("é", "e")
    wanted = set()
    for term in catalogue.vocabulary.by_role("pattern"):
        texts = [f" {t.casefold().replace('é', 'e').replace('-', ' ')} ".replace("'s ", " ") for t in (term.label, *term.alt)]
        if any(f" {plain} " in t for t in texts):
            wanted.add(term.name)
    children = {t.name for t in catalogue.vocabulary.by_role("pattern") if wanted & set(catalogue.vocabulary.ancestors(t.name))}
    found = {m.name for m in catalogue.answer(nodes.Filter(nodes.CalledAfter(name))).matches}
    assert found == wanted | children


def test_all_and_any_agree_with_the_lists(catalogue: Any) -> None:
    curved = nodes.Has("bl:curvature", "bl:Curved")
    yes = {m.name for m in catalogue.answer(nodes.Filter(nodes.And((FAMILY, curved)))).matches}
    no = {m.name for m in catalogue.answer(nodes.Filter(nodes.And((FAMILY, nodes.Not(curved))))).matches}
    every = catalogue.answer(nodes.Quantified(FAMILY, curved, "all"))
    some = catalogue.answer(nodes.Quantified(FAMILY, curved, "any"))
    assert every.argument.holds is False and no and some.argument.holds is True and yes
    groups = {g.value: g.count for g in every.groups}
    assert (groups["yes"], groups["no"]) == (len(yes), len(no))


def test_a_handle_is_found_from_its_blade(catalogue: Any) -> None:
    """ISO 7740 and common practice: blades 20 to 24 go on the No. 4 handle, 10 to 15 on the No. 3."""
    found = catalogue.ask("which handle for a 22 blade")
    assert [m.label for m in found.matches] == ["No. 4 scalpel handle"]
    assert "No. 3 scalpel handle" in {m.label for m in catalogue.ask("which handles fit a No. 10 blade").matches}


def test_which_handle_does_not_take_a_blade_is_not_known_from_those_that_do(catalogue: Any) -> None:
    """What a blade fits says of no other handle that it does not fit."""
    found = catalogue.ask("Which handle does not fit a 24 blade?")
    assert not found.matches and found.possible_count


def test_one_of_a_name_is_what_it_is_asked_to_be(catalogue: Any) -> None:
    """The family that a name of several is asked to be hints at none of them; where another is one, it is asked which."""
    assert catalogue.ask("Is a Langenbeck a retractor?").argument.holds is True
    assert catalogue.ask("Is the Kocher a clamp?").argument.holds is True
    with pytest.raises(kg.QuestionError) as caught:
        catalogue.ask("Is a Heaney a needle holder?")
    assert caught.value.code == "BL-Q05"


def test_how_many_of_a_family_a_set_holds_is_not_recorded(catalogue: Any) -> None:
    for text in ("How many towel clips are in a general set?", "How many scissors are in the set?"):
        with pytest.raises(kg.QuestionError) as caught:
            catalogue.ask(text)
        assert caught.value.code == "BL-Q11"


def test_reusable_and_disposable_pieces_are_made_both_ways(catalogue: Any) -> None:
    shown = kg.plain(kg.answer_lines(catalogue.ask("Are Hasson trocars reusable?"), 80))
    assert "made both ways" in shown
    shown = kg.plain(kg.answer_lines(catalogue.ask("How is the Hasson trocar reprocessed?"), 80))
    assert "Read the label first" in shown


def test_made_both_ways_is_said_so(catalogue: Any) -> None:
    shown = kg.plain(kg.answer_lines(catalogue.ask("are Mayo scissors curved?"), 80))
    assert "made both ways" in shown and "Not recorded" not in shown
