"""What is recorded of all patterns as the closure keeps it beside the quads: for each property its values, and who has them.

Read from the same lines as ``closure.nq``, so it says the same; a process that asks many questions reads each property once,
where a store would have to be asked for every question anew. The file is JSON with a line for each property, so that little
of it is read for one question:

- ``patterns``: their names in order; the numbers below are places in it;
- ``properties``: all properties in order, each with its line in ``facts``;
- ``facts``: for each property its facts in order of graph and value, as [place of the graph in ``GRAPHS``, value, places].
"""

from __future__ import annotations

import json
from collections.abc import Iterable

from kg import names
from kg.evidence_levels import BASES, LEVELS

MOST = 5_000
"""Of catalogues with more patterns no such file is written: they are read piece by piece."""
ASIDE = frozenset(["graph:varies", "graph:denied", "graph:disputed", "graph:contested", "graph:open"])
GRAPHS = ("graph:holds", *LEVELS, *BASES, *sorted(ASIDE))
"""The graphs that say something of patterns."""
Row = tuple[str, str, str]  # graph, property, value
Fact = tuple[Row, tuple[int, ...]]
"""A row with the places of the patterns of which it is recorded; in tuples, which the collector of garbage passes by."""
_ALL = 1 << 60
START = b'{\n"patterns": '
_PROPERTIES, _FACTS = b',\n"properties": ', b',\n"facts": [\n'


def columns_text(quads: str, patterns: Iterable[str]) -> str:
    """What ``Columns`` reads, from the lines of ``closure.nq``."""
    named = sorted(patterns)
    place = {f"<{names.expand(name)}>": i for i, name in enumerate(named)}
    graphs = {f"<{names.expand(graph)}>": i for i, graph in enumerate(GRAPHS)}
    found: dict[str, dict[tuple[str, str], list[int]]] = {}
    for line in quads.splitlines():
        subject, prop, rest = line.split(" ", 2)
        if subject in place:
            value, graph, _ = rest.rsplit(" ", 2)
            if graph in graphs:
                text = value[1:-1] if value[0] == "<" else value.split('"')[1]
                found.setdefault(prop, {}).setdefault((graph, text), []).append(place[subject])
    lines: dict[str, list[tuple[str, str, list[int]]]] = {}
    for prop, facts in found.items():
        rows = [(graph, names.shown(value), places) for (graph, value), places in facts.items()]
        lines[names.shown(prop[1:-1])] = sorted((GRAPHS[graphs[g]], value, sorted(places)) for g, value, places in rows)
    texts = [_json([[GRAPHS.index(g), v, places] for g, v, places in lines[prop]]) for prop in sorted(lines)]
    body = ",\n".join(texts)
    return f'{{\n"patterns": {_json(named)},\n"properties": {_json(sorted(lines))},\n"facts": [\n{body}\n]\n}}\n'


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


class Columns:
    """The file, read by property when it is asked for. Raises ValueError where the data have another form."""

    def __init__(self, data: bytes) -> None:
        properties, facts = data.find(_PROPERTIES), data.find(_FACTS)
        if not data.startswith(START) or not 0 < properties < facts:
            raise ValueError("these are no facts as they are kept")
        self.patterns: tuple[str, ...] = tuple(json.loads(data[len(START) : properties]))
        self.place: dict[str, int] = {name: i for i, name in enumerate(self.patterns)}
        listed: list[str] = json.loads(data[properties + len(_PROPERTIES) : facts])
        self._lines = dict(zip(listed, data[facts + len(_FACTS) :].split(b"\n"), strict=False))
        self._read: dict[str, tuple[Fact, ...]] = {}
        self._bits: dict[str, dict[str, dict[str, int]]] = {}
        self._of: dict[str, dict[int, tuple[Row, ...]]] = {}
        self._aside: dict[str, dict[int, tuple[Row, ...]]] = {}
        self._unread = listed
        self._gathered: list[list[Row]] = [[] for _ in self.patterns]
        self._whole: dict[int, tuple[Row, ...]] = {}

    def facts(self, prop: str) -> tuple[Fact, ...]:
        """The facts under a property in order, each with the places of the patterns of which it is recorded."""
        found = self._read.get(prop)
        if found is None:
            rows = json.loads(self._lines[prop].rstrip(b",")) if prop in self._lines else []
            found = self._read[prop] = tuple([((GRAPHS[g], prop, value), tuple(places)) for g, value, places in rows])
        return found

    def sets(self, graph: str, prop: str) -> dict[str, int]:
        """value -> the patterns with it under a property in a graph, as bits; nobody changes what is given."""
        found = self._bits.get(prop)
        if found is None:
            found = self._bits[prop] = {}
            for (at, _, value), places in self.facts(prop):
                bits = 0
                for place in places:
                    bits |= 1 << place
                found.setdefault(at, {})[value] = bits
        return found.get(graph, {})

    def of(self, prop: str) -> dict[int, tuple[Row, ...]]:
        """place -> the facts of this pattern under a property, in order; nobody changes what is given."""
        found = self._of.get(prop)
        if found is None:
            found = self._of[prop] = _turned(self.facts(prop))
        return found

    def aside(self, prop: str) -> dict[int, tuple[Row, ...]]:
        """As ``of``, in the graphs ``ASIDE`` alone."""
        found = self._aside.get(prop)
        if found is None:
            found = self._aside[prop] = _turned([fact for fact in self.facts(prop) if fact[0][0] in ASIDE])
        return found

    def read_more(self, least: int) -> bool:
        """Reads on for ``whole``, property by property, until so many facts of single patterns were read, and says whether all
        are: the whole at once would be felt in one answer."""
        while self._unread and least > 0:
            prop = self._unread.pop()
            for row, places in self.facts(prop):
                least -= len(places)
                for place in places:
                    self._gathered[place].append(row)
        return not self._unread

    def whole(self, place: int) -> tuple[Row, ...]:
        """All that is recorded of a pattern, in order of graph, property and value."""
        self.read_more(_ALL)
        found = self._whole.get(place)
        if found is None:
            found = self._whole[place] = tuple(sorted(self._gathered[place]))
        return found


def _turned(facts: Iterable[Fact]) -> dict[int, tuple[Row, ...]]:
    """place -> its rows."""
    rows: dict[int, list[Row]] = {}
    for row, places in facts:
        for place in places:
            if place in rows:
                rows[place].append(row)
            else:
                rows[place] = [row]
    return {place: tuple(mine) for place, mine in rows.items()}
