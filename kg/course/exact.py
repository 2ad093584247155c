"""The exact model of parting things into sessions, as whole numbers with linear bounds."""

from __future__ import annotations

from collections.abc import Sequence

from kg.course.parting import Group, Task, companions
from kg.course.solver import Outcome, new_model, solve


def variables(task: Task, sessions: int) -> int:
    """How many yes-or-no variables the model has."""
    return sessions * (len(task.sizes) + len(task.pairs))


class Model:
    """Things are numbered anew, those with most pairs first; the i-th of them stands in one of the first i sessions, so that
    plans that differ only in the numbers of their sessions are met once."""

    def __init__(self, task: Task, sessions: int) -> None:
        self.task = task
        self.sessions = sessions
        self.model = new_model()
        self.order = sorted(range(len(task.sizes)), key=lambda i: (-len(task.near[i]), -task.sizes[i], i))
        place = {thing: n for n, thing in enumerate(self.order)}
        new = self.model.new_bool_var
        self.inside = {i: [new(f"x{i}_{s}") for s in range(min(place[i] + 1, sessions))] for i in range(len(task.sizes))}
        for row in self.inside.values():
            self.model.add_exactly_one(row)
        self.loads = []
        for s in range(sessions):
            load = sum(task.sizes[i] * row[s] for i, row in self.inside.items() if s < len(row))
            self.model.add(load <= task.limit)
            self.loads.append(load)
        self.kept = 0
        self._pairs()
        self._twins()

    def _pairs(self) -> None:
        at: dict[tuple[int, int], list] = {}
        self._both: list[tuple[int, int, int, object]] = []
        for (a, b), count in sorted(self.task.pairs.items()):
            for s in range(min(len(self.inside[a]), len(self.inside[b]))):
                both = self.model.new_bool_var(f"z{a}_{b}_{s}")
                self._both.append((a, b, s, both))
                for i in (a, b):
                    self.model.add_implication(both, self.inside[i][s])
                    at.setdefault((i, s), []).append(both)
                self.kept += count * both
        for (i, s), mine in at.items():  # a thing keeps no more pairs than fit beside it
            self.model.add(sum(mine) <= companions(self.task, i) * self.inside[i][s])

    def _twins(self) -> None:
        """Things that nothing tells apart stand in the order of their sessions: their exchange gives no other plan.

        Of all ways to number a plan's sessions and to exchange its twins, the one whose list of session numbers, thing by
        thing, comes first in a dictionary meets this and the numbering of ``__init__``, so that no plan is lost.
        """
        alike: dict[tuple, int] = {}
        self._alike: list[tuple[int, int]] = []
        for i in self.order:
            links = {j: self.task.pairs[min(i, j), max(i, j)] for j in self.task.near[i]}
            even = set(links.values()) <= {1}
            keys = [(self.task.sizes[i], "apart", tuple(sorted(links.items())))]
            if even:  # twins that are a pair themselves
                keys.append((self.task.sizes[i], "pair", tuple(sorted({*links, i}))))
            for key in keys:
                if key in alike:
                    before, after = (sum(s * v for s, v in enumerate(self.inside[t])) for t in (alike[key], i))
                    self.model.add(before <= after)
                    self._alike.append((alike[key], i))
                alike[key] = i

    def fewest_splits(self, *, at_least: int) -> None:
        """Asks for the fewest split pairs; ``at_least`` is a bound that is known."""
        total = sum(self.task.pairs.values())
        self.model.add(self.kept <= total - at_least)
        self.model.minimize(total - self.kept)

    def splits_at_most(self, count: int) -> None:
        if self.task.pairs:
            self.model.add(self.kept >= sum(self.task.pairs.values()) - count)

    def least_spread(self, *, at_least: int) -> None:
        """Asks for the smallest difference between the largest and the smallest session."""
        low, high = (self.model.new_int_var(0, self.task.limit, name) for name in ("low", "high"))
        for load in self.loads:
            self.model.add(load >= low)
            self.model.add(load <= high)
        self.model.add(high - low >= at_least)
        self.model.minimize(high - low)

    def _numbered(self, start: Sequence[Group]) -> dict[int, int]:
        """Thing -> its session, as the model numbers them: the twins in order, each session by its first thing."""
        place = {thing: n for n, thing in enumerate(self.order)}
        home = {i: n for n, group in enumerate(start) for i in group}
        if not home:
            return {}
        while True:
            numbers: dict[int, int] = {}
            for i in self.order:
                numbers.setdefault(home[i], len(numbers))
            home = {i: numbers[s] for i, s in home.items()}
            wrong = next(((a, b) for a, b in self._alike if home[a] > home[b]), None)
            if wrong is None:
                return dict(sorted(home.items(), key=lambda item: place[item[0]]))
            a, b = wrong
            home[a], home[b] = home[b], home[a]

    def solved(self, start: Sequence[Group], *, work: float, clock: float) -> tuple[Outcome, list[Group]]:
        """(outcome, groups; none if nothing was met). ``start``: a plan to begin with, in no more sessions; may be empty."""
        home = self._numbered(start)
        for i, s in home.items():
            for n, variable in enumerate(self.inside[i]):
                self.model.add_hint(variable, n == s)
        for a, b, s, both in self._both if home else ():
            self.model.add_hint(both, home[a] == s == home[b])
        every = [(i, s, v) for i, row in self.inside.items() for s, v in enumerate(row)]
        outcome = solve(self.model, [v for _, _, v in every], work=max(work, 0.01), clock=clock)
        groups: list[list[int]] = [[] for _ in range(self.sessions)]
        for (i, s, _), value in zip(every, outcome.values, strict=False):
            if value:
                groups[s].append(i)
        return outcome, sorted(tuple(sorted(g)) for g in groups if g)
