"""The axioms that can matter to a few patterns: what HermiT is given when only those have changed.

Every admitted axiom is a definition (a class is a conjunction of conditions), a subclass axiom or an exclusion, and the
gate admits neither inverse nor functional properties nor equality, so a condition "feature has this value" can be treated
as a name of its own. For such axioms the reachability module is enough: an axiom counts as soon as everything on its
left-hand side is reached, and then its right-hand side is reached too. What is left out has a left-hand side that nothing
reached can fulfil, so it can neither add a type to these patterns nor contradict their facts. This works on the OWL
axioms, not on the rules of the in-process engine, so that HermiT stays an independent witness.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from kg import names

if TYPE_CHECKING:
    import rdflib


def neighbourhoods(graph: rdflib.Graph, parts: Iterable[Iterable[str]]) -> list[rdflib.Graph]:
    """For each group of subjects (short names) their facts in ``graph``, the axioms that they reach, the declarations needed.

    ``graph``: axioms and facts, as ``Staged.with_facts`` gives them. No subject: the axioms that hold of every pattern.
    """
    axioms = _Axioms(graph).axioms
    return [_neighbourhood(graph, axioms, subjects) for subjects in parts]


def _neighbourhood(graph: rdflib.Graph, axioms: list[_Axiom], subjects: Iterable[str]) -> rdflib.Graph:
    import rdflib
    from rdflib import OWL, RDF, RDFS

    out = rdflib.Graph()
    reached: set[object] = {rdflib.URIRef(names.expand(names.PATTERN))}
    for subject in subjects:
        node = rdflib.URIRef(names.expand(subject))
        for p, o in graph.predicate_objects(node):
            if p == RDF.type:
                reached.add(o)
                out.add((node, p, o))
            elif (p, RDF.type, OWL.ObjectProperty) in graph:
                reached.add((p, o))
                out.add((node, p, o))
    left = axioms
    while True:
        waiting, grown = [], False
        for axiom in left:
            if axiom.body <= reached:
                grown = True
                reached |= axiom.head
                for triple in axiom.triples:
                    out.add(triple)
            else:
                waiting.append(axiom)
        left = waiting
        if not grown:
            break
    _declare(graph, out, (OWL, RDF, RDFS))
    return out


class _Axiom:
    """``body``: conditions that must be reached for the axiom to count; ``head``: what is then reached."""

    def __init__(self, body: set, head: set, triples: set) -> None:
        self.body, self.head, self.triples = frozenset(body), frozenset(head), triples


class _Axioms:
    def __init__(self, graph: rdflib.Graph) -> None:
        from rdflib import OWL, RDFS

        self.graph = graph
        self.axioms: list[_Axiom] = []
        for s, o in graph.subject_objects(OWL.equivalentClass):
            conditions, triples = self._conjunction(o)
            triples.add((s, OWL.equivalentClass, o))
            self.axioms += [_Axiom(conditions, {s}, triples), _Axiom({s}, conditions, triples)]
        for s, o in graph.subject_objects(RDFS.subClassOf):
            body, left = self._conjunction(s)
            head, right = self._conjunction(o)
            self.axioms.append(_Axiom(body, head, {(s, RDFS.subClassOf, o), *left, *right}))
        for s, o in graph.subject_objects(OWL.disjointWith):
            self.axioms.append(_Axiom({s, o}, set(), {(s, OWL.disjointWith, o)}))
        for p in (OWL.propertyDisjointWith, RDFS.domain, RDFS.subPropertyOf):  # few, and true of every value: always kept
            for s, o in graph.subject_objects(p):
                self.axioms.append(_Axiom(set(), set(), {(s, p, o)}))

    def _conjunction(self, node: object) -> tuple[set, set]:
        """(conditions, triples of the unnamed parts) of a named class, a hasValue restriction or an intersection."""
        from rdflib import OWL, URIRef
        from rdflib.collection import Collection

        if isinstance(node, URIRef):
            return {node}, set()
        triples = set(self.graph.triples((node, None, None)))
        value = self.graph.value(node, OWL.hasValue)
        if value is not None:
            return {(self.graph.value(node, OWL.onProperty), value)}, triples
        conditions: set = set()
        members = self.graph.value(node, OWL.intersectionOf)
        if members is not None:
            for cell in self._cells(members):
                triples |= set(self.graph.triples((cell, None, None)))
            for member in Collection(self.graph, members):
                inner, more = self._conjunction(member)
                conditions |= inner
                triples |= more
        return conditions, triples

    def _cells(self, cell: object):
        from rdflib import RDF

        while cell is not None and cell != RDF.nil:
            yield cell
            cell = self.graph.value(cell, RDF.rest)


def _declare(graph: rdflib.Graph, out: rdflib.Graph, built_in: tuple) -> None:
    """Types of everything that occurs in ``out``: classes, properties, and the kinds of thing that values are."""
    from rdflib import RDF, URIRef

    spaces = tuple(map(str, built_in))
    occurring = {node for triple in out for node in triple if isinstance(node, URIRef) and not str(node).startswith(spaces)}
    while occurring:
        found: set = set()
        for node in occurring:
            for o in graph.objects(node, RDF.type):
                if (node, RDF.type, o) not in out:
                    out.add((node, RDF.type, o))
                    if isinstance(o, URIRef) and not str(o).startswith(spaces):
                        found.add(o)
        occurring = found
