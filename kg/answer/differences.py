"""In what the patterns of one set differ: feature by feature, what is seen in the hand first.

What is not recorded of a pattern is no difference. Of a set too large to be told pattern by pattern only the features are told
that part it best, with the groups that each of them makes.
"""

from __future__ import annotations

from collections.abc import Sequence

from kg import names
from kg.answer.compare import NOT_RECORDED, recorded_slots, side_by_side
from kg.answer.context import Context
from kg.answer.filters import answer_filter, group_values
from kg.answer.hitting import smallest_hitting_sets
from kg.answer.values import disputed_slots
from kg.answer.visible import Column, Table, table, value_text
from kg.language import nodes
from kg.language.joining import conj
from kg.model import Answer, Comparison, Difference, Disputed, Match
from kg.records import replace
from kg.truth import INAPPLICABLE
from kg.wording import capital, listing

MOST = 12
"""So many patterns at most are told one by one."""
SHOWN = 4
"""So many features are told of a larger set."""
NAMED = 8
"""So many further features in which a larger set differs are named."""
WEIGHED = 2_000
"""Of a set of more patterns than this each feature is weighed by itself, whatever the others part already."""
NONE, ONE = "Nothing is known to match, so there is nothing to compare.", "There is only one, so there is nothing to compare."


def answer_differences(ctx: Context, expr: nodes.Expr, *, limit: int) -> Answer:
    """The patterns that fit, side by side; a variant is told with the pattern that it is a variant of, if that fits too."""
    base = replace(answer_filter(ctx, expr, limit=limit), kind="compare")
    members = _members(base.matches)
    if len(members) < 2:
        return replace(base, notes=(*base.notes, ONE if members else NONE))
    if len(members) <= MOST:
        return replace(base, comparison=_one_by_one(ctx, members))
    comparison, notes = _by_groups(ctx, expr, members)
    return replace(base, comparison=comparison, notes=(*base.notes, *notes))


def _members(matches: Sequence[Match]) -> list[str]:
    """The patterns without the variants of one that is there too; of one pattern with its variants, the variants."""
    found = {m.name for m in matches}
    roots = [m.name for m in matches if m.variant_of not in found]
    variants = [m.name for m in matches if m.variant_of in found]
    return variants if len(roots) == 1 and len(variants) > 1 else roots


# --- one by one -----------------------------------------------------------------------------------------------------
def _one_by_one(ctx: Context, members: Sequence[str]) -> Comparison:
    facts = ctx.reader.facts(list(members))
    ctx.reader.foresee(name for m in members for name in ctx.reader.line(m, facts[m]))
    seen: list[Difference] = []
    apart, overlapping, shared, unknown = [], [], [], []
    for slot in sorted(recorded_slots(ctx, facts.values()), key=lambda slot: not _seen(ctx, slot)):
        line = side_by_side(ctx, slot, members, facts, True)
        recorded = [texts for _, texts in line.values if texts != (NOT_RECORDED,)]
        if line.separates:
            apart.append(line)
            seen += [line] if _seen(ctx, slot) else []
        elif len(set(recorded)) > 1:
            overlapping.append(line)
        else:
            (shared if len(recorded) == len(members) else unknown).append(line)
    disputes = [ctx.dispute(m, slot, facts[m]) for m in members for slot in sorted(disputed_slots(facts[m]))]
    return Comparison(
        tuple(ctx.label(m) for m in members),
        tuple(apart),
        tuple(shared),
        tuple(unknown),
        _signs(ctx, members, seen),
        tuple(d for d in disputes if isinstance(d, Disputed)),
        ("adopted facts of each pattern, variants told with their pattern",),
        of_set=True,
        overlapping=tuple(overlapping),
    )


def _seen(ctx: Context, slot: str) -> bool:
    """Whether something can be seen of an instrument in the hand."""
    feature = ctx.vocabulary.features.get(slot)
    return feature is None or not feature.section


def _signs(ctx: Context, members: Sequence[str], seen: Sequence[Difference]) -> tuple[str, ...]:
    """The fewest things to look at, and how many pairs even these leave together."""
    pairs = [(i, j) for i in range(len(members)) for j in range(i)]
    rows = [frozenset(n for n, line in enumerate(seen) if pair in line.separates) for pair in pairs]
    sets, _ = smallest_hitting_sets([row for row in rows if row])
    if not sets:
        return ()
    best = min(sets, key=lambda found: (any(seen[n].feature == ctx.label(names.LENGTH) for n in found), found))
    left = [pair for pair, row in zip(pairs, rows, strict=True) if not row]
    what = "all that can be told apart" if left else "all of them apart"
    signs = [f"{capital(listing(seen[n].feature for n in best))}: enough to tell {what}."]
    if left:
        signs.append(f"{len(left)} of the {len(pairs)} pairs are told apart by nothing recorded that can be seen.")
    return tuple(signs)


# --- by groups ------------------------------------------------------------------------------------------------------
def _by_groups(ctx: Context, expr: nodes.Expr, members: Sequence[str]) -> tuple[Comparison, list[str]]:
    seen = table(ctx)
    bits = seen.bits(members)
    parting = {c.slot: _pairs(c, bits) for c in seen.columns}
    best = _best(seen, members, bits)
    told = {c.slot for c in best}
    alike = [c for c in seen.columns if bits & ~c.recorded == 0 and any(bits & ~m == 0 for m in c.members)]
    further = sorted((s for s, pairs in parting.items() if pairs and s not in told), key=lambda s: -parting[s])
    notes = [f"{len(members):,} patterns are too many to tell one by one: these are the groups by what parts them best."]
    if further:
        more = f", and {len(further) - NAMED} more features" if len(further) > NAMED else ""
        notes.append(f"They differ also in {listing([ctx.label(s) for s in further[:NAMED]])}{more}.")
    if best and (fewer := _fewer(ctx, expr, best, bits)):
        notes.append(f'For patterns one by one ask for fewer, such as "{fewer}".')
    comparison = Comparison(
        tuple(ctx.label(m) for m in members),
        tuple(_column(ctx, seen, c, members) for c in best),
        tuple(_column(ctx, seen, c, members) for c in alike),
        (),
        (),
        basis=("what can be seen, variants told with their pattern",),
        of_set=True,
    )
    return comparison, notes


def _pairs(column: Column, bits: int) -> int:
    """How many pairs of a set a column tells apart."""
    sides = zip(column.members, column.apart, strict=True)
    return sum((members & bits).bit_count() * (apart & bits).bit_count() for members, apart in sides) // 2


def _best(seen: Table, members: Sequence[str], bits: int) -> list[Column]:
    """The columns that together part most pairs, best first; the length makes no groups."""
    columns = [c for c in seen.columns if c.slot != names.LENGTH and _pairs(c, bits)]
    if len(members) > WEIGHED:
        return sorted(columns, key=lambda c: -_pairs(c, bits))[:SHOWN]
    places = [seen.index[m] for m in members]
    together = dict.fromkeys(places, bits)  # whom each cannot be told from yet
    out: list[Column] = []
    while len(out) < SHOWN and columns:
        gains = [sum((together[i] & c.apart[c.of[i]]).bit_count() for i in places) for c in columns]
        if not max(gains):
            break
        chosen = columns.pop(gains.index(max(gains)))
        together = {i: left & ~chosen.apart[chosen.of[i]] for i, left in together.items()}
        out.append(chosen)
    return out


def _column(ctx: Context, seen: Table, column: Column, members: Sequence[str]) -> Difference:
    texts = {m: value_text(ctx, column, seen.index[m]) for m in members}
    unsaid = [m for m, text in texts.items() if text == NOT_RECORDED]
    facts = ctx.reader.facts(unsaid, [column.slot, names.HAS_PART, names.LACKS_PART]) if unsaid else {}
    texts |= {m: group_values(ctx, column.slot, facts[m])[0] for m in unsaid}  # it may be disputed, or made both ways
    return Difference(ctx.part_label(column.slot), ctx.label(column.slot), tuple((ctx.label(m), (texts[m],)) for m in members))


def _fewer(ctx: Context, expr: nodes.Expr, columns: Sequence[Column], bits: int) -> str:
    """A question about one of the groups, the largest that can be told one by one; empty if there is none."""
    from kg.language.say import say

    found: list[tuple[int, nodes.Expr]] = []
    for column in columns:
        for content, members in zip(column.classes, column.members, strict=True):
            count = (members & bits).bit_count()
            value = next(iter(content)) if len(content) == 1 else ""
            if not 1 < count <= MOST or value in ("", INAPPLICABLE, names.LACKS_PART):
                continue
            part = column.slot not in ctx.vocabulary.features
            found.append((count, nodes.HasPart(column.slot) if part else nodes.Has(column.slot, str(value))))
        if found:
            break
    if not found:
        return ""
    _, narrower = max(found, key=lambda one: one[0])
    return say(nodes.Differences(conj([expr, narrower])), ctx.lexicon)
