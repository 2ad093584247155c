"""The gate on OWL constructs: what may be said in the logic, and a plain reason for what may not.

Every construct outside the admitted ones loses or adds members in at least one reasoning engine, or merges
values in silence. The gate names the construct, the term it was found at, the reason, and what to write
instead.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kg.errors import CatalogueError
from kg.names import PATTERN, PREFIXES, expand, shown
from kg.reason.axioms import rdf_list, read_expression
from kg.reason.gate_table import (
    ADMITTED_DATATYPES,
    ADMITTED_PREDICATES,
    ADMITTED_TYPES,
    BUILT_IN_PROPERTIES,
    PREDICATES,
    TYPES,
    WORDS,
)
from kg.reason.logic import ANNOTATION_NAMESPACES, ANNOTATION_PROPERTIES, ANNOTATION_TYPES

if TYPE_CHECKING:
    from rdflib import Graph
    from rdflib.term import Node

Locate = Callable[["Node"], "tuple[str, int] | None"]


@dataclass(frozen=True, order=True)
class Problem:
    """A construct that is not admitted.

    ``construct`` is its stable name, such as ``"owl:unionOf"``; ``subject`` the short name (or IRI) of the
    nearest named term; ``text`` says what is wrong and why; ``fix`` what to write instead. ``file`` and
    ``line`` (1-based) are empty and 0 when unknown.
    """

    file: str
    line: int
    subject: str
    construct: str
    text: str
    fix: str


def check_constructs(graph: Graph, locate: Locate | None = None) -> list[Problem]:
    """All constructs of ``graph`` that are not admitted, sorted by file, line, subject; empty if all are
    admitted.

    ``locate`` maps a named term to (file, line), or None if it does not know; it gives problems their place.
    Annotations (labels, definitions, sources) are not looked at.
    """
    return _Gate(graph, locate).run()


class _Gate:
    def __init__(self, graph: Graph, locate: Locate | None) -> None:
        from rdflib import OWL, RDF

        self.graph = graph
        self.locate = locate
        self.found: set[Problem] = set()
        self.refused: set[Node] = set()  # nodes already reported: their surroundings are not reported again
        self.annotations = set(graph.subjects(RDF.type, OWL.AnnotationProperty))

    def run(self) -> list[Problem]:
        self._words()
        self._literals()
        self._anonymous()
        self._axioms()
        self._properties()
        self._asserted_categories()
        return sorted(self.found)

    def _report(self, construct: str, node: Node, detail: str = "") -> None:
        words = WORDS[construct]
        owner = self._owner(node)
        subject = shown(str(owner)) if owner is not None else ""
        place = (self.locate(owner) if self.locate and owner is not None else None) or ("", 0)
        text = f"{words.what}{f' ({detail})' if detail else ''}: {words.why}"
        self.found.add(Problem(place[0], place[1], subject, construct, text, words.fix))
        self.refused.add(node)

    def _owner(self, node: Node) -> Node | None:
        """The nearest named term from which ``node`` hangs; failing that, the first that hangs from it."""
        from rdflib import BNode, URIRef

        if not isinstance(node, BNode):
            return node
        for step in (self._parents, self._named_below):
            layer, seen = [node], {node}
            while layer:
                around = {n for inner in layer for n in step(inner)}
                named = sorted(n for n in around if isinstance(n, URIRef))
                if named:
                    return named[0]
                layer = [n for n in around if isinstance(n, BNode) and n not in seen]
                seen.update(layer)
        return None

    def _parents(self, node: Node) -> list[Node]:
        return list(self.graph.subjects(None, node))

    def _named_below(self, node: Node) -> list[Node]:
        from rdflib import OWL, RDF

        vocabulary = (str(OWL), str(RDF))
        return [o for o in self.graph.objects(node) if not str(o).startswith(vocabulary)]

    # --- by the word used ---------------------------------------------------------------------------------
    def _words(self) -> None:
        """Refused predicates and types first, so that their companions (facets, members) are not reported
        again."""
        from rdflib import OWL, RDF, RDFS, BNode, URIRef

        triples = sorted(self.graph, key=lambda triple: tuple(map(str, triple)))
        for s, p, o in triples:
            if p == OWL.inverseOf and isinstance(s, BNode):
                self._report("owl:inverseOf (expression)", s)
            elif str(p) in PREDICATES:
                self._report(PREDICATES[str(p)], s)
            elif p == RDF.type and str(o) in TYPES:
                self._report(TYPES[str(o)], s)
        for s, p, o in triples:
            for word in (s, o):
                if word == OWL.Nothing:
                    self._report("owl:Nothing", s)
                elif str(word) in BUILT_IN_PROPERTIES:
                    self._report("another OWL construct", s, shown(str(word)))
            if s in self.refused:
                continue
            iri, kind = str(p), str(o)
            if iri.startswith(str(OWL)) and iri not in ADMITTED_PREDICATES and iri not in ANNOTATION_PROPERTIES:
                self._report("another OWL construct", s, shown(str(p)))
            elif p == RDF.type and o == RDFS.Datatype:
                self._report("a datatype of one's own", s)
            elif p == RDF.type and not isinstance(o, URIRef):
                self._report("an unnamed class as a type", s)
            elif p == RDF.type and kind.startswith(str(OWL)) and kind not in ADMITTED_TYPES | ANNOTATION_TYPES:
                self._report("another OWL construct", s, shown(str(o)))

    # --- values -------------------------------------------------------------------------------------------
    def _literals(self) -> None:
        from rdflib import OWL, RDF, Literal

        for s, p, o in self.graph:
            if not isinstance(o, Literal) or self._is_annotation(p):
                continue
            if p == OWL.hasValue:
                self._report("owl:hasValue with a literal", s)
                continue
            datatype = str(o.datatype or (RDF.langString if o.language else PREFIXES["xsd"] + "string"))
            self._datatype(s, datatype)
            if datatype in ADMITTED_DATATYPES and o.ill_typed:
                self._report("an ill-formed value", s, f"{str(o)!r} is no {shown(str(o.datatype))}")

    def _datatype(self, node: Node, datatype: str) -> None:
        if datatype == PREFIXES["xsd"] + "date":
            self._report("xsd:date", node)
        elif datatype not in ADMITTED_DATATYPES:
            self._report("another datatype", node, shown(str(datatype)))

    def _is_annotation(self, p: Node) -> bool:
        iri = str(p)
        if p in self.annotations or iri in ANNOTATION_PROPERTIES or iri.startswith(ANNOTATION_NAMESPACES):
            return True
        # rdfs:label, rdfs:comment, rdfs:seeAlso, rdfs:isDefinedBy; of OWL's own words only hasValue takes a
        # literal here, the others have been reported by name.
        return iri.startswith(PREFIXES["rdfs"]) or (iri.startswith(PREFIXES["owl"]) and not iri.endswith("#hasValue"))

    # --- blank nodes --------------------------------------------------------------------------------------
    def _anonymous(self) -> None:
        """A blank node must be a class expression, a list cell or an n-ary axiom; anything else is a thing
        without name."""
        from rdflib import OWL, RDF, RDFS, BNode

        structure = {RDF.first, RDF.rest, OWL.onProperty, OWL.intersectionOf, OWL.members}
        nodes = {n for s, _, o in self.graph for n in (s, o) if isinstance(n, BNode)}
        for node in nodes:
            predicates = set(self.graph.predicates(node))
            types = {str(t) for t in self.graph.objects(node, RDF.type)}
            if predicates & structure or any(str(p) in PREDICATES for p in predicates):
                continue
            if any(t.startswith(str(OWL)) and t != str(OWL.NamedIndividual) for t in types) or str(RDFS.Datatype) in types:
                continue
            if not self._inside_refused(node):
                self._report("an anonymous individual", node)

    def _inside_refused(self, node: Node) -> bool:
        """True if the blank node is a piece of something reported already, such as a facet."""
        return self._leads_to_refused(node, lambda n: self.graph.subjects(None, n))

    # --- axioms -------------------------------------------------------------------------------------------
    def _axioms(self) -> None:
        from rdflib import OWL, RDF, RDFS, BNode

        graph = self.graph
        for s, o in graph.subject_objects(RDFS.subClassOf):
            if s == OWL.Thing:
                self._report("a statement about everything", s, shown(str(o)))
            for side in (s, o):
                expression = self._expression(side)
                if expression and expression.anonymous and graph.value(side, OWL.intersectionOf) is not None:
                    self._report("an intersection in rdfs:subClassOf", side)
        for s, o in graph.subject_objects(OWL.equivalentClass):
            expression = self._expression(o)
            if isinstance(s, BNode):
                self._report("a definition without a name", s)
            elif expression is not None and not expression.anonymous:
                self._report("owl:equivalentClass of two named classes", s)
            elif sum(1 for _ in graph.objects(s, OWL.equivalentClass)) > 1:
                self._report("two definitions of one class", s)
        for s, o in graph.subject_objects(OWL.disjointWith):
            self._named(s, o)
        for node in graph.subjects(RDF.type, OWL.AllDisjointClasses):
            self._named(*rdf_list(graph, graph.value(node, OWL.members)))
        for node in graph.subjects(OWL.intersectionOf):
            if not isinstance(node, BNode):
                self._report("a named class with owl:intersectionOf", node)
            self._expression(node)
        for node in graph.subjects(OWL.onProperty):
            self._expression(node)

    def _named(self, *members: Node) -> None:
        from rdflib import URIRef

        for member in members:
            if not isinstance(member, URIRef) and not self._tainted(member):
                self._report("disjointness of unnamed classes", member)

    def _expression(self, node: Node):
        from rdflib import BNode

        try:
            expression = read_expression(self.graph, node)
        except CatalogueError:
            self._report("a name outside the ontology", node)
            return None
        if not isinstance(node, BNode):
            return expression
        if expression is None and not self._tainted(node):
            self._report("another class expression", node)
        return expression

    def _tainted(self, node: Node) -> bool:
        """True if the node, or something inside it, was reported already."""
        return self._leads_to_refused(node, self.graph.objects)

    def _leads_to_refused(self, node: Node, step: Callable[[Node], Iterable[Node]]) -> bool:
        """True if the node was reported already, or one was that ``step`` after step reaches through blank nodes."""
        from rdflib import BNode

        todo, seen = [node], set()
        while todo:
            current = todo.pop()
            if current in self.refused:
                return True
            if current not in seen:
                seen.add(current)
                todo.extend(n for n in step(current) if isinstance(n, BNode))
        return False

    # --- properties ---------------------------------------------------------------------------------------
    def _properties(self) -> None:
        from rdflib import OWL, RDF, RDFS, BNode, URIRef

        graph = self.graph
        data = set(graph.subjects(RDF.type, OWL.DatatypeProperty))
        below_pattern = self._below(URIRef(expand(PATTERN)))
        for s, o in graph.subject_objects(RDFS.domain):
            if isinstance(o, BNode):
                if not self._tainted(o):
                    self._report("a domain that is no named class", s)
            elif o in below_pattern:
                self._report("a domain narrower than the root", s, shown(str(o)))
        for s, o in graph.subject_objects(RDFS.range):
            if s in data and isinstance(o, URIRef):
                self._datatype(s, str(o))
            elif s not in self.annotations and not (isinstance(o, BNode) and self._tainted(o)):
                self._report("rdfs:range", s)
        for predicate in (RDFS.subPropertyOf, OWL.propertyDisjointWith):
            for s, o in graph.subject_objects(predicate):
                if not (isinstance(s, URIRef) and isinstance(o, URIRef)) and not (self._tainted(s) or self._tainted(o)):
                    self._report("a property expression", s)

    def _below(self, root: Node) -> set[Node]:
        """Named classes said to be below ``root``, without it: told subclasses, definitions, and classes with
        conditions."""
        from rdflib import OWL, RDF, RDFS, BNode, URIRef

        direct: dict[Node, set[Node]] = {}
        for s, o in self.graph.subject_objects(RDFS.subClassOf):
            direct.setdefault(o, set()).add(s)
        out: set[Node] = set()
        todo: list[Node] = [root]
        # A class defined by a condition on a pattern is a class of patterns, whether or not a file says so.
        todo.extend(self.graph.subjects(OWL.equivalentClass))
        todo.extend(o for s, o in self.graph.subject_objects(RDFS.subClassOf) if isinstance(s, BNode))
        while todo:
            current = todo.pop()
            if current not in out:
                out.add(current)
                todo.extend(direct.get(current, ()))
        return {n for n in out if isinstance(n, URIRef) and n != root and (n, RDF.type, OWL.Class) in self.graph}

    def _asserted_categories(self) -> None:
        from rdflib import RDF, URIRef

        below = self._below(URIRef(expand(PATTERN)))
        for s, o in self.graph.subject_objects(RDF.type):
            if o in below:
                self._report("an asserted category", s, shown(str(o)))
