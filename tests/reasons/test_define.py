"""New categories in the words of a question: compiled to OWL, placed among the others, refused with the reason."""

from __future__ import annotations

import pytest
import rdflib

from kg import names
from kg.definitions import compile_definition, contradiction, place, relations
from kg.errors import QuestionError
from kg.language import nodes, say
from kg.names import expand, shrink
from kg.reason.axioms import read_expression
from kg.reason.gate import check_constructs
from kg.reason.hermit import realise

GENTLE = "define gentle clamp as non-crushing clamps with longitudinal serration"


def test_whole_answer(told):
    text = told(GENTLE)
    assert text.startswith("""\
I read this as: define gentle clamp as non-crushing clamps with longitudinal serration

Where a gentle clamp stands
  lies within  instrument with serrated jaws, non-crushing clamp
  excludes     """)
    assert text.endswith("""\
In OWL
@prefix bl: <https://boxlock.example/ns#> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .

bl:GentleClamp a owl:Class ;
    rdfs:label "gentle clamp"@en ;
    rdfs:subClassOf bl:Pattern ;
    owl:equivalentClass [ a owl:Class ; owl:intersectionOf (
        bl:Pattern bl:NonCrushingClamp
        [ a owl:Restriction ; owl:onProperty bl:jawSurface ; owl:hasValue bl:LongitudinalSerration ] ) ] .

1 pattern matches
  Alder clamp

  All of these are inferred from recorded facts.

Note
  Nothing was stored: this is where the category would stand.
""")
    assert "crushing clamp" in text.split("In OWL")[0].split("excludes")[1]


def test_the_same_broader_narrower_and_apart(small):
    placement = small.ask("define bowel thing as intestinal clamps").placement
    assert placement.equivalent == ("intestinal clamp",)
    assert placement.broader == ("clamp",)
    assert placement.narrower == ("crushing intestinal clamp", "non-crushing intestinal clamp")
    assert "artery forceps" in placement.disjoint
    assert "non-crushing intestinal clamp" not in placement.disjoint


def test_what_nothing_can_be(told):
    text = told("define zork as crushing clamps that are non-crushing")
    assert (
        "Nothing can be a zork: its conditions need crushing and non-crushing at once, and a piece has one\neffect on" in text
    )
    assert "match" not in text
    there = told("define zork as ring-handled instruments without finger rings")
    assert "its conditions need finger rings both there and absent" in there


def test_members_are_those_of_the_same_description(small, catalogue):
    for opened in (small, catalogue):
        defined = opened.ask(GENTLE)
        assert defined.matches == opened.ask("non-crushing clamps with longitudinal serration").matches
        assert defined.matches
        assert defined.notes[-1] == "Nothing was stored: this is where the category would stand."


def test_what_the_members_show_is_told_apart_from_the_logic(small):
    placement = small.ask(GENTLE).placement
    assert (
        "It has the same members as the category non-crushing intestinal clamp, though the definitions differ."
        in placement.by_members
    )
    assert placement.equivalent == ()


@pytest.mark.parametrize(
    ("question", "code", "at", "hint"),
    [
        ("define zork as clamps or scissors", "BL-Q09", "", "one category for each alternative"),
        ("define zork as clamps that are not crushing", "BL-Q09", "crushing", '"non-crushing"'),
        ("define zork as clamps longer than 14 cm", "BL-Q09", "longer than 14 cm", "size"),
        ("define zork as clamps other than Alder clamp", "BL-Q09", "", "Deny parts one by one"),
        ("define zork as instruments", "BL-Q09", "", "have or are"),
        ("define clamp as scissors", "BL-Q10", "clamp", "another name"),
        ("define haemostats as scissors", "BL-Q10", "haemostats", "another name"),
        ("define Alder clamp as scissors", "BL-Q10", "Alder clamp", "another name"),
        ("define <b>zork as scissors", "BL-Q10", "<b>zork", "plain words"),
        ("define zork as clamps with a handbrake", "BL-Q02", "handbrake", ""),
        ("define zork as", "BL-Q03", "", ""),
    ],
)
def test_refused_with_the_reason(small, question, code, at, hint):
    with pytest.raises(QuestionError) as caught:
        small.ask(question)
    error = caught.value
    assert error.code == code
    assert not at or question[slice(*error.span)] == at
    assert hint in error.hint


@pytest.mark.parametrize(
    "question",
    [
        GENTLE,
        "define zork as scissors without finger rings",
        "define pride and joy as scissors with sharp-sharp tips",
        "define zörk as clamps or scissors",
        'define "soft-nosed thing" as clamps',
    ],
)
def test_read_back(small, question):
    tree = small.parse(question)
    assert isinstance(tree, nodes.NewCategory)
    assert small.parse(say(tree, small.lexicon)) == tree


def test_plain_definitions_of_words_are_still_understood(small):
    assert small.parse("define ratchet") == nodes.Define("bl:Ratchet")


def test_the_turtle_is_admitted_and_says_the_conditions(small, small_staged):
    """The gate of the ontology, which knows nothing of questions, admits the class and reads the same conditions."""
    expr = small.parse("scissors without finger rings with sharp-sharp tips and a spring handle").expr
    definition = compile_definition("odd scissors", expr, small.vocabulary)
    graph = rdflib.Graph().parse(data=definition.turtle)
    assert check_constructs(graph) == []
    node = graph.value(rdflib.URIRef(expand(definition.name)), rdflib.OWL.equivalentClass)
    read = set(read_expression(graph, node).conditions) - {(names.TYPE, names.PATTERN)}
    assert read == set(definition.conditions) == {
        (names.TYPE, "bl:Scissors"),
        (names.LACKS_PART, "bl:FingerRings"),
        ("bl:bladeTips", "bl:SharpSharpTips"),
        ("bl:handle", "bl:SpringHandle"),
    }  # fmt: skip


def test_absence_of_a_part_may_be_said_through_a_category(small):
    expr = nodes.Not(nodes.IsA("bl:HingedInstrument"))
    assert compile_definition("stiff thing", expr, small.vocabulary).conditions == ((names.LACKS_PART, "bl:Joint"),)


def test_every_category_is_the_same_as_its_own_definition(catalogue):
    ctx = catalogue.context
    for category, conditions in ctx.vocabulary.definitions.items():
        assert category in place(conditions, ctx.vocabulary, ctx.engine).equivalent


def test_exclusions_are_those_of_the_axioms(staged):
    """Every rule of exclusion over patterns is seen by ``contradiction``, and nothing else is."""
    words = staged.vocabulary
    framework = {"bl:Concept", "bl:FeatureValue", "bl:PartKind", "bl:Pattern", "bl:Source", "bl:Kind"}
    rules = [r for r in staged.engine.rules if r.head is None and not {v for _, v in r.body} & framework]
    assert len(rules) > 500
    for rule in rules:
        assert contradiction(rule.body, words), rule.axiom
    for record in staged.records.values():
        assert contradiction(staged.engine.types_only(record.facts), words) is None


@pytest.mark.reasoner
@pytest.mark.parametrize("question", [GENTLE, "define zork as instruments made for clamping bowel without a joint"])
def test_the_place_is_hermits(small, small_staged, question):
    """Outside authority: HermiT. An individual of the new class is in all that lies above; one of each category is in the new
    class if it lies below; and the intersection with each category that is apart has no member."""
    tree = small.parse(question)
    definition = compile_definition(tree.name, tree.expr, small.vocabulary)
    found = relations(definition.conditions, small.vocabulary, small.context.engine)
    graph = rdflib.Graph()
    for triple in small_staged.logic:
        graph.add(triple)
    graph.parse(data=definition.turtle)
    new = rdflib.URIRef(expand(definition.name))
    graph.add((rdflib.URIRef(expand("bl:copy-new")), rdflib.RDF.type, new))
    for category in small.vocabulary.definitions:
        local = category.split(":")[1]
        graph.add((rdflib.URIRef(expand(f"bl:copy-{local}")), rdflib.RDF.type, rdflib.URIRef(expand(category))))
        both = rdflib.URIRef(expand(f"bl:Both-{local}"))
        graph.add((both, rdflib.RDF.type, rdflib.OWL.Class))
        graph.add((both, rdflib.RDFS.subClassOf, new))
        graph.add((both, rdflib.RDFS.subClassOf, rdflib.URIRef(expand(category))))
    outcome = realise(graph, timeout_s=170)
    assert outcome.status == "consistent", outcome.detail
    categories = set(small.vocabulary.definitions)
    assert categories & set(outcome.types["bl:copy-new"]) == found.above
    below = {c for c in categories if shrink(str(new)) in outcome.types[f"bl:copy-{c.split(':')[1]}"]}
    assert below == found.below
    apart = {f"bl:{c.split('-', 1)[1]}" for c in outcome.unsatisfiable if c.startswith("bl:Both-")}
    assert apart == found.apart
