"""What one source forbids and others do: "which instruments must not be used on bowel?".

That something is not to be used on a place is a feature of its own, and one source may say so where more say that it is used
there. Such patterns are no answer to a question for what must not be used; they are left out, and the answer says so.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.language import nodes
from kg.language.joining import conj
from kg.leaving import ALL, without

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.model import Answer


def without_contested(catalogue: Catalogue, out: Answer) -> Answer:
    """A list of what is not to be used on something, without those of which more sources say that they are used on it."""
    tree = out.tree
    if not isinstance(tree, nodes.Filter) or not out.matches or out.match_count is not None:
        return out
    items = tree.expr.items if isinstance(tree.expr, nodes.And) else (tree.expr,)
    known = catalogue.vocabulary.features
    denied = [i for i in items if isinstance(i, nodes.Has) and i.feature in known and known[i.feature].denies]
    if not denied:
        return out
    from kg.answer.filters import answer_filter

    used = [nodes.Has(known[i.feature].denies, i.value) for i in denied]
    both = {m.name for m in answer_filter(catalogue.context, conj([*items, *used]), limit=ALL).matches}
    gone = {p for p in both if all(_said(catalogue, p, u) > _said(catalogue, p, d) for u, d in zip(used, denied, strict=True))}
    return without(out, gone, "the sources disagree and more of them say that it is used so")


def _said(catalogue: Catalogue, pattern: str, has: nodes.Has) -> int:
    """How many sources say a value of a pattern, or something narrower."""
    vocabulary = catalogue.vocabulary
    labels = {vocabulary.label(v) for v in vocabulary.subtree(has.value)}
    found = catalogue.answer(nodes.Value(pattern, (has.feature,)), "").values or ()
    return len({s for v in found if v.label in labels for s in v.sources})
