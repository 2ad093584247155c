"""Look-alikes: patterns that differ in few visible slots, none missed.

Two patterns differ in a slot if both are recorded there, it applies to both, and no value is possible for both. A slot that
is not recorded for one of them counts neither way. At least ``MIN_SHARED`` slots, and at least half of the slots recorded of
either, must be recorded for both, so that patterns of which little is known are not taken for alike; a part that both lack is
no likeness. Variants are folded under their parent.
"""

from __future__ import annotations

from collections.abc import Iterator

from kg import names
from kg.answer.context import Context
from kg.answer.values import facts_query
from kg.answer.visible import Column, Table, bits, table, value_text
from kg.model import Answer, LookAlike

MAX_DIFFERENCES = 2
MIN_SHARED = 4
KIN = 2
"""How many differences it outweighs that two patterns are of one kind: people mix up what lies together."""
SHARE = 2
"""One in so many of the slots recorded of either pattern has to be recorded for both."""


def answer_look_alikes(ctx: Context, pattern: str, *, differences: int = MAX_DIFFERENCES, shared: int = MIN_SHARED) -> Answer:
    """The look-alikes of a pattern, likest first, with the signs that decide. The pattern's own family is left out."""
    seen = table(ctx)
    at = seen.index[pattern]
    found = near(seen, at, differences, shared) & seen.roots & ~seen.family[at]
    kin = kin_bits(ctx, seen, at)
    alike = sorted(
        (look_alike(ctx, seen, at, seen.index[p]) for p in seen.names(found)),
        key=lambda a: likeness(a, bool(kin >> seen.index[a.name] & 1)),
    )
    notes = (
        f"Alike: differing in at most {differences} visible parts or features, of at least {shared} recorded for both "
        "and at least half of what is recorded of either. What is "
        "not recorded for one of them counts neither way. Variants stand under their parent.",
    )
    return Answer(
        "",
        "",
        "look-alikes",
        sparql=facts_query(pattern, []),
        look_alikes=tuple(alike),
        notes=notes,
        verified_by=ctx.verified_by,
    )


def look_alike_pairs(
    ctx: Context, *, differences: int = MAX_DIFFERENCES, shared: int = MIN_SHARED
) -> Iterator[tuple[str, str]]:
    """All pairs of look-alikes among patterns that are no variants, each pair once and sorted."""
    seen = table(ctx)
    for at, pattern in enumerate(seen.patterns):
        if seen.roots >> at & 1:
            later = seen.roots & -(2 << at)
            for other in seen.names(near(seen, at, differences, shared) & later):
                yield pattern, other


def near(seen: Table, at: int, differences: int, shared: int) -> int:
    """The look-alikes of one pattern as bits: every column adds one to two counters that are kept bit by bit."""
    everything = (1 << len(seen.patterns)) - 1
    own = _known(seen)[at]
    enough = max(shared, -(-own // SHARE))
    least = [everything] + [0] * (differences + 1)  # least[k]: at least k differing slots
    common = [everything] + [0] * max(enough, len(seen.columns) // SHARE + 1)
    for column in seen.columns:
        if not column.recorded >> at & 1:
            continue
        apart = column.apart[column.of[at]] & column.recorded
        both = column.recorded if column.there >> at & 1 else column.there
        for k in range(differences + 1, 0, -1):
            least[k] |= least[k - 1] & apart
        for k in range(len(common) - 1, 0, -1):
            common[k] |= common[k - 1] & both
    close = common[enough] & ~least[differences + 1]
    known = _known(seen)
    return bits(i for p in seen.names(close) if common[-(-known[i := seen.index[p]] // SHARE)] >> i & 1)


def _known(seen: Table) -> tuple[int, ...]:
    """Pattern by pattern, on how many slots something is recorded to be there; remembered with the table."""
    if not seen.known:
        seen.known.extend(sum(c.there >> i & 1 for c in seen.columns) for i in range(len(seen.patterns)))
    return tuple(seen.known)


def _both(seen: Table, at: int, other: int) -> Iterator[tuple[Column, bool]]:
    """The columns recorded for both of two patterns, each with whether they differ in it."""
    for column in seen.columns:
        if column.recorded >> at & column.recorded >> other & 1:
            yield column, bool(column.apart[column.of[at]] >> other & 1)


def telling_slots(ctx: Context, one: str, two: str) -> tuple[str, ...]:
    """The visible slots on which two patterns differ, in the order of a spoken description."""
    seen = table(ctx)
    at, other = seen.index[one], seen.index[two]
    return tuple(column.slot for column, apart in _both(seen, at, other) if apart)


def shared_signs(ctx: Context, one: str, two: str) -> tuple[str, ...]:
    """What can be seen and is alike on two patterns, in the order of a spoken description: parts that both have, values."""
    seen = table(ctx)
    at, other = seen.index[one], seen.index[two]
    alike = [c for c, apart in _both(seen, at, other) if not apart and c.there >> at & c.there >> other & 1]
    parts = {c.slot for c in alike if c.slot not in ctx.vocabulary.features}
    return tuple(ctx.label(c.slot) if c.slot in parts else value_text(ctx, c, at) for c in alike)


def look_alike(ctx: Context, seen: Table, at: int, other: int) -> LookAlike:
    """The second pattern as a look-alike of the first, both by their places in the table, whether they are near or not."""
    signs, shared = [], 0
    for column, apart in _both(seen, at, other):
        shared += (column.there >> at | column.there >> other) & 1
        if apart:
            signs.append((ctx.label(column.slot), value_text(ctx, column, at), value_text(ctx, column, other)))
    name = seen.patterns[other]
    return LookAlike(name, ctx.label(name), shared, tuple(signs))


def kin_bits(ctx: Context, seen: Table, at: int) -> int:
    """The patterns of the narrowest kind of one, as bits; none if no kind of it is recorded."""
    kinds = [value for (prop, value), members in seen.holds.items() if prop == names.OF_KIND and members >> at & 1]
    return seen.holds[names.OF_KIND, ctx.vocabulary.narrowest(kinds)] if kinds else 0


def likeness(alike: LookAlike, kin: bool) -> tuple[int, int, str]:
    """Sorts likest first: a difference weighs as much as three likenesses, and to be of one kind as much as two differences."""
    return 3 * (len(alike.signs) - KIN * kin) - alike.shared, len(alike.signs), alike.label.casefold()
