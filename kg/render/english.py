"""Small phrases that several renderers share."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from kg.evidence_levels import RESTS_ON
from kg.wording import CAUTION as CAUTION

if TYPE_CHECKING:
    from kg.render.blocks import Spans

SHOWN_SOURCES = 2
"""So many sources are named in a text; the rest are counted. JSON names all."""

SHOWN_NAMES = 2
"""So many other names of a pattern are shown in a list."""

BASES = RESTS_ON
"""What a match rests on at best -> how it is said."""


def number(count: int, one: str, many: str = "") -> str:
    """``1 pattern``, ``12 patterns``."""
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def shortened(items: Sequence[str], shown: int) -> list[str]:
    """The first items, then "and 3 more"; a single one too many is still shown."""
    if len(items) <= shown + 1:
        return list(items)
    return [*items[:shown], f"and {len(items) - shown} more"]


def cited(sources: Sequence[str]) -> Spans:
    """`` (first source; second source; and 3 more)``, or no span."""
    if not sources:
        return ()
    return (("source", " (" + "; ".join(_few(sources)) + ")"),)


def _few(sources: Sequence[str]) -> list[str]:
    rest = len(sources) - SHOWN_SOURCES
    return [*sources[:SHOWN_SOURCES], *([f"and {rest} more"] if rest > 0 else [])]


def short_form(label: str, parent: str) -> str:
    """What a variant's label adds to its parent's: "curved" for "curved X" beside "X"; else the whole label."""
    at = label.casefold().find(parent.casefold())
    if at < 0 or not parent:
        return label
    rest = f"{label[:at]} {label[at + len(parent) :]}"
    return " ".join(rest.split()) or label


def known_as(label: str, others: Sequence[str]) -> list[str]:
    """The names of persons or places beside the label by which a pattern is known best, at most ``SHOWN_NAMES``: "Ochsner
    forceps" beside "Kocher forceps". Of several names with one person in it, that which ends as the label does; the
    person that more names hold comes first. Names in common words, those that hold a name of the label, and those that add a
    person to another ("Rochester-Ochsner" beside "Ochsner") are left out.
    """
    own = [*_proper(label), "".join(_proper(label))]
    told: dict[tuple[str, ...], list[str]] = {}
    for other in others:
        new = tuple(_proper(other))
        if new and " " in other and not any(_alike(w, o) for w in (*new, "".join(new)) for o in own if o):
            told.setdefault(new, []).append(other)
    head = label.split()[-1]
    told = {new: held for new, held in told.items() if not any(set(less) < set(new) for less in told)}
    ranked = sorted(told.items(), key=lambda item: (-len(item[1]), len(item[0]), item[0]))
    return [min(held, key=lambda n: (n.split()[-1] != head, len(n), n)) for _, held in ranked[:SHOWN_NAMES]]


def _proper(name: str) -> list[str]:
    """The words of a name that begin with a capital, without a possessive; not "No." and what is all in capitals."""
    found = [w.rstrip(".").removesuffix("'s").removesuffix("'") for w in name.replace("-", " ").split()]
    return [w for w in found if len(w) > 1 and w[0].isupper() and not w.isupper() and w != "No"]


def _alike(one: str, other: str) -> bool:
    """Whether two names are spellings of one another: "Weitlander", "Weitlaner"."""
    from difflib import SequenceMatcher

    a, b = one.casefold(), other.casefold()
    if a.startswith(b) or b.startswith(a):
        return True
    return SequenceMatcher(None, a, b).ratio() > (0.6 if a[0] == b[0] else 0.8)
