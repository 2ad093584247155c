"""Which category, source or value of a feature has most patterns, fewest, or so many: a ranking with its counts."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from kg import names
from kg.answer.context import Context
from kg.answer.filters import answer_filter, answer_group
from kg.evidence_levels import UNPUBLISHED
from kg.language import nodes
from kg.model import Answer, Grouped, Match
from kg.sparql.terms import prologue
from kg.wording import listing

_NAME = re.compile(r"\b[^\W\d_a-z][a-z\u00e0-\u00ff]{2,}\b")
_NAMES_JOINED = re.compile(r"(?<![\w-])[^\W\d_a-z]\w{2,}(?:-[^\W\d_a-z]\w{2,})*")
SHOWN = 10
"""So many are listed of a ranking, and those of equal rank with the first."""
EACH_COUNTED = {
    "name": "other names",
    "source": "sources",
    "dispute": "disputes",
    "category": "categories",
    "eponym": "names joined in its name",
}
"""What is counted of every pattern by itself, beside the values of a feature."""
_JOINED = "Names joined by a hyphen are counted; whether they are those of two people, or of one, is not recorded."
Row = tuple[str, int, list[str]]


def answer_tally(ctx: Context, by: str, pick: str, scope: nodes.Expr, number: int = 0) -> Answer:
    """Which category, source or value of a feature has most patterns of ``scope`` (or statements, for a source), or fewest, or
    so many; a ranking. Values that no pattern has are counted with 0 where fewer than some number are asked for."""
    if by.startswith(nodes.ROWS):
        from kg.answer.rows import answer_rows

        return answer_rows(ctx, by.removeprefix(nodes.ROWS).split(","), scope)
    if by == "sign" or by == "basis" or by.startswith(nodes.PAIR):
        from kg.answer.pairs import answer_bases, answer_pairs, answer_signs

        if by.startswith(nodes.PAIR):
            return answer_pairs(ctx, by, pick, scope, number)
        return answer_signs(ctx, scope) if by == "sign" else answer_bases(ctx, scope)
    if by == "source":
        counts, query = _sources(ctx, scope)
    elif by == "eponym":
        counts, query = _eponyms(ctx, scope)
    elif by == "alike":
        counts, query = _look_alikes(ctx, scope)
    elif by.startswith(nodes.EACH):
        counts, query = _of_each(ctx, by.removeprefix(nodes.EACH), scope)
    elif by == "category":
        counts, query = _categories(ctx, scope)
    else:
        counts, query = _values(ctx, by, scope)
    each = by == "alike" or by.startswith(nodes.EACH)
    few = pick in ("fewest", "<", "<=")
    if pick in nodes.BOUNDS:
        counts = [row for row in counts if nodes.BOUNDS[pick](row[1], number)]
    elif not each and not (by == "category" and scope == nodes.Everything()):
        counts = [row for row in counts if row[1]]
    counts.sort(key=lambda row: (row[1] if few else -row[1], row[0].casefold()))
    shown = counts if pick in nodes.BOUNDS else [row for row in counts if row[1] == counts[0][1] or row in counts[:SHOWN]]
    groups = tuple(Grouped(label, count, tuple(labels)) for label, count, labels in shown)
    what = "patterns" if each else {"category": "categories", "source": "sources", "eponym": "names"}.get(by, "values")
    notes = []
    if pick in nodes.BOUNDS:
        notes.append(f"{len(groups):,} of the {what} asked for." if not each else f"{len(groups):,} patterns.")
    elif groups:
        ties = [g.value for g in groups if g.count == groups[0].count]
        unit = _counted(ctx, by)
        notes.append(f"{listing(ties)}: {groups[0].count:,} {unit}.")
    if by == nodes.EACH + "eponym":
        notes.append(_JOINED)
    if len(counts) > len(shown):
        notes.append(f"{len(counts):,} {what} in all; {len(counts) - len(shown)} of them are not listed.")
    matches = _ranked(ctx, scope, groups, pick in nodes.BOUNDS) if each else ()
    return Answer("", "", "tally", query, matches, groups=groups, notes=tuple(notes), verified_by=ctx.verified_by)


def _ranked(ctx: Context, scope: nodes.Expr, groups: Sequence[Grouped], bounded: bool) -> tuple[Match, ...]:
    """The patterns that are asked for, in the order of the ranking: all that are counted so, or those of the first rank."""
    by_label = {m.label: m for m in answer_filter(ctx, scope, limit=0).matches}
    return tuple(by_label[g.value] for g in groups if g.value in by_label and (bounded or g.count == groups[0].count))


def _counted(ctx: Context, by: str) -> str:
    """What the numbers of a tally count."""
    if by.startswith(nodes.EACH):
        what = by.removeprefix(nodes.EACH)
        if what.startswith(nodes.SHARED):
            return "parts and features that can be seen"
        return EACH_COUNTED.get(what) or f"values of {ctx.label(what)}"
    counted = {"source": "statements", "alike": "look-alikes", "eponym": "patterns, variants left out"}
    return counted.get(by, "patterns, variants included")


def _of_each(ctx: Context, what: str, scope: nodes.Expr) -> tuple[list[Row], str]:
    """The patterns of the scope with their other names, the published works that speak of them by name, their categories, or
    their values of a feature."""
    if what.startswith(nodes.SHARED):
        return _shared(ctx, what.removeprefix(nodes.SHARED), scope)
    if what not in EACH_COUNTED:
        grouped = answer_group(ctx, scope, what)
        found: dict[str, set[str]] = {m.label: set() for m in grouped.matches}
        for value, labels in _under_values(ctx, what, grouped):
            for label in labels:
                found[label].add(value)
        return [(label, len(values), sorted(values, key=str.casefold)) for label, values in found.items()], grouped.sparql
    fit = answer_filter(ctx, scope, limit=0)
    if what == "category":
        return _narrowest_categories(ctx, fit)
    if what == "eponym":
        return _names_joined(ctx, fit), fit.sparql
    if what == "dispute":
        from kg.answer.values import answer_disputes

        told = answer_disputes(ctx, scope)
        slots = {m.label: [d.feature for d in told.disputed if d.label == m.label] for m in fit.matches}
        return [(label, len(of_it), of_it) for label, of_it in slots.items()], told.sparql
    if what == "name":
        terms = ctx.vocabulary.terms
        return [(m.label, len(terms[m.name].alt), sorted(terms[m.name].alt, key=str.casefold)) for m in fit.matches], fit.sparql
    body = (
        "SELECT DISTINCT ?p ?s ?text WHERE {\n  GRAPH graph:terms { ?s rdfs:label ?text }\n  GRAPH ?s { ?p ?b ?c }\n"
        "  FILTER(STRSTARTS(STR(?s), STR(src:)))\n}\nORDER BY ?p ?text\n"
    )
    query = prologue(body) + body
    works: dict[str, list[str]] = {m.name: [] for m in fit.matches}
    for row in ctx.store.select(query):
        if row["p"].short in works and row["s"].short not in UNPUBLISHED:
            works[row["p"].short].append(row["text"].value)
    return [(m.label, len(works[m.name]), works[m.name]) for m in fit.matches], query


def _names_joined(ctx: Context, fit: Answer) -> list[Row]:
    """The patterns that are no variants, with the names of people that are joined by hyphens in their labels."""
    others = ctx.lexicon.words.no_person
    rows = []
    for match in fit.matches:
        joined = max((m.split("-") for m in _NAMES_JOINED.findall(match.label)), key=len, default=[])
        found = sorted((n for n in joined if n.casefold() not in others), key=str.casefold)
        if found and not match.variant_of:
            rows.append((match.label, len(found), found))
    return rows


def _shared(ctx: Context, pattern: str, scope: nodes.Expr) -> tuple[list[Row], str]:
    """The patterns of the scope that are no variants, but for one, with what can be seen and they share with it."""
    from kg.answer.lookalikes import shared_signs

    fit = answer_filter(ctx, scope, limit=0)
    own = {pattern, *ctx.vocabulary.ancestors(pattern)}
    others = [m for m in fit.matches if not ctx.vocabulary.ancestors(m.name) and m.name not in own]
    found = ((m.label, list(shared_signs(ctx, pattern, m.name))) for m in others)
    return [(label, len(signs), signs) for label, signs in found], fit.sparql


def _values(ctx: Context, feature: str, scope: nodes.Expr) -> tuple[list[Row], str]:
    """The values of a feature with the patterns that have them, always or in some makes."""
    grouped = answer_group(ctx, scope, feature)
    found: dict[str, set[str]] = {ctx.label(v): set() for v in ctx.vocabulary.values_of(feature)}
    for value, labels in _under_values(ctx, feature, grouped):
        found.setdefault(value, set()).update(labels)
    return [(label, len(members), sorted(members, key=str.casefold)) for label, members in found.items()], grouped.sparql


def _under_values(ctx: Context, feature: str, grouped: Answer) -> Iterator[tuple[str, tuple[str, ...]]]:
    """(value, patterns) of a grouping, without the groups that are no value; a value of some makes counts as the value, and
    what is made in several ways is under each of them ("made with: curved or straight")."""
    facts = ctx.reader.facts([m.name for m in grouped.matches], [feature])
    varied = {m.label: facts[m.name].known.varies.get(feature, ()) for m in grouped.matches}
    single = feature in ctx.vocabulary.features and ctx.vocabulary.features[feature].single
    for group in grouped.groups or ():
        if group.value in ("not recorded", "does not apply", "disputed"):
            continue
        each = {v for label in group.labels for v in varied.get(label, ())} if single else set()
        for value in sorted(map(ctx.label, each)) or [group.value.removesuffix(" (some)")]:
            yield value, group.labels


def _look_alikes(ctx: Context, scope: nodes.Expr) -> tuple[list[Row], str]:
    """The patterns of the scope that are no variants, with their look-alikes."""
    from kg.answer.lookalikes import look_alike_pairs

    fit = answer_filter(ctx, scope, limit=0)
    found: dict[str, list[str]] = {m.name: [] for m in fit.matches if not ctx.vocabulary.ancestors(m.name)}
    for pair in look_alike_pairs(ctx):
        for one, two in (pair, pair[::-1]):
            if one in found:
                found[one].append(ctx.label(two))
    return [(ctx.label(p), len(alike), sorted(alike, key=str.casefold)) for p, alike in found.items()], fit.sparql


def _categories(ctx: Context, scope: nodes.Expr) -> tuple[list[Row], str]:
    body = "SELECT ?c ?p WHERE { GRAPH graph:holds { ?p a ?c } }\nORDER BY ?c ?p\n"
    query = prologue(body) + body
    within = None if scope == nodes.Everything() else {m.name for m in answer_filter(ctx, scope, limit=0).matches}
    members: dict[str, list[str]] = {c: [] for c in ctx.vocabulary.definitions}
    for category, pattern in _typed(ctx, query):
        if category in members and (within is None or pattern in within):
            members[category].append(ctx.label(pattern))
    return [(ctx.label(c), len(found), sorted(found, key=str.casefold)) for c, found in members.items()], query


def _typed(ctx: Context, query: str) -> Iterator[tuple[str, str]]:
    """(category, pattern) of all that holds: the rows of the query, or the same from the closure's columns."""
    if ctx.columns is None:
        yield from ((row["c"].short, row["p"].short) for row in ctx.store.select(query))
        return
    for (graph, _, category), places in ctx.columns.facts(names.TYPE):
        if graph == "graph:holds":
            yield from ((category, pattern) for pattern in ctx.columns.named(places))


def _narrowest_categories(ctx: Context, fit: Answer) -> tuple[list[Row], str]:
    """The categories of each pattern, without those that another of its categories lies within."""
    facts = ctx.reader.facts([m.name for m in fit.matches], [names.TYPE])
    rows = []
    for match in fit.matches:
        held = {v for f, v in facts[match.name].known.holds if f == names.TYPE and v in ctx.vocabulary.definitions}
        narrowest = held - {above for c in held for above in ctx.above(c) if above != c}
        rows.append((match.label, len(narrowest), sorted(map(ctx.label, narrowest), key=str.casefold)))
    return rows, fit.sparql


def _eponyms(ctx: Context, scope: nodes.Expr) -> tuple[list[Row], str]:
    """The names (words with a capital) that stand in labels and synonyms, with the patterns of the scope that bear them."""
    body = (
        "SELECT DISTINCT ?p ?text WHERE {\n  GRAPH graph:terms { ?p rdfs:label|skos:altLabel ?text }\n"
        "  GRAPH graph:holds { ?p bl:ofKind ?kind }\n}\nORDER BY ?p ?text\n"
    )
    fit = answer_filter(ctx, scope, limit=0)
    borne: dict[str, dict[str, None]] = {}
    for match in fit.matches:
        entry = ctx.vocabulary.terms[match.name]
        if not match.variant_of:
            for name in dict.fromkeys(n for text in (entry.label, *entry.alt) for n in _NAME.findall(text)):
                borne.setdefault(name, {})[match.label] = None
    return [(name, len(found), sorted(found, key=str.casefold)) for name, found in borne.items()], prologue(body) + body


def _sources(ctx: Context, scope: nodes.Expr) -> tuple[list[Row], str]:
    """Statements on patterns and kinds, source by source; with a scope only those on its patterns."""
    if scope != nodes.Everything():
        return _sources_on(ctx, scope)
    body = (
        "SELECT ?s ?text (COUNT(*) AS ?n) WHERE {\n  GRAPH graph:terms { ?s rdfs:label ?text }\n"
        "  GRAPH ?s { ?a ?b ?c }\n  FILTER(STRSTARTS(STR(?s), STR(src:)))\n}\nGROUP BY ?s ?text\nORDER BY ?s\n"
    )
    query = prologue(body) + body
    return [(row["text"].value, int(row["n"].value), []) for row in ctx.store.select(query)], query


def _sources_on(ctx: Context, scope: nodes.Expr) -> tuple[list[Row], str]:
    body = (
        "SELECT ?s ?text ?a WHERE {\n  GRAPH graph:terms { ?s rdfs:label ?text }\n"
        "  GRAPH ?s { ?a ?b ?c }\n  FILTER(STRSTARTS(STR(?s), STR(src:)))\n}\nORDER BY ?s ?a\n"
    )
    query = prologue(body) + body
    within = {m.name: m.label for m in answer_filter(ctx, scope, limit=0).matches}
    found: dict[str, list[str]] = {}
    for row in ctx.store.select(query):
        if row["a"].short in within:
            found.setdefault(row["text"].value, []).append(within[row["a"].short])
    return [(text, len(on), sorted(set(on), key=str.casefold)) for text, on in found.items()], query
