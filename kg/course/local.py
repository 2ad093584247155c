"""A first plan and its improvement by single moves and swaps: quick, not exact, the same in every run."""

from __future__ import annotations

import random
from collections.abc import Sequence
from math import exp

from kg.course.parting import Group, Task, connected

STEPS_EACH = 4_000
HOT, COLD = 3.0, 0.05
"""Steps of the shaking for each thing; what a worse step may cost at first and at last, in split pairs."""
ROUNDS = 60
"""So many times all moves and swaps are tried at most."""


def started(task: Task) -> list[Group]:
    """Session by session: the thing with most open pairs, then always the one with most pairs to those in the session."""
    left = set(range(len(task.sizes)))
    groups = []
    while left:
        links = dict.fromkeys(left, 0)
        first = max(left, key=lambda i: (len(task.near[i] & left), -i))
        group, room = [], task.limit
        chosen: int | None = first
        while chosen is not None:
            group.append(chosen)
            left.discard(chosen)
            room -= task.sizes[chosen]
            for i in task.near[chosen] & left:
                links[i] += 1
            fitting = [i for i in left if task.sizes[i] <= room and links[i]]
            # Among equals the one that loses least: with few pairs to what is not in the session.
            chosen = max(fitting, key=lambda i: (links[i], -len(task.near[i] & left), -i), default=None)
        groups.append(tuple(sorted(group)))
    return sorted(groups)


def improved(task: Task, groups: Sequence[Group]) -> list[Group]:
    """Moves one thing, or swaps two, as long as that mends pairs. Never worse than ``groups``."""
    members = [set(g) for g in groups]
    home = {i: n for n, g in enumerate(groups) for i in g}
    load = [task.size(g) for g in groups]
    count = len(members)
    links = [[len(task.near[i] & members[n]) for n in range(count)] for i in range(len(task.sizes))]

    def put(thing: int, there: int) -> None:
        here = home[thing]
        members[here].discard(thing)
        members[there].add(thing)
        load[here] -= task.sizes[thing]
        load[there] += task.sizes[thing]
        home[thing] = there
        for i in task.near[thing]:
            links[i][here] -= 1
            links[i][there] += 1

    for _ in range(ROUNDS):
        before = task.splits(members)
        for a in range(len(task.sizes)):
            here = home[a]
            own = links[a][here]
            for there in range(count):
                gain = links[a][there] - own
                if there != here and gain > 0 and load[there] + task.sizes[a] <= task.limit:
                    put(a, there)
                    here, own = there, links[a][there]
            for there in range(count):
                if there == here or links[a][there] == 0:
                    continue
                best = None
                for b in members[there]:
                    gain = links[a][there] - own + links[b][here] - links[b][there] - 2 * (b in task.near[a])
                    fits = (
                        load[there] - task.sizes[b] + task.sizes[a] <= task.limit
                        and load[here] - task.sizes[a] + task.sizes[b] <= task.limit
                    )
                    if gain > 0 and fits and (best is None or (-gain, b) < best):
                        best = (-gain, b)
                if best is not None:
                    put(a, there)
                    put(best[1], here)
                    here, own = there, links[a][there]
        if task.splits(members) >= before:
            break
    return sorted(tuple(sorted(g)) for g in members if g)


def shaken(task: Task, groups: Sequence[Group], most: int) -> list[Group]:
    """Moves and swaps by chance, worse ones ever more rarely (simulated annealing: Kirkpatrick and others, Science 1983), then
    the single improvements again; the better of the outcome and ``groups``. The chance is seeded; ``most`` limits the steps.
    """
    count = len(task.sizes)
    if len(groups) < 2 or not task.pairs:
        return list(groups)
    chance = random.Random(count)
    home = [0] * count
    for n, group in enumerate(groups):
        for i in group:
            home[i] = n
    load = [task.size(g) for g in groups]
    near = [sorted(n) for n in task.near]
    links = [[0] * len(groups) for _ in range(count)]
    for i in range(count):
        for j in near[i]:
            links[i][home[j]] += 1

    def put(thing: int, there: int) -> None:
        here = home[thing]
        load[here] -= task.sizes[thing]
        load[there] += task.sizes[thing]
        home[thing] = there
        for j in near[thing]:
            links[j][here] -= 1
            links[j][there] += 1

    steps = min(most, STEPS_EACH * count)
    now = task.splits(groups)
    best, kept = now, list(home)
    for step in range(steps):
        heat = HOT * (1 - step / steps) + COLD
        a = chance.randrange(count)
        if not near[a]:
            continue
        # Towards a partner's session: a move to any other would mend nothing.
        there = home[near[a][chance.randrange(len(near[a]))]]
        here = home[a]
        if there == here:
            continue
        loss = links[a][here] - links[a][there]
        size = task.sizes[a]
        b = -1
        if load[there] + size > task.limit:
            b = chance.randrange(count)
            if home[b] != there:
                b = near[a][chance.randrange(len(near[a]))]
            if home[b] != there or load[there] + size - task.sizes[b] > task.limit:
                continue
            if load[here] - size + task.sizes[b] > task.limit:
                continue
            loss += links[b][there] - links[b][here] + 2 * (b in task.near[a])
        if loss > 0 and chance.random() >= exp(-loss / heat):
            continue
        put(a, there)
        if b >= 0:
            put(b, here)
        now += loss
        if now < best:
            best, kept = now, list(home)
    shaken_groups = [tuple(i for i in range(count) if kept[i] == n) for n in range(len(groups))]
    found = improved(task, [g for g in shaken_groups if g])
    return found if task.splits(found) < task.splits(groups) else list(groups)


def gathered(task: Task, groups: Sequence[Group], kinds: Sequence[str]) -> list[Group]:
    """Exchanges pieces of the same size between sessions as long as that brings more things of one kind together.

    ``kinds``: of each thing, empty if not known. Only what hangs together with nothing elsewhere moves, so that neither the
    split pairs nor the size of any session change.
    """
    sessions = [set(g) for g in groups]
    home = {i: n for n, g in enumerate(groups) for i in g}
    counts: list[dict[str, int]] = [{} for _ in groups]
    for i, n in home.items():
        counts[n][kinds[i]] = counts[n].get(kinds[i], 0) + 1
    pieces = [p for p in connected(range(len(task.sizes)), task.near) if len({home[i] for i in p}) == 1]
    by_size: dict[int, list[Group]] = {}
    for piece in pieces:
        by_size.setdefault(task.size(piece), []).append(piece)

    def worth(piece: Group, there: int, gone: Group = ()) -> int:
        """How many things of their kinds the piece's things meet in a session, not counting itself and what has gone."""
        away = [kinds[i] for i in (*piece, *gone) if home[i] == there]
        return sum(counts[there].get(k, 0) - away.count(k) for i in piece if (k := kinds[i]))

    def put(piece: Group, there: int) -> None:
        for i in piece:
            for n, step in ((home[i], -1), (there, 1)):
                counts[n][kinds[i]] = counts[n].get(kinds[i], 0) + step
            sessions[home[i]].discard(i)
            sessions[there].add(i)
            home[i] = there

    for _ in range(ROUNDS):
        moved = False
        for alike in by_size.values():
            for n, one in enumerate(alike):
                for two in alike[n + 1 :]:
                    a, b = home[one[0]], home[two[0]]
                    if a != b and worth(one, b, two) + worth(two, a, one) > worth(one, a) + worth(two, b):
                        put(one, b)
                        put(two, a)
                        moved = True
        if not moved:
            break
    return sorted(tuple(sorted(s)) for s in sessions)
