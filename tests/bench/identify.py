"""How well and how fast patterns are identified. Run: ``python -m tests.bench.identify [--seed S] [--every N]``.

Protocol: the observer holds one piece of a pattern and answers from its adopted values, "cannot tell" where nothing is
recorded. Of a pattern that is made in several ways the piece in hand is one of them, drawn once for the run. Each step asks
for the first of ``next``; "cannot tell" is a step too. A run ends at probability 0.9, at an inseparable group, or when
nothing is left to ask. The pattern is found if it, or its group (those that no recorded feature tells from it), comes first.
For the second figure one answer, at a random step, is wrong: another value that is recorded of some pattern; the top three
are judged at the end. Everything is seeded. Times are of one whole step in this process.

Nothing is asserted here; ``tests/identify/test_figures.py`` judges a seeded sample.
"""

from __future__ import annotations

import argparse
import math
import random
import statistics
import time
from dataclasses import dataclass, field

from kg import names, open_catalogue
from kg.identify import Identifier, Observation
from kg.identify.belief import inseparable_from
from kg.identify.slots import slots_of
from kg.identify.table import LENGTH, UNRECORDED
from kg.truth import INAPPLICABLE, Includes, Lengths, OneOf

MOST_STEPS = 60


@dataclass
class Run:
    """``steps`` answers asked for, ``told`` of them answered. ``place`` among all candidates at the end, from 1.

    ``group_place``: the place of its group: candidates before it that no recorded feature tells from it do not count.
    """

    pattern: str
    steps: int = 0
    told: int = 0
    place: int = 0
    group_place: int = 0
    ended: str = ""
    times: list[float] = field(default_factory=list)


def simulate(identifier: Identifier, pattern: int, seed: int, *, wrong: bool = False, length: int = 0) -> Run:
    """One run. ``wrong``: one answer, at a random step among the first ``length``, is wrong."""
    rng = random.Random(f"{seed}/{identifier.table.patterns[pattern]}")
    table = identifier.table
    run = Run(table.patterns[pattern])
    piece: dict[str, str] = {}
    slip = rng.randrange(max(length, 1)) if wrong else -1
    observations: list[Observation] = []
    skipped: list[str] = []
    outcome = identifier.identify(observations, skipped=skipped)
    while outcome.next and not outcome.settled and run.steps < MOST_STEPS:
        slot = outcome.next[0].slot
        answer = _answer(identifier, pattern, slot, piece, rng, slip <= run.told and wrong)
        run.steps += 1
        if answer is None:
            skipped.append(slot)
        else:
            if wrong and slip <= run.told:
                wrong = False
            run.told += 1
            observations.append(answer)
        start = time.perf_counter()
        outcome = identifier.identify(observations, skipped=skipped)
        run.times.append(time.perf_counter() - start)
    belief = identifier.believe(observations)
    run.ended = outcome.settled
    ranked = [i for i, _ in belief.ranked]
    run.place, _ = belief.place(table, pattern)
    own = ranked[run.place - 1]
    run.group_place = 1 + sum(1 for i in ranked[: run.place - 1] if len(inseparable_from(table, own, [i])) == 1)
    return run


def _answer(
    identifier: Identifier, pattern: int, slot: str, piece: dict[str, str], rng: random.Random, wrong: bool
) -> Observation | None:
    """What the observer says of a slot; None for "cannot tell"."""
    table = identifier.table
    if slot == LENGTH:
        if pattern not in table.lengths:
            return None
        low, high = table.lengths[pattern]
        told = rng.uniform(low, high)
        if wrong:
            told *= rng.choice((0.5, 0.6, 1.6, 2.0))
        return _observation(identifier, Lengths(((told, True, told, True),)))
    k = table.slot_class(slot, pattern)
    exact = table.slots[slot].exact[k] if k != UNRECORDED else ()
    if not exact:
        return None
    told_value = piece.setdefault(slot, rng.choice(exact))
    if wrong:
        every = sorted({v for e in table.slots[slot].exact for v in e})
        others = [v for v in every if v not in exact and not set(identifier.vocabulary.subtree(v)) & set(exact)]
        others = [v for v in others if not any(v in identifier.vocabulary.subtree(x) for x in exact)]
        if slot not in identifier.vocabulary.features:
            others = [v for v in (names.HAS_PART, names.LACKS_PART) if v not in exact]
        if not others:
            return _observation(identifier, _form(identifier, slot, told_value))
        told_value = rng.choice(others)
    return _observation(identifier, _form(identifier, slot, told_value))


def _form(identifier: Identifier, slot: str, value: str) -> OneOf | Includes:
    if not identifier.table.slots[slot].single:
        return Includes(slot, value)
    return OneOf(slot, frozenset({value}) if value == INAPPLICABLE else identifier.vocabulary.subtree(value))


def _observation(identifier: Identifier, form: OneOf | Includes | Lengths) -> Observation:
    from kg.language import nodes

    return Observation("", nodes.Everything(), form, slots_of(form, identifier.vocabulary))


def straight_runs(identifier: Identifier, seed: int, every: int = 1) -> list[Run]:
    """One run for every pattern, or every n-th."""
    return [simulate(identifier, i, seed) for i in range(0, len(identifier.table.patterns), every)]


def wrong_runs(identifier: Identifier, seed: int, runs: list[Run]) -> list[Run]:
    """The same patterns with one wrong answer, at a step that the straight run reached."""
    index = {p: i for i, p in enumerate(identifier.table.patterns)}
    return [simulate(identifier, index[r.pattern], seed, wrong=True, length=r.told) for r in runs if r.told]


def limit(identifier: Identifier) -> int:
    """``ceil(log2 n) + 1`` for n candidates."""
    return math.ceil(math.log2(len(identifier.table.groups))) + 1


def share(runs: list[Run], test) -> float:  # type: ignore[no-untyped-def]
    return sum(1 for r in runs if test(r)) / len(runs) if runs else 0.0


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--every", type=int, default=1, help="only every n-th pattern")
    options = parser.parse_args()
    start = time.perf_counter()
    identifier = open_catalogue().identifier
    ready = time.perf_counter() - start
    print(f"{len(identifier.table.patterns)} patterns, {len(identifier.table.groups)} candidates; ready in {ready:.2f} s")
    runs = straight_runs(identifier, options.seed, options.every)
    steps = [r.steps for r in runs]
    mean, median = statistics.mean(steps), statistics.median(steps)
    print(f"steps: mean {mean:.2f}, median {median:g}, most {max(steps)}; limit {limit(identifier)}")
    print(f"  answered: mean {statistics.mean(r.told for r in runs):.2f}")
    print(f"  found (itself or its group first): {share(runs, lambda r: r.group_place == 1):.1%}")
    _top_three(runs)
    for end in ("named", "inseparable", "no more", ""):
        mine = [r for r in runs if r.ended == end]
        if mine:
            print(f"  ended {end or 'at the cap'}: {len(mine)}, mean {statistics.mean(r.steps for r in mine):.2f} steps")
    slips = wrong_runs(identifier, options.seed, runs)
    print(f"one wrong answer, {len(slips)} runs: mean {statistics.mean(r.steps for r in slips):.2f} steps")
    _top_three(slips)
    times = sorted(t * 1000 for r in runs for t in r.times)
    p99 = times[int(0.99 * (len(times) - 1))]
    print(f"one step: median {statistics.median(times):.1f} ms, p99 {p99:.1f} ms, worst {times[-1]:.1f} ms")


def _top_three(runs: list[Run]) -> None:
    group, alone = share(runs, lambda r: r.group_place <= 3), share(runs, lambda r: r.place <= 3)
    print(f"  among the first three: {group:.1%} (groups count once); strictly by itself: {alone:.1%}")


if __name__ == "__main__":
    main()
