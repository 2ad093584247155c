"""Names written or heard as several words: "lang and beck" for Langenbeck, "weit laner", "mayo hager".

Looked at only where a word of the question is not explained. What is found is offered and never run: the joined words are
spelt nearly as a name, which may be no more than chance.
"""

from __future__ import annotations

from kg.errors import QuestionError
from kg.language.nearness import changes
from kg.language.parse_forms import FormParser
from kg.language.tokens import WORD, fold

MOST = 3
"""So many words may be one name."""
LEAST_LETTERS = 6
MOST_TRIED = 12
"""So many rows of words are looked at in one question; a name stands among its first unknown words, or nowhere."""
FURTHEST = 2
"""So many letters of the joined words may be wrong; one in a short name."""
SHORT = 7
_LINKS = frozenset({"kw.and"})


def halved(parser: FormParser) -> QuestionError | None:
    """The refusal that offers a name for words which, joined, are nearly it; None if there are none."""
    tokens, lexicon, tried = parser.tokens, parser.lexicon, 0
    for at, token in enumerate(tokens):
        if token.kind != WORD or (lexicon.is_known(token.key) and _explained(parser, at)):
            continue
        for length in range(MOST, 1, -1):
            for start in range(max(0, at - length + 1), at + 1):
                tried += 1
                if start + length <= len(tokens) and (name := _name(parser, start, start + length)):
                    return parser.no_such_name(start, start + length, (name,), asked=False)
    return None


def _explained(parser: FormParser, at: int) -> bool:
    """Whether a phrase reaches over the word at a place."""
    return any(end > at for start in range(max(0, at - 6), at + 1) for end, _ in parser.phrases(start))


def _name(parser: FormParser, start: int, end: int) -> str:
    """The name that the words are nearly, written together; empty if there is none."""
    if any(t.kind != WORD for t in parser.tokens[start:end]) or any(_says_more(parser, i) for i in (start, end - 1)):
        return ""
    if any(_says_more(parser, i) and not parser.kinds(i) & _LINKS for i in range(start + 1, end - 1)):
        return ""
    said = fold("".join(parser.quote(i) for i in range(start, end))).casefold()
    if len(said) < LEAST_LETTERS:
        return ""
    most = FURTHEST if len(said) > SHORT else 1
    for name in parser.lexicon.near(said):
        letters = "".join(c for c in fold(name).casefold() if c.isalpha())
        if name[:1].isupper() and letters[0] == said[0] and changes(said, letters, most) <= most:
            return name
    return ""


def _says_more(parser: FormParser, at: int) -> bool:
    """Whether a word stands between those of the trade ("in", "is"): no name has it."""
    return any(k.startswith(("kw.", "op.", "ask")) or k in ("filler", "connector", "unit") for k in parser.kinds(at))


__all__ = ["halved"]
