"""The commands of the prompt. ``help`` is printed from this registry, and completion offers its words.

A command is a word or two by itself; anything else that is typed is a question.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from repl.session import Session


@dataclass(frozen=True)
class Command:
    """``words`` are all names, the first is the one in the help; ``argument`` is empty if the command takes none."""

    words: tuple[str, ...]
    text: str
    argument: str
    run: Callable[[Session, str], bool]
    """Takes the session and the argument; False leaves the prompt."""


COMMANDS: list[Command] = []


def command(*words: str, text: str, argument: str = "") -> Callable:
    """Registers a function as a command."""

    def register(run: Callable[[Session, str], bool]) -> Callable[[Session, str], bool]:
        COMMANDS.append(Command(words, text, argument, run))
        return run

    return register


def find(text: str) -> tuple[Command, str] | None:
    """The command that a line is, with its argument; None if the line is a question."""
    typed = " ".join(text.split())
    bare = typed.casefold().rstrip(" ?!.")
    for entry in COMMANDS:
        for word in entry.words:
            if bare == word and not (entry.argument and not entry.argument.startswith("[")):
                return entry, ""
            if entry.argument and typed.casefold().startswith(word + " "):
                return entry, text.strip()[len(word) :].strip()
    return None


@command("help", "how does this work", "what can i ask", text="what can be asked, and these commands")
def show_help(session: Session, _: str) -> bool:
    session.show_help()
    return True


@command("more", "show more", "next page", text="the next page of a long answer (Enter alone does the same)")
def more(session: Session, _: str) -> bool:
    session.next_page()
    return True


@command("query", "show query", "show the query", text="how the last question was read, and its SPARQL")
def query(session: Session, _: str) -> bool:
    session.show_query()
    return True


@command("sparql", text="run a read-only SPARQL query", argument="QUERY")
def sparql(session: Session, text: str) -> bool:
    session.run_sparql(text)
    return True


@command("export", text="write the last answer as a handout: html, pdf, md, csv, xlsx, json, ttl, jsonld", argument="[FILE]")
def export(session: Session, text: str) -> bool:
    session.export(text)
    return True


@command("identify", "name it", text="name an instrument in the hand, step by step", argument="[WHAT IS SEEN]")
def identify(session: Session, text: str) -> bool:
    session.identify(text)
    return True


@command("rehearse", "examine me", "test me", text="questions as in a viva; your answers are marked", argument="[INSTRUMENTS]")
def rehearse(session: Session, text: str) -> bool:
    text = text.removeprefix("on ").removeprefix("about ")
    session.rehearse(text)
    return True


@command("draw", text="draw an instrument, or two joined by 'and', as SVG", argument="NAME to FILE.svg")
def draw(session: Session, text: str) -> bool:
    session.draw(text)
    return True


@command("quit", "exit", "bye", "leave", text="leave (Ctrl-D does the same)")
def leave(_session: Session, _: str) -> bool:
    return False
