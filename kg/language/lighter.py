"""A question without the words that say nothing of an instrument, wherever they stand: "compile", "in my module", "a handful".

Such words are listed in the file of plain talk. One that is part of a phrase of the trade at its place is kept, and so is one
that is written as a name. What was left out is told, so no condition is ever dropped unseen.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.entries import CONTENT
from kg.language.lexicon import Lexicon
from kg.language.parse import parse, parser_for
from kg.language.parse_forms import FormParser
from kg.language.talk import Talk
from kg.language.tokens import NUMBER, SYMBOL, WORD

MOST = 12
"""So many words of no weight are left out of one question."""
_QUOTED = re.compile(r"(?:^|\s)[\"'\u201c\u2018]\w")


class Lighter(NamedTuple):
    """``text``: what is left, as typed; ``left``: the words left out that say something to people."""

    text: str
    left: tuple[str, ...]


def lighter(parser: FormParser, talk: Talk) -> Iterator[Lighter]:
    """The question without its words of no weight: first without the little words that lead to them ("in my module") too, then
    with those kept. Nothing if there are no such words, too many, or nothing else."""
    lexicon = parser.lexicon
    opened = _opened(parser, talk)
    runs = [run for run in _runs(parser, talk) if run[0] >= opened]
    if not (runs or opened) or sum(end - start for start, end in runs) > MOST or any(_measured(parser, talk, *r) for r in runs):
        return
    begun = [(0, opened)] if opened else []
    left = tuple(dict.fromkeys(parser.quote(i) for start, end in runs for i in range(start, end)))
    tried = {parser.text}
    for cut in ([*begun, *(_led(parser, talk, *run) for run in runs)], [*begun, *runs]):
        rest = _without(parser, cut)
        for text in (rest, f"{lexicon.word('listed')} {rest}")[: 1 + bool(begun)]:
            if text not in tried and rest.strip(" ?.!,;:-"):
                tried.add(text)
                yield Lighter(text, left)


def _opened(parser: FormParser, talk: Talk) -> int:
    """Behind the words that ask for a list at the beginning ("could you gather for me"), where they do nothing else; or 0."""
    tokens, at = parser.tokens, 0
    while at < len(tokens) - 1 and tokens[at].kind == WORD:
        key = tokens[at].key
        if key in talk.opening:
            at += 1
            while at < len(tokens) and tokens[at].key in talk.addressed:
                at += 1
            return at if at < len(tokens) and tokens[at].kind == WORD else 0
        if key not in talk.bidding and not _is_light(parser, at, talk):
            return 0
        at += 1
    return 0


def _measured(parser: FormParser, talk: Talk, start: int, end: int) -> bool:
    """Whether a row of words is what is asked or said: "which forceps are lovely?", "the most lovely forceps"."""
    before = parser.tokens[start - 1].key if start else ""
    closed = end >= len(parser.tokens) or parser.tokens[end].kind == SYMBOL
    return before in talk.measuring or (closed and bool(start) and "kw.be" in parser.kinds(start - 1))


def _runs(parser: FormParser, talk: Talk) -> Iterator[tuple[int, int]]:
    """The longest rows of words of no weight: tokens [start, end)."""
    covered: set[int] = set()
    for at in range(len(parser.tokens)):
        for end, entries in parser.phrases(at)[:1]:
            if not all(e.kind == "filler" for e in entries):
                covered.update(range(at, end))
    start = -1
    for at in range(len(parser.tokens) + 1):
        light = at < len(parser.tokens) and at not in covered and _is_light(parser, at, talk)
        if light and start < 0:
            start = at
        elif not light and start >= 0:
            yield start, at
            start = -1


def _is_light(parser: FormParser, at: int, talk: Talk) -> bool:
    token = parser.tokens[at]
    if token.kind != WORD or token.key not in talk.light:
        return False
    if talk.says_how_far(token.key, parser.tokens):
        return False
    word = parser.quote(at)
    text = parser.text
    if text[max(0, token.start - 1) : token.start] == "-" or text[token.end : token.end + 1] == "-":
        return False  # "tissue-friendly"
    return word.isupper() or not parser.capital_inside(at)


def _led(parser: FormParser, talk: Talk, start: int, end: int) -> tuple[int, int]:
    """A row with the article and the preposition that lead to it, unless what they belong to follows; with the "of" behind it,
    if it is the measure of what follows ("a handful of")."""
    tokens, words = parser.tokens, parser.lexicon.words
    if end + 1 < len(tokens) and tokens[end].kind == NUMBER and tokens[end + 1].kind == SYMBOL:
        end += 1  # "for module 3,"
    pointing = end + 1 < len(tokens) and tokens[end].key in talk.leading and tokens[end + 1].key in talk.owners
    if pointing and (end + 2 == len(tokens) or tokens[end + 2].kind == SYMBOL):
        end += 2  # "stuck on this:"
    follows = end < len(tokens) and tokens[end].kind != SYMBOL
    first = start
    while first and (tokens[first - 1].key in words.articles or tokens[first - 1].key in talk.owners):
        first -= 1
    if follows and tokens[end].key in _keys(parser, "of"):
        if first < start or not start:
            return first, end + 1
        return start, end
    if follows and any(
        e.kind in CONTENT or e.kind in ("feature", "group", "wide") for _, es in parser.phrases(end) for e in es
    ):
        return start, end
    if first and tokens[first - 1].key in talk.leading:
        return first - 1, end
    return first, end


def _keys(parser: FormParser, kind: str) -> frozenset[str]:
    return frozenset(parser.lexicon.words.keywords[kind])


def _without(parser: FormParser, cut: list[tuple[int, int]]) -> str:
    out, last = [], 0
    for start, end in cut:
        one, two = parser.span(start, end)
        out.append(parser.text[last:one])
        last = two
    text = " ".join("".join([*out, parser.text[last:]]).split())
    for mark in ",;:?.!":
        text = text.replace(f" {mark}", mark)
    return text.lstrip(" ,;:-.!?")


def refused(parser: FormParser, talk: Talk) -> QuestionError | None:
    """The refusal of what is left without the words of no weight, told of the text as it was typed; None if there is none."""
    for found in lighter(parser, talk):
        try:
            parse(found.text, parser.lexicon)
        except QuestionError as error:
            word = found.text[slice(*error.span)]
            at = parser.text.find(word) if word else -1
            weighs = error.code == "BL-Q03" or not talk.says_nothing(parser.lexicon.folder.key(word.casefold()))
            if error.code in ("BL-Q02", "BL-Q03") and weighs and at >= 0:
                told = {"expected": error.expected, "near": error.near, "hint": error.hint}
                return QuestionError(error.code, error.message, question=parser.text, span=(at, at + len(word)), **told)
    return None


def asks_what_it_is(parser: FormParser) -> bool:
    """Whether a text asks what something is or does ("what a lap joint is", "what does the spring stop"), and for no list."""
    tokens, articles = parser.tokens, parser.lexicon.words.articles
    last = next((i for i in range(len(tokens) - 1, -1, -1) if tokens[i].kind != SYMBOL), 0)
    ends = any("kw.be" in parser.kinds(i) for i in (last, last - 1) if i > 0)
    asked = [i for i in range(len(tokens) - 2) if "kw.which" in parser.kinds(i)]
    if ends and any(tokens[i + 1].key in articles for i in asked):
        return True
    return any("kw.do" in parser.kinds(i + 1) and tokens[i + 2].key in articles for i in asked)


def no_list(text: str, question: nodes.Question, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether a list is no answer to what is left of a text: a word of the trade alone or quoted ("'crushing', in a sentence"),
    a row of things of one kind ("to dilate: cervix, urethra, trachea"), "what a lap joint is",
    "tell a Kelly apart", or nothing at all."""
    if not isinstance(question, nodes.Filter):
        return False
    if isinstance(question.expr, nodes.Everything):
        return True
    parser = parser_for(text, lexicon)
    first = parser.tokens[0].key
    if _QUOTED.search(text) or any("compare" in talk.cues.get((first, t.key), ()) for t in parser.tokens[2:]):
        return True
    if asks_what_it_is(parser):
        return True
    if isinstance(question.expr, nodes.And):
        said = [i.feature for i in question.expr.items if isinstance(i, nodes.Has)]
        return any(said.count(feature) > 2 for feature in said)
    one = isinstance(question.expr, nodes.Has | nodes.HasPart)
    return one and not parser.says("kw.which", "kw.instrument", "kw.that", "kw.with", "kw.ones")


__all__ = ["Lighter", "asks_what_it_is", "lighter", "no_list", "refused"]
