"""What a circuit of stations is to hold: family by task, each cell with its share; and the words and marks of the tasks."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from kg.datafiles import data_file, read_data, read_own
from kg.errors import BoxlockError, InputError

FILE = "stations.toml"
TASKS = ("identify", "describe", "use", "tell apart", "reprocess")
STEPS = ("name", "signs", "describe", "use", "tell apart", "reprocess")
MOST = 1_000
_FORM = (
    "A blueprint has [families] (words for a family = weight) and [tasks] (task = weight), or a table "
    '[grid."FAMILY"] (task = weight) for each family; and may have [marks].'
)


@dataclass(frozen=True)
class Marking:
    """``ask`` and ``steps``: task -> what the candidate reads, and the steps that are marked. The marks of a ``name`` and of a
    ``fact``; of a step's facts ``most`` earn marks, at "identify" ``signs`` of them."""

    ask: Mapping[str, str]
    steps: Mapping[str, tuple[str, ...]]
    name: int = 2
    fact: int = 1
    most: int = 6
    signs: int = 3

    def to_json(self) -> dict[str, int]:
        return {"name": self.name, "fact": self.fact, "most": self.most, "signs": self.signs}


@dataclass(frozen=True)
class Row:
    """A family of the blueprint: its words for people, and its patterns in the topic; no pattern stands in two rows."""

    label: str
    patterns: tuple[str, ...]


@dataclass(frozen=True)
class Blueprint:
    """``weights``: (row, task) -> its share of the items, in parts of the sum. ``own``: given, not made from the topic."""

    rows: tuple[Row, ...]
    weights: Mapping[tuple[int, str], Fraction]
    marking: Marking
    own: bool = False

    def targets(self, count: int) -> dict[tuple[int, str], Fraction]:
        """How many of ``count`` items each cell should have, to a fraction."""
        whole = sum(self.weights.values())
        return {cell: count * weight / whole for cell, weight in sorted(self.weights.items())}


def by_topic(families: Mapping[str, Sequence[str]], marking: Marking) -> Blueprint:
    """The default: as many items of a family as it has patterns in the topic, tasks even. Largest families first."""
    ranked = sorted(families.items(), key=lambda item: (-len(item[1]), item[0].casefold()))
    rows = tuple(Row(label, tuple(patterns)) for label, patterns in ranked)
    weights = {(n, task): Fraction(len(row.patterns), len(TASKS)) for n, row in enumerate(rows) for task in TASKS}
    return Blueprint(rows, weights, marking)


def read_marking(root: Path) -> Marking:
    """The words and marks of an ontology folder. Raises CatalogueError (BL-C04) if the file is missing or wrong."""
    with data_file(FILE):
        raw = read_data(root, FILE)
        tasks = raw["task"]
        if unknown := [t for t in tasks if t not in TASKS] + [t for t in TASKS if t not in tasks]:
            raise ValueError(f'the task "{unknown[0]}" is missing or not known')
        steps = {task: tuple(str(s) for s in tasks[task]["steps"]) for task in TASKS}
        if unknown := [s for found in steps.values() for s in found if s not in STEPS]:
            raise ValueError(f'the step "{unknown[0]}" is not known')
        return _marks(Marking({task: str(tasks[task]["ask"]) for task in TASKS}, steps), raw["marks"])


def read_blueprint(file: str, marking: Marking, patterns: Sequence[str], members: Callable[[str], Sequence[str]]) -> Blueprint:
    """A blueprint of one's own. ``patterns``: the topic; ``members``: words for a family -> patterns, or an error of the
    question language. A pattern that two rows name counts for the first.

    Raises InputError: BL-I02 if the file cannot be read, BL-I04 if it is too large, BL-I03 if it has another form.
    """
    try:
        return _blueprint(read_own(file, "blueprint"), marking, patterns, members)
    except (ValueError, RecursionError) as e:
        raise InputError("BL-I03", f"The blueprint cannot be used: {e}.", file=file, hint=_FORM) from e


def _blueprint(
    raw: Mapping[str, Any], marking: Marking, patterns: Sequence[str], members: Callable[[str], Sequence[str]]
) -> Blueprint:
    if unknown := sorted(set(raw) - {"families", "tasks", "grid", "marks"}):
        raise ValueError(f'"{unknown[0]}" means nothing here')
    if ("grid" in raw) == ("families" in raw or "tasks" in raw):
        raise ValueError("it has either [families] and [tasks], or [grid]")
    grid: dict[str, dict[str, Fraction]] = {}
    if "grid" in raw:
        for words, line in _table(raw, "grid").items():
            grid[words] = _weights(_table({words: line}, words))
    else:
        families = {words: _weight(words, value) for words, value in _table(raw, "families").items()}
        tasks = _weights(_table(raw, "tasks")) if "tasks" in raw else dict.fromkeys(TASKS, Fraction(1))
        grid = {words: {task: weight * share for task, share in tasks.items()} for words, weight in families.items()}
    rows, weights = [], {}
    taken: set[str] = set()
    for words, line in grid.items():
        try:
            found = [p for p in members(words) if p in set(patterns) - taken]
        except BoxlockError as e:
            raise ValueError(f"{words!r} is not understood: {e.message.rstrip('.')}") from e
        taken |= set(found)
        weights |= {(len(rows), task): weight for task, weight in line.items() if weight}
        rows.append(Row(words, tuple(found)))
    if not sum(weights.values()):
        raise ValueError("no cell has a weight above 0")
    return Blueprint(tuple(rows), weights, _marks(marking, _table(raw, "marks") if "marks" in raw else {}), own=True)


def _weights(line: Mapping[str, Any]) -> dict[str, Fraction]:
    if unknown := [task for task in line if task not in TASKS]:
        raise ValueError(f'"{unknown[0]}" is no task; the tasks are {", ".join(TASKS)}')
    return {task: _weight(task, value) for task, value in line.items()}


def _weight(key: str, value: Any) -> Fraction:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= MOST:
        raise ValueError(f"{key}: a weight is a number from 0 to {MOST:,}")
    return Fraction(str(value))


def _table(raw: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    found = raw[key]
    if not isinstance(found, Mapping):
        raise ValueError(f"{key} is a table")
    return found


def _marks(marking: Marking, raw: Mapping[str, Any]) -> Marking:
    if unknown := sorted(set(raw) - set(marking.to_json())):
        raise ValueError(f'"{unknown[0]}" is no mark; the marks are {", ".join(marking.to_json())}')
    for key, value in raw.items():
        if isinstance(value, bool) or not isinstance(value, int) or not 0 < value <= 100:
            raise ValueError(f"{key}: marks are a whole number from 1 to 100")
    return replace(marking, **raw)
