"""Shared helpers of the reasoning tests: the toy ontology, its patterns, and the facts of one pattern as
conditions."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import rdflib

from kg.names import PATTERN, TYPE, expand, shrink
from kg.reason.compile import compile_rules
from kg.reason.horn import Engine
from kg.vocabulary import Condition, Rule

TESTS = Path(__file__).resolve().parents[1]


@pytest.fixture
def toy() -> Callable[..., rdflib.Graph]:
    """``toy("patterns")``: a fresh graph with the toy ontology and the named fact files."""

    def read(*names: str) -> rdflib.Graph:
        graph = rdflib.Graph()
        for name in ("ontology", *names):
            graph.parse(TESTS / "toy" / f"{name}.ttl")
        return graph

    return read


@pytest.fixture
def bad_constructs() -> list[Path]:
    return sorted((TESTS / "bad_constructs").glob("*.ttl"))


@pytest.fixture
def patterns_of() -> Callable[[rdflib.Graph], dict[str, tuple[Condition, ...]]]:
    """The facts of each pattern of a graph, as conditions, literals left out."""

    def read(graph: rdflib.Graph) -> dict[str, tuple[Condition, ...]]:
        out: dict[str, tuple[Condition, ...]] = {}
        for s in graph.subjects(rdflib.RDF.type, rdflib.URIRef(expand(PATTERN))):
            facts = [(p, o) for p, o in graph.predicate_objects(s) if isinstance(o, rdflib.URIRef)]
            out[shrink(str(s))] = tuple(sorted((shrink(str(p)), shrink(str(o))) for p, o in facts))
        return dict(sorted(out.items()))

    return read


@pytest.fixture
def toy_rules(toy: Callable[..., rdflib.Graph]) -> tuple[Rule, ...]:
    return compile_rules(toy())


@pytest.fixture
def toy_engine(toy_rules: tuple[Rule, ...]) -> Engine:
    return Engine(toy_rules)


@pytest.fixture
def root() -> Condition:
    return (TYPE, PATTERN)
