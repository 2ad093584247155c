"""Facts read in columns, all at once, or anew give the same, and the same as the lines of the closure's file.

The file is read line by line here, without a store and without ``kg.facts``.
"""

from __future__ import annotations

import random
from collections import defaultdict

import pytest

from kg import closure, facts, names
from kg.columns import Columns
from kg.errors import QueryError
from kg.facts import FactReader
from kg.store import Rows, Store

SINGLE = "bl:jawSurface"


@pytest.fixture(scope="module")
def written(catalogue) -> dict[str, dict[str, set[tuple[str, str]]]]:
    """graph -> pattern -> (property, value), as the file has them."""
    found: dict[str, dict[str, set[tuple[str, str]]]] = defaultdict(lambda: defaultdict(set))
    for line in (catalogue.folder / "closure.nq").read_text(encoding="utf-8").splitlines():
        subject, prop, rest = line.split(" ", 2)
        value, graph, _ = rest.rsplit(" ", 2)
        value = names.shown(value[1:-1]) if value.startswith("<") else value.split('"')[1]
        found[names.shown(graph[1:-1])][names.shown(subject[1:-1])].add((names.shown(prop[1:-1]), value))
    return found


@pytest.fixture(scope="module")
def some(catalogue) -> list[str]:
    patterns = [t.name for t in catalogue.vocabulary.by_role("pattern")]
    return random.Random(5).sample(patterns, 60)


def readers(catalogue) -> dict[str, FactReader]:
    """A reader that asks the store, one that has read everything, and one that has the closure's columns."""
    asking, complete = (FactReader(catalogue.store, catalogue.vocabulary) for _ in range(2))
    complete.read_all()
    by_property, by_pattern = (
        closure.read(catalogue.folder, name, catalogue.stamp) for name in (closure.FACTS, closure.PATTERNS)
    )
    columns = Columns(by_property, by_pattern)
    kept = FactReader(catalogue.store, catalogue.vocabulary, columns)
    return {"asking": asking, "complete": complete, "kept": kept}


def test_what_holds_is_what_the_file_says(catalogue, written, some) -> None:
    left_out = {names.LENGTH_MIN, names.LENGTH_MAX, names.INAPPLICABLE, names.VARIANT_OF}
    for name, reader in readers(catalogue).items():
        for pattern, read in reader.facts(some).items():
            expected = {lit for lit in written["graph:holds"][pattern] if lit[0] not in left_out}
            assert read.known.holds == expected, (name, pattern)
            assert set(read.disputed) == written["graph:disputed"][pattern], (name, pattern)
            own = {lit for lit, level in read.levels.items() if level == "own"}
            assert own == {lit for lit in written["graph:adopted-own"][pattern] if lit[0] not in left_out}, (name, pattern)


def test_every_way_of_reading_gives_the_same(catalogue, some) -> None:
    held = [("rdf:type", "bl:Clamp"), (SINGLE, "bl:TransverseSerration"), (names.HAS_PART, "bl:Ratchet")]
    wishes = [
        {},
        {"adopted_only": True},
        {"props": [SINGLE, *names.PARTS]},
        {"props": [SINGLE, *names.PARTS], "literals": held},
        {"props": [SINGLE], "literals": []},
    ]
    by = readers(catalogue)
    for wish in wishes:
        first, again = by["asking"].facts(some, **wish), by["asking"].facts(list(reversed(some)), **wish)
        assert list(first) == some and list(again) == some[::-1]
        assert first == again == by["complete"].facts(some, **wish) == by["kept"].facts(some, **wish), wish
        assert readers(catalogue)["kept"].facts(some[:30], **wish) == {p: first[p] for p in some[:30]}, wish
        for pattern in some[:5]:  # one by one, by a reader that has read nothing
            alone = FactReader(catalogue.store, catalogue.vocabulary).facts([pattern], **wish)
            assert alone == {pattern: first[pattern]}, wish


def test_literals_narrow_what_holds(catalogue, some) -> None:
    wanted = ("rdf:type", "bl:Clamp")
    for name, reader in readers(catalogue).items():
        whole = reader.facts(some)
        narrow = reader.facts(some, [SINGLE], literals=[wanted])
        for pattern in some:
            assert narrow[pattern].known.holds == whole[pattern].known.holds & {wanted}, (name, pattern)


def test_memory_is_bounded_and_answers_stay_right(catalogue, some, monkeypatch: pytest.MonkeyPatch) -> None:
    expected = FactReader(catalogue.store, catalogue.vocabulary).facts(some, [SINGLE])
    monkeypatch.setattr(facts, "KEPT", 7)
    reader = FactReader(catalogue.store, catalogue.vocabulary)
    for start in range(0, len(some), 5):
        group = some[start : start + 5]
        assert reader.facts(group, [SINGLE]) == {p: expected[p] for p in group}
        assert len(reader._kept) <= 7
    assert reader.facts(some, [SINGLE]) == expected  # more than are kept, at once


class _Failing(Store):
    """A store that fails the first time and then answers as another does."""

    def __init__(self, other: Store) -> None:
        self.other, self.asked = other, 0

    def _select(self, query: str) -> Rows:
        self.asked += 1
        if self.asked == 1:
            raise QueryError("BL-S05", "the line is down")
        return self.other.select(query)

    def _ask(self, query: str) -> bool:
        raise AssertionError("only rows are read")

    def _construct(self, query: str) -> str:
        raise AssertionError("only rows are read")


def test_nothing_is_kept_of_a_reading_that_fails(catalogue, some) -> None:
    expected = FactReader(catalogue.store, catalogue.vocabulary)
    for ask in (lambda r: r.facts(some), lambda r: [r.witnesses(p, SINGLE) for p in some], lambda r: r.read_all()):
        reader = FactReader(_Failing(catalogue.store), catalogue.vocabulary)
        with pytest.raises(QueryError):
            ask(reader)
        assert ask(reader) == ask(expected)
        assert reader.facts(some) == expected.facts(some)


def test_witnesses_are_those_of_the_sources_graphs(catalogue, written, some) -> None:
    reader = FactReader(catalogue.store, catalogue.vocabulary)
    reader.foresee(some)
    said = 0
    for pattern in some:
        expected = {
            (graph, value)
            for graph, found in written.items()
            if graph.startswith("src:")
            for f, value in found[pattern]
            if f == SINGLE
        }
        found = {(w.name, w.value) for w in reader.witnesses(pattern, SINGLE) if w.mode == "is"}
        assert found == expected, pattern
        said += len(found)
    assert said > 5
