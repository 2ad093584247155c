"""Reads from the store what is recorded of given patterns: facts with their level, witnesses, disputes.

Everything is asked with templates over the named graphs of the closure (see ``kg.closure``), so an embedded and a remote
store give the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from kg import names
from kg.columns import ASIDE, Columns, Row
from kg.evidence_levels import BASES, LEVELS
from kg.records import Record, field, record
from kg.sparql.terms import prologue, term, values
from kg.store import Store, short
from kg.truth import Known
from kg.vocabulary import Condition, Vocabulary

_DEEPER = frozenset(["graph:inferred", *BASES, "graph:holds"])
"""What is inferred and what facts rest on."""
_EXACT = frozenset(["graph:holds", *LEVELS, *BASES])
"""What holds, where a caller may want some literals only."""
_ASIDE = ASIDE
_ALL = _EXACT | _ASIDE
Column = tuple[str, str]
"""What is read of a pattern at once: a literal; ("exact", property): what holds under it; or one of these three."""
_WHOLE, _ADOPTED, _BESIDE = ("whole", ""), ("adopted", ""), ("aside", "")
_LENGTHS = frozenset([names.LENGTH_MIN, names.LENGTH_MAX])
KEPT = 20_000
"""The rows of so many patterns are remembered at most, and of so many subjects of witnesses."""
MADE = 5_000
"""So many records are remembered."""
FEW = 40
"""The facts of so many patterns are read by pattern, those of more by property."""


@record
class PatternFacts(Record):
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


@record
class Witness(Record):
    """A source that says something: ``name`` its short name, ``text`` its citation, ``mode`` is/some/not, ``value`` what."""

    name: str
    text: str
    mode: str
    value: str


class FactReader:
    """Reads facts from a store, for one vocabulary. What was read is kept: a closure does not change while it is open.

    Only the columns that are asked for are read: one answer costs what it shows. ``KEPT`` bounds what is remembered.
    """

    def __init__(self, store: Store, vocabulary: Vocabulary, kept: Columns | None = None) -> None:
        """``kept``: the facts of the store as the closure keeps them, which saves asking for them."""
        self.store = store
        self.vocabulary = vocabulary
        self._columns = kept
        self._kept: dict[str, dict[Column, list[Row]]] = {}
        self._made: dict[tuple[tuple[Column, ...], frozenset[str], bool], dict[str, PatternFacts]] = {}
        self._count = 0
        self._table: _Table | None = None
        self._modes: dict[str, dict[str, str]] = {}
        self._said: dict[str, dict[str, list[tuple[int, str, str, str]]]] = {}
        self._told: dict[tuple[str, str], tuple[Witness, ...]] = {}
        self._coming: set[str] = set()
        """Whose witnesses will probably be asked for; from a far store they are read together."""

    def facts(
        self,
        patterns: Sequence[str],
        props: Iterable[str] | None = None,
        *,
        literals: Iterable[Condition] | None = None,
        adopted_only: bool = False,
    ) -> dict[str, PatternFacts]:
        """pattern -> what is recorded, in the order given. The records are shared by all who ask; nobody changes them.

        ``props``: only these properties (None: all); ``literals``: of what holds only these (property, value) pairs;
        ``adopted_only``: leave out what was inferred and what facts rest on.
        """
        if not patterns:
            return {}
        slots: set[str] = set()
        if props is None:
            columns = [_ADOPTED if adopted_only else _WHOLE]
        else:
            slots = {*props, names.LENGTH_MIN, names.LENGTH_MAX, names.INAPPLICABLE, names.UNDECIDED}
            columns = [("exact", f) for f in sorted(slots)] if literals is None else sorted(literals)
            columns.append(_BESIDE)
        made = self._made.setdefault((tuple(columns), frozenset(slots), adopted_only), {})
        new = [p for p in patterns if p not in made]
        rows = self._rows_of(new, columns, slots) if new else None
        for pattern in new:
            assert rows is not None
            collected = _Collected()
            for graph, prop, value in rows(pattern):
                if not (slots and graph in _ASIDE and prop not in slots) and not (adopted_only and graph in _DEEPER):
                    collected.put(graph, prop, value)
            made[pattern] = collected.record(pattern, self.vocabulary)
        out = {p: made[p] for p in patterns}
        self._count += len(new)
        if self._count > MADE:
            self._made.clear()
            self._count = 0
        return out

    def _rows_of(self, patterns: Sequence[str], columns: Sequence[Column], slots: set[str]) -> Callable[[str], Sequence[Row]]:
        """What gives the rows of a pattern in these columns: from memory as far as it is there, else from the store."""
        if self._table:
            return self._table.of(columns)
        if self._columns is None or not all(p in self._columns.place for p in patterns):
            return self._read(patterns, columns)
        if not slots:
            whole, place = self._columns.whole, self._columns.place
            return lambda pattern: whole(place[pattern])
        return (_of_few if len(patterns) <= FEW else _of_many)(self._columns, columns, slots)

    def _read(self, patterns: Sequence[str], columns: Sequence[Column]) -> Callable[[str], list[Row]]:
        """What gives the rows of a pattern in these columns, after reading those that are missing. Nothing is kept of a reading
        that fails."""
        if self.store.far and columns != [_WHOLE]:  # from afar all is read at once
            whole, asked = self._read(patterns, [_WHOLE]), frozenset(columns)
            return lambda pattern: [row for row in whole(pattern) if not asked.isdisjoint(_columns(row))]
        if len(self._kept) + len(patterns) > KEPT:
            self._kept.clear()
        wanted = frozenset(columns)
        missing = {p: wanted.difference(self._kept.get(p, ())) for p in patterns}
        new = [p for p, lacking in missing.items() if lacking]
        lacking = sorted(frozenset().union(*missing.values()))
        read: dict[str, dict[Column, list[Row]]] = {p: {c: [] for c in lacking} for p in new}
        for pattern, rows in self._rows(new, lacking) if new else ():
            found = read[pattern]
            for row in rows:
                for column in _columns(row):
                    if column in found:
                        found[column].append(row)
        for pattern, found in read.items():
            self._kept.setdefault(pattern, {}).update(found)
        return lambda pattern: [row for column in columns for row in self._kept[pattern][column]]

    def _rows(self, patterns: Sequence[str], columns: Sequence[Column]) -> Iterator[tuple[str, list[Row]]]:
        """(pattern, its rows), read with one query: one result a pattern, since each costs as much as its whole text."""
        looks = []
        for kind, name in columns:
            if kind == "exact":
                looks.append(f"GRAPH ?g {{ ?p {_predicate(name)} ?v }} BIND({term(name)} AS ?f)")
            elif (kind, name) == _BESIDE:
                looks.append(f"{values('g', sorted(_ASIDE))} GRAPH ?g {{ ?p ?f ?v }}")
            elif (kind, name) == _WHOLE:
                looks.append("GRAPH ?g { ?p ?f ?v }")
            elif (kind, name) == _ADOPTED:
                looks.append(f"GRAPH ?g {{ ?p ?f ?v }} FILTER(?g IN ({_listed(_ALL - _DEEPER)}))")
            else:
                looks.append(
                    f"GRAPH ?g {{ ?p {_predicate(kind)} {term(name)} }} BIND({term(kind)} AS ?f) BIND({term(name)} AS ?v)"
                )
        # These graphs hold names and numbers alone; a source's own words could look like a line. What is looked for in certain
        # graphs needs no second filter, which costs a fifth of the whole.
        only = "" if {*columns} <= {_BESIDE, _ADOPTED} else f"  FILTER(?g IN ({_listed(_ALL)}))\n"
        body = (
            'SELECT ?p (GROUP_CONCAT(CONCAT(STR(?g), " ", STR(?f), " ", STR(?v)); SEPARATOR="\\n") AS ?all) WHERE {\n'
            f"  {values('p', list(patterns))}\n  {{ " + " }\n  UNION { ".join(looks) + f" }}\n{only}}}\nGROUP BY ?p\n"
        )
        for row in self.store.select(prologue(body) + body):
            if "p" in row:  # nothing found makes one empty group
                yield row["p"].short, _split(row["all"].value)

    def read_all(self) -> None:
        """Reads the facts of the whole catalogue, for a process that asks many questions: then none needs the store for them.

        Raises QueryError. Costs as much as some hundred patterns one by one, so it is not for the largest catalogues.
        """
        if self._table is None:
            self._table = _Table(self.store)

    def witnesses(self, subject: str, prop: str) -> tuple[Witness, ...]:
        """Who says anything of a pattern or kind under one property, ordered by source. ``bl:hasPart`` includes denials."""
        known = self._told.get((subject, prop))
        if known is None:
            if self.store.far:
                self.foresee([subject, *self._coming])
            near = subject not in self._said  # then only what is asked for is read
            said = (self._sayings([subject], list(self.modes(prop))) if near else self._said)[subject]
            found = sorted((*row, mode) for f, mode in self.modes(prop).items() for row in said.get(f, ()))
            known = tuple([Witness(source, text, mode, value) for _, source, value, text, mode in found])
            if len(self._told) >= KEPT:
                self._told.clear()
            self._told[subject, prop] = known
        return known

    def foresee(self, subjects: Iterable[str]) -> None:
        """Reads all that anyone says of some patterns or kinds at once, and keeps it."""
        if len(self._said) > KEPT:
            self._said.clear()
        new = [s for s in dict.fromkeys(subjects) if s not in self._said]
        if not new:
            return
        self._said |= self._sayings(new)

    def expect(self, subjects: Iterable[str]) -> None:
        """As ``foresee``, but only from a far store: a near one gives little for little, and much more for all."""
        if self.store.far:
            self.foresee(subjects)

    def _sayings(
        self, subjects: Sequence[str], props: Sequence[str] = ()
    ) -> dict[str, dict[str, list[tuple[int, str, str, str]]]]:
        """What is said of some subjects, by subject and property; ``props``: only under these, if any are given."""
        only = f"  {values('f', props)}\n" if props else ""
        body = (
            f"SELECT ?s ?f ?v ?x ?text WHERE {{\n  {values('x', subjects)}\n{only}  GRAPH ?s {{ ?x ?f ?v }}\n"
            "  GRAPH graph:terms { ?s rdfs:label ?text }\n}\n"
        )

        def by_source(row: tuple[str, ...]) -> tuple[str, str, float, str]:
            source, prop, value = row[:3]  # lengths are in the order of numbers, all else is in that of names
            return source, prop, float(value) if short(prop) in _LENGTHS else 0.0, value

        # Sorted here: a store that compares the texts of terms takes longer to sort than to find.
        rows = sorted(self.store.texts(prologue(body) + body), key=by_source)
        read: dict[str, dict[str, list[tuple[int, str, str, str]]]] = {s: {} for s in subjects}
        for place, (source, prop, value, subject, text) in enumerate(rows):
            read[short(subject)].setdefault(short(prop), []).append((place, short(source), short(value), text))
        return read

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
        line = [pattern, *self.vocabulary.ancestors(pattern), *kinds]
        self._coming.update(line)
        return line

    def support(self, pattern: str, literal: Condition, facts: PatternFacts) -> tuple[str, tuple[Witness, ...]]:
        """(subject the fact was said of, witnesses for it). A source that says a broader value supports the narrower."""
        prop, value = literal
        allowed = {value, *self.vocabulary.ancestors(value)}
        level = facts.levels.get(literal, "")
        line = self.line(pattern, facts)
        self.expect(line)
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


def _predicate(prop: str) -> str:
    return "a" if prop == names.TYPE else term(prop)


def _split(text: str) -> list[Row]:
    """Lines of graph, property and value -> rows, each once."""
    return [tuple(map(short, line.split(" "))) for line in dict.fromkeys(text.split("\n"))]  # type: ignore[misc]


def _listed(graphs: Iterable[str]) -> str:
    return ", ".join(term(g) for g in sorted(graphs))


def _columns(row: Row) -> tuple[Column, ...]:
    """The columns that a row belongs to."""
    graph, prop, value = row
    if graph in _ASIDE:
        return _BESIDE, _ADOPTED, _WHOLE
    if graph in _DEEPER:
        return (prop, value), ("exact", prop), _WHOLE
    return (prop, value), ("exact", prop), _ADOPTED, _WHOLE


def _of_few(kept: Columns, columns: Sequence[Column], slots: set[str]) -> Callable[[str], list[Row]]:
    """What gives the rows of a pattern under some properties: of what holds only the literals asked for, if any are."""
    literals = {c: [] for c in columns if c[0] != "exact" and c != _BESIDE}
    every = any(kind == "exact" for kind, _ in columns)

    def rows(pattern: str) -> list[Row]:
        held: dict[Column, list[Row]] = {}
        exact, aside = [], []
        for row in kept.whole(kept.place[pattern]):
            if row[0] in _ASIDE:
                if row[1] in slots:
                    aside.append(row)
            elif every and row[1] in slots:
                exact.append(row)
            elif row[1:] in literals:
                held.setdefault(row[1:], []).append(row)
        return [row for literal in literals if literal in held for row in held[literal]] + exact + aside

    return rows


def _of_many(kept: Columns, columns: Sequence[Column], slots: set[str]) -> Callable[[str], list[Row]]:
    """The same by property: less is read if many patterns are asked for."""
    literals = [c for c in columns if c[0] != "exact" and c != _BESIDE]
    every = any(kind == "exact" for kind, _ in columns)
    held = [(row, frozenset(places)) for c in literals for row, places in kept.facts(c[0]) if row[2] == c[1]]
    held = [(row, places) for row, places in held if row[0] not in _ASIDE]
    of = [found for slot in sorted(slots) if (found := kept.of(slot) if every else kept.aside(slot))]

    def rows(pattern: str) -> list[Row]:
        place = kept.place[pattern]
        found = [row for row, places in held if place in places]
        mine = [row for rows in of if place in rows for row in rows[place]]
        mine.sort()
        if not every:
            return found + mine
        return found + [row for row in mine if row[0] not in _ASIDE] + [row for row in mine if row[0] in _ASIDE]

    return rows


class _Table:
    """All facts of all patterns: each row once, with the patterns of which it is recorded as a bit set.

    Few objects that can hold others, so that the collector of garbage has little to walk through.
    """

    def __init__(self, store: Store) -> None:
        graphs = values("g", sorted(_ALL))
        body = (
            f'SELECT ?g ?f ?v (GROUP_CONCAT(STR(?p); SEPARATOR=" ") AS ?all) WHERE {{\n  {graphs}\n'
            "  GRAPH ?g { ?p ?f ?v }\n}\nGROUP BY ?g ?f ?v\n"
        )
        rows = store.select(prologue(body) + body)
        found = [((r["g"].short, r["f"].short, r["v"].short), r["all"].value) for r in rows]
        found.sort()
        self._rows: tuple[Row, ...] = tuple(row for row, _ in found)
        self._bit: dict[str, int] = {}
        self._of: dict[Condition, tuple[int, ...]] = {}
        self._bits: list[int] = []
        self._beside: dict[str, list[Row]] = {}
        numbers: dict[str, list[int]] = {}
        for number, (row, text) in enumerate(found):
            members = set(map(short, text.split(" ")))
            for pattern in members:
                numbers.setdefault(pattern, []).append(number)
            self._bits.append(sum(self._bit.setdefault(p, 1 << len(self._bit)) for p in members))
            if row[0] in _ASIDE:
                for pattern in members:
                    self._beside.setdefault(pattern, []).append(row)
            else:
                self._of[row[1:]] = (*self._of.get(row[1:], ()), number)
        self._numbers = {pattern: tuple(found) for pattern, found in numbers.items()}

    def of(self, columns: Sequence[Column]) -> Callable[[str], list[Row]]:
        """What gives the rows of a pattern in some columns."""
        if _WHOLE in columns or _ADOPTED in columns:
            left_out = frozenset() if _WHOLE in columns else _DEEPER
            return lambda pattern: [row for n in self._numbers.get(pattern, ()) if (row := self._rows[n])[0] not in left_out]
        props = frozenset(name for kind, name in columns if kind == "exact")
        literals = [(self._rows[n], self._bits[n]) for c in columns for n in self._of.get(c, ())]
        beside = self._beside if _BESIDE in columns else {}

        def rows(pattern: str) -> list[Row]:
            bit = self._bit.get(pattern, 0)
            found = [row for row, bits in literals if bits & bit]
            if props:
                mine = (self._rows[n] for n in self._numbers.get(pattern, ()))
                found += [row for row in mine if row[1] in props and row[0] in _EXACT]
            return found + beside.get(pattern, [])

        return rows


def _in_order(found: dict[str, set[str]]) -> dict[str, tuple[str, ...]]:
    return {slot: tuple(sorted(values)) for slot, values in sorted(found.items())}


class _Collected:
    """Rows of one pattern on their way to a ``PatternFacts``."""

    def __init__(self) -> None:
        self.holds: set[Condition] = set()
        self.levels: dict[Condition, str] = {}
        self.basis: dict[Condition, str] = {}
        self.varies: dict[str, set[str]] = {}
        self.denied: dict[str, set[str]] = {}
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
            self.varies.setdefault(slot, set()).add(of_slot)
        elif graph == "graph:denied":
            self.denied.setdefault(slot, set()).add(of_slot)
        elif graph == "graph:disputed":
            self.disputed.add((prop, value))
        elif graph == "graph:contested":
            self.contested.add((prop, value))
        elif graph == "graph:open":
            self.open.add(value)

    def record(self, pattern: str, vocabulary: Vocabulary) -> PatternFacts:
        low, high = self.length.get(names.LENGTH_MIN), self.length.get(names.LENGTH_MAX)
        known = Known(
            (pattern, *vocabulary.ancestors(pattern)),
            frozenset(self.holds),
            _in_order(self.varies) if self.varies else {},
            _in_order(self.denied) if self.denied else {},
            frozenset(self.inapplicable),
            (low, high) if low is not None and high is not None else None,
            frozenset(self.open),
        )
        return PatternFacts(
            pattern, known, self.levels, self.basis, tuple(sorted(self.disputed)), tuple(sorted(self.contested))
        )
