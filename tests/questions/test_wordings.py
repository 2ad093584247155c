"""One description in many wordings: every wording of a group gives the same list, understood whole."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from kg import QuestionError

CASES = Path(__file__).resolve().parents[1] / "language" / "cases" / "wordings.txt"


def groups() -> list[tuple[str, ...]]:
    found = [
        [line for line in block.splitlines() if line and line[0] != "#"] for block in CASES.read_text("utf-8").split("\n\n")
    ]
    return [tuple(lines) for lines in found if lines]


def listed(answer: Any) -> Any:
    """What an answer lists; its question where it lists nothing, as one for disputes does."""
    return answer.kind, sorted(m.name for m in answer.matches) or str(answer.tree)


@pytest.mark.parametrize("wordings", groups(), ids=lambda group: group[0])
def test_a_group_gives_one_list(catalogue: Any, wordings: tuple[str, ...]) -> None:
    first = catalogue.ask(f"which {wordings[0]}?", limit=2000)
    assert first.unread is None
    wanted, same = listed(first), {first.tree}
    for words in wordings[1:]:
        try:
            found = catalogue.understand(f"which {words}?")
        except QuestionError:
            found = None  # what a name of several usually means is decided later
        if found is not None and found.unread is None and found.question in same:
            continue
        answer = catalogue.ask(f"which {words}?", limit=2000)
        assert answer.unread is None, words
        assert listed(answer) == wanted, words
        same.add(answer.tree)


def test_no_wording_stands_twice() -> None:
    every = [words for group in groups() for words in group]
    assert len(every) == len(set(every))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("bowel clamps", 'Listed by what they are made for; "clamps for the bowel" lists all that are used there.'),
        ("clamps for the bowel", 'Listed by where they are used; "intestinal clamps" lists those that are made for it.'),
        ("curved clamps for vessels", 'Listed by where they are used; "vascular clamps" lists those that are made for it.'),
    ],
)
def test_what_is_made_for_a_place_and_what_is_used_there(catalogue: Any, text: str, told: str) -> None:
    assert told in catalogue.ask(text).notes


@pytest.mark.parametrize(
    ("wide", "narrow"),
    [
        ("non-crushing clamps", "atraumatic clamps"),
        ("clamps for the bowel", "bowel clamps"),
        ("scissors that are not curved", "straight scissors"),
        ("retractors that are not self-retaining", "hand-held retractors"),
    ],
)
def test_the_one_list_holds_the_other(catalogue: Any, wide: str, narrow: str) -> None:
    names = [{m.name for m in catalogue.ask(text, limit=2000).matches} for text in (wide, narrow)]
    assert names[1] < names[0]


@pytest.mark.parametrize(
    "text",
    [
        "list the clamps but the crushing ones",
        "all clamps but the crushing ones",
        "every clamp but the crushing ones",
        "clamps except the crushing ones",
    ],
)
def test_a_but_takes_away(catalogue: Any, text: str) -> None:
    assert catalogue.ask(text).reading == "clamps that are not crushing"


@pytest.mark.parametrize(
    ("text", "reading"),
    [
        ("Which clamps have got a ratchet and are curved at the same time?", "clamps with a ratchet and that are curved"),
        (
            "Could you list the clamps which have no ratchet and which are not curved?",
            "clamps without a ratchet and that are not curved",
        ),
        (
            "If I don't want a crushing one, which clamps can I use on the bowel?",
            "clamps used on bowel and that are not crushing",
        ),
    ],
)
def test_no_half_is_dropped(catalogue: Any, text: str, reading: str) -> None:
    assert catalogue.ask(text).reading == reading
