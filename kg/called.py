"""Other names of the patterns of a list, so that a person who knows one by another name finds it there; and lists of what has
the name of a family without belonging to it ("clamps that hold drapes": towel clips are called towel clamps)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.language import nodes
from kg.records import replace

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.model import Answer, Match
    from kg.vocabulary import Terms

MOST = 1000
"""Of so many matches the other names are told; a longer list is not read by a person, and looking them up takes time."""


def with_other_names(terms: Terms, answer: Answer) -> Answer:
    """The answer with what its matches are also called (``skos:altLabel``): of the first ``MOST``; as it is without matches."""
    if not answer.matches:
        return answer
    told = tuple(_called(terms, m) for m in answer.matches[:MOST])
    return replace(answer, matches=(*told, *answer.matches[MOST:]))


def _called(terms: Terms, match: Match) -> Match:
    found = terms.get(match.name)
    return replace(match, also_called=found.alt) if found is not None and found.alt else match


def by_name_only(catalogue: Catalogue, empty: Answer, text: str, limit: int) -> Answer | None:
    """The list of what fits all but the family and has the family's noun at the end of one of its names, where nothing of the
    family fits or could; None if that is no such list, or empty too."""
    tree = empty.tree
    if not isinstance(tree, nodes.Filter) or empty.possible_count or empty.disputed or not isinstance(tree.expr, nodes.And):
        return None
    family = [i for i in tree.expr.items if isinstance(i, nodes.IsA)]
    rest = [i for i in tree.expr.items if not isinstance(i, nodes.IsA)]
    if len(family) != 1 or not rest or not any(isinstance(i, nodes.Has) for i in rest):
        return None
    terms, folder = catalogue.vocabulary.terms, catalogue.lexicon.folder
    noun = folder.phrase(catalogue.vocabulary.label(family[0].category))
    if len(noun) > 1:
        return None  # "artery forceps" means that family alone
    found = catalogue.answer(nodes.Filter(nodes.And(tuple(rest)) if len(rest) > 1 else rest[0]), text, limit=limit)
    named = tuple(m for m in found.matches if any(folder.phrase(n)[-1:] == noun for n in (m.label, *terms[m.name].alt)))
    if not named:
        return None
    word = catalogue.lexicon.name(family[0].category, many=True)
    note = f"Listed are those that are called {word} by name; here they belong to other families."
    return replace(empty, matches=named, pattern_count=None, notes=(note,))  # its own note says why nothing fits
