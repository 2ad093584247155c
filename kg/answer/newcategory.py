"""The answer to "define X as ...": the definition in OWL, its place among the categories, and its members."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from kg import names
from kg.answer.context import Context
from kg.answer.filters import answer_filter
from kg.definitions import compile_definition, place
from kg.language import nodes
from kg.model import Answer, Placement
from kg.records import replace
from kg.sparql.terms import prologue
from kg.vocabulary import Condition
from kg.wording import article

STORED = "Nothing was stored: this is where the category would stand."


def answer_new_category(ctx: Context, name: str, expr: nodes.Expr, span: nodes.Span, text: str, *, limit: int) -> Answer:
    """Compiles and places a new category. Raises QuestionError BL-Q09 or BL-Q10 if it cannot be one.

    ``matches`` are its members in the catalogue, with what else could be one; if nothing can meet the definition there are
    none. ``text`` is the question, for the spans of errors.
    """
    definition = compile_definition(name, expr, ctx.vocabulary, question=text, span=span)
    found = place(definition.conditions, ctx.vocabulary, ctx.engine)

    def labels(categories: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(sorted((ctx.label(c) for c in categories), key=str.casefold))

    placement = Placement(
        definition.label,
        definition.turtle,
        labels(found.equivalent),
        labels(found.broader),
        labels(found.narrower),
        labels(found.disjoint),
        _exclusion(ctx, found.clash) if found.clash else "",
    )
    if found.clash:
        return Answer("", "", "new category", placement=placement, notes=(STORED,), verified_by=ctx.verified_by)
    out = answer_filter(ctx, expr, limit=limit)
    members = frozenset(m.name for m in out.matches)
    placement = replace(placement, by_members=_by_members(ctx, members, found.equivalent + found.broader))
    return replace(out, kind="new category", placement=placement, notes=(*out.notes, STORED))


def _exclusion(ctx: Context, clash: tuple[Condition, Condition]) -> str:
    (prop, one), (_, two) = clash
    if prop == names.HAS_PART:
        return f"its conditions need {article(ctx.label(one))} both there and absent"
    return f"its conditions need {ctx.label(one)} and {ctx.label(two)} at once, and a piece has one {ctx.label(prop)}"


def _by_members(ctx: Context, members: frozenset[str], known: tuple[str, ...]) -> tuple[str, ...]:
    """What the catalogue's members show beyond the definitions: the same members, or all within another category."""
    if not members:
        return ("It has no member in the catalogue; that nothing can be in it does not follow.",)
    by_category: dict[str, set[str]] = {}
    for category, found in _inferred(ctx):
        if category in ctx.vocabulary.definitions:
            by_category.setdefault(category, set()).update(found)
    held = frozenset(known) | {b for c in known for b in ctx.above(c)}
    same = [c for c, found in by_category.items() if found == members and c not in held]
    around = {c: found for c, found in by_category.items() if found > members and c not in held}
    near = [c for c, found in around.items() if not any(other < found for other in around.values())]
    texts = [f"It has the same members as the category {ctx.label(c)}, though the definitions differ." for c in sorted(same)]
    texts += [
        f"All its members are also {ctx.lexicon.name(c, many=True)}, though the definition does not require it."
        for c in sorted(near)
    ]
    return tuple(texts[:4])


def _inferred(ctx: Context) -> Iterator[tuple[str, Sequence[str]]]:
    """(category, patterns) of which it was inferred."""
    if ctx.columns is not None:
        said = (fact for fact in ctx.columns.facts(names.TYPE) if fact[0][0] == "graph:inferred")
        yield from ((row[2], ctx.columns.named(places)) for row, places in said)
        return
    body = "SELECT ?p ?c WHERE { GRAPH graph:inferred { ?p rdf:type ?c } }\nORDER BY ?c ?p\n"
    for row in ctx.store.select(prologue(body) + body):
        yield row["c"].short, [row["p"].short]
