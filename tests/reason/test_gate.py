"""The gate: every refused construct is caught under its own name, and admitted ones pass."""

from __future__ import annotations

import rdflib

from kg.names import shrink
from kg.reason.gate import check_constructs
from kg.reason.gate_table import PREDICATES, TYPES, WORDS

HEADING = "# Caught as: "


def _expected(path) -> str:
    first = path.read_text(encoding="utf-8").splitlines()[0]
    assert first.startswith(HEADING), f"{path.name} does not say what it is caught as"
    return first.removeprefix(HEADING)


def test_each_bad_file_is_caught_by_its_own_name_only(bad_constructs):
    found = {p.name: [q.construct for q in check_constructs(rdflib.Graph().parse(p))] for p in bad_constructs}
    assert found == {p.name: [_expected(p)] for p in bad_constructs}


def test_each_refused_construct_has_a_bad_file(bad_constructs):
    assert {_expected(p) for p in bad_constructs} == set(WORDS)
    assert set(PREDICATES.values()) | set(TYPES.values()) <= set(WORDS)


def test_admitted_constructs_pass(toy):
    assert check_constructs(toy("patterns", "clash")) == []
    assert check_constructs(rdflib.Graph()) == []


def test_problem_names_term_place_reason_and_fix(bad_constructs):
    path = next(p for p in bad_constructs if _expected(p) == "owl:unionOf")
    (problem,) = check_constructs(rdflib.Graph().parse(path), lambda term: (path.name, 15 if "ns#A" in term else 0))
    assert (problem.subject, problem.file, problem.line) == ("bl:A", path.name, 15)
    assert problem.text == ("union: a union, and above all a covering axiom, is not read by rule engines, so members are lost")
    assert problem.fix == (
        "Write the union as a named class with one rdfs:subClassOf per branch, each branch pointing to the named class."
    )


def test_dates_in_annotations_are_no_concern_of_the_logic():
    graph = rdflib.Graph().parse(
        data="""@prefix bl: <https://boxlock.example/ns#> . @prefix dcterms: <http://purl.org/dc/terms/> .
        @prefix xsd: <http://www.w3.org/2001/XMLSchema#> . @prefix owl: <http://www.w3.org/2002/07/owl#> .
        bl:seen a owl:AnnotationProperty .
        bl:X a bl:Pattern ; dcterms:date "2026-11-24"^^xsd:date ; bl:seen "2026-11-24"^^xsd:date .""",
        format="turtle",
    )
    assert check_constructs(graph) == []


def test_several_problems_are_sorted_and_repeatable(bad_constructs):
    graph = rdflib.Graph()
    for path in bad_constructs:
        graph.parse(path)
    first = check_constructs(graph)
    assert first == sorted(first)
    assert len({p.construct for p in first}) > 30
    again = rdflib.Graph()
    for path in reversed(bad_constructs):
        again.parse(path)
    key = [(p.subject, p.construct) for p in first if p.subject]
    assert key == [(p.subject, p.construct) for p in check_constructs(again) if p.subject]


def test_subject_is_a_short_name(bad_constructs):
    for path in bad_constructs:
        for problem in check_constructs(rdflib.Graph().parse(path)):
            assert problem.subject, path.name
            if problem.subject.startswith("http"):
                assert not _has_short_name(problem.subject)


def _has_short_name(iri: str) -> bool:
    try:
        return bool(shrink(iri))
    except ValueError:
        return False
