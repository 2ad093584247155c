"""The order of the cards, and the groups that they stand in."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence

from kg import names
from kg.answer.context import Context
from kg.answer.filters import group_values
from kg.export.handout import Card
from kg.model import Answer, LookAlike

LAST_GROUPS = ("not recorded", "disputed", "does not apply")


def ordered(
    ctx: Context, cards: Sequence[Card], order: str, alike: Mapping[str, Sequence[LookAlike]], seed: int
) -> tuple[Card, ...]:
    """The cards in one of ``wishes.ORDERS``. A variant follows its parent, unless the cards are shuffled or go by length.

    ``alike``: pattern -> its look-alikes, likest first; needed for the order "alike" only.
    """
    if order == "asked":
        return tuple(cards)
    by_name = sorted(cards, key=lambda c: (c.label.casefold(), c.name))
    if order == "shuffled":
        random.Random(seed).shuffle(by_name)
        return tuple(by_name)
    if order == "length":
        lengths = {p: f.known.length for p, f in ctx.reader.facts([c.name for c in by_name]).items()}
        return tuple(sorted(by_name, key=lambda c: lengths[c.name] or (float("inf"), float("inf"))))
    here = {c.name for c in by_name}
    roots = [c for c in by_name if not here & set(ctx.vocabulary.ancestors(c.name))]
    if order == "alike":
        roots = _chained(roots, alike)
    out: list[Card] = []
    for root in roots:
        line = {root.name}
        out.append(root)
        for card in by_name:
            if card is not root and line & set(ctx.vocabulary.ancestors(card.name)):
                out.append(card)
    return tuple(dict.fromkeys(out))


def _chained(cards: Sequence[Card], alike: Mapping[str, Sequence[LookAlike]]) -> list[Card]:
    """Each card is followed by the likest of its look-alikes that have not had a turn, and these by theirs."""
    by_name = {c.name: c for c in cards}
    out: dict[str, Card] = {}
    for first in cards:
        todo = [first.name]
        while todo:
            name = todo.pop()
            if name in by_name and name not in out:
                out[name] = by_name[name]
                todo += [a.name for a in reversed(alike.get(name, ()))]
    return list(out.values())


def grouped(ctx: Context, cards: Sequence[Card], slot: str) -> dict[str, tuple[str, ...]]:
    """pattern -> the values of a feature (or whether it has a part) under which it stands."""
    facts = ctx.reader.facts([c.name for c in cards])
    of_kind = " in general" if slot == names.OF_KIND else ""  # how the label of a kind ends
    return {name: tuple(v.removesuffix(of_kind) for v in group_values(ctx, slot, found)) for name, found in facts.items()}


def given_groups(answer: Answer) -> dict[str, tuple[str, ...]]:
    """pattern -> its groups, as an answer that is grouped already has them."""
    by_label = {m.label: m.name for m in answer.matches}
    out: dict[str, tuple[str, ...]] = {}
    for group in answer.groups or ():
        for label in group.labels:
            if label in by_label:
                out[by_label[label]] = (*out.get(by_label[label], ()), group.value)
    return out


def in_order(groups: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    """The groups, the largest first, those that say nothing last."""
    count: dict[str, int] = {}
    for found in groups.values():
        for group in found:
            count[group] = count.get(group, 0) + 1
    return tuple(sorted(count, key=lambda g: (g in LAST_GROUPS, -count[g], g)))
