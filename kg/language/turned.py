"""Short turns of the question before: another number in it ("and handle 7?"), only a part of what is described ("just the
jaws, please"), and those that lack what was asked for ("and without?")."""

from __future__ import annotations

from contextlib import suppress

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.joining import conj
from kg.language.nodes import Question
from kg.language.parse import parse, parser_for
from kg.language.parse_forms import FormParser
from kg.language.say import say, say_expr
from kg.language.tokens import NUMBER
from kg.records import replace

NAMED = 2
"""So many words behind a number belong to the name that it stands in ("No. 4 scalpel handle")."""
LONGEST = 6
"""So many words a turn to another number has at most."""


def of_its_parts(parser: FormParser, question: Question | None) -> Question | None:
    """ "just the jaws": a description of these parts alone, after one of the instrument"""
    whole = isinstance(question, nodes.Describe) or (isinstance(question, nodes.Value) and not question.features)
    start = parser.at
    if whole and parser.take("kw.only", quiet=True):
        parts = parser.parts_listed()
        if parts and parser.ended():
            return nodes.Describe(getattr(question, "pattern", "") or question.subject, parts)  # type: ignore[union-attr]
    parser.at = start
    return None


def lacking_it(parser: FormParser, question: Question | None) -> Question | None:
    """ "and without?", "and those without one?": the list before, of those that lack the part that was asked for"""
    start = parser.at
    parser.take("kw.and", "kw.and_what_of", quiet=True)
    parser.take("kw.them", "kw.ones", quiet=True)
    without = parser.take("kw.without", quiet=True)
    parser.take("kw.it", "kw.them", "kw.ones", quiet=True)
    ended = parser.ended()
    parser.at = start
    if not without or not ended or not isinstance(question, nodes.Filter | nodes.Count):
        return None
    items = question.expr.items if isinstance(question.expr, nodes.And) else (question.expr,)
    owned = [
        i for i in items if isinstance(i, nodes.HasPart) or f" {parser.lexicon.word('with')} " in say_expr(i, parser.lexicon)
    ]
    if len(owned) != 1:
        return None
    return replace(question, expr=conj([nodes.Not(i) if i is owned[0] else i for i in items]))


def other_number(parser: FormParser, question: Question | None) -> Question | None:
    """ "and a 22?", "and handle 7?": the question before with another number in the one name that has one"""
    tokens, lexicon = parser.tokens, parser.lexicon
    at = [i for i, t in enumerate(tokens) if t.kind == NUMBER]
    if question is None or len(at) != 1 or len(tokens) > LONGEST:
        return None
    said = say(question, lexicon)
    typed = parser_for(said, lexicon).tokens
    places = [i for i, t in enumerate(typed) if t.kind == NUMBER]
    if len({typed[i].key for i in places}) != 1 or any("unit" in parser_for(said, lexicon).kinds(i + 1) for i in places):
        return None  # a length is turned in its own unit
    named = {t.key for i in places for t in (*typed[max(i - 1, 0) : i], *typed[i + 1 : i + 1 + NAMED])}
    leading = 0
    for i, token in enumerate(tokens):
        if i < at[0]:
            leading = max([leading, *(end for end, es in parser.phrases(i) if _LEADS & {e.kind for e in es})])
        led = i < min(leading, at[0]) or (i < at[0] and token.key in lexicon.words.articles)
        if i != at[0] and not led and token.key not in named:
            return None
    for i in reversed(places):
        said = said[: typed[i].start] + tokens[at[0]].key + said[typed[i].end :]
    with suppress(QuestionError):
        return parse(said, lexicon)
    return None


_LEADS = frozenset(
    {"kw.number_word", "kw.and_what_of", "kw.and", "kw.or", "kw.place", "kw.with", "kw.part_place", "connector", "filler"}
)
