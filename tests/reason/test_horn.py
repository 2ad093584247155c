"""The Horn engine against brute force over all subsets of the facts, and its bounds."""

from __future__ import annotations

from itertools import combinations

import pytest

from kg.names import HAS_PART, LACKS_PART, TYPE
from kg.reason.horn import Engine
from kg.vocabulary import Rule


def _forward(rules, facts, root):
    """A naive closure, written apart from the engine: (literals, whether a clash rule fires)."""
    known, grown = {root, *facts}, True
    while grown:
        new = {r.head for r in rules if r.head and set(r.body) <= known} - known
        known |= new
        grown = bool(new)
    return known, any(r.head is None and set(r.body) <= known for r in rules)


def _minimal(subsets):
    return {s for s in subsets if not any(t < s for t in subsets)}


def _brute_force(rules, facts, root):
    """literal -> minimal premise sets, and minimal clashing sets, by trying every subset."""
    labels, clashes = {}, set()
    for size in range(len(facts) + 1):
        for chosen in map(frozenset, combinations(sorted(facts), size)):
            known, clash = _forward(rules, chosen, root)
            for literal in known:
                labels.setdefault(literal, set()).add(chosen)
            if clash:
                clashes.add(chosen)
    return {k: _minimal(v) for k, v in labels.items()}, _minimal(clashes)


CASES = [
    (),
    (("bl:purpose", "bl:StopBleeding"), ("bl:curvature", "bl:SlightlyCurved"), ("bl:curvature", "bl:Curved")),
    (
        ("bl:handle", "bl:SpringHandle"),
        (LACKS_PART, "bl:FingerRings"),
        (HAS_PART, "bl:Jaws"),
        ("bl:jawSurface", "bl:TransverseSerration"),
        ("bl:jawSurface", "bl:SerratedJaw"),
    ),
    (("bl:curvature", "bl:Straight"), ("bl:curvature", "bl:SlightlyCurved"), ("bl:curvature", "bl:Angled")),
    (
        ("bl:handle", "bl:SpringHandle"),
        ("bl:handle", "bl:RingHandle"),
        (HAS_PART, "bl:FingerRings"),
        (LACKS_PART, "bl:FingerRings"),
    ),
    (
        ("bl:purpose", "bl:OccludeVessel"),
        ("bl:tissueTrauma", "bl:Atraumatic"),
        ("bl:crushing", "bl:NonCrushing"),
        ("bl:chieflyUsedOn", "bl:Vessel"),
        (TYPE, "bl:ArteryForceps"),
        ("bl:usedOn", "bl:Unheard"),
    ),
]


@pytest.mark.parametrize("facts", CASES)
def test_premise_sets_and_clashes_are_exactly_the_minimal_ones(toy_rules, toy_engine, facts, root):
    closure = toy_engine.close([root, *facts])
    labels, clashes = _brute_force(toy_rules, facts, root)
    assert {k: set(v) for k, v in closure.literals.items()} == labels
    assert {c.premises for c in closure.clashes} == clashes
    assert not closure.capped
    assert toy_engine.types_only(facts) == set(closure.literals)


@pytest.mark.parametrize("facts", CASES)
def test_proofs_are_readable_sufficient_and_without_a_rule_too_many(toy_engine, facts, root):
    closure = toy_engine.close(facts)
    for literal, sets in closure.literals.items():
        for premises in sets:
            proof = closure.proof(literal, premises)
            known = {root, *premises}
            for rule in proof:
                assert set(rule.body) <= known, "a rule is read before its premises"
                known.add(rule.head)
            assert literal in known
            for left_out in proof:
                rest = [r for r in proof if r is not left_out]
                assert literal not in _forward(rest, premises, root)[0]


@pytest.mark.parametrize("facts", CASES)
def test_proof_of_a_clash_ends_in_its_rule(toy_engine, facts, root):
    for clash in toy_engine.close(facts).clashes:
        proof = toy_engine.close(facts).proof_of_clash(clash)
        assert proof[-1] == clash.rule
        assert _forward(proof, clash.premises, root)[1]


def test_why_in_sentences(toy_engine):
    closure = toy_engine.close([("bl:purpose", "bl:StopBleeding"), ("bl:curvature", "bl:SlightlyCurved")])
    goal = (TYPE, "bl:CurvedArteryForceps")
    (premises,) = closure.literals[goal]
    assert [r.text for r in closure.proof(goal, premises)] == [
        "Slightly curved counts as curved (curvature).",
        "An artery forceps is a pattern whose purpose is stopping bleeding.",
        "A curved artery forceps is an artery forceps whose curvature is curved.",
    ]


def test_nothing_is_proved_of_what_does_not_follow(toy_engine, root):
    closure = toy_engine.close([("bl:curvature", "bl:Curved")])
    for literal in ((TYPE, "bl:ArteryForceps"), ("bl:unheard", "bl:Of")):
        with pytest.raises(ValueError, match="does not follow"):
            closure.proof(literal, closure.facts)
    assert closure.proof(("bl:curvature", "bl:Curved"), closure.facts) == ()
    assert closure.proof(root, ()) == ()


def test_no_facts_give_the_root_type_only(toy_engine, root):
    closure = toy_engine.close([])
    assert closure.literals == {root: (frozenset(),)}
    assert closure.types() == ("bl:Pattern",)
    assert closure.clashes == ()


def test_order_of_facts_and_repeats_do_not_matter(toy_engine):
    facts = CASES[2]
    one, two = toy_engine.close(facts), toy_engine.close([*reversed(facts), *facts])
    assert list(one.literals.items()) == list(two.literals.items())


def _fan(width: int, depth: int) -> list[Rule]:
    """A goal with ``width ** depth`` justifications: each of ``depth`` steps follows from any of ``width``
    facts."""
    rules = [Rule(((f"bl:f{d}", f"bl:v{w}"),), (TYPE, f"bl:S{d}"), "", "") for d in range(depth) for w in range(width)]
    return [*rules, Rule(tuple((TYPE, f"bl:S{d}") for d in range(depth)), (TYPE, "bl:Goal"), "", "")]


def test_cap_keeps_the_smallest_sets_and_says_so():
    rules = [*_fan(4, 4), Rule((("bl:f0", "bl:v0"), ("bl:f1", "bl:v0")), (TYPE, "bl:Goal"), "", "")]
    facts = [(f"bl:f{d}", f"bl:v{w}") for d in range(4) for w in range(4)]
    closure = Engine(rules).close(facts, cap=10)
    found = closure.literals[(TYPE, "bl:Goal")]
    assert closure.capped
    assert len(found) == 10
    assert found[0] == {("bl:f0", "bl:v0"), ("bl:f1", "bl:v0")}
    whole = Engine(rules).close(facts, cap=1000)
    assert not whole.capped
    assert len(whole.literals[(TYPE, "bl:Goal")]) == 4**4 - 16 + 1
    with pytest.raises(ValueError, match="cap"):
        Engine(rules).close(facts, cap=0)


def test_cycles_and_very_long_chains_end():
    n = 3000
    chain = [Rule(((TYPE, f"bl:C{i}"),), (TYPE, f"bl:C{(i + 1) % n}"), "", "") for i in range(n)]
    closure = Engine(chain).close([(TYPE, "bl:C0")])
    assert len(closure.literals) == n + 1
    assert len(closure.proof((TYPE, "bl:C2999"), closure.facts)) == n - 1


def test_root_in_a_body_is_always_true(root):
    clash = Rule(((TYPE, "bl:PartKind"), root), None, "", "")
    free = Rule((root,), (TYPE, "bl:Thing"), "", "")
    closure = Engine([clash, free]).close([(TYPE, "bl:PartKind")])
    assert [c.premises for c in closure.clashes] == [{(TYPE, "bl:PartKind")}]
    assert closure.literals[(TYPE, "bl:Thing")] == (frozenset(),)
