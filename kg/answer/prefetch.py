"""Witnesses read at once: what says a great deal of one pattern asks for the witnesses of each fact."""

from __future__ import annotations

import copy
from collections.abc import Sequence

from kg.answer.context import Context
from kg.facts import FactReader, PatternFacts, Witness
from kg.sparql.terms import prologue, values


class _Prefetched(FactReader):
    """A reader that has read every witness of some subjects already: a description asks for each of them."""

    def __init__(self, reader: FactReader, subjects: Sequence[str]) -> None:
        super().__init__(reader.store, reader.vocabulary)
        body = (
            f"SELECT ?x ?s ?f ?v ?text WHERE {{\n  {values('x', list(subjects))}\n  GRAPH ?s {{ ?x ?f ?v }}\n"
            "  GRAPH graph:terms { ?s rdfs:label ?text }\n}\nORDER BY ?s ?f ?v\n"
        )
        self._rows: dict[tuple[str, str], list[tuple[str, str, str, str]]] = {}
        for row in self.store.select(prologue(body) + body):
            value = row["v"].short if row["v"].kind == "iri" else row["v"].value
            found = (row["s"].short, row["f"].short, value, row["text"].value)
            self._rows.setdefault((row["x"].short, found[1]), []).append(found)

    def witnesses(self, subject: str, prop: str) -> tuple[Witness, ...]:
        modes = self.modes(prop)
        found = sorted(row for f in modes for row in self._rows.get((subject, f), ()))
        return tuple(Witness(source, text, modes[f], value) for source, f, value, text in found)


def with_witnesses(ctx: Context, pattern: str, facts: PatternFacts) -> Context:
    """The context with every witness of the pattern, its parents and kinds at hand."""
    out = copy.copy(ctx)
    out.reader = _Prefetched(ctx.reader, ctx.reader.line(pattern, facts))
    return out
