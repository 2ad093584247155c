"""What a word of several meanings means in one family: the "curved blades" of scissors are their curvature, not the form of a
retracting blade. The families and the features that are meant in them stand in ``[sense]`` of the word file."""

from __future__ import annotations

from kg.language import nodes
from kg.language.joining import conj, disj
from kg.language.lexicon import Lexicon
from kg.language.nodes import Expr, Question


def in_its_family(question: Question, lexicon: Lexicon) -> Question:
    """The question with such words narrowed to what they mean in the family that is asked for."""
    if not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(question.expr, nodes.And):
        return question
    items = question.expr.items
    meant = [f for i in items if isinstance(i, nodes.IsA) for f in lexicon.words.sense.get(i.category, ())]
    if not meant:
        return question
    wide = {frozenset(values) for values in lexicon.words.wide.values()}
    narrower = [_narrowed(i, meant, wide) for i in items]
    if narrower == list(items):
        return question
    return type(question)(conj(narrower))


def _narrowed(expr: Expr, meant: list[str], wide: set[frozenset[str]]) -> Expr:
    match expr:
        case nodes.Not(inner):
            narrower = _narrowed(inner, meant, wide)
            return expr if narrower is inner else nodes.Not(narrower)
        case nodes.Or(items) if all(isinstance(i, nodes.Has) for i in items):
            values = frozenset(i.value for i in items if isinstance(i, nodes.Has))
            kept = [i for i in items if isinstance(i, nodes.Has) and i.feature in meant]
            return disj(kept) if kept and len(kept) < len(items) and values in wide else expr
    return expr
