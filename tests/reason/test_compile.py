"""Axioms to rules: the shapes, the sentences, and what is refused."""

from __future__ import annotations

import random

import pytest
import rdflib

from kg.errors import CatalogueError
from kg.names import HAS_PART, LACKS_PART, TYPE
from kg.reason.compile import compile_definitions, compile_rules, read_labels
from kg.reason.wording import Wording, article
from kg.vocabulary import Rule


def _rule(rules, body, head) -> Rule:
    (found,) = [r for r in rules if r.body == tuple(sorted(body)) and r.head == head]
    return found


@pytest.mark.parametrize(
    ("body", "head", "text"),
    [
        (
            [("bl:purpose", "bl:StopBleeding")],
            (TYPE, "bl:ArteryForceps"),
            "An artery forceps is a pattern whose purpose is stopping bleeding.",
        ),
        (
            [("bl:crushing", "bl:NonCrushing"), ("bl:purpose", "bl:OccludeVessel")],
            (TYPE, "bl:VesselClamp"),
            "A vessel clamp is a pattern whose crushing is non-crushing and whose purpose is temporary closure of a vessel.",
        ),
        (
            [(HAS_PART, "bl:Jaws"), (TYPE, "bl:RinglessPattern"), ("bl:jawSurface", "bl:SerratedJaw")],
            (TYPE, "bl:RinglessGripper"),
            "A ringless gripper is a ringless pattern that has jaws and whose jaw surface is serrated jaws.",
        ),
        (
            [(LACKS_PART, "bl:FingerRings")],
            (TYPE, "bl:RinglessPattern"),
            "A ringless pattern is a pattern that has no finger rings.",
        ),
        ([(TYPE, "bl:RinglessGripper")], (HAS_PART, "bl:Jaws"), "Every ringless gripper has jaws."),
        (
            [(TYPE, "bl:VesselClamp")],
            ("bl:purpose", "bl:OccludeVessel"),
            "The purpose of every vessel clamp is temporary closure of a vessel.",
        ),
        (
            [(TYPE, "bl:ArteryForceps")],
            (TYPE, "bl:VesselInstrument"),
            "Every artery forceps is a vessel instrument.",
        ),
        (
            [("bl:curvature", "bl:SlightlyCurved")],
            ("bl:curvature", "bl:Curved"),
            "Slightly curved counts as curved (curvature).",
        ),
        (
            [("bl:curvature", "bl:Curved"), ("bl:curvature", "bl:Straight")],
            None,
            "Curved and straight exclude each other (curvature).",
        ),
        (
            [("bl:jawSurface", "bl:SerratedJaw"), ("bl:jawSurface", "bl:SmoothJaw")],
            None,
            "Serrated jaws and smooth jaws exclude each other (jaw surface).",
        ),
        (
            [(HAS_PART, "bl:FingerRings"), (LACKS_PART, "bl:FingerRings")],
            None,
            "A pattern cannot both have and lack finger rings.",
        ),
        (
            [("bl:handle", "bl:SpringHandle")],
            (LACKS_PART, "bl:FingerRings"),
            "A pattern whose handle is spring handle has no finger rings.",
        ),
        (
            [("bl:tissueTrauma", "bl:Atraumatic")],
            ("bl:crushing", "bl:NonCrushing"),
            "If something is a pattern whose effect on tissue is atraumatic, its crushing is non-crushing.",
        ),
        (
            [("bl:chieflyUsedOn", "bl:Vessel")],
            ("bl:usedOn", "bl:Vessel"),
            "If something is a pattern whose chiefly used on is vessel, its used on is vessel.",
        ),
    ],
)
def test_rule_and_its_sentence(toy_rules, body, head, text):
    assert _rule(toy_rules, body, head).text == text


def test_definitions_are_sorted_and_without_root_and_value_classes(toy):
    definitions = compile_definitions(toy())
    assert list(definitions) == sorted(definitions)
    assert definitions["bl:RinglessGripper"] == (
        (HAS_PART, "bl:Jaws"),
        ("bl:jawSurface", "bl:SerratedJaw"),
        (TYPE, "bl:RinglessPattern"),
    )
    assert definitions["bl:VesselClamp"] == (
        ("bl:crushing", "bl:NonCrushing"),
        ("bl:purpose", "bl:OccludeVessel"),
    )
    assert not any("With-" in name for name in definitions)
    assert "bl:VesselInstrument" not in definitions


def test_rules_are_sorted_unique_and_independent_of_the_order_of_triples(toy, toy_rules):
    triples = list(toy())
    random.Random(5).shuffle(triples)
    shuffled = rdflib.Graph()
    for triple in triples:
        shuffled.add(triple)
    assert compile_rules(shuffled) == toy_rules
    assert len({(r.body, r.head) for r in toy_rules}) == len(toy_rules)
    assert compile_rules(rdflib.Graph()) == ()


def test_parts_only_in_facts_can_clash_too(toy, toy_rules):
    body = ((HAS_PART, "bl:Ratchet"), (LACKS_PART, "bl:Ratchet"))
    assert body not in {r.body for r in toy_rules}
    assert body in {r.body for r in compile_rules(toy("patterns"))}
    assert body in {r.body for r in compile_rules(toy(), [(LACKS_PART, "bl:Ratchet")])}


def test_parts_of_one_class_can_all_clash():
    graph = rdflib.Graph().parse(
        data="""@prefix bl: <https://boxlock.example/ns#> . @prefix owl: <http://www.w3.org/2002/07/owl#> .
        @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
        bl:hasPart a owl:ObjectProperty ; owl:propertyDisjointWith bl:lacksPart .
        bl:lacksPart a owl:ObjectProperty .
        bl:One a bl:PartKind . bl:Two a bl:PartKind . bl:Other a bl:FeatureValue .
        bl:A owl:equivalentClass [ owl:onProperty bl:hasPart ; owl:hasValue bl:One ] .""",
        format="turtle",
    )
    clashes = [r.body[0][1] for r in compile_rules(graph) if r.head is None]
    assert clashes == ["bl:One", "bl:Two"]


def test_narrower_domain_types_the_pattern():
    graph = rdflib.Graph().parse(
        data="""@prefix bl: <https://boxlock.example/ns#> . @prefix owl: <http://www.w3.org/2002/07/owl#> .
        @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
        bl:glare a owl:ObjectProperty ; rdfs:domain bl:Finish . bl:Bright bl:glare bl:High .""",
        format="turtle",
    )
    (rule,) = compile_rules(graph)
    assert (rule.body, rule.head) == ((("bl:glare", "bl:High"),), (TYPE, "bl:Finish"))


def test_error_on_a_construct_that_is_not_admitted(bad_constructs):
    path = next(p for p in bad_constructs if p.stem == "union_of")
    with pytest.raises(CatalogueError) as raised:
        compile_rules(rdflib.Graph().parse(path))
    assert raised.value.code == "BL-C04"


def test_labels_prefer_english_and_preferred():
    graph = rdflib.Graph().parse(
        data="""@prefix bl: <https://boxlock.example/ns#> .
        @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
        @prefix skos: <http://www.w3.org/2004/02/skos/core#> .
        bl:A rdfs:label "plain"@en ; skos:prefLabel "preferred"@en , "vorgezogen"@de .
        bl:B rdfs:label "nur"@de .""",
        format="turtle",
    )
    assert read_labels(graph) == {"bl:A": "preferred", "bl:B": "nur"}


def test_a_term_without_label_shows_no_raw_identifier():
    words = Wording({})
    assert words.definition("bl:FineForceps", [("bl:tipShape", "bl:FineTip"), (HAS_PART, "bl:Ratchet")]) == (
        "A fine forceps is a pattern whose tip shape is fine tip and that has a ratchet."
    )


@pytest.mark.parametrize(
    "phrase",
    ["an artery forceps", "a unit", "an x-ray cassette", "a one-piece clamp", "a box lock", "an hour"],
)
def test_article(phrase):
    assert article(phrase.split(" ", 1)[1]) == phrase
