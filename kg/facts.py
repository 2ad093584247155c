"""Reads from the store what is recorded of given patterns: facts with their level, witnesses, disputes.

Everything is asked with templates over the named graphs of the closure (see ``kg.closure``), so an embedded and a remote
store give the same.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from kg import names
from kg.evidence_levels import BASES, LEVELS
from kg.sparql.terms import prologue, term, values
from kg.store import Store
from kg.truth import Known
from kg.vocabulary import Condition, Vocabulary

_LEVEL_GRAPHS = [graph for graph, level in LEVELS.items() if level != "inferred"]
_DEEPER = frozenset(["graph:inferred", *BASES, "graph:holds"])
"""What is inferred and what facts rest on."""
_EXACT = frozenset(["graph:holds", *_LEVEL_GRAPHS, "graph:inferred", *BASES])
"""What holds, where a caller may want some literals only."""
_ASIDE = ("graph:varies", "graph:denied", "graph:disputed", "graph:contested", "graph:open")
_GRAPHS = sorted({*_EXACT, *_ASIDE})


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
    """Reads facts from a store, for one vocabulary. What was read is kept: a closure does not change while it is open."""

    def __init__(self, store: Store, vocabulary: Vocabulary) -> None:
        self.store = store
        self.vocabulary = vocabulary
        self._rows: dict[str, tuple[tuple[str, str, str], ...]] = {}
        self._met: set[str] = set()
        self._said: dict[str, list[tuple[str, str, str, str]]] = {}
        """Of a far store: subject -> (source, property, value, citation) of all that is said of it."""
        self._coming: set[str] = set()
        """Whose witnesses will probably be asked for."""

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
        slots = {*props, names.LENGTH_MIN, names.LENGTH_MAX, names.INAPPLICABLE, names.UNDECIDED} if props else None
        exact = None if literals is None else frozenset(literals)
        # A pattern asked for the first time is read narrowly, the second time in full and kept: one answer costs what it
        # shows, and many answers in one process cost little each (measured in tests/bench). From afar all is read at once.
        new = [p for p in patterns if p not in self._rows]
        narrow = slots is not None and not self.store.far
        first = [p for p in new if narrow and p not in self._met]
        again = [p for p in new if not narrow or p in self._met]
        self._met.update(patterns)
        self._rows |= self._select(again, [self._query(again, "", _GRAPHS)])
        rows = self._rows | self._select(first, self._queries(first, slots, exact))
        out = {}
        for pattern in patterns:
            collected = _Collected()
            for g, f, v in rows[pattern]:
                if adopted_only and g in _DEEPER:
                    continue
                if (f, v) in exact if exact is not None and g in _EXACT else slots is None or f in slots:
                    collected.put(g, f, v)
            out[pattern] = collected.record(pattern, self.vocabulary)
        return out

    def _select(self, patterns: Sequence[str], queries: Iterable[str]) -> dict[str, tuple[tuple[str, str, str], ...]]:
        """pattern -> its rows (graph, property, value), in the order of the answers."""
        read: dict[str, list[tuple[str, str, str]]] = {p: [] for p in patterns}
        if patterns:
            for query in queries:
                for row in self.store.select(query):
                    read[row["p"].short].append((row["g"].short, row["f"].short, row["v"].short))
        return {p: tuple(rows) for p, rows in read.items()}

    def _queries(
        self,
        patterns: Sequence[str],
        slots: Iterable[str] | None,
        literals: Iterable[Condition] | None,
    ) -> Iterable[str]:
        wanted = values("f", sorted(slots)) if slots else ""
        if literals is None:
            yield self._query(patterns, wanted, _GRAPHS)
            return
        pairs = " ".join(f"({term(f)} {term(v)})" for f, v in sorted(literals))
        yield self._query(patterns, f"VALUES (?f ?v) {{ {pairs} }}", sorted(_EXACT))
        yield self._query(patterns, wanted, _ASIDE)

    @staticmethod
    def _query(patterns: Sequence[str], wanted: str, graphs: Iterable[str]) -> str:
        """One look-up by subject and property for each pair, whatever the number of graphs: they are filtered afterwards."""
        inside = ", ".join(term(g) for g in graphs)
        body = (
            f"SELECT ?p ?g ?f ?v WHERE {{\n  {values('p', list(patterns))}\n  {wanted}\n"
            f"  GRAPH ?g {{ ?p ?f ?v }}\n  FILTER(?g IN ({inside}))\n}}\n"
        )
        return prologue(body) + body

    def witnesses(self, subject: str, prop: str) -> tuple[Witness, ...]:
        """Who says anything of a pattern or kind under one property, ordered by source. ``bl:hasPart`` includes denials."""
        modes = self.modes(prop)
        if self.store.far:
            self.foresee([subject, *self._coming])
            return tuple(Witness(s, text, modes[f], v) for s, f, v, text in self._said[subject] if f in modes)
        body = (
            "SELECT ?s ?f ?v ?text WHERE {\n"
            f"  {values('f', list(modes))}\n"
            f"  GRAPH ?s {{ {term(subject)} ?f ?v }}\n"
            "  GRAPH graph:terms { ?s rdfs:label ?text }\n}\nORDER BY ?s ?f ?v\n"
        )
        out = []
        for row in self.store.select(prologue(body) + body):
            value = row["v"].short if row["v"].kind == "iri" else row["v"].value
            out.append(Witness(row["s"].short, row["text"].value, modes[row["f"].short], value))
        return tuple(out)

    def foresee(self, subjects: Iterable[str]) -> None:
        """Reads at once all that is said of subjects whose witnesses will be asked for, if the store is far; else nothing."""
        wanted = sorted({*subjects} - self._said.keys()) if self.store.far else []
        if not wanted:
            return
        body = (
            f"SELECT ?x ?s ?f ?v ?text WHERE {{\n  {values('x', wanted)}\n  GRAPH ?s {{ ?x ?f ?v }}\n"
            "  GRAPH graph:terms { ?s rdfs:label ?text }\n}\nORDER BY ?s ?f ?v\n"
        )
        self._said |= {subject: [] for subject in wanted}
        for row in self.store.select(prologue(body) + body):
            value = row["v"].short if row["v"].kind == "iri" else row["v"].value
            self._said[row["x"].short].append((row["s"].short, row["f"].short, value, row["text"].value))

    def modes(self, prop: str) -> dict[str, str]:
        """The properties under which something is said of ``prop`` -> how it is said there: is, some or not."""
        local = prop.split(":", 1)[1]
        modes = {prop: "is", f"some:{local}": "some", f"not:{local}": "not"}
        return modes | {f.name: "not" for f in self.vocabulary.features.values() if f.denies == prop}

    def line(self, pattern: str, facts: PatternFacts) -> list[str]:
        """The pattern, its parents, its kind and broader kinds: where an inherited fact may have been said."""
        kinds = [v for f, v in (facts.known.holds or facts.levels) if f == names.OF_KIND]
        kinds.sort(key=lambda k: -len(self.vocabulary.ancestors(k)))
        line = [pattern, *self.vocabulary.ancestors(pattern), *kinds]
        self._coming.update(line)
        return line

    def support(self, pattern: str, literal: Condition, facts: PatternFacts) -> tuple[str, tuple[Witness, ...]]:
        """(subject the fact was said of, witnesses for it). A source that says a broader value supports the narrower."""
        prop, value = literal
        allowed = {value, *self.vocabulary.ancestors(value)}
        level = facts.levels.get(literal, "")
        line = self.line(pattern, facts)
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
