"""What is recorded of all patterns as the closure keeps it beside the quads: by property and by pattern.

Read from the same lines as ``closure.nq``, so it says the same; a store would have to be asked for every question anew. Both
files are JSON with a line for each property or pattern, so that little of them is read for one question. ``facts.json``:

- ``patterns``: their names in order; the numbers below are places in it;
- ``properties``: all properties in order, each with its line in ``facts``;
- ``facts``: for each property its facts in order of graph and value, as [place of the graph in ``GRAPHS``, value, places].

``patterns.json``: for each pattern in the same order its facts, as [place of the property, value, places of the graphs].
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from functools import cached_property

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
START = b'{\n"patterns": '
_PROPERTIES, _FACTS = b',\n"properties": ', b',\n"facts": [\n'


def columns_texts(quads: str, patterns: Iterable[str]) -> tuple[str, str]:
    """The two files that ``Columns`` reads, from the lines of ``closure.nq``."""
    named = sorted(patterns)
    place = {f"<{names.expand(name)}>": i for i, name in enumerate(named)}
    graphs = {f"<{names.expand(graph)}>": i for i, graph in enumerate(GRAPHS)}
    found: dict[str, dict[tuple[str, str], list[int]]] = {}
    for line in quads.rstrip("\n").split("\n") if quads else ():  # a literal may hold line breaks of other kinds
        subject, prop, rest = line.split(" ", 2)
        if subject in place:
            value, graph, _ = rest.rsplit(" ", 2)
            if graph in graphs:
                text = value[1:-1] if value[0] == "<" else value.split('"')[1]
                found.setdefault(prop, {}).setdefault((graph, text), []).append(place[subject])
    facts: dict[str, list[tuple[str, str, list[int]]]] = {}
    for prop, by in found.items():
        rows = [(GRAPHS[graphs[graph]], names.shown(value), sorted(places)) for (graph, value), places in by.items()]
        facts[names.shown(prop[1:-1])] = sorted(rows)
    properties = sorted(facts)
    by_property = [_json([[GRAPHS.index(g), v, places] for g, v, places in facts[prop]]) for prop in properties]
    of: list[dict[tuple[int, str], list[int]]] = [{} for _ in named]
    for number, prop in enumerate(properties):
        for graph, value, places in facts[prop]:
            for i in places:
                of[i].setdefault((number, value), []).append(GRAPHS.index(graph))
    by_pattern = [_json([[*key, where] for key, where in sorted(mine.items())]) for mine in of]
    head = f'{{\n"patterns": {_json(named)},\n"properties": {_json(properties)},\n"facts": [\n'
    return head + ",\n".join(by_property) + "\n]\n}\n", "[\n" + ",\n".join(by_pattern) + "\n]\n"


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


class Columns:
    """The files, each line read when it is asked for. Raises ValueError where the first has another form."""

    def __init__(self, data: bytes, by_pattern: bytes) -> None:
        """``data``: the first file; ``by_pattern``: the second."""
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
        self._properties = listed
        self._by_pattern = by_pattern
        self._whole: dict[int, tuple[Row, ...]] = {}

    @cached_property
    def _pattern_lines(self) -> list[bytes]:
        return self._by_pattern.split(b"\n")[1:]

    def facts(self, prop: str) -> tuple[Fact, ...]:
        """The facts under a property in order, each with the places of the patterns of which it is recorded."""
        found = self._read.get(prop)
        if found is None:
            rows = json.loads(self._lines[prop].rstrip(b",")) if prop in self._lines else []
            found = self._read[prop] = tuple([((GRAPHS[g], prop, value), tuple(places)) for g, value, places in rows])
        return found

    def within(self, *graphs: str) -> list[Fact]:
        """All facts in some graphs, in order of property, graph and value."""
        return [fact for prop in self._properties for fact in self.facts(prop) if fact[0][0] in graphs]

    def named(self, places: Iterable[int]) -> list[str]:
        """The patterns at some places."""
        return [self.patterns[i] for i in places]

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

    def whole(self, place: int) -> tuple[Row, ...]:
        """All that is recorded of a pattern, in order of graph, property and value."""
        found = self._whole.get(place)
        if found is None:
            facts, properties = json.loads(self._pattern_lines[place].rstrip(b",")), self._properties
            rows = [(GRAPHS[g], properties[prop], value) for prop, value, graphs in facts for g in graphs]
            rows.sort()
            found = self._whole[place] = tuple(rows)
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
