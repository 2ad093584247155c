"""A topic cut into sessions: a question's patterns, their minutes, the parting, and a running order for each session."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from kg import names
from kg.answer import Context
from kg.answer.visible import table
from kg.course.divide import divide
from kg.course.local import gathered
from kg.course.minutes import Estimate
from kg.course.parting import Parting, Task
from kg.course.planned import Achieved, Plan
from kg.course.script import Script, Taught
from kg.course.topic import pairs_among, topic
from kg.errors import InputError
from kg.facts import PatternFacts
from kg.language import nodes
from kg.wording import listing

SECONDS = 20
"""The search stops after so many seconds, if nothing else is asked for."""
NAMED = 5
"""So many patterns that need too long are named."""


def plan(
    ctx: Context,
    question: nodes.Question,
    *,
    text: str,
    reading: str,
    minutes: int,
    estimate: Estimate,
    seconds: int = SECONDS,
    variants: bool = False,
) -> Plan:
    """Cuts the patterns of a question into sessions of at most ``minutes``: fewest split pairs of look-alikes, then fewest
    sessions, then the least spread of their minutes; the order is easy before hard.

    ``variants``: each variant is taught by itself. Raises QuestionError (BL-Q03) if the question lists no patterns, InputError
    (BL-P01) if a pattern alone needs more minutes, (BL-I09) if the solver is not installed.
    """
    found = topic(ctx, question, text=text, variants=variants)
    empty = Plan(
        text,
        reading,
        minutes,
        seconds,
        (),
        (),
        0,
        (),
        estimate,
        found.possible,
        verified_by=ctx.verified_by,
        sparql=found.sparql,
    )
    if not found.patterns:
        return replace(empty, notes=("Nothing fits the question, so there is nothing to plan.", *_left_out(found.possible)))
    pairs = pairs_among(ctx, found.patterns)
    near = {p: frozenset({*(b for a, b in pairs if a == p), *(a for a, b in pairs if b == p)}) for p in found.patterns}
    facts = ctx.reader.facts(found.patterns)
    taught = [_taught(ctx, facts[p], near[p], found.folded.get(p, ()), estimate) for p in found.patterns]
    _refuse_too_long(ctx, taught, minutes, estimate)
    place = {t.name: n for n, t in enumerate(taught)}
    task = Task(
        tuple(t.units for t in taught),
        {(min(place[a], place[b]), max(place[a], place[b])): 1 for a, b in sorted(pairs)},
        estimate.fitting(minutes),
    )
    parting = divide(task, seconds)
    groups = gathered(task, parting.groups, [t.kind for t in taught])
    script = Script(ctx, facts, near, estimate.minutes(1))
    sessions = script.sessions([[taught[i] for i in group] for group in groups])
    reasons = _reasons(taught, task, parting, estimate, minutes)
    notes = [*_left_out(found.possible)]
    if parting.timed_out:
        notes.append("The clock stopped the search: another run, or more --seconds, may find another plan.")
    return replace(
        empty,
        sessions=sessions,
        splits=script.splits(sessions, reasons),
        pairs=len(pairs),
        objective=_objective(parting, estimate),
        timed_out=parting.timed_out,
        notes=tuple(notes),
    )


def _taught(ctx: Context, facts: PatternFacts, near: frozenset[str], variants: tuple[str, ...], estimate: Estimate) -> Taught:
    seen = table(ctx)
    pattern = facts.pattern
    things = sum(c.there >> seen.index[pattern] & 1 for c in seen.columns)
    units = estimate.units(pattern, things=things, look_alikes=len(near), variants=len(variants))
    hardness = estimate.hardness(things=things, look_alikes=len(near))
    kinds = [value for prop, value in facts.known.holds if prop == names.OF_KIND]
    kind = ctx.vocabulary.narrowest(kinds) if kinds else ""
    return Taught(pattern, units, estimate.closing(units), hardness, kind, variants)


def _refuse_too_long(ctx: Context, taught: Sequence[Taught], minutes: int, estimate: Estimate) -> None:
    longest = sorted(taught, key=lambda t: (-t.units, ctx.label(t.name).casefold()))
    over = [t for t in longest if t.units > estimate.fitting(minutes)]
    if not over:
        return
    named = [f"{ctx.label(t.name)} ({estimate.minutes(t.units):g})" for t in over[:NAMED]]
    named += [f"{len(over) - NAMED} more"] if len(over) > NAMED else []
    least = -(-estimate.minutes(over[0].units) // 1)
    raise InputError(
        "BL-P01",
        f"No session of {minutes} minutes has room for {listing(named)}: these alone need more, by the estimate.",
        hint=f"The smallest limit that works is --minutes {least:g}; or set other minutes with --each or --estimate.",
    )


def _objective(parting: Parting, estimate: Estimate) -> tuple[Achieved, ...]:
    splits, sessions, spread = parting.splits, parting.sessions, parting.spread
    return (
        Achieved("split pairs of look-alikes", splits.value, splits.at_least, splits.proved),
        Achieved("sessions", sessions.value, sessions.at_least, sessions.proved),
        Achieved(
            "minutes between the longest and the shortest session",
            estimate.minutes(spread.value),
            estimate.minutes(spread.at_least),
            spread.proved,
        ),
    )


def _reasons(taught: Sequence[Taught], task: Task, parting: Parting, estimate: Estimate, minutes: int) -> dict[str, str]:
    """Pattern -> why the look-alikes that hang together with it could not all stay in one session."""
    out = {}
    for group in task.connected:
        need = estimate.minutes(task.size(group))
        why = f"{len(group)} instruments hang together as look-alikes and need {need:g} minutes, more than {minutes}"
        if need <= minutes:
            why = "the search was stopped before it found a plan that keeps them together"
        elif not parting.splits.proved:
            why += "; which of them are split is the best that was found, not proved best"
        out |= {taught[i].name: why for i in group}
    return out


def _left_out(possible: int) -> tuple[str, ...]:
    if not possible:
        return ()
    which = f"{possible:,} more {'instrument' if possible == 1 else 'instruments'}"
    return (f"{which} could fit the question, but not enough is recorded to say; not in the plan.",)
