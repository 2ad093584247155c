"""Parting a topic: fewest split pairs, then fewest sessions, then the least spread of their sizes, with what was proved.

Groups that hang together and fit into one session are never split by a best plan (splitting one only costs), so they count as
one thing. What is too large for a session is parted by an exact model if it is small enough; else neighbouring sessions are
solved again, few at a time, and only bounds tell how far the outcome may be from the best.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from itertools import combinations

from kg.course import exact
from kg.course.local import improved, shaken, started
from kg.course.parting import Figure, Group, Parting, Task, connected, least_sessions, most_kept, most_sessions
from kg.course.solver import Proof

WORK_A_SECOND = 0.25
"""Units of the solver's work for each second allowed: a unit takes one second on an idle machine and four on a busy one
(measured), and the count should stop the search before the clock does."""
STEPS_A_SECOND = 30_000
"""Steps of simulated annealing for each second allowed, which take a tenth of it."""
EXACT = 12_000
"""A model with more variables than this is not solved as a whole."""
A_LOOK = 0.2
"""So much work goes into one look at two or three sessions."""
SHARE = 0.6
"""This much of the work goes into splitting few pairs."""


class Budget:
    """What is left of the work and of the clock."""

    def __init__(self, seconds: float) -> None:
        self.work = seconds * WORK_A_SECOND
        self.steps = int(seconds * STEPS_A_SECOND)
        self.end = time.monotonic() + seconds
        self.timed_out = False

    def clock(self) -> float:
        """Seconds left, 0 if none."""
        left = max(0.0, self.end - time.monotonic())
        self.timed_out |= left == 0.0
        return left

    def empty(self) -> bool:
        return self.work <= 0.01 or self.clock() == 0.0


def divide(task: Task, seconds: float) -> Parting:
    """Parts the things of a task. Raises ValueError if one of them is larger than the limit."""
    if any(s > task.limit or s <= 0 for s in task.sizes):
        raise ValueError("every size is above 0 and at most the limit")
    if not task.sizes:
        return Parting((), Figure(0, 0, True), Figure(0, 0, True), Figure(0, 0, True))
    budget = Budget(seconds)
    whole = [g for g in task.connected if task.size(g) <= task.limit]
    large = [g for g in task.connected if task.size(g) > task.limit]
    pieces: list[Group] = list(whole)
    least = 0
    reserve = budget.work * (1 - SHARE)
    for place, group in enumerate(large):
        share = (budget.work - reserve) * len(group) / sum(len(g) for g in large[place:])
        found, bound = _fewest_splits(task.part(group), share, budget)
        pieces += [tuple(group[i] for i in g) for g in found]
        least += bound
    splits = task.splits(pieces)
    return _packed(task, pieces, Figure(splits, least, splits == least), budget)


# --- few split pairs ------------------------------------------------------------------------------------------------
def _fewest_splits(task: Task, work: float, budget: Budget) -> tuple[list[Group], int]:
    """(groups, a bound: so many pairs are split at least) for things that hang together and do not fit into one session."""
    groups = shaken(task, improved(task, started(task)), budget.steps)
    bound = len(task.pairs) - most_kept(task)
    left = budget.work - work
    if exact.variables(task, most_sessions(task)) <= EXACT and task.splits(groups) > bound:
        groups, bound = _solved(task, groups, bound, work / 2, budget)
    tried: dict[tuple[Group, ...], None] = {}
    while task.splits(groups) > bound and budget.work > left and not budget.empty():
        chosen = _neighbours(task, groups, tried)
        if not chosen:
            break
        tried[chosen] = None
        things = sorted(i for g in chosen for i in g)
        part = task.part(things)
        place = {t: n for n, t in enumerate(things)}
        start = [tuple(sorted(place[i] for i in g)) for g in chosen]
        best, _ = _solved(part, start, 0, A_LOOK, budget, sessions=len(chosen))
        if part.splits(best) < part.splits(start):
            kept = [g for g in groups if g not in chosen]
            groups = _sorted([*kept, *(tuple(things[i] for i in g) for g in best)])
    return groups, bound


def _neighbours(task: Task, groups: Sequence[Group], tried: dict) -> tuple[Group, ...]:
    """The two or three sessions with most split pairs between them that were not tried yet; empty if all were."""
    home = {i: n for n, g in enumerate(groups) for i in g}
    between: dict[tuple[int, int], int] = {}
    for a, b in task.pairs:
        if home[a] != home[b]:
            key = (min(home[a], home[b]), max(home[a], home[b]))
            between[key] = between.get(key, 0) + 1
    ranked = sorted(between, key=lambda k: (-between[k], k))
    for a, b in ranked:
        chosen = tuple(sorted((groups[a], groups[b])))
        if chosen not in tried:
            return chosen
    trios = {}
    for a, b in ranked[:40]:
        for c in range(len(groups)):
            if c not in (a, b):
                trio = tuple(sorted((a, b, c)))
                trios[trio] = sum(between.get(pair, 0) for pair in combinations(trio, 2))
    for trio in sorted(trios, key=lambda t: (-trios[t], t)):
        chosen = tuple(sorted(groups[n] for n in trio))
        if chosen not in tried:
            return chosen
    return ()


def _solved(
    task: Task, groups: Sequence[Group], bound: int, work: float, budget: Budget, *, sessions: int = 0
) -> tuple[list[Group], int]:
    """The exact model from a start: (the better groups, the better bound)."""
    model = exact.Model(task, sessions or most_sessions(task))
    model.fewest_splits(at_least=bound)
    outcome, found = model.solved(groups, work=min(work, budget.work), clock=budget.clock())
    budget.work -= outcome.work
    if outcome.proof in (Proof.PROVED, Proof.FOUND):
        bound = max(bound, outcome.bound)
        if task.splits(found) < task.splits(groups):
            return found, bound
    return list(groups), bound


# --- few sessions, alike in size ------------------------------------------------------------------------------------
def _packed(task: Task, pieces: Sequence[Group], splits: Figure, budget: Budget) -> Parting:
    """Packs the pieces into few sessions of like size; parts them otherwise where the whole model is small enough."""
    pieces = [piece for group in pieces for piece in connected(group, task.near)]
    groups = _first_fit(task, pieces)
    things = _single(task)
    # Pieces that may not be parted otherwise stand for one plan only: nothing is proved by looking at them alone.
    free = not splits.value or exact.variables(task.glued(things), len(groups)) <= EXACT
    if not free:
        things = sorted(pieces)
    groups, least = _few_sessions(task, things, groups, budget, proves=free and splits.proved)
    count = Figure(len(groups), least, splits.proved and len(groups) == least)
    groups, floor = _alike(task, things, groups, budget, proves=free and count.proved)
    spread = _spread(task, groups)
    value = task.splits(groups)  # pieces that came together may have mended a pair
    return Parting(
        tuple(groups),
        Figure(value, splits.at_least, value == splits.at_least),
        count,
        Figure(spread, floor, count.proved and spread == floor),
        budget.timed_out,
    )


def _few_sessions(
    task: Task, things: Sequence[Group], groups: list[Group], budget: Budget, *, proves: bool
) -> tuple[list[Group], int]:
    """(groups in the fewest sessions found, so many are needed at least), splitting no more pairs."""
    glued = task.glued(things)
    least = least_sessions(task.sizes, task.limit)
    if proves:
        least = max(least, least_sessions(glued.sizes, task.limit))
    wanted = max(least, least_sessions(glued.sizes, task.limit))
    while wanted < len(groups) and not budget.empty():
        model = exact.Model(glued, wanted)
        model.splits_at_most(task.splits(groups))
        outcome, found = model.solved((), work=budget.work / 2, clock=budget.clock())
        budget.work -= outcome.work
        if outcome.solved:
            groups = _opened(things, found)
        elif outcome.proof == Proof.IMPOSSIBLE:
            wanted += 1
            least = wanted if proves else least
        else:
            break
    return groups, least


def _alike(
    task: Task, things: Sequence[Group], groups: list[Group], budget: Budget, *, proves: bool
) -> tuple[list[Group], int]:
    """(groups whose sizes differ least, so much do they differ at least), in as many sessions, splitting no more pairs."""
    floor = int(sum(task.sizes) % len(groups) > 0)
    if _spread(task, groups) <= floor or budget.empty():
        return groups, floor
    glued = task.glued(things)
    model = exact.Model(glued, len(groups))
    model.splits_at_most(task.splits(groups))
    model.least_spread(at_least=floor)
    home = {i: n for n, thing in enumerate(things) for i in thing}
    start = [tuple(sorted({home[i] for i in g})) for g in groups]
    outcome, found = model.solved(start, work=budget.work, clock=budget.clock())
    budget.work -= outcome.work
    if outcome.solved:
        floor = max(floor, outcome.bound) if proves else floor
        opened = _opened(things, found)
        if _spread(task, opened) < _spread(task, groups):
            groups = opened
    return groups, floor


def _single(task: Task) -> list[Group]:
    """What a best plan may part, sorted: groups that fit into a session stay whole, the things of larger ones stand alone."""
    out: list[Group] = []
    for group in task.connected:
        out += [group] if task.size(group) <= task.limit else [(i,) for i in group]
    return sorted(out)


def _opened(things: Sequence[Group], groups: Sequence[Group]) -> list[Group]:
    return _sorted([tuple(sorted(i for n in g for i in things[n])) for g in groups])


def _first_fit(task: Task, pieces: Sequence[Group]) -> list[Group]:
    """The largest piece first, each into the fullest session that has room for it."""
    sessions: list[list[Group]] = []
    for piece in sorted(pieces, key=lambda g: (-task.size(g), g)):
        fitting = [s for s in sessions if sum(map(task.size, s)) + task.size(piece) <= task.limit]
        if fitting:
            max(fitting, key=lambda s: sum(map(task.size, s))).append(piece)
        else:
            sessions.append([piece])
    return _sorted([tuple(sorted(i for piece in s for i in piece)) for s in sessions])


def _spread(task: Task, groups: Sequence[Group]) -> int:
    sizes = [task.size(g) for g in groups]
    return max(sizes) - min(sizes)


def _sorted(groups: Sequence[Group]) -> list[Group]:
    return sorted(g for g in groups if g)
