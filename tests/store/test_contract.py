"""What every store must do, run over each kind of store with the same data and the same queries."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest

from kg.errors import QueryError
from kg.names import PREFIXES
from kg.store import Cell, Rows, Store
from kg.store.address import read_address
from kg.store.embedded import EmbeddedStore
from kg.store.fake import FakeStore
from kg.store.remote import RemoteStore
from tests.serving import RealServer

BL, GRAPH = PREFIXES["bl"], PREFIXES["graph"]
SELECT = (
    f"SELECT ?s ?o ?none WHERE {{ GRAPH <{GRAPH}asserted> {{ ?s <{BL}next> ?o }} "
    f"OPTIONAL {{ ?o <{BL}none> ?none }} }} ORDER BY ?s"
)
NOTHING = f"SELECT ?s WHERE {{ GRAPH <{GRAPH}asserted> {{ ?s <{BL}none> ?o }} }}"
ASK = f"ASK {{ GRAPH <{GRAPH}inferred> {{ <{BL}A> <{BL}next> <{BL}C> }} }}"
ASK_NOT = f"ASK {{ GRAPH <{GRAPH}asserted> {{ <{BL}A> <{BL}next> <{BL}C> }} }}"
CONSTRUCT = f"CONSTRUCT {{ ?o <{BL}back> ?s }} WHERE {{ GRAPH ?g {{ ?s <{BL}next> ?o }} }}"
BROKEN = "SELECT ?s WHERE { ?s ?p }"


def canned(query: str) -> Rows | bool | str:
    """The answers of the toy data, for the store that has none."""
    a, b, c = (Cell("iri", BL + name) for name in "ABC")
    answers: dict[str, Rows | bool | str] = {
        SELECT: Rows(("s", "o", "none"), [{"s": a, "o": b}, {"s": b, "o": c}]),
        NOTHING: Rows(("s",)),
        ASK: True,
        ASK_NOT: False,
        CONSTRUCT: "".join(f"<{BL}{s}> <{BL}back> <{BL}{o}> .\n" for s, o in (("C", "B"), ("C", "A"), ("B", "A"))),
    }
    if query == BROKEN:
        raise QueryError("BL-S01", "the query does not parse")
    return answers[query]


STORES: dict[str, Callable[[bytes], Store]] = {
    "embedded": EmbeddedStore.from_quads,
    "fake": lambda quads: FakeStore(canned),
}


@pytest.fixture(params=[*sorted(STORES), "remote"])
def store(request: pytest.FixtureRequest, toy_quads: bytes) -> Iterator[Store]:
    if request.param == "remote":
        running: RealServer = request.getfixturevalue("server")
        running.load(toy_quads)
        opened: Store = RemoteStore(read_address(running.url))
    else:
        opened = STORES[request.param](toy_quads)
    with opened:
        yield opened


def test_select_gives_variables_and_rows_in_the_order_of_the_query(store: Store) -> None:
    rows = store.select(SELECT)
    assert rows.variables == ("s", "o", "none")
    assert [{name: cell.short for name, cell in row.items()} for row in rows] == [
        {"s": "bl:A", "o": "bl:B"},
        {"s": "bl:B", "o": "bl:C"},
    ]


def test_unbound_variables_are_left_out_of_a_column(store: Store) -> None:
    rows = store.select(SELECT)
    assert rows.column("none") == []
    assert [cell.value for cell in rows.column("o")] == [f"{BL}B", f"{BL}C"]
    with pytest.raises(KeyError):
        rows.column("unheard")


def test_no_match_is_an_empty_result_with_its_variables(store: Store) -> None:
    rows = store.select(NOTHING)
    assert (rows.variables, len(rows)) == (("s",), 0)


def test_ask_answers_for_the_named_graph_alone(store: Store) -> None:
    assert store.ask(ASK) is True
    assert store.ask(ASK_NOT) is False


def test_construct_gives_sorted_lines(store: Store) -> None:
    assert store.construct(CONSTRUCT).splitlines() == [
        f"<{BL}B> <{BL}back> <{BL}A> .",
        f"<{BL}C> <{BL}back> <{BL}A> .",
        f"<{BL}C> <{BL}back> <{BL}B> .",
    ]


def test_error_a_query_that_does_not_parse(store: Store) -> None:
    with pytest.raises(QueryError, match="does not parse") as caught:
        store.select(BROKEN)
    assert caught.value.code == "BL-S01"


@pytest.mark.parametrize(
    ("method", "query", "wanted"),
    [("select", ASK, "rows"), ("ask", SELECT, "yes or no"), ("construct", ASK, "triples")],
)
def test_error_another_form_than_asked_for(store: Store, method: str, query: str, wanted: str) -> None:
    with pytest.raises(QueryError) as caught:
        getattr(store, method)(query)
    assert caught.value.code == "BL-S05"
    assert caught.value.message == f"{store.name} was asked for {wanted}, but the query has another form"


def test_error_a_closed_store(store: Store) -> None:
    store.close()
    store.close()
    with pytest.raises(QueryError) as caught:
        store.ask(ASK)
    assert (caught.value.code, caught.value.message) == ("BL-S05", f"{store.name} is closed")


def test_every_store_has_a_name_for_messages(store: Store) -> None:
    assert store.name.startswith("the ")
    assert store.name != Store.name


def test_error_whatever_is_raised_below_becomes_a_query_error() -> None:
    def fail(query: str) -> bool:
        raise ConnectionResetError("peer\nis gone")

    with pytest.raises(QueryError) as caught:
        FakeStore(fail, name="the far store").ask(ASK)
    assert caught.value.code == "BL-S05"
    assert caught.value.message == "the far store could not answer: peer is gone"


def test_the_fake_remembers_what_it_was_asked() -> None:
    fake = FakeStore(canned)
    fake.ask(ASK)
    fake.select(SELECT)
    assert fake.queries == [ASK, SELECT]
