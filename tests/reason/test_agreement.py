"""Three engines, one answer: our Horn engine, the Rust OWL 2 RL engine ``reasonable``, and HermiT.

The outside engines are the check from outside the project; the toy facts themselves are made up.
"""

from __future__ import annotations

import sys

import pytest
import rdflib
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rdflib import RDF, URIRef

from kg.names import HAS_PART, LACKS_PART, TYPE, expand, shrink
from kg.reason import hermit, rl
from kg.reason.compile import compile_rules
from kg.reason.horn import Engine

FACTS = [
    ("bl:purpose", "bl:StopBleeding"),
    ("bl:purpose", "bl:OccludeVessel"),
    ("bl:crushing", "bl:NonCrushing"),
    ("bl:tissueTrauma", "bl:Atraumatic"),
    ("bl:curvature", "bl:Straight"),
    ("bl:curvature", "bl:Curved"),
    ("bl:curvature", "bl:SlightlyCurved"),
    ("bl:curvature", "bl:Angled"),
    ("bl:jawSurface", "bl:SmoothJaw"),
    ("bl:jawSurface", "bl:SerratedJaw"),
    ("bl:jawSurface", "bl:TransverseSerration"),
    ("bl:handle", "bl:RingHandle"),
    ("bl:handle", "bl:SpringHandle"),
    (HAS_PART, "bl:FingerRings"),
    (LACKS_PART, "bl:FingerRings"),
    (HAS_PART, "bl:Jaws"),
    (LACKS_PART, "bl:Jaws"),
    ("bl:usedOn", "bl:Vessel"),
    ("bl:chieflyUsedOn", "bl:Vessel"),
]


@pytest.mark.reasoner
def test_three_engines_give_the_same_types(toy, patterns_of):
    graph = toy("patterns")
    engine = Engine(compile_rules(graph))
    ours = {name: engine.close(facts) for name, facts in patterns_of(graph).items()}
    assert not any(closure.clashes for closure in ours.values())
    types = {name: closure.types() for name, closure in ours.items()}
    assert len(types) == 8
    assert types == dict(rl.realise(graph).types)
    assert types == dict(hermit.realise(graph, timeout_s=120).types)


@pytest.mark.reasoner
def test_patterns_that_clash_here_are_inconsistent_there_and_withdrawing_one_premise_mends_it(toy, patterns_of):
    graph = toy("clash")
    engine = Engine(compile_rules(graph))
    clashes = {name: engine.close(facts).clashes for name, facts in patterns_of(graph).items()}
    assert {name: [c.rule.text for c in found] for name, found in clashes.items()} == {
        "bl:ToyClashOne": ["Curved and straight exclude each other (curvature)."],
        "bl:ToyClashTwo": ["A pattern cannot both have and lack finger rings."],
    }
    assert hermit.realise(graph, timeout_s=120).status == "inconsistent"
    for name, found in clashes.items():
        for clash in found:
            prop, value = sorted(clash.premises)[0]
            graph.remove((URIRef(expand(name)), URIRef(expand(prop)), URIRef(expand(value))))
    assert hermit.realise(graph, timeout_s=120).status == "consistent"


@settings(
    max_examples=40,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(facts=st.sets(st.sampled_from(FACTS), max_size=8))
def test_closure_equals_that_of_the_rl_engine(toy_engine, toy, facts):
    """Types and property values alike, whether or not the facts contradict each other."""
    graph = toy()
    pattern = URIRef(expand("bl:Random"))
    graph.add((pattern, RDF.type, URIRef(expand("bl:Pattern"))))
    for prop, value in facts:
        graph.add((pattern, URIRef(expand(prop)), URIRef(expand(value))))
    theirs = {
        (shrink(str(p)), shrink(str(o)))
        for s, p, o in rl.closure(graph)
        if s == pattern and isinstance(o, URIRef) and not str(o).startswith(str(rdflib.OWL)) and "owl#" not in str(p)
    }
    assert toy_engine.types_only(facts) == theirs
    assert (TYPE, "bl:Pattern") in theirs


def test_rl_engine_that_is_not_installed(toy, monkeypatch):
    monkeypatch.setitem(sys.modules, "reasonable", None)
    outcome = rl.realise(toy())
    assert (outcome.status, outcome.types) == ("not-installed", {})
    assert "pip install reasonable" in outcome.detail
