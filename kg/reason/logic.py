"""Keeps of a graph only what a reasoner has to read.

Labels, definitions, sources and mappings are annotations: they cannot change an inference, but they slow a
reasoner down and some of their datatypes (``xsd:date`` of a source) make HermiT crash. Both outside engines
get ``logic_only(graph)``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.names import PREFIXES

if TYPE_CHECKING:
    from rdflib import Graph

# Terms of the owl: namespace that say something *about* the ontology, never something that can be inferred
# from.
ANNOTATION_TYPES = frozenset(
    PREFIXES["owl"] + name
    for name in (
        "Ontology",
        "AnnotationProperty",
        "OntologyProperty",
        "Axiom",
        "Annotation",
        "DeprecatedClass",
        "DeprecatedProperty",
    )
)
ANNOTATION_PROPERTIES = frozenset(
    PREFIXES["owl"] + name
    for name in (
        "versionIRI",
        "versionInfo",
        "priorVersion",
        "backwardCompatibleWith",
        "incompatibleWith",
        "deprecated",
        "annotatedSource",
        "annotatedProperty",
        "annotatedTarget",
    )
)
ANNOTATION_NAMESPACES = (PREFIXES["skos"], PREFIXES["dcterms"], PREFIXES["prov"])
RDFS_LOGIC = frozenset(PREFIXES["rdfs"] + name for name in ("subClassOf", "subPropertyOf", "domain", "range"))


def logic_only(graph: Graph) -> Graph:
    """A new graph with the OWL axioms, declarations and facts of ``graph``, without annotations and imports.

    A fact is kept if its property is declared an object or data property; a type is kept unless it is a term
    of SKOS, DCTERMS or PROV. Constructs outside the admitted ones are kept: refusing them is the gate's work
    (``kg.reason.gate``), hiding them would be worse. An empty graph gives an empty graph.
    """
    from rdflib import OWL, RDF, RDFS, Graph, URIRef

    fact_properties = set(graph.subjects(RDF.type, OWL.ObjectProperty))
    fact_properties.update(graph.subjects(RDF.type, OWL.DatatypeProperty))
    out = Graph()
    for s, p, o in graph:
        iri = str(p)
        if p == RDF.type:
            name = str(o)
            keep = name not in ANNOTATION_TYPES and not (isinstance(o, URIRef) and name.startswith(ANNOTATION_NAMESPACES))
        elif p in (RDF.first, RDF.rest):
            keep = True
        elif p == RDFS.subPropertyOf:
            keep = s in fact_properties
        elif iri.startswith(PREFIXES["rdfs"]):
            keep = iri in RDFS_LOGIC and not (iri.endswith(("domain", "range")) and s not in fact_properties)
        elif iri.startswith(PREFIXES["owl"]):
            keep = iri not in ANNOTATION_PROPERTIES and p != OWL.imports
        else:
            keep = p in fact_properties
        if keep:
            out.add((s, p, o))
    return out
