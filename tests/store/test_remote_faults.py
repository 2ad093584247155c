"""A server that fails in every way: each ends in an error with a code and a plain message, in time, and tells no secret.

Outside source for what each status means: RFC 9110, sections 15 and 10.2.3 (wording from memory).
"""

from __future__ import annotations

import json
import socket
import ssl
import threading
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from pathlib import Path

import pytest

from kg.errors import QueryError
from kg.names import PREFIXES
from kg.store import Store
from kg.store.address import read_address
from kg.store.embedded import EmbeddedStore
from kg.store.remote import RemoteStore
from kg.store.results import MEDIA_TYPE
from kg.store.web import Limits, _Wire
from tests.serving import Asked, FaultyServer, reply, saying

QUERY = "SELECT ?s WHERE { ?s ?p ?o }"
ROWS = json.dumps({"head": {"vars": ["s"]}, "results": {"bindings": [{"s": {"type": "uri", "value": "urn:a"}}]}}).encode()
GOOD = reply(200, ROWS, MEDIA_TYPE)
SOON = Limits(connect=1.0, silence=0.4, whole=1.0, body=100_000)
SECRET = "hush-9f2c"
TLS = Path(__file__).with_name("tls")


@pytest.fixture
def server() -> Iterator[FaultyServer]:
    with FaultyServer(saying(GOOD)) as running:
        yield running


def fault(url: str, method: str = "select", limits: Limits = SOON, environment: dict[str, str] | None = None) -> QueryError:
    """The error that a query ends in; it comes in time."""
    begun = time.monotonic()
    with RemoteStore(read_address(url, environment=environment or {}), limits) as store, pytest.raises(QueryError) as caught:
        getattr(store, method)(QUERY)
    assert time.monotonic() - begun < limits.whole + limits.connect + 1.5
    assert caught.value.message.startswith(("the server http", "the answer of the server http", "the query does not parse"))
    return caught.value


def test_a_good_answer_is_read(server: FaultyServer) -> None:
    with RemoteStore(read_address(server.url)) as store:
        assert [cell.value for cell in store.select(QUERY).column("s")] == ["urn:a"]
    asked = server.asked[0]
    assert (asked.method, asked.target, asked.body.decode()) == ("POST", "/query", QUERY)
    assert asked.headers["content-type"] == "application/sparql-query"
    assert MEDIA_TYPE in asked.headers["accept"]
    assert "authorization" not in asked.headers


@pytest.mark.parametrize("written", ["165.0", "165", "165.50", "-0.250", "0.0", "100", "120.00"])
def test_decimals_read_as_the_embedded_store_says_them(server: FaultyServer, written: str) -> None:
    decimal = PREFIXES["xsd"] + "decimal"
    term = {"type": "literal", "value": written, "datatype": decimal}
    server.behave = saying(rows(json.dumps({"head": {"vars": ["s"]}, "results": {"bindings": [{"s": term}]}})))
    quad = f'<urn:a> <urn:b> "{written}"^^<{decimal}> <urn:g> .\n'.encode()
    with RemoteStore(read_address(server.url)) as store, EmbeddedStore.from_quads(quad) as here:
        assert store.select(QUERY).column("s") == here.select("SELECT ?s { GRAPH ?g { ?x ?p ?s } }").column("s")


STATUSES = [
    (
        301,
        {"Location": "http://elsewhere.example/query?key=k"},
        "BL-S09",
        "points elsewhere to http://elsewhere.example/query ",
    ),
    (307, {}, "BL-S09", "points elsewhere"),
    (400, {}, "BL-S01", "the query does not parse: said by the server"),
    (401, {}, "BL-S08", "asks for credentials"),
    (403, {}, "BL-S08", "asks for credentials"),
    (404, {}, "BL-S09", "nothing at this address"),
    (405, {}, "BL-S09", "does not take a query sent by POST"),
    (406, {}, "BL-S09", "does not take a query sent by POST"),
    (408, {}, "BL-S07", "took too long"),
    (429, {"Retry-After": "7"}, "BL-S09", "busy"),
    (500, {}, "BL-S09", "failed (HTTP 500): said by the server"),
    (502, {}, "BL-S09", "failed (HTTP 502)"),
    (503, {"Retry-After": "120"}, "BL-S09", "busy or not ready"),
    (504, {}, "BL-S07", "took too long"),
    (204, {}, "BL-S09", "failed (HTTP 204)"),
]


@pytest.mark.parametrize(("status", "headers", "code", "said"), STATUSES, ids=[str(s[0]) for s in STATUSES])
def test_error_by_status(server: FaultyServer, status: int, headers: dict[str, str], code: str, said: str) -> None:
    server.behave = saying(reply(status, b"" if status == 204 else b"said by\r\nthe server", **headers))
    error = fault(server.url)
    assert error.code == code
    assert said in error.message
    assert error.hint or code == "BL-S01"
    assert len(server.asked) == 1  # neither followed nor tried again


@pytest.mark.parametrize(
    ("after", "hint"),
    [
        ("120", "Try again in 120 seconds."),
        ("soon", "Try again later."),
        ("", "Try again later."),
        ("-5", "Try again later."),
        ("9" * 40, "Try again later."),
        ("Sat, 28 Feb 2004 10:00:00 GMT", "Try again later."),
    ],
)
def test_when_to_try_again(server: FaultyServer, after: str, hint: str) -> None:
    server.behave = saying(reply(503, Retry_After=after))
    assert fault(server.url).hint == hint


def test_a_date_to_try_again_is_counted_from_now(server: FaultyServer) -> None:
    server.behave = saying(reply(503, Retry_After=format_datetime(datetime.now(UTC) + timedelta(seconds=600), usegmt=True)))
    seconds = int(fault(server.url).hint.split()[3])
    assert 580 <= seconds <= 601


def test_control_characters_of_the_server_are_not_shown(server: FaultyServer) -> None:
    server.behave = saying(reply(500, b"bad\x1b[2J\x07 \xff\n" + b"x" * 5_000))
    message = fault(server.url).message
    assert message.isprintable() and len(message) < 500


# --- answers that cannot be used -----------------------------------------------------------------------------------
def rows(text: str | bytes) -> bytes:
    return reply(200, text.encode() if isinstance(text, str) else text, MEDIA_TYPE)


def head(bindings: str) -> str:
    return '{"head":{"vars":["s"]},"results":{"bindings":[' + bindings + "]}}"


UNUSABLE = {
    "a web page": reply(200, b"<html>hello", "text/html"),
    "no media type": b"HTTP/1.1 200 OK\r\nContent-Length: 2\r\n\r\n{}",
    "XML results": reply(200, b"<sparql/>", "application/sparql-results+xml"),
    "no JSON": rows("nonsense"),
    "an empty body": rows(""),
    "JSON that is cut": rows(ROWS[:-3]),
    "not UTF-8": rows(b'{"head":{"vars":["\xff"]}}'),
    "nested without end": rows("[" * 90_000),
    "a number without end": rows("1" * 90_000),
    "a list": rows("[]"),
    "no head": rows('{"results":{"bindings":[]}}'),
    "no variables": rows('{"head":{},"results":{"bindings":[]}}'),
    "variables of a wrong type": rows('{"head":{"vars":[1]},"results":{"bindings":[]}}'),
    "no results": rows('{"head":{"vars":["s"]}}'),
    "bindings of a wrong type": rows('{"head":{"vars":["s"]},"results":{"bindings":{}}}'),
    "a truth value of a wrong type": rows('{"head":{},"boolean":"true"}'),
    "a row of a wrong type": rows(head("1")),
    "another variable": rows(head('{"t":{"type":"uri","value":"urn:a"}}')),
    "a term of a wrong type": rows(head('{"s":7}')),
    "an unknown type of term": rows(head('{"s":{"type":"graph","value":"urn:a"}}')),
    "a type that is a list": rows(head('{"s":{"type":[],"value":"urn:a"}}')),
    "a term without value": rows(head('{"s":{"type":"uri"}}')),
    "a value of a wrong type": rows(head('{"s":{"type":"literal","value":3}}')),
    "a language of a wrong type": rows(head('{"s":{"type":"literal","value":"x","xml:lang":3}}')),
    "a datatype of a wrong type": rows(head('{"s":{"type":"literal","value":"x","datatype":["y"]}}')),
    "cut off by length": GOOD[:-5],
    "cut in a chunk": b"HTTP/1.1 200 OK\r\nContent-Type: "
    + MEDIA_TYPE.encode()
    + b"\r\nTransfer-Encoding: chunked\r\n\r\n40\r\n{",
    "a chunk of no size": b"HTTP/1.1 200 OK\r\nContent-Type: x/y\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n{",
    "cut without length": b"HTTP/1.1 200 OK\r\nContent-Type: " + MEDIA_TYPE.encode() + b"\r\n\r\n" + ROWS[:20],
    "compressed": reply(200, b"\x1f\x8b", MEDIA_TYPE, Content_Encoding="gzip"),
    "too large by its length": b"HTTP/1.1 200 OK\r\nContent-Type: x/y\r\nContent-Length: 99999999999999\r\n\r\n",
    "too large": reply(200, b" " * 100_001, MEDIA_TYPE),
    "not HTTP": b"SSH-2.0-hello\r\n\r\n",
    "a header without end": b"HTTP/1.1 200 OK\r\nX: " + b"x" * 90_000,
    "headers without end": b"HTTP/1.1 200 OK\r\n" + b"X: y\r\n" * 500,
}


@pytest.mark.parametrize("name", UNUSABLE)
def test_error_an_answer_that_cannot_be_used(server: FaultyServer, name: str) -> None:
    server.behave = saying(UNUSABLE[name])
    error = fault(server.url)
    assert error.code == "BL-S10", error.message


def test_error_too_large_in_chunks(server: FaultyServer) -> None:
    def endless(sock: socket.socket, _: Asked) -> None:
        sock.sendall(b"HTTP/1.1 200 OK\r\nContent-Type: x/y\r\nTransfer-Encoding: chunked\r\n\r\n")
        while True:
            sock.sendall(b"1000\r\n" + b" " * 4096 + b"\r\n")

    server.behave = endless
    error = fault(server.url)
    assert (error.code, "more than 0 MB" in error.message) == ("BL-S10", True)


@pytest.mark.parametrize(
    ("method", "answer", "code"),
    [
        ("construct", reply(200, b"no triples", "application/n-triples"), "BL-S10"),
        ("construct", reply(200, b"<html>", "text/html"), "BL-S10"),
        ("construct", reply(200, ROWS, MEDIA_TYPE), "BL-S05"),
        ("select", reply(200, b"", "application/n-triples"), "BL-S05"),
        ("ask", GOOD, "BL-S05"),
        ("select", rows('{"head":{},"boolean":true}'), "BL-S05"),
    ],
)
def test_error_another_form(server: FaultyServer, method: str, answer: bytes, code: str) -> None:
    server.behave = saying(answer)
    with RemoteStore(read_address(server.url), SOON) as store, pytest.raises(QueryError) as caught:
        getattr(store, method)(QUERY)
    assert caught.value.code == code


# --- time -----------------------------------------------------------------------------------------------------------
def silent(sock: socket.socket, _: Asked) -> None:
    time.sleep(3)


def dripping(data: bytes, pause: float) -> Callable[[socket.socket, Asked], None]:
    def behave(sock: socket.socket, _: Asked) -> None:
        for place in range(len(data)):
            sock.sendall(data[place : place + 1])
            time.sleep(pause)

    return behave


CHUNKED = b"HTTP/1.1 200 OK\r\nContent-Type: x/y\r\nTransfer-Encoding: chunked\r\n\r\n" + b"1\r\n \r\n" * 500
SLOW = {
    "no answer": silent,
    "dripping headers": dripping(GOOD, 0.05),
    "dripping body": lambda sock, asked: (sock.sendall(GOOD[:60]), dripping(GOOD[60:], 0.05)(sock, asked))[0],
    "dripping chunks": dripping(CHUNKED, 0.02),
    "stops in the middle": lambda sock, asked: (sock.sendall(GOOD[:-5]), silent(sock, asked))[0],
    "goes on and on": saying(b"HTTP/1.1 100 Continue\r\n\r\n"),
}


@pytest.mark.parametrize("name", SLOW)
def test_error_a_server_that_is_slow(server: FaultyServer, name: str) -> None:
    """Bytes that come one by one keep within the limit of silence, and run into that of the whole."""
    server.behave = SLOW[name]
    if name == "goes on and on":

        def forever(sock: socket.socket, asked: Asked) -> None:
            while True:
                SLOW[name](sock, asked)
                time.sleep(0.01)

        server.behave = forever
    error = fault(server.url)
    assert error.code == "BL-S07"
    assert "took too long (the limits are 1 s to connect, 0.4 s of silence, 1 s in all)" in error.message


def test_error_a_server_that_does_not_read(server: FaultyServer) -> None:
    with socket.socket() as deaf:
        deaf.bind(("127.0.0.1", 0))
        deaf.listen()
        store = RemoteStore(read_address(f"http://127.0.0.1:{deaf.getsockname()[1]}"), SOON)
        begun = time.monotonic()
        with pytest.raises(QueryError) as caught:
            store.select("SELECT * { }" + " " * 50_000_000)
        store.close()
    assert caught.value.code == "BL-S07"
    assert time.monotonic() - begun < 3


def test_error_a_name_that_is_not_found_in_time(monkeypatch: pytest.MonkeyPatch) -> None:
    done = threading.Event()
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_, **__: done.wait(5) and [])
    error = fault("http://far.example/query")
    done.set()
    assert error.code == "BL-S07"


# --- reaching -------------------------------------------------------------------------------------------------------
def test_error_nobody_listens() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))  # bound, not listening: refused
        error = fault(f"http://127.0.0.1:{taken.getsockname()[1]}/query")
    assert error.code == "BL-S06"
    assert error.message.endswith("cannot be reached: Connection refused")


def test_error_a_name_that_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    def unknown(*_: object, **__: object) -> None:
        raise socket.gaierror(-2, "Name or service not known")

    monkeypatch.setattr(socket, "getaddrinfo", unknown)
    error = fault("http://none.example/query")
    assert (error.code, "Name or service not known" in error.message) == ("BL-S06", True)


def test_error_the_server_hangs_up(server: FaultyServer) -> None:
    server.behave = lambda sock, asked: False
    error = fault(server.url)
    assert error.code == "BL-S06"
    assert len(server.asked) == 1


def test_error_plain_http_where_https_is_asked() -> None:
    with socket.create_server(("127.0.0.1", 0)) as plain:

        def answer() -> None:
            sock = plain.accept()[0]
            sock.recv(10_000)
            sock.sendall(b"HTTP/1.1 400 Bad Request\r\n\r\n")
            sock.close()

        thread = threading.Thread(target=answer)
        thread.start()
        error = fault(f"https://127.0.0.1:{plain.getsockname()[1]}/")
        thread.join()
    assert (error.code, "cannot be reached" in error.message) == ("BL-S06", True)


# --- the connection -------------------------------------------------------------------------------------------------
def test_the_connection_is_kept(server: FaultyServer) -> None:
    server.behave = saying(GOOD, keep=True)
    with RemoteStore(read_address(server.url)) as store:
        for _ in range(5):
            store.select(QUERY)
        assert (store.link.requests, server.connections) == (5, 1)


def test_a_kept_connection_that_the_server_has_closed_is_opened_again(server: FaultyServer) -> None:
    with RemoteStore(read_address(server.url)) as store:
        for _ in range(3):
            assert len(store.select(QUERY)) == 1  # the server hangs up after each answer
    assert server.connections == 3


def test_what_a_server_says_when_it_tires_of_waiting_is_no_answer(server: FaultyServer) -> None:
    """The Oxigraph server sends HTTP 500 on a connection that was idle for a minute."""
    tired = threading.Event()

    def behave(sock: socket.socket, _: Asked) -> None:
        sock.sendall(GOOD)
        time.sleep(0.1)
        sock.sendall(reply(500, b"Resource temporarily unavailable"))
        tired.set()

    server.behave = behave
    with RemoteStore(read_address(server.url)) as store:
        for _ in range(3):
            assert len(store.select(QUERY)) == 1
            assert tired.wait(5)
            tired.clear()
    assert (server.connections, store.link.requests) == (3, 3)


def test_an_answer_that_ends_with_the_connection_is_whole(server: FaultyServer) -> None:
    server.behave = saying(b"HTTP/1.0 200 OK\r\nContent-Type: " + MEDIA_TYPE.encode() + b"\r\n\r\n" + ROWS)
    with RemoteStore(read_address(server.url)) as store:
        assert len(store.select(QUERY)) == len(store.select(QUERY)) == 1


def test_after_a_fault_the_next_query_starts_clean(server: FaultyServer) -> None:
    """What is left of a broken answer is not taken for the beginning of the next."""
    store = RemoteStore(read_address(server.url), SOON)
    for broken in (GOOD[:-5], rows("nonsense"), reply(500, b"x")):
        server.behave = saying(broken, keep=True)
        with pytest.raises(QueryError):
            store.select(QUERY)
        server.behave = saying(GOOD, keep=True)
        assert len(store.select(QUERY)) == 1
    store.close()


def test_several_threads_take_turns(server: FaultyServer) -> None:
    server.behave = saying(GOOD, keep=True)
    store: Store = RemoteStore(read_address(server.url))
    found: list[int] = []

    def ask() -> None:
        for _ in range(20):
            found.append(len(store.select(QUERY)))

    threads = [threading.Thread(target=ask) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    store.close()
    assert found == [1] * 80


def test_no_proxy_of_the_environment_is_used(server: FaultyServer, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("http_proxy", "HTTP_PROXY", "all_proxy", "ALL_PROXY"):
        monkeypatch.setenv(name, "http://127.0.0.1:9/")
    with RemoteStore(read_address(server.url)) as store:
        assert len(store.select(QUERY)) == 1


# --- secrets --------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("user", "environment", "header"),
    [
        (f"ada:{SECRET}@", {}, "Basic YWRhOmh1c2gtOWYyYw=="),
        ("", {"BOXLOCK_STORE_USER": "ada", "BOXLOCK_STORE_PASSWORD": SECRET}, "Basic YWRhOmh1c2gtOWYyYw=="),
        ("", {"BOXLOCK_STORE_TOKEN": SECRET, "BOXLOCK_STORE_USER": "ada"}, f"Bearer {SECRET}"),
        (f"ada:{SECRET}@", {"BOXLOCK_STORE_TOKEN": "other"}, "Basic YWRhOmh1c2gtOWYyYw=="),
    ],
    ids=["address", "user", "token", "address first"],
)
def test_credentials_are_sent_and_never_shown(
    server: FaultyServer, user: str, environment: dict[str, str], header: str
) -> None:
    url = server.url.replace("http://", f"http://{user}")
    for status in (401, 403, 404, 500, 503, 301):
        # The server repeats what it was told, as pages for developers do.
        told = f"Authorization: {header}; {SECRET}".encode()
        server.behave = saying(reply(status, told, Location=f"http://{user}elsewhere.example/?t={SECRET}"))
        error = fault(url, environment=environment)
        assert server.asked[-1].headers["authorization"] == header
        for text in (str(error), repr(error), error.message, error.hint):
            assert SECRET not in text
            assert header.split()[1] not in text
        if status in (401, 403):
            assert "refused the credentials" in error.message
    address = read_address(url, environment=environment)
    assert SECRET not in repr(address) and header not in repr(address) and SECRET not in address.shown


def test_credentials_do_not_follow_to_another_host(server: FaultyServer) -> None:
    with FaultyServer(saying(GOOD)) as other:
        server.behave = saying(reply(302, Location=other.url))
        assert fault(server.url.replace("http://", f"http://ada:{SECRET}@")).code == "BL-S09"
        assert other.asked == []


# --- TLS ------------------------------------------------------------------------------------------------------------
@pytest.fixture
def secured() -> Iterator[FaultyServer]:
    """A server with a certificate for 127.0.0.1 that nobody vouches for (it was made for these tests)."""
    tls = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    tls.load_cert_chain(TLS / "cert.pem", TLS / "key.pem")
    with FaultyServer(saying(GOOD, keep=True), tls) as running:
        yield running


def test_error_a_certificate_that_nobody_vouches_for(secured: FaultyServer) -> None:
    error = fault(secured.url.replace("https://", f"https://ada:{SECRET}@"))
    assert (error.code, "certificate that cannot be trusted" in error.message) == ("BL-S06", True)
    assert "SSL_CERT_FILE" in error.hint
    assert secured.asked == []  # and no password went over


def test_a_certificate_of_ones_own_authority(secured: FaultyServer, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SSL_CERT_FILE", str(TLS / "cert.pem"))
    with RemoteStore(read_address(secured.url.replace("https://", f"https://ada:{SECRET}@"))) as store:
        assert len(store.select(QUERY)) == len(store.select(QUERY)) == 1
    assert secured.asked[-1].headers["authorization"].startswith("Basic ")
    assert secured.connections == 1


def test_a_refusal_that_comes_before_all_was_sent_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    """A server may answer after the headers and close: then sending breaks, and the answer says why."""
    with socket.create_server(("127.0.0.1", 0)) as listening:

        def answer() -> None:
            sock = listening.accept()[0]
            sock.recv(10_000)
            sock.sendall(reply(401))
            sock.close()

        thread = threading.Thread(target=answer)
        thread.start()
        real = _Wire.sendall

        def breaking(wire: _Wire, data: bytes) -> None:
            if not data.startswith(b"POST"):
                thread.join()
                raise BrokenPipeError(32, "Broken pipe")
            real(wire, data)

        monkeypatch.setattr(_Wire, "sendall", breaking)
        assert fault(f"http://127.0.0.1:{listening.getsockname()[1]}/").code == "BL-S08"
