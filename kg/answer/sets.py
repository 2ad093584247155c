"""Sets of patterns from single look-ups: how a question is judged in a catalogue of many thousand patterns.

Each look-up of the query that ``kg.sparql.filters`` writes (one graph, one property, one value) is asked by itself, kept as a
set, and the sets are combined (``kg.answer.judging``). A look-up is asked once while the catalogue is open, so that later
questions on the same words cost next to nothing. Places go by label. ``KEPT`` bounds the memory.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property
from pathlib import Path

from kg import names
from kg.answer.judging import Judging
from kg.answer.kept_sets import FILE, KeptSets, write_sets
from kg.sparql.filters import HOLDS
from kg.sparql.terms import prologue, term
from kg.store import Store
from kg.vocabulary import Vocabulary


class PatternSets(Judging):
    """The patterns of one catalogue, and which of them hold what."""

    def __init__(self, store: Store, vocabulary: Vocabulary, file: Path | None = None) -> None:
        """``file``: the sets on disk (``kg.answer.kept_sets``), if there may be any."""
        super().__init__(vocabulary, in_places(vocabulary))
        self.store = store
        base = names.PREFIXES["bl"]
        self._of_iri = {base + name.split(":", 1)[1]: i for name, i in self.place.items()}
        self._file = KeptSets.open(file, self.names) if file is not None else None
        self._values: dict[tuple[str, str], dict[str, int]] = {}

    # --- sets ------------------------------------------------------------------------------------------------------
    def _bytes(self, bits: int) -> bytes:
        """A set for looking at one place after the other: place *i* is bit ``i & 7`` of byte ``i >> 3``."""
        return bits.to_bytes(len(self.names) // 8 + 1, "little")

    def contains(self, bits: int) -> Callable[[str], bool]:
        """A test whether a pattern is in a set, for many patterns."""
        held, place = self._bytes(bits), self.place
        return lambda name: bool(held[place[name] >> 3] >> (place[name] & 7) & 1)

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

    def under(self, graph: str, prop: str) -> int:
        """The patterns of which anything is said under a property in a graph."""
        if self._file is not None:
            return self._or(self.found(graph, prop, v) for v in self._file.values(graph, prop))
        kept = self._kept.get((graph, prop))
        if kept is None:
            kept = self._asked((graph, prop), f"SELECT DISTINCT ?p WHERE {{ GRAPH {graph} {{ ?p {term(prop)} ?v }} }}\n")
        return kept

    @cached_property
    def variants(self) -> dict[int, int]:
        """Place of a variant -> place of the pattern that it is a variant of."""
        broader = ((i, self.vocabulary.broader_of(name)) for name, i in self.place.items())
        return {i: self.place[b] for i, b in broader if b in self.place}

    @cached_property
    def variant_bits(self) -> int:
        return self.bits(self.variants)

    @cached_property
    def lengths(self) -> tuple[tuple[int, float, float], ...]:  # type: ignore[override]
        """(place, shortest, longest) in millimetres, of every pattern with a length on record."""
        if self._file is not None and (known := self._file.lengths()) is not None:
            return known
        body = f"SELECT ?p ?low ?high WHERE {{ GRAPH {HOLDS} {{ ?p {names.LENGTH_MIN} ?low ; {names.LENGTH_MAX} ?high }} }}\n"
        rows = self.store.texts(prologue(body) + body)
        return tuple((self._of_iri[iri], float(low), float(high)) for iri, low, high in rows if iri in self._of_iri)

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
