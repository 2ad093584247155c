"""A contrast takes away by the record: "used in one operation and not in another" means what is recorded of the one and not of
the other. That an instrument is not used in an operation is hardly ever recorded."""

from __future__ import annotations

from collections.abc import Sequence

from kg.language import nodes
from kg.language.joining import conj
from kg.language.lexicon import Lexicon
from kg.language.nodes import Expr, Question, Span


def contrasted(question: Question, lexicon: Lexicon) -> Question:
    """A list with "not used in" one thing beside "used in" another, read by the record; any other question as it is."""
    if not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(question.expr, nodes.And):
        return question
    items = question.expr.items
    said = {f for item in items for f in features_of(item)}
    return type(question)(conj([_by_the_record(item, said, lexicon) for item in items]))


def untold(each: Sequence[Expr], span: Span, lexicon: Lexicon) -> Expr | None:
    """That none of some values is on record; None unless an instrument can have several values of each of their features, or
    they say together what is for one place ("used on bowel, or made for clamping it")."""
    if not each or not all(isinstance(i, nodes.Has) for i in each):
        return None
    linked = [lexicon.linked(i.feature) for i in each]  # type: ignore[union-attr]
    besides = {*lexicon.words.besides, *lexicon.words.besides.values()}
    if not any(linked) or not all(k or i.feature in besides for k, i in zip(linked, each, strict=True)):  # type: ignore[union-attr]
        return None
    return conj([nodes.Untold(i.feature, i.value, span) for i in each])  # type: ignore[union-attr]


def features_of(item: Expr) -> frozenset[str]:
    """The features of a value, or of values any of which is meant ("used in the chest"); of anything else none."""
    each = item.items if isinstance(item, nodes.Or) else (item,)
    return frozenset(i.feature for i in each if isinstance(i, nodes.Has)) if _values(each) else frozenset()


def _values(each: tuple[Expr, ...]) -> bool:
    return all(isinstance(i, nodes.Has) for i in each)


def _by_the_record(item: Expr, said: set[str], lexicon: Lexicon) -> Expr:
    denied = item.expr if isinstance(item, nodes.Not) else None
    if denied is None or said.isdisjoint(features_of(denied)):
        return item
    return untold(denied.items if isinstance(denied, nodes.Or) else (denied,), item.span, lexicon) or item
