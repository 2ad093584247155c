"""Answers to "which", "how many" and "by": three-valued lists with reasons and disputes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from kg import names
from kg.answer.context import PAGE, Context, literals, properties
from kg.evidence_levels import BASES
from kg.facts import PatternFacts
from kg.language import nodes
from kg.language.atodds import excluded
from kg.model import Answer, Disputed, Grouped, Match, Possible
from kg.records import replace
from kg.sparql.filters import filter_query
from kg.truth import (
    INAPPLICABLE,
    All,
    AnyOf,
    Atom,
    Constant,
    Elsewhere,
    Form,
    Includes,
    Is,
    Known,
    Lengths,
    Member,
    OneOf,
    Stated,
    Told,
    atoms,
    evaluate,
    normalise,
    open_atoms,
    opened,
)
from kg.vocabulary import Condition, Vocabulary, slot_of
from kg.wording import listing

BASIS_RANK = {basis: rank for rank, basis in enumerate(("", *BASES.values()))}


LEFT_OUT = "Left out is what is recorded so; of what is listed it is not recorded, and the record may be incomplete."
ONLY = "Only: nothing else is recorded there, and the record may be incomplete."

Page = tuple[int, int]
"""(first, size) of the matches that are listed."""


def answer_filter(ctx: Context, expr: nodes.Expr, *, limit: int = PAGE, page: Page | None = None) -> Answer:
    """The patterns that fit, those that could, and those disputed. ``limit`` is the page of the ones that could, ``page``
    that of the ones that fit (None: all are listed; see ``kg.answer.large`` for what a page leaves out)."""
    if page is not None or (ctx.large and not ctx.store.far):  # a far server is asked once, not for each look-up
        from kg.answer.large import answer_large

        return answer_large(ctx, expr, limit=limit, page=page)
    form = normalise(both_ways(ctx, expr), ctx.vocabulary)
    query = filter_query(form, ctx.vocabulary)
    yes, maybe = _judged(ctx, form, query)
    props = properties(form)
    facts = ctx.reader.facts(yes, props, literals=literals(form, ctx.vocabulary))
    matches = _in_order(ctx, [match_of(ctx, p, form, facts[p]) for p in yes])
    disputed, listed = disputes_of(ctx, form, set(yes))
    disputed = contested_of(ctx, form, [m.name for m in matches if m.contested]) + disputed
    maybe = _of_some_first(ctx, form, _nearest_first(ctx, form, [p for p in maybe if p not in listed]))
    page = ctx.reader.facts(maybe[:limit], props)
    return Answer(
        question="",
        reading="",
        kind="filter",
        sparql=query,
        matches=tuple(matches),
        possible=tuple(possible_of(ctx, p, form, page[p]) for p in page),
        possible_count=len(maybe),
        disputed=tuple(disputed),
        pattern_count=folded_count(matches),
        notes=_by_the_record(form) + at_odds(ctx, expr),
        verified_by=ctx.verified_by,
    )


def _by_the_record(form: Form) -> tuple[str, ...]:
    """The notes on what is judged by the record alone."""
    found = atoms(form)
    only = any(isinstance(a, Elsewhere) for a in found)
    left = any(isinstance(a, Told) and not a.positive for a in found)
    return ((ONLY,) if only else ()) + ((LEFT_OUT,) if left else ())


def _judged(ctx: Context, form: Form, query: str) -> tuple[list[str], list[str]]:
    """The patterns that fit, and those that could, by name: the rows of the form's query, or the same from sets."""
    if (sets := ctx.column_sets) is not None:
        true, open_ = sets.judged(form)
        return sets.named(true), sets.named(open_)
    yes: list[str] = []
    maybe: list[str] = []
    for row in ctx.store.select(query):
        (yes if row["m"].value == "true" else maybe).append(row["p"].short)
    return sorted(yes), sorted(maybe)


def _of_some_first(ctx: Context, form: Form, patterns: list[str]) -> list[str]:
    """Patterns that could match, those first of which some pieces match for sure: a list tells them apart and counts them."""
    if (sets := ctx.column_sets) is not None:
        some = frozenset(sets.named(sets.of_some(form)))
    else:
        facts = ctx.reader.facts(patterns, properties(form)) if patterns else {}
        some = frozenset(p for p in facts if _of_some(form, facts[p].known, ctx.vocabulary))
    return sorted(patterns, key=lambda p: p not in some)


def _of_some(form: Form, known: Known, vocabulary: Vocabulary) -> bool:
    """As ``Judging.of_some``, of one pattern from its facts."""
    judged = evaluate(form, known, vocabulary)
    match form:
        case All(items):
            return all(_of_some(i, known, vocabulary) for i in items)
        case AnyOf(items):
            return any(_of_some(i, known, vocabulary) for i in items)
        case Member(_, definition):
            return judged == 1 or _of_some(definition, known, vocabulary)
        case OneOf(slot):
            return judged == 1 or (judged == 0 and bool(known.varies.get(slot)) and slot not in known.open_slots)
        case Includes(feature, value):
            return judged == 1 or value in known.varies.get(feature, ())
        case Lengths():
            return judged == 1 or (judged == 0 and known.length is not None)
    return judged == 1


def _nearest_first(ctx: Context, form: Form, patterns: list[str]) -> list[str]:
    """Patterns that could match, those first of which only a denial is open ("used on bone but not on the spine")."""
    if not isinstance(form, All) or not patterns:
        return patterns
    denials = [i for i in form.items if isinstance(i, Includes) and not i.positive]
    rest = [i for i in form.items if i not in denials]
    if not denials or not rest:
        return patterns
    whole = All(tuple(rest))
    near = frozenset(_judged(ctx, whole, filter_query(whole, ctx.vocabulary))[0])
    return sorted(patterns, key=lambda p: p not in near)


def both_ways(ctx: Context, expr: nodes.Expr) -> nodes.Expr:
    """A relation between two patterns that is recorded of one of them only, asked from the other side: which handle fits this
    blade is known from which handles the blade fits."""
    match expr:
        case nodes.Has(feature, value) if ctx.lexicon.feature(feature).patterns:
            known = ctx.reader.facts([value], [feature])[value].known.holds
            others = [nodes.Named(v) for f, v in sorted(known) if f == feature]
            return nodes.Or(tuple(others)) if len(others) > 1 else others[0] if others else expr
        case nodes.Not(inner):
            turned = both_ways(ctx, inner)
            if turned is not inner and isinstance(inner, nodes.Has):
                turned = nodes.Or((turned, inner))  # of those that are not named it is open
            return nodes.Not(turned)
        case nodes.And(items):
            return nodes.And(tuple(both_ways(ctx, i) for i in items))
        case nodes.Or(items):
            return nodes.Or(tuple(both_ways(ctx, i) for i in items))
    return expr


def answer_count(ctx: Context, expr: nodes.Expr, *, limit: int = PAGE, page: Page | None = None) -> Answer:
    """How many fit; the list comes along."""
    answer = answer_filter(ctx, expr, limit=limit, page=page)
    return replace(answer, kind="count", count=len(answer.matches) if answer.match_count is None else answer.match_count)


def at_odds(ctx: Context, expr: nodes.Expr) -> tuple[str, ...]:
    """A note where two values of a feature with one value are asked for at once, so that nothing can fit; else none."""
    said = [i for i in expr.items if isinstance(i, nodes.Has)] if isinstance(expr, nodes.And) else []
    for one, two in combinations(said, 2):
        if one.feature == two.feature and ctx.vocabulary.exclude(one.feature, one.value, two.value):
            return (
                f"Of {ctx.label(one.feature)} a pattern is recorded with one value, so nothing is both "
                f'"{ctx.label(one.value)}" and "{ctx.label(two.value)}". Ask for one of them.',
            )
    for odd, family, value in excluded(expr, ctx.vocabulary):
        return (
            f"Of {ctx.label(odd.feature)} a pattern is recorded with one value, and of all "
            f'{ctx.lexicon.name(family, many=True)} it is "{ctx.label(value)}". Ask for what is made for '
            f'"{ctx.label(odd.value)}" without naming that family.',
        )
    return ()


def answer_group(ctx: Context, expr: nodes.Expr, feature: str, *, limit: int = PAGE) -> Answer:
    """The patterns that fit, grouped by the values of a feature (or by presence of a part)."""
    answer = answer_filter(ctx, expr, limit=limit)
    facts = ctx.reader.facts([m.name for m in answer.matches], [feature, names.HAS_PART, names.LACKS_PART])
    groups: dict[str, list[str]] = {}
    for match in answer.matches:
        for value in group_values(ctx, feature, facts[match.name]):
            groups.setdefault(value, []).append(match.label)
    last = ("not recorded", "disputed")
    ordered = sorted(groups, key=lambda g: (g in last, -len(groups[g]), g))
    return replace(
        answer,
        kind="group",
        groups=tuple(Grouped(g, len(groups[g]), tuple(sorted(groups[g], key=str.casefold))) for g in ordered),
    )


def group_values(ctx: Context, feature: str, facts: PatternFacts) -> list[str]:
    """The values of a feature under which a pattern stands in a grouping; of a part whether it is there. Never empty."""
    known = facts.known
    if feature in known.inapplicable:
        return ["does not apply"]
    if feature not in ctx.vocabulary.features:  # a part
        for prop, text in ((names.HAS_PART, "there"), (names.LACKS_PART, "absent")):
            if (prop, feature) in known.holds:
                return [text]
        return ["made with or without"] if len(known.varies.get(feature, ())) > 1 else ["not recorded"]
    adopted = [lit[1] for lit, level in facts.levels.items() if lit[0] == feature and level != "inferred"]
    varying = list(known.varies.get(feature, ()))
    if varying and ctx.vocabulary.features[feature].single:
        return ["made with: " + listing([ctx.label(v) for v in varying], "or")]
    if adopted or varying:
        return [ctx.label(v) for v in sorted(adopted)] + [f"{ctx.label(v)} (some)" for v in varying]
    return ["disputed" if feature in known.open_slots else "not recorded"]


def folded_count(matches: Sequence[Match]) -> int:
    """Matches that are no variant of another match."""
    found = {m.name for m in matches}
    return sum(m.variant_of not in found for m in matches)


def _in_order(ctx: Context, matches: list[Match]) -> list[Match]:
    """By label, a variant right after its parent if that matches too."""
    found = {m.name: m for m in matches}

    def key(match: Match) -> tuple[str, ...]:
        line = [match.name, *ctx.vocabulary.ancestors(match.name)]
        return tuple(found[n].label.casefold() for n in reversed(line) if n in found)

    return sorted(matches, key=lambda m: (key(m), m.name))


def match_of(ctx: Context, pattern: str, form: Form, facts: PatternFacts) -> Match:
    parents = ctx.vocabulary.ancestors(pattern)
    used = used_literals(ctx, form, facts)
    basis = max((facts.basis.get(lit, "") for lit in used), key=BASIS_RANK.__getitem__, default="")
    inferred = any(facts.levels.get(lit) == "inferred" for lit in used)
    contested = any(lit in facts.contested for lit in used)
    return Match(pattern, ctx.label(pattern), inferred, basis, parents[0] if parents else "", contested)


def used_literals(ctx: Context, form: Form, facts: PatternFacts) -> list[Condition]:
    """The literals that make a form true that is true of a pattern; of alternatives the first true one."""
    match form:
        case All(items):
            return [lit for i in items for lit in used_literals(ctx, i, facts)]
        case AnyOf(items):
            for item in items:
                if evaluate(item, facts.known, ctx.vocabulary) == 1:
                    return used_literals(ctx, item, facts)
            return []
        case Member(category, _):
            return [(names.TYPE, category)]
        case Includes(feature, value, True):
            return [(feature, value)]
        case OneOf(slot, allowed):
            if slot not in ctx.vocabulary.features:
                return [(next(iter(allowed)), slot)]
            held = [lit for lit in facts.known.holds if lit[0] == slot and lit[1] in allowed]
            # the broadest allowed value is what was asked for
            return [min(held, key=lambda lit: (len(ctx.vocabulary.ancestors(lit[1])), lit))] if held else []
    return []


def possible_of(ctx: Context, pattern: str, form: Form, facts: PatternFacts) -> Possible:
    missing, reasons = [], []
    for atom in open_atoms(form, facts.known, ctx.vocabulary):  # as the store has said
        text, reason = why_undecided(ctx, atom, facts)
        missing.append(text)
        reasons.append(reason)
    return Possible(pattern, ctx.label(pattern), tuple(dict.fromkeys(missing)), "; ".join(dict.fromkeys(reasons)))


def why_undecided(ctx: Context, atom: Atom, facts: PatternFacts) -> tuple[str, str]:
    """(what is undecided, why) of one atom, in words."""
    known = facts.known
    match atom:
        case OneOf():
            return _why_one(ctx, atom, facts)
        case Includes(feature, value, positive):
            text = f"{ctx.label(feature)}: {'' if positive else 'not '}{ctx.label(value)}"
            if value in known.varies.get(feature, ()):
                return text, "varies: true of some pieces"
            return text, "disputed" if (feature, value) in facts.disputed else "not recorded"
        case Lengths():
            if known.length is None:
                return "length", "not recorded"
            return "length", f"some sizes: made from {known.length[0]:g} to {known.length[1]:g} mm"
    return describe_atom(ctx, atom), "not recorded"


def _why_one(ctx: Context, atom: OneOf, facts: PatternFacts) -> tuple[str, str]:
    known, slot = facts.known, atom.slot
    text = describe_atom(ctx, atom)
    if slot in known.open_slots:
        return text, "disputed"
    varying = known.varies.get(slot, ())
    if varying:
        if slot not in ctx.vocabulary.features:
            return text, "varies: made with or without"
        made = "made " if len(varying) > 1 else "some made with "
        return text, f"varies: {made}" + listing([ctx.label(v) for v in varying], "or")
    held = [lit for lit, level in facts.levels.items() if lit[0] == slot and level != "inferred"]
    if held:
        return text, f"recorded only as {ctx.label(held[0][1])}"
    return text, "not recorded"


def describe_atom(ctx: Context, atom: Atom) -> str:
    """An atom in words: ``jaw surface: smooth or serrated``. Remembered with the atom, which a page of patterns shares."""
    known = atom.__dict__.get("described")
    if known is None:
        known = atom.__dict__["described"] = _described(ctx, atom)
    return known


def _described(ctx: Context, atom: Atom) -> str:
    match atom:
        case OneOf(slot, allowed):
            if slot not in ctx.vocabulary.features:
                return ("" if names.HAS_PART in allowed else "no ") + ctx.label(slot)
            named = [v for v in allowed if v in ctx.vocabulary.terms]
            rest = [v for v in ctx.vocabulary.values_of(slot) if v not in allowed]
            if INAPPLICABLE in allowed or f"{slot}/other" in allowed:
                top = [v for v in rest if ctx.vocabulary.broader_of(v) not in rest]
                return f"{ctx.label(slot)}: not " + listing([ctx.label(v) for v in sorted(top)], "or")
            top = [v for v in named if ctx.vocabulary.broader_of(v) not in named]
            return f"{ctx.label(slot)}: " + listing([ctx.label(v) for v in sorted(top)], "or")
        case Includes(feature, value, positive):
            return f"{ctx.label(feature)}: {'' if positive else 'not '}{ctx.label(value)}"
        case Member(category, _):
            return ctx.label(category)
        case Is(pattern, _):
            return ctx.label(pattern)
        case Stated(slot, positive):
            return f"{ctx.label(slot)}: {'' if positive else 'not '}recorded"
        case Elsewhere(slot, _, positive):
            return f"{ctx.label(slot)}: {'something' if positive else 'nothing'} else recorded"
        case Told(slot, value, positive):
            return f"{ctx.label(slot)}: {ctx.label(value)} {'' if positive else 'not '}recorded"
        case Lengths():
            return "length"
        case Constant(value):
            return "anything" if value > 0 else "nothing"
    return ""


# --- disputes -------------------------------------------------------------------------------------------------------
def disputes_of(ctx: Context, form: Form, matched: set[str]) -> tuple[list[Disputed], set[str]]:
    """Patterns that would fit if a witness that was not adopted were right; and their names.

    A pattern that fits anyway is listed only among the matches.
    """
    props = properties(form)
    found: dict[str, list[Condition]] = {}
    for pattern, literal in ctx.alternatives_on(props):
        if pattern not in matched:
            found.setdefault(pattern, []).append(literal)
    facts = ctx.adopted(sorted(found))
    fitting: dict[str, list[Condition]] = {}
    for pattern, also_said in sorted(found.items(), key=lambda item: ctx.label(item[0]).casefold()):
        if not hopeless(ctx, form, facts[pattern], also_said):
            fitting[pattern] = [lit for lit in sorted(also_said) if fits_with(ctx, form, facts[pattern], lit)]
    ctx.reader.expect(name for p, fits in fitting.items() if fits for name in ctx.reader.line(p, facts[p]))
    out: list[Disputed] = []
    names_listed: set[str] = set()
    for pattern, fits in fitting.items():
        for literal in fits:
            dispute = ctx.dispute(pattern, slot_of(literal), facts[pattern])
            if dispute:
                out.append(dispute)
                names_listed.add(pattern)
                break
    return out, names_listed


def contested_of(ctx: Context, form: Form, patterns: list[str]) -> list[Disputed]:
    """The disputes behind matches that a witness denies, on what was asked about."""
    facts = ctx.adopted(patterns)
    props = properties(form)
    slots = {p: sorted({f for f, _ in facts[p].contested} & props) for p in patterns}
    ctx.reader.expect(name for p in patterns if slots[p] for name in ctx.reader.line(p, facts[p]))
    return [d for p in patterns for d in ctx.disputes(p, slots[p], facts[p])]


def hopeless(ctx: Context, form: Form, facts: PatternFacts, also_said: list[Condition]) -> bool:
    """A cheap look before reasoning: a slot that the alternatives cannot touch already makes the description false."""
    whole = opened(form)
    if not isinstance(whole, All):
        return False
    touched = {name for literal in also_said for name in literal} | ctx.vocabulary.implied
    known = ctx.recorded(facts.pattern, facts)
    return any(
        isinstance(item, OneOf) and item.slot not in touched and evaluate(item, known, ctx.vocabulary) == -1
        for item in whole.items
    )


def fits_with(ctx: Context, form: Form, facts: PatternFacts, literal: Condition) -> bool:
    """Would the pattern fit if this literal were adopted in place of what stands on its slot?"""
    return evaluate(form, ctx.supposed(facts.pattern, literal, facts), ctx.vocabulary) == 1
