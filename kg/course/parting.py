"""What it is to part a topic into sessions: the task, an outcome with what was proved of it, and bounds on every plan.

Everything is counted in whole units of time (see ``kg.course.minutes``), so that sums and limits are exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

Group = tuple[int, ...]


@dataclass(frozen=True)
class Task:
    """Things with ``sizes`` (above 0), each at most ``limit``; ``pairs``: (low, high) of things that should stay together ->
    how many pairs that counts for (1, unless things stand for several)."""

    sizes: tuple[int, ...]
    pairs: Mapping[tuple[int, int], int]
    limit: int

    @cached_property
    def near(self) -> tuple[frozenset[int], ...]:
        """Thing by thing, those it should stay together with."""
        out: list[set[int]] = [set() for _ in self.sizes]
        for a, b in self.pairs:
            out[a].add(b)
            out[b].add(a)
        return tuple(frozenset(n) for n in out)

    @cached_property
    def connected(self) -> tuple[Group, ...]:
        """The groups that hang together by pairs, each sorted, in the order of their first things."""
        return connected(range(len(self.sizes)), self.near)

    def size(self, group: Iterable[int]) -> int:
        return sum(self.sizes[i] for i in group)

    def splits(self, groups: Iterable[Sequence[int]]) -> int:
        """How many pairs stand in two groups."""
        home = {i: n for n, group in enumerate(groups) for i in group}
        return sum(count for (a, b), count in self.pairs.items() if home[a] != home[b])

    def part(self, things: Sequence[int]) -> Task:
        """The task of some things alone; the things are numbered anew in the order given."""
        place = {i: n for n, i in enumerate(things)}
        pairs = {
            (min(place[a], place[b]), max(place[a], place[b])): count
            for (a, b), count in self.pairs.items()
            if a in place and b in place
        }
        return Task(tuple(self.sizes[i] for i in things), pairs, self.limit)

    def glued(self, groups: Sequence[Group]) -> Task:
        """The task whose things are these groups, numbered in the order given; pairs within a group are left out."""
        home = {i: n for n, group in enumerate(groups) for i in group}
        pairs: dict[tuple[int, int], int] = {}
        for (a, b), count in self.pairs.items():
            key = (min(home[a], home[b]), max(home[a], home[b]))
            if key[0] != key[1]:
                pairs[key] = pairs.get(key, 0) + count
        return Task(tuple(self.size(g) for g in groups), pairs, self.limit)


@dataclass(frozen=True)
class Figure:
    """One figure of the objective: ``value`` as found; ``at_least`` holds for every plan that is as good in the figures before
    it; ``proved``: nothing better exists."""

    value: int
    at_least: int
    proved: bool


@dataclass(frozen=True)
class Parting:
    """``groups``: each sorted, in the order of their first things. Figures in the order in which they count.

    ``timed_out``: the clock stopped the search before its count of work did, so that another run may find another plan.
    """

    groups: tuple[Group, ...]
    splits: Figure
    sessions: Figure
    spread: Figure
    timed_out: bool = False


def connected(things: Iterable[int], near: Sequence[frozenset[int]]) -> tuple[Group, ...]:
    """The connected groups among some things."""
    left = set(things)
    out = []
    for first in sorted(left):
        if first not in left:
            continue
        left.discard(first)
        found, todo = {first}, [first]
        while todo:
            met = near[todo.pop()] & left
            left -= met
            found |= met
            todo += met
        out.append(tuple(sorted(found)))
    return tuple(out)


def most_sessions(task: Task) -> int:
    """So many sessions are enough for a best plan: two that fit into one may be joined, which splits nothing."""
    return max(1, -(-2 * sum(task.sizes) // task.limit) - 1)


def least_sessions(sizes: Sequence[int], limit: int) -> int:
    """No plan has fewer sessions: by the sum, and by things of which no two fit together."""
    large = sum(2 * s > limit for s in sizes)
    return max(-(-sum(sizes) // limit), large, 1 if sizes else 0)


def companions(task: Task, thing: int) -> int:
    """How many of its own pairs a thing can keep at most: the smallest partners that fit beside it."""
    room = task.limit - task.sizes[thing]
    count = 0
    for size in sorted(task.sizes[i] for i in task.near[thing]):
        room -= size
        if room < 0:
            break
        count += 1
    return count


def most_kept(task: Task) -> int:
    """No plan keeps more pairs together (each counting once): by what each thing can keep, and by what fits into sessions.

    A session of n things holds at most n (n - 1) / 2 pairs. The j fullest sessions hold no more things than the smallest ones
    that fit into j sessions' time together; filling each session up to that is as unequal as can be, and so holds most pairs.
    """
    by_thing = sum(companions(task, i) for i in range(len(task.sizes))) // 2
    by_session, placed, room = 0, 0, 0
    sizes = sorted(task.sizes)
    while placed < len(sizes):
        room += task.limit
        here = 0
        while placed < len(sizes) and sizes[placed] <= room:
            room -= sizes[placed]
            placed += 1
            here += 1
        by_session += here * (here - 1) // 2
    return min(by_thing, by_session, len(task.pairs))
