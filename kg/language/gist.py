"""What is asked of one description, in whatever order its words stand: "the one with the greatest length among the bowel
clamps", "if you add up all the bowel clamps, what do you get?".

For each thing that can be asked of a set (how many, whether there are any, which is longest ...) the file of plain talk lists
the phrases that ask for it and the words that may stand with them. A question is read so only if everything else in it is one
description that the grammar reads; a single word besides, or two things asked at once, leave it unread.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.lexicon import Lexicon
from kg.language.listed import mixes_names
from kg.language.nodes import Question
from kg.language.parse import parse, parser_for
from kg.language.tokens import COMMA, NUMBER, fold

if TYPE_CHECKING:
    from kg.language.talk import Gist, Talk

LEAST_WORDS, MOST_WORDS = 3, 24
FIRST, SECOND = "{}", "{1}"
"""The places of a description, and of a feature beside one, in what is asked."""
WIDER = 2
"""So many words at each end that could stand with what is asked may belong to the description all the same."""


def gist(text: str, lexicon: Lexicon, talk: Talk) -> Question | None:
    """The question, read by the grammar; None if it is none of these."""
    from kg.language.foreach import of_each

    if (groups := of_each(text, lexicon, talk)) is not None:
        return groups
    words, spans = _words(text, lexicon)
    if not LEAST_WORDS <= len(words) <= MOST_WORDS:
        return None
    found: dict[Question, int] = {}
    for one in talk.gists:
        if one.after or (places := _triggered(words, one)) is None:
            continue
        for said in _filled(text, lexicon, words, spans, places, one, talk):
            with suppress(QuestionError):
                if not mixes_names(question := parse(said, lexicon)):
                    found[question] = max(len(places), found.get(question, 0))
                break
    most = max(found.values(), default=0)
    likeliest = [question for question, number in found.items() if number == most]
    return likeliest[0] if len(likeliest) == 1 else None


def of_those(text: str, lexicon: Lexicon, talk: Talk) -> Iterator[str]:
    """The same of what went before ("what's the total?", "strike the curved ones off that list"), as a short question that the
    conversation understands; several if several things could be asked."""
    words, spans = _words(text, lexicon)
    if not 0 < len(words) <= MOST_WORDS:
        return
    bare = [one for one in talk.gists if one.after and not any(FIRST in asked for asked in one.asks)]
    for one in (*bare, *(one for one in talk.gists if one.after and one not in bare)):
        if (places := _triggered(words, one)) is None:
            continue
        plain = one.words | talk.gist_words | talk.gist_back
        if one in bare:
            if all(w in plain or i in places for i, w in enumerate(words)):
                yield from one.asks
            continue
        for said in _descriptions(text, words, spans, places, plain):
            if one.named == _names(said, lexicon):  # "where is its ratchet?" asks of no member
                yield from (asked.format(said) for asked in one.asks)


def speaks_of_the_list(text: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether a text speaks of the list before as a list ("which forceps in that list have teeth?")."""
    words, _ = _words(text, lexicon)
    return any(_places(words, phrase) for phrase in talk.gist_lists)


def _is_term(text: str, kinds: Sequence[str], lexicon: Lexicon) -> bool:
    """Whether a stretch is a term of one of some kinds, and no more."""
    parser = parser_for(text, lexicon)
    return any(end == len(parser.tokens) and e.kind in kinds for end, es in parser.phrases(0) for e in es)


def _names(text: str, lexicon: Lexicon) -> bool:
    """Whether a stretch names an instrument, of which nothing is a list: "is the Kocher among them?" """
    parser = parser_for(text, lexicon)
    return any(e.kind == "pattern" for at in range(len(parser.tokens)) for _, es in parser.phrases(at) for e in es)


def _filled(
    text: str, lexicon: Lexicon, words: Sequence[str], spans: Sequence[tuple[int, int]], places: set[int], one: Gist, talk: Talk
) -> Iterator[str]:
    """What one of these asks, with a description in its place; where a feature is asked for too, with either first."""
    plain = one.words | talk.gist_words
    stretches: Iterable[tuple[str, ...]]
    if not any(FIRST in asked or SECOND in asked for asked in one.asks):
        stretches = ((),) if all(w in plain or i in places for i, w in enumerate(words)) else ()
    elif not any(SECOND in asked for asked in one.asks):
        stretches = ((said,) for said in _descriptions(text, words, spans, places, plain))
    else:
        other = [i for i, w in enumerate(words) if i not in places and w not in plain]
        halves = ((other[:at], other[at:]) for at in range(1, len(other)) if other[at] > other[at - 1] + 1)
        pairs = (
            tuple(text[spans[half[0]][0] : spans[half[-1]][1]] for half in two)
            for two in halves
            if all(places.isdisjoint(range(half[0], half[-1] + 1)) for half in two)
        )
        stretches = (said for first, last in pairs for said in ((first, last), (last, first)))
    for said in stretches:
        with suppress(QuestionError):
            if one.term and not _is_term(said[0], one.term, lexicon):
                continue
            described = None if one.term or not said else parse(said[0], lexicon)
            if any(_denied_by_a_name(each, lexicon) for each in said):
                continue
            if described is None or (isinstance(described, nodes.Filter) and not mixes_names(described)):
                yield from (asked.format(*said) for asked in one.asks)


def _denied_by_a_name(said: str, lexicon: Lexicon) -> bool:
    """Whether a stretch has, behind something else, a word that denies and is a name too: "a box lock lack a ratchet"."""
    parser = parser_for(said, lexicon)
    kinds = (parser.kinds(at) for at in range(1, len(parser.tokens)))
    return any("pattern" in each and each & {"kw.no", "kw.not", "kw.without"} for each in kinds)


def _words(text: str, lexicon: Lexicon) -> tuple[list[str], list[tuple[int, int]]]:
    """The folded words of a text without its commas, and where they stand."""
    words: list[str] = []
    spans: list[tuple[int, int]] = []
    for token in parser_for(text, lexicon).tokens:
        if token.key == COMMA or (spans and spans[-1][0] == token.start):
            continue
        words.append(fold(text[token.start : token.end]) if token.kind != NUMBER else token.key)
        spans.append((token.start, token.end))
    return words, spans


def _triggered(words: Sequence[str], one: Gist) -> set[int] | None:
    """The places of the words that ask for it, one phrase of each group; None if a group has none, or if it is turned."""
    there = set(words)
    found: set[int] = set()
    for group in one.groups:
        places = {place for phrase in group if phrase[0] in there for place in _places(words, phrase)}
        if not places:
            return None
        found |= places
    turned = any(phrase[0] in there and _places(words, phrase) for phrase in one.unless)
    return None if turned else found


def _places(words: Sequence[str], phrase: Sequence[str]) -> set[int]:
    """The places of the words of a phrase, wherever it stands."""
    starts = (at for at in range(len(words) - len(phrase) + 1) if tuple(words[at : at + len(phrase)]) == phrase)
    return {place for at in starts for place in range(at, at + len(phrase))}


def _descriptions(
    text: str, words: Sequence[str], spans: Sequence[tuple[int, int]], places: set[int], plain: Collection[str]
) -> Iterator[str]:
    """The stretches that may be the description, the narrowest first: they hold every word that cannot stand with what is
    asked, and none that asks for it."""
    other = [i for i, w in enumerate(words) if i not in places and w not in plain]
    if not other:
        return
    first, last = other[0], other[-1] + 1
    for wider in range(2 * WIDER + 1):
        for left in range(max(wider - WIDER, 0), min(wider, WIDER) + 1):
            start, end = first - left, last + wider - left
            if start >= 0 and end <= len(words) and places.isdisjoint(range(start, end)):
                yield text[spans[start][0] : spans[end - 1][1]]


__all__ = ["gist", "of_those", "speaks_of_the_list"]
