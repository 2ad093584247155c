"""HTTP to one server: a connection that is kept, bounded in time and size, and every fault as an error with a code.

Beside the usual limits on connecting and on silence there is one on the whole of a request, however slowly the bytes come; the
socket is watched where it is read, so that headers and chunks fall under it too. No redirect is followed (the error says where
it points), no proxy is looked for, no cookie is kept, and nothing compressed is accepted, since it could unfold without end.
"""

from __future__ import annotations

import io
import selectors
import socket
import threading
import time
from collections.abc import Mapping
from dataclasses import dataclass
from http import client
from typing import Any

from kg.errors import QueryError
from kg.store.address import Address

_CHUNK = 65_536
_STALE = (client.RemoteDisconnected, ConnectionResetError, BrokenPipeError, ConnectionAbortedError)
"""What a kept connection gives that the server has closed meanwhile."""
_AGAIN = "Try again later, or ask whoever runs the server."


@dataclass(frozen=True)
class Limits:
    """``connect``, ``silence`` and ``whole`` in seconds: until a connection stands, between two pieces of an answer, and for a
    request with its answer; ``body`` in bytes, of an answer."""

    connect: float = 5.0
    silence: float = 30.0
    whole: float = 60.0
    body: int = 200_000_000


@dataclass(frozen=True)
class Reply:
    """What came back. ``kind`` is the media type in lower case without parameters; empty if none was said."""

    status: int
    kind: str
    body: bytes
    headers: Mapping[str, str]


class Link:
    """One server, asked again and again over one connection; safe to use from several threads, one request at a time.

    ``requests`` counts what was sent and ``received`` the bytes of the bodies that came.
    """

    def __init__(self, address: Address, limits: Limits | None = None) -> None:
        self.address = address
        self.limits = limits or Limits()
        self.requests = 0
        self.received = 0
        self._connection: client.HTTPConnection | None = None
        self._wire: _Wire | None = None
        self._silence = self.limits.silence
        self._lock = threading.Lock()

    def request(
        self,
        method: str,
        target: str = "",
        *,
        body: bytes | None = None,
        headers: Mapping[str, str] | None = None,
        whole: float | None = None,
        most: int | None = None,
    ) -> Reply:
        """Sends a request and reads its answer, whatever its status.

        ``target``: path and query, by default those of the address; ``whole`` (also of silence) and ``most``: other limits for
        this one. It may be sent twice where a kept connection turns out to be closed: it must not matter if it is taken twice.

        Raises QueryError: BL-S06 if the server cannot be reached, BL-S07 if it takes too long, BL-S10 if the answer is cut off
        or too large.
        """
        sent = {"Accept-Encoding": "identity", "User-Agent": "Boxlock", **(headers or {})}
        if self.address.authorization:
            sent["Authorization"] = self.address.authorization
        with self._lock:
            deadline = time.monotonic() + (whole or self.limits.whole)
            try:
                self._silence = whole or self.limits.silence
                return self._once(method, target or self.address.target, body, sent, deadline, most or self.limits.body)
            except BaseException as fault:
                self._drop()  # what is left on the wire belongs to no later request
                if isinstance(fault, QueryError):
                    raise
                if isinstance(fault, Exception):
                    raise self._error(fault, whole or self.limits.whole) from None
                raise

    def close(self) -> None:
        with self._lock:
            self._drop()

    # --- one request ------------------------------------------------------------------------------------------------
    def _once(self, method: str, target: str, body: bytes | None, headers: dict[str, str], deadline: float, most: int) -> Reply:
        if self._wire is not None and self._wire.speaks():
            self._drop()
        kept = self._connection is not None
        try:
            response = self._ask(method, target, body, headers, deadline)
        except _STALE:
            if not kept:
                raise
            self._drop()
            response = self._ask(method, target, body, headers, deadline)
        reply = self._read(response, most)
        if response.will_close:
            self._drop()
        return reply

    def _ask(
        self, method: str, target: str, body: bytes | None, headers: dict[str, str], deadline: float
    ) -> client.HTTPResponse:
        if self._connection is None:
            self._wire = _Wire(self._connect(deadline))
            self._connection = client.HTTPConnection(self.address.authority)
            self._connection.auto_open = 0
            self._connection.sock = self._wire  # type: ignore[assignment]
        assert self._wire is not None
        self._wire.deadline, self._wire.silence = deadline, self._silence
        self.requests += 1
        try:
            self._connection.request(method, target, body=body, headers=headers)
        except (BrokenPipeError, ConnectionResetError):
            # It may have refused before it had read all: then it has said why.
            return self._connection.getresponse()
        return self._connection.getresponse()

    def _read(self, response: client.HTTPResponse, most: int) -> Reply:
        headers = {name.lower(): value for name, value in response.getheaders()}
        size = response.length
        if size is not None and size > most:
            raise self._too_large(most)
        if headers.get("content-encoding", "identity").lower() != "identity":
            raise QueryError("BL-S10", f"{self.name} sent a compressed answer, which was not asked for")
        pieces, got = [], 0
        while piece := response.read1(_CHUNK):
            pieces.append(piece)
            got += len(piece)
            self.received += len(piece)
            if got > most:
                raise self._too_large(most)
        if response.length:
            raise client.IncompleteRead(b"", response.length)
        response.close()  # it does not notice its own end if read in pieces
        kind = headers.get("content-type", "").partition(";")[0].strip().lower()
        return Reply(response.status, kind, b"".join(pieces), headers)

    @property
    def name(self) -> str:
        """What the server is called in messages."""
        return f"the server {self.address.shown}"

    # --- connecting ---------------------------------------------------------------------------------------------------
    def _connect(self, deadline: float) -> socket.socket:
        end = min(deadline, time.monotonic() + self.limits.connect)
        last: OSError = OSError("the name has no address")
        for family, kind, protocol, _, place in self._places(end):
            sock = socket.socket(family, kind, protocol)
            try:
                sock.settimeout(_left(end))
                sock.connect(place)
                sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
                return self._secured(sock, end)
            except OSError as fault:
                sock.close()
                last = fault
            except BaseException:
                sock.close()
                raise
        raise last

    def _places(self, end: float) -> list[Any]:
        """The addresses of the host. Looking up a name knows no time limit, so it is waited for from outside."""
        found: list[Any] = []
        faults: list[OSError] = []

        def look() -> None:
            try:
                found.extend(socket.getaddrinfo(self.address.host, self.address.port, type=socket.SOCK_STREAM))
            except OSError as fault:
                faults.append(fault)
            except UnicodeError:
                faults.append(OSError("the name of the host is not one"))

        if self.address.host.replace(".", "").isdigit() or ":" in self.address.host:
            look()
        else:
            looking = threading.Thread(target=look, daemon=True)
            looking.start()
            looking.join(_left(end))
            if looking.is_alive():
                raise TimeoutError("looking up the name")
        if faults:
            raise faults[0]
        return found

    def _secured(self, sock: socket.socket, end: float) -> socket.socket:
        if self.address.scheme == "http":
            return sock
        import ssl

        sock.settimeout(_left(end))
        return ssl.create_default_context().wrap_socket(sock, server_hostname=self.address.host)

    def _drop(self) -> None:
        if self._connection is not None:
            self._connection.close()
        if self._wire is not None:
            self._wire.sock.close()
        self._connection = self._wire = None

    # --- faults -------------------------------------------------------------------------------------------------------
    def _too_large(self, most: int) -> QueryError:
        hint = "Ask for less: name more of the terms, or add a LIMIT."
        return QueryError("BL-S10", f"{self.name} sent more than {most / 1_000_000:,.0f} MB", hint=hint)

    def _error(self, fault: Exception, whole: float) -> QueryError:
        """The error for a fault of the network or of HTTP."""
        if isinstance(fault, TimeoutError):
            limits = self.limits
            what = f"{limits.connect:g} s to connect, {limits.silence:g} s of silence, {whole:g} s in all"
            return QueryError("BL-S07", f"{self.name} took too long (the limits are {what})", hint=_AGAIN)
        if isinstance(fault, client.IncompleteRead):
            return QueryError("BL-S10", f"the answer of {self.name} was cut off", hint=_AGAIN)
        why = " ".join((getattr(fault, "verify_message", "") or getattr(fault, "strerror", "") or str(fault)).split())
        why = self.address.hide(why)[:200] or type(fault).__name__
        if type(fault).__name__ == "SSLCertVerificationError":
            hint = "If the certificate is your own authority's, name its file in SSL_CERT_FILE."
            return QueryError("BL-S06", f"{self.name} has a certificate that cannot be trusted: {why}", hint=hint)
        if isinstance(fault, client.HTTPException) and not isinstance(fault, client.RemoteDisconnected):
            hint = "Check the address and the port: something else may answer there."
            return QueryError("BL-S10", f"{self.name} does not answer in HTTP ({type(fault).__name__})", hint=hint)
        hint = "Check the address, and that the server runs. Without --store the catalogue here answers."
        return QueryError("BL-S06", f"{self.name} cannot be reached: {why}", hint=hint)


class _Wire:
    """A socket as ``http.client`` uses one, with a deadline on all that is read and written."""

    def __init__(self, sock: socket.socket) -> None:
        self.sock = sock
        self.silence = self.deadline = 0.0

    def wait(self) -> None:
        """Sets how long the next call may block. Raises TimeoutError if the deadline is over."""
        self.sock.settimeout(min(self.silence, _left(self.deadline)))

    def speaks(self) -> bool:
        """Whether something waits to be read where nothing was asked: the end, or a server's word that it tired of waiting.

        Some servers send such a word with a status of failure, and it would be taken for the answer to the next request.
        """
        with selectors.DefaultSelector() as selector:
            selector.register(self.sock, selectors.EVENT_READ)
            return bool(selector.select(0))

    def makefile(self, *_: object) -> io.BufferedReader:
        return io.BufferedReader(_Reading(self), _CHUNK)

    def sendall(self, data: bytes) -> None:
        view = memoryview(data)
        for start in range(0, len(view), _CHUNK):
            self.wait()
            self.sock.sendall(view[start : start + _CHUNK])

    def close(self) -> None:
        """Nothing: ``http.client`` lets go of its connection before the body is read. ``Link`` closes the socket."""


class _Reading(io.RawIOBase):
    def __init__(self, wire: _Wire) -> None:
        self._wire = wire

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int:
        self._wire.wait()
        return self._wire.sock.recv_into(buffer)


def _left(end: float) -> float:
    left = end - time.monotonic()
    if left <= 0:
        raise TimeoutError("the time is over")
    return left
