"""The part of a text that asks, without what is said round it: "Quick one. Which clamps are curved? Thanks."

A clause before the first or after the last that says anything of instruments is left out, if no word of it could bound or turn
the question. What was left out is told.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from kg.language.entries import CONTENT
from kg.language.lexicon import Lexicon
from kg.language.parse import parser_for
from kg.language.talk import Talk
from kg.language.tokens import WORD

_CUT = re.compile(r"[.?!;:,]+(?=\s|$)|\s[-\u2013\u2014]+\s")
MOST = 12
"""A text of more clauses is no question."""


class Core(NamedTuple):
    """``text``: the clauses in the middle, as typed; ``left``: the words left out that say something to people."""

    text: str
    left: tuple[str, ...]


def core(text: str, lexicon: Lexicon, talk: Talk) -> Core | None:
    """The clauses that say something of instruments, from the first to the last; None if these are all of them, or none."""
    spans = list(_spans(text))
    if not 1 < len(spans) <= MOST:
        return None
    weights = [_weighs(text[a:b], lexicon, talk) for a, b in spans]
    if not any(weights) or all(weights):
        return None
    first = weights.index(True)
    last = len(weights) - 1 - weights[::-1].index(True)
    if first == 0 and last == len(spans) - 1:
        return None
    start, end = spans[first][0], spans[last + 1][0] if last + 1 < len(spans) else len(text)
    left = [w for i, (a, b) in enumerate(spans) if not first <= i <= last for w in _told(text[a:b], lexicon, talk)]
    kept = text[start:end].strip(" ,;:-\u2013\u2014")
    return Core(kept, tuple(dict.fromkeys(left)))


def _spans(text: str):  # type: ignore[no-untyped-def]
    start = 0
    for cut in [*_CUT.finditer(text), None]:
        end = cut.start() if cut else len(text)
        if text[start:end].strip():
            yield start, end
        start = cut.end() if cut else end


def _weighs(clause: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether a clause says anything of an instrument, asks for anything, or could turn a question round."""
    if not clause.strip():
        return False
    parser = parser_for(clause, lexicon)
    tokens = parser.tokens
    if any(e.kind == "kw.which" for at in range(len(tokens)) for _, es in parser.phrases(at) for e in es) and _told(
        clause, lexicon, talk
    ):
        return True  # "which goes deeper?"
    for at, token in enumerate(tokens):
        if token.kind != WORD or token.key in talk.strong or token.key in talk.apart:
            return True
        for _, entries in parser.phrases(at):
            if any(e.kind in CONTENT or e.kind in ("feature", "concept", "advice") or e.kind in _ASKS for e in entries):
                return True
        for end in range(at + 1, min(len(tokens), at + talk.longest) + 1):
            if talk.cues.get(tuple(t.key for t in tokens[at:end]), _NOTHING) - {
                "identify",
                "identify_last",
                "nothing",
            }:
                return True
        if lexicon.is_known(token.key) and not talk.says_nothing(token.key) and not parser.phrases(at):
            return True  # part of some term
        if clause[token.start].isupper() and at and not parser.phrases(at):
            return True  # a name that is not known
    return False


_NOTHING: frozenset[str] = frozenset()
_ASKS = frozenset(
    f"kw.{k}"
    for k in (
        *("count", "longest", "shortest", "it", "them", "no", "not", "without", "except", "why", "only"),
        *("whatis", "how", "do"),  # a question of its own
    )
)


def _told(clause: str, lexicon: Lexicon, talk: Talk) -> list[str]:
    parser = parser_for(clause, lexicon)
    return [
        clause[t.start : t.end]
        for i, t in enumerate(parser.tokens)
        if t.kind == WORD and not talk.says_nothing(t.key) and not parser.phrases(i)
    ]
