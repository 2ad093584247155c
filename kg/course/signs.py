"""What tells patterns of one group apart, as things to point at and as clauses to say; with what each rests on."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from kg import names
from kg.answer import Context
from kg.answer.hitting import smallest_hitting_sets
from kg.answer.lookalikes import look_alike
from kg.answer.spoken import Clause, part_noun, value_clause, varying_clause
from kg.answer.visible import Column, Table, table, value_text
from kg.course.planned import Sign
from kg.evidence_levels import BASES
from kg.facts import PatternFacts
from kg.truth import INAPPLICABLE
from kg.vocabulary import slot_of

_NOTHING = frozenset({INAPPLICABLE})
_RANKS = ("", "disputed", *BASES.values())


@dataclass(frozen=True)
class Told:
    """``signs`` are the fewest that tell a pattern from all others that can be told from it; ``same``: those that cannot."""

    signs: tuple[Sign, ...]
    same: tuple[str, ...]


class Signs:
    """Looks into the table of what can be seen, with the facts of the patterns of a topic at hand."""

    def __init__(self, ctx: Context, facts: dict[str, PatternFacts]) -> None:
        self.ctx = ctx
        self.facts = facts
        self.seen: Table = table(ctx)

    def told(self, pattern: str, others: Collection[str]) -> Told:
        """What tells a pattern from others. Of several smallest sets the one that is best witnessed, then first in order."""
        at = self.seen.index[pattern]
        wanted = self.seen.bits(others)
        columns = [c for c in self.seen.columns if c.recorded >> at & 1 and c.classes[c.of[at]] != _NOTHING]
        apart = [c.apart[c.of[at]] & c.recorded & wanted for c in columns]
        same = wanted
        for found in apart:
            same &= ~found
        rows = {frozenset(i for i, found in enumerate(apart) if found >> self.seen.index[o] & 1) for o in others}
        sets, _ = smallest_hitting_sets(sorted((r for r in rows if r), key=sorted))
        marks = [self.mark(pattern, c.slot) for c in columns]
        best = min(sets, key=lambda s: (sum(_RANKS.index(marks[i]) for i in s), s), default=())
        signs = tuple(self.sign(pattern, columns[i]) for i in best)
        return Told(signs, tuple(self.seen.names(same)))

    def best(self, pattern: str, others: Collection[str]) -> tuple[Sign, ...]:
        """For a pattern without look-alikes: the one thing on it that tells it from most of the others, the last of equals;
        none if nothing that can be seen is recorded of it."""
        at = self.seen.index[pattern]
        wanted = self.seen.bits(others)
        found = [c for c in self.seen.columns if c.there >> at & 1 and c.classes[c.of[at]] != _NOTHING]

        def worth(column: Column) -> tuple[int, int]:
            telling = column.apart[column.of[at]] & column.recorded & wanted
            return telling.bit_count(), -_RANKS.index(self.mark(pattern, column.slot))

        # Of equals the one nearest to the tip.
        chosen = max(reversed(found), key=worth, default=None)
        return () if chosen is None else (self.sign(pattern, chosen),)

    def sign(self, pattern: str, column: Column) -> Sign:
        text = value_text(self.ctx, column, self.seen.index[pattern])
        return Sign(self.ctx.label(column.slot), text, self.mark(pattern, column.slot))

    def mark(self, pattern: str, slot: str) -> str:
        """Empty, "disputed", or what the facts on a slot rest on at best, the weakest of them."""
        facts = self.facts[pattern]
        if any(slot_of(literal) == slot for literal in (*facts.disputed, *facts.contested)):
            return "disputed"
        held = {literal: basis for literal, basis in facts.basis.items() if slot_of(literal) == slot}
        if slot == names.LENGTH:
            held = {lit: b for lit, b in facts.basis.items() if lit[0] in (names.LENGTH_MIN, names.LENGTH_MAX)}
        # What is broader than a recorded value rests on as much as that; only the exact value counts.
        exact = [b for lit, b in held.items() if lit in facts.levels or slot == names.LENGTH]
        return max(exact or [""], key=_RANKS.index)

    def apart(self, one: str, two: str) -> list[Column]:
        """The columns on which two patterns are recorded to differ, in the order of a description."""
        at, other = self.seen.index[one], self.seen.index[two]
        both = [c for c in self.seen.columns if c.recorded >> at & c.recorded >> other & 1]
        return [c for c in both if c.apart[c.of[at]] >> other & 1]

    def texts(self, one: str, two: str) -> tuple[tuple[str, str, str], ...]:
        """(feature, of the one, of the other) for each difference."""
        signs = look_alike(self.ctx, self.seen, self.seen.index[one], self.seen.index[two]).signs
        slots = [c.slot for c in self.apart(one, two)]
        return tuple(
            (feature, a + self._flag(one, slot), b + self._flag(two, slot))
            for (feature, a, b), slot in zip(signs, slots, strict=True)
        )

    def clauses(self, pattern: str, columns: Sequence[Column]) -> list[str]:
        """What is recorded in some columns, each as a clause without its subject: "has a ratchet", "is curved"."""
        return [f"{self._clause(pattern, c)}{self._flag(pattern, c.slot)}" for c in columns]

    def _flag(self, pattern: str, slot: str) -> str:
        """What stands behind a value that is disputed, so that it is never said bare."""
        return " (disputed)" if self.mark(pattern, slot) == "disputed" else ""

    def _clause(self, pattern: str, column: Column) -> Clause:
        vocabulary = self.ctx.vocabulary
        content = column.classes[column.of[self.seen.index[pattern]]]
        if isinstance(content, tuple):
            low, high = content
            size = f"{low:g}" if low == high else f"{low:g} to {high:g}"
            return Clause("other", f"is {size} mm long")
        feature = vocabulary.features.get(column.slot)
        if feature is None:
            there = names.HAS_PART in content
            label = vocabulary.label(column.slot)
            return Clause("has", part_noun(column.slot, (), vocabulary)) if there else Clause("lacks", label)
        named = [v for v in content if v in vocabulary.terms]
        top = sorted(v for v in named if not any(a in content for a in vocabulary.ancestors(v)))
        if not 0 < len(top) <= 3:
            text = value_text(self.ctx, column, self.seen.index[pattern])
            return Clause("other", f"has another {vocabulary.label(column.slot)} ({text})")
        return value_clause(feature, top, vocabulary) if len(top) == 1 else varying_clause(feature, top, vocabulary)
