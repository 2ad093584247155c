"""The store in the process: loading, the default graph, and the cells it makes."""

from __future__ import annotations

import gzip
import subprocess
import sys
from pathlib import Path

import pytest

from kg.errors import CatalogueError, QueryError
from kg.names import PREFIXES
from kg.store import Cell
from kg.store.embedded import EmbeddedStore

BL, GRAPH, XSD = PREFIXES["bl"], PREFIXES["graph"], PREFIXES["xsd"]


def test_loads_from_bytes_from_a_file_and_from_gzip(toy: EmbeddedStore, tmp_path: Path) -> None:
    quads = toy.to_quads()
    (tmp_path / "closure.nq").write_bytes(quads)
    (tmp_path / "closure.nq.gz").write_bytes(gzip.compress(quads))
    for source in (quads, tmp_path / "closure.nq", str(tmp_path / "closure.nq.gz")):
        assert len(EmbeddedStore.from_quads(source)) == len(toy) == 6


def test_error_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(CatalogueError, match=r"none\.nq cannot be read: No such file") as caught:
        EmbeddedStore.from_quads(tmp_path / "none.nq")
    assert caught.value.code == "BL-C01"
    assert caught.value.hint


@pytest.mark.parametrize("name", ["bad.nq", "bad.nq.gz"])
def test_error_a_file_that_is_damaged(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(b"<a> no quads")
    with pytest.raises(CatalogueError) as caught:
        EmbeddedStore.from_quads(tmp_path / name)
    assert caught.value.code == "BL-C02"


def test_the_default_graph_is_not_the_union(toy: EmbeddedStore) -> None:
    assert toy.ask("ASK { ?s ?p ?o }") is False
    assert toy.ask("ASK { GRAPH ?g { ?s ?p ?o } }") is True


def test_cells_carry_datatype_and_language(toy: EmbeddedStore) -> None:
    query = f"SELECT ?o {{ GRAPH ?g {{ <{BL}A> ?p ?o FILTER(isLiteral(?o)) }} }} ORDER BY ?p"
    lang = PREFIXES["rdf"] + "langString"
    assert toy.select(query).column("o") == [
        Cell("literal", "first", lang, "en"),
        Cell("literal", "12.5", f"{XSD}decimal"),
    ]


def test_short_names(toy: EmbeddedStore) -> None:
    query = f"SELECT ?p ?o ?b {{ GRAPH ?g {{ <{BL}A> ?p ?o }} BIND(BNODE() AS ?b) }} ORDER BY ?p ?o"
    rows = [tuple(row[name].short for name in ("p", "o", "b")) for row in toy.select(query)]
    assert rows == [
        ("http://elsewhere.example/p", "http://elsewhere.example/o", "_:b0"),
        ("rdfs:label", "first", "_:b1"),
        ("bl:next", "bl:B", "_:b2"),
        ("bl:next", "bl:C", "_:b3"),
        ("bl:size", "12.5", "_:b4"),
    ]


def test_construct_with_blank_nodes_gives_the_same_text_twice(toy: EmbeddedStore) -> None:
    query = f"CONSTRUCT {{ ?s <{BL}to> [ <{BL}of> ?o ] }} {{ GRAPH ?g {{ ?s <{BL}next> ?o }} }}"
    first = toy.construct(query)
    assert first == toy.construct(query)
    assert len(first.splitlines()) == 6


def test_error_a_function_the_store_lacks(toy: EmbeddedStore) -> None:
    with pytest.raises(QueryError, match="the embedded store could not answer: The custom function") as caught:
        toy.select("SELECT (<http://elsewhere.example/f>(1) AS ?x) { }")
    assert caught.value.code == "BL-S05"


def test_importing_the_store_brings_in_no_slow_library() -> None:
    code = (
        "import sys, kg.store.embedded, kg.store.fake, kg.store.sandbox\n"
        "print([m for m in ('rdflib', 'owlready2', 'pyshacl', 'prompt_toolkit') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
