"""Phrases with alternatives and places, as the word files write them: ``(a|b) [c] {x}``."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from kg.language.words import pieces

if TYPE_CHECKING:
    from kg.language.lexicon import Lexicon

Key = tuple[str, ...]
Pattern = tuple[str | tuple[Key, ...], ...]
"""A phrase: words, ``{places}`` and alternatives, of which one may be empty."""


def pattern(text: str, lexicon: Lexicon) -> Pattern:
    """A phrase with alternatives and ``{places}`` as its pieces, its words as the lexicon's keys."""
    return pattern_of(text, lambda phrases: [lexicon.keys(p) for p in phrases])


def pattern_of(text: str, keys: Callable[[Iterable[str]], list[Key]]) -> Pattern:
    """As ``pattern``; ``keys`` gives the keys of phrases."""
    out: list[str | tuple[Key, ...]] = []
    for plain, options in pieces(text):
        if options:
            out.append(tuple(keys(options)))
            continue
        for piece in re.split(r"(\{\w+\})", plain):
            out += [piece] if piece.startswith("{") else [k for found in keys([piece]) for k in found]
    return tuple(out)


__all__ = ["Key", "Pattern", "pattern", "pattern_of"]
