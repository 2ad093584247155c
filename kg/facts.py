"""Reads from the store what is recorded of given patterns: facts with their level, witnesses, disputes.

Everything is asked with templates over the named graphs of the closure (see ``kg.closure``), so an embedded and a remote
store give the same.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from kg import names
from kg.evidence_levels import BASES, LEVELS
from kg.sparql.terms import prologue, term, values
from kg.store import Store
from kg.truth import Known
from kg.vocabulary import Condition, Vocabulary

_DEEPER = frozenset(["graph:inferred", *BASES, "graph:holds"])
"""What is inferred and what facts rest on."""
_EXACT = frozenset(["graph:holds", *LEVELS, *BASES])
"""What holds, where a caller may want some literals only."""
_ASIDE = frozenset(["graph:varies", "graph:denied", "graph:disputed", "graph:contested", "graph:open"])
_WHOLE, _ADOPTED = ("whole", ""), ("adopted", "")
Row = tuple[str, str, str]  # graph, property, value
Column = tuple[str, str]
"""What is read of a pattern at once: a literal, ("exact" or "aside", property) in these graphs, or all of it."""
KEPT = 20_000
"""So many patterns are remembered at most, and so many subjects of witnesses."""


@dataclass
class PatternFacts:
    """What the closure records of one pattern (or of one pattern under the features asked for).

    ``levels``: literal -> level (own, variant, kind, derived, inferred); ``basis``: literal -> weakest kind of witness it
    must rest on (``common practice``, ``memory``, ``veterinary``), absent if published human sources suffice;
    ``disputed``: literals with a witness that were not adopted; ``contested``: adopted literals that a lighter witness
    denies.
    """

    pattern: str
    known: Known
    levels: dict[Condition, str] = field(default_factory=dict)
    basis: dict[Condition, str] = field(default_factory=dict)
    disputed: tuple[Condition, ...] = ()
    contested: tuple[Condition, ...] = ()


@dataclass(frozen=True)
class Witness:
    """A source that says something: ``name`` its short name, ``text`` its citation, ``mode`` is/some/not, ``value`` what."""

    name: str
    text: str
    mode: str
    value: str


class FactReader:
    """Reads facts from a store, for one vocabulary. What was read is kept: a closure does not change while it is open.

    Only the columns that are asked for are read: one answer costs what it shows. ``KEPT`` bounds what is remembered.
    """

    def __init__(self, store: Store, vocabulary: Vocabulary) -> None:
        self.store = store
        self.vocabulary = vocabulary
        self._kept: dict[str, dict[Column, list[Row]]] = {}
        self._modes: dict[str, dict[str, str]] = {}
        self._said: dict[str, dict[str, list[tuple[int, str, str, str]]]] = {}

    def facts(
        self,
        patterns: Sequence[str],
        props: Iterable[str] | None = None,
        *,
        literals: Iterable[Condition] | None = None,
        adopted_only: bool = False,
    ) -> dict[str, PatternFacts]:
        """pattern -> what is recorded, in the order given.

        ``props``: only these properties (None: all); ``literals``: of what holds only these (property, value) pairs;
        ``adopted_only``: leave out what was inferred and what facts rest on.
        """
        if not patterns:
            return {}
        if props is None:
            columns = [_ADOPTED if adopted_only else _WHOLE]
        else:
            slots = sorted({*props, names.LENGTH_MIN, names.LENGTH_MAX, names.INAPPLICABLE, names.UNDECIDED})
            columns = [("exact", f) for f in slots] if literals is None else sorted(literals)
            columns += [("aside", f) for f in slots]
        kept = self._read(patterns, columns)
        out = {}
        for pattern in patterns:
            collected = _Collected()
            for column in columns:
                for graph, prop, value in kept[pattern][column]:
                    if not (adopted_only and graph in _DEEPER):
                        collected.put(graph, prop, value)
            out[pattern] = collected.record(pattern, self.vocabulary)
        return out

    def _read(self, patterns: Sequence[str], columns: Sequence[Column]) -> dict[str, dict[Column, list[Row]]]:
        """What is kept, after reading what is missing of these columns. Nothing is kept of a reading that fails."""
        if len(self._kept) + len(patterns) > KEPT:
            self._kept.clear()
        wanted = frozenset(columns)
        missing = {p: wanted.difference(self._kept.get(p, ())) for p in patterns}
        new = [p for p, columns in missing.items() if columns]
        if not new:
            return self._kept
        columns = sorted(frozenset().union(*missing.values()))
        read: dict[str, dict[Column, list[Row]]] = {p: {c: [] for c in columns} for p in new}
        for kind, query in self._queries(new, columns):
            for row in self.store.select(query):
                found = graph, prop, value = row["g"].short, row["f"].short, row["v"].short
                if kind == "slot":
                    column = ("aside" if graph in _ASIDE else "exact", prop)
                else:
                    column = (prop, value) if kind == "literal" else (kind, "")
                read[row["p"].short][column].append(found)
        for pattern, found in read.items():
            self._kept.setdefault(pattern, {}).update(found)
        return self._kept

    def _queries(self, patterns: Sequence[str], columns: Sequence[Column]) -> Iterator[tuple[str, str]]:
        """(kind of columns, query): as few queries as there are kinds."""
        if _WHOLE in columns:
            yield "whole", _query(patterns, "", _EXACT | _ASIDE)
        if _ADOPTED in columns:
            yield "adopted", _query(patterns, "", (_EXACT | _ASIDE) - _DEEPER)
        literals = [c for c in columns if ":" in c[0]]
        if literals:
            pairs = " ".join(f"({term(f)} {term(v)})" for f, v in literals)
            yield "literal", _query(patterns, f"VALUES (?f ?v) {{ {pairs} }}", _EXACT)
        exact, aside = ([f for kind, f in columns if kind == k] for k in ("exact", "aside"))
        if exact == aside and exact:
            yield "slot", _query(patterns, values("f", exact), _EXACT | _ASIDE)
        else:
            for slots, graphs in ((exact, _EXACT), (aside, _ASIDE)):
                if slots:
                    yield "slot", _query(patterns, values("f", slots), graphs)

    def witnesses(self, subject: str, prop: str) -> tuple[Witness, ...]:
        """Who says anything of a pattern or kind under one property, ordered by source. ``bl:hasPart`` includes denials."""
        self.read_witnesses([subject])
        said = self._said[subject]
        found = sorted((*row, mode) for f, mode in self.modes(prop).items() for row in said.get(f, ()))
        return tuple(Witness(source, text, mode, value) for _, source, value, text, mode in found)

    def read_witnesses(self, subjects: Iterable[str]) -> None:
        """Reads all that anyone says of some patterns or kinds at once, and keeps it."""
        if len(self._said) > KEPT:
            self._said.clear()
        new = [s for s in dict.fromkeys(subjects) if s not in self._said]
        if not new:
            return
        body = (
            f"SELECT ?x ?s ?f ?v ?text WHERE {{\n  {values('x', new)}\n  GRAPH ?s {{ ?x ?f ?v }}\n"
            "  GRAPH graph:terms { ?s rdfs:label ?text }\n}\nORDER BY ?s ?f ?v\n"
        )
        read: dict[str, dict[str, list[tuple[int, str, str, str]]]] = {s: {} for s in new}
        for place, row in enumerate(self.store.select(prologue(body) + body)):
            found = (place, row["s"].short, row["v"].short, row["text"].value)
            read[row["x"].short].setdefault(row["f"].short, []).append(found)
        self._said |= read

    def modes(self, prop: str) -> dict[str, str]:
        """The properties under which something is said of ``prop`` -> how it is said there: is, some or not."""
        known = self._modes.get(prop)
        if known is None:
            known = self._modes[prop] = self._modes_of(prop)
        return known

    def _modes_of(self, prop: str) -> dict[str, str]:
        local = prop.split(":", 1)[1]
        modes = {prop: "is", f"some:{local}": "some", f"not:{local}": "not"}
        return modes | {f.name: "not" for f in self.vocabulary.features.values() if f.denies == prop}

    def line(self, pattern: str, facts: PatternFacts) -> list[str]:
        """The pattern, its parents, its kind and broader kinds: where an inherited fact may have been said."""
        kinds = [v for f, v in (facts.known.holds or facts.levels) if f == names.OF_KIND]
        kinds.sort(key=lambda k: -len(self.vocabulary.ancestors(k)))
        return [pattern, *self.vocabulary.ancestors(pattern), *kinds]

    def support(self, pattern: str, literal: Condition, facts: PatternFacts) -> tuple[str, tuple[Witness, ...]]:
        """(subject the fact was said of, witnesses for it). A source that says a broader value supports the narrower."""
        prop, value = literal
        allowed = {value, *self.vocabulary.ancestors(value)}
        level = facts.levels.get(literal, "")
        line = self.line(pattern, facts)
        self.read_witnesses(line)
        if level == "own":
            line = line[:1]
        elif level == "variant":
            line = list(self.vocabulary.ancestors(pattern))
        for subject in line:
            found = [w for w in self.witnesses(subject, prop) if w.mode in ("is", "some") and w.value in allowed]
            if prop in names.PARTS:
                other = names.LACKS_PART if prop == names.HAS_PART else names.HAS_PART
                found += [w for w in self.witnesses(subject, other) if w.mode == "not" and w.value == value]
            exact = [w for w in found if w.value == value]
            if exact:
                return subject, tuple(exact + [w for w in found if w.value != value])
        return pattern, ()


def _query(patterns: Sequence[str], wanted: str, graphs: Iterable[str]) -> str:
    """One look-up by subject and property for each pair, whatever the number of graphs: they are filtered afterwards."""
    inside = ", ".join(term(g) for g in sorted(graphs))
    body = (
        f"SELECT ?p ?g ?f ?v WHERE {{\n  {values('p', list(patterns))}\n  {wanted}\n"
        f"  GRAPH ?g {{ ?p ?f ?v }}\n  FILTER(?g IN ({inside}))\n}}\n"
    )
    return prologue(body) + body


class _Collected:
    """Rows of one pattern on their way to a ``PatternFacts``."""

    def __init__(self) -> None:
        self.holds: set[Condition] = set()
        self.levels: dict[Condition, str] = {}
        self.basis: dict[Condition, str] = {}
        self.varies: dict[str, set[str]] = defaultdict(set)
        self.denied: dict[str, set[str]] = defaultdict(set)
        self.disputed: set[Condition] = set()
        self.contested: set[Condition] = set()
        self.inapplicable: set[str] = set()
        self.open: set[str] = set()
        self.length: dict[str, float] = {}

    def put(self, graph: str, prop: str, value: str) -> None:
        part = prop in names.PARTS
        slot, of_slot = (value, prop) if part else (prop, value)
        if prop in (names.LENGTH_MIN, names.LENGTH_MAX):
            self.length[prop] = float(value)
        elif prop == names.INAPPLICABLE:
            self.inapplicable.add(value)
        elif prop == names.VARIANT_OF:
            pass  # the vocabulary knows
        elif graph in LEVELS:
            self.levels[prop, value] = LEVELS[graph]
        elif graph in BASES:
            self.basis[prop, value] = BASES[graph]
        elif graph == "graph:holds":
            self.holds.add((prop, value))
        elif graph == "graph:varies":
            self.varies[slot].add(of_slot)
        elif graph == "graph:denied":
            self.denied[slot].add(of_slot)
        elif graph == "graph:disputed":
            self.disputed.add((prop, value))
        elif graph == "graph:contested":
            self.contested.add((prop, value))
        elif graph == "graph:open":
            self.open.add(value)

    def record(self, pattern: str, vocabulary: Vocabulary) -> PatternFacts:
        low, high = self.length.get(names.LENGTH_MIN), self.length.get(names.LENGTH_MAX)
        known = Known(
            line=(pattern, *vocabulary.ancestors(pattern)),
            holds=frozenset(self.holds),
            varies={s: tuple(sorted(v)) for s, v in sorted(self.varies.items())},
            denied={s: tuple(sorted(v)) for s, v in sorted(self.denied.items())},
            inapplicable=frozenset(self.inapplicable),
            length=(low, high) if low is not None and high is not None else None,
            open_slots=frozenset(self.open),
        )
        return PatternFacts(
            pattern, known, self.levels, self.basis, tuple(sorted(self.disputed)), tuple(sorted(self.contested))
        )
