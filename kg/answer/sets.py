"""Sets of patterns as bits: how a question is judged in a catalogue of many thousand patterns.

``kg.sparql.filters`` writes one query for a whole question, and the store judges every pattern anew each time. Here each
look-up of that query (one graph, one property, one value) is asked by itself, kept as a set, and the sets are combined. The
same T and F are made from the same form (``kg.truth``), so the two give the same patterns; the tests hold them against each
other. A look-up is asked once while the catalogue is open, so that later questions on the same words cost next to nothing.

A set is an integer; bit *i* stands for the pattern at place *i*, and places go by label. ``KEPT`` bounds the memory.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cached_property, reduce
from math import inf, nextafter
from operator import and_, or_
from pathlib import Path

from kg import names
from kg.answer.kept_sets import FILE, KeptSets, write_sets
from kg.sparql.filters import DENIED, HOLDS, OPEN, VARIES
from kg.sparql.terms import prologue, term
from kg.store import Store
from kg.truth import (
    INAPPLICABLE,
    All,
    AnyOf,
    Constant,
    Elsewhere,
    Form,
    Includes,
    Interval,
    Is,
    Lengths,
    Member,
    OneOf,
    Stated,
    domain,
    elsewhere,
    opened,
)
from kg.vocabulary import Vocabulary

KEPT = 4096
"""So many look-ups are kept; at 100,000 patterns each takes 12.5 kB at most."""


class PatternSets:
    """The patterns of one catalogue, and which of them hold what."""

    def __init__(self, store: Store, vocabulary: Vocabulary, file: Path | None = None) -> None:
        """``file``: the sets on disk (``kg.answer.kept_sets``), if there may be any."""
        self.store = store
        self.vocabulary = vocabulary
        self.names = in_places(vocabulary)
        self.place: dict[str, int] = {name: i for i, name in enumerate(self.names)}
        self.all = (1 << len(self.names)) - 1
        base = names.PREFIXES["bl"]
        self._of_iri = {base + name.split(":", 1)[1]: i for name, i in self.place.items()}
        self._file = KeptSets.open(file, self.names) if file is not None else None
        self._kept: dict[tuple[str, ...], int] = {}
        self._values: dict[tuple[str, str], dict[str, int]] = {}

    # --- sets ------------------------------------------------------------------------------------------------------
    def bits(self, places: Iterable[int]) -> int:
        """The set of some places."""
        buffer = bytearray(len(self.names) // 8 + 1)
        for place in places:
            buffer[place >> 3] |= 1 << (place & 7)
        return int.from_bytes(buffer, "little")

    def of(self, patterns: Iterable[str]) -> int:
        """The set of some patterns; names that are no pattern are left out."""
        return self.bits(self.place[p] for p in patterns if p in self.place)

    def places(self, bits: int) -> Iterator[int]:
        """The places in a set, ascending."""
        digits = bin(bits)[:1:-1]  # of all ways to walk through a large integer the one that leaves the work to the library
        place = digits.find("1")
        while place >= 0:
            yield place
            place = digits.find("1", place + 1)

    def _bytes(self, bits: int) -> bytes:
        """A set for looking at one place after the other: place *i* is bit ``i & 7`` of byte ``i >> 3``."""
        return bits.to_bytes(len(self.names) // 8 + 1, "little")

    def contains(self, bits: int) -> Callable[[str], bool]:
        """A test whether a pattern is in a set, for many patterns."""
        held, place = self._bytes(bits), self.place
        return lambda name: bool(held[place[name] >> 3] >> (place[name] & 7) & 1)

    def named(self, bits: int) -> list[str]:
        """The patterns in a set, by label."""
        return [self.names[i] for i in self.places(bits)]

    def found(self, graph: str, prop: str, value: str) -> int:
        """The patterns with this fact in a graph."""
        key = (graph, prop, value)
        kept = self._kept.get(key)
        if kept is None and self._file is not None and (kept := self._file.found(graph, prop, value)) is not None:
            self._keep(key, kept)
        if kept is None:
            predicate = "a" if prop == names.TYPE else term(prop)
            kept = self._asked(key, f"SELECT ?p WHERE {{ GRAPH {term(graph)} {{ ?p {predicate} {term(value)} }} }}\n")
        return kept

    def _asked(self, key: tuple[str, ...], body: str) -> int:
        of = self._of_iri
        rows = self.store.texts(prologue(body) + body)
        return self._keep(key, self.bits([of[iri] for (iri,) in rows if iri in of]))

    def _keep(self, key: tuple[str, ...], bits: int) -> int:
        if len(self._kept) >= KEPT:
            self._kept.clear()
        self._kept[key] = bits
        return bits

    def valued(self, graph: str, prop: str) -> dict[str, int]:
        """value -> the patterns with it in a graph; for graphs that say little (what varies)."""
        kept = self._values.get((graph, prop))
        if kept is None and self._file is not None:
            kept = self._values[graph, prop] = {v: self.found(graph, prop, v) for v in self._file.values(graph, prop)}
        if kept is None:
            body = f"SELECT ?p ?v WHERE {{ GRAPH {term(graph)} {{ ?p {term(prop)} ?v }} }}\n"
            places: dict[str, list[int]] = {}
            for iri, value in self.store.texts(prologue(body) + body):
                if iri in self._of_iri:
                    places.setdefault(names.shown(value), []).append(self._of_iri[iri])
            kept = self._values[graph, prop] = {value: self.bits(found) for value, found in sorted(places.items())}
        return kept

    @cached_property
    def variants(self) -> dict[int, int]:
        """Place of a variant -> place of the pattern that it is a variant of."""
        broader = ((i, self.vocabulary.terms[name].broader) for name, i in self.place.items())
        return {i: self.place[b] for i, b in broader if b in self.place}

    @cached_property
    def variant_bits(self) -> int:
        return self.bits(self.variants)

    @cached_property
    def lengths(self) -> tuple[tuple[int, float, float], ...]:
        """(place, shortest, longest) in millimetres, of every pattern with a length on record."""
        if self._file is not None and (known := self._file.lengths()) is not None:
            return known
        body = f"SELECT ?p ?low ?high WHERE {{ GRAPH {HOLDS} {{ ?p {names.LENGTH_MIN} ?low ; {names.LENGTH_MAX} ?high }} }}\n"
        rows = self.store.texts(prologue(body) + body)
        return tuple((self._of_iri[iri], float(low), float(high)) for iri, low, high in rows if iri in self._of_iri)

    # --- judging ---------------------------------------------------------------------------------------------------
    def judged(self, form: Form) -> tuple[int, int]:
        """(patterns of which the form is true, of which it is neither true nor false)."""
        true = self.true(form)
        return true, self.all & ~self.false(opened(form)) & ~true

    def true(self, form: Form) -> int:
        match form:
            case All(items):
                return self._and(self.true(i) for i in items)
            case AnyOf(items):
                return self._or(self.true(i) for i in items)
            case Member(category, _):
                return self.found(HOLDS, names.TYPE, category)
            case OneOf(slot, allowed):
                return self._one_of(slot, allowed)
            case Includes(feature, value, positive):
                return self.found(HOLDS, feature, value) if positive else self._missing(feature, value)
            case Is() | Constant() | Stated() | Elsewhere():
                return self._known(form)
            case Lengths(intervals):
                return self._within(intervals)
        raise TypeError(f"no set for {form!r}")

    def false(self, form: Form) -> int:
        match form:
            case All(items):
                return self._or(self.false(i) for i in items)
            case AnyOf(items):
                return self._and(self.false(i) for i in items)
            case OneOf(slot, allowed):
                return self._one_of(slot, domain(slot, self.vocabulary) - allowed)
            case Includes(feature, value, positive):
                return self._missing(feature, value) if positive else self.found(HOLDS, feature, value)
            case Is() | Constant() | Stated() | Elsewhere():
                return self.all & ~self._known(form)
            case Lengths(intervals):
                return self._apart(intervals) if intervals else self.all
        raise TypeError(f"no set for {form!r}")

    def _and(self, sets: Iterable[int]) -> int:
        return reduce(and_, sets, self.all)

    def _or(self, sets: Iterable[int]) -> int:
        return reduce(or_, sets, 0)

    def _held(self, prop: str, values: Iterable[str]) -> int:
        return self._or(self.found(HOLDS, prop, v) for v in values)

    def _one_of(self, slot: str, allowed: frozenset[str]) -> int:
        """Every value still possible for the slot is among ``allowed``."""
        if allowed >= domain(slot, self.vocabulary):
            return self.all
        if not allowed:
            return 0
        if slot not in self.vocabulary.features:
            return self.found(HOLDS, min(allowed), slot)
        named = sorted(v for v in allowed if v in self.vocabulary.terms)
        inside = [v for v in named if self.vocabulary.subtree(v) <= allowed]
        out = self._held(slot, [v for v in inside if self.vocabulary.terms[v].broader not in inside])
        if inside and len(self.vocabulary.values_of(slot)) > 1:
            out |= self._varies_within(slot, frozenset(inside))
        if INAPPLICABLE in allowed:
            out |= self.found(HOLDS, names.INAPPLICABLE, slot)
        return out | self._only_rest_denied(slot, allowed)

    def _varies_within(self, slot: str, inside: frozenset[str]) -> int:
        """Two or more values vary between pieces, and all of them are among ``inside``."""
        one = many = outside = 0
        for value, bits in self.valued(VARIES, slot).items():
            many |= one & bits
            one |= bits
            outside |= 0 if value in inside else bits
        return many & ~outside

    def _only_rest_denied(self, slot: str, allowed: frozenset[str]) -> int:
        """All that is not allowed is expressly denied: "no groove" excludes every groove."""
        outside = domain(slot, self.vocabulary) - allowed
        if not outside or not all(v in self.vocabulary.terms for v in outside):
            return 0
        return self._and(self._denied(slot, v) for v in outside if self.vocabulary.terms[v].broader not in outside)

    def _denied(self, feature: str, value: str) -> int:
        out = self._or(self.found(DENIED, feature, v) for v in (value, *self.vocabulary.ancestors(value)))
        entry = self.vocabulary.features.get(feature)
        if entry is not None and entry.applies and not entry.single:
            out |= self.found(HOLDS, names.INAPPLICABLE, feature)
        return out

    def _within(self, intervals: tuple[Interval, ...]) -> int:
        """The patterns whose sizes all lie in one of the intervals."""
        key = ("within", repr(intervals))
        if key not in self._kept:
            ends = [_closed(i) for i in intervals]
            found = (self.bits([i for i, low, high in self.lengths if a <= low and high <= b]) for a, b in ends)
            return self._keep(key, self._or(found))
        return self._kept[key]

    def _apart(self, intervals: tuple[Interval, ...]) -> int:
        """The patterns no size of which lies in any of the intervals."""
        key = ("apart", repr(intervals))
        if key not in self._kept:
            ends = [_closed(i) for i in intervals]
            found = (self.bits([i for i, low, high in self.lengths if high < a or b < low]) for a, b in ends)
            return self._keep(key, self._and(found))
        return self._kept[key]

    def _missing(self, feature: str, value: str) -> int:
        return self._denied(feature, value) & ~self.found(HOLDS, feature, value)

    def _known(self, form: Is | Constant | Stated | Elsewhere) -> int:
        match form:
            case Constant(value):
                return self.all if value > 0 else 0
            case Stated(slot, positive):
                found = self._stated(slot)
            case Elsewhere(slot, values, positive):
                others = elsewhere(slot, values, self.vocabulary)
                found = self._or(self.found(g, slot, v) for g in (HOLDS, VARIES) for v in others)
            case Is(pattern, positive):
                found = self.of(self.vocabulary.subtree(pattern))
        return found if positive else self.all & ~found

    def _stated(self, slot: str) -> int:
        if slot == names.LENGTH:
            return self.bits(i for i, _, _ in self.lengths)
        rest = self.found(HOLDS, names.INAPPLICABLE, slot) | self.found(OPEN, names.UNDECIDED, slot)
        if slot not in self.vocabulary.features:
            return rest | self._or(self.found(g, part, slot) for g in (HOLDS, VARIES, DENIED) for part in names.PARTS)
        for graph in (HOLDS, VARIES, DENIED):
            if self._file is not None:
                rest |= self._or(self.found(graph, slot, v) for v in self._file.values(graph, slot))
                continue
            key = (graph, slot)
            kept = self._kept.get(key)
            if kept is None:
                kept = self._asked(key, f"SELECT DISTINCT ?p WHERE {{ GRAPH {graph} {{ ?p {term(slot)} ?v }} }}\n")
            rest |= kept
        return rest

    # --- order -----------------------------------------------------------------------------------------------------
    def in_order(self, bits: int, first: int, size: int | None) -> list[str]:
        """A page of a set by label, each variant after its parent if that is in the set too. ``size`` None: all from there.

        The order is total: that of the labels from the root of each family downwards.
        """
        children: dict[int, list[int]] = {}
        held = self._bytes(bits)
        for i in self.places(bits & self.variant_bits):
            above = self.variants.get(i)
            while above is not None and not held[above >> 3] >> (above & 7) & 1:  # a family may have lost its middle
                above = self.variants.get(above)
            if above is not None:
                children.setdefault(above, []).append(i)
        below = self.bits(i for under in children.values() for i in under)
        end = None if size is None else first + size
        out: list[str] = []
        for root in self.places(bits & ~below):
            stack = [root]
            while stack:
                place = stack.pop()
                out.append(self.names[place])
                stack += reversed(children.get(place, ()))
            if end is not None and len(out) >= end:
                break
        return out[first:end]

    def folded_count(self, bits: int) -> int:
        """Patterns of a set that are no variant of another one in it."""
        held, above = self._bytes(bits), self.variants
        under = sum(held[above[i] >> 3] >> (above[i] & 7) & 1 for i in self.places(bits & self.variant_bits))
        return bits.bit_count() - under

    def first_named(self, bits: int, size: int) -> list[str]:
        """The first of a set by name, as many as wanted."""
        if bits.bit_count() <= 16 * max(size, 1):
            return sorted(self.named(bits))[:size]
        held = self._bytes(bits)
        out: list[str] = []
        for place in self._by_name:
            if len(out) == size:
                break
            if held[place >> 3] >> (place & 7) & 1:
                out.append(self.names[place])
        return out

    @cached_property
    def _by_name(self) -> Sequence[int]:
        return [self.place[name] for name in sorted(t.name for t in self.vocabulary.by_role("pattern"))]


def in_places(vocabulary: Vocabulary) -> tuple[str, ...]:
    """The patterns in the order of their places: by label, and by name where that is the same."""
    return tuple(t.name for t in sorted(vocabulary.by_role("pattern"), key=lambda t: (t.label.casefold(), t.name)))


def keep_sets(folder: Path, quads: Path, vocabulary: Vocabulary) -> None:
    """Writes the sets beside the store in ``folder``, from the quads that it was made from. Raises OSError or InputError."""
    write_sets(folder / FILE, quads, in_places(vocabulary))


def _closed(interval: Interval) -> tuple[float, float]:
    """The least and the greatest number in an interval."""
    low, low_in, high, high_in = interval
    return low if low_in else nextafter(low, inf), high if high_in else nextafter(high, -inf)
