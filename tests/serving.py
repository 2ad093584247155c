"""Servers for the tests, on this machine alone: a real SPARQL server, and one that fails as told or stands before the real one.

``RealServer`` is the Oxigraph server, a program of its own from the package ``oxigraph``. ``FaultyServer`` answers each request
with whatever bytes a function sends; ``passing_on`` makes a function that wants credentials and passes the rest on.
"""

from __future__ import annotations

import ctypes
import http.client
import socket
import socketserver
import ssl
import subprocess
import sys
import sysconfig
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Self
from urllib.parse import quote

PROGRAM = Path(sysconfig.get_path("scripts")) / "oxigraph"
_START = 20.0


class RealServer:
    """A running server with an empty store; ``url`` is its address. Use as a context: it is stopped at the end."""

    def __init__(self, *, kept: bool = False) -> None:
        self._scratch = tempfile.TemporaryDirectory(prefix="boxlock-server-")
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        place = ["--location", "data"] if kept else []
        command = [str(PROGRAM), "serve", "--bind", f"127.0.0.1:{self.port}", *place]
        with Path(self._scratch.name, "log").open("wb") as log:
            self._process = subprocess.Popen(
                command, cwd=self._scratch.name, stdin=subprocess.DEVNULL, stdout=log, stderr=log, preexec_fn=_die_too
            )
        try:
            self._wait()
        except BaseException:
            self.stop()
            raise

    def _wait(self) -> None:
        end = time.monotonic() + _START
        while time.monotonic() < end and self._process.poll() is None:
            try:
                socket.create_connection(("127.0.0.1", self.port), 1).close()
                return
            except OSError:
                time.sleep(0.02)
        log = Path(self._scratch.name, "log").read_text(errors="replace")
        raise RuntimeError(f"the server did not start: {log[-500:]}")

    def send(self, method: str, target: str, body: bytes = b"", kind: str = "") -> tuple[int, bytes]:
        """One request: status and body. ``kind``: the media type of what is sent, and of wanted triples."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            headers = {"Content-Type": kind} if kind else {}
            headers["Accept"] = kind if "n-" in kind else "application/sparql-results+json"
            connection.request(method, target, body=body or None, headers=headers)
            reply = connection.getresponse()
            return reply.status, reply.read()
        finally:
            connection.close()

    def load(self, quads: bytes) -> None:
        """Holds these N-Quads and nothing else."""
        assert self.send("POST", "/update", b"DROP ALL", "application/sparql-update")[0] < 300
        if quads:
            assert self.send("POST", "/store", quads, "application/n-quads")[0] < 300

    def quads(self) -> set[str]:
        """All that it holds."""
        return set(self.send("GET", "/store", kind="application/n-quads")[1].decode("utf-8").splitlines())

    def put(self, graph: str, triples: bytes) -> None:
        """One graph gets this content."""
        assert self.send("PUT", f"/store?graph={quote(graph, safe='')}", triples, "application/n-triples")[0] < 300

    def stop(self) -> None:
        """Returns when the process is gone."""
        self._process.terminate()
        try:
            self._process.wait(10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self._scratch.cleanup()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *exc_info: object) -> None:
        self.stop()


def _die_too() -> None:
    """In the child: to be killed if the tests are (Linux; elsewhere it is stopped as long as they end in order)."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(1, 9)  # PR_SET_PDEATHSIG, SIGKILL


@dataclass(frozen=True)
class Asked:
    """One request as it came."""

    method: str
    target: str
    headers: dict[str, str]
    body: bytes


Behaviour = Callable[[socket.socket, Asked], bool | None]
"""Sends what it likes; True keeps the connection for another request."""


class FaultyServer:
    """``behave`` may be exchanged while it runs; ``asked`` holds the requests, oldest first, ``connections`` counts them."""

    def __init__(self, behave: Behaviour, tls: ssl.SSLContext | None = None) -> None:
        self.behave = behave
        self.asked: list[Asked] = []
        self.connections = 0
        outer = self

        class Handler(socketserver.BaseRequestHandler):
            def handle(self) -> None:
                outer.connections += 1
                reader = self.request.makefile("rb")
                try:
                    while (asked := _read(reader)) is not None:
                        outer.asked.append(asked)
                        if not outer.behave(self.request, asked):
                            return
                except OSError:  # the client has left
                    return

        self._server = socketserver.ThreadingTCPServer(("127.0.0.1", 0), Handler)
        self._server.daemon_threads = True
        if tls is not None:
            self._server.socket = tls.wrap_socket(self._server.socket, server_side=True)
        self.url = f"{'https' if tls else 'http'}://127.0.0.1:{self._server.server_address[1]}"
        self._thread = threading.Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
        self._thread.start()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *exc_info: object) -> None:
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()


def _read(reader) -> Asked | None:
    first = reader.readline().decode("latin-1").split()
    if len(first) != 3:
        return None
    headers: dict[str, str] = {}
    while (line := reader.readline().decode("latin-1").strip()) != "":
        name, _, value = line.partition(":")
        headers[name.lower()] = value.strip()
    return Asked(first[0], first[1], headers, reader.read(int(headers.get("content-length", "0"))))


def reply(status: int, body: bytes = b"", kind: str = "text/plain", **headers: str) -> bytes:
    """The bytes of a whole and correct answer."""
    lines = [f"HTTP/1.1 {status} Said", f"Content-Length: {len(body)}", f"Content-Type: {kind}"]
    lines += [f"{name.replace('_', '-')}: {value}" for name, value in headers.items()]
    return "\r\n".join(lines).encode() + b"\r\n\r\n" + body


def saying(data: bytes, *, keep: bool = False) -> Behaviour:
    """Always the same bytes."""

    def behave(sock: socket.socket, _: Asked) -> bool:
        sock.sendall(data)
        return keep

    return behave


def passing_on(server: RealServer, *, wants: str = "", before: Callable[[int], bool] = lambda _: True) -> Behaviour:
    """Passes requests on to a server if they carry the header ``Authorization: wants`` (empty: any do).

    ``before`` is called with the number of the request, from 1; False cuts the connection without passing it on.
    """
    count = 0

    def behave(sock: socket.socket, asked: Asked) -> bool:
        nonlocal count
        count += 1
        if wants and asked.headers.get("authorization") != wants:
            sock.sendall(reply(401, b"who are you?"))
            return True
        if not before(count):
            return False
        connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=60)
        headers = {n: v for n, v in asked.headers.items() if n in ("content-type", "accept")}
        connection.request(asked.method, asked.target, body=asked.body or None, headers=headers)
        found = connection.getresponse()
        body = found.read()
        connection.close()
        if asked.method == "HEAD":
            sock.sendall(f"HTTP/1.1 {found.status} Said\r\nContent-Length: 0\r\n\r\n".encode())
        else:
            sock.sendall(reply(found.status, body, found.headers.get("content-type", "")))
        return True

    return behave
