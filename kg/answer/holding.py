"""How many patterns a word would leave, quickly: sets of patterns as bits, for completion at the prompt.

Only what is recorded or inferred counts (what could match does not), and only descriptions of categories, values, parts and
"not" of a part, joined by "and" and "or"; of anything else nothing is said.
"""

from __future__ import annotations

from kg import names
from kg.answer.context import Context
from kg.language import nodes
from kg.language.nodes import Expr
from kg.sparql.terms import prologue

_NUMBERS = (names.LENGTH_MIN, names.LENGTH_MAX)


class Holding:
    """Which patterns hold what, read once from the store."""

    def __init__(self, ctx: Context) -> None:
        rows = _rows(ctx)
        patterns = sorted({p for p, _, _ in rows})
        index = {p: i for i, p in enumerate(patterns)}
        self.all = (1 << len(patterns)) - 1
        self._holds: dict[tuple[str, str], int] = {}
        self._of: dict[str, int] = {}
        """Term -> the patterns that hold it under whatever feature."""
        for p, f, v in rows:
            bit = 1 << index[p]
            self._holds[f, v] = self._holds.get((f, v), 0) | bit
            if f != names.LACKS_PART:
                self._of[v] = self._of.get(v, 0) | bit
        for name in patterns:
            line = [name, *ctx.vocabulary.ancestors(name)]
            for above in line:
                self._holds[names.VARIANT_OF, above] = self._holds.get((names.VARIANT_OF, above), 0) | (1 << index[name])

    def bits(self, expr: Expr) -> int | None:
        """The patterns of which a description is known to be true; None if that is not quick to say."""
        match expr:
            case nodes.Everything():
                return self.all
            case nodes.IsA(category):
                return self._holds.get((names.TYPE, category), 0)
            case nodes.Has(feature, value):
                return self._holds.get((feature, value), 0)
            case nodes.HasPart(part):
                return self._holds.get((names.HAS_PART, part), 0)
            case nodes.Named(pattern):
                return self._holds.get((names.VARIANT_OF, pattern), 0)
            case nodes.Not(nodes.HasPart(part)):
                return self._holds.get((names.LACKS_PART, part), 0)
            case nodes.And(items) | nodes.Or(items):
                both = isinstance(expr, nodes.And)
                out = self.all if both else 0
                for item in items:
                    found = self.bits(item)
                    if found is None:
                        return None
                    out = out & found if both else out | found
                return out
        return None

    def left(self, within: int, term: str, absent: bool) -> int | None:
        """How many of the patterns ``within`` hold a term, or are known to lack that part; None where that is not known."""
        if absent:
            lacking = self._holds.get((names.LACKS_PART, term))
            return None if lacking is None else (within & lacking).bit_count()
        found = self._of.get(term)
        return (within & found).bit_count() if found is not None else 0


def _rows(ctx: Context) -> list[tuple[str, str, str]]:
    """(pattern, property, value) of all that holds but lengths."""
    if ctx.columns is not None:
        said = ((row, places) for row, places in ctx.columns.within("graph:holds") if row[1] not in _NUMBERS)
        return [(p, f, v) for (_, f, v), places in said for p in ctx.columns.named(places)]
    body = "SELECT ?p ?f ?v WHERE { GRAPH graph:holds { ?p ?f ?v } FILTER(isIRI(?v)) }\n"
    return [(r["p"].short, r["f"].short, r["v"].short) for r in ctx.store.select(prologue(body) + body)]
