"""What rests on memory or common practice only, and what has no published witness at all; what rests on one source, on a
maker's page, on veterinary sources, or on a kind of source."""

from __future__ import annotations

from kg import names
from kg.answer.context import Context
from kg.answer.filters import answer_filter
from kg.evidence_levels import BASES, UNPUBLISHED
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


_COUNTED = ("one", "several")
_OF_KIND = {"textbook": "a textbook", "journal": "a journal article", "standard": "a standard", "museum": "a museum's record"}
"""A kind of source, as a source's own file says it (``bl:sourceKind``) -> how one of it is told."""
_AT_BEST = {"maker": "maker's page", "veterinary": "veterinary"}
_TOLD = {"one": "one source", "several": "several sources", "maker": "a maker's page", "veterinary": "veterinary sources"}
_TOLD |= _OF_KIND
_MISSES = {
    "one": "on one source alone",
    "several": "on more than one source",
    "maker": "on a maker's page at best",
    "veterinary": "on veterinary sources at best",
} | {kind: f"on {told}" for kind, told in _OF_KIND.items()}


def answer_resting(ctx: Context, expr: nodes.Expr, basis: str) -> Answer:
    """The facts of the patterns that fit which rest on ``one`` source, on ``several``, or at best on a ``maker``'s page or
    ``veterinary`` sources, or of which a source of a kind is a witness. ``count`` counts them. What follows from others is left
    out. Of the whole catalogue only the numbers are given."""
    base = answer_filter(ctx, expr, limit=0)
    patterns = [m.name for m in base.matches]
    facts = ctx.reader.facts(patterns)
    of_kind = _sources(ctx, basis) if basis in _OF_KIND else frozenset()
    if basis not in _AT_BEST:
        ctx.reader.foresee(name for p in patterns for name in ctx.reader.line(p, facts[p]))
    found: list[tuple[str, tuple[str, str], tuple[str, ...]]] = []
    for pattern in sorted(patterns, key=lambda p: ctx.label(p).casefold()):
        for literal, level in sorted(facts[pattern].levels.items()):
            if level == "inferred" or literal[0] in (names.TYPE, names.OF_KIND):
                continue
            if basis in _AT_BEST:
                if facts[pattern].basis.get(literal) == _AT_BEST[basis]:
                    found.append((pattern, literal, ()))
                continue
            witnesses = ctx.reader.support(pattern, literal, facts[pattern])[1]
            if basis in _OF_KIND:
                if those := [w for w in witnesses if w.name in of_kind]:
                    found.append((pattern, literal, ctx.cite(those)))
                continue
            said = {w.name for w in witnesses}
            published = said.difference(UNPUBLISHED)
            if len(published) > 1 if basis == "several" else len(said) == len(published) == 1:
                found.append((pattern, literal, ctx.cite(witnesses)))
    rests = f"rests on {_TOLD[basis]}"
    values = [Valued(ctx.clause(lit), rests, said, ctx.label(p), f"of {ctx.label(p)}") for p, lit, said in found]
    notes = []
    if isinstance(expr, nodes.Everything):
        holders = len({p for p, _, _ in found})
        values = [Valued(f"{len(found)} facts of {holders} patterns", _TOLD[basis], (), "", f"rest on {_TOLD[basis]}")]
    elif len(values) > SHOWN:
        notes.append(f"{len(values) - SHOWN} more are not listed.")
        values = values[:SHOWN]
    if not found:
        notes.append(f"No fact of what was asked about rests {_MISSES[basis]}.")
    return Answer(
        "",
        "",
        "weak",
        sparql=base.sparql,
        count=len(found),
        pattern_count=len({p for p, _, _ in found}),
        values=tuple(values),
        notes=tuple(notes),
        verified_by=ctx.verified_by,
    )


def _sources(ctx: Context, kind: str) -> frozenset[str]:
    """The sources of a kind, by name."""
    body = f'SELECT ?s WHERE {{\n  GRAPH ?s {{ ?s bl:sourceKind "{kind}" }}\n}}\nORDER BY ?s\n'
    return frozenset(row["s"].short for row in ctx.store.select(prologue(body) + body))


def _rows(ctx: Context, query: str) -> list[tuple[str, str, str, str]]:
    """(graph, pattern, property, value): the rows of the query, or the same from the closure's columns."""
    if ctx.columns is None:
        return [(r["g"].short, r["p"].short, r["f"].short, r["v"].short) for r in ctx.store.select(query)]
    said = ctx.columns.within("graph:on-memory", "graph:on-common-practice")
    rows = [(g, p, f, v) for (g, f, v), places in said for p in ctx.columns.named(places)]
    return sorted(rows, key=lambda row: (row[1], row[2] != names.TYPE, *row[2:]))  # as the query has its names in full
