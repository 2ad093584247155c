"""What OWL 2 DL asks of a whole ontology beyond single constructs, and the OWL 2 RL form of the definitions.

``kg.reason.gate`` judges the constructs. Here: no name is two kinds of thing (punning), every name used is declared, and each
definition has the form in which rule engines read both directions of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.names import PREFIXES, shown
from kg.reason.axioms import rdf_list
from kg.reason.gate import Locate, Problem

if TYPE_CHECKING:
    from rdflib import Graph
    from rdflib.term import Node

_BUILT_IN = tuple(PREFIXES[p] for p in ("rdf", "rdfs", "owl", "xsd"))
_ANNOTATING = tuple(PREFIXES[p] for p in ("skos", "dcterms", "prov"))
_FIX_DECLARE = "Declare it in the terms, or correct the spelling."


def check_profile(graph: Graph, locate: Locate | None = None) -> list[Problem]:
    """Punning, names used but not declared, and definitions outside OWL 2 RL; sorted by file, line, subject; empty if none.

    ``locate`` maps a named term to (file, line), or None if it does not know.
    """
    profile = _Profile(graph, locate)
    return sorted({*profile.punning(), *profile.undeclared(), *profile.rule_form()})


class _Profile:
    def __init__(self, graph: Graph, locate: Locate | None) -> None:
        from rdflib import OWL, RDF

        self.graph = graph
        self.locate = locate

        def declared(kind: Node) -> set[Node]:
            return set(graph.subjects(RDF.type, kind))

        self.kinds: dict[str, set[Node]] = {
            "class": declared(OWL.Class),
            "object property": declared(OWL.ObjectProperty),
            "datatype property": declared(OWL.DatatypeProperty),
            "annotation property": declared(OWL.AnnotationProperty),
            "individual": self._individuals(),
        }

    def _individuals(self) -> set[Node]:
        """Everything declared an individual, or typed by a class of ours."""
        from rdflib import OWL, RDF

        classes = set(self.graph.subjects(RDF.type, OWL.Class))
        found = set(self.graph.subjects(RDF.type, OWL.NamedIndividual))
        return found | {s for s, o in self.graph.subject_objects(RDF.type) if o in classes}

    def _problem(self, node: Node, construct: str, text: str, fix: str) -> Problem:
        place = (self.locate(node) if self.locate else None) or ("", 0)
        return Problem(place[0], place[1], shown(str(node)), construct, text, fix)

    def punning(self) -> list[Problem]:
        """Names that are two kinds of thing at once. OWL 2 DL allows some of it; here none, since it is most likely a slip."""
        from rdflib import URIRef

        out = []
        every = sorted({n for found in self.kinds.values() for n in found if isinstance(n, URIRef)})
        for node in every:
            kinds = [kind for kind, found in self.kinds.items() if node in found]
            if len(kinds) > 1:
                text = f"one name for two kinds of thing ({' and '.join(kinds)})"
                out.append(self._problem(node, "punning", text, "Give each its own name."))
        return out

    def undeclared(self) -> list[Problem]:
        """Names of ours that stand in an axiom or as a property or class without being declared."""
        from rdflib import OWL, RDF, RDFS, URIRef

        graph, out = self.graph, []
        properties = self.kinds["object property"] | self.kinds["datatype property"] | self.kinds["annotation property"]
        used: dict[Node, str] = {}
        for s, p, o in graph:
            if p not in properties and not str(p).startswith(_BUILT_IN + _ANNOTATING):
                used.setdefault(p, "property")
            if p == RDF.type and not str(o).startswith(_BUILT_IN + _ANNOTATING) and o not in self.kinds["class"]:
                used.setdefault(o, "class")
            if p == OWL.onProperty and o not in self.kinds["object property"]:
                used.setdefault(o, "object property")
            if p == OWL.hasValue and o not in self.kinds["individual"]:
                used.setdefault(o, "individual")
            if p in (RDFS.subClassOf, OWL.equivalentClass, OWL.disjointWith, RDFS.domain):
                sides = (o,) if p == RDFS.domain else (s, o)
                for side in sides:
                    if not str(side).startswith(_BUILT_IN) and side not in self.kinds["class"]:
                        used.setdefault(side, "class")
        for node in graph.objects(None, OWL.intersectionOf):
            for member in rdf_list(graph, node):
                if not str(member).startswith(_BUILT_IN) and member not in self.kinds["class"]:
                    used.setdefault(member, "class")
        for node, kind in used.items():
            if isinstance(node, URIRef):
                out.append(self._problem(node, "undeclared", f"it is used as {_a(kind)} but not declared as one", _FIX_DECLARE))
        return out

    def rule_form(self) -> list[Problem]:
        """Definitions that an OWL 2 RL engine would not read in both directions.

        The profile (W3C, OWL 2 Profiles, section 4.2.3, equivClassExpression) admits named classes other than owl:Thing,
        intersections and hasValue with an individual.
        """
        from rdflib import OWL

        out = []
        for s, o in self.graph.subject_objects(OWL.equivalentClass):
            fault = self._outside_rl(o)
            if fault:
                text = f"its definition is outside OWL 2 RL: {fault}"
                out.append(self._problem(s, "rule form", text, "Use named classes, hasValue and one intersection of these."))
        return out

    def _outside_rl(self, node: Node) -> str:
        """What makes a class expression no equivClassExpression of OWL 2 RL; empty if nothing does."""
        from rdflib import OWL, BNode, Literal, URIRef

        if isinstance(node, URIRef):
            return "owl:Thing" if node == OWL.Thing else ""
        if not isinstance(node, BNode):
            return "a literal"
        head = self.graph.value(node, OWL.intersectionOf)
        if head is not None:
            members = rdf_list(self.graph, head)
            return next((f for f in map(self._outside_rl, members) if f), "" if members else "an empty intersection")
        value = self.graph.value(node, OWL.hasValue)
        if value is not None:
            return "hasValue with an unnamed thing" if isinstance(value, BNode | Literal) else ""
        return "a construct other than hasValue and intersection"


def _a(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeio' else 'a'} {kind}"
