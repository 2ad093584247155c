"""Rehearsing for a viva: as a sheet from the command line, or question by question at the prompt."""

from __future__ import annotations

import re
from argparse import Namespace
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import kg
from repl.oneshot import open_catalogue, show_json
from repl.screen import Screen

if TYPE_CHECKING:
    from kg import Item, Marked
    from repl.session import Session

PROMPT = "say: "
COUNT = 10


def todays_seed() -> int:
    """The day as a number: without a seed, the same questions all day and others tomorrow."""
    return int(f"{date.today():%Y%m%d}")


# --- one-shot -------------------------------------------------------------------------------------------------------
def rehearse(options: Namespace, screen: Screen) -> int:
    """A sheet of questions with model answers, or without; or an answered one, marked; or what is kept of rehearsals."""
    if options.past or options.forget or options.keep:
        return _past(options, screen)
    catalogue = open_catalogue(screen)
    seed = todays_seed() if options.seed is None else options.seed
    sheet = catalogue.rehearse(" ".join(options.question), options.count, seed)
    marked: dict[int, Marked] = {}
    if options.answers:
        given = kg.read_answers(Path(options.answers), range(1, len(sheet.items) + 1))
        marked = {i.number: catalogue.mark(i, given.get(i.number, "")) for i in sheet.items}
    if screen.format == "json":
        show_json(screen, kg.sheet_json(sheet, covered=options.cover, marked=marked))
    elif screen.format == "csv":
        screen.write(kg.sheet_csv(sheet, covered=options.cover))
    elif screen.format == "markdown":
        screen.write(kg.sheet_markdown(sheet, covered=options.cover, marked=marked))
    else:
        screen.show(kg.sheet_lines(sheet, screen.width(), covered=options.cover, marked=marked))
    screen.out.flush()
    catalogue.keep()
    return 0


def _past(options: Namespace, screen: Screen) -> int:
    """Shows, deletes, or turns on or off what is kept of rehearsals at the prompt."""
    file = kg.rehearsal_file()
    if options.forget:
        there = kg.Past(file).forget()
        screen.write(f"{'Deleted' if there else 'There was nothing at'} {file}\n")
        return 0
    past = kg.Past.read(file)
    if options.keep:
        past.set_keep(options.keep == "on")
    if screen.format == "json":
        show_json(screen, {"file": str(file), "keep": past.keep, "answers": past.answers})
        return 0
    state = "on" if past.keep else "off"
    screen.write(f"Keeping how rehearsals went is {state}. File: {file}\n")
    rows = tuple(
        ((("query", key),), (("number", str(e["asked"])),), (("number", f"{e['shares'][-1]:.0%}"),), (("remark", e["last"]),))
        for key, e in past.answers.items()
    )
    if rows:
        screen.show(kg.block_lines([kg.Table(("question", "asked", "last", "day"), rows)], screen.width()))
    return 0


# --- at the prompt --------------------------------------------------------------------------------------------------
class Viva:
    """One rehearsal: a line is the answer to the question that stands, or one of a few commands."""

    prompt = PROMPT

    def __init__(self, session: Session, text: str) -> None:
        self.session = session
        self.catalogue = session.catalogue
        self.past = kg.Past.read(kg.rehearsal_file())
        self.sheet = self.catalogue.rehearse(text, COUNT, todays_seed(), missed=self.past.missed())
        self.waiting: list[Item] = list(self.sheet.items)
        self.missed: list[tuple[int, Item]] = []
        """(how many questions have to come in between, question): those that come again, once each."""
        self.marked: list[Marked] = []
        self.again: set[str] = set()

    def begin(self) -> None:
        """Says what is to come and asks the first question."""
        many = len(self.sheet.items)
        kept = "Only how much was said is kept" if self.past.keep else "Nothing is kept"
        self._say(
            f"{many} questions on {self.sheet.reading}. Answer in your own words; 'show' gives the model answer, 'how' lists "
            f"what else can be typed. {kept}; see: boxlock rehearse --past."
        )
        self._ask()

    def handle(self, text: str) -> bool:
        """Does what a line says; True always: the prompt is left by its own command. Raises kg.BoxlockError."""
        line = " ".join(text.split()).rstrip(" ?.!").casefold()
        for pattern, run in _COMMANDS:
            if pattern.fullmatch(line):
                run(self)
                return True
        self._answered(text)
        return True

    # --- what a line can say ------------------------------------------------------------------------------------------
    def _answered(self, text: str) -> None:
        item = self.waiting[0]
        marked = self.catalogue.mark(item, text)
        self.marked.append(marked)
        self.past.note(marked, f"{date.today():%Y-%m-%d}")
        settings = self.catalogue.rehearsal.settings
        if marked.share < settings.again_below and item.key not in self.again:
            self.again.add(item.key)
            self.missed.append((settings.again_after, item))
        self._show(kg.marked_lines(marked, self.session.screen.width()))
        self._next()

    def show_answer(self) -> None:
        """The model answer of the question that stands; it counts as not said."""
        self._answered("")

    def skip(self) -> None:
        """Leaves the question out, unmarked."""
        self._say("Left out.")
        self._next()

    def repeat(self) -> None:
        self._ask()

    def explain(self) -> None:
        rows = tuple(((("query", words),), (("", text),)) for words, text in HELP)
        self._show(kg.block_lines([kg.Table((), rows)], self.session.screen.width()))

    def done(self) -> None:
        if self.marked:
            self._show(kg.total_lines(self.marked, self.session.screen.width()))
        self.session.mode = None

    # --- the course of it ---------------------------------------------------------------------------------------------
    def _next(self) -> None:
        self.waiting.pop(0)
        self.missed = [(n - 1, item) for n, item in self.missed]
        due = next((pair for pair in self.missed if pair[0] <= 0 or not self.waiting), None)
        if due:
            self.missed.remove(due)
            self.waiting.insert(0, due[1])
        if self.waiting:
            self._ask()
        else:
            self._say("That was the last question.")
            self.done()

    def _ask(self) -> None:
        item = self.waiting[0]
        self.session.screen.write("\n")
        again = " (again)" if any(m.item.key == item.key for m in self.marked) else ""
        lead = (("number", f"{item.number}.{again}"),)
        self._show(kg.block_lines([kg.Para((("query", item.prompt),), 0, lead)], self.session.screen.width()))

    def _say(self, text: str) -> None:
        self.session.say(text)

    def _show(self, lines: list) -> None:
        self.session.screen.show(lines)


HELP = (
    ("It has finger rings, ...", "answer the question; any order, your own words"),
    ("show", "the model answer; the question counts as not answered"),
    ("skip", "leave this question out"),
    ("again", "the question once more"),
    ("done", "the marks together, and back to questions"),
)
_COMMANDS: list[tuple[re.Pattern[str], Callable[[Viva], None]]] = [
    (re.compile(r"show|show (?:me|it|the answer|the model answer)|i don't know|don't know|no idea|pass"), Viva.show_answer),
    (re.compile(r"skip|leave (?:it|this) out|next"), Viva.skip),
    (re.compile(r"again|repeat|say that again|once more|what was the question"), Viva.repeat),
    (re.compile(r"help|how"), Viva.explain),
    (re.compile(r"done|leave|quit|exit|stop|enough"), Viva.done),
]
