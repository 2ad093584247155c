"""What a reasoner gets to read."""

from __future__ import annotations

import rdflib
from rdflib import OWL, RDF, RDFS, SKOS

from kg.reason.logic import logic_only


def test_annotations_go_and_logic_stays(toy):
    graph = toy("patterns")
    logic = logic_only(graph)
    assert not set(logic.predicates()) & {RDFS.label, SKOS.prefLabel, SKOS.broader}
    for predicate in (
        RDFS.subClassOf,
        OWL.equivalentClass,
        OWL.hasValue,
        OWL.members,
        RDF.rest,
        OWL.propertyDisjointWith,
    ):
        assert set(logic.subject_objects(predicate)) == set(graph.subject_objects(predicate))
    facts = [t for t in graph if "Toy" in t[0] and t[1] != RDF.type]
    assert facts
    assert all(t in logic for t in facts)
    assert len(logic_only(rdflib.Graph())) == 0


def test_refused_constructs_are_not_hidden(bad_constructs):
    for path in bad_constructs:
        graph = rdflib.Graph().parse(path)
        kept = {p for p in logic_only(graph).predicates() if str(p).startswith(str(OWL))}
        assert kept == {p for p in graph.predicates() if str(p).startswith(str(OWL))} - {OWL.imports}, path.name


def test_annotation_properties_of_our_own_go():
    graph = rdflib.Graph().parse(
        data="""@prefix bl: <https://boxlock.example/ns#> . @prefix owl: <http://www.w3.org/2002/07/owl#> .
        @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
        @prefix skos: <http://www.w3.org/2004/02/skos/core#> .
        bl:note a owl:AnnotationProperty ; rdfs:subPropertyOf skos:note ; rdfs:domain bl:Pattern .
        bl:X a bl:Pattern , skos:Concept ; bl:note "text" .
        bl: a owl:Ontology ; owl:versionInfo "1" ; owl:imports <https://example.org/x> .""",
        format="turtle",
    )
    ns = "https://boxlock.example/ns#"
    assert set(logic_only(graph)) == {(rdflib.URIRef(ns + "X"), RDF.type, rdflib.URIRef(ns + "Pattern"))}
