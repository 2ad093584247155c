"""What a course leaves out: features and values of which nothing is taught, look-alikes that it never sets side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg import names
from kg.answer.context import Context
from kg.answer.lookalikes import look_alike, look_alike_pairs
from kg.answer.visible import Table
from kg.course.matching import Matcher
from kg.course.records import FeatureGap, Instrument, SplitPair

if TYPE_CHECKING:
    from kg.course.coverage import Course

DIFFERENT, ALONE = "different sessions", "one is not taught"


def shown_values(ctx: Context, seen: Table) -> dict[tuple[str, str], int]:
    """(feature, value), or (part, ``bl:hasPart``), that is recorded of any pattern -> the patterns that have it.

    Broader values are had by all that have a narrower one. Sorted by the place of the feature in a spoken description.
    """
    found: dict[tuple[str, str], int] = {}
    for (prop, value), bits in seen.holds.items():
        if prop in ctx.vocabulary.features:
            found[prop, value] = bits
        elif prop == names.HAS_PART:
            found[value, prop] = bits
    order = ctx.vocabulary.terms
    return dict(sorted(found.items(), key=lambda i: (order[i[0][0]].order, i[0][0], i[0][1])))


def feature_gaps(matcher: Matcher, taught: int) -> tuple[FeatureGap, ...]:
    """Features and parts with values of which nothing is taught, in the order of a spoken description."""
    ctx, seen = matcher.ctx, matcher.table
    features, whole = ctx.vocabulary.features, {}
    varying = _varying(matcher, taught)
    missing: dict[str, dict[str, int]] = {}
    for (slot, value), bits in shown_values(ctx, seen).items():
        whole[slot] = whole.get(slot, True) and not bits & taught
        if not bits & taught:
            missing.setdefault(slot, {})[value] = bits.bit_count()
    out = []
    for slot, values in missing.items():
        feature = features.get(slot)
        broadest = [v for v in values if v == names.HAS_PART or ctx.vocabulary.terms[v].broader not in values]
        out.append(
            FeatureGap(
                name=slot,
                label=ctx.label(slot),
                part=ctx.part_label(slot),
                visible=feature is None or (not feature.section and slot not in (names.OF_KIND, names.SIZE_CLASS)),
                whole=whole[slot],
                values=tuple((_value_label(ctx, v), n) for v, n in values.items()),
                broadest=tuple(_value_label(ctx, v) for v in broadest),
                on_some=tuple(_value_label(ctx, v) for v in values if (slot, v) in varying),
            )
        )
    return tuple(out)


def _varying(matcher: Matcher, taught: int) -> set[tuple[str, str]]:
    """(feature or part, value) that some pieces of a taught pattern have ("made straight or curved"), broader ones included."""
    vocabulary = matcher.ctx.vocabulary
    out: set[tuple[str, str]] = set()
    for name in matcher.table.names(taught):
        for slot, values in matcher.known(name).varies.items():
            out |= {(slot, v) for value in values for v in (value, *vocabulary.ancestors(value))}
    return out


def _value_label(ctx: Context, value: str) -> str:
    return "there" if value == names.HAS_PART else ctx.label(value)


# --- look-alikes ----------------------------------------------------------------------------------------------------
def split_pairs(ctx: Context, course: Course) -> tuple[tuple[SplitPair, ...], int]:
    """(look-alike pairs of which at least one is taught and that are never side by side; how many pairs are).

    Pairs shown in different sessions come first, then those of which one is not taught; the likest first. Variants stand
    under their parent.
    """
    seen = course.matcher.table
    beside: dict[str, int] = {}
    for bits in _side_by_side(course):
        roots = _roots(seen, bits)
        for name in seen.names(roots):
            beside[name] = beside.get(name, 0) | roots
    taught = _roots(seen, course.taught)
    where = {s: _roots(seen, bits) for s, bits in course.shown.items() if s}
    out: list[tuple[tuple, SplitPair]] = []
    contrasted = 0
    for one, other in look_alike_pairs(ctx):
        here, there = seen.index[one], seen.index[other]
        if not (taught >> here | taught >> there) & 1:
            continue
        if beside.get(one, 0) >> there & 1:
            contrasted += 1
            continue
        if not taught >> here & 1:
            one, other, here, there = other, one, there, here
        alike = look_alike(ctx, seen, here, there)
        how = DIFFERENT if taught >> there & 1 else ALONE
        sessions = tuple(tuple(s for s, bits in where.items() if bits >> i & 1) for i in (here, there))
        pair = SplitPair((_named(ctx, one), _named(ctx, other)), how, tuple(f for f, _, _ in alike.signs), sessions)
        likeness = 3 * len(alike.signs) - alike.shared
        out.append(((how == ALONE, likeness, pair.pair[0][1].casefold(), pair.pair[1][1].casefold()), pair))
    return tuple(p for _, p in sorted(out, key=lambda item: item[0])), contrasted


def _side_by_side(course: Course) -> list[int]:
    """Sets of taught patterns that stand side by side: those of a session, the subjects of a comparison, and for an objective
    without a session what meets it: what the file says, or all that match where it says nothing.
    """
    out = [bits for session, bits in course.shown.items() if session]
    index = course.matcher.table.index
    for objective in course.curriculum.objectives:
        asked = course.asked.get(objective.id)
        if asked is not None and (asked.each or (not course.listed and not objective.session)):
            out.append(course.matcher.find(asked.expr).true & course.taught)
        if not objective.session:
            out.append(sum(1 << index[name] for name in course.claims.get(objective.id, ())))
    return out


def _roots(seen: Table, bits: int) -> int:
    """The parents of a set of patterns, variants folded."""
    out = 0
    for name in seen.names(bits):
        out |= seen.family[seen.index[name]] & seen.roots
    return out


def _named(ctx: Context, name: str) -> Instrument:
    return name, ctx.label(name)
