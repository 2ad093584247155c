"""What one source forbids and others do: "which instruments must not be used on bowel?".

That something is not to be used on a place is a feature of its own, and one source may say so where more say that it is used
there. Such patterns are no answer to a question for what must not be used; they are left out, and the answer says so.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.language import nodes
from kg.language.joining import conj
from kg.records import replace
from kg.wording import listing

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.model import Answer

ALL = 5000


def without_contested(catalogue: Catalogue, out: Answer) -> Answer:
    """A list of what is not to be used on something, without what the sources together count as used on it."""
    tree = out.tree
    if not isinstance(tree, nodes.Filter) or not out.matches or out.match_count is not None:
        return out
    items = tree.expr.items if isinstance(tree.expr, nodes.And) else (tree.expr,)
    known = catalogue.vocabulary.features
    used = [
        nodes.Has(known[i.feature].denies, i.value)
        for i in items
        if isinstance(i, nodes.Has) and i.feature in known and known[i.feature].denies
    ]
    if not used:
        return out
    from kg.answer.filters import answer_filter

    gone = {m.name for m in answer_filter(catalogue.context, conj([*items, *used]), limit=ALL).matches}
    kept = tuple(m for m in out.matches if m.name not in gone)
    if not kept or len(kept) == len(out.matches):
        return out
    left = listing([m.label for m in out.matches if m.name in gone])
    note = f"Left out, since the sources disagree and more of them say that it is used so: {left}."
    return replace(out, matches=kept, pattern_count=None, notes=(note, *out.notes))
