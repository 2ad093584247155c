"""Errors as text: the message with its code, the place marked, near words, readings, what would work."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kg.errors import BoxlockError, InputError, QueryError, QuestionError
from kg.render import error_lines
from kg.render.faults import marked
from kg.render.spans import clean, plain, width_of


def text(error: BoxlockError, width: int = 80) -> str:
    return plain(error_lines(error, width))


def test_a_question_error_in_full() -> None:
    error = QuestionError(
        "BL-Q02",
        'I do not know the word "rachet".',
        question="clamps with a rachet",
        span=(14, 20),
        expected=("a ratchet", "finger rings"),
        near=("ratchet",),
        hint="Try another word.",
    )
    assert text(error) == (
        'I do not know the word "rachet". [BL-Q02]\n'
        "    clamps with a rachet\n"
        "                  ^^^^^^\n"
        "Did you mean: ratchet\n"
        "What could stand there: a ratchet; finger rings\n"
        "Try another word.\n"
    )


def test_readings_are_numbered() -> None:
    readings = ("Pean compression forceps", "Rochester-Pean forceps")
    error = QuestionError("BL-Q05", "Two readings.", question="pean", span=(0, 4), readings=readings)
    assert text(error) == (
        "Two readings. [BL-Q05]\n    pean\n    ^^^^\n\nIt can be read as\n"
        "  1 Pean compression forceps\n  2 Rochester-Pean forceps\n"
    )


def test_the_end_of_the_question_can_be_marked() -> None:
    assert text(QuestionError("BL-Q03", "Too short.", question="clamps with", span=(11, 11))) == (
        "Too short. [BL-Q03]\n    clamps with\n               ^\n"
    )


def test_an_empty_question_has_no_marker() -> None:
    assert "^" not in text(QuestionError("BL-Q01", "The question is empty.", question=" "))


def test_other_errors_name_their_file_and_hint() -> None:
    assert text(InputError("BL-I03", "No header.", file="a.csv", line=2)) == "a.csv:2: No header. [BL-I03]\n"
    assert text(QueryError("BL-S04", "Stopped.", hint="Ask for less.")) == "Stopped. [BL-S04]\nAsk for less.\n"


def test_many_expectations_are_counted() -> None:
    error = QuestionError("BL-Q03", "m", question="x", span=(0, 1), expected=tuple("abcdefghij"))
    assert "What could stand there: a; b; c; d; e; f; g; h; and 2 more\n" in text(error)


def test_what_was_typed_cannot_steer_the_terminal_or_flood_it() -> None:
    error = QuestionError("BL-Q08", "Bad \x1b[2J" + "x" * 100_000, question="\x1b[2J\n" + "y" * 100_000, span=(0, 1))
    shown = text(error)
    assert "\x1b" not in shown
    assert len(shown) < 2000


@pytest.mark.parametrize(
    ("question", "span", "width", "line", "marks"),
    [
        ("漢字 clamps foo", (10, 13), 40, "漢字 clamps foo", "            ^^^"),
        ("a b c", (2, 3), 20, "a b c", "  ^"),
        ("a\tb\nc", (4, 5), 20, "a b c", "    ^"),
        ("x" * 50 + " foo " + "y" * 50, (51, 54), 30, "…" + "x" * 12 + " foo " + "y" * 11 + "…", " " * 14 + "^^^"),
        ("abc", (7, 9), 20, "abc", "   ^"),
        ("abc", (-3, 2), 20, "abc", "^^"),
    ],
)
def test_marked(question: str, span: tuple[int, int], width: int, line: str, marks: str) -> None:
    assert marked(question, span, width) == (line, marks)


@given(st.text(max_size=120), st.integers(0, 130), st.integers(0, 130), st.integers(16, 90))
def test_marker_fits_and_stands_under_the_span(question: str, one: int, two: int, width: int) -> None:
    span = (min(one, two), max(one, two))
    line, marks = marked(question, span, width)
    assert width_of(line) <= width
    assert width_of(marks) <= width + 1  # an empty span at the end is marked after the last column
    inside = clean(question)[span[0] : span[1]].strip()
    if inside and width_of(inside) < width // 2:
        # What stands over the marker is the marked text.
        columns = [c for c in line for _ in range(width_of(c))]
        over = columns[len(marks) - len(marks.lstrip()) : len(marks)]
        assert inside[0] in over or width_of(inside[0]) == 0
