"""A word for a size beside a length that is measured: "small forceps, about 12 cm". The length says how small it is."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from kg.language.lexicon import Lexicon
from kg.language.parse import parser_for
from kg.language.tokens import NUMBER

if TYPE_CHECKING:
    from kg.language.talk import Talk


def without_size(text: str, lexicon: Lexicon, talk: Talk) -> Iterator[str]:
    """A text that gives a length, without the words that say no more than small or large; none if it is no such text."""
    del talk
    parser = parser_for(text, lexicon)
    tokens = parser.tokens
    measured = any(t.kind == NUMBER and at + 1 < len(tokens) and "unit" in parser.kinds(at + 1) for at, t in enumerate(tokens))
    words = {key for word in lexicon.words.yesno.get("sized", ()) for key in lexicon.keys(word)}
    if not measured or not any(t.key in words for t in tokens):
        return
    out, last = "", 0
    for at, token in enumerate(tokens):
        if token.key in words and all(e.kind != "value" and end == at + 1 for end, es in parser.phrases(at) for e in es):
            out, last = out + text[last : token.start], token.end
    if out or last:
        yield " ".join((out + text[last:]).split()).lstrip(" ,")
