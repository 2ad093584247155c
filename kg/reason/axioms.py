"""Reads the class expressions and axioms of a graph into plain records, for the gate and for the rule
compiler.

Only the admitted shapes have a record: a named class, a ``hasValue`` condition, an intersection of those.
Everything else reads as ``None``; saying why is the gate's work.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kg.errors import CatalogueError
from kg.names import TYPE, shrink
from kg.vocabulary import Condition

if TYPE_CHECKING:
    from rdflib import Graph
    from rdflib.term import Node


@dataclass(frozen=True)
class Expression:
    """A conjunction of conditions, sorted; ``anonymous`` if written as a restriction or intersection.

    A named class is the one condition ``("rdf:type", class)``; ``owl:Thing`` is the empty conjunction.
    """

    conditions: tuple[Condition, ...]
    anonymous: bool

    @property
    def intersection(self) -> bool:
        return len(self.conditions) > 1


def rdf_list(graph: Graph, head: Node) -> list[Node]:
    """The members of an RDF list, in order; a broken or circular list ends where it breaks."""
    from rdflib import RDF

    out: list[Node] = []
    seen: set[Node] = set()
    while head is not None and head != RDF.nil and head not in seen:
        seen.add(head)
        first = graph.value(head, RDF.first)
        if first is None:
            break
        out.append(first)
        head = graph.value(head, RDF.rest)
    return out


def read_expression(graph: Graph, node: Node) -> Expression | None:
    """The admitted class expression at ``node``, or None if it is not one of the admitted shapes.

    Raises CatalogueError BL-C04 if an admitted expression uses a name outside our namespaces.
    """
    from rdflib import OWL, BNode, URIRef

    if node == OWL.Thing:
        return Expression((), False)
    if isinstance(node, URIRef):
        return None if str(node).startswith(str(OWL)) else Expression(((TYPE, short(node)),), False)
    if not isinstance(node, BNode):
        return None
    condition = _has_value(graph, node)
    if condition:
        return Expression((condition,), True)
    lists = list(graph.objects(node, OWL.intersectionOf))
    if len(lists) != 1 or graph.value(node, OWL.onProperty) is not None:
        return None
    conditions: set[Condition] = set()
    members = rdf_list(graph, lists[0])
    for member in members:
        part = read_expression(graph, member)
        # An intersection inside an intersection is refused: it can always be written flat, and reads better
        # so.
        if part is None or graph.value(member, OWL.intersectionOf) is not None:
            return None
        conditions.update(part.conditions)
    return Expression(tuple(sorted(conditions)), True) if members else None


def _has_value(graph: Graph, node: Node) -> Condition | None:
    from rdflib import OWL, RDF, URIRef

    properties = list(graph.objects(node, OWL.onProperty))
    values = list(graph.objects(node, OWL.hasValue))
    if len(properties) != 1 or len(values) != 1:
        return None
    if not isinstance(properties[0], URIRef) or not isinstance(values[0], URIRef):
        return None
    # A second filler on the same node would be dropped in silence.
    allowed = {RDF.type, OWL.onProperty, OWL.hasValue}
    if any(str(p).startswith(str(OWL)) and p not in allowed for p in graph.predicates(node)):
        return None
    return short(properties[0]), short(values[0])


def short(node: Node) -> str:
    """Short name of a term of ours. Raises CatalogueError BL-C04 if it lies in none of our namespaces."""
    try:
        return shrink(str(node))
    except ValueError:
        raise CatalogueError(
            "BL-C04",
            f"an axiom uses the name {str(node)!r}, which is in none of the namespaces of the ontology",
            hint="Use a term of the ontology; names hold letters, digits, hyphens and underscores.",
        ) from None
