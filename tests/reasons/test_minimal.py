"""Every justification in the catalogue is minimal, judged from outside.

Outside authority: HermiT, an OWL 2 DL reasoner (Glimm, Horrocks, Motik, Stoilos and Wang, "HermiT: an OWL 2 reasoner", Journal
of Automated Reasoning 53, 2014). For each distinct category and set of statements one individual has all of the statements,
and for each statement one copy lacks it. All individuals are realised with all axioms of the ontology: the whole set must put
its individual into the category, and no copy may be in it. The names of the copies say nothing.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest
import rdflib

from kg import names
from kg.answer.justify import closure_of
from kg.reason.hermit import realise
from kg.vocabulary import Condition

CHUNK = 150
PROCESSES = 2


def justified(catalogue) -> set[tuple[str, frozenset[Condition]]]:
    """The distinct (category, minimal statement set) of all inferred memberships."""
    ctx = catalogue.context
    patterns = [t.name for t in ctx.vocabulary.by_role("pattern")]
    out: set[tuple[str, frozenset[Condition]]] = set()
    for facts in ctx.reader.facts(patterns).values():
        closure = closure_of(ctx, facts)
        categories = [v for p, v in facts.known.holds if p == names.TYPE and v in ctx.vocabulary.definitions]
        for category in categories:
            assert closure.literals[names.TYPE, category], "a membership without a justification"
            out |= {(category, premises) for premises in closure.literals[names.TYPE, category]}
    return out


def individuals(logic: rdflib.Graph, fact_sets: list[frozenset[Condition]], first: int) -> rdflib.Graph:
    graph = rdflib.Graph()
    for triple in logic:
        graph.add(triple)
    for number, facts in enumerate(fact_sets, first):
        subject = rdflib.URIRef(names.expand(f"bl:copy-{number:04d}"))
        graph.add((subject, rdflib.RDF.type, rdflib.URIRef(names.expand(names.PATTERN))))
        for prop, value in facts:
            graph.add((subject, rdflib.URIRef(names.expand(prop)), rdflib.URIRef(names.expand(value))))
    return graph


@pytest.mark.reasoner
def test_every_justification_is_sufficient_and_minimal_in_hermit(catalogue, staged):
    pairs = justified(catalogue)
    assert len(pairs) > 100
    wanted = {premises for _, premises in pairs}
    wanted |= {premises - {left_out} for _, premises in pairs for left_out in premises}
    fact_sets = sorted(wanted, key=lambda s: (len(s), sorted(s)))
    chunks = [(start, fact_sets[start : start + CHUNK]) for start in range(0, len(fact_sets), CHUNK)]

    def run(chunk):
        start, sets = chunk
        outcome = realise(individuals(staged.logic, sets, start), timeout_s=170)
        assert outcome.status == "consistent", outcome.detail
        return {facts: frozenset(outcome.types.get(f"bl:copy-{n:04d}", ())) for n, facts in enumerate(sets, start)}

    types: dict[frozenset[Condition], frozenset[str]] = {}
    with ThreadPoolExecutor(PROCESSES) as pool:
        for found in pool.map(run, chunks):
            types |= found
    for category, premises in sorted(pairs, key=lambda p: (p[0], sorted(p[1]))):
        assert category in types[premises], f"{sorted(premises)} do not make a {category}"
        for left_out in premises:
            assert category not in types[premises - {left_out}], f"{left_out} is not needed for {category}"
