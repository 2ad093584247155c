"""Answers that look over the record: order either way, both ends, counts side by side, gaps, categories, names, letters."""

from __future__ import annotations

from kg.language import nodes


def test_longest_first_is_the_order_by_the_longest_size_made(catalogue):
    up = catalogue.ask("artery forceps by length")
    down = catalogue.ask("artery forceps by length, longest first")
    assert down.reading == "artery forceps by length, longest first"
    assert {g.value for g in up.groups} == {g.value for g in down.groups}
    assert down.groups[-1].value == up.groups[-1].value == "not recorded"
    longest = catalogue.ask("the longest artery forceps").matches
    assert {m.label for m in longest} <= {label for g in down.groups[:3] for label in g.labels}


def test_both_ends_are_the_longest_and_the_shortest(catalogue):
    both = catalogue.ask("the longest and the shortest thumb forceps")
    ends = {m.name for q in ("the longest thumb forceps", "the shortest thumb forceps") for m in catalogue.ask(q).matches}
    assert {m.name for m in both.matches} == ends
    assert {v.status for v in both.values} == {"longest", "shortest"}


def test_so_many_of_a_ranking_are_listed(catalogue):
    assert len(catalogue.ask("the ten longest retractors").values) == 10


def test_counts_side_by_side_are_the_counts(catalogue):
    both = catalogue.ask("how many scissors and how many needle holders?")
    alone = [catalogue.ask(f"how many {family}?").count for family in ("scissors", "needle holders")]
    assert [g.count for g in both.groups] == alone


def test_a_second_count_without_a_family_speaks_of_the_first(catalogue):
    assert catalogue.ask("how many scissors are there, and how many are curved?").kind == "quantified"


def test_gaps_of_a_set_are_what_is_not_recorded_of_it(catalogue):
    gaps = catalogue.ask("what is missing from ENT instruments?")
    assert gaps.kind == "gaps"
    lacking = next(g for g in gaps.groups if g.value == "length")
    unmeasured = catalogue.ask("ENT instruments whose length is not recorded")
    assert set(lacking.labels) == {m.label for m in unmeasured.matches}
    alike = next(g for g in gaps.groups if g.value == "a look-alike")
    none = {g.value for g in catalogue.ask("which ENT instruments have no look-alikes?").groups}
    assert none <= set(alike.labels)


def test_gaps_of_one_pattern_are_what_its_kind_has_and_it_lacks(catalogue):
    found = catalogue.ask("what is missing from the Morris?")
    assert found.tree == nodes.Gaps(nodes.Named("bl:MorrisRetractor"))
    assert "length" in {g.value for g in found.groups}
    described = {v.feature for v in catalogue.ask("what is recorded of the Morris?").values if v.status != "not recorded"}
    assert described.isdisjoint(g.value for g in found.groups)


def test_gaps_of_one_pattern_are_what_is_recorded_of_its_kind_and_not_of_it(catalogue):
    for asked in ("what is missing from the Kelly?", "What do you not know about the Kelly?"):
        gaps = catalogue.ask(asked)
        assert gaps.tree == nodes.Gaps(nodes.Named("bl:KellyForceps"))
        assert "speciality" in {g.value for g in gaps.groups}


def test_a_pattern_is_filed_under_the_categories_to_which_it_belongs(catalogue):
    filed = catalogue.ask("under which category is the Cusco filed, and on what grounds?")
    rows = {v.label: v.status for v in filed.values if v.feature == "category"}
    assert "viewing instrument" in rows and all(reason.startswith("because it ") for reason in rows.values())
    for label in list(rows)[:3]:
        assert catalogue.ask(f"is the Cusco a {label}?").argument.holds is True


def test_a_name_that_several_bear_is_borne_by_them(catalogue):
    shared = catalogue.ask("which eponyms have at least three instruments?")
    doyen = next(g for g in shared.groups if g.value == "Doyen")
    assert doyen.count == len(doyen.labels) >= 3
    assert set(doyen.labels) <= {m.label for m in catalogue.ask("instruments named after Doyen").matches}
    assert all(g.count >= 3 for g in shared.groups)


def test_first_letters(catalogue):
    found = catalogue.ask("instruments beginning with the letter J").matches
    assert found and all(m.label.casefold().startswith("j") for m in found)
    assert all(m.label.casefold().startswith("b") for m in catalogue.ask("retractors starting with B").matches)


def test_sources_of_a_set_are_counted_by_its_statements(catalogue):
    few = catalogue.ask("which source has the most needle holders?")
    holders = {m.label for m in catalogue.ask("needle holders").matches}
    assert few.groups and all(set(g.labels) <= holders and g.count >= len(g.labels) for g in few.groups)


def test_a_single_source_is_a_published_one(catalogue):
    alone = catalogue.ask("which instruments have exactly one source?")
    assert alone.groups and not any("no published source" in label for g in alone.groups for label in g.labels)


def test_the_narrowest_categories_of_each(catalogue):
    several = catalogue.ask("which needle holders have more than one category?")
    assert all(g.count > 1 for g in several.groups)
    kinds = catalogue.ask("how many needle holders in each category?")
    assert kinds.groups[0].count == len(catalogue.ask("needle holders").matches)


def test_how_facts_are_adopted_is_told(catalogue):
    for asked in ("Which source wins when two give different lengths?", "When books disagree, whose word counts?"):
        assert catalogue.ask(asked).tree == nodes.Define("bl:AdoptedFact")


def test_ones_in_a_second_question_are_what_the_first_ends_with(catalogue):
    found = catalogue.ask("Which retractors have blunt prongs and which have sharp ones?")
    assert found.also is not None
    assert found.also.reading == "retractors with sharp prongs"
