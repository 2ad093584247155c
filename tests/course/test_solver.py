"""The wrapper of the solver: the best, the proof, and the same outcome every time.

Outside source: every subset is tried (brute force).
"""

from __future__ import annotations

import random
import sys
from itertools import combinations

import pytest

from kg import InputError
from kg.course.solver import Proof, new_model, solve


def smallest(rows: list[set[int]], count: int) -> int | None:
    """Brute force: the size of the smallest set of numbers below ``count`` that meets every row."""
    for size in range(count + 1):
        if any(all(row & set(chosen) for row in rows) for chosen in combinations(range(count), size)):
            return size
    return None


def hitting_set(rows: list[set[int]], count: int, **how):  # type: ignore[no-untyped-def]
    model = new_model()
    takes = [model.new_bool_var(f"take {i}") for i in range(count)]
    for row in rows:
        model.add(sum(takes[i] for i in row) >= 1)
    model.minimize(sum(takes))
    return solve(model, takes, **how)


@pytest.mark.parametrize("seed", range(12))
def test_the_smallest_is_found_and_proved(seed: int) -> None:
    rng = random.Random(seed)
    count = rng.randint(3, 9)
    rows = [set(rng.sample(range(count), rng.randint(1, 3))) for _ in range(rng.randint(2, 8))]
    outcome = hitting_set(rows, count)
    assert outcome.proof is Proof.PROVED
    assert outcome.objective == outcome.bound == sum(outcome.values) == smallest(rows, count)
    assert all(any(outcome.values[i] for i in row) for row in rows)


def test_a_maximum_has_its_bound_too() -> None:
    model = new_model()
    x, y = model.new_int_var(0, 10, "x"), model.new_int_var(0, 10, "y")
    model.add(3 * x + 2 * y <= 7)
    model.maximize(2 * x + y)
    outcome = solve(model, [x, y])
    best = max(2 * a + b for a in range(11) for b in range(11) if 3 * a + 2 * b <= 7)
    assert (outcome.objective, outcome.bound, outcome.proof) == (best, best, Proof.PROVED)


def test_the_impossible_is_said_to_be() -> None:
    model = new_model()
    x = model.new_int_var(0, 3, "x")
    model.add(2 * x == 5)
    outcome = solve(model, [x])
    assert outcome.proof is Proof.IMPOSSIBLE
    assert not outcome.solved
    assert outcome.values == ()


def test_without_an_objective_any_solution_will_do() -> None:
    model = new_model()
    x = model.new_int_var(0, 9, "x")
    model.add(2 * x == 6)
    assert solve(model, [x]).values == (3,)


def test_too_little_work_is_not_called_a_proof() -> None:
    rng = random.Random(5)
    rows = [set(rng.sample(range(300), 6)) for _ in range(600)]
    short = hitting_set(rows, 300, work=0.05)
    assert short.proof in (Proof.FOUND, Proof.OPEN)
    if short.solved:
        assert short.bound < short.objective == sum(short.values)


def test_the_same_twice() -> None:
    rng = random.Random(7)
    rows = [set(rng.sample(range(60), 4)) for _ in range(80)]
    assert hitting_set(rows, 60, seed=3) == hitting_set(rows, 60, seed=3)


def test_without_the_package_the_line_to_run_is_given(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "ortools.sat.python.cp_model", None)
    with pytest.raises(InputError) as caught:
        new_model()
    assert caught.value.code == "BL-I09"
    assert caught.value.hint == "pip install 'boxlock[course]'"
