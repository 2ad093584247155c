"""The quality gates: clean on the catalogue, and each catches its bad example in ``tests/bad``.

A bad example is Turtle that is added to the sound ontology; ``# graph: holds`` in its first line puts it into that graph of the
closure instead, and ``# remove: SPARQL pattern`` takes triples away first.
"""

from __future__ import annotations

import re
from pathlib import Path

import pyoxigraph as ox
import pytest

from kg import closure, gates, names
from kg.build import contents
from kg.sparql.terms import prologue

BAD = Path(__file__).parent.parent / "bad"
GATES = gates.read_gates(Path(__file__).parent.parent.parent / "ontology" / "checks")


@pytest.fixture(scope="module")
def quads(staged) -> bytes:
    store = gates.dataset(staged.ontology, contents(staged)[closure.QUADS])
    return store.dump(format=ox.RdfFormat.N_QUADS)


def test_the_catalogue_passes_every_gate(quads):
    store = ox.Store()
    store.bulk_load(input=quads, format=ox.RdfFormat.N_QUADS)
    assert [(g.name, term, detail) for g, term, detail in gates.run(GATES, store)] == []


def test_every_gate_has_a_bad_example():
    assert {g.name for g in GATES} == {p.stem for p in BAD.glob("*.ttl")}


@pytest.mark.parametrize("gate", GATES, ids=lambda g: g.name)
def test_the_gate_catches_its_bad_example(quads, gate):
    text = (BAD / f"{gate.name}.ttl").read_text(encoding="utf-8")
    store = ox.Store()
    store.bulk_load(input=quads, format=ox.RdfFormat.N_QUADS)
    header = dict(re.findall(r"^# (graph|remove|caught): (.+)$", text, re.MULTILINE))
    if "remove" in header:
        update = f"DELETE WHERE {{ GRAPH ?g {{ {header['remove']} }} }}"
        store.update(prologue(update) + update)
    graph = ox.NamedNode(names.expand(header.get("graph", "graph:ontology")))
    body = prologue(text).replace("PREFIX ", "@prefix ").replace(">\n", "> .\n") + text
    store.extend(ox.Quad(t.subject, t.predicate, t.object, graph) for t in ox.parse(body.encode(), format=ox.RdfFormat.TURTLE))
    caught = list(dict.fromkeys(term for _, term, _ in gates.run([gate], store)))
    assert caught == header["caught"].split(", ")
