"""Yes or no about several instruments that are named: whether something is so of both, of neither, or of the one alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg import names
from kg.language import nodes
from kg.model import VARIES
from kg.relative import known_of
from kg.wording import listing

if TYPE_CHECKING:
    from collections.abc import Sequence, Set

    from kg.catalogue import Catalogue
    from kg.model import Answer


def sole(out: Answer) -> str:
    """Whether the one that is named is the only one of a list, which is that of the others ("is the Gigli the only one?")."""
    items = out.tree.expr.items if isinstance(out.tree.expr, nodes.And) else ()
    if not any(isinstance(i, nodes.Not) and isinstance(i.expr, nodes.Named) for i in items):
        return ""
    if out.matches or out.match_count:
        return "No: these are, too."
    return "" if out.possible_count or out.disputed else "Yes, as far as is recorded."


def at_the_end(catalogue: Catalogue, out: Answer, named: Sequence[Set[str]]) -> str:
    """Whether the one that is named is the longest, or the shortest, of a family; empty if not just one is named."""
    if out.tree.by != "length" or len(named) != 1 or len(named[0]) != 1 or isinstance(out.tree.expr, nodes.Named | nodes.Or):
        return ""
    (pattern,) = named[0]
    if known_of(catalogue, pattern, names.LENGTH_MIN).length is None:
        return "Not recorded: no length of it is."
    return "Yes, of those whose length is recorded." if any(m.name == pattern for m in out.matches) else "No."


def of_those_named(out: Answer) -> tuple[set[str], set[str], set[str]]:
    """The instruments of which something is asked by name, those of them that fit, and those of which it is not decided."""
    items = out.tree.expr.items if isinstance(out.tree, nodes.Filter) and isinstance(out.tree.expr, nodes.And) else ()
    either = next((i for i in items if isinstance(i, nodes.Or) and all(isinstance(n, nodes.Named) for n in i.items)), None)
    named = {n.pattern for n in either.items if isinstance(n, nodes.Named)} if either is not None else set()
    unsure = {p.name for p in out.possible} | {d.name for d in out.disputed}
    return named, named & {m.name for m in out.matches}, named & unsure if out.possible_count <= len(out.possible) else named


def of_both(catalogue: Catalogue, out: Answer) -> str:
    """Whether something is so of all instruments of which it is asked by name."""
    named, fit, unsure = of_those_named(out)
    if not named:
        return ""
    if fit == named:
        return "Yes."
    if out.possible and named - fit <= {p.name for p in out.possible if p.only_as(VARIES)}:
        return "Yes, of some pieces: it is made both ways."
    if named - fit - unsure:
        only = f"No: only {catalogue.vocabulary.label(min(fit))}." if len(fit) == 1 else "No."
        return "No: neither." if len(named) == 2 and not fit and not unsure else only
    return "Not decided: it is not recorded of all of them, or is disputed."


def of_neither(catalogue: Catalogue, out: Answer) -> str:
    """Whether something is so of none of the instruments of which it is asked by name."""
    named, fit, unsure = of_those_named(out)
    if not named:
        return ""
    if fit:
        return f"No: {listing(sorted(catalogue.vocabulary.label(n) for n in fit))}."
    return "Yes: neither." if not unsure else "Not decided: it is not recorded of all of them, or is disputed."
