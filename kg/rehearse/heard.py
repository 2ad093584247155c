"""What was heard in a written answer: the terms that it mentions, denied or not, and of which of two instruments."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from kg.language import nodes


@dataclass(frozen=True)
class Mention:
    """One phrase of an answer. ``readings``: what it can mean, each a description; ``names``: patterns it can name.

    ``positive`` False: denied. ``of``: the patterns it is said of, empty if no name came before it. ``features``: features
    that it names. ``text`` as typed.
    """

    text: str
    readings: tuple[nodes.Expr, ...] = ()
    names: frozenset[str] = frozenset()
    positive: bool = True
    of: frozenset[str] = frozenset()
    features: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Unit:
    """A clause, or a whole sentence. ``said``: the stems that nothing denies; ``denied``: those that something denies;
    ``keys``: its words in order, without dull ones; ``mentions``: what is mentioned in it; ``of``: whom it speaks of.
    """

    said: frozenset[str]
    denied: frozenset[str]
    keys: tuple[str, ...]
    mentions: tuple[Mention, ...]
    of: frozenset[str]

    @cached_property
    def stems(self) -> frozenset[str]:
        """All of them."""
        return self.said | self.denied


@dataclass
class Heard:
    mentions: list[Mention] = field(default_factory=list)
    clauses: list[Unit] = field(default_factory=list)
    sentences: list[Unit] = field(default_factory=list)
    lengths: list[tuple[float, float, frozenset[str], str]] = field(default_factory=list)
    """(shortest, longest in millimetres, patterns it is said of, text)"""
    than: list[tuple[int, frozenset[str], str]] = field(default_factory=list)
    """(1 longer, -1 shorter, patterns it is said of, text)"""
    read_as: list[tuple[str, str]] = field(default_factory=list)
