"""The prompt itself: keys typed into a pipe, no terminal; completion; history."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.completion import CompleteEvent
from prompt_toolkit.document import Document
from prompt_toolkit.history import InMemoryHistory
from prompt_toolkit.input import PipeInput, create_pipe_input
from prompt_toolkit.output import DummyOutput

import kg
from repl.app import build_prompt, greet, loop, run
from repl.completer import QuestionCompleter
from repl.history import open_history
from repl.session import Session

CTRL_C, CTRL_D = "\x03", "\x04"


@pytest.fixture
def keys() -> Iterator[PipeInput]:
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        yield pipe


def prompt(catalogue: kg.Catalogue, keys: PipeInput, **options: Any) -> Any:
    return build_prompt(catalogue, input=keys, output=DummyOutput(), **options)


# --- keys -------------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("colour", [True, False])
def test_a_line_is_read(catalogue: kg.Catalogue, keys: PipeInput, colour: bool) -> None:
    keys.send_text("artery forceps\r")
    assert prompt(catalogue, keys, colour=colour).prompt() == "artery forceps"


def test_ctrl_c_drops_the_line_and_ctrl_d_leaves(
    catalogue: kg.Catalogue, keys: PipeInput, new_screen: Callable[..., Any]
) -> None:
    keys.send_text(f"clamps with a zzgrip{CTRL_C}what is a box lock\r{CTRL_D}")
    shown = new_screen()
    session = Session(catalogue, shown.screen)
    assert loop(session, prompt(catalogue, keys).prompt) == 0
    assert shown.err == ""
    assert "box lock: A pivot joint" in shown.out or "I read this as: what is a box lock" in shown.out


def test_history_is_kept_and_recalled(catalogue: kg.Catalogue, keys: PipeInput) -> None:
    session = prompt(catalogue, keys)
    keys.send_text("first question\r")
    session.prompt()
    keys.send_text("\x1b[A\r")  # cursor up
    assert session.prompt() == "first question"
    assert "first question" in kg.history_file().read_text(encoding="utf-8")


def test_quitting_leaves_the_loop(catalogue: kg.Catalogue, new_screen: Callable[..., Any]) -> None:
    lines = iter(["", "quit", "never read"])
    assert loop(Session(catalogue, new_screen().screen), lambda: next(lines)) == 0
    assert next(lines) == "never read"


def test_ctrl_c_stops_an_answer(new_screen: Callable[..., Any]) -> None:
    def stopped(_: str, after: object = None) -> kg.Answer:
        raise KeyboardInterrupt

    shown = new_screen()
    lines = iter(["long one", "quit"])
    loop(Session(SimpleNamespace(ask=stopped), shown.screen), lambda: next(lines))  # type: ignore[arg-type]
    assert shown.out.startswith("Stopped.\n")


def test_the_first_screen_is_short(new_screen: Callable[..., Any]) -> None:
    shown = new_screen()
    greet(shown.screen)
    assert len(shown.out.splitlines()) <= 9
    assert shown.out.count("\n  ") == 2  # two examples
    assert "help" in shown.out and "Ctrl-D" in shown.out and kg.CAUTION in shown.out


def test_a_simple_terminal_is_enough(
    monkeypatch: pytest.MonkeyPatch, new_screen: Callable[..., Any], catalogue: kg.Catalogue
) -> None:
    lines = iter(["what is a box lock", "quit"])
    monkeypatch.setenv("TERM", "dumb")
    monkeypatch.setattr("builtins.input", lambda _: next(lines))
    shown = new_screen()
    assert run(shown.screen) == 0
    assert "what is a box lock" in shown.out and "\x1b" not in shown.out


# --- completion -------------------------------------------------------------------------------------------------------
def offered(completer: QuestionCompleter, text: str) -> list[tuple[str, int]]:
    found = completer.get_completions(Document(text), CompleteEvent())
    return [(c.text, c.start_position) for c in found]


def test_completion_offers_what_fits(catalogue: kg.Catalogue) -> None:
    completer = QuestionCompleter(lambda text, cursor: kg.suggest(text, cursor, catalogue.lexicon))
    assert ("ratchet", -3) in offered(completer, "clamps with a rat") or any(
        "ratchet" in text for text, _ in offered(completer, "clamps with a rat")
    )
    assert ("help", -2) in offered(completer, "he")


def test_completion_never_raises() -> None:
    def broken(_text: str, _cursor: int) -> list[kg.Suggestion]:
        raise RuntimeError

    assert offered(QuestionCompleter(broken), "anything") == []


def test_completion_leaves_out_what_is_typed_and_what_is_out_of_place() -> None:
    given = [
        kg.Suggestion("ratchet", 2, "part"),
        kg.Suggestion("ratchets", 2, "part"),
        kg.Suggestion("odd", 99, "part"),
    ]
    assert offered(QuestionCompleter(lambda *_: given), "a ratchet") == [("ratchets", -7)]


# --- history ----------------------------------------------------------------------------------------------------------
def test_history_falls_back_to_memory(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert isinstance(open_history(tmp_path / "file" / "history"), InMemoryHistory)


def test_a_history_that_stops_working_costs_nothing(tmp_path: Path) -> None:
    path = tmp_path / "state" / "history"
    history = open_history(path)
    history.append_string("one")
    assert path.stat().st_mode & 0o077 == 0
    path.unlink()
    path.mkdir()
    history.append_string("two")
    assert list(history.load_history_strings()) == []
