"""Why one pattern is something and another is not: the difference only, with the witnesses of both sides."""

from __future__ import annotations

from kg.answer.context import Context
from kg.answer.filters import describe_atom, why_undecided
from kg.answer.justify import closure_of, justify, premise, premise_sets, reading_order
from kg.answer.reasons import disputed_in, needs, negation, what_fails
from kg.facts import PatternFacts
from kg.language import nodes
from kg.model import Answer, Argument, Reason
from kg.sparql.filters import filter_query
from kg.truth import All, Form, Is, evaluate, normalise


def answer_contrast(ctx: Context, pattern: str, other: str, expr: nodes.Expr, statement: str) -> Answer:
    """Why a description holds of ``pattern`` but not of ``other``.

    The one justification tells, for each condition that ``other`` fails or lacks, how ``pattern`` meets it and what is
    recorded of ``other``; conditions that both meet are left out. If the question supposes what is not so, ``missing`` says
    it and there is no justification.
    """
    form = normalise(expr, ctx.vocabulary)
    facts = ctx.reader.facts([pattern, other])
    one, two = facts[pattern], facts[other]
    value, rival = (evaluate(form, f.known, ctx.vocabulary) for f in (one, two))
    holds: bool | str = False
    told: tuple[Reason, ...] = ()
    missing: list[str] = []
    if value != 1:
        said = "it does not hold" if value == -1 else "it is not decided"
        reasons = "; ".join(what_fails(ctx, form, one)[:3])
        missing.append(f"Of the {ctx.label(pattern)} {said}: {reasons}.")
    if rival == 1:
        missing.append(f"It holds of the {ctx.label(other)} as well.")
    if not missing:
        told = _difference(ctx, form, one, two)
        holds = True if rival == -1 else "not recorded"
    disputes = [d for p in (pattern, other) for d in disputed_in(ctx, p, form, facts[p])]
    return Answer(
        "",
        "",
        "contrast",
        sparql=filter_query(All((Is(pattern), form)), ctx.vocabulary),
        argument=Argument(statement, holds, (told,) if told else (), tuple(missing)),
        disputed=tuple(disputes),
        verified_by=ctx.verified_by,
    )


def _difference(ctx: Context, form: Form, one: PatternFacts, two: PatternFacts) -> tuple[Reason, ...]:
    """For each condition that ``two`` would need: what ``one`` has, then what ``two`` has instead."""
    ways = needs(ctx, form, two)
    # Of several ways in which the other could come to it, the one that the first pattern goes.
    ways = [w for w in ways if all(evaluate(a, one.known, ctx.vocabulary) == 1 for a in w)] or ways[:1]
    lines: list[Reason] = []
    for atom in ways[0] if ways else ():
        if evaluate(atom, one.known, ctx.vocabulary) == 1:
            lines += _shortest(ctx, one, atom)
        against = negation(ctx, atom)
        if evaluate(atom, two.known, ctx.vocabulary) == 0:
            text, reason = why_undecided(ctx, atom, two)
            lines.append(Reason(f"Of the {ctx.label(two.pattern)}: {text} ({reason}).", ()))
        elif against is not None and evaluate(against, two.known, ctx.vocabulary) == 1:
            lines += _statements(ctx, two, against)
        else:
            lines.append(Reason(f"Of the {ctx.label(two.pattern)} it does not hold: {describe_atom(ctx, atom)}.", ()))
    return tuple(dict.fromkeys(lines))


def _shortest(ctx: Context, facts: PatternFacts, form: Form) -> tuple[Reason, ...]:
    ways, _ = justify(ctx, facts.pattern, form, facts)
    return ways[0] if ways else ()


def _statements(ctx: Context, facts: PatternFacts, form: Form) -> list[Reason]:
    """The statements of the shortest justification, without the rules: that one value rules out the other is plain here."""
    ways, _ = premise_sets(ctx, facts.pattern, form, facts, closure_of(ctx, facts))
    if not ways:
        return []
    premises, goals = ways[0]
    ordered = sorted(premises, key=lambda lit: reading_order(ctx, lit))
    return [premise(ctx, facts.pattern, lit, facts) for lit in ordered] + list(goals.said)
