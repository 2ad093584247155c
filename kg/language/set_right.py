"""What is denied and what is said in its place: "not used on bone but on skin" denies the bone and says the skin. The grammar
reads both behind one "not", which would keep all that is not both.
"""

from __future__ import annotations

from collections.abc import Sequence

from kg.language import nodes
from kg.language.contrasted import features_of
from kg.language.joining import conj
from kg.language.lexicon import Lexicon
from kg.language.nodes import Expr, Question
from kg.language.parse import parser_for


def set_right(text: str, question: Question, lexicon: Lexicon) -> Question:
    """A list with "not on one thing but on another": the first is denied and the second said; the grammar denies both."""
    if not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(question.expr, nodes.And):
        return question
    if not any(isinstance(i, nodes.Not) and isinstance(i.expr, nodes.And) for i in question.expr.items):
        return question
    parser = parser_for(text, lexicon)
    turns = [t.start for at, t in enumerate(parser.tokens) if "kw.but" in parser.kinds(at)]
    return type(question)(conj([e for item in question.expr.items for e in _apart(item, turns)]))


def _apart(item: Expr, turns: Sequence[int]) -> tuple[Expr, ...]:
    both = item.expr.items if isinstance(item, nodes.Not) and isinstance(item.expr, nodes.And) else ()
    if len(both) != 2 or features_of(both[0]).isdisjoint(features_of(both[1])):
        return (item,)
    ends = [(i.items if isinstance(i, nodes.Or) else (i,)) for i in both]
    before, behind = max(i.span[1] for i in ends[0]), min(i.span[0] for i in ends[1])  # type: ignore[union-attr]
    if not any(before <= at < behind for at in turns):
        return (item,)
    return (both[1], nodes.Not(both[0], item.span))
