"""What bears on a question for a reason that nobody recorded: what the words mean, what the pattern does to tissue, and what it
is used on and for.

Nothing follows from it: it stands beside the answer, and the reader draws the conclusion. The word file lists the features
(``bearing``). Of a category there is nothing to add, since its definition is the reason.
"""

from __future__ import annotations

from collections.abc import Iterator

from kg.answer.context import Context
from kg.answer.values import NOT_RECORDED, answer_define, value_rows
from kg.facts import PatternFacts
from kg.language import nodes
from kg.model import Valued
from kg.records import replace

CATEGORY = "category"
MOST_DEFINED, MOST_ROWS = 2, 5
"""So many words are explained, and so many values of one feature told."""


def bearing(ctx: Context, pattern: str, expr: nodes.Expr, facts: PatternFacts) -> tuple[Valued, ...]:
    """What bears on why a pattern is as described; empty if the description names a category, or nothing but sizes."""
    asked = tuple(_named(expr))
    if CATEGORY in dict(asked):
        return ()
    rows: list[Valued] = []
    for _, term in asked[:MOST_DEFINED]:
        defined = (answer_define(ctx, term).values or ())[:1]
        rows += [replace(row, feature=f"{row.subject} means", subject="") for row in defined]
    for feature in ctx.lexicon.words.bearing if asked else ():
        if feature in ctx.vocabulary.features and feature not in dict(asked):
            told = [row for row in value_rows(ctx, pattern, feature, facts) if row.status not in (NOT_RECORDED, "absent")]
            rows += told[:MOST_ROWS]
    return tuple(rows)


def _named(expr: nodes.Expr) -> Iterator[tuple[str, str]]:
    """(feature, value) of what a description says, or ("", part) or (``CATEGORY``, category)."""
    match expr:
        case nodes.Has(feature, value):
            yield feature, value
        case nodes.HasPart(part):
            yield "", part
        case nodes.IsA(category):
            yield CATEGORY, category
        case nodes.Not(inner):
            yield from _named(inner)
        case nodes.And(items) | nodes.Or(items):
            for item in items:
                yield from _named(item)
