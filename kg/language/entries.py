"""What a phrase can be: the records of the lexicon."""

from __future__ import annotations

from typing import NamedTuple

CONTENT = frozenset({"pattern", "category", "kind", "value", "part", "group", "wide"})
ROLES = CONTENT - {"group", "wide"} | {"feature", "concept"}
FAMILIES = frozenset({"category", "kind", "group"})
"""What names a family of instruments."""
HEADS = ("category", "kind", "group", "kw.instrument", "pattern")
"""What a description can be of."""

# How well a phrase names a term: the preferred label, a synonym, a form only recognised, a short form made here.
LABEL, SYNONYM, HIDDEN, DERIVED = range(4)


class Entry(NamedTuple):
    """What a phrase is. ``term`` is a short name (or the name of the function word), ``text`` the phrase as written.

    ``negated``: the phrase begins with a word of absence ("no teeth at the tip"); ``composed``: it holds a "with" or
    "without" ("needle holder with a cutter"). Both can be said by grammar too, which must win where more words follow.
    ``terms`` are the categories of an everyday word, or the values of an adjective of several features; else empty.
    """

    kind: str
    term: str
    text: str
    rank: int = SYNONYM
    negated: bool = False
    composed: bool = False
    terms: tuple[str, ...] = ()


def spoken_of(entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """Without a word that is only explained where it stands for several families too ("forceps"): a question that is not after
    its meaning speaks of these."""
    stands = any(e.kind == "group" for e in entries)
    return tuple(e for e in entries if e.kind != "concept") if stands else entries
