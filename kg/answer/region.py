"""Which of the things recorded of a pattern belong to a part of it, or to one of its two ends.

A part has a place in the spoken description; from ``WORKING_END`` on it belongs to the end away from the hand. What is
recorded of the whole instrument and can be seen is told with that end.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

from kg.vocabulary import Vocabulary
from kg.wording import listing

WORKING_END = 50
"""A part whose place in the description is lower belongs to the hand's side and shares one sentence with its like."""
FEW = 2
"""A part of the working end of which less is recorded is told with the parts beside it: a tip with the jaws that end in it."""


def parts_of(
    vocabulary: Vocabulary, asked: Sequence[str], slots: Collection[str], lacked: Collection[str]
) -> tuple[frozenset[str], tuple[str, ...]]:
    """(those of ``slots`` that belong to the parts or ends asked for, the parts of which none is recorded).

    For a part of which nothing is recorded, or only that it is there, the slots of its whole end are returned. ``slots`` are
    parts and features; ``lacked`` the parts that are absent, which are told only if they are asked for.
    """
    found: set[str] = set()
    bare: list[str] = []
    for name in asked:
        own = {s for s in slots if s == name or _part_of(vocabulary, s) == name}
        own |= {s for s in slots if s not in lacked and _named_so(vocabulary, s, name)}
        if 0 < len(own - {name}) < FEW and name in slots and _at_far_end(vocabulary, name):
            own |= {s for s in slots if s not in lacked and _beside_it(vocabulary, s)}
        alone = own == {name} and name not in lacked and _at_far_end(vocabulary, name)  # "it has a tip" says nothing of it
        if vocabulary.terms[name].role != "part" or not own or alone:
            bare += [name] if vocabulary.terms[name].role == "part" else []
            own = end_of(vocabulary, name, slots, lacked)
        found |= own
    return frozenset(found), tuple(bare)


def _named_so(vocabulary: Vocabulary, slot: str, part: str) -> bool:
    """Whether a part or feature is one of a part by its name: the form of the blade and the retractor blade, for the blade."""
    entry = vocabulary.terms[part]
    named = {entry.label.casefold(), entry.plural.casefold()} - {""}
    return entry.role == "part" and not named.isdisjoint(vocabulary.terms[slot].label.casefold().split())


def end_of(vocabulary: Vocabulary, part: str, slots: Collection[str], lacked: Collection[str]) -> set[str]:
    """Those of ``slots`` that belong to the end a part (or a word for an end) belongs to; with no part, to the far end."""
    far = _at_far_end(vocabulary, part)
    return {s for s in slots if s not in lacked and _far(vocabulary, s) is far}


def _beside_it(vocabulary: Vocabulary, slot: str) -> bool:
    """Whether a part, or a feature of a part, belongs to the working end; not one of the whole instrument."""
    return (slot not in vocabulary.features or bool(_part_of(vocabulary, slot))) and _far(vocabulary, slot)


def _part_of(vocabulary: Vocabulary, slot: str) -> str:
    return vocabulary.features[slot].part if slot in vocabulary.features else ""


def _far(vocabulary: Vocabulary, slot: str) -> bool:
    return _at_far_end(vocabulary, _part_of(vocabulary, slot) if slot in vocabulary.features else slot)


def _at_far_end(vocabulary: Vocabulary, part: str) -> bool:
    """Whether a part, or a word for an end, belongs to the end away from the hand; with no part, it does."""
    return not part or vocabulary.terms[part].order >= WORKING_END


def nothing_of(vocabulary: Vocabulary, bare: Sequence[str], label: Callable[[str], str], *, rest: bool) -> str:
    """A sentence that says of which parts nothing is recorded; empty if there is none. ``rest``: their end is described."""
    if not bare:
        return ""
    named = listing(f"the {label(p)}" for p in bare)
    ends = dict.fromkeys("the working end" if _at_far_end(vocabulary, p) else "the hand's side" for p in bare)
    if not rest:
        return f"Nothing is recorded of {named}."
    return f"Nothing is recorded of {named} alone; of {listing(ends)} as a whole:"
