"""The figures that the benchmark prints, on a seeded sample of the catalogue (the protocol stands in the benchmark)."""

from __future__ import annotations

import statistics

import pytest

from tests.bench.identify import limit, share, straight_runs, wrong_runs

EVERY = 8
SEED = 3


@pytest.fixture(scope="module")
def runs(catalogue):
    return straight_runs(catalogue.identifier, SEED, EVERY)


def test_the_pattern_is_found_in_few_steps(catalogue, runs) -> None:
    assert statistics.mean(r.steps for r in runs) <= limit(catalogue.identifier)
    assert share(runs, lambda r: r.group_place <= 3) >= 0.97


def test_one_wrong_answer_is_survived(catalogue, runs) -> None:
    slips = wrong_runs(catalogue.identifier, SEED, runs)
    assert share(slips, lambda r: r.group_place <= 3) >= 0.95


def test_runs_are_seeded(catalogue, runs) -> None:
    again = straight_runs(catalogue.identifier, SEED, EVERY * 4)
    assert [(r.pattern, r.steps, r.place) for r in again] == [(r.pattern, r.steps, r.place) for r in runs[::4]]
