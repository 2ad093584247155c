"""Data for the tests of the store: a small set of quads in two graphs, and one in which paths explode."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from kg.names import PREFIXES
from kg.store.embedded import EmbeddedStore
from tests.serving import RealServer

BL, GRAPH, RDFS = PREFIXES["bl"], PREFIXES["graph"], PREFIXES["rdfs"]

TOY_QUADS = "".join(
    f"{line} .\n"
    for line in (
        f"<{BL}A> <{BL}next> <{BL}B> <{GRAPH}asserted>",
        f"<{BL}B> <{BL}next> <{BL}C> <{GRAPH}asserted>",
        f"<{BL}A> <{BL}next> <{BL}C> <{GRAPH}inferred>",
        f'<{BL}A> <{RDFS}label> "first"@en <{GRAPH}asserted>',
        f'<{BL}A> <{BL}size> "12.5"^^<{PREFIXES["xsd"]}decimal> <{GRAPH}asserted>',
        f"<{BL}A> <http://elsewhere.example/p> <http://elsewhere.example/o> <{GRAPH}asserted>",
    )
).encode()


@pytest.fixture(scope="session")
def toy_quads() -> bytes:
    return TOY_QUADS


@pytest.fixture
def toy(toy_quads: bytes) -> Iterator[EmbeddedStore]:
    with EmbeddedStore.from_quads(toy_quads) as store:
        yield store


@pytest.fixture(scope="session")
def dense() -> EmbeddedStore:
    """Sixty nodes, each joined to each: a chain of n steps has 60 ** (n + 1) solutions."""
    nodes = [f"<{BL}N{n}>" for n in range(60)]
    lines = (f"{a} <{BL}next> {b} <{GRAPH}asserted> .\n" for a in nodes for b in nodes)
    return EmbeddedStore.from_quads("".join(lines).encode())


@pytest.fixture(scope="session")
def server() -> Iterator[RealServer]:
    """A real server; each test loads what it needs."""
    with RealServer() as running:
        yield running
