"""Sets of patterns from single look-ups: how a question is judged in a catalogue of many thousand patterns.

Each look-up of the query that ``kg.sparql.filters`` writes (one graph, one property, one value) is asked by itself, kept as a
set, and the sets are combined (``kg.answer.judging``). A look-up is asked once while the catalogue is open, so that later
questions on the same words cost next to nothing. Places go by label. ``KEPT`` bounds the memory.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property
from operator import itemgetter
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
        held, end = self._bytes(bits), None if size is None else first + size
        out: list[str] = []
        variants, parents = self.variants, self._children
        for root in self.places(bits):
            if root in variants and self._is_below(root, held):
                continue
            stack = [root] if root in parents else []
            if not stack:
                out.append(self.names[root])
            while stack:
                place = stack.pop()
                out.append(self.names[place])
                if place in parents:
                    stack += reversed(self._next_below(place, held))
            if end is not None and len(out) >= end:
                break
        return out[first:end]

    def _is_below(self, place: int, held: bytes) -> bool:
        """Whether a pattern is a variant, of any degree, of another one of a set."""
        above = self.variants.get(place)
        while above is not None:
            if held[above >> 3] >> (above & 7) & 1:
                return True
            above = self.variants.get(above)
        return False

    def _next_below(self, place: int, held: bytes) -> list[int]:
        """The variants of a pattern that are in a set, ascending; those of one that is not stand in its place."""
        out: list[int] = []
        for child in self._children.get(place, ()):
            out += [child] if held[child >> 3] >> (child & 7) & 1 else self._next_below(child, held)
        return sorted(out)

    @cached_property
    def _children(self) -> dict[int, list[int]]:
        """Place of a pattern -> those of its variants, ascending."""
        out: dict[int, list[int]] = {}
        for place, above in sorted(self.variants.items()):
            out.setdefault(above, []).append(place)
        return out

    def folded_count(self, bits: int) -> int:
        """Patterns of a set that are no variant of another one in it."""
        if len(self.variants) < 2:
            held = self._bytes(bits)
            both = [i for i, a in self.variants.items() if held[i >> 3] >> (i & 7) & held[a >> 3] >> (a & 7) & 1]
            return bits.bit_count() - len(both)
        digits = bin(bits | 1 << len(self.names))[:1:-1]  # all ways round that leave the work to the library
        own, above = ("".join(pick(digits)) for pick in self._pick)
        return bits.bit_count() - (int(own, 2) & int(above, 2)).bit_count()

    @cached_property
    def _pick(self) -> tuple[itemgetter, itemgetter]:
        """What picks from a row with one entry a place those of all variants, and those of what each is a variant of."""
        return itemgetter(*self.variants), itemgetter(*self.variants.values())

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
