"""Raw queries in a child process: results, bounds, and that a child is gone when its query is stopped.

Every test that runs a query runs it in both ways a child is made: a fork, and a fresh interpreter.
"""

from __future__ import annotations

import os
import socket
import subprocess
from dataclasses import replace
from pathlib import Path
from threading import Event
from typing import Any

import pytest

from kg.errors import CatalogueError, QueryError
from kg.names import PREFIXES
from kg.store import sandbox
from kg.store.embedded import EmbeddedStore
from kg.store.guard import QueryForm, check
from kg.store.sandbox import RawResult, run_raw

BL, GRAPH = PREFIXES["bl"], PREFIXES["graph"]
ENDLESS_COUNT = "SELECT (COUNT(*) AS ?n) { " + "".join(f"?v{n} bl:next ?v{n + 1} . " for n in range(9)) + "}"
ENDLESS_PATH = "SELECT (COUNT(*) AS ?n) { ?a bl:next* ?b . ?b bl:next* ?c . ?c bl:next* ?d . ?d bl:next* ?e }"

needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork")
needs_limits = pytest.mark.skipif(sandbox.resource is None, reason="this system has no limits on processes")


@pytest.fixture(params=[pytest.param("fork", marks=needs_fork), "spawn"])
def way(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Make children in one of the two ways, whatever threads the test runner has."""
    threads = 1 if request.param == "fork" else 2
    monkeypatch.setattr(sandbox, "active_count", lambda: threads)
    return request.param


@pytest.fixture
def children(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The process ids of the children made in a test, in order."""
    made: list[int] = []
    real_fork, real_popen = getattr(os, "fork", None), subprocess.Popen

    def fork() -> int:
        assert real_fork is not None
        pid = real_fork()
        if pid:
            made.append(pid)
        return pid

    def popen(*args: Any, **kwargs: Any) -> subprocess.Popen[bytes]:
        process = real_popen(*args, **kwargs)
        made.append(process.pid)
        return process

    if real_fork:
        monkeypatch.setattr(sandbox.os, "fork", fork)
    monkeypatch.setattr(sandbox.subprocess, "Popen", popen)
    return made


def short_rows(result: RawResult) -> list[tuple[str, ...]]:
    return [tuple(row[name].short if name in row else "" for name in result.variables) for row in result.rows]


def gone(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    return False


def test_select_reads_the_union_of_all_graphs_and_sorts(way: str, toy: EmbeddedStore) -> None:
    result = run_raw(toy, "SELECT ?s ?o ?x { ?s bl:next ?o OPTIONAL { ?o bl:none ?x } }")
    assert (result.form, result.variables, result.truncated) == (QueryForm.SELECT, ("s", "o", "x"), False)
    assert short_rows(result) == [("bl:A", "bl:B", ""), ("bl:A", "bl:C", ""), ("bl:B", "bl:C", "")]


def test_the_order_of_the_query_is_kept(way: str, toy: EmbeddedStore) -> None:
    result = run_raw(toy, "SELECT ?o ?s { ?s bl:next ?o } ORDER BY DESC(?s) ?o")
    assert short_rows(result) == [("bl:C", "bl:B"), ("bl:B", "bl:A"), ("bl:C", "bl:A")]


def test_named_graphs_are_seen_alone(way: str, toy: EmbeddedStore) -> None:
    inside = run_raw(toy, "SELECT ?s ?o { GRAPH graph:inferred { ?s ?p ?o } }")
    chosen = run_raw(toy, "SELECT ?s ?o FROM graph:inferred { ?s ?p ?o }")
    named = run_raw(toy, "SELECT ?s ?o FROM NAMED graph:inferred { ?s ?p ?o }")
    assert short_rows(inside) == short_rows(chosen) == [("bl:A", "bl:C")]
    assert named.rows == []


def test_ask_and_graph_forms_give_text(way: str, toy: EmbeddedStore) -> None:
    assert run_raw(toy, "ASK { bl:A bl:next bl:C }") == RawResult(QueryForm.ASK, text="true")
    assert run_raw(toy, "ASK { bl:C bl:next bl:A }") == RawResult(QueryForm.ASK, text="false")
    built = run_raw(toy, "CONSTRUCT { bl:X bl:of ?o } { ?s bl:next ?o }")
    assert built.text == f"<{BL}X> <{BL}of> <{BL}B> .\n<{BL}X> <{BL}of> <{BL}C> .\n"
    assert run_raw(toy, "DESCRIBE bl:B").text == f"<{BL}B> <{BL}next> <{BL}C> .\n"
    assert run_raw(toy, "CONSTRUCT WHERE { ?s bl:none ?o }").text == ""


def test_values_of_every_kind_come_through_the_pipe(way: str, toy: EmbeddedStore) -> None:
    query = 'SELECT ?x { VALUES ?x { "a\\n\\u2028\\"é𝄞\\\\" "x"@en-GB 2.5 bl:A <http://x/ü> } }'
    cells = run_raw(toy, query + " ORDER BY STR(?x)").rows
    assert [(c["x"].kind, c["x"].value, c["x"].lang) for c in cells] == [
        ("literal", "2.5", ""),
        ("literal", 'a\n\u2028"é𝄞\\', ""),
        ("iri", "http://x/ü", ""),
        ("iri", f"{BL}A", ""),
        ("literal", "x", "en-gb"),
    ]


def test_a_file_of_quads_can_be_asked(toy_quads: bytes, tmp_path: Path) -> None:
    path = tmp_path / "closure.nq"
    path.write_bytes(toy_quads)
    assert short_rows(run_raw(path, "SELECT ?o { bl:B bl:next ?o }")) == [("bl:C",)]


def test_error_the_file_is_missing_or_damaged(tmp_path: Path) -> None:
    (tmp_path / "bad.nq").write_text("no quads")
    for name, code in (("none.nq", "BL-C01"), ("bad.nq", "BL-C02")):
        with pytest.raises(CatalogueError) as caught:
            run_raw(tmp_path / name, "ASK { }")
        assert caught.value.code == code
        assert name in caught.value.message


def test_rows_and_bytes_are_bounded(way: str, dense: EmbeddedStore) -> None:
    rows = run_raw(dense, "SELECT * { ?s ?p ?o }", max_rows=7)
    assert (len(rows.rows), rows.truncated) == (7, True)
    triples = run_raw(dense, "CONSTRUCT WHERE { ?s ?p ?o }", max_rows=7)
    assert (len(triples.text.splitlines()), triples.truncated) == (7, True)
    size = run_raw(dense, "SELECT ?s { ?s ?p ?o }", max_bytes=1_000)
    assert (0 < len(size.rows) < 30, size.truncated) == (True, True)
    whole = run_raw(dense, "SELECT DISTINCT ?s { ?s ?p ?o }", max_rows=60)
    assert (len(whole.rows), whole.truncated) == (60, False)


def test_one_value_above_the_bound_is_left_out(way: str, toy: EmbeddedStore) -> None:
    big = 'SELECT (REPLACE(REPLACE("aaaaaaaaaa", "a", "bbbbbbbbbb"), "b", "cccccccccc") AS ?x) { }'
    result = run_raw(toy, big, max_bytes=500)
    assert (result.rows, result.truncated) == ([], True)


@pytest.mark.parametrize("query", [ENDLESS_COUNT, ENDLESS_PATH], ids=["count", "path"])
def test_error_an_endless_query_is_stopped_and_its_process_is_gone(
    way: str, dense: EmbeddedStore, children: list[int], query: str
) -> None:
    with pytest.raises(QueryError) as caught:
        run_raw(dense, query, seconds=1)
    assert (caught.value.code, caught.value.message) == ("BL-S04", "the query was stopped after 1 seconds")
    assert len(children) == 1
    assert gone(children[0])


def test_the_child_is_gone_after_an_answer_and_after_an_interrupt(
    way: str, toy: EmbeddedStore, children: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    run_raw(toy, "ASK { }")

    class Interrupted(Event):
        def wait(self, timeout: float | None = None) -> bool:
            raise KeyboardInterrupt

    monkeypatch.setattr(sandbox, "Event", Interrupted)
    with pytest.raises(KeyboardInterrupt):
        run_raw(toy, ENDLESS_COUNT)
    assert [gone(child) for child in children] == [True, True]


@needs_limits
def test_error_a_query_that_eats_memory_ends_only_its_child(way: str, dense: EmbeddedStore, children: list[int]) -> None:
    hungry = "SELECT (GROUP_CONCAT(CONCAT(STR(?a), STR(?b), STR(?c))) AS ?x) { ?a ?p ?b . ?c ?q ?d }"
    with pytest.raises(QueryError) as caught:
        run_raw(dense, hungry, memory_mb=60, seconds=60)
    assert caught.value.code == "BL-S05"
    assert "60 MB of memory" in str(caught.value)
    assert gone(children[0])


def test_error_a_crash_of_the_child_is_an_error_with_a_code(
    toy: EmbeddedStore, children: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Past the guard, deep nesting overflows the stack of the parser: the child dies, and nothing else."""
    deep = "SELECT * { FILTER(" + "STR(" * 60_000 + "1" + ")" * 60_000 + ") }"
    plain = check("SELECT * { }")
    monkeypatch.setattr(sandbox, "check", lambda text: replace(plain, text=text))
    with pytest.raises(QueryError) as caught:
        run_raw(toy, deep)
    assert (caught.value.code, caught.value.message) == ("BL-S05", "the query ended the process it ran in")
    assert gone(children[0])


def test_error_the_parsers_fault_is_told_with_its_place(way: str, toy: EmbeddedStore) -> None:
    with pytest.raises(QueryError) as caught:
        run_raw(toy, "SELECT *\n{ ?s bl:p }")
    assert caught.value.code == "BL-S01"
    assert caught.value.message == "the query cannot be read at '}' (line 2, column 11)"


def test_error_a_fault_while_running(way: str, toy: EmbeddedStore) -> None:
    with pytest.raises(QueryError) as caught:
        run_raw(toy, "SELECT (<http://elsewhere.example/f>(1) AS ?x) { }")
    assert caught.value.code == "BL-S05"
    assert "custom function" in caught.value.message


def test_error_a_closed_store(toy: EmbeddedStore) -> None:
    toy.close()
    with pytest.raises(QueryError, match="is closed"):
        run_raw(toy, "ASK { }")


def test_error_no_process_can_be_made(toy: EmbeddedStore, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*args: object) -> None:
        raise BlockingIOError("no more processes")

    monkeypatch.setattr(sandbox, "_fork", refuse)
    monkeypatch.setattr(sandbox, "_spawn", refuse)
    with pytest.raises(QueryError, match="no process could be started") as caught:
        run_raw(toy, "ASK { }")
    assert caught.value.code == "BL-S05"


@pytest.mark.parametrize(
    "query",
    [
        "SELECT * { SERVICE <http://127.0.0.1:9/> { ?s ?p ?o } }",
        "SELECT * { \\u0053ERVICE <http://127.0.0.1:9/> { ?s ?p ?o } }",
        "LOAD <http://127.0.0.1:9/>",
        "SELECT * FROM <http://127.0.0.1:9/> { ?s ?p ?o }",
        "SELECT * " + "{" * 20_000 + "}" * 20_000,
        "SELECT * " + "{" * 5_000 + "}" * 5_000,
    ],
    ids=lambda query: query[:32],
)
def test_a_refused_query_reaches_no_process_no_parser_and_no_socket(
    toy: EmbeddedStore, query: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*args: object, **kwargs: object) -> None:
        raise AssertionError("a refused query went on")

    for owner, name in (
        (sandbox, "_fork"),
        (sandbox, "_spawn"),
        (EmbeddedStore, "query"),
        (socket, "socket"),
    ):
        monkeypatch.setattr(owner, name, never)
    with pytest.raises(QueryError) as caught:
        run_raw(toy, query)
    assert caught.value.code in ("BL-S02", "BL-S03")


@needs_fork
@needs_limits
@pytest.mark.parametrize("limited", [True, False])
def test_the_child_cannot_open_a_socket_even_past_the_guard(
    toy: EmbeddedStore, limited: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A listener on this machine hears nothing; without the child's limits it does, so the test can fail."""
    monkeypatch.setattr(sandbox, "active_count", lambda: 1)
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen()
        listener.settimeout(1)
        query = f"SELECT * {{ SERVICE <http://127.0.0.1:{listener.getsockname()[1]}/> {{ ?s ?p ?o }} }}"
        plain = check("SELECT * { }")
        monkeypatch.setattr(sandbox, "check", lambda text: replace(plain, text=text))
        if not limited:
            monkeypatch.setattr(sandbox, "_limit", lambda job: None)
        with pytest.raises(QueryError) as caught:
            run_raw(toy, query, seconds=1)
        if limited:
            assert caught.value.code == "BL-S05"
            with pytest.raises(TimeoutError):
                listener.accept()
        else:
            assert caught.value.code == "BL-S04"
            listener.accept()[0].close()
