"""Telling signs: the fewest visible things that separate a pattern from every other in a scope, or a category from the rest.

A slot separates two patterns if no value is possible for both. The smallest sets of slots that separate a pattern from all
others are the smallest hitting sets of "which slots separate it from this one"; they are found exactly, by branching on the
pattern that fewest slots separate (``kg.answer.hitting``). If the bound of the search is met, the answer says so.
"""

from __future__ import annotations

from collections.abc import Sequence

from kg import names
from kg.answer.context import Context
from kg.answer.filters import answer_filter
from kg.answer.hitting import MAX_SIZE, MAX_STEPS, smallest_hitting_sets
from kg.answer.values import facts_query
from kg.answer.visible import Table, table, value_text
from kg.language import nodes
from kg.model import Answer, TellingSigns
from kg.truth import INAPPLICABLE

_NOTHING = frozenset({INAPPLICABLE})


def answer_telling(ctx: Context, subject: str, scope: nodes.Expr | None = None) -> Answer:
    """The telling signs of a pattern or category. Without a scope a pattern is told from its siblings by category."""
    if ctx.vocabulary.terms[subject].role == "category":
        signs, notes = _of_category(ctx, subject)
    else:
        signs, notes = _of_pattern(ctx, subject, scope)
    return Answer("", "", "telling", sparql=facts_query(subject, []), telling=signs, notes=notes, verified_by=ctx.verified_by)


# --- a pattern ------------------------------------------------------------------------------------------------------
def _of_pattern(ctx: Context, pattern: str, scope: nodes.Expr | None) -> tuple[TellingSigns, tuple[str, ...]]:
    seen = table(ctx)
    at = seen.index[pattern]
    label, others = _scope(ctx, seen, pattern, scope)
    others &= ~seen.family[at]
    # A variant differs from the others as its parent may; it counts by itself, so that a sign holds for every piece.
    columns = [c for c in seen.columns if c.classes[c.of[at]] != _NOTHING]  # the absent part is the sign, not its features
    apart = [column.apart[column.of[at]] & others for column in columns]
    together = others
    for bits in apart:
        together &= ~bits
    sets, complete = smallest_hitting_sets(_rows(apart, others & ~together))
    shown = [tuple((ctx.label(columns[i].slot), value_text(ctx, columns[i], at)) for i in found) for found in sets]
    inseparable = tuple(sorted((ctx.label(p) for p in seen.names(together)), key=str.casefold))
    signs = TellingSigns(ctx.label(pattern), label, others.bit_count(), tuple(shown), inseparable, (), complete)
    notes = (
        "Told apart by what can be seen: parts, features with one value, and length. Variants of the pattern are left out.",
    )
    return signs, notes if complete else (*notes, f"The search met its bound ({MAX_SIZE} signs, {MAX_STEPS:,} steps).")


def _scope(ctx: Context, seen: Table, pattern: str, scope: nodes.Expr | None) -> tuple[str, int]:
    """(the scope for people, the patterns in it). By default the members of the pattern's smallest category with others."""
    everything = (1 << len(seen.patterns)) - 1
    if scope is not None:
        if isinstance(scope, nodes.Everything):
            return "all patterns", everything
        from kg.language.say import say_expr

        return say_expr(scope, ctx.lexicon), seen.bits(m.name for m in answer_filter(ctx, scope).matches)
    at = seen.index[pattern]
    mine = [
        (bits.bit_count(), value)
        for (prop, value), bits in seen.holds.items()
        if prop == names.TYPE and value in ctx.vocabulary.definitions and bits >> at & 1 and _by_purpose(ctx, value)
    ]
    for _, category in sorted(mine):
        others = seen.holds[names.TYPE, category] & ~seen.family[at]
        if others:
            entry = ctx.vocabulary.terms[category]
            return entry.plural or entry.label, others
    return "all patterns", everything


def _by_purpose(ctx: Context, category: str) -> bool:
    """A category that rests on use alone: siblings by what can be seen would hide the very sign that is looked for."""
    for prop, value in ctx.vocabulary.definitions[category]:
        feature = ctx.vocabulary.features.get(prop)
        if prop == names.TYPE:
            if value in ctx.vocabulary.definitions and not _by_purpose(ctx, value):
                return False
        elif feature is None or feature.section != "use":
            return False
    return True


def _rows(apart: Sequence[int], others: int) -> list[frozenset[int]]:
    """For each pattern to be told apart, the columns that do so; rows that contain another row are left out."""
    rows = set()
    while others:
        low = others & -others
        others ^= low
        rows.add(frozenset(i for i, bits in enumerate(apart) if bits & low))
    kept: list[frozenset[int]] = []
    for row in sorted(rows, key=lambda r: (len(r), sorted(r))):
        if not any(k <= row for k in kept):
            kept.append(row)
    return kept


# --- a category -----------------------------------------------------------------------------------------------------
def _of_category(ctx: Context, category: str) -> tuple[TellingSigns, tuple[str, ...]]:
    """Facts that all members share and no outsider is recorded with; outsiders that could have them are counted."""
    seen = table(ctx)
    members = seen.holds.get((names.TYPE, category), 0)
    everything = (1 << len(seen.patterns)) - 1
    entry = ctx.vocabulary.terms[category]
    found = []
    for (prop, value), holders in sorted(seen.holds.items()):
        said = prop in names.PARTS or prop in ctx.vocabulary.features
        if members and holders == members and said and prop != names.OF_KIND:
            found.append((_could(ctx, seen, prop, value) & everything & ~members, prop, value))
    found = [f for f in found if not any(_narrower(ctx, o, f) for o in found)]
    found.sort(key=lambda f: (f[0].bit_count(), _place(ctx, f[1], f[2]), f[2]))
    sets = tuple((_sign(ctx, prop, value),) for _, prop, value in found)
    label = entry.plural or entry.label
    signs = TellingSigns(
        label, "all patterns", (everything & ~members).bit_count(), sets, (), tuple(f[0].bit_count() for f in found)
    )
    notes = ("Shared by all members and recorded of no other pattern; of some others it may not be recorded either way.",)
    return signs, notes


def _narrower(ctx: Context, one: tuple[int, str, str], other: tuple[int, str, str]) -> bool:
    """``one`` says the same feature more narrowly, so that ``other`` says nothing more."""
    return one[1] == other[1] and other[2] in ctx.vocabulary.ancestors(one[2])


def _place(ctx: Context, prop: str, value: str) -> int:
    return ctx.vocabulary.terms[value if prop in names.PARTS else prop].order


def _sign(ctx: Context, prop: str, value: str) -> tuple[str, str]:
    if prop in names.PARTS:
        return ctx.label(value), "there" if prop == names.HAS_PART else "absent"
    return ctx.label(prop), ctx.label(value)


def _could(ctx: Context, seen: Table, prop: str, value: str) -> int:
    """The patterns of which the fact is not recorded, but not excluded either."""
    slot, allowed = (value, frozenset({prop})) if prop in names.PARTS else (prop, ctx.vocabulary.subtree(value))
    for column in (*seen.columns, *seen.others):
        if column.slot == slot:
            return sum(m for c, m in zip(column.classes, column.members, strict=True) if not allowed.isdisjoint(c))
    excluded = 0
    for broader in (value, *ctx.vocabulary.ancestors(value)):
        excluded |= seen.denied.get((prop, broader), 0)
    return (1 << len(seen.patterns)) - 1 & ~excluded
