"""The marking held against a key that was made without it.

``answers.json``: answers as students and theatre nurses would type them (paraphrases, half-right ones, denials, slips, swapped
look-alikes), each with the credit (0, 0.5, 1) that a second person gave every fact, who saw the questions, the facts and the
model answers, and neither the program nor its marks. The answers and the key come from that person's knowledge.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

CASES = json.loads((Path(__file__).parent / "answers.json").read_text(encoding="utf-8"))
NEAR = 0.25
"""Marks that differ by no more than this share of full marks agree."""
LEAST = 0.85


@pytest.fixture(scope="module")
def verdicts(catalogue):
    """(case, share by the key, by the program, facts on which both agree, facts) for every case that can be asked."""
    names = {t.label: t.name for t in catalogue.vocabulary.by_role("pattern")}
    tasks = catalogue.rehearsal.tasks
    out = []
    for case in CASES:
        subjects = [names[label] for label in case["labels"] if label in names]
        item = tasks.item(case["task"], *subjects) if len(subjects) == len(case["labels"]) else None
        if item is None:
            continue
        given = {m.fact.text: m.credit for m in catalogue.mark(item, case["answer"]).marks}
        facts = [f for f in case["key"] if f in given]
        if facts:
            key = sum(case["key"][f] for f in facts) / len(facts)
            own = sum(given[f] for f in facts) / len(facts)
            out.append((case, key, own, sum(case["key"][f] == given[f] for f in facts), len(facts)))
    return out


def test_most_cases_can_be_asked(verdicts) -> None:
    assert len(verdicts) > 0.85 * len(CASES) > 100


def test_the_marks_agree_with_the_key(verdicts) -> None:
    apart = [(case["answer"], round(key, 2), round(own, 2)) for case, key, own, *_ in verdicts if abs(key - own) > NEAR]
    assert len(apart) <= (1 - LEAST) * len(verdicts), apart


def test_what_earned_nothing_by_the_key_earns_no_full_marks(verdicts) -> None:
    for case, key, own, *_ in verdicts:
        assert not (key == 0 and own == 1), case["answer"]


def test_fact_by_fact(verdicts) -> None:
    same, facts = sum(v[3] for v in verdicts), sum(v[4] for v in verdicts)
    assert same >= 0.8 * facts, (same, facts)
