"""Judging a question with sets of patterns: T and F of each atom as bits, put together as the description puts them.

``kg.sparql.filters`` writes one query for a whole question, and a store judges every pattern anew each time. Here the same
T and F are made from the same form (``kg.truth``), so the two give the same patterns; the tests hold them against each other.
Where the sets of the atoms come from a subclass says: from the closure's columns (``ColumnSets``), or from single look-ups in
a store of very many patterns (``kg.answer.sets``).

A set is an integer; bit *i* stands for the pattern at place *i*.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property, reduce
from math import inf, nextafter
from operator import and_, or_

from kg import names
from kg.columns import Columns
from kg.sparql.filters import DENIED, HOLDS, OPEN, VARIES
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
    Told,
    domain,
    elsewhere,
    opened,
)
from kg.vocabulary import Vocabulary

KEPT = 4096
"""So many look-ups are kept; at 100,000 patterns each takes 12.5 kB at most."""


class Judging:
    """The patterns of one catalogue in their places, and which of them fit a form."""

    def __init__(self, vocabulary: Vocabulary, named: Sequence[str]) -> None:
        """``named``: the patterns in the order of their places."""
        self.vocabulary = vocabulary
        self.names = named
        self.place: dict[str, int] = {name: i for i, name in enumerate(named)}
        self.all = (1 << len(named)) - 1
        self._kept: dict[tuple[str, ...], int] = {}

    def found(self, graph: str, prop: str, value: str) -> int:
        """The patterns with this fact in a graph."""
        raise NotImplementedError

    def valued(self, graph: str, prop: str) -> Mapping[str, int]:
        """value -> the patterns with it in a graph; for graphs that say little (what varies)."""
        raise NotImplementedError

    def under(self, graph: str, prop: str) -> int:
        """The patterns of which anything is said under a property in a graph."""
        raise NotImplementedError

    @property
    def lengths(self) -> Sequence[tuple[int, float, float]]:
        """(place, shortest, longest) in millimetres, of every pattern with a length on record."""
        raise NotImplementedError

    def _keep(self, key: tuple[str, ...], bits: int) -> int:
        if len(self._kept) >= KEPT:
            self._kept.clear()
        self._kept[key] = bits
        return bits

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

    def named(self, bits: int) -> list[str]:
        """The patterns in a set, in the order of their places."""
        return [self.names[i] for i in self.places(bits)]

    # --- judging ---------------------------------------------------------------------------------------------------
    def judged(self, form: Form) -> tuple[int, int]:
        """(patterns of which the form is true, of which it is neither true nor false)."""
        true = self.true(form)
        return true, self.all & ~self.false(opened(form)) & ~true

    def of_some(self, form: Form) -> int:
        """The patterns of which some pieces match for sure, besides those that match: all that is open of them is what is made
        one way or another, or in sizes on both sides of what is asked for. Not less what is false."""
        match form:
            case All(items):
                return self._and(self.of_some(i) for i in items)
            case AnyOf(items):
                return self._or(self.of_some(i) for i in items)
            case Member(_, definition):
                return self.true(form) | self.of_some(definition)
            case OneOf(slot) if slot in self.vocabulary.features:
                return self.true(form) | self.under(VARIES, slot) & ~self.under(OPEN, slot) & ~self.false(form)
            case OneOf(slot):
                return self.true(form) | self._or(self.found(VARIES, p, slot) for p in names.PARTS) & ~self.false(form)
            case Includes(feature, value):
                return self.true(form) | self.found(VARIES, feature, value)
            case Lengths(intervals):
                return self.true(form) | self.bits(i for i, _, _ in self.lengths) & ~self._apart(intervals)
        return self.true(form)

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
            case Is() | Constant() | Stated() | Elsewhere() | Told():
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
            case Is() | Constant() | Stated() | Elsewhere() | Told():
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
        out = self._held(slot, [v for v in inside if self.vocabulary.broader_of(v) not in inside])
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
        return self._and(self._denied(slot, v) for v in outside if self.vocabulary.broader_of(v) not in outside)

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

    def _known(self, form: Is | Constant | Stated | Elsewhere | Told) -> int:
        match form:
            case Constant(value):
                return self.all if value > 0 else 0
            case Stated(slot, positive):
                found = self._stated(slot)
            case Elsewhere(slot, values, positive):
                others = elsewhere(slot, values, self.vocabulary)
                found = self._or(self.found(g, slot, v) for g in (HOLDS, VARIES) for v in others)
            case Told(slot, value, positive):
                some = sorted(self.vocabulary.subtree(value))
                found = self.found(HOLDS, slot, value) | self._or(self.found(VARIES, slot, v) for v in some)
            case Is(pattern, positive):
                found = self.of(self.vocabulary.subtree(pattern))
        return found if positive else self.all & ~found

    def _stated(self, slot: str) -> int:
        if slot == names.LENGTH:
            return self.bits(i for i, _, _ in self.lengths)
        rest = self.found(HOLDS, names.INAPPLICABLE, slot) | self.found(OPEN, names.UNDECIDED, slot)
        if slot not in self.vocabulary.features:
            return rest | self._or(self.found(g, part, slot) for g in (HOLDS, VARIES, DENIED) for part in names.PARTS)
        return rest | self._or(self.under(graph, slot) for graph in (HOLDS, VARIES, DENIED))


class ColumnSets(Judging):
    """Sets from the closure's columns; places go by name."""

    def __init__(self, vocabulary: Vocabulary, columns: Columns) -> None:
        super().__init__(vocabulary, columns.patterns)
        self._columns = columns

        self._slots: dict[tuple[str, frozenset[str]], int] = {}

    def found(self, graph: str, prop: str, value: str) -> int:
        return self._columns.sets(graph, prop).get(value, 0)

    def _one_of(self, slot: str, allowed: frozenset[str]) -> int:
        """As above, remembered: a category's conditions come with every question about it."""
        key = slot, allowed
        known = self._slots.get(key)
        if known is None:
            if len(self._slots) >= KEPT:
                self._slots.clear()
            known = self._slots[key] = super()._one_of(slot, allowed)
        return known

    def valued(self, graph: str, prop: str) -> Mapping[str, int]:
        return self._columns.sets(graph, prop)

    def under(self, graph: str, prop: str) -> int:
        return self._or(self._columns.sets(graph, prop).values())

    @cached_property
    def lengths(self) -> Sequence[tuple[int, float, float]]:  # type: ignore[override]
        ends: list[dict[int, float]] = [{}, {}]
        for of, prop in zip(ends, (names.LENGTH_MIN, names.LENGTH_MAX), strict=True):
            for (graph, _, value), places in self._columns.facts(prop):
                if graph == HOLDS:
                    of.update(dict.fromkeys(places, float(value)))
        return tuple((i, low, ends[1][i]) for i, low in ends[0].items() if i in ends[1])


def _closed(interval: Interval) -> tuple[float, float]:
    """The least and the greatest number in an interval."""
    low, low_in, high, high_in = interval
    return low if low_in else nextafter(low, inf), high if high_in else nextafter(high, -inf)
