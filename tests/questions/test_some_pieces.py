"""What matches in some of its pieces is counted whole and stands before what is open, however short the page.

That a mosquito is made in several sizes and a needle holder with and without inserts is in the catalogue's sources; how lists
take them is a rule of this project: a pattern matches where all of its sizes do.
"""

from __future__ import annotations

from typing import Any

import pytest

from kg import answer_lines, plain

QUESTIONS = (
    "which clamps are shorter than 5 inches?",
    "artery forceps between 12 and 15 cm",
    "artery forceps with teeth",
    "needle holders with tungsten carbide inserts",
    "which curved artery forceps have teeth?",
    "double-ended retractors",
)


@pytest.mark.parametrize("question", QUESTIONS)
def test_they_stand_first(catalogue: Any, question: str) -> None:
    whole = catalogue.ask(question, limit=1000).possible
    some = [p.only_as("varies", "some sizes") for p in whole]
    assert any(some) and some == sorted(some, reverse=True)


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_short_page_counts_them_alike(catalogue: Any, question: str) -> None:
    def heading(limit: int) -> list[str]:
        return [
            line for line in plain(answer_lines(catalogue.ask(question, limit=limit), 200)).splitlines() if "some of" in line
        ]

    assert heading(20) == heading(1000) != []


def test_a_ranking_has_its_patterns_as_matches(catalogue: Any) -> None:
    answer = catalogue.ask("which instruments have at least five sources?")
    assert {m.label for m in answer.matches} == {g.value for g in answer.groups}
    first = catalogue.ask("which instrument has the most other names?")
    assert [m.label for m in first.matches] == [g.value for g in first.groups if g.count == first.groups[0].count]


def test_a_variant_told_alike_stands_in_its_parents_row(catalogue: Any) -> None:
    text = plain(answer_lines(catalogue.ask("which instruments are used in at least ten operations?"), 200))
    assert "Allis tissue forceps (heavy Allis forceps, Judd-Allis forceps)" in text
    assert "\n  heavy Allis forceps" not in text
