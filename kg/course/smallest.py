"""The smallest list of instruments that meets every objective, or shows every value; and what so many more would buy.

A set cover with multiplicities: each demand is a set of patterns of which so many are needed. The smallest list is found by
exact search (``kg.course.solver``), which says whether it is proved. What no list can meet is named and left out beforehand.
Of all smallest lists one that keeps most of what the course shows already is taken, and parents rather than variants.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kg.answer.context import Context
from kg.answer.visible import Table
from kg.course import gaps
from kg.course.coverage import Course, Demand
from kg.course.records import Instrument, instruments_json
from kg.course.solver import Outcome, Proof, new_model, solve
from kg.names import HAS_PART

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpModel, IntVar

OBJECTIVES, VALUES = "objectives", "values"
SCALE = 1000
"""Weights have three decimals; the solver counts in whole numbers."""


@dataclass(frozen=True)
class Pick:
    """One instrument of a list; ``needed_for``: demands that would not be met without it; ``taught``: shown already."""

    instrument: Instrument
    needed_for: tuple[str, ...]
    taught: bool

    def to_json(self) -> dict[str, Any]:
        return instruments_json((self.instrument,))[0] | {"needed_for": list(self.needed_for), "taught": self.taught}


@dataclass(frozen=True)
class Smallest:
    """A smallest list. ``goal``: "objectives" or "values"; ``among``: "catalogue" or "course", what was chosen from;
    ``proof`` as the solver says; ``at_least``: no list is smaller; ``demands``: so many are met; ``impossible``: (demand, how
    many there are, how many it needs) that no list meets. No picks with ``proof`` "undecided": nothing was found in time.
    """

    goal: str
    among: str
    proof: str
    picks: tuple[Pick, ...]
    at_least: int
    demands: int
    impossible: tuple[tuple[str, int, int], ...]

    def to_json(self) -> dict[str, Any]:
        return {
            "goal": self.goal,
            "among": self.among,
            "proof": self.proof,
            "size": len(self.picks),
            "at_least": self.at_least,
            "met": self.demands,
            "instruments": [p.to_json() for p in self.picks],
            "impossible": [{"demand": d, "available": have, "needed": need} for d, have, need in self.impossible],
        }


@dataclass(frozen=True)
class Step:
    """The best that ``count`` more instruments can do: ``gained`` demands newly met, ``share`` of the weight met then (for
    values: of all values). ``proof``: whether nothing better exists."""

    count: int
    added: tuple[Instrument, ...]
    gained: tuple[str, ...]
    share: float
    proof: str

    def to_json(self) -> dict[str, Any]:
        return {
            "count": self.count,
            "added": instruments_json(self.added),
            "gained": list(self.gained),
            "share": round(self.share, 4),
            "proof": self.proof,
        }


@dataclass(frozen=True)
class More:
    """What adding to the course buys, one step a number of instruments; ends early when nothing is left to gain.

    ``share``: what is met now; ``impossible``: demands that nothing meets.
    """

    goal: str
    share: float
    steps: tuple[Step, ...]
    impossible: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        return {
            "goal": self.goal,
            "share": round(self.share, 4),
            "steps": [s.to_json() for s in self.steps],
            "impossible": list(self.impossible),
        }


# --- demands --------------------------------------------------------------------------------------------------------
def of_objectives(course: Course) -> list[Demand]:
    """What the objectives ask for, confirmed or proposed; unmapped ones ask for nothing."""
    return [d for o in course.curriculum.objectives if (d := course.demand(o)) is not None]


def of_values(ctx: Context, seen: Table) -> list[Demand]:
    """One instrument for every value of every feature, and for every part, that any pattern is recorded with."""
    return [Demand(_said(ctx, slot, value), 1.0, ((bits, 1),)) for (slot, value), bits in gaps.shown_values(ctx, seen).items()]


def _said(ctx: Context, slot: str, value: str) -> str:
    return f"{ctx.label(slot)}: there" if value == HAS_PART else f"{ctx.label(slot)}: {ctx.label(value)}"


# --- the smallest list ----------------------------------------------------------------------------------------------
def smallest(course: Course, demands: Sequence[Demand], goal: str, *, among_course: bool = False, **how: Any) -> Smallest:
    """The smallest list that meets all demands that can be met. ``how`` goes to ``solver.solve``.

    ``among_course``: chosen from what the course shows, not from the whole catalogue. Raises InputError (BL-I09).
    """
    pool = course.taught if among_course else course.matcher.everything
    possible = [d for d in demands if d.met_by(pool)]
    impossible = tuple(_short_of(d, pool) for d in demands if not d.met_by(pool))
    chosen, proof, bound = _search(course, possible, pool, how)
    return Smallest(
        goal=goal,
        among="course" if among_course else "catalogue",
        proof=str(proof),
        picks=_picks(course, possible, chosen),
        at_least=bound,
        demands=len(possible) if proof is not Proof.OPEN else 0,
        impossible=impossible,
    )


def _short_of(demand: Demand, pool: int) -> tuple[str, int, int]:
    bits, least = next((b, n) for b, n in demand.sets if (b & pool).bit_count() < n)
    return demand.id, (bits & pool).bit_count(), least


def _search(course: Course, demands: Sequence[Demand], pool: int, how: dict[str, Any]) -> tuple[int, Proof, int]:
    model, takes = _takes(demands, pool)
    if not takes:
        return 0, Proof.PROVED, 0
    for bits, least in sorted({(b & pool, n) for d in demands for b, n in d.sets}):
        model.add(sum(takes[i] for i in _places(bits)) >= least)
    model.minimize(sum(takes.values()))
    first = solve(model, list(takes.values()), linear=True, **how)
    if not first.solved:
        return 0, first.proof, first.bound
    model.add(sum(takes.values()) == first.objective)
    roots = course.matcher.table.roots
    model.maximize(sum((2 * (course.taught >> i & 1) + (roots >> i & 1)) * take for i, take in takes.items()))
    second = solve(model, list(takes.values()), linear=True, **how)
    return _chosen(takes, second if second.solved else first), first.proof, first.bound


def _takes(demands: Sequence[Demand], pool: int) -> tuple[CpModel, dict[int, IntVar]]:
    """A model with one yes-or-no variable for each pattern that any demand can use."""
    useful = 0
    for demand in demands:
        for bits, _ in demand.sets:
            useful |= bits & pool
    model = new_model()
    return model, {i: model.new_bool_var(f"take {i}") for i in _places(useful)}


def _places(bits: int) -> list[int]:
    return [i for i in range(bits.bit_length()) if bits >> i & 1]


def _chosen(takes: dict[int, IntVar], outcome: Outcome) -> int:
    return sum(1 << i for i, taken in zip(takes, outcome.values, strict=True) if taken)


def _picks(course: Course, demands: Sequence[Demand], chosen: int) -> tuple[Pick, ...]:
    index, taught = course.matcher.table.index, course.taught
    out = []
    for instrument in course.instruments(chosen):
        bit = 1 << index[instrument[0]]
        needed = tuple(d.id for d in demands if d.met_by(chosen) and not d.met_by(chosen & ~bit))
        out.append(Pick(instrument, needed, bool(taught & bit)))
    return tuple(out)


# --- what more would buy --------------------------------------------------------------------------------------------
def more(course: Course, demands: Sequence[Demand], goal: str, most: int, **how: Any) -> More:
    """For 1 to ``most`` instruments more: the ones that meet most of the weight not met yet, and how much that is.

    Of those equal in that, the ones that go furthest towards what stays unmet. Raises InputError (BL-I09).
    """
    taught, everything = course.taught, course.matcher.everything
    total = sum(d.weight for d in demands)
    open_ = [d for d in demands if not d.met_by(taught) and d.met_by(everything)]
    met = sum(d.weight for d in demands if d.met_by(taught))
    steps: list[Step] = []
    for count in range(1, most + 1):
        if not open_ or (steps and len(steps[-1].gained) == len(open_)):
            break
        outcome, takes = _best(course, open_, count, how)
        chosen = _chosen(takes, outcome) if outcome.solved else 0
        gained = [d for d in open_ if d.met_by(taught | chosen)]
        share = (met + sum(d.weight for d in gained)) / total
        steps.append(Step(count, course.instruments(chosen), tuple(d.id for d in gained), share, str(outcome.proof)))
    impossible = tuple(d.id for d in demands if not d.met_by(everything))
    return More(goal, met / total if total else 0.0, tuple(steps), impossible)


def _best(course: Course, demands: Sequence[Demand], count: int, how: dict[str, Any]) -> tuple[Outcome, dict[int, IntVar]]:
    taught, roots = course.taught, course.matcher.table.roots
    pool = course.matcher.everything & ~taught
    model, takes = _takes(demands, pool)
    model.add(sum(takes.values()) <= count)
    reached, towards, steps = [], [], 0
    for needs, weight in _alike(demands, taught, pool).items():
        met = model.new_bool_var("met")
        for bits, need in needs:
            usable = [takes[i] for i in _places(bits)]
            if need == 1:
                model.add_bool_or([*usable, ~met])
                continue
            filled = model.new_int_var(0, need, "filled")
            model.add(filled <= sum(usable))
            model.add(filled >= need * met)
            towards.append(filled)
            steps += need
        reached.append(round(weight * SCALE) * met)
    # First what is met, then what goes towards it, then as few as will do and parents rather than variants.
    gain = (steps + 1) * sum(reached) + sum(towards)
    cost = sum((1 if roots >> i & 1 else 2) * take for i, take in takes.items())
    model.maximize((2 * count + 1) * gain - cost)
    return solve(model, list(takes.values()), linear=True, **how), takes


def _alike(demands: Sequence[Demand], taught: int, pool: int) -> dict[tuple[tuple[int, int], ...], float]:
    """What demands still need, (patterns to choose from, how many) -> the weight of all demands that need just that."""
    out: dict[tuple[tuple[int, int], ...], float] = {}
    for demand in demands:
        lacking = [(bits & pool, least - (bits & taught).bit_count()) for bits, least in demand.sets]
        needs = tuple((bits, need) for bits, need in lacking if need > 0)
        out[needs] = out.get(needs, 0.0) + demand.weight
    return out
