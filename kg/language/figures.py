"""Figures that stand for words: "4" for "for", "2" for "to"."""

from __future__ import annotations

from contextlib import suppress

from kg.errors import QuestionError
from kg.language.lexicon import Lexicon
from kg.language.nodes import Question
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.tokens import NUMBER, SYMBOL, WORD


def spelt_out(text: str, lexicon: Lexicon) -> Question | None:
    """The question with figures read as words ("4" for "for", "2" for "to"), where they count and measure nothing."""
    parser = parser_for(text, lexicon)
    again = shorthand(parser)
    if again is not None:
        with suppress(QuestionError):
            return again.question()
    return None


def in_words(text: str, lexicon: Lexicon) -> FormParser:
    """A parser over a text, with figures that stand for words read as these."""
    parser = parser_for(text, lexicon)
    return shorthand(parser) or parser


def written_out(text: str, lexicon: Lexicon) -> str:
    """A description with figures that stand for words written as these: "speculum 4 smear"."""
    parser = parser_for(text, lexicon)
    again = shorthand(parser)
    out, last = "", 0
    for old, new in zip(parser.tokens, again.tokens if again else (), strict=False):
        if old.key != new.key:
            out, last = f"{out}{text[last : old.start]}{lexicon.words.figures[old.key]}", old.end
    return out + text[last:]


def shorthand(parser: FormParser) -> FormParser | None:
    """A parser over the same text with figures read as words; None if no figure stands for a word."""
    table, changed = parser.lexicon.words.figures, list(parser.tokens)
    for i, token in enumerate(parser.tokens):
        if token.kind == NUMBER and token.key in table and not _counts(parser, i):
            changed[i] = token._replace(key=parser.lexicon.folder.key(table[token.key]), kind=WORD)
    return FormParser(parser.text, changed, parser.lexicon) if changed != parser.tokens else None


def _counts(parser: FormParser, at: int) -> bool:
    """Whether a number has a unit after it, or stands inside a name or beside another number."""
    around = parser.tokens[max(0, at - 1) : at] + parser.tokens[at + 1 : at + 2]
    if any(t.kind == NUMBER or (t.kind == SYMBOL and t.key != ",") for t in around):
        return True
    following = parser.phrases(at + 1) if at + 1 < len(parser.tokens) else []
    return any(e.kind in ("unit", "degree") for _, entries in following for e in entries)
