"""Smallest lists, what more instruments would buy, and what differs between two courses, as blocks."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence

from kg.course.compare_curricula import Changes
from kg.course.records import Instrument
from kg.course.smallest import More, Smallest
from kg.render.blocks import Block, Heading, Para, Table, para, words
from kg.render.english import number, shortened

SHOWN_DEMANDS = 4
SHOWN_VALUES = 8
SHOWN_ROWS = 40


def percent(share: float) -> str:
    """``50 %``; never rounded up to all or down to nothing."""
    if 0 < share < 0.005:
        return "under 1 %"
    return "over 99 %" if 0.995 <= share < 1 else f"{share:.0%}".replace("%", " %")


def _labels(found: Iterable[Instrument]) -> list[str]:
    return [label for _, label in found]


def smallest_blocks(found: Smallest, what: str, whole: bool = False) -> list[Block]:
    """A smallest list with what each instrument is needed for, and the proof; ``whole``: however long it is."""
    most = sys.maxsize if whole else SHOWN_ROWS
    size = len(found.picks)
    among = "of those shown" if found.among == "course" else "of the catalogue"
    out: list[Block] = [Heading(f"The smallest list that {what}")]
    out.append(Para(words(proof_sentence(found, among)), 1, close=True))
    if size:
        objectives = found.goal == "objectives"
        rows = tuple(
            (words(p.instrument[1], "name"), words("shown" if p.taught else "new", "remark"), words(_needed(p.needed_for)))
            for p in found.picks[:most]
        )
        out.append(Table(("instrument", "", "needed for" if objectives else "alone shows"), rows))
        if size > most:
            out.append(Para(words(f"and {size - most} more instruments", "remark"), 1, close=True))
    for demand, available, needed in found.impossible[:most]:
        text = (
            f"No list meets {demand}: it needs {needed}, and there {'is' if available == 1 else 'are'} {available or 'none'}."
        )
        out.append(Para(words(text, "dispute"), 1, close=True))
    return out


def proof_sentence(found: Smallest, among: str) -> str:
    """How long the list is, and whether that is proved."""
    size = number(len(found.picks), "instrument")
    if found.proof == "proved":
        return (
            f"{size} {among}: proved, no shorter list does it."
            if found.picks
            else "Nothing is asked for that a list could meet."
        )
    if found.proof == "best found":
        return f"{size} {among}: the best found in the time allowed; at least {found.at_least} are needed."
    return f"No list was found in the time allowed; at least {found.at_least} are needed."


def _needed(demands: Sequence[str]) -> str:
    return ", ".join(shortened(demands, SHOWN_DEMANDS)) or "several, together with others"


def more_blocks(found: More) -> list[Block]:
    """What adding to the course buys, one row a number of instruments."""
    what = "objectives" if found.goal == "objectives" else "values"
    of_what = "the weight of what is mapped" if found.goal == "objectives" else "all values"
    out: list[Block] = [Heading(f"What more instruments would buy ({percent(found.share)} of {of_what} now)")]
    if not found.steps:
        text = f"Nothing: no instrument of the catalogue meets any of the {what} that stay open."
        return [*out, Para(words(text), 1, close=True)]
    objectives = found.goal == "objectives"
    rows = tuple(
        (
            words(str(s.count), "number"),
            words(percent(s.share), "number"),
            words(", ".join(s.gained) if objectives else f"{len(s.gained)} {what}"),
            words(", ".join(_labels(s.added))),
            words("" if s.proof == "proved" else "not proved", "remark"),
        )
        for s in found.steps
    )
    out.append(Table(("more", "then met", "gains", "by adding", ""), rows, key=2))
    out.append(
        Para(words("Each row is the best that so many can do; the lists need not contain each other.", "remark"), 1, close=True)
    )
    return out


def changes_blocks(found: Changes) -> list[Block]:
    """What differs from an older course."""
    out: list[Block] = [Heading(f"Against {found.title}")]
    if found.same:
        return [*out, para("Nothing differs.", indent=1, close=True)]
    before, now = (percent(s) for s in found.share)
    lines = [f"Weight met: {before} before, {now} now." if before != now else f"Weight met: {now}, as before."]
    lines += [f"New objectives: {', '.join(shortened(found.added, 16))}."] if found.added else []
    lines += [f"Objectives taken out: {', '.join(shortened(found.removed, 16))}."] if found.removed else []
    lines += [f"{i}: {before}, now {now}." for i, before, now in found.moved[:SHOWN_ROWS]]
    lines += [f'{i}: {what} was "{b}", is "{a}".' for i, what, b, a in found.reworded[:SHOWN_ROWS]]
    for title, items in (
        ("Newly shown", _labels(found.taught_added)),
        ("No longer shown", _labels(found.taught_removed)),
        ("Values newly shown", found.values_gained),
        ("Values no longer shown", found.values_lost),
        ("Look-alikes now side by side", [" and ".join(p) for p in found.pairs_joined]),
        ("Look-alikes now apart", [" and ".join(p) for p in found.pairs_split]),
    ):
        lines += [f"{title} ({len(items)}): {', '.join(shortened(items, SHOWN_VALUES))}."] if items else []
    return [*out, *(para(line, indent=1, close=True) for line in lines)]
