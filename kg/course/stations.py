"""A circuit of examination stations: a question's patterns, a blueprint, a seeded choice, and what is marked at each."""

from __future__ import annotations

import random
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from fractions import Fraction
from math import ceil, floor
from pathlib import Path

from kg import names
from kg.answer import Context
from kg.course.blueprint import TASKS, by_topic, read_blueprint, read_marking
from kg.course.circuit import Choice, Option, choose
from kg.course.stationed import Cell, Circuit, Share, Station
from kg.course.steps import LETTERS, Steps
from kg.course.topic import Topic, pairs_among, topic
from kg.language import nodes
from kg.rehearse.settings import read_settings

MOST = 200
"""A circuit has at most so many stations."""
SPARE = 3
"""For each item that a cell should have so many patterns are looked at, and ``LEAST`` at least, before all are."""
LEAST = 4
PARTNERS = 3
"""So many look-alikes are tried for a pattern that is to be told apart from one."""
NO_FAMILY = "no family"
NEEDS = {
    "identify": "a look of its own recorded (few others alike)",
    "describe": "its parts recorded",
    "use": "a use recorded",
    "tell apart": "a look-alike in the topic from which it is recorded to differ",
    "reprocess": "its reprocessing recorded",
}
"""What a task needs of an instrument, as said of what is missing."""


class Maker:
    """Makes circuits from one topic."""

    def __init__(self, ctx: Context, root: Path, found: Topic, members: Callable[[str], Sequence[str]], file: str) -> None:
        self.ctx = ctx
        self.found = found
        marking = read_marking(root)
        if file:
            self.blueprint = read_blueprint(file, marking, found.patterns, members)
        else:
            self.blueprint = by_topic(families(ctx, found.patterns), marking)
        self.steps = Steps(ctx, read_settings(root), self.blueprint.marking)
        self.pairs = pairs_among(ctx, [p for row in self.blueprint.rows for p in row.patterns])
        self.near: dict[str, list[str]] = {}
        for a, b in sorted(self.pairs):
            self.near.setdefault(a, []).append(b)
            self.near.setdefault(b, []).append(a)

    def circuit(self, count: int, seed: int, *, look_alikes: bool) -> tuple[Choice, list[Option], bool]:
        """(the choice, the options it was made from, whether these were all there are)."""
        targets = self.blueprint.targets(count)
        apart: Collection[tuple[str, str]] = () if look_alikes else self.pairs
        # Reading what is recorded of a pattern takes a while, so few are looked at first; all of them if that falls short.
        for whole in (False, True):
            options, complete = self._options(targets, seed, whole=whole)
            choice = choose(options, targets, apart, count)
            if complete or self._meets(choice, targets, count):
                break
        return choice, options, complete

    def _meets(self, choice: Choice, targets: Mapping[tuple[int, str], Fraction], count: int) -> bool:
        have = _counted(choice.chosen)
        return len(choice.chosen) == count and all(abs(have.get(cell, 0) - t) < 1 for cell, t in targets.items())

    def _options(self, targets: Mapping[tuple[int, str], Fraction], seed: int, *, whole: bool) -> tuple[list[Option], bool]:
        chance = random.Random(seed)
        out: list[Option] = []
        complete = True
        for (row, task), wanted in targets.items():
            patterns = list(self.blueprint.rows[row].patterns)
            chance.shuffle(patterns)
            enough = len(patterns) if whole else max(LEAST, SPARE * ceil(wanted))
            found = 0
            for pattern in patterns:
                if found >= enough:
                    complete = False
                    break
                made = [
                    Option(row, task, shown, chance.randrange(1, 1000))
                    for shown in self._shown(pattern, task, chance)
                    if self.steps.carries(task, shown)
                ]
                out += made
                found += bool(made)
        return out, complete

    def _shown(self, pattern: str, task: str, chance: random.Random) -> Iterable[tuple[str, ...]]:
        """What could lie at a station on a pattern: itself, or itself and a look-alike of the topic."""
        if task != "tell apart":
            return [(pattern,)]
        others = list(self.near.get(pattern, ()))
        chance.shuffle(others)
        return [(pattern, other) for other in others[:PARTNERS]]

    def station(self, number: int, option: Option, chance: random.Random) -> Station:
        shown = list(option.patterns)
        if len(shown) > 1:
            chance.shuffle(shown)  # which of the two is A
        letters = LETTERS if len(shown) > 1 else ("",)
        return Station(
            number,
            option.task,
            self.blueprint.rows[option.row].label,
            self.blueprint.marking.ask[option.task],
            tuple((x, p, self.ctx.label(p)) for x, p in zip(letters, shown, strict=True)),
            self.steps.of(option.task, shown),
            self.steps.notes(option.task, shown),
        )

    # --- what the blueprint cannot have ---------------------------------------------------------------------------------
    def cells(self, choice: Choice, count: int, *, look_alikes: bool) -> tuple[Cell, ...]:
        """Cell by cell what was wanted and what came, and why it is less by one or more, if it is."""
        have = _counted(choice.chosen)
        out = []
        for (row, task), wanted in self.blueprint.targets(count).items():
            items = have.get((row, task), 0)
            short = items <= wanted - 1
            reason = self._reason([row], [task], items, look_alikes) if short else ""
            out.append(Cell(self.blueprint.rows[row].label, task, round(float(wanted), 4), items, reason))
        return tuple(out)

    def shares(self, choice: Choice, count: int, *, look_alikes: bool) -> tuple[tuple[Share, ...], tuple[Share, ...]]:
        """(families, tasks) with what they should have and have, and why it is less than the whole part of it, if it is."""
        have = _counted(choice.chosen)
        targets = self.blueprint.targets(count)
        rows = sorted({row for row, _ in targets})
        tasks = [task for task in TASKS if any(t == task for _, t in targets)]

        def share(label: str, inside: list[tuple[int, str]]) -> Share:
            wanted = sum((targets.get(cell, Fraction(0)) for cell in inside), Fraction(0))
            items = sum(have.get(cell, 0) for cell in inside)
            used = [cell for cell in inside if cell in targets]
            short = items < floor(wanted)
            reason = self._reason([r for r, _ in used], [t for _, t in used], items, look_alikes) if short else ""
            return Share(label, round(float(wanted), 4), items, reason)

        return (
            tuple(share(self.blueprint.rows[row].label, [(row, task) for task in tasks]) for row in rows),
            tuple(share(task, [(row, task) for row in rows]) for task in tasks),
        )

    def _reason(self, rows: Sequence[int], tasks: Sequence[str], items: int, look_alikes: bool) -> str:
        """Why no more items than these could be had of some cells."""
        patterns = [p for row in dict.fromkeys(rows) for p in self.blueprint.rows[row].patterns]
        if not patterns:
            return "no instrument of the topic belongs to it"
        chance = random.Random(0)
        able = [p for p in patterns if any(self._carried(p, task, chance) for task in dict.fromkeys(tasks))]
        if not able:
            needs = NEEDS[tasks[0]] if len(set(tasks)) == 1 else "enough recorded for any task"
            return f"of {len(patterns)} none has {needs}, by sources that bear a mark"
        if len(able) <= items:
            needs = NEEDS[tasks[0]] if len(set(tasks)) == 1 else "enough recorded"
            return f"of {len(patterns)} only {len(able)} have {needs}, by sources that bear a mark"
        if look_alikes:
            return "the others are taken by other tasks"
        return "the others look like one that is in the circuit, or are taken by other tasks"

    def _carried(self, pattern: str, task: str, chance: random.Random) -> bool:
        return any(self.steps.carries(task, shown) for shown in self._shown(pattern, task, chance))


def stations(
    ctx: Context,
    question: nodes.Question,
    *,
    root: Path,
    members: Callable[[str], Sequence[str]],
    text: str,
    reading: str,
    count: int,
    seed: int,
    blueprint: str = "",
    look_alikes: bool = False,
) -> Circuit:
    """``count`` stations on the patterns of a question, by a blueprint (a file, or made from the topic).

    ``members``: the words of a family -> its patterns; ``look_alikes``: they may stand in one circuit. The same seed gives the
    same stations. Fewer than ``count`` come if no more can be had. Raises QuestionError (BL-Q03) if the question lists no
    patterns, InputError for a faulty blueprint (BL-I02, BL-I03, BL-I04) or a missing solver (BL-I09).
    """
    found = topic(ctx, question, text=text)
    maker = Maker(ctx, root, found, members, blueprint)
    choice, _, _ = maker.circuit(count, seed, look_alikes=look_alikes)
    chance = random.Random(seed)
    order = list(choice.chosen)
    chance.shuffle(order)
    items = tuple(maker.station(n, option, chance) for n, option in enumerate(order, 1))
    cells: tuple[Cell, ...] = ()
    rows: tuple[Share, ...] = ()
    tasks: tuple[Share, ...] = ()
    if found.patterns:
        cells = maker.cells(choice, count, look_alikes=look_alikes)
        rows, tasks = maker.shares(choice, count, look_alikes=look_alikes)
    return Circuit(
        text,
        reading,
        seed,
        count,
        items,
        cells,
        rows,
        tasks,
        maker.blueprint.own,
        choice.proved,
        look_alikes,
        found.possible,
        tuple(_notes(found, items, count, look_alikes)),
        ctx.verified_by,
        found.sparql,
    )


def _notes(found: Topic, items: Sequence[Station], count: int, look_alikes: bool) -> Iterable[str]:
    if not found.patterns:
        yield "Nothing fits the question, so there is nothing to examine."
        return
    if len(items) < count:
        asked = "1 station" if count == 1 else f"{count} stations"
        had = (
            f"Only {len(items)} of the {asked} can be had: enough must be recorded of an instrument by sources that bear a mark"
        )
        if look_alikes:
            yield f"{had}, and none comes twice."
        else:
            yield (
                f"{had}, none comes twice, and two look-alikes stand in one circuit only to be told apart. "
                "--look-alikes lets them stand in it."
            )


def families(ctx: Context, patterns: Sequence[str]) -> dict[str, list[str]]:
    """Family (the broadest kind that sources give), as a label in the plural -> its patterns, in their order."""
    out: dict[str, list[str]] = {}
    for pattern, facts in ctx.reader.facts(patterns, [names.OF_KIND]).items():
        kinds = [value for prop, value in facts.known.holds if prop == names.OF_KIND]
        label = NO_FAMILY
        if kinds:
            kind = ctx.vocabulary.narrowest(kinds)
            entry = ctx.vocabulary.terms[(kind, *ctx.vocabulary.ancestors(kind))[-1]]
            label = (entry.plural or entry.label).removesuffix(" in general")
        out.setdefault(label, []).append(pattern)
    return out


def _counted(chosen: Iterable[Option]) -> dict[tuple[int, str], int]:
    out: dict[tuple[int, str], int] = {}
    for option in chosen:
        out[option.row, option.task] = out.get((option.row, option.task), 0) + 1
    return out
