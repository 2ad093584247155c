"""Slips of the finger in the words between those of the trade: "descirbe", "diferences", "frequenlty".

Only words that are nearly one common word and nothing else: two neighbours swapped, a letter missing or one too many. A word
of the catalogue that is misspelt is never put right unasked, but offered.
"""

from __future__ import annotations

from contextlib import suppress
from functools import lru_cache
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language.entries import CONTENT
from kg.language.lexicon import Lexicon
from kg.language.nearness import changes
from kg.language.parse import parse, parser_for
from kg.language.tokens import WORD

if TYPE_CHECKING:
    from kg.language.talk import Talk

LEAST_LETTERS = 6
MOST = 3
"""With more strange words than this a text has no mere slips."""


def righted(text: str, lexicon: Lexicon, talk: Talk) -> str | None:
    """The question with its slips put right; None if there are none."""
    parser = parser_for(text, lexicon)
    common = _common(_Held(lexicon, talk))
    strange = [
        (at, token, text[token.start : token.end])
        for at, token in enumerate(parser.tokens)
        if token.kind == WORD and not lexicon.is_known(token.key) and token.key not in common
    ]
    out, last = [], 0
    for at, token, word in strange if len(strange) <= MOST else ():
        if len(word) < LEAST_LETTERS or not word.isalpha() or parser.capital_inside(at):
            continue
        near = [w for w in common if _slipped(word.casefold(), w)]
        others = [w for w in lexicon.near(word) if w.casefold() not in near and changes(word.casefold(), w.casefold(), 1) <= 1]
        if len(near) == 1 and not others:
            out += [text[last : token.start], near[0]]
            last = token.end
    return "".join([*out, text[last:]]) if out else None


def _slipped(typed: str, meant: str) -> bool:
    """Whether one slip makes the one of the other; the first letter is hardly ever wrong."""
    if typed[0] != meant[0] or abs(len(typed) - len(meant)) > 1 or len(meant) < LEAST_LETTERS:
        return False
    swapped = len(typed) != len(meant) or sorted(typed) == sorted(meant)
    return swapped and typed != meant and changes(typed, meant, 1) == 1


class _Held:
    """A lexicon and the words of plain talk, told apart by which they are and not by what they hold."""

    def __init__(self, lexicon: Lexicon, talk: Talk) -> None:
        self.lexicon, self.talk = lexicon, talk

    def __hash__(self) -> int:
        return hash((id(self.lexicon), id(self.talk)))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Held) and self.lexicon is other.lexicon and self.talk is other.talk


@lru_cache(maxsize=2)
def _common(held: _Held) -> frozenset[str]:
    """The words of plain talk and of the grammar that name nothing of the catalogue."""
    lexicon, talk = held.lexicon, held.talk
    cues = {word for key in talk.cues for word in key}
    grammar = {word for phrases in lexicon.words.keywords.values() for phrase in phrases for word in phrase.casefold().split()}
    words = talk.silent | talk.passed | talk.between | talk.opening | talk.grouping | talk.strong | cues | grammar
    return frozenset(w for w in words if w.isalpha() and not any(e.kind in CONTENT for e in lexicon.entries(w)))


__all__ = ["righted"]


def corrected(text: str, lexicon: Lexicon) -> str | None:
    """The question with each word that is not known written as the nearest one that is; None if it is not understood then."""
    for _ in range(4):
        unknown = parser_for(text, lexicon).unknown()
        if unknown is None or not unknown.near or lexicon.is_known(lexicon.folder.key(text[slice(*unknown.span)].casefold())):
            return None
        text = text[: unknown.span[0]] + unknown.near[0] + text[unknown.span[1] :]
        with suppress(QuestionError):
            parse(text, lexicon)
            return text
    return None
