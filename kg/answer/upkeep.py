"""What sources say of care in general, by part and by step: the rules of ``ontology/care.toml`` that speak of what was asked.

Nothing is decided or advised: each line tells what its sources say, and the caution says who decides. The rules are data;
nothing here knows a part, a step or an instrument.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from kg.answer.context import Context
from kg.answer.reprocess import CAUTION, answer_reprocessing, held
from kg.model import Answer, Care
from kg.records import replace
from kg.wording import listing

THING, AGENT, STATE, STEP = "thing", "agent", "state", "step"
PLAIN = (
    "Each line tells what its sources say; it is no advice for one case, and whether a piece is kept, repaired or discarded is "
    "decided locally."
)


class _Chosen(NamedTuple):
    """``rules``: those to be told; ``without``: the topics asked about of which none of these rules speaks."""

    rules: list[Mapping[str, Any]]
    without: list[str]


def answer_care_notes(ctx: Context, topics: Sequence[str], subject: str) -> Answer:
    """The rules on the topics; of a pattern, its own lines of reprocessing first, then those that its parts make speak.

    An answer without a line says so in a note. Topics that the file does not hold are left out.
    """
    table = ctx.tables.get("care", {})
    known: Mapping[str, Mapping[str, Any]] = table.get("topic", {})
    asked = [t for t in topics if t in known]
    own = answer_reprocessing(ctx, subject) if subject else None
    of_it = _held_by(ctx, subject, known) if subject else []
    chosen = _choose(table.get("rule", ()), known, asked, of_it)
    lines = tuple(Care(r["step"], r["text"], tuple(ctx.label(s) for s in r["source"])) for r in chosen.rules)
    notes = [CAUTION, PLAIN]
    if chosen.without:
        said = listing([str(known[t]["say"]) for t in chosen.without])
        notes.append(f"No source here speaks of this together with the rest of the question: {said}.")
    if own is None:
        return Answer("", "", "reprocessing", care=lines, notes=tuple(notes), verified_by=ctx.verified_by)
    theirs = tuple(c for c in own.care or () if c.text not in {line.text for line in lines})
    return replace(own, care=(*lines, *theirs), notes=(*notes, *own.notes[1:]))


def _held_by(ctx: Context, subject: str, known: Mapping[str, Mapping[str, Any]]) -> list[str]:
    """The things among the topics that a pattern is recorded to have or be."""
    facts = ctx.reader.facts([subject])[subject]
    return [name for name, t in known.items() if any(held(ctx, c, facts) for c in t.get("held", ()))]


def _choose(
    rules: Sequence[Mapping[str, Any]], known: Mapping[str, Mapping[str, Any]], asked: Sequence[str], of_it: Sequence[str]
) -> _Chosen:
    """The rules left when one kind of topic after another narrows them: agents, things, being open, steps. What would leave
    none narrows nothing; topics of which none of the rules speaks are told."""

    def of(kind: str) -> list[str]:
        return [t for t in asked if known[t]["kind"] == kind and not known[t].get("any")]

    def about(rule: Mapping[str, Any], topics: Iterable[str]) -> bool:
        return not set(rule["about"]).isdisjoint(topics)

    def plain(rule: Mapping[str, Any]) -> bool:
        return not any(known[t]["kind"] == THING and not known[t].get("plain") for t in rule["about"])

    agents, named = of(AGENT), of(THING)
    things = [*named, *of_it, *(also for t in of(STEP) for also in known[t].get("also", ()))]
    left, without = list(rules), []
    if agents:
        left = [r for r in left if about(r, agents)]
        without += [a for a in agents if not any(about(r, [a]) for r in left)]
    if things:
        wide = set(things).union(*(known[t].get("also", ()) for t in things))
        theirs = [r for r in left if about(r, wide)]
        without += [] if theirs else named
        left = [r for r in left if r in theirs or (agents and plain(r))] or left
    elif not agents and not of(STATE):
        left = [r for r in left if plain(r)]
    states, steps = of(STATE), of(STEP)
    if not agents:
        without += [t for t in (*states, *steps) if not any(about(r, [t]) for r in left)]
        weak = [t for t in steps if known[t].get("weak") and not known[t].get("late")]
        late = [t for t in steps if known[t].get("late")]
        whole = [t for t in steps if t not in (*weak, *late)]
        # Several steps in one question ask for the lines of each; what only narrows a step narrows one after the other.
        for wanted in ([*states], *([t] for t in weak), whole, *([t] for t in late)):
            left = [r for r in left if about(r, wanted)] or left
    elif states:
        left = [r for r in left if about(r, states)] or left
    return _Chosen(left, without)
