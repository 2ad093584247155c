"""Answers to why, why not, yes or no: the justifications of what holds, and what is missing for what does not."""

from __future__ import annotations

from kg import names
from kg.answer.bearing import bearing
from kg.answer.context import Context, properties
from kg.answer.filters import describe_atom, why_undecided
from kg.answer.justify import CAP, WORKING, closure_of, justify, premise_sets, reading_order
from kg.facts import PatternFacts
from kg.language import nodes
from kg.model import Answer, Argument, Disputed, Reason
from kg.reason.horn import Closure
from kg.repairs import hitting_sets
from kg.sparql.filters import filter_query
from kg.truth import (
    All,
    AnyOf,
    Constant,
    Form,
    Includes,
    Is,
    Lengths,
    Member,
    OneOf,
    atoms,
    domain,
    evaluate,
    normalise,
    opened,
    undecided,
)


def argue(ctx: Context, pattern: str, expr: nodes.Expr, statement: str, *, kind: str, negated: bool = False) -> Answer:
    """Whether a description holds of one pattern, and why or why not. ``negated``: the question was "why not"."""
    form = normalise(nodes.Not(expr) if negated else expr, ctx.vocabulary)
    facts = ctx.reader.facts([pattern])[pattern]
    value = evaluate(form, facts.known, ctx.vocabulary)
    disputes = disputed_in(ctx, pattern, form, facts)
    justifications: tuple[tuple[Reason, ...], ...] = ()
    missing: tuple[str, ...] = ()
    holds: bool | str = value == 1
    capped = False
    asked = normalise(expr, ctx.vocabulary) if negated else form  # what it is, or is not
    if value == 1:
        justifications, capped = justify(ctx, pattern, form, facts)
        if negated:
            missing = tuple(what_fails(ctx, asked, facts))
    elif value == 0:
        missing, holds = _open(ctx, asked, facts)
    else:
        opposite = asked if negated else normalise(nodes.Not(expr), ctx.vocabulary)
        if evaluate(opposite, facts.known, ctx.vocabulary) == 1:
            justifications, capped = justify(ctx, pattern, opposite, facts)
        if not negated:
            missing = tuple(what_fails(ctx, asked, facts))
    return Answer(
        "",
        "",
        kind,
        sparql=filter_query(All((Is(pattern), form)), ctx.vocabulary),
        values=bearing(ctx, pattern, expr, facts) or None if kind == "why" else None,
        argument=Argument(statement, holds, justifications, missing, capped, negated),
        disputed=tuple(disputes),
        notes=_each(ctx, expr, facts) if kind == "holds" else (),
        verified_by=ctx.verified_by,
    )


def _each(ctx: Context, expr: nodes.Expr, facts: PatternFacts) -> tuple[str, ...]:
    """Of several things that are asked with "or", which it is: a note; none where one thing is asked."""
    if not isinstance(expr, nodes.Or):
        return ()
    said = {1: "yes", 0: "not recorded"}
    found = []
    for item in expr.items:
        form = normalise(item, ctx.vocabulary)
        text = " and ".join(describe_atom(ctx, a) for a in ((form,) if isinstance(form, Member) else atoms(form)))
        found.append(f"{text}: {said.get(evaluate(form, facts.known, ctx.vocabulary), 'no')}")
    return (f"Which of them: {'; '.join(found)}.",)


def _open(ctx: Context, form: Form, facts: PatternFacts) -> tuple[tuple[str, ...], str]:
    """(what is undecided with the reason, "disputed" or "not recorded") of a form that is neither true nor false."""
    pairs = [why_undecided(ctx, a, facts) for a in undecided(form, facts.known, ctx.vocabulary)]
    texts = dict.fromkeys(f"{text} ({reason})" for text, reason in pairs)
    return tuple(texts), "disputed" if any(reason == "disputed" for _, reason in pairs) else "not recorded"


# --- why not --------------------------------------------------------------------------------------------------------
def what_fails(ctx: Context, form: Form, facts: PatternFacts) -> list[str]:
    """The conditions that are not recorded or known to fail, nearest first.

    Near is what takes few changes: a condition that is not recorded takes one statement, one that fails also the withdrawal
    of what stands against it. Where there are alternatives each is one text, with all its conditions.
    """
    ways = needs(ctx, form, facts)
    if not ways:
        return ["The conditions exclude each other: nothing can be all of this."]
    if len(ways) == 1:
        return list(dict.fromkeys(_fault(ctx, atom, facts) for atom in ways[0]))
    return list(dict.fromkeys("; ".join(_fault(ctx, atom, facts) for atom in way) for way in ways[:CAP]))


def needs(ctx: Context, form: Form, facts: PatternFacts) -> list[tuple[Form, ...]]:
    """The ways to make a form true that is not: each the atoms that would have to change, nearest first in the way and
    among the ways. Empty if nothing can make it true."""
    closure = closure_of(ctx, facts)
    costs: dict[Form, int] = {}

    def cost(atom: Form) -> int:
        if atom not in costs:
            costs[atom] = _changes(ctx, atom, facts, closure)
        return costs[atom]

    def place(atom: Form) -> tuple[int, int]:
        slot = getattr(atom, "slot", "") or getattr(atom, "feature", "")
        return cost(atom), reading_order(ctx, (slot, ""))[0]

    def ways(part: Form) -> list[tuple[Form, ...]]:
        if evaluate(part, facts.known, ctx.vocabulary) == 1:
            return [()]
        match part:
            case All(items):
                sets: list[tuple[Form, ...]] = [()]
                for item in items:
                    sets = sorted({tuple(dict.fromkeys(a + b)) for a in sets for b in ways(item)}, key=total)[:WORKING]
                return sets
            case AnyOf(items):
                return sorted((w for i in items for w in ways(i)), key=total)
            case Constant():
                return []
            case OneOf(_, allowed) if not allowed:
                return []
        return [(part,)]

    def total(way: tuple[Form, ...]) -> tuple[int, str]:
        return sum(map(cost, way)), repr(way)

    return [tuple(sorted(way, key=place)) for way in ways(opened(form))]


def _changes(ctx: Context, atom: Form, facts: PatternFacts, closure: Closure) -> int:
    """How many statements have to be added or withdrawn so that an atom becomes true; a size or a name counts as one."""
    if evaluate(atom, facts.known, ctx.vocabulary) != -1:
        return 1
    against = negation(ctx, atom)
    if against is None or evaluate(against, facts.known, ctx.vocabulary) != 1:
        return 2
    sets, _ = premise_sets(ctx, facts.pattern, against, facts, closure)
    found = hitting_sets([premises for premises, _ in sets if premises], cap=1)
    return 1 + (len(found[0]) if found else 1)


def negation(ctx: Context, atom: Form) -> Form | None:
    """The negation of an atom; None if it is none about a slot."""
    match atom:
        case OneOf(slot, allowed):
            return OneOf(slot, domain(slot, ctx.vocabulary) - allowed)
        case Includes(feature, value, positive):
            return Includes(feature, value, not positive)
    return None


def _fault(ctx: Context, atom: Form, facts: PatternFacts) -> str:
    if evaluate(atom, facts.known, ctx.vocabulary) == -1:
        return f"{describe_atom(ctx, atom)} (fails: {_instead(ctx, atom, facts)})"
    text, reason = why_undecided(ctx, atom, facts)
    return f"{text} ({reason})"


def _instead(ctx: Context, atom: Form, facts: PatternFacts) -> str:
    match atom:
        case OneOf(slot, allowed):
            if slot not in ctx.vocabulary.features:
                return f"it has {'no ' if names.HAS_PART in allowed else 'a '}{ctx.label(slot)}"
            if slot in facts.known.inapplicable:
                return f"it has no {ctx.label(ctx.vocabulary.features[slot].applies)}"
            held = [lit[1] for lit, lv in facts.levels.items() if lit[0] == slot and lv != "inferred"]
            held = held or [lit[1] for lit in facts.known.holds if lit[0] == slot]
            if not held:
                held = list(facts.known.varies.get(slot, ()))
            return "recorded as " + " or ".join(ctx.label(v) for v in held) if held else "denied"
        case Lengths():
            low, high = facts.known.length or (0, 0)
            return f"made from {low:g} to {high:g} mm"
        case Includes(_, _, positive):
            return "denied" if positive else "a source says so"
    return "it is another pattern"


def disputed_in(ctx: Context, pattern: str, form: Form, facts: PatternFacts) -> list[Disputed]:
    """Disputes on what was asked about."""
    slots = properties(form) - {names.OF_KIND}
    parts = {a.slot for a in atoms(form) if isinstance(a, OneOf) and a.slot not in ctx.vocabulary.features}
    return ctx.disputes(pattern, sorted((slots - {names.HAS_PART, names.LACKS_PART}) | parts), facts)
