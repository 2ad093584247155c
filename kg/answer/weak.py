"""What rests on memory or common practice only, and what has no published witness at all."""

from __future__ import annotations

from kg import names
from kg.answer.context import Context
from kg.answer.filters import answer_filter
from kg.evidence_levels import BASES
from kg.language import nodes
from kg.model import Answer, Match, Valued
from kg.sparql.terms import prologue

WEAK = ("memory", "common practice")
SHOWN = 40


def answer_weak(ctx: Context, expr: nodes.Expr) -> Answer:
    """The facts of the patterns that fit which no published source supports. ``count`` counts them; ``matches`` holds the
    patterns of which every fact is so. Of the whole catalogue only the numbers are given."""
    body = (
        "SELECT ?g ?p ?f ?v WHERE {\n  VALUES ?g { graph:on-memory graph:on-common-practice }\n  GRAPH ?g { ?p ?f ?v }\n}\n"
        "ORDER BY ?p ?f ?v\n"
    )
    query = prologue(body) + body
    whole = isinstance(expr, nodes.Everything)
    within = None if whole else {m.name for m in answer_filter(ctx, expr, limit=0).matches}
    found = [(BASES[g], p, f, v) for g, p, f, v in _rows(ctx, query) if within is None or p in within]
    patterns = sorted({p for _, p, _, _ in found}, key=lambda p: ctx.label(p).casefold())
    facts = ctx.reader.facts(patterns)
    adopted = [(b, p, f, v) for b, p, f, v in found if facts[p].levels.get((f, v), "inferred") != "inferred"]
    alone = []
    for pattern in patterns:
        own = [lit for lit, level in facts[pattern].levels.items() if level != "inferred"]
        if own and all(facts[pattern].basis.get(lit) in WEAK for lit in own):
            alone.append(pattern)
    values: list[Valued] = []
    for basis in WEAK:
        those = [row for row in adopted if row[0] == basis]
        if whole:
            values.append(
                Valued(f"{len(those)} facts of {len({p for _, p, _, _ in those})} patterns", basis, (), "", f"rest on {basis}")
            )
        else:
            values += [
                Valued(ctx.clause((f, v)), f"rests on {basis}", (), ctx.label(p), f"of {ctx.label(p)}") for _, p, f, v in those
            ]
    notes = []
    if len(values) > SHOWN:
        notes.append(f"{len(values) - SHOWN} more are not listed.")
        values = values[:SHOWN]
    if not adopted:
        notes.append("No fact of what was asked about rests on memory or common practice alone.")
    matches = tuple(Match(p, ctx.label(p), False, "memory") for p in alone) if whole else ()
    if whole:
        notes.append(f"{len(alone)} patterns have no fact with a published witness.")
    return Answer(
        "",
        "",
        "weak",
        sparql=query,
        matches=matches,
        count=len(adopted),
        pattern_count=len({p for _, p, _, _ in adopted}),
        values=tuple(values),
        notes=tuple(notes),
        verified_by=ctx.verified_by,
    )


def _rows(ctx: Context, query: str) -> list[tuple[str, str, str, str]]:
    """(graph, pattern, property, value): the rows of the query, or the same from the closure's columns."""
    if ctx.columns is None:
        return [(r["g"].short, r["p"].short, r["f"].short, r["v"].short) for r in ctx.store.select(query)]
    said = ctx.columns.within("graph:on-memory", "graph:on-common-practice")
    rows = [(g, p, f, v) for (g, f, v), places in said for p in ctx.columns.named(places)]
    return sorted(rows, key=lambda row: (row[1], row[2] != names.TYPE, *row[2:]))  # as the query has its names in full
