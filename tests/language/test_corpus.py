"""The questions written without sight of the grammar: none answered wrongly, and nine in ten rightly."""

from __future__ import annotations

from typing import Any

import pytest

from tests.bench.corpus import Judged, judge_all


@pytest.fixture(scope="module")
def judged(catalogue: Any) -> list[Judged]:
    return list(judge_all(catalogue))


def test_every_question_is_judged(judged: list[Judged]) -> None:
    assert len(judged) == 359


def test_none_is_answered_wrongly(judged: list[Judged]) -> None:
    assert [(j.ident, j.why) for j in judged if j.verdict == "wrong"] == []


def test_nine_in_ten_are_answered_rightly(judged: list[Judged]) -> None:
    assert sum(j.verdict == "right" for j in judged) >= 0.9 * len(judged)
