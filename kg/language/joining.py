"""How parts of a description join: flat "and" and "or", and the precedence of what stands between them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from kg.language import nodes
from kg.language.nodes import Expr, Span

OR, AND, COMMA, NOTHING = "or", "and", ",", ""


_TERMS = ("feature", "value", "part", "category", "pattern")
"""Where the atoms of a description keep their terms."""


def _cover(items: Sequence[Expr]) -> Span:
    return min(i.span[0] for i in items), max(i.span[1] for i in items)


def family_in(expr: Expr) -> bool:
    """Whether a description is a family or an instrument by name, or several, and nothing more."""
    return isinstance(expr, nodes.IsA | nodes.Named) or (isinstance(expr, nodes.Or) and all(family_in(i) for i in expr.items))


def names_family(expr: Expr) -> bool:
    """Whether a description has a family or an instrument by name in it, whatever else it says."""
    return any(family_in(i) for i in (expr.items if isinstance(expr, nodes.And | nodes.Or) else (expr,)))


def conj(items: Iterable[Expr]) -> Expr:
    """All of them. Flat, each once; "instruments" says nothing beside anything else; one item stands alone. Needs at
    least one."""
    flat: list[Expr] = []
    for item in items:
        flat.extend(item.items if isinstance(item, nodes.And) else (item,))
    flat = list(dict.fromkeys(flat))
    kept = [i for i in flat if not isinstance(i, nodes.Everything)] or flat[:1]
    return kept[0] if len(kept) == 1 else nodes.And(tuple(kept), _cover(kept))


def disj(items: Iterable[Expr]) -> Expr:
    """Any of them. Flat, each once; one item stands alone. Needs at least one."""
    flat: list[Expr] = []
    for item in items:
        flat.extend(item.items if isinstance(item, nodes.Or) else (item,))
    flat = list(dict.fromkeys(flat))
    return flat[0] if len(flat) == 1 else nodes.Or(tuple(flat), _cover(flat))


def combine(items: Sequence[Expr], seps: Sequence[str]) -> Expr:
    """``items`` with what stands between them (one less). "And" before "or", but alternatives of one feature first
    of all.

    A comma is "or" where a list of alternatives ends in "or" ("a, b or c"), else "and".
    """
    items, seps = list(items), list(seps)
    i = 0
    while i < len(seps):
        # "curved, straight or angled": walk back from an "or" over the values of the same feature.
        if seps[i] == OR and _feature(items[i]) and _feature(items[i]) == _feature(items[i + 1]):
            first = i
            while first and seps[first - 1] in (OR, COMMA) and _feature(items[first - 1]) == _feature(items[i]):
                first -= 1
            feature, last = _feature(items[i]), i + 1
            while last < len(seps) and seps[last] == OR and _feature(items[last + 1]) == feature:
                last += 1
            items[first : last + 1] = [disj(items[first : last + 1])]
            del seps[first:last]
            i = first
        else:
            i += 1
    if OR in seps and AND not in seps:
        last_or = len(seps) - 1 - seps[::-1].index(OR)
        seps = [OR if sep == COMMA and at < last_or else sep for at, sep in enumerate(seps)]
    groups: list[list[Expr]] = [[items[0]]]
    for sep, item in zip(seps, items[1:], strict=True):
        if sep == OR:
            groups.append([item])
        else:
            groups[-1].append(item)
    return disj([conj(group) for group in groups])


def _feature(item: Expr) -> str:
    return item.feature if isinstance(item, nodes.Has) else ""


def named_in(expr: Expr) -> nodes.Named | None:
    """The first instrument that is named anywhere in a description; None if there is none."""
    return next((a for a in atoms_of(expr) if isinstance(a, nodes.Named)), None)


def atoms_of(expr: Expr) -> Iterator[Expr]:
    """What a description is made of, without its "and", "or" and "not", from left to right."""
    match expr:
        case nodes.Not(inner):
            yield from atoms_of(inner)
        case nodes.And(items) | nodes.Or(items):
            for item in items:
                yield from atoms_of(item)
        case _:
            yield expr


def terms_in(expr: Expr) -> frozenset[str]:
    """The terms that a description speaks of: features, values, parts, families and instruments."""
    each = [*atoms_of(expr)]
    many = (v for atom in each for v in getattr(atom, "values", ()))
    return frozenset((*many, *(v for atom in each for f in _TERMS if isinstance(v := getattr(atom, f, None), str))))


def depth(expr: Expr) -> int:
    """How many "and", "or" and "not" lie inside one another; an atom has none."""
    match expr:
        case nodes.Not(inner):
            return 1 + depth(inner)
        case nodes.And(items) | nodes.Or(items):
            return 1 + max(depth(i) for i in items)
    return 0
