"""Exact search, as far as time allows, and a plain statement of what was proved. A thin wrapper of CP-SAT (OR-tools).

One worker, a seed and a limit in the solver's own count of work give the same answer in every run and on every machine;
seconds of the clock are only a net below that. OR-tools is imported when a model is made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import ceil, floor
from typing import TYPE_CHECKING

from kg import memory
from kg.errors import InputError

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpModel, IntVar

WORK = 10.0
"""Units of the solver's own count of work, each about a second on one core."""
NET = 6.0
"""The clock stops the search after so many seconds for each unit of work; met only on a very busy machine."""
_EPSILON = 1e-6


class Proof(StrEnum):
    """What is known of an outcome. ``PROVED``: nothing better exists; ``FOUND``: the best met within the limit;
    ``IMPOSSIBLE``: proved that nothing satisfies the model; ``OPEN``: nothing was met within the limit, nor ruled out.
    """

    PROVED = "proved"
    FOUND = "best found"
    IMPOSSIBLE = "impossible"
    OPEN = "undecided"


@dataclass(frozen=True)
class Outcome:
    """``values``: of the variables asked about, in their order; empty if nothing was met. ``objective``: what they are worth;
    ``bound``: what no solution can better (equal if proved); both 0 for a model without an objective, or without an outcome.
    """

    proof: Proof
    values: tuple[int, ...] = ()
    objective: int = 0
    bound: int = 0
    work: float = 0.0
    """What the search cost, in the units of ``WORK``."""

    @property
    def solved(self) -> bool:
        """Whether there are values."""
        return self.proof in (Proof.PROVED, Proof.FOUND)


def new_model() -> CpModel:
    """An empty model: variables, constraints and an objective with whole numbers. Raises InputError (BL-I09)."""
    memory.need(memory.LIBRARY, "The solver")
    try:
        from ortools.sat.python.cp_model import CpModel
    except ImportError as e:
        what = "This needs the package ortools, which is not installed."
        raise InputError("BL-I09", what, hint="pip install 'boxlock[course]'") from e
    return CpModel()


def solve(
    model: CpModel,
    variables: Sequence[IntVar],
    *,
    seed: int = 0,
    work: float = WORK,
    linear: bool = False,
    clock: float | None = None,
) -> Outcome:
    """Searches a model of ``new_model`` for its best solution and gives the values of ``variables``.

    ``work`` limits the search; the same model, seed and limit give the same outcome. ``linear``: lean on the linear
    relaxation, which proves covers and choices of the most in a hundredth of the time. ``clock``: a net in seconds other
    than the usual one; a search that it stops may end otherwise in another run. Raises ValueError for a model that is not
    well formed, which is a fault of the caller.
    """
    from ortools.sat.python import cp_model

    if trouble := model.validate():
        raise ValueError(f"not a model: {trouble}")
    solver = cp_model.CpSolver()
    settings = solver.parameters
    settings.num_workers = 1
    settings.random_seed = seed % 2**31
    settings.max_deterministic_time = work
    settings.max_time_in_seconds = work * NET if clock is None else clock
    settings.linearization_level = 2 if linear else 1
    settings.catch_sigint_signal = False  # Ctrl-C belongs to the program
    status = solver.solve(model)
    spent = solver.response_proto.deterministic_time
    if status == cp_model.INFEASIBLE:
        return Outcome(Proof.IMPOSSIBLE, work=spent)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Outcome(Proof.OPEN, work=spent)
    proof = Proof.PROVED if status == cp_model.OPTIMAL else Proof.FOUND
    values = tuple(solver.value(v) for v in variables)
    if not model.has_objective():
        return Outcome(proof, values, work=spent)
    # A bound is a fraction from the relaxation; whole objectives can do no better than the whole number inside it.
    upward = model.proto.objective.scaling_factor < 0  # CP-SAT keeps a maximum as the minimum of its negative
    whole = floor(solver.best_objective_bound + _EPSILON) if upward else ceil(solver.best_objective_bound - _EPSILON)
    return Outcome(proof, values, round(solver.objective_value), whole, spent)
