"""Look-alikes in pairs: the likest of a set, those that few signs or one sign alone tells apart, and which signs tell most of
them apart. Beside them what the facts of a set rest on, with shares, since it is asked and counted in the same way."""

from __future__ import annotations

from collections import Counter

from kg import names
from kg.answer.context import Context
from kg.answer.filters import answer_filter
from kg.answer.lookalikes import MAX_DIFFERENCES, MIN_SHARED, kin_bits, likeness, look_alike, near
from kg.answer.visible import table
from kg.basis import RANKS
from kg.language import nodes
from kg.model import Answer, Grouped

SHOWN = 15
"""So many pairs are listed."""
_TOLD = {
    "": "a published source",
    "veterinary": "veterinary sources only",
    "maker's page": "a maker's page at best",
    "common practice": "common practice, no published source found",
    "memory": "memory",
}


def answer_pairs(ctx: Context, by: str, pick: str, scope: nodes.Expr, number: int) -> Answer:
    """The pairs of look-alikes within a set (or of one within it and one outside), likest first; with a slot those that differ
    in it alone, with a number those that differ in so many. A pair is counted by what can be seen and is recorded for both."""
    outward = by == nodes.PAIR_OF
    slot = by.partition(":")[2]
    seen = table(ctx)
    fit = answer_filter(ctx, scope, limit=0)
    within = seen.bits(m.name for m in fit.matches) & seen.roots
    wanted = ctx.label(slot) if slot else ""
    found = []
    for name in seen.names(within):
        at = seen.index[name]
        later = seen.roots & ~within if outward else within & -(2 << at)
        close = near(seen, at, MAX_DIFFERENCES, MIN_SHARED) & later
        if not close:
            continue
        kin = kin_bits(ctx, seen, at)
        for other in seen.names(close):
            place = seen.index[other]
            alike = look_alike(ctx, seen, at, place)
            told = [sign[0] for sign in alike.signs]
            if (slot and told != [wanted]) or (pick == "=" and len(told) != number):
                continue
            found.append((likeness(alike, bool(kin >> place & 1)), f"{ctx.label(name)} and {alike.label}", alike))
    found.sort(key=lambda row: row[:2])
    groups = tuple(
        Grouped(
            label, alike.shared, tuple(f"{sign} ({one} or {two})" for sign, one, two in alike.signs) or ("nothing recorded",)
        )
        for _, label, alike in found[:SHOWN]
    )
    notes = [
        "The likest first: by what is recorded and can be seen, and whether both are of one kind. How often people take one "
        "for the other is not recorded."
    ]
    if len(found) > SHOWN:
        notes.insert(0, f"{len(found):,} pairs in all; {len(found) - SHOWN:,} of them are not listed.")
    return Answer("", "", "tally", sparql=fit.sparql, groups=groups, notes=tuple(notes), verified_by=ctx.verified_by)


def answer_signs(ctx: Context, scope: nodes.Expr) -> Answer:
    """The parts and features that can be seen with the number of pairs of look-alikes within a set that each tells apart."""
    seen = table(ctx)
    fit = answer_filter(ctx, scope, limit=0)
    within = seen.bits(m.name for m in fit.matches) & seen.roots
    counts: Counter[str] = Counter()
    pairs = 0
    for name in seen.names(within):
        at = seen.index[name]
        close = near(seen, at, MAX_DIFFERENCES, MIN_SHARED) & within & -(2 << at)
        pairs += close.bit_count()
        for column in seen.columns:
            if close and column.recorded >> at & 1:
                counts[column.slot] += (close & column.recorded & column.apart[column.of[at]]).bit_count()
    rows = sorted(((ctx.label(slot), n) for slot, n in counts.items() if n), key=lambda row: (-row[1], row[0].casefold()))
    notes = []
    if rows:
        notes.append(f"{rows[0][0][:1].upper()}{rows[0][0][1:]} tells most pairs apart: {rows[0][1]:,} of {pairs:,}.")
        notes.append("Pairs of look-alikes: patterns that differ in at most two parts or features that can be seen.")
    groups = tuple(Grouped(label, n, (f"{n / pairs:.0%} of the pairs",)) for label, n in rows)
    return Answer("", "", "tally", sparql=fit.sparql, groups=groups, notes=tuple(notes), verified_by=ctx.verified_by)


def answer_bases(ctx: Context, scope: nodes.Expr) -> Answer:
    """What the facts of a set rest on at best, strongest first, each with its number and its share; what follows from others is
    left out."""
    fit = answer_filter(ctx, scope, limit=0)
    facts = ctx.reader.facts([m.name for m in fit.matches])
    counts: Counter[str] = Counter()
    for one in facts.values():
        for literal, level in one.levels.items():
            if level != "inferred" and literal[0] not in (names.TYPE, names.OF_KIND):
                counts[one.basis.get(literal, "")] += 1
    total = sum(counts.values())
    rows = [(_TOLD[basis], counts[basis]) for basis in RANKS if counts[basis]]
    groups = tuple(Grouped(told, n, (f"{n / total:.1%}",)) for told, n in rows)
    notes = []
    if total:
        written = total - counts["common practice"] - counts["memory"]
        notes.append(
            f"{written:,} of {total:,} facts, {written / total:.1%}, have a published source (makers' and veterinary ones "
            "included). Variants are counted by themselves; what follows from other facts is left out."
        )
    return Answer("", "", "tally", sparql=fit.sparql, groups=groups, notes=tuple(notes), verified_by=ctx.verified_by)
