"""Smallest hitting sets: given rows of numbers, all smallest sets of numbers that share one with every row.

The search is exact and bounded by ``MAX_SIZE`` numbers in a set, ``MAX_STEPS`` branches and ``MAX_SETS`` sets.
"""

from __future__ import annotations

from collections.abc import Sequence

MAX_SIZE = 12
MAX_STEPS = 20_000
MAX_SETS = 200


def smallest_hitting_sets(rows: Sequence[frozenset[int]]) -> tuple[list[tuple[int, ...]], bool]:
    """(all smallest sets that meet every row, sorted; whether no bound was met). No rows give no set.

    Raises ValueError for an empty row, which nothing can meet.
    """
    if any(not row for row in rows):
        raise ValueError("an empty row cannot be met")
    if not rows:
        return [], True
    for size in range(1, MAX_SIZE + 1):
        search = _Search(rows)
        search.extend(frozenset(), frozenset(), size)
        if search.found or not search.complete:
            return sorted(tuple(sorted(s)) for s in search.found)[:MAX_SETS], search.complete and len(search.found) <= MAX_SETS
    return [], False


class _Search:
    """All hitting sets of one size, each met once: a column tried before is barred in the later branches."""

    def __init__(self, rows: Sequence[frozenset[int]]) -> None:
        self.rows = rows
        self.found: set[frozenset[int]] = set()
        self.steps = 0
        self.complete = True

    def extend(self, chosen: frozenset[int], barred: frozenset[int], left: int) -> None:
        self.steps += 1
        if self.steps > MAX_STEPS:
            self.complete = False
            return
        open_rows = [row - barred for row in self.rows if not row & chosen]
        if not open_rows:
            self.found.add(chosen)
            return
        if left == 0 or _disjoint(open_rows) > left:
            return
        for column in sorted(min(open_rows, key=lambda r: (len(r), sorted(r)))):
            self.extend(chosen | {column}, barred, left - 1)
            barred |= {column}


def _disjoint(rows: Sequence[frozenset[int]]) -> int:
    """A lower bound of what is still needed: so many rows have no column in common."""
    used: set[int] = set()
    count = 0
    for row in sorted(rows, key=len):
        if not row & used:
            used |= row
            count += 1
    return count
