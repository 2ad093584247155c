"""The prompt: builds its parts and runs the loop. Input and output can be given, so that tests can type into it."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

import kg
from repl.examples import examples
from repl.oneshot import open_catalogue
from repl.screen import Screen
from repl.session import PROMPT, Session

if TYPE_CHECKING:
    from prompt_toolkit import PromptSession
    from prompt_toolkit.input import Input
    from prompt_toolkit.output import Output

    from kg import Catalogue

MENU_LINES = 5
"""Kept free below the prompt for completions."""
Read = Callable[[], str]


def run(screen: Screen, *, colour: bool = True) -> int:
    """Opens the catalogue and the prompt on this terminal; returns when the user leaves. Status 0."""
    catalogue = open_catalogue(screen)
    # At the prompt errors belong between question and answer, in the same stream.
    screen.err, screen.colour_err = screen.out, screen.colour
    session = Session(catalogue, screen, page_height)
    greet(screen)
    if os.environ.get("TERM", "dumb") == "dumb":
        return loop(session, lambda: input(session.prompt))
    prompt = build_prompt(catalogue, colour=colour and not os.environ.get("NO_COLOR"))
    return loop(session, lambda: prompt.prompt([("class:prompt", session.prompt)]))


def loop(session: Session, read: Read) -> int:
    """Reads and handles lines until the user leaves. Ctrl-C drops the line or stops the answer; Ctrl-D leaves."""
    while True:
        try:
            line = read()
        except KeyboardInterrupt:
            continue
        except EOFError:
            break
        try:
            if not session.handle(line):
                break
        except KeyboardInterrupt:
            session.say("Stopped.")
        session.screen.write("\n")
        session.screen.out.flush()
    return 0


def build_prompt(
    catalogue: Catalogue, *, colour: bool = True, input: Input | None = None, output: Output | None = None
) -> PromptSession[str]:
    """A prompt with history, completion and, if wanted, colour."""
    from prompt_toolkit import PromptSession
    from prompt_toolkit.completion import ThreadedCompleter
    from prompt_toolkit.output import ColorDepth
    from prompt_toolkit.styles import Style

    from repl.completer import QuestionCompleter
    from repl.history import open_history

    return PromptSession(
        [("class:prompt", PROMPT)],
        completer=ThreadedCompleter(QuestionCompleter(catalogue.suggest)),
        complete_while_typing=True,
        history=open_history(kg.history_file()),
        style=Style.from_dict(_LOOK if colour else _PLAIN),
        include_default_pygments_style=False,
        color_depth=None if colour else ColorDepth.DEPTH_1_BIT,
        reserve_space_for_menu=MENU_LINES,
        input=input,
        output=output,
    )


_LOOK = {
    "prompt": "bold",
    "completion-menu": "bg:ansidefault ansidefault noreverse",
    "completion-menu.completion": "bg:ansidefault ansidefault",
    "completion-menu.completion.current": "reverse",
    "completion-menu.meta.completion": "bg:ansidefault ansibrightblack",
    "completion-menu.meta.completion.current": "reverse",
    "scrollbar.background": "bg:ansidefault",
    "scrollbar.button": "bg:ansibrightblack",
}
_PLAIN = {name: ("reverse" if "current" in name else "noreverse") for name in _LOOK}


def greet(screen: Screen) -> None:
    """The first screen: what this is, two questions to begin with, where help is, and the caution."""
    first = [e.question for e in examples() if e.first]
    intro = "Boxlock answers questions about surgical hand instruments and says who says so."
    blocks: list = [kg.Para((("heading", intro),))]
    if first:
        blocks.append(kg.Para((("", "Type a question and press Enter, for example:"),)))
        blocks += [kg.Para((("query", question),), 1, close=True) for question in first]
    blocks.append(kg.Para((("", "Type help for what else can be asked; Ctrl-D leaves."),), close=bool(first)))
    blocks.append(kg.Para((("caution", kg.CAUTION),), close=True))
    screen.show(kg.block_lines(blocks, screen.width()))
    screen.write("\n")
    screen.out.flush()


def page_height() -> int:
    """Lines that can be read at once: those of the terminal (24 if unknown) without prompt, completions and remark."""
    try:
        lines = os.get_terminal_size(sys.stdout.fileno()).lines or 24
    except (OSError, ValueError):
        lines = 24
    return lines - MENU_LINES - 5
