"""The choice of a circuit's items against every possible choice, and the reading of blueprints."""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import combinations
from math import ceil, floor
from pathlib import Path

import pytest

pytest.importorskip("ortools", reason="the extra 'course' is part of the extra 'test'")

from kg.course.blueprint import TASKS, by_topic, read_blueprint, read_marking
from kg.course.circuit import CELL, MARGIN, SHORT, Option, choose
from kg.errors import InputError, QuestionError

Cell = tuple[int, str]


def case(seed: int) -> tuple[list[Option], dict[Cell, Fraction], set[tuple[str, str]], int]:
    """A small circuit: ten options or fewer on six patterns, in two rows and two tasks."""
    chance = random.Random(seed)
    patterns = [f"p{i}" for i in range(6)]
    tasks = ("describe", "tell apart")
    apart = {(a, b) for a, b in combinations(patterns, 2) if chance.random() < 0.3}
    options = []
    for _ in range(chance.randint(1, 10)):
        row, task = chance.randrange(2), chance.choice(tasks)
        shown = (chance.choice(patterns),)
        if task == "tell apart" and apart:
            shown = chance.choice(sorted(apart))
        options.append(Option(row, task, shown, chance.randrange(1, 1000)))
    weights = {(row, task): chance.randint(1, 4) for row in range(2) for task in tasks}
    count = chance.randint(1, 5)
    return options, {c: Fraction(count * w, sum(weights.values())) for c, w in weights.items()}, apart, count


def allowed(chosen: tuple[Option, ...], targets: dict[Cell, Fraction], apart: set[tuple[str, str]], count: int) -> bool:
    shown = [p for o in chosen for p in o.patterns]
    together = [{*o.patterns} for o in chosen]
    if len(chosen) > count or len(shown) != len(set(shown)):
        return False
    if any(a in shown and b in shown and {a, b} not in together for a, b in apart):
        return False
    return all(sum((o.row, o.task) == cell for o in chosen) <= floor(wanted) + 1 for cell, wanted in targets.items())


def cost(chosen: tuple[Option, ...], targets: dict[Cell, Fraction], count: int) -> int:
    def off(have: int, wanted: Fraction) -> int:
        return max(0, floor(wanted) - have) + max(0, have - ceil(wanted))

    total = SHORT * (count - len(chosen))
    total += sum(CELL * off(sum((o.row, o.task) == cell for o in chosen), w) for cell, w in targets.items())
    for place in (0, 1):
        for key in {cell[place] for cell in targets}:
            wanted = sum((w for cell, w in targets.items() if cell[place] == key), Fraction(0))
            total += MARGIN * off(sum((o.row, o.task)[place] == key for o in chosen), wanted)
    return total


@pytest.mark.parametrize("seed", range(40))
def test_no_choice_is_nearer_to_the_blueprint(seed: int) -> None:
    options, targets, apart, count = case(seed)
    every = [c for n in range(len(options) + 1) for c in combinations(options, n) if allowed(c, targets, apart, count)]
    best = min(cost(c, targets, count) for c in every)
    favour = max(sum(o.favour for o in c) for c in every if cost(c, targets, count) == best)
    found = choose(options, targets, apart, count)
    assert found.proved
    assert allowed(found.chosen, targets, apart, count)
    assert cost(found.chosen, targets, count) == best
    assert sum(o.favour for o in found.chosen) == favour


def test_no_options_no_choice() -> None:
    assert choose([], {(0, "use"): Fraction(1)}, (), 1).chosen == ()


# --- blueprints -----------------------------------------------------------------------------------------------------
TOPIC = ("bl:a1", "bl:a2", "bl:a3", "bl:b1")


def members(words: str) -> list[str]:
    if words not in ("as", "bs", "all of them", "none"):
        raise QuestionError("BL-Q02", f'I do not know "{words}".', question=words)
    return {"as": ["bl:a1", "bl:a2", "bl:a3", "bl:x"], "bs": ["bl:b1"], "none": []}.get(words, list(TOPIC))


@pytest.fixture(scope="module")
def marking(ontology_folder: Path):  # type: ignore[no-untyped-def]
    return read_marking(ontology_folder)


def blueprint(tmp_path: Path, marking, text: str):  # type: ignore[no-untyped-def]
    file = tmp_path / "blueprint.toml"
    file.write_text(text, encoding="utf-8")
    return read_blueprint(str(file), marking, TOPIC, members)


def test_shares_of_the_topic(marking) -> None:  # type: ignore[no-untyped-def]
    found = by_topic({"few": ["bl:b1"], "many": ["bl:a1", "bl:a2", "bl:a3"]}, marking)
    assert [row.label for row in found.rows] == ["many", "few"]
    targets = found.targets(20)
    assert {targets[0, task] for task in TASKS} == {3}
    assert {targets[1, task] for task in TASKS} == {1}


def test_families_and_tasks(tmp_path: Path, marking) -> None:  # type: ignore[no-untyped-def]
    found = blueprint(tmp_path, marking, "[families]\nas = 3\nbs = 1\n[tasks]\nuse = 1\ndescribe = 1.5\n")
    assert found.own
    assert found.rows[0].patterns == ("bl:a1", "bl:a2", "bl:a3")  # what is not in the topic is left out
    assert found.targets(10) == {(0, "describe"): Fraction(9, 2), (0, "use"): 3, (1, "describe"): Fraction(3, 2), (1, "use"): 1}


def test_a_grid_and_marks(tmp_path: Path, marking) -> None:  # type: ignore[no-untyped-def]
    text = '[grid.as]\nuse = 2\nidentify = 1\n[grid."all of them"]\nreprocess = 1\n[marks]\nname = 5\n'
    found = blueprint(tmp_path, marking, text)
    assert found.targets(4) == {(0, "identify"): 1, (0, "use"): 2, (1, "reprocess"): 1}
    assert found.rows[1].patterns == ("bl:b1",)  # the others count for the first row
    assert found.marking.name == 5


def test_tasks_are_even_if_none_are_named(tmp_path: Path, marking) -> None:  # type: ignore[no-untyped-def]
    assert set(blueprint(tmp_path, marking, "[families]\nas = 1\n").targets(5).values()) == {1}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "either"),
        ("[families]\nas = 1\n[grid.as]\nuse = 1\n", "either"),
        ("[families]\nas = -1\n", "from 0 to 1,000"),
        ("[families]\nas = true\n", "from 0 to 1,000"),
        ("[families]\nas = inf\n", "from 0 to 1,000"),
        ("[families]\nas = 0\n", "no cell"),
        ("[families]\n", "no cell"),
        ("[families]\nqwertz = 1\n", "'qwertz' is not understood"),
        ("[families]\nas = 1\n[tasks]\ndance = 1\n", '"dance" is no task'),
        ("[families]\nas = 1\n[marks]\nuse = 1\n", '"use" is no mark'),
        ("[families]\nas = 1\n[marks]\nname = 0\n", "from 1 to 100"),
        ("[families]\nas = 1\n[other]\n", '"other" means nothing here'),
        ("grid = 3\n", "grid is a table"),
        ("[grid]\nas = 3\n", "as is a table"),
        ("marks = 3\n[families]\nas = 1\n", "means nothing here|marks is a table"),
        ("[families\n", "cannot be used"),
    ],
)
def test_error_a_faulty_blueprint(tmp_path: Path, marking, text: str, said: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError) as caught:
        blueprint(tmp_path, marking, text)
    assert caught.value.code == "BL-I03"
    assert any(s in caught.value.message for s in said.split("|"))
    assert "[families]" in caught.value.hint


def test_error_no_blueprint_there(tmp_path: Path, marking) -> None:  # type: ignore[no-untyped-def]
    for name in (str(tmp_path / "none.toml"), str(tmp_path), "a\0b"):
        with pytest.raises(InputError) as caught:
            read_blueprint(name, marking, TOPIC, members)
        assert caught.value.code == "BL-I02"


def test_error_a_file_that_is_too_large(tmp_path: Path, marking) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError) as caught:
        blueprint(tmp_path, marking, "#" * 300_000)
    assert caught.value.code == "BL-I04"
