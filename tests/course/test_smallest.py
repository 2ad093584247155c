"""Smallest lists and what more would buy.

Outside source: every subset of a few instruments is tried (brute force), on thirty random small courses.
"""

from __future__ import annotations

import random
from itertools import combinations

import pytest

from kg import InputError
from kg.course.coverage import Course, Demand
from kg.course.curriculum import Curriculum
from kg.course.smallest import OBJECTIVES, VALUES, more, of_objectives, of_values, smallest

CASES = range(30)
POOL = 11


def small_case(matcher, seed: int) -> tuple[Course, list[Demand], list[int]]:
    """A course that shows three instruments, demands on a pool of eleven, and the pool's places. Some cannot be met."""
    rng = random.Random(seed)
    pool = rng.sample(range(len(matcher.table.patterns)), POOL)

    def some() -> int:
        return sum(1 << i for i in rng.sample(pool, rng.randint(1, 5)))

    demands = []
    for number in range(rng.randint(3, 7)):
        sets = tuple((some(), rng.randint(1, 3)) for _ in range(rng.choice((1, 1, 2))))
        demands.append(Demand(f"D{number}", float(rng.randint(1, 5)), sets))
    shown = sum(1 << i for i in pool[:3])
    course = Course(Curriculum("invented", ("x",), (), ()), {}, matcher, {"S": shown})
    return course, demands, pool


def lists(pool: list[int], size: int):  # type: ignore[no-untyped-def]
    return (sum(1 << i for i in chosen) for chosen in combinations(pool, size))


@pytest.mark.parametrize("seed", CASES)
def test_the_smallest_list_is_the_smallest_of_all(matcher, seed: int) -> None:
    course, demands, pool = small_case(matcher, seed)
    everything = sum(1 << i for i in pool)
    able = [d for d in demands if d.met_by(everything)]
    best = next(n for n in range(POOL + 1) if any(all(d.met_by(c) for d in able) for c in lists(pool, n)))
    kept = max((c & course.taught).bit_count() for c in lists(pool, best) if all(d.met_by(c) for d in able))
    found = smallest(course, demands, OBJECTIVES)
    chosen = sum(1 << matcher.table.index[p.instrument[0]] for p in found.picks)
    assert (len(found.picks), found.at_least, found.proof) == (best, best, "proved")
    assert all(d.met_by(chosen) for d in able)
    assert found.demands == len(able)
    assert {d for d, _, _ in found.impossible} == {d.id for d in demands} - {d.id for d in able}
    assert all(have < need for _, have, need in found.impossible)
    assert sum(p.taught for p in found.picks) == kept
    for pick in found.picks:
        without = chosen & ~(1 << matcher.table.index[pick.instrument[0]])
        assert set(pick.needed_for) == {d.id for d in able if not d.met_by(without)}


@pytest.mark.parametrize("seed", CASES)
def test_what_more_buys_is_the_most_of_all(matcher, seed: int) -> None:
    course, demands, pool = small_case(matcher, seed)
    rest = [i for i in pool if not course.taught >> i & 1]
    total = sum(d.weight for d in demands)
    found = more(course, demands, OBJECTIVES, 4)
    assert found.share == pytest.approx(sum(d.weight for d in demands if d.met_by(course.taught)) / total)
    for step in found.steps:
        best = max(sum(d.weight for d in demands if d.met_by(course.taught | c)) for c in lists(rest, step.count))
        assert step.share == pytest.approx(best / total)
        assert step.proof == "proved"
        assert len(step.added) <= step.count
    if len(found.steps) < 4:  # it ended early: nothing is left that any list could meet
        everything = sum(1 << i for i in pool) | course.taught
        assert all(d.met_by(course.taught) or not d.met_by(everything) or d.id in found.steps[-1].gained for d in demands)


@pytest.mark.parametrize("seed", range(5))
def test_chosen_from_what_is_shown(matcher, seed: int) -> None:
    course, demands, _ = small_case(matcher, seed)
    found = smallest(course, demands, OBJECTIVES, among_course=True)
    assert all(p.taught for p in found.picks)
    assert {d for d, _, _ in found.impossible} == {d.id for d in demands if not d.met_by(course.taught)}


def test_every_value_is_shown_and_no_shorter_list_does_it(catalogue, course, objective, matcher) -> None:
    """By SPARQL: each (feature, value) of the catalogue is had by an instrument of the list. That it is smallest rests on the
    proof of the solver, and on a bound found without it: values that a single pattern has force that pattern."""
    made = course(objective("O", question="scissors"))
    demands = of_values(catalogue.context, matcher.table)
    found = smallest(made, demands, VALUES)
    assert found.proof == "proved"
    assert not found.impossible
    named = " ".join(f"<{n}>" for n in (i["iri"] for i in found.to_json()["instruments"]))
    query = f"""PREFIX bl: <https://boxlock.example/ns#> PREFIX graph: <https://boxlock.example/graph/>
    SELECT DISTINCT ?f ?v WHERE {{ GRAPH graph:holds {{ ?x a bl:Pattern ; ?f ?v }} FILTER(isIRI(?v))
      FILTER NOT EXISTS {{ VALUES ?p {{ {named} }} GRAPH graph:holds {{ ?p ?f ?v }} }} }}"""
    absent = {r["f"].short for r in catalogue.store.select(query)}
    assert not absent & ({*catalogue.vocabulary.features} | {"bl:hasPart"})
    forced = {bits for d in demands for bits, _ in d.sets if bits.bit_count() == 1}
    assert len(forced) <= len(found.picks) <= len(demands)


def test_an_objective_that_nothing_meets_is_named(course, objective, matcher) -> None:
    made = course(objective("A", question="towel clips") + objective("B", question="towel clips", minimum=99))
    found = smallest(made, of_objectives(made), OBJECTIVES)
    assert len(found.picks) == 1
    ((name, have, need),) = found.impossible
    assert (name, need) == ("B", 99)
    assert have == matcher.find(made.asked["B"].expr).true.bit_count()


def test_a_comparison_takes_one_of_each(course, objective) -> None:
    made = course(objective("O", question="compare Kelly and Crile"))
    found = smallest(made, of_objectives(made), OBJECTIVES)
    assert {p.instrument[1] for p in found.picks} == {"Kelly forceps", "Crile forceps"}  # parents rather than variants


def test_nothing_asked_for_needs_nothing(course, objective) -> None:
    made = course(objective("O", text="Be calm"))
    found = smallest(made, of_objectives(made), OBJECTIVES)
    assert (found.picks, found.proof, found.at_least) == ((), "proved", 0)
    assert more(made, [], OBJECTIVES, 3).steps == ()


def test_too_little_work_is_said(catalogue, course, objective, matcher) -> None:
    """With next to no work the list is only the best found, or none, and the report says so."""
    from kg.render.coverage_lists import proof_sentence

    made = course(objective("O", question="scissors"))
    found = smallest(made, of_values(catalogue.context, matcher.table), VALUES, work=1e-9)
    assert found.proof in ("best found", "undecided")
    text = proof_sentence(found, "of the catalogue")
    assert "time allowed" in text and f"at least {found.at_least}" in text


def test_the_same_twice(course, objective, demo) -> None:
    made = course(objective("O", question="artery forceps", minimum=5) + objective("P", question="clamps", minimum=7))
    first, second = (smallest(made, of_objectives(made), OBJECTIVES) for _ in range(2))
    assert first == second


def test_without_the_solver_the_line_to_run_is_given(monkeypatch, course, objective) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "ortools.sat.python.cp_model", None)
    made = course(objective("O", question="scissors"))
    with pytest.raises(InputError) as caught:
        smallest(made, of_objectives(made), OBJECTIVES)
    assert caught.value.code == "BL-I09"
