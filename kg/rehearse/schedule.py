"""Which questions are asked, in which order: seeded, an instrument at a time, weighted to what is easily confused.

An examiner stays with one instrument for a few questions, and the next one is often a look-alike of the last: mixing what is
easily confused helps people tell it apart (Brunmair and Richter, 2019, doi 10.1037/bul0000209: strongest where categories are
alike), and being asked beats reading again (Pan and Rickard, 2018). What was missed comes back, at even distances (Latimier,
Peyre and Ramus, 2021: growing distances are no better). None of this measures what anybody learns from Boxlock.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from kg.answer.context import Context
from kg.answer.lookalikes import look_alike_pairs
from kg.rehearse.records import Item
from kg.rehearse.settings import Settings
from kg.rehearse.tasks import Tasks

MOST_ALIKE = 4


class Rehearsal:
    """Makes rehearsals for one catalogue."""

    def __init__(self, ctx: Context, settings: Settings) -> None:
        self.ctx = ctx
        self.settings = settings
        self.tasks = Tasks(ctx, settings)
        self._pairs: dict[str, set[str]] | None = None

    def items(
        self, patterns: Iterable[str], count: int, seed: int, *, missed: Mapping[str, float] | None = None
    ) -> tuple[Item, ...]:
        """At most ``count`` questions on these patterns, the same for the same seed and ``missed``.

        ``missed``: label of a pattern -> how much was missed when it was last asked (0 to 1 and more), see ``Past.missed``.
        Variants are asked about only where their parent is not among the patterns. Fewer come if the record carries no more.
        """
        pool = self._folded(patterns)
        found: list[Item] = []
        for item in self._all(pool, random.Random(f"boxlock rehearsal {seed}"), missed or {}):
            if len(found) == count:
                break
            found.append(replace(item, number=len(found) + 1))
        return tuple(found)

    def _folded(self, patterns: Iterable[str]) -> tuple[str, ...]:
        wanted = set(patterns)
        return tuple(sorted(p for p in wanted if not wanted & set(self.ctx.vocabulary.ancestors(p))))

    def _all(self, pool: Sequence[str], rng: random.Random, missed: Mapping[str, float]) -> Iterator[Item]:
        """Questions, one instrument after the other, until nothing new can be asked."""
        alike = self.look_alikes()
        openings = list(self.settings.openings)
        rng.shuffle(openings)
        asked: set[str] = set()
        left: list[str] = []
        last, chain, idle = "", 0, False
        while pool:
            if not left:
                if idle:
                    return  # a whole round brought nothing new
                left, idle = list(pool), True
            near = [p for p in left if last and p in alike.get(last, ())]
            among = near if near and rng.random() < self.settings.alike else left
            weights = [self._weight(p, alike, missed) for p in among]
            pattern = rng.choices(among, weights)[0]
            left.remove(pattern)
            new = self._chain(pattern, pool, alike, openings, asked, rng)
            openings.append(openings.pop(0))
            if new:
                idle, chain, last = False, chain + 1, pattern
                asked.update(i.key for i in new)
                yield from (replace(i, chain=chain) for i in new)

    def _weight(self, pattern: str, alike: Mapping[str, set[str]], missed: Mapping[str, float]) -> float:
        settings = self.settings
        near = min(len(alike.get(pattern, ())), MOST_ALIKE)
        return 1 + settings.look_alike_weight * near + settings.missed_weight * missed.get(self.ctx.label(pattern), 0.0)

    def _chain(
        self,
        pattern: str,
        pool: Sequence[str],
        alike: Mapping[str, set[str]],
        openings: Sequence[str],
        asked: Collection[str],
        rng: random.Random,
    ) -> list[Item]:
        """The questions on one instrument that were not asked yet: one opening, then what follows, as far as the record
        carries them."""
        first = (self.tasks.item(task, pattern, rng=rng) for task in openings)
        opening = next((i for i in first if i and i.key not in asked), None)
        out = [opening] if opening else []
        hidden = bool(opening and opening.task in ("name", "name from use"))
        near = sorted(alike.get(pattern, ()), key=lambda p: (p not in pool, p))[:MOST_ALIKE]
        other = rng.choice([p for p in near if p in pool] or near) if near else ""
        for task in self.settings.follow:
            if task == "use" and opening and opening.task == "name from use":
                continue
            item = self.tasks.item(task, pattern, other, hidden=hidden)
            if item and item.key not in asked and len(out) < self.settings.longest:
                out.append(item)
        return out

    def look_alikes(self) -> dict[str, set[str]]:
        """pattern -> its look-alikes, both ways; reckoned once."""
        if self._pairs is None:
            self._pairs = {}
            for one, two in look_alike_pairs(self.ctx):
                self._pairs.setdefault(one, set()).add(two)
                self._pairs.setdefault(two, set()).add(one)
        return self._pairs
