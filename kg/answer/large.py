"""Which, how many and by, in a catalogue of many thousand patterns: from sets, and in pages.

The answer is the one that ``kg.answer.filters`` gives, field for field; only the way is another (``kg.answer.sets``). With a
page, ``matches`` holds that page alone and ``match_count`` says how many there are. The disputes of a whole list are then not
worked out: those listed are of this page's matches, and patterns that would fit if a witness were right stand among those
that could.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from kg import names
from kg.answer.context import Context, literals, properties
from kg.answer.filters import BASIS_RANK, both_ways, contested_of, fits_with, hopeless, match_of, possible_of
from kg.answer.sets import PatternSets
from kg.evidence_levels import BASES
from kg.language import nodes
from kg.model import Answer, Disputed, Match
from kg.sparql.filters import HOLDS, filter_query
from kg.truth import All, AnyOf, Form, Includes, Is, Lengths, Member, OneOf, normalise, opened
from kg.vocabulary import Condition, slot_of

FEW = 200
"""Up to so many matches, reading their facts is quicker than reading sets that hold whole columns of the catalogue."""


def answer_large(ctx: Context, expr: nodes.Expr, *, limit: int, page: tuple[int, int] | None) -> Answer:
    """As ``answer_filter``; ``page`` is (first, size) of the matches, None: all of them."""
    sets = ctx.sets
    form = normalise(both_ways(ctx, expr), ctx.vocabulary)
    yes, maybe = sets.judged(form)
    shown = sets.in_order(yes, *page) if page else sets.in_order(yes, 0, None)
    if len(shown) <= FEW:
        matches = _few(ctx, form, shown)
    else:
        matches = _many(ctx, sets, form, shown, sets.of(shown) if page else yes)
    disputed: list[Disputed] = []
    if page is None:
        disputed, listed = _disputes(ctx, sets, form, yes)
        maybe &= ~listed
    disputed = contested_of(ctx, form, [m.name for m in matches if m.contested]) + disputed
    could = _nearest(sets, form, maybe, limit)
    facts = ctx.reader.facts(could, properties(form))
    return Answer(
        question="",
        reading="",
        kind="filter",
        sparql=filter_query(form, ctx.vocabulary),
        matches=tuple(matches),
        possible=tuple(possible_of(ctx, p, form, facts[p]) for p in could),
        possible_count=maybe.bit_count(),
        disputed=tuple(disputed),
        pattern_count=sets.folded_count(yes),
        match_count=yes.bit_count() if page else None,
        verified_by=ctx.verified_by,
    )


def _few(ctx: Context, form: Form, shown: list[str]) -> list[Match]:
    """The matches of a page, from the facts of these patterns alone."""
    facts = ctx.reader.facts(shown, properties(form), literals=literals(form, ctx.vocabulary))
    return [match_of(ctx, p, form, facts[p]) for p in shown]


def _many(ctx: Context, sets: PatternSets, form: Form, shown: list[str], bits: int) -> list[Match]:
    """The same from sets: reading the facts of each pattern would take far longer. ``bits`` are the patterns ``shown``."""
    inferred = contested = 0
    resting = dict.fromkeys(BASES, 0)
    for (prop, value), held in _used(sets, form, bits):
        inferred |= held & sets.found("graph:inferred", prop, value)
        contested |= held & sets.found("graph:contested", prop, value)
        for graph in BASES:
            resting[graph] |= held & sets.found(graph, prop, value)
    basis: dict[str, str] = {}
    for graph, kind in sorted(BASES.items(), key=lambda item: BASIS_RANK[item[1]]):  # the weakest is the last, and stands
        basis.update(dict.fromkeys(sets.named(resting[graph]), kind))
    by_rule, denied, terms = sets.contains(inferred), sets.contains(contested), ctx.vocabulary.terms
    return [Match(p, terms[p].label, by_rule(p), basis.get(p, ""), terms[p].broader, denied(p)) for p in shown]


def _used(sets: PatternSets, form: Form, bits: int) -> Iterator[tuple[Condition, int]]:
    """The literals that make a form true, each with those of ``bits`` of which it does; of alternatives the first true one."""
    if not bits:
        return
    match form:
        case All(items):
            for item in items:
                yield from _used(sets, item, bits)
        case AnyOf(items):
            for item in items:
                true = sets.true(item) & bits
                yield from _used(sets, item, true)
                bits &= ~true
        case Member(category, _):
            yield (names.TYPE, category), bits
        case Includes(feature, value, True):
            yield (feature, value), bits
        case OneOf(slot, allowed) if slot not in sets.vocabulary.features:
            yield (next(iter(allowed)), slot), bits
        case OneOf(slot, allowed):
            # The broadest allowed value is what was asked for.
            named = (v for v in allowed if v in sets.vocabulary.terms)
            for value in sorted(named, key=lambda v: (len(sets.vocabulary.ancestors(v)), v)):
                held = bits & sets.found(HOLDS, slot, value)
                if held:
                    yield (slot, value), held
                    bits &= ~held


def _nearest(sets: PatternSets, form: Form, maybe: int, limit: int) -> list[str]:
    """The first of those that could match: those of which some pieces match for sure, then those of which only a denial is
    open, then the rest."""
    near = 0
    if isinstance(form, All):
        rest = tuple(i for i in form.items if not (isinstance(i, Includes) and not i.positive))
        if rest and len(rest) < len(form.items):
            near = sets.true(All(rest)) & maybe
    some = sets.of_some(form) & maybe
    found: list[str] = []
    for bits in (some & near, some & ~near, near & ~some, maybe & ~near & ~some):
        found += sets.first_named(bits, limit - len(found))
    return found


def _disputes(ctx: Context, sets: PatternSets, form: Form, yes: int) -> tuple[list[Disputed], int]:
    """Patterns that would fit if a witness that was not adopted were right; and the set of them."""
    props = properties(form)
    wanted: dict[str, list[Condition]] = {}
    fits = sets.contains(yes)
    for pattern, literal in ctx.alternatives:
        if literal[0] in props and pattern in sets.place and not fits(pattern):
            wanted.setdefault(pattern, []).append(literal)
    candidates = _hopeful(ctx, sets, form, wanted)
    facts = ctx.adopted(candidates)
    found: list[tuple[str, Condition]] = []
    for pattern in sorted(candidates, key=lambda p: ctx.label(p).casefold()):
        if hopeless(ctx, form, facts[pattern], wanted[pattern]):
            continue
        for literal in sorted(wanted[pattern]):
            if fits_with(ctx, form, facts[pattern], literal):
                found.append((pattern, literal))
                break
    ctx.reader.foresee(s for p, _ in found for s in ctx.reader.line(p, facts[p]))
    told = [(p, ctx.dispute(p, slot_of(literal), facts[p])) for p, literal in found]
    return [d for _, d in told if d is not None], sets.of(p for p, d in told if d is not None)


def _hopeful(ctx: Context, sets: PatternSets, form: Form, wanted: dict[str, list[Condition]]) -> list[str]:
    """Those of which all is true that their alternatives cannot touch; the rest would not fit whatever a witness says.

    What is asked of a slot that follows in no way from the slot in dispute, and of lengths and names, stays as it is when a
    value is put in place of the adopted one. Definitions are opened up: who would be a member after it would meet every
    condition after it.
    """
    whole = opened(form)
    items = whole.items if isinstance(whole, All) else (whole,)
    fixed: list[tuple[str, Callable[[str], bool]]] = []
    for item in items:
        match item:
            case OneOf(slot, _) | Includes(slot, _, True):
                fixed.append((slot, sets.contains(sets.true(item))))
            case Lengths() | Is():
                fixed.append(("", sets.contains(sets.true(item))))
    touched: dict[str, frozenset[str]] = {}
    out = []
    for pattern, said in wanted.items():
        for slot in map(slot_of, said):
            if slot not in touched:
                touched[slot] = _touched(ctx, slot)
            if all(other in touched[slot] or holds(pattern) for other, holds in fixed):
                out.append(pattern)
                break
    return sorted(out)


def _touched(ctx: Context, slot: str) -> frozenset[str]:
    """The slots that may change with a slot's value."""
    parts = [(part, slot) for part in names.PARTS]
    values = [(slot, v) for v in ctx.vocabulary.values_of(slot)]
    return frozenset({slot, *map(slot_of, ctx.engine.dependents([*parts, *values]))})
