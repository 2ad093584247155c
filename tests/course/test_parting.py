"""Parting a topic: the outcome is compared with every possible partition of small tasks, and its bounds with the optimum."""

from __future__ import annotations

import random
from collections.abc import Iterator

import pytest

pytest.importorskip("ortools", reason="the extra 'course' is part of the extra 'test'")

from kg.course.divide import divide
from kg.course.local import gathered, improved, started
from kg.course.parting import Parting, Task, connected, least_sessions, most_kept, most_sessions


def partitions(things: list[int]) -> Iterator[list[list[int]]]:
    """Every partition of some things."""
    if not things:
        yield []
        return
    first, *rest = things
    for found in partitions(rest):
        yield [[first], *found]
        for n, group in enumerate(found):
            yield [*found[:n], [first, *group], *found[n + 1 :]]


def best_by_trying_all(task: Task) -> tuple[int, int, int]:
    """(split pairs, sessions, spread): the least in this order over all partitions that keep the limit."""
    found = []
    for groups in partitions(list(range(len(task.sizes)))):
        sizes = [task.size(g) for g in groups]
        if max(sizes) <= task.limit:
            found.append((task.splits(groups), len(groups), max(sizes) - min(sizes)))
    return min(found)


def small_task(seed: int) -> Task:
    chance = random.Random(seed)
    count = chance.randint(1, 8)
    share = chance.choice([0.1, 0.3, 0.6, 1.0])
    sizes = tuple(chance.choice([3, 4, 4, 5, 7, 9]) for _ in range(count))
    pairs = {(a, b): 1 for a in range(count) for b in range(a + 1, count) if chance.random() < share}
    return Task(sizes, pairs, chance.randint(max(sizes), max(max(sizes), sum(sizes) * 2 // 3)))


def figures(parting: Parting) -> tuple[int, int, int]:
    return parting.splits.value, parting.sessions.value, parting.spread.value


def check_sound(task: Task, parting: Parting) -> None:
    """A plan of its task, with the figures that it says it has."""
    assert sorted(i for g in parting.groups for i in g) == list(range(len(task.sizes)))
    sizes = [task.size(g) for g in parting.groups]
    assert max(sizes) <= task.limit
    assert figures(parting) == (task.splits(parting.groups), len(sizes), max(sizes) - min(sizes))
    for figure in (parting.splits, parting.sessions, parting.spread):
        assert figure.at_least <= figure.value
        assert not figure.proved or figure.at_least == figure.value


@pytest.mark.parametrize("seed", range(40))
def test_no_partition_is_better(seed: int) -> None:
    task = small_task(seed)
    parting = divide(task, 10)
    check_sound(task, parting)
    assert figures(parting) == best_by_trying_all(task)
    assert parting.splits.proved and parting.sessions.proved and parting.spread.proved


@pytest.mark.parametrize("seed", range(40))
def test_bounds_hold_for_every_partition(seed: int) -> None:
    task = small_task(seed)
    splits, sessions, _ = best_by_trying_all(task)
    assert len(task.pairs) - most_kept(task) <= splits
    assert least_sessions(task.sizes, task.limit) <= sessions <= most_sessions(task)


def test_what_fits_is_never_split() -> None:
    task = Task((4, 4, 4, 4, 4, 4), {(0, 1): 1, (1, 2): 1, (3, 4): 1, (4, 5): 1}, 12)
    parting = divide(task, 5)
    assert parting.groups == ((0, 1, 2), (3, 4, 5))
    assert figures(parting) == (0, 2, 0)


def test_nothing_and_one_thing() -> None:
    assert divide(Task((), {}, 5), 1).groups == ()
    assert divide(Task((5,), {}, 5), 1).groups == ((0,),)


def test_what_is_larger_than_the_limit_is_refused() -> None:
    with pytest.raises(ValueError, match="at most the limit"):
        divide(Task((6,), {}, 5), 1)


def test_a_large_task_is_parted_soundly_and_its_bound_is_honest() -> None:
    """Forty cliques of five, tied into one by single pairs: the cliques fit, so the best splits the 39 ties or fewer."""
    pairs = {(5 * c + a, 5 * c + b): 1 for c in range(40) for a in range(5) for b in range(a + 1, 5)}
    pairs |= {(5 * c + 4, 5 * c + 5): 1 for c in range(39)}
    task = Task((4,) * 200, pairs, 20)
    parting = divide(task, 6)
    check_sound(task, parting)
    assert parting.splits.value == 39
    assert parting.splits.at_least <= 39


def test_the_same_task_gives_the_same_plan() -> None:
    chance = random.Random(7)
    pairs = {(a, b): 1 for a in range(30) for b in range(a + 1, 30) if chance.random() < 0.4}
    task = Task(tuple(chance.randint(3, 9) for _ in range(30)), pairs, 40)
    one, two = divide(task, 4), divide(task, 4)
    assert not (one.timed_out or two.timed_out)
    assert one == two
    check_sound(task, one)


@pytest.mark.parametrize("seed", range(20))
def test_moves_and_swaps_never_make_it_worse(seed: int) -> None:
    task = small_task(seed)
    first = started(task)
    better = improved(task, first)
    assert sorted(i for g in better for i in g) == list(range(len(task.sizes)))
    assert all(task.size(g) <= task.limit for g in better)
    assert task.splits(better) <= task.splits(first)


@pytest.mark.parametrize("seed", range(20))
def test_gathering_kinds_changes_no_figure(seed: int) -> None:
    task = small_task(seed)
    parting = divide(task, 5)
    kinds = [random.Random(seed * 100 + i).choice(["", "one", "two"]) for i in range(len(task.sizes))]
    groups = gathered(task, parting.groups, kinds)
    assert sorted(i for g in groups for i in g) == list(range(len(task.sizes)))
    assert sorted(map(task.size, groups)) == sorted(map(task.size, parting.groups))
    assert task.splits(groups) == task.splits(parting.groups)


def test_gathering_brings_like_kinds_together() -> None:
    task = Task((2,) * 4, {}, 4)
    assert gathered(task, ((0, 1), (2, 3)), ["a", "b", "a", "b"]) == [(0, 2), (1, 3)]


def test_connected_groups() -> None:
    task = Task((1,) * 5, {(0, 2): 1, (2, 4): 1}, 9)
    assert task.connected == ((0, 2, 4), (1,), (3,))
    assert connected([0, 4], task.near) == ((0,), (4,))
