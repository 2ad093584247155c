"""What is described and then said to be of a family or an instrument: "is a clamp with teeth and a ratchet a Kocher?" The
description stands with what is spoken of, and only the family or the name at the end is asked of it.

"Is the Desmarres with the curved blade a clamp or a retractor?" is asked of the name, which says which one is meant; that
what is said of it besides was left aside is told."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from kg.language import nodes
from kg.language.entries import FAMILIES
from kg.language.joining import conj
from kg.language.lexicon import Lexicon
from kg.language.nodes import Question
from kg.language.parse import parser_for

if TYPE_CHECKING:
    from kg.language.parse_forms import FormParser
    from kg.language.talk import Talk

_NAMES = FAMILIES | {"pattern"}
_WITH = frozenset({"kw.with", "connector", "kw.that", "kw.whose"})
_JOINING = frozenset({"kw.and", "kw.or", "kw.that", "kw.not", "kw.but", "kw.be"})


def described_first(text: str, question: Question, lexicon: Lexicon) -> Question | None:
    """The question with what describes in front of the family at its end, if it was read as said of it; else None."""
    if not isinstance(question, nodes.Quantified) or not isinstance(question.expr, nodes.And):
        return None
    asked = [item for item in question.expr.items if isinstance(item, nodes.IsA | nodes.Named)]
    rest = [item for item in question.expr.items if not isinstance(item, nodes.IsA | nodes.Named)]
    if len(asked) != 1 or not rest or not _stands_last(text, lexicon):
        return None
    scope = question.scope.items if isinstance(question.scope, nodes.And) else (question.scope,)
    return nodes.Quantified(conj([*scope, *rest]), asked[0], question.quantifier)


def _stands_last(text: str, lexicon: Lexicon) -> bool:
    """Whether a text ends with a family or a name that nothing joins to the words before it."""
    parser = parser_for(text.rstrip(" ?.!"), lexicon)
    last = len(parser.tokens)
    start = next(
        (
            at
            for at in range(2, last)
            if any(end == last and any(e.kind in _NAMES for e in es) for end, es in parser.phrases(at))
        ),
        0,
    )
    while start > 1 and parser.tokens[start - 1].key in lexicon.words.articles:
        start -= 1
    return start > 1 and parser.kinds(start - 1).isdisjoint(_JOINING)


def without_description(text: str, lexicon: Lexicon, talk: Talk) -> Iterator[str]:
    """A question which of two families a named instrument is of, without what else is said of the instrument."""
    del talk
    if (found := _described(text, lexicon)) is not None:
        yield f"{text[: found[0]].rstrip()} {text[found[1] :]}"


def left_aside(text: str, said: str, lexicon: Lexicon, talk: Talk) -> str:
    """What is told where ``said`` is the question without that; else nothing."""
    if said in without_description(text, lexicon, talk) and (found := _described(text, lexicon)) is not None:
        return talk.aside.format(words=text[found[0] : found[1]].strip(" ,"))
    return ""


def _described(text: str, lexicon: Lexicon) -> tuple[int, int] | None:
    """Where the description of a named instrument begins and ends in "is the NAME with ... a FAMILY or a FAMILY"; else None."""
    parser = parser_for(text.rstrip(" ?.!"), lexicon)
    tokens, last = parser.tokens, len(parser.tokens)
    if not last or "kw.be" not in parser.kinds(0):
        return None
    first = 1 + (last > 1 and tokens[1].key in lexicon.words.articles)
    name = max((end for end, es in parser.phrases(first) for e in es if e.kind == "pattern"), default=0) if first < last else 0
    joined = next((at for at in range(last - 1, name, -1) if "kw.or" in parser.kinds(at)), 0)
    if not name or not joined or parser.kinds(name).isdisjoint(_WITH) or not _family(parser, joined + 1, last, lexicon):
        return None
    start = next((at for at in range(name + 1, joined) if _family(parser, at, joined, lexicon)), 0)
    return (tokens[name].start, tokens[start].start) if start > name + 1 else None


def _family(parser: FormParser, at: int, end: int, lexicon: Lexicon) -> bool:
    """Whether from one word to another there is an article and a family, and no more."""
    at += at < end and parser.tokens[at].key in lexicon.words.articles
    return at < end and any(stop == end and any(e.kind in FAMILIES for e in es) for stop, es in parser.phrases(at))


__all__ = ["described_first", "left_aside", "without_description"]
