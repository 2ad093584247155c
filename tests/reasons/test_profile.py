"""OWL 2 DL for the whole ontology, and the OWL 2 RL form of its definitions (W3C, OWL 2 Profiles, section 4.2.3)."""

from __future__ import annotations

import pytest
import rdflib

from kg.build import compare_types
from kg.check import agreement
from kg.reason.profile import check_profile

HEAD = """
@prefix bl: <https://boxlock.example/ns#> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
bl:Pattern a owl:Class . bl:Value a owl:Class .
bl:grip a owl:ObjectProperty . bl:Tight a owl:NamedIndividual , bl:Value .
bl:Clamp a owl:Class .
"""


def problems(text: str) -> list[tuple[str, str, str]]:
    found = check_profile(rdflib.Graph().parse(data=HEAD + text, format="turtle"))
    return [(p.construct, p.subject, p.text) for p in found]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("bl:grip a owl:DatatypeProperty .", ("punning", "bl:grip", "object property and datatype property")),
        ("bl:Clamp a owl:NamedIndividual .", ("punning", "bl:Clamp", "class and individual")),
        ("bl:Clamp a owl:ObjectProperty .", ("punning", "bl:Clamp", "class and object property")),
        ("bl:X a bl:Clmp .", ("undeclared", "bl:Clmp", "a class")),
        ("bl:Clamp rdfs:subClassOf bl:Instrument .", ("undeclared", "bl:Instrument", "a class")),
        ("bl:Tight bl:gripp bl:Tight .", ("undeclared", "bl:gripp", "a property")),
        (
            "bl:Clamp owl:equivalentClass [ a owl:Restriction ; owl:onProperty bl:grp ; owl:hasValue bl:Tight ] .",
            ("undeclared", "bl:grp", "an object property"),
        ),
        (
            "bl:Clamp owl:equivalentClass [ a owl:Restriction ; owl:onProperty bl:grip ; owl:hasValue bl:Loose ] .",
            ("undeclared", "bl:Loose", "an individual"),
        ),
        (
            "bl:Clamp owl:equivalentClass [ a owl:Class ; owl:intersectionOf ( bl:Pattern bl:Thng ) ] .",
            ("undeclared", "bl:Thng", "a class"),
        ),
        (
            "bl:Clamp owl:equivalentClass [ a owl:Class ; owl:intersectionOf ( owl:Thing bl:Pattern ) ] .",
            ("rule form", "bl:Clamp", "owl:Thing"),
        ),
        (
            "bl:Clamp owl:equivalentClass [ a owl:Restriction ; owl:onProperty bl:grip ; owl:someValuesFrom bl:Value ] .",
            ("rule form", "bl:Clamp", "other than hasValue"),
        ),
    ],
)
def test_each_fault_is_named(text, expected):
    found = problems(text)
    assert len(found) == 1, found
    construct, subject, words = found[0]
    assert (construct, subject) == expected[:2]
    assert expected[2] in words


def test_a_sound_definition_has_no_problem():
    assert (
        problems(
            "bl:Clamp rdfs:subClassOf bl:Pattern ; owl:equivalentClass [ a owl:Class ; owl:intersectionOf "
            "( bl:Pattern [ a owl:Restriction ; owl:onProperty bl:grip ; owl:hasValue bl:Tight ] ) ] ."
        )
        == []
    )


def test_the_shipped_ontology_fits(staged):
    assert check_profile(staged.logic) == []


def test_an_independent_rule_engine_agrees(small_staged):
    """Outside witness: ``reasonable``, an OWL 2 RL engine in Rust."""
    pytest.importorskip("reasonable")
    assert list(agreement(small_staged)) == []
    assert compare_types(small_staged, {"bl:AlderClamp": ("bl:Scissors",)})
