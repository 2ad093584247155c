"""Bringing a catalogue to a real server: whole or recognisably not, whenever it is broken off; and nothing else touched."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest

from kg import closure, publish
from kg.errors import CODES, CatalogueError, InputError, QueryError
from kg.names import PREFIXES, expand
from kg.publish import Publication, take_apart
from kg.store.address import read_address
from kg.store.publication import MANIFEST, OURS, PUBLISHED, listed, published, read_manifest
from kg.store.remote import RemoteStore
from tests.serving import FaultyServer, RealServer, passing_on, reply, saying

ROOT = Path(__file__).resolve().parents[2]
BL, GRAPH, SRC = PREFIXES["bl"], PREFIXES["graph"], PREFIXES["src"]
FOREIGN = "https://elsewhere.example/graph/theirs"
THEIRS = f'<{BL}A> <{BL}shape> "theirs" .\n'.encode()
SMALL = {
    f"{GRAPH}holds": [f'<{BL}A{n}> <{BL}shape> "{n} <b> . "@en' for n in range(30)],
    f"{GRAPH}terms": [f'<{BL}A1> <{BL}label> "é𝄞\\n\\"\\\\"@en'],
    f"{SRC}One": [f"<{BL}A1> <{BL}shape> <{BL}Round>", f"<{BL}A2> <{BL}shape> <{BL}Round>"],
    f"{SRC}Two": [f"<{BL}A1> <{BL}shape> <{BL}Flat>"],
}
NEWER = {g: lines for g, lines in SMALL.items() if g != f"{SRC}Two"} | {
    f"{GRAPH}holds": [*SMALL[f"{GRAPH}holds"][:-3], f"<{BL}A99> <{BL}shape> <{BL}Flat>"],
    f"{SRC}Three": [f"<{BL}A3> <{BL}shape> <{BL}Flat>"],
}


def written(folder: Path, graphs: dict[str, list[str]]) -> SimpleNamespace:
    """A closure of these graphs on disk, as much of a catalogue as is needed to publish it."""
    text = "".join(sorted(f"{line} <{graph}> .\n" for graph, lines in graphs.items() for line in lines))
    stamp = closure.stamp_of({closure.QUADS: text}, "", "", "1")
    closure.write(folder, {closure.QUADS: text}, stamp)
    return SimpleNamespace(folder=folder, stamp=stamp, quads_file=folder / closure.QUADS)


@pytest.fixture
def older(tmp_path: Path) -> SimpleNamespace:
    return written(tmp_path / "older", SMALL)


@pytest.fixture
def newer(tmp_path: Path) -> SimpleNamespace:
    return written(tmp_path / "newer", NEWER)


@pytest.fixture
def empty(server: RealServer) -> RealServer:
    server.load(b"")
    server.put(FOREIGN, THEIRS)
    return server


def there(server: RealServer) -> set[str]:
    """The quads of the catalogue on the server; what is not ours is found as it was."""
    quads = server.quads()
    ours = {q for q in quads if q.rpartition(" <")[2].startswith(OURS)}
    assert quads - ours == {f"{THEIRS.decode().removesuffix(' .' + chr(10))} <{FOREIGN}> ."}
    return {q for q in ours if not q.endswith((f"<{expand(MANIFEST)}> .", f"<{expand(PUBLISHED)}> ."))}


def wanted(catalogue: SimpleNamespace) -> set[str]:
    return set(catalogue.quads_file.read_text(encoding="utf-8").splitlines())


def stands(url: str) -> str:
    """The digest that the server stands for; the reason if it stands for none."""
    with RemoteStore(read_address(url)) as store:
        try:
            return published(store)
        except QueryError as error:
            assert error.code == "BL-S11"
            return error.message


def test_published_graphs_are_those_of_the_closure(empty: RealServer, older: SimpleNamespace) -> None:
    assert stands(empty.url).startswith("no catalogue has been published to the server")
    done = publish.publish(older, empty.url)
    digest = older.stamp.files[closure.QUADS]
    assert there(empty) == wanted(older)
    assert stands(empty.url) == digest
    size = sum(len(f"{line} .\n".encode()) for lines in SMALL.values() for line in lines)
    assert done == Publication(f"{empty.url}/store", digest, False, 4, 0, 0, 34, size)
    with RemoteStore(read_address(empty.url)) as store:
        assert listed(store) == sorted(SMALL)


def test_a_second_run_sends_nothing(empty: RealServer, older: SimpleNamespace) -> None:
    publish.publish(older, empty.url)
    with FaultyServer(passing_on(empty)) as between:
        done = publish.publish(older, between.url)
    assert (done.sent, done.unchanged, done.removed, done.size) == (0, 4, 0, 0)
    assert {asked.method for asked in between.asked} == {"GET"}


def test_only_what_changed_is_sent_and_what_is_gone_is_removed(
    empty: RealServer, older: SimpleNamespace, newer: SimpleNamespace
) -> None:
    publish.publish(older, empty.url)
    heard: list[str] = []
    with FaultyServer(passing_on(empty)) as between:
        done = publish.publish(newer, between.url, say=heard.append)
    assert (done.sent, done.unchanged, done.removed) == (2, 2, 1)
    assert there(empty) == wanted(newer)
    touched = [asked.target.partition("graph=")[2] for asked in between.asked if asked.method != "GET"]
    assert not any("One" in graph or "terms" in graph for graph in touched)
    assert "removed 1 graphs of an older catalogue" in heard


def test_a_dry_run_changes_nothing_and_tells_the_same(
    empty: RealServer, older: SimpleNamespace, newer: SimpleNamespace
) -> None:
    publish.publish(older, empty.url)
    before = empty.quads()
    told = publish.publish(newer, empty.url, dry_run=True)
    assert empty.quads() == before
    done = publish.publish(newer, empty.url)
    assert (told.sent, told.unchanged, told.removed, told.size) == (done.sent, done.unchanged, done.removed, done.size)
    assert told.dry_run and not done.dry_run


@pytest.mark.parametrize("reaches", [True, False], ids=["after the server acted", "before"])
def test_broken_off_at_any_request_it_is_told_and_the_next_run_completes(
    empty: RealServer, older: SimpleNamespace, newer: SimpleNamespace, monkeypatch: pytest.MonkeyPatch, reaches: bool
) -> None:
    """Every single request is the last one once. Then the server stands for the old catalogue, the new one, or none; and it is
    brought to the new one, or back to the old one, by one more run."""
    monkeypatch.setattr(publish, "CHUNK", 400)  # the large graph goes in several pieces
    digests = {older.stamp.files[closure.QUADS]: older, newer.stamp.files[closure.QUADS]: newer}
    last, seen = 0, set()
    while True:
        last += 1
        publish.publish(older, empty.url)

        inner, count = passing_on(empty), 0

        def behave(sock, asked, inner=inner, last=last) -> bool | None:
            """From the last request on the server is not heard of again; that one it may still have done."""
            nonlocal count
            count += 1
            if count < last:
                return inner(sock, asked)
            if count == last and reaches:
                inner(SimpleNamespace(sendall=lambda _: None), asked)
            return False

        with FaultyServer(behave) as between:
            try:
                publish.publish(newer, between.url)
                break
            except QueryError as error:
                assert error.code in CODES
        state = stands(empty.url)
        seen.add(state in digests)
        if state in digests:
            assert there(empty) == wanted(digests[state]), f"after {last} requests"
        else:
            assert "only part of a catalogue" in state or "no catalogue" in state
        publish.publish(newer if last % 2 else older, empty.url)
        assert there(empty) == wanted(newer if last % 2 else older), f"after {last} requests"
        assert stands(empty.url) == (newer if last % 2 else older).stamp.files[closure.QUADS]
    assert last > 12 and seen == {True, False}
    assert there(empty) == wanted(newer)


KILLED = """
import sys
from pathlib import Path
from types import SimpleNamespace
from kg import closure, publish
publish.CHUNK = 400
folder = Path(sys.argv[1])
catalogue = SimpleNamespace(folder=folder, stamp=closure.read_stamp(folder), quads_file=folder / closure.QUADS)
print("started", flush=True)
publish.publish(catalogue, sys.argv[2])
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="there is no such signal here")
@pytest.mark.parametrize("last", [3, 5, 8, 11])
def test_a_killed_process_is_finished_by_the_next(
    empty: RealServer, older: SimpleNamespace, newer: SimpleNamespace, last: int
) -> None:
    publish.publish(older, empty.url)
    process: subprocess.Popen[bytes] | None = None

    def before(number: int) -> bool:
        if number == last and process is not None:
            os.kill(process.pid, signal.SIGKILL)
        return True

    with FaultyServer(passing_on(empty, before=before)) as between:
        command = [sys.executable, "-c", KILLED, str(newer.folder), between.url]
        process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE)
        process.communicate(timeout=60)
    assert process.returncode == -signal.SIGKILL
    assert len(stands(empty.url)) != 64  # no digest
    done = publish.publish(newer, empty.url)
    assert there(empty) == wanted(newer)
    assert stands(empty.url) == newer.stamp.files[closure.QUADS]
    assert done.unchanged >= 2


def test_two_runs_at_once_are_noticed(empty: RealServer, older: SimpleNamespace, newer: SimpleNamespace) -> None:
    """A second run begins and ends while the first sends its graphs: the first stops and stands for nothing."""

    def before(number: int) -> bool:
        if number == 8:
            publish.publish(older, empty.url)
        return True

    with FaultyServer(passing_on(empty, before=before)) as between, pytest.raises(QueryError) as caught:
        publish.publish(newer, between.url)
    assert caught.value.code == "BL-S11"
    assert "another run publishes" in caught.value.message


def test_a_manifest_that_names_graphs_of_others_does_not_touch_them(empty: RealServer, older: SimpleNamespace) -> None:
    publish.publish(older, empty.url)
    line = f'<{FOREIGN}> <{BL}contentDigest> "" .\n'
    status, _ = empty.send("POST", f"/store?graph={expand(MANIFEST)}", line.encode(), "application/n-triples")
    assert status < 300
    publish.publish(older, empty.url)
    assert there(empty) == wanted(older)


def test_two_digests_of_one_graph_count_as_none() -> None:
    one, digest = f"{SRC}One", expand("bl:contentDigest")
    assert read_manifest([(one, digest, "a"), (one, digest, "b")]).graphs == {one: ""}
    assert read_manifest([(one, digest, "a"), (one, digest, "")]).graphs == {one: "a"}
    assert read_manifest([(FOREIGN, digest, "a")]).graphs == {}


# --- refusals -------------------------------------------------------------------------------------------------------
def test_credentials_are_wanted(empty: RealServer, older: SimpleNamespace) -> None:
    with FaultyServer(passing_on(empty, wants="Basic YWRhOmh1c2gtOWYyYw==")) as between:
        for user in ("", "ada:wrong-9f2c@"):
            with pytest.raises(QueryError) as caught:
                publish.publish(older, between.url.replace("http://", f"http://{user}"))
            assert caught.value.code == "BL-S08"
            assert "wrong-9f2c" not in str(caught.value)
        done = publish.publish(older, between.url.replace("http://", "http://ada:hush-9f2c@"))
    assert "hush" not in str(done) and "ada" not in done.server
    assert there(empty) == wanted(older)


def test_error_a_server_that_only_reads(empty: RealServer, older: SimpleNamespace) -> None:
    inner = passing_on(empty)

    def reading_only(sock, asked) -> bool | None:
        return sock.sendall(reply(405)) if asked.method == "PUT" else inner(sock, asked)

    with FaultyServer(reading_only) as between, pytest.raises(QueryError, match="does not take being written to") as caught:
        publish.publish(older, between.url)
    assert caught.value.code == "BL-S09"


@pytest.mark.parametrize(
    ("answer", "code"),
    [
        (reply(200, b"<html>", "text/html"), "BL-S10"),
        (reply(200, b"rubbish", "application/n-triples"), "BL-S10"),
        (reply(404), "BL-S09"),
        (reply(500), "BL-S09"),
        (reply(302, Location="http://elsewhere.example/"), "BL-S09"),
    ],
    ids=["web page", "rubbish", "nothing there", "failing", "elsewhere"],
)
def test_error_no_graph_store(older: SimpleNamespace, answer: bytes, code: str) -> None:
    with FaultyServer(saying(answer)) as server:
        with pytest.raises(QueryError) as caught:
            publish.publish(older, server.url)
        assert {asked.method for asked in server.asked} <= {"GET", "HEAD"}  # nothing was written
    assert caught.value.code == code


@pytest.mark.parametrize(
    "url", ["", "ftp://h/", "http://", "http://h:99999/", "http://h/#x", "http://a b/", "http://h\n/", "h:1"]
)
def test_error_what_is_no_address(older: SimpleNamespace, url: str) -> None:
    with pytest.raises(InputError, match="not the address of a server") as caught:
        publish.publish(older, url)
    assert caught.value.code == "BL-I01"


def test_error_a_closure_that_is_damaged_is_not_sent(tmp_path: Path, older: SimpleNamespace) -> None:
    text = older.quads_file.read_text(encoding="utf-8")
    for damaged in (text.replace("A1>", "A7>", 1), text.replace(GRAPH, "https://other.example/gr/", 1)):
        older.quads_file.write_text(damaged, encoding="utf-8")
        with FaultyServer(saying(reply(500))) as server, pytest.raises(CatalogueError) as caught:
            publish.publish(older, server.url)
        assert caught.value.code == "BL-C02"
        assert server.asked == []


def test_taking_apart_does_not_depend_on_how_much_is_held(
    tmp_path: Path, older: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    digest = older.stamp.files[closure.QUADS]
    found = []
    for held in (100, 10**9):
        monkeypatch.setattr(publish, "_HELD", held)
        (folder := tmp_path / str(held)).mkdir()
        parts = take_apart(older.quads_file, folder, digest)
        found.append({graph: (part.digest, part.file.read_bytes()) for graph, part in parts.items()})
    assert found[0] == found[1]
    assert {graph: text.decode().count("\n") for graph, (_, text) in found[0].items()} == {g: len(t) for g, t in SMALL.items()}


@pytest.fixture(autouse=True)
def no_leftovers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """What is taken apart is gone at the end, also after a fault."""
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(scratch))
    yield
    assert list(scratch.iterdir()) == []
