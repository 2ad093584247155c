"""Sets of patterns on disk, beside the store of a large catalogue: the first question about a word is as quick as the second.

Written once from the quads of the closure, when they are put into a store on disk. One file: a head in JSON that says where
each set lies, then the sets as bits, packed where that is shorter; head and sets with check sums. Places go by
label (``kg.answer.sets``), and the head names the patterns' digest: a file of other patterns is not used. Without the file, or
where it is damaged, the store is asked instead.
"""

from __future__ import annotations

import hashlib
import json
import mmap
import sys
import zlib
from array import array
from collections.abc import Iterator, Sequence
from pathlib import Path

from kg import names
from kg.evidence_levels import BASES
from kg.files import write_bytes
from kg.sparql.filters import DENIED, HOLDS, OPEN, VARIES

FILE = "patterns.sets"
GRAPHS = (HOLDS, VARIES, DENIED, OPEN, "graph:inferred", "graph:contested", *BASES)
"""The graphs that questions look into; all of them are in the file in full."""
LENGTHS = "lengths"
_LENGTHS = "Idd"
"""The columns of lengths one behind the other: place, shortest, longest."""
_MAGIC = b"boxlock sets 2\n"
Fact = tuple[str, str, str]  # graph, property, value


def digest(patterns: Sequence[str]) -> str:
    return hashlib.sha256("\n".join(patterns).encode()).hexdigest()


def write_sets(file: Path, quads: Path, patterns: Sequence[str]) -> None:
    """Writes the sets of ``quads`` (N-Quads, one a line) for ``patterns`` in the order of their places.

    Raises OSError if they cannot be read, InputError (BL-I02) if the file cannot be written.
    """
    places, sizes = _read(quads, {f"<{names.expand(p)}>".encode(): i for i, p in enumerate(patterns)})
    width = len(patterns) // 8 + 1
    index: dict[str, tuple[int, int, int]] = {}
    body: list[bytes] = []
    at = 0
    for key in sorted(places):
        data = _packed(places[key], width)
        index["\t".join(key)] = (at, len(data), zlib.crc32(data))
        body.append(data)
        at += len(data)
    known = sorted((i, low, high) for i, (low, high) in sizes.items() if low and high)
    data = b"".join(array(code, column).tobytes() for code, column in zip(_LENGTHS, zip(*known, strict=True), strict=False))
    index[LENGTHS] = (at, len(data), zlib.crc32(data))
    head = json.dumps({"patterns": digest(patterns), "order": sys.byteorder, "sets": index}).encode()
    front = len(head).to_bytes(8, "big") + zlib.crc32(head).to_bytes(8, "big")
    write_bytes(file, b"".join((_MAGIC, front, head, *body, data)))


def _read(quads: Path, place: dict[bytes, int]) -> tuple[dict[Fact, array], dict[int, list[float]]]:
    """fact -> places, and place -> (shortest, longest)."""
    graphs = {f"<{names.expand(g)}>".encode(): g for g in GRAPHS}
    ends = {f"<{names.expand(p)}>".encode(): i for i, p in enumerate((names.LENGTH_MIN, names.LENGTH_MAX))}
    holds = f"<{names.expand(HOLDS)}>".encode()
    found: dict[tuple[bytes, bytes, bytes], array] = {}
    sizes: dict[int, list[float]] = {}
    with quads.open("rb") as lines:
        for line in lines:
            subject, predicate, rest = line.split(b" ", 2)
            at = place.get(subject)
            if at is None:
                continue
            if rest.startswith(b"<"):
                value, graph, _ = rest.split(b" ", 2)
                if graph in graphs:
                    key = graph, predicate, value
                    if key not in found:
                        found[key] = array("I")
                    found[key].append(at)
            elif predicate in ends:
                number, graph = rest.split(b'"')[1], rest.rsplit(b" ", 2)[1]
                if graph == holds:
                    sizes.setdefault(at, [0.0, 0.0])[ends[predicate]] = float(number)

    def short(iri: bytes) -> str:
        return names.shown(iri[1:-1].decode())

    return {(graphs[g], short(p), short(v)): places for (g, p, v), places in found.items()}, sizes


def _packed(places: array, width: int) -> bytes:
    filled = _filled(places, width)
    packed = zlib.compress(filled)
    return packed if len(packed) < width else filled


class KeptSets:
    """The file, open. ``KeptSets.open`` gives None where there is none that can be used."""

    def __init__(self, data: mmap.mmap, index: dict[str, list[int]], start: int, width: int) -> None:
        self._data, self._index, self._start, self._width = data, index, start, width

    @classmethod
    def open(cls, file: Path, patterns: Sequence[str]) -> KeptSets | None:
        try:
            with file.open("rb") as stream:
                data = mmap.mmap(stream.fileno(), 0, access=mmap.ACCESS_READ)
            at = len(_MAGIC)
            size, check = (int.from_bytes(data[i : i + 8], "big") for i in (at, at + 8))
            text = data[at + 16 : at + 16 + size]
            if data[:at] != _MAGIC or len(text) != size or zlib.crc32(text) != check:
                return None
            head = json.loads(text)
            if head["patterns"] != digest(patterns) or head["order"] != sys.byteorder:
                return None
            return cls(data, head["sets"], at + 16 + size, len(patterns) // 8 + 1)
        except (OSError, ValueError):  # not there, empty, or of another form
            return None

    def _bytes(self, key: str) -> bytes | None:
        """None where the file is damaged; empty if there is no such set."""
        entry = self._index.get(key)
        if entry is None:
            return b""
        at, size, check = entry
        data = self._data[self._start + at : self._start + at + size]
        return data if zlib.crc32(data) == check else None

    def found(self, graph: str, prop: str, value: str) -> int | None:
        """The patterns with a fact in one of GRAPHS, as bits; None where only the store can say."""
        if graph not in GRAPHS:
            return None
        data = self._bytes(f"{graph}\t{prop}\t{value}")
        if data is None:
            return None
        if data and len(data) < self._width:
            data = zlib.decompress(data)
        return int.from_bytes(data, "little")

    def values(self, graph: str, prop: str) -> Iterator[str]:
        """The values under which a property is found in one of GRAPHS, sorted."""
        start = f"{graph}\t{prop}\t"
        return (key[len(start) :] for key in self._index if key.startswith(start))

    def lengths(self) -> tuple[tuple[int, float, float], ...] | None:
        """(place, shortest, longest) of every pattern with a length; None where only the store can say."""
        data = self._bytes(LENGTHS)
        if not data:
            return None
        columns = [array(code) for code in _LENGTHS]
        count, at = len(data) // sum(c.itemsize for c in columns), 0
        for column in columns:
            column.frombytes(data[at : at + count * column.itemsize])
            at += count * column.itemsize
        return tuple(zip(*columns, strict=True))


def _filled(places: array, width: int) -> bytes:
    buffer = bytearray(width)
    for place in places:
        buffer[place >> 3] |= 1 << (place & 7)
    return bytes(buffer)
