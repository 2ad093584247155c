"""SHACL on what is staged: the shapes of the ontology for terms and sources, and shapes made from the vocabulary for facts.

A second witness beside the checks of ``resolve``: it sees triples, not cells. The shape of a feature follows from the
vocabulary (which values it takes), so that nothing has to be written twice.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import pyoxigraph as ox

from kg import load, names
from kg.evidence.statements import LENGTH, PREFIX_OF_MODE
from kg.intake.resolve import Staging
from kg.intake.rows import Place, Report
from kg.load import Ontology
from kg.vocabulary import Vocabulary

if TYPE_CHECKING:
    import rdflib

COLUMN_OF = {
    "rdfs:label": "label",
    "skos:definition": "definition",
    "dcterms:source": "source",
    "dcterms:title": "title",
    "bl:sourceKind": "kind",
}
"""Property of a description -> the word for it in findings on cells."""


def check_shapes(
    staging: Staging, triples: Iterable[ox.Triple], ontology: Ontology, vocabulary: Vocabulary, report: Report
) -> None:
    """``triples``: the staged Turtle. Sources that are cited but not staged are taken from ``ontology``."""
    import pyshacl
    from rdflib import RDF, Namespace

    sh = Namespace("http://www.w3.org/ns/shacl#")
    triples = list(triples)
    cited = {names.expand(s) for p in staging.patterns.values() for s in p.sources}
    cited |= {names.expand(s.source) for s in staging.said}
    context = (t for t in ontology.triples("evidence", "terms") if getattr(t.subject, "value", "") in cited)
    data = load.to_rdflib([*triples, *context])
    shapes = load.to_rdflib(ontology.triples("shapes")) + feature_shapes(staging, vocabulary)
    _, found, _ = pyshacl.validate(data, shacl_graph=shapes, advanced=True, inference="none")
    for result in found.subjects(RDF.type, sh.ValidationResult):
        focus = _short(found.value(result, sh.focusNode))
        if focus not in staging.places:
            continue
        column = COLUMN_OF.get(_short(found.value(result, sh.resultPath)), "")
        if column and _found_already(report, staging.places[focus], column):
            continue
        message = str(found.value(result, sh.resultMessage) or "does not fit its shape")
        value = found.value(result, sh.value)
        text = f"{focus}: {message}" + (f" (found: {_short(value)[:60]})" if value is not None else "")
        report.error("BL-I03", _place(staging, focus, value), text, "Mend what the sentence says.")


def _found_already(report: Report, place: Place, column: str) -> bool:
    """Whether the reading of the cells has found a fault with a column of this row, which may then be missing here."""
    return any((f.file, f.line) == (place.file, place.line) and column in f.text for f in report.errors)


def feature_shapes(staging: Staging, vocabulary: Vocabulary) -> rdflib.Graph:
    """One shape for each property used: its values are those of the feature; and one for all subjects: patterns or kinds."""
    from rdflib import RDF, BNode, Graph, Literal, Namespace, URIRef
    from rdflib.collection import Collection

    sh = Namespace("http://www.w3.org/ns/shacl#")
    graph = Graph()
    subjects = [t.name for t in (*vocabulary.by_role("pattern"), *vocabulary.by_role("kind"))]
    allowed_subjects = BNode()
    Collection(graph, allowed_subjects, [URIRef(names.expand(n)) for n in (*subjects, *staging.patterns)])
    about = URIRef("https://boxlock.example/shape/Subject")
    graph.add((about, RDF.type, sh.NodeShape))
    graph.add((about, sh["in"], allowed_subjects))
    graph.add((about, sh.message, Literal("Evidence is about patterns and kinds.", lang="en")))
    for feature, mode in sorted({(s.feature, s.mode) for s in staging.said if s.feature != LENGTH}):
        local = feature.split(":")[1]
        path = URIRef(names.expand(f"{PREFIX_OF_MODE[mode]}:{local}"))
        shape, prop, values = URIRef(f"https://boxlock.example/shape/{mode}-{local}"), BNode(), BNode()
        if feature in names.PARTS:
            allowed = [t.name for t in vocabulary.by_role("part")]
        else:
            home = vocabulary.features[feature].denies or feature
            allowed = [*vocabulary.values_of(home)] or [*(t.name for t in vocabulary.by_role("pattern")), *staging.patterns]
        Collection(graph, values, [URIRef(names.expand(n)) for n in allowed])
        message = Literal(f"The value is none of {vocabulary.label(feature)}.", lang="en")
        for triple in (
            (shape, RDF.type, sh.NodeShape),
            (shape, sh.targetSubjectsOf, path),
            (about, sh.targetSubjectsOf, path),
            (shape, sh.property, prop),
            (prop, sh.path, path),
            (prop, sh["in"], values),
            (prop, sh.message, message),
        ):
            graph.add(triple)
    return graph


def _place(staging: Staging, focus: str, value: object) -> Place:
    name = _short(value)
    for s, place in staging.said.items():
        if s.subject == focus and s.value == name:
            return place
    return staging.places[focus]


def _short(node: object) -> str:
    return names.shown(str(node)) if node is not None else ""
