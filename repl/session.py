"""What happens with a line that was typed: a command, a choice, or a question. Knows no keys and no terminal library.

A session keeps the last answer, the rest of a long one, and what the user may accept next: one of several readings by
its number, or a corrected question with Enter. It survives every error.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import kg
from repl import commands
from repl.examples import examples
from repl.screen import Screen

if TYPE_CHECKING:
    from kg import Answer, Catalogue, Line
    from repl.identify import Inspection
    from repl.rehearse import Viva


PROMPT = "ask: "
SHORTEST_PAGE = 6
LEANING = (
    "A question may lean on the one before: and the curved ones? which of those are crushing? how is it sterilised? "
    "why? who says so?"
)


class Session:
    """``page`` gives the lines of a page each time it is called; None never pages."""

    def __init__(self, catalogue: Catalogue, screen: Screen, page: Callable[[], int] | None = None) -> None:
        self.catalogue = catalogue
        self.screen = screen
        self.page = page
        self.last: Answer | None = None
        self.before: Answer | kg.QuestionError | None = None
        """What the next question may lean on: the last answer, or an error that listed readings."""
        self.rest: list[Line] = []
        self.choices: tuple[str, ...] = ()
        self.offer = ""
        self.mode: Inspection | Viva | None = None
        """What takes the lines while it is set; it leaves by itself."""

    @property
    def prompt(self) -> str:
        """What stands before the line that is typed."""
        return self.mode.prompt if self.mode else PROMPT

    def handle(self, line: str) -> bool:
        """Does what a typed line says. False means leave. Raises only KeyboardInterrupt and errors of the streams."""
        text = line.strip()
        try:
            return self._handle(text)
        except kg.BoxlockError as error:
            self._failed(error)
        except OSError:
            raise
        except Exception as fault:
            from repl.cli import own_fault

            self.screen.show_error(own_fault(fault))
        return True

    def _handle(self, text: str) -> bool:
        if not text:
            if self.rest:
                self.next_page()
            elif self.offer:
                self.handle(self.offer) if self.mode else self.ask(self.offer)
            elif self.page is not None and not self.mode and self.last is None:
                self.show_start()
            return True
        if self.mode:
            self._forget()
            return self.mode.handle(text)
        if self.choices and text.rstrip(".").isdecimal() and len(text) < 4:
            self._choose(int(text.rstrip(".")))
            return True
        found = commands.find(text)
        if found:
            return found[0].run(self, found[1])
        self.ask(text)
        return True

    # --- questions ----------------------------------------------------------------------------------------------------
    def ask(self, text: str) -> None:
        """Answers a question and shows its first page."""
        self._forget()
        self.last = self.reply(text)
        self.show(kg.answer_lines(self.last, self.screen.width(), plain=self.screen.plain))

    def reply(self, text: str) -> Answer:
        """The answer to a question that may lean on what went before. Raises BoxlockError."""
        try:
            found = self.catalogue.ask(text, after=self.before)
        except kg.QuestionError as error:
            # A question that was not understood leaves the conversation where it was, unless it names another instrument.
            self.before = self.before if self.catalogue.left_by(error) is None else error
            raise
        self.before = found
        return found

    def identify(self, text: str) -> None:
        """Takes up an instrument to be named; until it is done, lines say what is seen on it."""
        from repl.identify import Inspection

        self._forget()
        self.mode = Inspection(self)
        self.mode.begin(text)

    def rehearse(self, text: str) -> None:
        """Asks questions as an examiner does; until it is done, lines are answers."""
        from repl.rehearse import Viva

        self._forget()
        viva = Viva(self, text)
        self.mode = viva
        viva.begin()

    def _choose(self, number: int) -> None:
        if not 1 <= number <= len(self.choices):
            self.say(f"Type a number from 1 to {len(self.choices)}, or another question.")
            return
        chosen = self.choices[number - 1]
        self.say(chosen, "query")
        self.ask(chosen)

    def _failed(self, error: kg.BoxlockError) -> None:
        self._forget()
        self.screen.show_error(error)
        if not isinstance(error, kg.QuestionError) or self.page is None:
            return
        if error.readings and not self.mode:
            self.choices = error.readings
            self.say("Type the number of the one you mean.")
        elif error.near and error.span[1] > error.span[0]:
            start, end = error.span
            self.offer = error.question[:start] + error.near[0] + error.question[end:]
            self.say(f"Enter alone {'says' if self.mode else 'asks'}: {self.offer}")

    def _forget(self) -> None:
        self.rest, self.choices, self.offer = [], (), ""

    # --- commands -----------------------------------------------------------------------------------------------------
    def next_page(self) -> None:
        if self.rest:
            self.show(self.rest)
        else:
            self.say("There is nothing more to show.")

    def show_query(self) -> None:
        if self.last is None:
            self.say("Nothing has been asked yet.")
            return
        query = tuple(("query", line) for line in self.last.sparql.splitlines())
        blocks = [kg.Para((("remark", "I read this as: "), ("query", self.last.reading))), kg.Verbatim(query)]
        self.show(kg.block_lines(blocks, self.screen.width()))

    def export(self, name: str) -> None:
        """Writes the last answer into a file, by its ending; without a name as a page named after the question."""
        if self.last is None:
            self.say("Nothing has been asked yet.")
            return
        path = Path(name.strip("\"'")) if name else None
        self.say(f"Written to {kg.export_answer(self.catalogue, self.last.question, path)}.")

    def run_sparql(self, text: str) -> None:
        self._forget()
        result = self.catalogue.raw(text)
        self.show(kg.raw_lines(result, self.screen.width()))

    def draw(self, text: str) -> None:
        """Draws what stands before "to" into the file after it; two names are joined by "and"."""
        from repl.draw import drawn, svg_path

        self._forget()
        names, _, file = text.rpartition(" to ")
        if not names.strip():
            raise kg.InputError("BL-I01", "A drawing needs a name and a file.", hint="draw NAME to FILE.svg")
        path = svg_path(file.strip())
        try:
            made = self.catalogue.draw(names.strip())
        except kg.QuestionError:
            apart = [name.strip() for name in names.split(" and ")]
            if len(apart) == 1:
                raise
            made = drawn(self.catalogue, apart)
        kg.write_text(path, made.svg())
        self.show(kg.drawing_lines(made, str(path), self.screen.width()))

    def show_start(self) -> None:
        """How to begin, for someone who pressed Enter on the empty line."""
        first = [e.question for e in examples() if e.first]
        blocks: list = [kg.Para((("", "Type a question in plain English and press Enter, for example:"),))]
        blocks += [kg.Para((("query", question),), 1, close=True) for question in first]
        blocks.append(kg.Para((("", "help shows what else can be asked."),), close=True))
        self.show(kg.block_lines(blocks, self.screen.width()))

    def show_help(self) -> None:
        blocks: list = []
        listed = examples()
        if listed:
            rows = tuple(((("", e.form),), (("query", e.question),)) for e in listed)
            blocks += [kg.Heading("Questions, by example"), kg.Table((), rows)]
        names = [f"{c.words[0]} {c.argument}".rstrip() for c in commands.COMMANDS]
        rows = tuple(((("query", n),), (("", c.text),)) for n, c in zip(names, commands.COMMANDS, strict=True))
        blocks += [kg.Heading("Commands"), kg.Table((), rows)]
        blocks.append(kg.Para((("", LEANING),)))
        blocks.append(kg.Para((("", "Tab completes a word. Ctrl-C drops the line or stops an answer."),)))
        blocks.append(kg.Para((("caution", kg.CAUTION),), close=True))
        self.show(kg.block_lines(blocks, self.screen.width()))

    # --- showing ------------------------------------------------------------------------------------------------------
    def say(self, text: str, style: str = "remark") -> None:
        self.screen.show(kg.block_lines([kg.Para(((style, text),))], self.screen.width()))

    def show(self, lines: Sequence[Line]) -> None:
        """Shows the lines, or a first page of them and how many follow; the rest is kept for ``next_page``."""
        room = max(self.page(), SHORTEST_PAGE) if self.page else len(lines)
        if len(lines) <= room + 1:
            self.screen.show(lines)
            self.rest = []
            return
        # Rather a shorter page than one that ends in the middle of a paragraph.
        end = next((i for i in range(room, room // 2, -1) if not lines[i]), room)
        self.screen.show(lines[:end])
        self.rest = list(lines[end + (not lines[end]) :])
        self.screen.write("\n")
        self.say(f"{len(self.rest)} more lines: press Enter for the next page, or ask something else.")
