"""A table of a set: every pattern in its own row with its values of the features that were asked for."""

from __future__ import annotations

from collections.abc import Sequence

from kg import names
from kg.answer.context import Context
from kg.answer.filters import answer_filter, group_values
from kg.facts import PatternFacts
from kg.language import nodes
from kg.model import Answer, Grouped
from kg.wording import listing

SHOWN = 60
"""So many rows are listed."""


def answer_rows(ctx: Context, features: Sequence[str], scope: nodes.Expr) -> Answer:
    """The patterns that fit with their values of each feature; a length as its range. ``count`` of a row is the number of
    features of which something is recorded."""
    fit = answer_filter(ctx, scope, limit=0)
    facts = ctx.reader.facts([m.name for m in fit.matches], [*features, names.HAS_PART, names.LACKS_PART, *_LENGTHS])
    rows = []
    for match in fit.matches:
        told = [(f, _told(ctx, f, facts[match.name])) for f in features]
        texts = tuple(f"{ctx.label(f)}: {text}" for f, text in told)
        rows.append(Grouped(match.label, sum(text != "not recorded" for _, text in told), texts))
    rows.sort(key=lambda row: row.value.casefold())
    notes = [f"{len(rows) - SHOWN:,} more are not listed."] if len(rows) > SHOWN else []
    return Answer(
        "", "", "tally", sparql=fit.sparql, groups=tuple(rows[:SHOWN]), notes=tuple(notes), verified_by=ctx.verified_by
    )


_LENGTHS = (names.LENGTH_MIN, names.LENGTH_MAX)


def _told(ctx: Context, feature: str, facts: PatternFacts) -> str:
    """What is recorded of a pattern under a feature or a part, for people."""
    if feature == names.LENGTH:
        length = facts.known.length
        if not length:
            return "not recorded"
        return f"{length[0]:g} mm" if length[0] == length[1] else f"{length[0]:g} to {length[1]:g} mm"
    return listing(group_values(ctx, feature, facts))
