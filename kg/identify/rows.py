"""Adjectives in a row before one noun: "a flat wide curved blade" is a flat blade, a wide blade and a curved blade."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from kg.language import Lexicon, nodes
from kg.language.tokens import Token

MOST_IN_ROW = 4
"""So many adjectives at most stand in a row before a noun."""
_SAID = frozenset({"value", "wide"})


def row(
    tokens: Sequence[Token], at: int, lexicon: Lexicon, read: Callable[[Sequence[Token]], nodes.Expr | None]
) -> list[nodes.Expr]:
    """What each of a row of adjectives from ``at`` says of the noun behind them, as ``read`` reads the two; empty if they
    are no such row, or one phrase."""
    for noun in range(at + 2, min(len(tokens), at + MOST_IN_ROW + 1)):
        if any(end > noun for i in range(at, noun - 1) for end, _ in lexicon.matches(tokens, i)):
            continue
        pairs = [[tokens[i], tokens[noun]] for i in range(at, noun)]
        first = [next(iter(lexicon.matches(pair, 0)), (0, ())) for pair in pairs]
        if all(end == 2 and any(e.kind in _SAID for e in entries) for end, entries in first):
            said = [e for pair in pairs if (e := read(pair)) is not None]
            if len(said) == len(pairs):
                return said
    return []
