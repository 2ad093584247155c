"""What a handout is made of, whatever file it becomes.

A handout holds *cards*, one a pattern, and each card holds the same *fields*; a field of a card is a list of *lines*, one
thing said each, with its witnesses. Matches, disputed patterns and those that could match are kept apart, as in an answer.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

from kg.model import Answer, Quote
from kg.names import expand
from kg.render.blocks import Block

Result = Literal["match", "disputed", "could match", "subject"]
NOTES, DRAWING, PHOTO, ALIKE = "notes", "drawing", "photo", "look-alikes"
ABSENT = "absent"
LISTS = ("filter", "count", "group", "classify", "new category")
"""Kinds of answer that list patterns."""


@dataclass(frozen=True)
class Field:
    """One field of every card. ``key`` is how it is asked for; ``heading`` how it is headed.

    ``slot``: the feature or part that it shows, empty for a named field; ``by_part``: its lines stand under their part.
    """

    key: str
    heading: str
    slot: str = ""
    by_part: bool = False


@dataclass(frozen=True)
class Line:
    """One thing said. ``about`` is its part, or the look-alike; may be empty.

    ``status``: adopted, inferred, made with, absent, disputed, not recorded, or empty where nothing is stated; ``basis``: what
    it rests on where no published human source suffices; ``general``: the parent or kind that it was said of; ``note``: the
    number of its dispute, 0 for none.
    """

    text: str
    about: str = ""
    status: str = ""
    basis: str = ""
    general: str = ""
    sources: tuple[str, ...] = ()
    note: int = 0

    def to_json(self) -> dict[str, Any]:
        out: dict[str, Any] = {"about": self.about, "text": self.text, "status": self.status, "basis": self.basis}
        return out | {"said_of": self.general, "sources": list(self.sources), "dispute": self.note or None}


@dataclass(frozen=True)
class Photo:
    """A reader's own picture: ``media`` is image/jpeg or image/png, ``data`` its bytes, ``file`` the name it had."""

    media: str
    data: bytes
    file: str


@dataclass(frozen=True)
class Card:
    """One pattern. ``cells``: its lines, field by field in the order of ``Handout.fields``.

    ``reason``: why it is disputed or could only match; ``groups``: the groups that it stands in; ``drawing``: SVG, or empty.
    """

    name: str
    label: str
    result: Result
    cells: tuple[tuple[Line, ...], ...]
    reason: str = ""
    basis: str = ""
    contested: bool = False
    inferred: bool = False
    variant_of: str = ""
    groups: tuple[str, ...] = ()
    drawing: str = ""
    photo: Photo | None = None
    notes: tuple[int, ...] = ()
    """Numbers of all disputes of the pattern."""

    def to_json(self, fields: Iterable[Field]) -> dict[str, Any]:
        return {
            "iri": expand(self.name),
            "label": self.label,
            "result": self.result,
            "reason": self.reason,
            "basis": self.basis,
            "variant_of": self.variant_of,
            "groups": list(self.groups),
            "fields": {f.key: [line.to_json() for line in cell] for f, cell in zip(fields, self.cells, strict=True)},
            "disputes": list(self.notes),
        }


@dataclass(frozen=True)
class Footnote:
    """A dispute with both sides, once for all patterns that have it. ``adopted.value`` is empty if the tie is open."""

    number: int
    labels: tuple[str, ...]
    feature: str
    adopted: Quote
    also_said: tuple[Quote, ...]

    def to_json(self) -> dict[str, Any]:
        return {
            "number": self.number,
            "labels": list(self.labels),
            "feature": self.feature,
            "adopted": self.adopted.value or None,
            "adopted_sources": list(self.adopted.sources),
            "also_said": [q.to_json() for q in self.also_said],
        }


@dataclass(frozen=True)
class Open:
    """Patterns that could match, all for the same reason: (name, label) of each."""

    missing: tuple[str, ...]
    reason: str
    patterns: tuple[tuple[str, str], ...]

    @property
    def text(self) -> str:
        """``jaw surface: criss-cross serration (not recorded)``."""
        return f"{'; '.join(self.missing)} ({self.reason})"


@dataclass(frozen=True)
class Handout:
    """Everything that a file of any form is written from. Nothing in it depends on the clock or the machine.

    ``blocks``: an answer that is no plain list (a comparison, an argument, a definition), to stand before the cards;
    ``sources``: those that the blocks cite by number, from 1.
    ``cover``: what is to be guessed, "names", "facts" or "nothing". ``groups``: the headings of the groups, in order; empty
    if it is not grouped.
    """

    answer: Answer
    title: str
    date: str
    order: str
    order_text: str
    fields: tuple[Field, ...]
    cards: tuple[Card, ...]
    open: tuple[Open, ...] = ()
    footnotes: tuple[Footnote, ...] = ()
    blocks: tuple[Block, ...] = ()
    sources: tuple[str, ...] = ()
    group: str = ""
    groups: tuple[str, ...] = ()
    cover: str = "nothing"
    notes_wanted: bool = True
    cautions: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    paper: str = "a4"
    fact_texts: tuple[tuple[str, str], ...] = ()
    """(heading, text) of the facts on the handout itself: question, reading, date, how verified."""

    @property
    def lists_patterns(self) -> bool:
        """Whether the cards are the answer; else they stand beside one of another kind, such as a comparison."""
        return self.answer.kind in (*LISTS, "describe")

    def of(self, result: Result) -> tuple[Card, ...]:
        return tuple(c for c in self.cards if c.result == result)


class Numbers:
    """Numbers for the sources of a handout, by first mention; a line names a few, the rest of them are counted."""

    def __init__(self, shown: int, first: Iterable[str] = ()) -> None:
        """``shown``: so many are named at a line; ``first``: sources that have their numbers already, from 1."""
        self._numbers = {source: n for n, source in enumerate(first, 1)}
        self._shown = shown

    def of(self, sources: Iterable[str]) -> tuple[tuple[int, ...], int]:
        """(the numbers of the first sources, how many more there are)."""
        listed = list(sources)
        named = tuple(self._numbers.setdefault(s, len(self._numbers) + 1) for s in listed[: self._shown])
        return tuple(sorted(named)), len(listed) - len(named)

    def text(self, sources: Iterable[str]) -> str:
        """``3, 7 +2``; empty for no sources."""
        named, rest = self.of(sources)
        return ", ".join(map(str, named)) + (f" +{rest}" if rest else "")

    @property
    def listed(self) -> tuple[str, ...]:
        """The sources that were named, in the order of their numbers."""
        return tuple(self._numbers)
