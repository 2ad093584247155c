"""Choosing the items of a circuit: as the blueprint asks, no two look-alikes apart from a pair that is shown on purpose."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

from kg.course.solver import Proof, new_model, solve

WORK = 4.0
"""Work for each of the two searches, in the solver's units."""
SHORT, MARGIN, CELL = 1_000, 30, 10
"""What is worst, in this order: an item too few, a row or column off its share, a cell off it."""


@dataclass(frozen=True)
class Option:
    """An item that could be chosen: its cell, what lies at the station, and how much chance favours it."""

    row: int
    task: str
    patterns: tuple[str, ...]
    favour: int


@dataclass(frozen=True)
class Choice:
    """``chosen`` in the order of the options; ``proved``: no other choice is nearer to the blueprint."""

    chosen: tuple[Option, ...]
    proved: bool


def choose(
    options: Sequence[Option],
    targets: Mapping[tuple[int, str], Fraction],
    apart: Collection[tuple[str, str]],
    count: int,
) -> Choice:
    """At most ``count`` options: as many as can be, then near to the targets, then as chance favours.

    No pattern is taken twice, and of two patterns in ``apart`` both only if one option shows them together. A cell never has
    more than one item above its target. Rows and columns count as cells do: the shares of a family and of a task.
    """
    if not options:
        return Choice((), True)
    model = new_model()
    takes = [model.new_bool_var(f"take {n}") for n in range(len(options))]
    holding: dict[str, list[int]] = {}
    for n, option in enumerate(options):
        for pattern in option.patterns:
            holding.setdefault(pattern, []).append(n)
    for found in holding.values():
        model.add_at_most_one(takes[n] for n in found)
    for a, b in sorted(apart):
        both = sorted({*holding.get(a, ()), *holding.get(b, ())})
        if a in holding and b in holding:
            model.add_at_most_one(takes[n] for n in both)
    total = sum(takes)
    model.add(total <= count)
    cost = SHORT * (count - total)
    for weight, wanted, inside in _margins(options, targets):
        have = sum(takes[n] for n in inside)
        if weight == CELL:
            model.add(have <= floor(wanted) + 1)
        for bound, sign in ((floor(wanted), 1), (ceil(wanted), -1)):
            off = model.new_int_var(0, count, "")
            model.add(off >= sign * (bound - have))
            cost += weight * off
    model.minimize(cost)
    first = solve(model, takes, work=WORK, linear=True)
    if not first.solved:
        return Choice((), first.proof == Proof.IMPOSSIBLE)
    model.add(cost <= first.objective)
    model.clear_objective()
    model.maximize(sum(option.favour * take for option, take in zip(options, takes, strict=True)))
    for take, value in zip(takes, first.values, strict=True):
        model.add_hint(take, value)
    second = solve(model, takes, work=WORK, linear=True)
    values = second.values if second.solved else first.values
    return Choice(tuple(o for o, v in zip(options, values, strict=True) if v), first.proof == Proof.PROVED)


def _margins(options: Sequence[Option], targets: Mapping[tuple[int, str], Fraction]) -> list[tuple[int, Fraction, list[int]]]:
    """(what it weighs, how many items it should have, the options in it) for every cell, row and column."""
    out = []
    for cell, wanted in targets.items():
        out.append((CELL, wanted, [n for n, o in enumerate(options) if (o.row, o.task) == cell]))
    for row in sorted({row for row, _ in targets}):
        wanted = sum((t for (r, _), t in targets.items() if r == row), Fraction(0))
        out.append((MARGIN, wanted, [n for n, o in enumerate(options) if o.row == row]))
    for task in sorted({task for _, task in targets}):
        wanted = sum((t for (_, c), t in targets.items() if c == task), Fraction(0))
        out.append((MARGIN, wanted, [n for n, o in enumerate(options) if o.task == task]))
    return out
