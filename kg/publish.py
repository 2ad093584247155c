"""A catalogue's closure onto a server, by SPARQL 1.1 Graph Store Protocol: one graph after the other.

What is where stands in a manifest on the server (``kg.store.publication``), so a run sends only what is missing or changed, and
one that was killed is finished by the next. The order makes that safe: the stamp goes first; then the manifest calls every
graph that will be touched uncertain; then the graphs are sent, each named certain after it is there; then graphs of an older
catalogue are removed; the stamp comes last. Only one run at a time should write to a server; a run that notices another stops.
"""

from __future__ import annotations

import hashlib
import secrets
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from kg import closure
from kg.catalogue import Catalogue
from kg.errors import CatalogueError, InputError, QueryError
from kg.names import expand
from kg.store.address import GRAPHS_PATH, read_address
from kg.store.publication import MANIFEST, OURS, PUBLISHED, Manifest, entries, read_manifest, stamp_text
from kg.store.refusals import refusal, wrong_type
from kg.store.web import Limits, Link

CHUNK = 4_000_000
"""Bytes of a graph sent at once."""
LIMITS = Limits(silence=120.0, whole=300.0)
"""A server may take long to put a piece in its place."""
_NOTED = 32
"""After so many graphs the manifest is told of them."""
_HELD = 64_000_000
"""Bytes kept in memory while the graphs are taken apart."""
_TRIPLES = "application/n-triples"

Say = Callable[[str], None]


@dataclass(frozen=True)
class Publication:
    """What a run did, or with ``dry_run`` would do. ``server`` is the address without credentials; ``closure`` the digest of
    the quads; ``sent``, ``unchanged`` and ``removed`` count graphs, ``triples`` and ``size`` (bytes) what was sent."""

    server: str
    closure: str
    dry_run: bool
    sent: int
    unchanged: int
    removed: int
    triples: int
    size: int

    def to_json(self) -> dict[str, str | int | bool]:
        """All fields by their names."""
        return dict(self.__dict__)


@dataclass
class _Part:
    """One graph on its way: its lines are kept in ``file``."""

    file: Path
    digest: str = ""
    triples: int = 0
    size: int = 0


def publish(catalogue: Catalogue, url: str, *, dry_run: bool = False, say: Say = lambda _: None) -> Publication:
    """Brings the graphs of a catalogue to the graph store at ``url``; the same run again has nothing left to do.

    ``say`` takes lines of progress. Raises InputError (BL-I01) for the address, CatalogueError (BL-C01, BL-C02) if the closure
    cannot be used, InputError (BL-I02) if there is no room to take it apart, QueryError (BL-S06 to BL-S11) if the server does
    not do as asked; what was sent until then stays sent.
    """
    address = read_address(url, GRAPHS_PATH)
    if address.exposed:
        say("the credentials go to the server unencrypted; use https where you can")
    stamp = catalogue.stamp
    closure.look(catalogue.folder, closure.QUADS, stamp)
    with tempfile.TemporaryDirectory(prefix="boxlock-") as scratch:
        try:
            parts = take_apart(catalogue.quads_file, Path(scratch), stamp.files[closure.QUADS])
        except OSError as e:
            raise InputError("BL-I02", f"The closure cannot be taken apart: {e.strerror}.", file=scratch) from e
        server = _Server(Link(address, LIMITS))
        try:
            return _Run(server, parts, stamp.files[closure.QUADS], say).go(dry_run)
        finally:
            server.link.close()


def take_apart(quads: Path, folder: Path, digest: str) -> dict[str, _Part]:
    """The quads of a closure, graph by graph: full IRI -> its triples in a file of ``folder``, in bounded memory.

    Raises CatalogueError (BL-C02) if the file has not the digest, or a graph that is not ours; OSError.
    """
    parts: dict[str, _Part] = {}
    hashes: dict[str, hashlib._Hash] = {}
    held: dict[str, list[bytes]] = {}
    whole, waiting = hashlib.sha256(), 0

    def write() -> None:
        for graph, lines in held.items():
            with parts[graph].file.open("ab") as out:
                out.writelines(lines)
        held.clear()

    with quads.open("rb") as file:
        for line in file:
            whole.update(line)
            # The closure is our own text: ground quads, one a line, the graph last.
            front, _, back = line.rpartition(b" <")
            graph, triple = back.removesuffix(b"> .\n").decode("utf-8"), front + b" .\n"
            if graph not in parts:
                if not graph.startswith(OURS) or graph in (expand(PUBLISHED), expand(MANIFEST)):
                    raise CatalogueError("BL-C02", f"the closure has a graph that is not ours: {graph[:100]}")
                parts[graph] = _Part(folder / f"{len(parts)}.nt")
                hashes[graph] = hashlib.sha256()
            part = parts[graph]
            hashes[graph].update(triple)
            held.setdefault(graph, []).append(triple)
            part.triples, part.size, waiting = part.triples + 1, part.size + len(triple), waiting + len(triple)
            if waiting > _HELD:
                write()
                waiting = 0
    write()
    if whole.hexdigest() != digest:
        raise CatalogueError("BL-C02", "the closure's quads are damaged: their digest is not the stamped one")
    for graph, part in parts.items():
        part.digest = hashes[graph].hexdigest()
    return parts


class _Run:
    """One publication. ``parts``: what is to be there in the end; ``digest``: of the whole closure."""

    def __init__(self, server: _Server, parts: Mapping[str, _Part], digest: str, say: Say) -> None:
        self.server = server
        self.parts = parts
        self.digest = digest
        self.say = say
        self.token = secrets.token_hex(8)

    def go(self, dry_run: bool) -> Publication:
        there = self.server.read(MANIFEST)
        complete = self.server.read(PUBLISHED).closure == self.digest
        same = {g: d for g, d in there.graphs.items() if g in self.parts and d == self.parts[g].digest}
        missing = sorted(self.parts.keys() - same.keys())
        older = sorted(there.graphs.keys() - self.parts.keys())
        size, triples = sum(self.parts[g].size for g in missing), sum(self.parts[g].triples for g in missing)
        shown = self.server.link.address.shown
        done = Publication(shown, self.digest, dry_run, len(missing), len(same), len(older), triples, size)
        if dry_run or (complete and not missing and not older):
            return done
        self.server.delete(expand(PUBLISHED))
        uncertain = dict.fromkeys((*missing, *older), "")
        self.server.put(expand(MANIFEST), Manifest(self.digest, self.token, {**same, **uncertain}).text())
        self._still_alone()
        self._send(missing, size)
        for graph in older:
            self.server.delete(graph)
        if older:
            self.say(f"removed {len(older)} graphs of an older catalogue")
        self._still_alone()
        final = {g: p.digest for g, p in self.parts.items()}
        self.server.put(expand(MANIFEST), Manifest(self.digest, self.token, final).text())
        self.server.put(expand(PUBLISHED), stamp_text(self.digest))
        return done

    def _send(self, graphs: list[str], size: int) -> None:
        noted: list[str] = []
        sent, told = 0, 0

        def note() -> None:
            self.server.post(expand(MANIFEST), "\n".join(entries({g: self.parts[g].digest for g in noted})) + "\n")
            noted.clear()

        for number, graph in enumerate(graphs, 1):
            part = self.parts[graph]
            for place, piece in enumerate(_pieces(part.file)):
                (self.server.post if place else self.server.put)(graph, piece)
                sent += len(piece)
                if sent - told > size / 10 and sent < size:
                    told = sent
                    self.say(f"sent {sent / 1e6:,.1f} of {size / 1e6:,.1f} MB, graph {number} of {len(graphs)}")
            noted.append(graph)
            if len(noted) == _NOTED or part.size > CHUNK:
                note()
        if noted:
            note()

    def _still_alone(self) -> None:
        if self.server.read(MANIFEST).run != self.token:
            what = f"another run publishes to {self.server.link.name}; this one has stopped"
            raise QueryError("BL-S11", what, hint="Let it finish, then run this again: one at a time.")


def _pieces(file: Path) -> Iterator[bytes]:
    """The lines of a file in pieces of about ``CHUNK`` bytes."""
    with file.open("rb") as lines:
        while piece := b"".join(lines.readlines(CHUNK)):
            yield piece


class _Server:
    """A graph store, its graphs named in the query part of the address."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def put(self, graph: str, triples: str | bytes) -> None:
        self._write("PUT", graph, triples)

    def post(self, graph: str, triples: str | bytes) -> None:
        self._write("POST", graph, triples)

    def delete(self, graph: str) -> None:
        """A graph that is not there is none to remove."""
        reply = self.link.request("DELETE", self._target(graph))
        if not 200 <= reply.status < 300 and reply.status != 404:
            raise refusal(self.link, reply, "graph store")

    def get(self, graph: str) -> str:
        """The triples of a small graph as N-Triples; nothing if there is none."""
        reply = self.link.request("GET", self._target(graph), headers={"Accept": _TRIPLES})
        if reply.status == 404 and self._is_store():
            return ""
        if reply.status != 200:
            raise refusal(self.link, reply, "graph store")
        if reply.kind != _TRIPLES:
            raise wrong_type(self.link, reply, "triples", "graph store")
        return reply.body.decode("utf-8", "replace")

    def read(self, graph: str) -> Manifest:
        """The manifest, or what the stamp says of itself."""
        import pyoxigraph as ox

        text = self.get(expand(graph))
        try:
            found = [quad.triple for quad in ox.parse(text.encode(), format=ox.RdfFormat.N_TRIPLES)]
            return read_manifest((t.subject.value, t.predicate.value, t.object.value) for t in found)
        except (SyntaxError, ValueError, AttributeError) as fault:
            raise QueryError("BL-S10", f"what {self.link.name} says of its catalogue cannot be read") from fault

    def _write(self, method: str, graph: str, triples: str | bytes) -> None:
        body = triples.encode("utf-8") if isinstance(triples, str) else triples
        reply = self.link.request(method, self._target(graph), body=body, headers={"Content-Type": _TRIPLES})
        if not 200 <= reply.status < 300:
            raise refusal(self.link, reply, "graph store")

    def _target(self, graph: str) -> str:
        target = self.link.address.target
        return f"{target}{'&' if '?' in target else '?'}graph={quote(graph, safe='')}"

    def _is_store(self) -> bool:
        """Whether a graph store answers here at all: its default graph is always there."""
        target = self.link.address.target
        reply = self.link.request("HEAD", f"{target}{'&' if '?' in target else '?'}default")
        return reply.status == 200
