"""One instrument that is two things: of "needle holders that are scissors" nothing belongs to both families, but what joins the
two has a name ("needle holders with scissors"), and that is listed, or decides the yes or no.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.language import nodes
from kg.language.joining import conj
from kg.records import replace

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.language.lexicon import Lexicon
    from kg.model import Answer


def listed(catalogue: Catalogue, empty: Answer, text: str, limit: int) -> Answer | None:
    """The list of what is one thing with the other, where nothing can be in two families that were named; else None."""
    tree = empty.tree
    if not isinstance(tree, nodes.Filter | nodes.Count) or not isinstance(tree.expr, nodes.And) or empty.possible_count:
        return None
    families = [i for i in tree.expr.items if isinstance(i, nodes.IsA)]
    if len(families) != 2 or not (both := _joined([f.category for f in families], catalogue.lexicon)):
        return None
    rest = [i for i in tree.expr.items if not isinstance(i, nodes.IsA)]
    found = catalogue.answer(replace(tree, expr=conj([nodes.IsA(both), *rest])), text, limit=limit)
    return found if found.matches or found.possible_count else None


def decided(catalogue: Catalogue, out: Answer, text: str, limit: int) -> Answer | None:
    """Yes where an instrument of one family is asked whether it is one of another, and is the one with the other; else None."""
    tree, argument = out.tree, out.argument
    if not isinstance(tree, nodes.Holds) or argument is None or argument.holds is not False:
        return None
    if not isinstance(tree.expr, nodes.IsA):
        return None
    for category in catalogue.lexicon.beside.setdefault(f"{__name__}.of", _with_another(catalogue)).get(tree.expr.category, ()):
        found = catalogue.answer(nodes.Holds(tree.pattern, nodes.IsA(category)), text, limit=limit)
        if found.argument is not None and found.argument.holds is True:
            return found
    return None


def _joined(families: list[str], lexicon: Lexicon) -> str:
    """The family whose name says one of two families with the other; empty if none has such a name."""
    one, other = (lexicon.name(f) for f in families)
    for first, second in ((one, other), (other, one)):
        for entry in lexicon.entries(f"{first} {lexicon.word('with')} {second}"):
            if entry.kind == "category":
                return entry.term
    return ""


def _with_another(catalogue: Catalogue) -> dict[str, tuple[str, ...]]:
    """For each family those whose name says something with it ("needle holder with scissors")."""
    lexicon, terms = catalogue.lexicon, catalogue.vocabulary.terms
    out: dict[str, tuple[str, ...]] = {}
    behind = f" {lexicon.word('with')} "
    for name, term in terms.items():
        if term.role != "category":
            continue
        for label in (term.label, *term.alt):
            if behind not in label:
                continue
            for entry in lexicon.entries(label.split(behind, 1)[1]):
                if entry.kind == "category" and name not in out.get(entry.term, ()):
                    out[entry.term] = (*out.get(entry.term, ()), name)
    return out


__all__ = ["decided", "listed"]
