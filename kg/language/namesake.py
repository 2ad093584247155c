"""A list asked for by words that are the name of one pattern, and also say a family and what is said of it ("which toothed
dissecting forceps are there?"): the family with that value is meant, of which the pattern is one."""

from __future__ import annotations

from contextlib import suppress

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.joining import conj
from kg.language.lexicon import Lexicon
from kg.language.listed import one_behind
from kg.language.nodes import Expr, Question
from kg.language.parse import parse, parser_for
from kg.records import replace


def family_with_value(text: str, question: Question, lexicon: Lexicon) -> Question:
    """The list of the family, in the place of that of the one pattern; any other question as it is. A name with a person in it
    says no family."""
    named = _the_one(question.expr) if isinstance(question, nodes.Filter | nodes.Count) else None
    if named is None or one_behind(question.expr) or not lexicon.vocabulary.label(named.pattern).islower():
        return question
    parser = parser_for(text, lexicon)
    start = next((i for i, t in enumerate(parser.tokens) if t.start == named.span[0]), 0)
    end = next((i for i, t in enumerate(parser.tokens) if t.end == named.span[1]), 0) + 1
    for at in range(start + 1, end):
        says = any(stop == at and e.kind in ("value", "wide") for stop, es in parser.phrases(start) for e in es)
        family = any(stop == end and e.kind == "category" for stop, es in parser.phrases(at) for e in es)
        if not (says and family):
            continue
        be = lexicon.words.keywords["be"][1]
        said = f"{parser.quote(at, end)} {lexicon.word('that')} {be} {parser.quote(start, at)}"
        with suppress(QuestionError):
            found = parse(said, lexicon)
            if isinstance(found, nodes.Filter) and _the_one(found.expr) is None:
                return _in_its_place(question, named, found.expr)
    return question


def _in_its_place(question: Question, named: nodes.Named, family: Expr) -> Question:
    expr = getattr(question, "expr", family)
    rest = [i for i in expr.items if i != named and not isinstance(i, nodes.Everything)] if isinstance(expr, nodes.And) else []
    return replace(question, expr=conj([family, *rest]))


def _the_one(expr: Expr) -> nodes.Named | None:
    """The one pattern that a description names, before all else that it says"""
    items = expr.items if isinstance(expr, nodes.And) else (expr,)
    rest = [i for i in items if not isinstance(i, nodes.Everything)]
    named = [i for i in rest if isinstance(i, nodes.Named)]
    return named[0] if len(named) == 1 and rest[0] == named[0] else None
