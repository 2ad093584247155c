"""Telling signs against brute force, over scopes small enough for it."""

from __future__ import annotations

import random
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kg import names
from kg.answer.hitting import smallest_hitting_sets
from kg.answer.telling import answer_telling
from kg.answer.visible import table
from kg.language import nodes
from kg.truth import INAPPLICABLE, possible

ROWS = st.lists(st.frozensets(st.integers(0, 7), min_size=1, max_size=4), max_size=8)


@given(ROWS)
@settings(max_examples=200, deadline=None, derandomize=True)
def test_hitting_sets_are_all_the_smallest(rows) -> None:
    found, complete = smallest_hitting_sets(rows)
    assert complete
    expected: list[tuple[int, ...]] = []
    for size in range(1, 9):
        expected = [c for c in combinations(range(8), size) if all(set(c) & row for row in rows)]
        if expected or not rows:
            break
    assert found == (sorted(expected) if rows else [])


def test_an_empty_row_is_refused() -> None:
    with pytest.raises(ValueError, match="empty row"):
        smallest_hitting_sets([frozenset()])


def test_a_met_bound_is_told() -> None:
    rows = [frozenset({2 * i, 2 * i + 1}) for i in range(13)]  # needs thirteen numbers
    assert smallest_hitting_sets(rows) == ([], False)


@pytest.fixture(scope="module")
def sets_of_values(catalogue):
    """pattern -> visible slot -> possible values, by the semantics of questions and one pattern at a time."""
    ctx = catalogue.context
    seen = table(ctx)
    facts = ctx.reader.facts(list(seen.patterns))
    slots = [c.slot for c in seen.columns]
    out = {}
    for p in seen.patterns:
        known = facts[p].known
        out[p] = {s: possible(s, known, ctx.vocabulary) for s in slots if s != names.LENGTH}
        out[p][names.LENGTH] = known.length
    return out


def _apart(slot, a, b) -> bool:
    if slot == names.LENGTH:
        return bool(a and b and (a[1] < b[0] or b[1] < a[0]))
    return not a & b


def test_the_table_agrees_with_the_semantics_of_questions(catalogue, sets_of_values) -> None:
    seen = table(catalogue.context)
    draw = random.Random(5)
    for _ in range(4000):
        column = draw.choice(seen.columns)
        p, q = draw.sample(seen.patterns, 2)
        expected = _apart(column.slot, sets_of_values[p][column.slot], sets_of_values[q][column.slot])
        assert bool(column.apart[column.of[seen.index[p]]] >> seen.index[q] & 1) is expected, (column.slot, p, q)


@pytest.mark.parametrize("seed", range(12))
def test_signs_are_all_the_smallest_sets_that_separate(catalogue, sets_of_values, seed) -> None:
    ctx = catalogue.context
    seen = table(ctx)
    draw = random.Random(seed)
    members = draw.sample(seen.patterns, 7)
    scope = nodes.Or(tuple(nodes.Named(p) for p in members))
    pattern = members[0]
    signs = answer_telling(ctx, pattern, scope).telling
    in_scope = {q for q in seen.patterns if any(m in (q, *ctx.vocabulary.ancestors(q)) for m in members)}
    others = in_scope - set(seen.names(seen.family[seen.index[pattern]]))
    assert signs.compared == len(others)
    mine = sets_of_values[pattern]
    slots = [c.slot for c in seen.columns if mine[c.slot] != frozenset({INAPPLICABLE})]
    rows = {q: {s for s in slots if _apart(s, mine[s], sets_of_values[q][s])} for q in others}
    assert set(signs.inseparable) == {ctx.label(q) for q, row in rows.items() if not row}
    rows = {q: row for q, row in rows.items() if row}
    useful = sorted({s for row in rows.values() for s in row})
    smallest: list[tuple[str, ...]] = []
    for size in range(1, len(useful) + 1):
        smallest = [c for c in combinations(useful, size) if all(set(c) & row for row in rows.values())]
        if smallest:
            break
    expected = {frozenset(ctx.label(s) for s in found) for found in smallest}
    assert signs.complete
    assert {frozenset(f for f, _ in found) for found in signs.sets} == expected


def test_variants_of_the_pattern_are_no_others(catalogue) -> None:
    ctx = catalogue.context
    signs = catalogue.ask("telling signs of Kelly forceps among all instruments").telling
    family = {ctx.label(n) for n in ctx.vocabulary.subtree("bl:KellyForceps")}
    assert len(family) > 1
    assert not family & set(signs.inseparable)
    assert signs.compared == len(ctx.vocabulary.by_role("pattern")) - len(family)


def test_siblings_are_the_scope_by_default(catalogue) -> None:
    """Kelly against Crile: the extent of the serration decides (VetSurgeryOnline, Hemostatic Forceps, ch. 3)."""
    signs = catalogue.ask("telling signs of Kelly forceps").telling
    assert signs.scope == "artery forceps"
    assert signs.sets
    assert all(("extent of the serration", "serrated over the distal half") in found for found in signs.sets)


def test_signs_of_a_category_are_shared_by_all_members_and_by_no_one_else(catalogue) -> None:
    ctx = catalogue.context
    signs = catalogue.ask("telling signs of needle holders").telling
    assert (("purpose", "holding a suture needle"),) in signs.sets
    members = {m.name for m in catalogue.ask("needle holders").matches}
    facts = ctx.reader.facts([t.name for t in ctx.vocabulary.by_role("pattern")])
    expected = set()
    for prop, value in {lit for p in members for lit in facts[p].known.holds}:
        if prop in ctx.vocabulary.features and {p for p, f in facts.items() if (prop, value) in f.known.holds} == members:
            expected.add((ctx.label(prop), ctx.label(value)))
    found = {sign for signs_ in signs.sets for sign in signs_}
    assert found <= expected
    assert found


def test_in_json(catalogue) -> None:
    found = catalogue.ask("telling signs of Allis among tissue forceps").to_json()
    assert found["kind"] == "telling"
    assert found["telling_signs"] and {"feature", "value"} == set(found["telling_signs"][0][0])
