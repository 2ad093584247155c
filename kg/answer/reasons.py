"""Answers to why, why not, yes or no: minimal justifications with their witnesses, or what is missing."""

from __future__ import annotations

from kg import names
from kg.answer.context import Context, properties
from kg.answer.filters import describe_atom, why_undecided
from kg.answer.values import said_of
from kg.facts import PatternFacts
from kg.language import nodes
from kg.model import Answer, Argument, Disputed, Reason
from kg.sparql.filters import filter_query
from kg.truth import (
    INAPPLICABLE,
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
    evaluate,
    normalise,
    undecided,
)
from kg.vocabulary import Condition
from kg.wording import sentence

CAP = 8
"""At most so many justifications are shown; whether there are more is said."""


def argue(ctx: Context, pattern: str, expr: nodes.Expr, statement: str, *, kind: str, negated: bool = False) -> Answer:
    """Whether a description holds of one pattern, and why or why not. ``negated``: the question was "why not"."""
    form = normalise(nodes.Not(expr) if negated else expr, ctx.vocabulary)
    facts = ctx.reader.facts([pattern])[pattern]
    value = evaluate(form, facts.known, ctx.vocabulary)
    disputes = _disputes(ctx, pattern, form, facts)
    justifications: tuple[tuple[Reason, ...], ...] = ()
    missing: tuple[str, ...] = ()
    holds: bool | str = value == 1
    capped = False
    if value == 1:
        justifications, capped = _justify(ctx, pattern, form, facts)
    elif value == 0:
        undecided_atoms = undecided(form, facts.known, ctx.vocabulary)
        pairs = [why_undecided(ctx, a, facts) for a in undecided_atoms]
        missing = tuple(dict.fromkeys(f"{text} ({reason})" for text, reason in pairs))
        on_dispute = any(reason == "disputed" for _, reason in pairs)
        holds = "disputed" if on_dispute else "not recorded"
    else:
        opposite = normalise(expr if negated else nodes.Not(expr), ctx.vocabulary)
        if evaluate(opposite, facts.known, ctx.vocabulary) == 1:
            justifications, capped = _justify(ctx, pattern, opposite, facts)
        missing = tuple(_failed(ctx, form, facts))
    return Answer(
        "",
        "",
        kind,
        sparql=filter_query(All((Is(pattern), form)), ctx.vocabulary),
        argument=Argument(statement, holds, justifications, missing, capped),
        disputed=tuple(disputes),
        verified_by=ctx.verified_by,
    )


# --- justifications -------------------------------------------------------------------------------------------------
def _justify(ctx: Context, pattern: str, form: Form, facts: PatternFacts) -> tuple[tuple[tuple[Reason, ...], ...], bool]:
    """All minimal justifications of a true form, shortest first, at most ``CAP``; whether there are more."""
    adopted = [lit for lit, level in facts.levels.items() if level != "inferred"]
    closure = ctx.engine.close([(names.TYPE, names.PATTERN), *adopted])
    found: list[tuple[Reason, ...]] = []
    for goals, remarks in _goal_sets(ctx, form, facts):
        for premises in _premise_sets(closure, goals):
            steps = {}
            for goal in goals:
                for rule in closure.proof(goal, _within(closure, goal, premises)):
                    steps[rule] = None
            lines = [_premise(ctx, pattern, lit, facts) for lit in sorted(premises, key=lambda x: _reading_order(ctx, x))]
            lines += [Reason(rule.text, ()) for rule in steps]
            lines += remarks
            if tuple(lines) not in found:
                found.append(tuple(lines))
    found.sort(key=len)
    return tuple(found[:CAP]), len(found) > CAP or closure.capped


def _goal_sets(ctx: Context, form: Form, facts: PatternFacts) -> list[tuple[list[Condition], list[Reason]]]:
    """The sets of literals that make the form true, one for each true alternative; with remarks for what is no literal."""
    match form:
        case All(items):
            sets: list[tuple[list[Condition], list[Reason]]] = [([], [])]
            for item in items:
                sets = [(g + g2, r + r2) for g, r in sets for g2, r2 in _goal_sets(ctx, item, facts)][: 4 * CAP]
            return sets
        case AnyOf(items):
            true = [i for i in items if evaluate(i, facts.known, ctx.vocabulary) == 1]
            return [s for i in true for s in _goal_sets(ctx, i, facts)]
        case Member(category, _):
            return [([(names.TYPE, category)], [])]
        case Includes(feature, value, True):
            return [([(feature, value)], [])]
        case OneOf(slot, allowed):
            return _one_of_goals(ctx, slot, allowed, facts)
    return [([], [Reason(_remark(ctx, form, facts), ())])]


def _one_of_goals(
    ctx: Context, slot: str, allowed: frozenset[str], facts: PatternFacts
) -> list[tuple[list[Condition], list[Reason]]]:
    known = facts.known
    if slot not in ctx.vocabulary.features:
        return [([(min(allowed), slot)], [])]
    if slot in known.inapplicable:
        part = ctx.vocabulary.features[slot].applies
        text = f"What has no {ctx.label(part)} has no {ctx.label(slot)}."
        return [([(names.LACKS_PART, part)], [Reason(text, ())])]
    if slot not in known.varies:
        held = [lit for lit in known.holds if lit[0] == slot and lit[1] in allowed]
        if held:
            exact = INAPPLICABLE in allowed or f"{slot}/other" in allowed  # "not ...": say what it is, as exactly as known
            depth = -1 if exact else 1
            best = min(held, key=lambda lit: (depth * len(ctx.vocabulary.ancestors(lit[1])), lit))
            asked = {v for v in allowed if v in ctx.vocabulary.terms}
            remark = []
            if not all(v in ctx.vocabulary.subtree(best[1]) for v in asked) and len(asked) > 1 and best[1] in asked:
                text = f"{describe_atom(ctx, OneOf(slot, allowed))}: {ctx.label(best[1])} is enough, "
                remark = [Reason(text + "since a piece has one value of it.", ())]
            return [([best], remark)]
    return [([], [Reason(_remark(ctx, OneOf(slot, allowed), facts), ())])]


def _remark(ctx: Context, form: Form, facts: PatternFacts) -> str:
    match form:
        case Lengths():
            low, high = facts.known.length or (0, 0)
            return f"All sizes recorded lie between {low:g} and {high:g} mm."
        case Is(name, positive):
            return f"It is {'' if positive else 'not '}the {ctx.label(name)} or a variant of it."
        case OneOf(slot, _):
            values = " or ".join(ctx.label(v) for v in facts.known.varies.get(slot, ()))
            return f"It is made with {ctx.label(slot)}: {values}." if values else "A source denies it."
        case Includes():
            return "A source denies it: " + describe_atom(ctx, form) + "."
        case Constant():
            return "This is so of every pattern."
    return describe_atom(ctx, form)


def _premise_sets(closure, goals: list[Condition]) -> list[frozenset[Condition]]:
    """Minimal unions of premise sets of all goals, smallest first."""
    unions = [frozenset()]
    for goal in goals:
        unions = [u | p for u in unions for p in closure.literals.get(goal, ())][: 8 * CAP]
    unique = sorted(set(unions), key=lambda s: (len(s), sorted(s)))
    return [s for i, s in enumerate(unique) if not any(o < s for o in unique[:i])]


def _within(closure, goal: Condition, premises: frozenset[Condition]) -> frozenset[Condition]:
    """The premise set of one goal inside a larger set."""
    return min((p for p in closure.literals[goal] if p <= premises), key=lambda s: (len(s), sorted(s)))


def _premise(ctx: Context, pattern: str, literal: Condition, facts: PatternFacts) -> Reason:
    level = facts.levels.get(literal, "")
    subject, witnesses = ctx.reader.support(pattern, literal, facts)
    text = sentence(pattern, literal, ctx.vocabulary)
    if subject != pattern:
        text = text[:-1] + f" (said of {said_of(ctx, subject)})."
    sources = ctx.cite(witnesses)
    if level == "derived":
        text = text[:-1] + " (by rule, from the recorded length)."
        sources = ctx.cite(ctx.reader.witnesses(pattern, names.LENGTH_MIN))
    slot = literal[1] if literal[0] in (names.HAS_PART, names.LACKS_PART) else literal[0]
    return Reason(text, sources, ctx.dispute(pattern, slot, facts) is not None)


def _reading_order(ctx: Context, literal: Condition) -> tuple[int, Condition]:
    prop, value = literal
    feature = ctx.vocabulary.features.get(prop)
    order = feature.order if feature else ctx.vocabulary.terms[value].order if value in ctx.vocabulary.terms else 0
    return order, literal


# --- why not --------------------------------------------------------------------------------------------------------
def _failed(ctx: Context, form: Form, facts: PatternFacts) -> list[str]:
    """The conditions that are known to fail, then those not recorded, nearest first."""
    failed, unknown = [], []
    for atom in atoms(form):
        if isinstance(atom, Member):
            continue
        value = evaluate(atom, facts.known, ctx.vocabulary)
        if value == -1:
            failed.append(f"{describe_atom(ctx, atom)} (fails: {_instead(ctx, atom, facts)})")
        elif value == 0:
            text, reason = why_undecided(ctx, atom, facts)
            unknown.append(f"{text} ({reason})")
    return list(dict.fromkeys(failed + unknown))


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


def _disputes(ctx: Context, pattern: str, form: Form, facts: PatternFacts) -> list[Disputed]:
    """Disputes on what was asked about."""
    slots = properties(form) - {names.OF_KIND}
    parts = {a.slot for a in atoms(form) if isinstance(a, OneOf) and a.slot not in ctx.vocabulary.features}
    found = [ctx.dispute(pattern, slot, facts) for slot in sorted((slots - {names.HAS_PART, names.LACKS_PART}) | parts)]
    return [d for d in found if d]
