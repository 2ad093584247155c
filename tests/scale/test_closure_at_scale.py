"""The rules' engine against a plain one and against outside reasoners, on the whole catalogue and on drawn patterns."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from kg import names
from kg.basis import RANKS, bases
from kg.build import compare_types, verify
from kg.evidence.catalogue import OWN, Fact, Record
from kg.evidence.statements import Source, Statement
from kg.reason import rl
from kg.reason.horn import Engine
from tests.reason.plainly import Plain


@pytest.fixture(scope="module")
def plain(staged) -> Plain:
    return Plain(staged.engine.rules)


@pytest.fixture(scope="module")
def fact_sets(staged, drawn) -> list[frozenset]:
    """The facts of every pattern, of the drawn ones, and sets at random, most of which contradict themselves."""
    chance = random.Random(3)
    real = [frozenset(r.facts) for r in staged.records.values()]
    literals = sorted(frozenset().union(*real))
    wild = [frozenset(chance.sample(literals, chance.randint(0, 25))) for _ in range(200)]
    return list(dict.fromkeys([*real, *(frozenset(d.record.facts) for d in drawn), *wild]))


def test_literals_premise_sets_and_clashes_are_those_of_the_plain_closure(staged, plain, fact_sets):
    clashing = 0
    for facts in fact_sets:
        labels, clashes = plain.close(facts)
        found = staged.engine.close(facts)
        assert not found.capped
        assert {lit: frozenset(sets) for lit, sets in found.literals.items()} == labels
        assert list(found.literals) == sorted(found.literals)
        assert {c.premises for c in found.clashes} == clashes
        assert staged.engine.consistent(facts) is not bool(clashes)
        assert staged.engine.types_only(facts) == set(labels)
        clashing += bool(clashes)
    assert 50 < clashing < len(fact_sets) / 2  # both cases were met


def test_what_was_closed_before_changes_nothing(staged, fact_sets):
    fresh = Engine(staged.engine.rules)
    for facts in reversed(fact_sets[::5]):
        warm, cold = staged.engine.close(facts), fresh.close(facts)
        assert list(warm.literals.items()) == list(cold.literals.items())
        assert warm.clashes == cold.clashes


def test_what_depends_on_a_literal_is_all_that_comes_or_goes_with_it(staged, fact_sets):
    for facts in fact_sets[::7]:
        for fact in sorted(facts)[:3]:
            changed = staged.engine.types_only(facts) ^ staged.engine.types_only(facts - {fact})
            assert fact in changed or fact in staged.engine.types_only(facts - {fact})
            assert changed <= staged.engine.dependents([fact])
    assert staged.engine.dependents([]) == frozenset()


@pytest.fixture(scope="module")
def drawn_staged(staged, drawn):
    """The shipped axioms with 250 drawn patterns."""
    return replace(staged, records={d.term.name: d.record for d in drawn[:250]})


def test_memberships_of_drawn_patterns_are_those_of_an_outside_rule_engine(drawn_staged):
    theirs = rl.realise(drawn_staged.with_facts()).types
    assert compare_types(drawn_staged, theirs) == []
    assert sum(map(len, drawn_staged.types().values())) > 1000
    some = next(p for p, types in drawn_staged.types().items() if types)
    assert compare_types(drawn_staged, {**theirs, some: ()})  # a difference would be told


@pytest.mark.reasoner
def test_memberships_of_drawn_patterns_are_those_of_hermit(drawn_staged):
    assert verify(drawn_staged, list(drawn_staged.records)).startswith("HermiT")


def test_the_basis_is_that_of_the_best_justification(staged, drawn):
    """Against the definition: of all justifications the one whose weakest premise is strongest."""
    kinds = ["textbook", *RANKS[2:]]
    sources = {f"src:{i}": Source(f"src:{i}", "t", kind=kind) for i, kind in enumerate(kinds)}
    chance = random.Random(5)
    for d in drawn[:80]:
        facts = sorted(d.record.facts)
        rank = {fact: chance.choice([0, 2, 3, 4]) for fact in facts}
        record = Record(d.term.name, {f: Fact(f, OWN, d.term.name) for f in facts})
        said = []
        for prop, value in facts:
            feature = names.LENGTH if prop == names.SIZE_CLASS else prop
            name = f"src:{max(0, rank[prop, value] - 1)}"
            said.append(Statement(d.term.name, feature, "is", "140" if feature == names.LENGTH else value, name))
        found = bases({d.term.name: record}, said, sources, staged.vocabulary, staged.engine)[d.term.name]
        expected = {}
        # A witness for a narrower value is one for the broader value as well, so the rank is looked up as the basis does.
        ranks = {f: _rank_of(f, facts, rank, staged.vocabulary) for f in facts}
        for literal, sets in staged.engine.close(facts).literals.items():
            best = min(max((ranks[p] for p in s), default=0) for s in sets)
            if best:
                expected[literal] = RANKS[best]
        assert found == expected


def _rank_of(fact, facts, rank, vocabulary):
    prop, value = fact
    if prop in names.PARTS or prop == names.SIZE_CLASS:
        return rank[fact]
    same = [f for f in facts if f[0] == prop and (f[1] == value or value in vocabulary.ancestors(f[1]))]
    return min(rank[f] for f in same)
