"""What the gate admits and refuses, as data: one row per refused construct with its reason and what to write instead."""

# One row a construct reads better than wrapped sentences.
# ruff: noqa: E501
from __future__ import annotations

from typing import NamedTuple

from kg.names import PREFIXES

_OWL, _XSD = PREFIXES["owl"], PREFIXES["xsd"]

ADMITTED_TYPES = frozenset(
    _OWL + n
    for n in ("Class", "ObjectProperty", "DatatypeProperty", "AnnotationProperty", "NamedIndividual", "Restriction",
              "AllDisjointClasses", "Thing")
)  # fmt: skip
ADMITTED_PREDICATES = frozenset(
    _OWL + n
    for n in ("equivalentClass", "intersectionOf", "onProperty", "hasValue", "disjointWith", "members",
              "propertyDisjointWith")
)  # fmt: skip
ADMITTED_DATATYPES = frozenset(_XSD + n for n in ("decimal", "integer", "string", "boolean", "dateTime", "anyURI"))

BUILT_IN_PROPERTIES = frozenset(
    _OWL + n for n in ("topObjectProperty", "bottomObjectProperty", "topDataProperty", "bottomDataProperty")
)


class Words(NamedTuple):
    """``what`` was found, ``why`` it is refused, and the ``fix``."""

    what: str
    why: str
    fix: str


_COUNT_WHY = "counting parts or values needs a closed world; engines disagree on it and some ignore it without a word"
_COUNT_FIX = "Say which values exclude each other with owl:disjointWith, or record the number as a value of a feature."
_SAME_WHY = "saying which names are one thing merges or separates terms in silence, and spreads wrong values"
_SAME_FIX = "Give each thing one name; exclude values through owl:disjointWith of their classes."
_TRAIT_WHY = "this property characteristic adds or merges facts in silence and is not read by every engine"
_NEGATIVE_FIX = "Use the lacks-part property, or a value that says the feature is absent."

WORDS: dict[str, Words] = {
    "owl:complementOf": Words(
        "complement", "what is not stated is not false here, so a complement has no members in rule engines",
        "Define the category by a named absence: a hasValue condition on the lacks-part property or on a value that says 'none'.",
    ),
    "owl:allValuesFrom": Words(
        "'only' restriction", "'only' can never be shown from recorded facts, and is true of things about which nothing is known",
        "Use a hasValue condition.",
    ),
    "owl:someValuesFrom": Words(
        "'some' restriction", "an existential talks about things without names, which the engines treat differently",
        "Use a hasValue condition on the broader value; narrower values imply it.",
    ),
    "cardinality": Words("cardinality", _COUNT_WHY, _COUNT_FIX),
    "owl:oneOf": Words(
        "enumeration", "a closed list of individuals makes some engines lose members without warning",
        "Give the values a common broader value and use a hasValue condition on it.",
    ),
    "owl:hasSelf": Words("self restriction", "no instrument relates to itself, and rule engines ignore it", "Remove it."),
    "owl:onDatatype": Words(
        "datatype facet", "facets on numbers are not read by every engine",
        "Record a size class as a value; the rule from length to size class is stated outside the logic.",
    ),
    "owl:propertyChainAxiom": Words(
        "property chain", "a chain makes its property unfit for disjointness and is lost in one engine",
        "State a rule from value to value: a hasValue condition as rdfs:subClassOf another.",
    ),
    "owl:unionOf": Words(
        "union", "a union, and above all a covering axiom, is not read by rule engines, so members are lost",
        "Write the union as a named class with one rdfs:subClassOf per branch, each branch pointing to the named class.",
    ),
    "owl:disjointUnionOf": Words(
        "disjoint union", "it holds a covering axiom, which rule engines do not read",
        "Write owl:AllDisjointClasses, and one rdfs:subClassOf per branch.",
    ),
    "owl:inverseOf (expression)": Words(
        "inverse expression", "an inverse inside an axiom makes HermiT very slow and can make properties wrongly equivalent",
        "Name the property for the direction you need and record facts with it.",
    ),
    "owl:inverseOf": Words(
        "inverse properties", "an inverse carries facts from one pattern to another, but reasoning works on one pattern at a time",
        "Record facts in one direction; a question can be asked in the other.",
    ),
    "owl:TransitiveProperty": Words(
        "transitive property", "a transitive property may not be disjoint with another one",
        "State the broader value by rdfs:subClassOf between the classes of the values.",
    ),
    "owl:FunctionalProperty": Words(
        "functional property", "two values of a functional property are merged into one in silence, instead of clashing",
        "Declare the classes of the values disjoint.",
    ),
    "owl:InverseFunctionalProperty": Words(
        "inverse functional property", "it merges two patterns into one in silence", "Remove it.",
    ),
    "owl:SymmetricProperty": Words("symmetric property", _TRAIT_WHY, "Record both directions."),
    "owl:AsymmetricProperty": Words("asymmetric property", _TRAIT_WHY, "Check it with a shape instead."),
    "owl:ReflexiveProperty": Words("reflexive property", _TRAIT_WHY, "Remove it."),
    "owl:IrreflexiveProperty": Words("irreflexive property", _TRAIT_WHY, "Check it with a shape instead."),
    "owl:sameAs": Words("owl:sameAs", _SAME_WHY, _SAME_FIX),
    "owl:differentFrom": Words("owl:differentFrom", _SAME_WHY, _SAME_FIX),
    "owl:AllDifferent": Words("owl:AllDifferent", _SAME_WHY, _SAME_FIX),
    "owl:hasKey": Words("key", _SAME_WHY, "Check that names are unique with a shape instead."),
    "owl:NegativePropertyAssertion": Words(
        "negative fact", "rule engines do not read negative facts, so a contradiction would go unseen", _NEGATIVE_FIX,
    ),
    "owl:AllDisjointProperties": Words(
        "list of disjoint properties", "not every engine reads the list form", "Write owl:propertyDisjointWith for each pair.",
    ),
    "owl:equivalentProperty": Words(
        "equivalent properties", "two names for one feature split its facts", "Keep one property and give it a synonym label.",
    ),
    "owl:imports": Words(
        "import", "files are read from the ontology folder only, never from the network", "Put the file into the folder.",
    ),
    "owl:Nothing": Words("the empty class", "it says that something cannot exist without saying what excludes what",
                         "Declare the two classes disjoint."),
    "another OWL construct": Words(
        "a construct of OWL that is not among the admitted ones", "the engines have not been shown to agree on it",
        "Use named classes, hasValue conditions, intersections of these, rdfs:subClassOf and owl:disjointWith.",
    ),
    "a datatype of one's own": Words("a datatype of one's own", "HermiT stops at datatypes it does not know",
                                     "Use xsd:decimal, integer, string, boolean, dateTime or anyURI."),
    "xsd:date": Words("xsd:date", "HermiT crashes on it", "Use xsd:dateTime, or make the property an annotation property."),
    "another datatype": Words("a datatype that is not admitted", "HermiT stops at datatypes outside its map",
                              "Use xsd:decimal, integer, string, boolean, dateTime or anyURI."),
    "an ill-formed value": Words("a value that does not fit its datatype", "a reasoner crashes on it or drops it",
                                 "Correct the value or its datatype."),
    "owl:hasValue with a literal": Words(
        "a condition on a number or a text", "a condition names a value of a feature; engines compare literals differently",
        "Make it a value with a name and a class of its own.",
    ),
    "an unnamed class as a type": Words("an unnamed class as a type", "facts are stated with properties, not with restrictions",
                                        "Write the fact itself: the feature and its value."),
    "an anonymous individual": Words("a thing without a name", "what has no name cannot be explained, cited or compared",
                                     "Give it an IRI."),
    "an intersection in rdfs:subClassOf": Words(
        "an intersection in rdfs:subClassOf", "one axiom should say one thing, so that an explanation shows only what was used",
        "Write one rdfs:subClassOf for each member, or give the intersection a name with owl:equivalentClass.",
    ),
    "a definition without a name": Words("a definition without a name", "owl:equivalentClass defines a named class",
                                         "Put the named class on the left."),
    "owl:equivalentClass of two named classes": Words(
        "two named classes with one meaning", "members would have two names for one category",
        "Keep one class and give it a synonym label.",
    ),
    "two definitions of one class": Words(
        "two definitions of one class", "a category has one definition, from which membership is explained",
        "Write a named class per definition, each rdfs:subClassOf this one.",
    ),
    "a named class with owl:intersectionOf": Words(
        "an intersection put directly on a named class", "not every engine reads this old form",
        "Write owl:equivalentClass with the intersection.",
    ),
    "disjointness of unnamed classes": Words("disjointness of unnamed classes", "only named classes can be explained in words",
                                             "Name the class with owl:equivalentClass."),
    "another class expression": Words(
        "a class expression that is not admitted", "only a named class, one hasValue condition, or a flat intersection of these is read",
        "Rewrite it with these; an intersection inside an intersection can be written flat.",
    ),
    "a name outside the ontology": Words("a name outside the ontology", "its meaning is not under our control",
                                         "Use a term of the ontology; names hold letters, digits, hyphens and underscores."),
    "a statement about everything": Words("a statement about everything", "it would type values and parts as well",
                                          "State it of the root class of patterns."),
    "a domain that is no named class": Words("a domain that is no named class", "a domain types everything that has the property",
                                             "Use the root class of patterns, or another named class."),
    "a domain narrower than the root": Words(
        "a domain narrower than all patterns", "it would put every pattern that has the property into that category in silence",
        "Use the root class of patterns as the domain; check narrower use with a shape.",
    ),
    "rdfs:range": Words("a range", "a range types whatever stands there in silence, even a misspelt value",
                        "Check the choice of values with a shape instead."),
    "a property expression": Words("a property expression", "axioms on properties need two named properties",
                                   "Name the property."),
    "an asserted category": Words(
        "a category typed in", "membership of a category is inferred from features, never stated",
        "State the features that make it a member.",
    ),
}  # fmt: skip

# Predicate IRI -> name of the refused construct.
PREDICATES: dict[str, str] = {
    _OWL + local: name
    for local, name in {
        "complementOf": "owl:complementOf", "datatypeComplementOf": "owl:complementOf",
        "allValuesFrom": "owl:allValuesFrom", "someValuesFrom": "owl:someValuesFrom",
        "cardinality": "owl:cardinality", "minCardinality": "owl:minCardinality", "maxCardinality": "owl:maxCardinality",
        "qualifiedCardinality": "owl:qualifiedCardinality", "minQualifiedCardinality": "owl:minQualifiedCardinality",
        "maxQualifiedCardinality": "owl:maxQualifiedCardinality",
        "oneOf": "owl:oneOf", "hasSelf": "owl:hasSelf",
        "onDatatype": "owl:onDatatype",
        "propertyChainAxiom": "owl:propertyChainAxiom", "unionOf": "owl:unionOf",
        "disjointUnionOf": "owl:disjointUnionOf", "inverseOf": "owl:inverseOf",
        "sameAs": "owl:sameAs", "differentFrom": "owl:differentFrom", "hasKey": "owl:hasKey",
        "equivalentProperty": "owl:equivalentProperty", "imports": "owl:imports",
    }.items()
}  # fmt: skip
for _name in ("cardinality", "minCardinality", "maxCardinality", "qualifiedCardinality", "minQualifiedCardinality",
              "maxQualifiedCardinality"):  # fmt: skip
    WORDS[f"owl:{_name}"] = WORDS["cardinality"]._replace(what=f"counting restriction ({_name})")
del WORDS["cardinality"]

# Type IRI -> name of the refused construct.
TYPES: dict[str, str] = {
    _OWL + local: f"owl:{local}"
    for local in ("TransitiveProperty", "FunctionalProperty", "InverseFunctionalProperty", "SymmetricProperty",
                  "AsymmetricProperty", "ReflexiveProperty", "IrreflexiveProperty", "AllDifferent",
                  "NegativePropertyAssertion", "AllDisjointProperties")
}  # fmt: skip
