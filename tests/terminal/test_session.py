"""What the prompt does with typed lines, without keys: answers, pages, choices, corrections, commands."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import pytest

import kg
from repl.commands import COMMANDS, find
from repl.examples import examples
from repl.session import Session


class FakeCatalogue:
    """Answers from a table of question -> answer or error, and keeps what was asked."""

    def __init__(self, table: dict[str, Any]) -> None:
        self.table = table
        self.asked: list[str] = []

    def ask(self, text: str, after: object = None) -> kg.Answer:
        self.asked.append(text)
        result = self.table[text]
        if isinstance(result, BaseException):
            raise result
        return result

    def left_by(self, error: kg.QuestionError) -> object:
        return error.readings or None


PEAN = kg.QuestionError("BL-Q05", "Two.", question="pean", span=(0, 4), readings=("Pean one", "Pean two"))
TYPO = kg.QuestionError("BL-Q02", "Unknown.", question="a rachet here", span=(2, 8), near=("ratchet", "racket"))


@pytest.fixture
def start(made: SimpleNamespace, new_screen: Callable[..., Any]) -> Callable[..., Any]:
    """``start(page=None)`` -> (session, what is shown)."""

    def begin(page: int | None = None) -> tuple[Session, Any]:
        table = {
            "long": made.found(),
            "short": made.unrecorded(),
            "pean": PEAN,
            "Pean two": made.unrecorded(),
            "a rachet here": TYPO,
            "a ratchet here": made.unrecorded(),
            "fault": ValueError("broken"),
        }
        shown = new_screen()
        session = Session(FakeCatalogue(table), shown.screen, (lambda: page) if page else None)  # type: ignore[arg-type]
        return session, shown

    return begin


def test_a_question_needs_no_command_word(start: Callable[..., Any]) -> None:
    session, shown = start()
    assert session.handle("  short ")
    assert "Not recorded: jaw insert." in shown.out
    assert session.last.question == "q"


def test_an_empty_line_shows_how_to_begin(start: Callable[..., Any]) -> None:
    session, shown = start(10)
    assert session.handle("   ") and all(e.question in shown.out for e in examples() if e.first)


def test_an_empty_line_from_a_pipe_does_nothing(start: Callable[..., Any]) -> None:
    session, shown = start()
    assert session.handle("   ") and shown.out == ""


def test_a_long_answer_comes_in_pages(start: Callable[..., Any], made: SimpleNamespace) -> None:
    session, shown = start(12)
    whole = kg.plain(kg.answer_lines(made.found(), 80))
    session.handle("long")
    first = shown.out
    assert whole.startswith(first.split("\n\n", 1)[0])
    assert first.count("\n") <= 14 and "more lines: press Enter" in first
    while session.rest:
        session.handle("" if len(session.rest) % 2 else "more")
    text = shown.out
    for line in whole.splitlines():
        assert line in text
    session.handle("more")
    assert shown.out.endswith("There is nothing more to show.\n")


def test_a_new_question_drops_the_rest(start: Callable[..., Any]) -> None:
    session, _ = start(12)
    session.handle("long")
    assert session.rest
    session.handle("short")
    assert not session.rest


def test_nothing_is_paged_without_a_page(start: Callable[..., Any], made: SimpleNamespace) -> None:
    session, shown = start()
    session.handle("long")
    assert shown.out == kg.plain(kg.answer_lines(made.found(), 80))


def test_readings_are_chosen_by_number(start: Callable[..., Any]) -> None:
    session, shown = start(20)
    session.handle("pean")
    assert "  1 Pean one\n  2 Pean two\n" in shown.err and "Type the number" in shown.out
    session.handle("3")
    assert "Type a number from 1 to 2" in shown.out
    session.handle("2.")
    assert session.catalogue.asked == ["pean", "Pean two"] and not session.choices


def test_a_correction_is_taken_with_enter(start: Callable[..., Any]) -> None:
    session, shown = start(20)
    session.handle("a rachet here")
    assert "Enter alone asks: a ratchet here" in shown.out
    session.handle("")
    assert session.catalogue.asked[-1] == "a ratchet here"


def test_a_number_is_a_question_when_nothing_is_to_be_chosen(start: Callable[..., Any]) -> None:
    session, _ = start(20)
    session.catalogue.table["2"] = PEAN
    session.handle("2")
    assert session.catalogue.asked == ["2"]


def test_a_fault_of_our_own_is_survived(start: Callable[..., Any]) -> None:
    session, shown = start()
    assert session.handle("fault")
    assert shown.err.startswith("Boxlock met a fault of its own: ValueError (broken). [BL-X01]\n")
    assert session.screen.failed
    assert session.handle("short") and "Not recorded" in shown.out


@pytest.mark.parametrize("line", ["quit", "QUIT", "exit", "bye", " leave "])
def test_words_that_leave(start: Callable[..., Any], line: str) -> None:
    session, _ = start()
    assert not session.handle(line)


@pytest.mark.parametrize("line", ["query", "show query", "show the query"])
def test_the_last_query_can_be_shown(start: Callable[..., Any], line: str) -> None:
    session, shown = start()
    session.handle(line)
    assert shown.out == "Nothing has been asked yet.\n"
    session.handle("long")
    session.handle(line)
    assert shown.out.endswith("I read this as: clamps with longitudinal serration\n\nSELECT ?p WHERE { ?p a bl:Clamp }\n")


def test_help_lists_every_command_and_example(start: Callable[..., Any]) -> None:
    session, shown = start()
    session.handle("help")
    squeezed = " ".join(shown.out.split())
    for command in COMMANDS:
        assert command.text in squeezed
    for example in examples():
        assert example.form in squeezed


def test_a_question_that_begins_with_a_command_word_is_a_question() -> None:
    assert find("help me find clamps") is None
    assert find("more than 20 cm") is None
    assert find("quit smoking") is None
    entry, argument = find("sparql ASK {}") or (None, "")
    assert entry and entry.words[0] == "sparql" and argument == "ASK {}"


def test_no_two_commands_share_a_word() -> None:
    words = [w for c in COMMANDS for w in c.words]
    assert len(words) == len(set(words))


# --- with the shipped catalogue ---------------------------------------------------------------------------------------
def test_every_example_has_an_answer(catalogue: kg.Catalogue) -> None:
    assert sum(e.first for e in examples()) == 2
    for example in examples():
        answer = catalogue.ask(example.question)
        argued = answer.argument is not None and isinstance(answer.argument.holds, bool)
        bench = answer.description or answer.telling or answer.look_alikes or answer.identification or answer.care
        found = answer.matches or answer.values or answer.comparison or answer.disputed or argued or bench
        assert found, example.question
        assert "Not recorded:" not in kg.plain(kg.answer_lines(answer, 80)), example.question


def test_sparql_at_the_prompt(catalogue: kg.Catalogue, new_screen: Callable[..., Any]) -> None:
    shown = new_screen()
    session = Session(catalogue, shown.screen)
    assert session.handle("sparql ASK { ?s ?p ?o }") and shown.out == "Yes.\n"
    session.handle("sparql DROP ALL")
    assert "[BL-S02]" in shown.err
    session.handle("sparql")
    assert "[BL-S0" in shown.err


def test_answers_fit_every_width(catalogue: kg.Catalogue) -> None:
    for example in examples():
        answer = catalogue.ask(example.question)
        for width in (40, 57, 80, 120, 200):
            lines = kg.plain(kg.answer_lines(answer, width)).splitlines()
            assert max(map(len, lines)) <= width, (example.question, width)
