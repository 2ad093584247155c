"""From likelihoods to probabilities: Bayes' rule with an even prior, one candidate for a pattern and its variants.

A variant is no rival of its parent: of the members of a group the best-fitting one stands for all, the parent if they fit
alike. Nothing is remembered between steps but the observations: to take one back is to leave it out and sum again.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from kg.identify.gain import lengths_apart, separates
from kg.identify.table import LENGTH, Table

SETTLED = 0.9
"""A candidate, or an inseparable group, with so much probability ends the search."""
LEADING = 0.02
"""Candidates with at least this share of the first one's probability lead."""


@dataclass(frozen=True)
class Belief:
    """``ranked``: (pattern that stands for its group, probability), most probable first, adding up to 1."""

    ranked: tuple[tuple[int, float], ...]

    @property
    def weights(self) -> dict[int, float]:
        return dict(self.ranked)

    def leading(self, most: int = 12) -> list[int]:
        """The candidates near the first one, at most ``most``."""
        first = self.ranked[0][1]
        return [i for i, p in self.ranked[:most] if p >= LEADING * first]

    def place(self, table: Table, pattern: int) -> tuple[int, float]:
        """(rank from 1, probability) of the group that a pattern belongs to."""
        group = table.group_of[pattern]
        return next((n, p) for n, (i, p) in enumerate(self.ranked, 1) if table.group_of[i] == group)


def believe(table: Table, likelihoods: Iterable[Sequence[float]]) -> Belief:
    """The probabilities of all candidates, given the likelihood of each observation for each pattern."""
    score = [0.0] * len(table.patterns)
    for row in likelihoods:
        score = [s + math.log(x) for s, x in zip(score, row, strict=True)]
    best = [max(members, key=lambda i: round(score[i], 9)) for members in table.groups]
    top = max(score[i] for i in best)
    mass = [math.exp(score[i] - top) for i in best]
    total = sum(mass)
    ranked = sorted(
        zip(best, (m / total for m in mass), strict=True), key=lambda pair: (-round(pair[1], 12), table.patterns[pair[0]])
    )
    return Belief(tuple(ranked))


def inseparable_from(table: Table, first: int, others: Iterable[int], closed: Collection[str] = ()) -> list[int]:
    """Those of ``others`` that no recorded fact tells from ``first``, nor from each other, in order; ``first`` leads."""
    out = [first]
    for other in others:
        if other != first and all(_same(table, other, one, closed) for one in out):
            out.append(other)
    return out


def _same(table: Table, one: int, two: int, closed: Collection[str]) -> bool:
    if LENGTH not in closed and lengths_apart(table, one, two):
        return False
    return not any(separates(s, one, two) for s in table.slots.values() if s.name not in closed)


def inseparable_groups(table: Table, belief: Belief, closed: Collection[str] = ()) -> list[list[int]]:
    """The leading candidates in groups that no recorded fact tells apart; groups of one are left out."""
    left = belief.leading()
    groups = []
    while left:
        group = inseparable_from(table, left[0], left, closed)
        if len(group) > 1:
            groups.append(group)
        left = [i for i in left if i not in group]
    return groups


def settled(table: Table, belief: Belief, more: bool, closed: Collection[str]) -> str:
    """Whether the search is at its end, and how; see ``Identification.settled``. ``more``: something is left to look at."""
    first, probability = belief.ranked[0]
    if probability >= SETTLED:
        return "named"
    group = inseparable_from(table, first, belief.leading(), closed)
    weights = belief.weights
    if len(group) > 1 and sum(weights[i] for i in group) >= SETTLED:
        return "inseparable"
    return "" if more else "no more"
