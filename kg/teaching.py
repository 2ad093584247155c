"""What teachers and candidates do with an open catalogue: courses, plans, stations, rehearsals, drawings.

A part of ``kg.catalogue.Catalogue``, in a module of its own since asking needs none of it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from kg.errors import QuestionError
from kg.records import replace

if TYPE_CHECKING:
    from kg.answer import Context
    from kg.course.planned import Plan
    from kg.course.records import Coverage
    from kg.course.stationed import Circuit
    from kg.draw import Drawing
    from kg.language import Lexicon, nodes
    from kg.model import Answer
    from kg.rehearse import Item, Marked, Marker, Rehearsal, Sheet
    from kg.vocabulary import Vocabulary

Result = TypeVar("Result")


class Teaching:
    """The methods; what they stand on is declared here and made by the catalogue."""

    root: Path
    vocabulary: Vocabulary

    if TYPE_CHECKING:
        lexicon: Lexicon
        context: Context

        def parse(self, text: str) -> nodes.Question: ...
        def answer(self, question: nodes.Question, text: str = "", *, limit: int = 20) -> Answer: ...
        def pattern_named(self, name: str) -> str: ...
        def _trusting(self, work: Callable[[], Result]) -> Result: ...

    def coverage(
        self,
        files: Sequence[str | Path],
        *,
        against: Sequence[str | Path] = (),
        smallest: bool = False,
        every_value: bool = False,
        more: int = 0,
        among_course: bool = False,
        work: float | None = None,
    ) -> Coverage:
        """What the course in ``files`` covers, and what it leaves out (``kg.course``).

        ``against``: an older course to compare with; ``smallest``: with the smallest list that meets the objectives;
        ``every_value``: with the smallest one that shows every value; ``more``: what 1 to so many instruments more would buy;
        ``among_course``: chosen from what is shown; ``work``: the limit of each search. Raises InputError with ``findings``,
        QueryError if the store fails.
        """
        from kg.course.look import look

        settings = {"smallest": smallest, "every_value": every_value, "more": more, "among_course": among_course, "work": work}
        return self._trusting(lambda: look(self.context, files, against, **settings))

    def plan(
        self,
        text: str,
        *,
        minutes: int,
        seconds: int | None = None,
        each: float | None = None,
        estimate: str = "",
        variants: bool = False,
    ) -> Plan:
        """Cuts the instruments of a question into sessions of at most so many minutes, each with a running order.

        ``seconds`` limits the search; ``each``: minutes for every instrument; ``estimate``: a file with other estimates;
        ``variants``: each variant by itself. Raises QuestionError, InputError (BL-P01: an instrument alone needs more).
        """
        from kg.course.minutes import own_estimate, read_estimate
        from kg.course.plan import SECONDS, plan
        from kg.language import say

        question = self.parse(text)
        numbers = read_estimate(self.root)
        if estimate:
            numbers = own_estimate(numbers, estimate, self.pattern_named)
        numbers = replace(numbers, each=each) if each is not None else numbers
        settings = {"text": text, "reading": say(question, self.lexicon), "minutes": minutes, "estimate": numbers}
        settings |= {"seconds": seconds or SECONDS, "variants": variants}
        return self._trusting(lambda: plan(self.context, question, **settings))

    def stations(self, text: str, *, count: int, seed: int, blueprint: str = "", look_alikes: bool = False) -> Circuit:
        """``count`` examination stations on the instruments of a question; the same seed gives the same ones.

        ``blueprint``: a file that says what the circuit is to hold; ``look_alikes``: they may stand in one circuit. Raises
        QuestionError, InputError (the blueprint).
        """
        from kg.course.stations import stations
        from kg.language import say

        question = self.parse(text)
        settings = {"root": self.root, "text": text, "reading": say(question, self.lexicon), "count": count, "seed": seed}
        settings |= {"blueprint": blueprint, "look_alikes": look_alikes, "members": self._members}
        return self._trusting(lambda: stations(self.context, question, **settings))

    def _members(self, words: str) -> list[str]:
        """The patterns that some words list ("needle holders"). Raises QuestionError."""
        return [m.name for m in self.ask(words, limit=0).matches]

    @cached_property
    def rehearsal(self) -> Rehearsal:
        """Makes the questions of rehearsals; reads what can be seen of the whole catalogue on first use."""
        from kg.rehearse import Rehearsal, read_settings

        return Rehearsal(self.context, read_settings(self.root))

    @cached_property
    def marker(self) -> Marker:
        """Marks written answers."""
        from kg.identify.settings import read_settings
        from kg.rehearse import Marker

        return Marker(self.context, self.rehearsal.settings, read_settings(self.root).means)

    def rehearse(self, text: str, count: int, seed: int, *, missed: Mapping[str, float] | None = None) -> Sheet:
        """Questions as an examiner asks them, on the instruments of a description or on one that is named; on all if ``text``
        is empty. The same ``seed`` and ``missed`` (see ``kg.rehearse.Past``) give the same questions.

        Raises QuestionError if the description is not understood, or describes nothing that matches.
        """
        from kg.language import nodes
        from kg.rehearse import Sheet

        if not text:
            patterns: Sequence[str] = [t.name for t in self.vocabulary.by_role("pattern")]
            return Sheet("", "all instruments", seed, count, self._items(patterns, count, seed, missed))
        question = self._describing(text)
        answer = self.answer(question, text, limit=1)
        if not answer.matches:
            hint = f"{answer.possible_count} could match; ask the question to see why." if answer.possible_count else ""
            raise QuestionError("BL-Q03", "Nothing on record matches this.", question=text, span=(0, len(text)), hint=hint)
        items = self._items([m.name for m in answer.matches], count, seed, missed)
        expr = question.expr
        named = self.vocabulary.label(expr.pattern) if isinstance(expr, nodes.Named) else answer.reading
        return Sheet(text, named, seed, count, items)

    def _items(self, patterns: Sequence[str], count: int, seed: int, missed: Mapping[str, float] | None) -> tuple[Item, ...]:
        return self._trusting(lambda: self.rehearsal.items(patterns, count, seed, missed=missed))

    def _describing(self, text: str) -> nodes.Filter:
        """A description of instruments, or the name of one, as a question for those that fit. Raises QuestionError."""
        from kg.language import nodes, pattern_named

        try:
            return nodes.Filter(nodes.Named(pattern_named(text, self.lexicon)))
        except QuestionError:
            question = self.parse(text)
        if isinstance(question, nodes.Filter):
            return question
        raise QuestionError(
            "BL-Q03",
            "This asks something; what is wanted here is a description of instruments.",
            question=text,
            span=(0, len(text)),
            hint="Describe the instruments, or name one.",
        )

    def mark(self, item: Item, text: str) -> Marked:
        """A written answer to one question of a rehearsal, marked fact by fact. Raises InputError (BL-I04) above its limit."""
        return self._trusting(lambda: self.marker.mark(item, text))

    def draw(self, *patterns: str) -> Drawing:
        """Draws a pattern, or two side by side; in a notebook the drawing shows itself. Names are words or short names.

        Raises QuestionError (BL-Qxx) if a name is not understood.
        """
        from kg.draw import drawing

        return self._trusting(lambda: drawing(self, *patterns))
