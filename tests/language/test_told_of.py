"""Replies about an answer that is no list: what must stay refused, and what stays a narrower list."""

from __future__ import annotations

from typing import Any

import pytest

import kg

REFUSED = (
    ("Which source has the most statements?", "list its instruments"),
    ("What sort of jaws does the Babcock have?", "what else has jaws like that?"),
    ("What is the tip of the Allis like?", "which other forceps have such a tip?"),
    ("Which tissues are grasped by Babcock forceps?", "Which of those is in the urinary tract?"),
)
NARROWED = (
    ("Which scissors cut sutures?", "which of those also cut tissue?", 3),
    ("Which retractors are used on the liver?", "which of these are used on the eye?", 0),
    ("Which forceps are used on bowel?", "and which of them are used on the ureter?", 1),
)


@pytest.mark.parametrize(("asked", "reply"), REFUSED)
def test_refused(asked: str, reply: str, catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError):
        catalogue.ask(reply, after=catalogue.ask(asked))


def test_nothing_to_leave_out(catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError):
        catalogue.ask("Leave out those that have no teeth.")


@pytest.mark.parametrize(("asked", "reply", "count"), NARROWED)
def test_only_narrowed(asked: str, reply: str, count: int, catalogue: Any) -> None:
    """ "Which of those" never puts a value in the place of another, though nothing is left then."""
    before = catalogue.ask(asked, limit=1000)
    after = catalogue.ask(reply, after=before, limit=1000)
    assert {m.name for m in after.matches} <= {m.name for m in before.matches}
    assert len(after.matches) >= count
