"""A noun that names a part as well as a family, behind another part: "a box joint, a ratchet and long thin blades".

Alone it stands for the family ("which blades fit?"); in a row of what an instrument has it is the part.
"""

from __future__ import annotations

from kg.language import nodes
from kg.language.joining import disj
from kg.language.lexicon import Lexicon
from kg.language.nodes import Expr, Question
from kg.records import replace


def as_part(text: str, question: Question, lexicon: Lexicon) -> Question:
    """The question with the part in the place of the family, where a part or a value of one stands before it."""
    if not isinstance(question, nodes.Filter) or not isinstance(question.expr, nodes.And):
        return question
    items = question.expr.items
    owned = [isinstance(i, nodes.HasPart) or (isinstance(i, nodes.Has) and i.feature in lexicon.owned_features) for i in items]
    first = owned.index(True) if any(owned) else len(items)
    new = tuple(_part(text, item, lexicon) or item if at > first else item for at, item in enumerate(items))
    return question if new == items else replace(question, expr=nodes.And(new))


def _part(text: str, item: Expr, lexicon: Lexicon) -> Expr | None:
    """The part that the name of a family is the name of too; None for any other."""
    if not isinstance(item, nodes.IsA) or item.span is None:
        return None
    typed = text[item.span[0] : item.span[1]].split()[-1:]
    entries = lexicon.entries(typed[0]) if typed else ()
    if not any(e.kind == "group" and item.category in e.terms for e in entries):
        return None
    parts = dict.fromkeys(e.term for e in entries if e.kind == "part")
    return disj([nodes.HasPart(term, item.span) for term in parts]) if parts else None
