"""The records of a rehearsal: a question with its facts and model answer, and how a written answer was marked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from kg.names import expand
from kg.vocabulary import Condition

THE_POINT = "the point"
"""What the fact is about that names what sources disagree on; whoever names both sides has named it."""


@dataclass(frozen=True)
class Fact:
    """One thing that a full answer says. ``text`` says it of ``subject`` (a pattern's short name); ``about`` is the part.

    It counts as said if an answer says one of ``literals`` (``every``: all of them), or the words of one of ``phrases`` (one
    that begins with "~" earns half) or of one in each of ``parts``, or names one of ``names``, or gives a length within
    ``span`` (millimetres). ``near`` are names that earn half.
    ``required`` False: welcome, but not asked for. ``basis`` is what it must rest on where no published human source
    suffices; ``status`` as in a description.
    """

    text: str
    about: str
    subject: str = ""
    literals: tuple[Condition, ...] = ()
    every: bool = False
    phrases: tuple[str, ...] = ()
    parts: tuple[tuple[str, ...], ...] = ()
    names: tuple[str, ...] = ()
    near: tuple[str, ...] = ()
    span: tuple[float, float] | None = None
    required: bool = True
    status: str = "adopted"
    basis: str = ""
    sources: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        return {
            "text": self.text,
            "about": self.about,
            "required": self.required,
            "status": self.status,
            "basis": self.basis,
            "sources": list(self.sources),
        }


@dataclass(frozen=True)
class Item:
    """One question of a rehearsal. ``chain`` counts the instruments; ``answer`` is the model answer, in sentences.

    ``subjects``: the pattern asked about first, then a look-alike if one is named; ``notes`` are remarks and cautions that
    belong to the answer. ``key`` names the question across rehearsals.
    """

    number: int
    chain: int
    task: str
    subjects: tuple[str, ...]
    labels: tuple[str, ...]
    prompt: str
    answer: str
    facts: tuple[Fact, ...]
    notes: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        return " | ".join((self.task, *self.labels))

    @property
    def sources(self) -> tuple[str, ...]:
        """Who says what a full answer says, without doubles, in the order of the facts."""
        return tuple(dict.fromkeys(s for f in self.facts for s in f.sources))

    def to_json(self) -> dict[str, Any]:
        return {
            "number": self.number,
            "chain": self.chain,
            "task": self.task,
            "subjects": [{"iri": expand(s), "label": x} for s, x in zip(self.subjects, self.labels, strict=True)],
            "prompt": self.prompt,
            "answer": self.answer,
            "facts": [f.to_json() for f in self.facts],
            "sources": list(self.sources),
            "notes": list(self.notes),
        }


@dataclass(frozen=True)
class Mark:
    """How far one fact was said: 1, 0.5 (in part, or less exactly) or 0; ``heard`` are the words that earned it."""

    fact: Fact
    credit: float
    heard: str = ""

    def to_json(self) -> dict[str, Any]:
        return {"text": self.fact.text, "about": self.fact.about, "credit": self.credit, "heard": self.heard} | (
            {} if self.fact.required else {"required": False}
        )


@dataclass(frozen=True)
class Marked:
    """A written answer, marked. ``marks`` in the order of the facts; ``wrong``: what was said against the record.

    ``read_as``: (word as typed, word it was taken for). ``total`` counts the required facts, ``earned`` their credit.
    """

    item: Item
    given: str
    marks: tuple[Mark, ...]
    wrong: tuple[str, ...] = ()
    read_as: tuple[tuple[str, str], ...] = ()

    @property
    def total(self) -> int:
        return sum(m.fact.required for m in self.marks)

    @property
    def earned(self) -> float:
        return sum(m.credit for m in self.marks if m.fact.required)

    @property
    def share(self) -> float:
        """The credit as a share of full marks, 0 to 1."""
        return self.earned / self.total if self.total else 1.0

    def to_json(self) -> dict[str, Any]:
        return {
            "given": self.given,
            "earned": self.earned,
            "total": self.total,
            "share": round(self.share, 3),
            "marks": [m.to_json() for m in self.marks],
            "wrong": list(self.wrong),
            "read_as": [list(pair) for pair in self.read_as],
        }


@dataclass(frozen=True)
class Sheet:
    """The questions of one rehearsal. ``wanted``: how many were asked for; fewer come if the record carries no more."""

    question: str
    reading: str
    seed: int
    wanted: int
    items: tuple[Item, ...]

    def to_json(self) -> dict[str, Any]:
        return {
            "question": self.question,
            "reading": self.reading,
            "seed": self.seed,
            "wanted": self.wanted,
            "items": [item.to_json() for item in self.items],
        }
