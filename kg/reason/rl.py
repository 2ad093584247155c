"""``reasonable``, an OWL 2 RL engine in Rust: an independent witness of the types, used by the tests.

It is an optional dependency, imported when asked for. It closes the facts under the RL rules; it is not asked
whether they contradict each other.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from kg.names import shrink
from kg.reason.logic import logic_only
from kg.reason.outcome import Outcome

if TYPE_CHECKING:
    from rdflib import Graph


def realise(graph: Graph) -> Outcome:
    """The types of every individual; status *not-checked*, or *not-installed* with the command that installs
    it."""
    from importlib import metadata

    from rdflib import OWL, RDF, BNode, URIRef

    try:
        closed = closure(graph)
    except ImportError:
        return Outcome(
            "not-installed",
            "the engine is not installed; install it with: pip install reasonable",
            "reasonable",
        )
    # Classes and properties have types too; only what is an individual is reported.
    built_in = {s for s in graph.subjects(RDF.type) if any(_is_owl_term(o) for o in graph.objects(s, RDF.type))}
    types: defaultdict[str, set[str]] = defaultdict(set)
    for s, p, o in closed:
        if p != RDF.type or isinstance(s, BNode) or s in built_in or not isinstance(o, URIRef):
            continue
        if str(o).startswith(str(OWL)):
            continue
        try:
            types[shrink(str(s))].add(shrink(str(o)))
        except ValueError:
            continue
    found = {name: tuple(sorted(classes)) for name, classes in sorted(types.items())}
    return Outcome("not-checked", "", f"reasonable {metadata.version('reasonable')}", found)


def closure(graph: Graph) -> list[tuple]:
    """All triples after OWL 2 RL reasoning, as rdflib terms, in no fixed order. Raises ImportError if it is
    not installed."""
    from reasonable import PyReasoner

    reasoner = PyReasoner()
    reasoner.from_graph(logic_only(graph))
    return reasoner.reason()


def _is_owl_term(node: object) -> bool:
    from rdflib import OWL

    return str(node).startswith(str(OWL)) and node not in (OWL.NamedIndividual, OWL.Thing)
