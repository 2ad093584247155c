"""What an instrument is only made for: "which scissors only cut sutures?".

What a pattern is made for is one value, and its further uses are another feature. Where a list is asked for of what does one
thing only, those with a further use on record are left out, and the answer says so. If none remains the list stays whole.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.language import nodes
from kg.language.joining import atoms_of, conj, disj
from kg.leaving import ALL, without

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.language.lexicon import Lexicon
    from kg.language.nodes import Expr
    from kg.model import Answer


def only_for(catalogue: Catalogue, out: Answer, text: str) -> Answer:
    """The list without what has a further use; as it was where "only" does not bound what something is made for."""
    tree = out.tree
    if not isinstance(tree, nodes.Filter) or not out.matches or out.match_count is not None:
        return out
    from kg.language.solely import only_before

    lexicon = catalogue.lexicon
    items = tree.expr.items if isinstance(tree.expr, nodes.And) else (tree.expr,)
    made = [i for i in items if _is_made_for(i, lexicon)]
    if len(made) != 1 or _bounded(tree.expr) or not only_before(text, lexicon):
        return out
    besides = lexicon.words.besides
    each = made[0].items if isinstance(made[0], nodes.Or) else made
    first = [i for i in each if i.feature in besides]
    if not first:
        return out
    further = besides[first[0].feature]
    also = tuple(i.value for i in each if i.feature == further)
    none_else: list[Expr] = [nodes.Not(nodes.Recorded(further)), *([nodes.Solely(further, also)] if also else [])]
    rest = [i for i in items if i is not made[0]]
    from kg.answer.filters import answer_filter

    fit = {m.name for m in answer_filter(catalogue.context, conj([*rest, disj(first), disj(none_else)]), limit=ALL).matches}
    return without(out, {m.name for m in out.matches} - fit, "a further use is on record")


def _is_made_for(item: Expr, lexicon: Lexicon) -> bool:
    told = {*lexicon.words.besides, *lexicon.words.besides.values()}
    each = item.items if isinstance(item, nodes.Or) else (item,)
    return all(isinstance(i, nodes.Has) and i.feature in told for i in each)


def _bounded(expr: Expr) -> bool:
    """Whether "only" already bounds something in a description."""
    return any(isinstance(a, nodes.Solely) for a in atoms_of(expr))
