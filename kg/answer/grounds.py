"""What sources say on why something is made or done so: the notes of ``ontology/reasons.toml``, with what they bear on.

The notes are data; nothing here knows a part, a family or an instrument.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from typing import Any

from kg.answer.context import Context
from kg.answer.filters import answer_filter
from kg.errors import QuestionError
from kg.language import nodes
from kg.language.parse import parse
from kg.model import VARIES, Answer, Care

MANY = 10_000
PLAIN = (
    "Each note tells what its sources say. It is no advice for a case: what is used, and how, is decided by those who operate "
    "and by local policy."
)


def answer_reason_notes(ctx: Context, wanted: Sequence[str]) -> Answer:
    """The notes by their names, each with its sources and the instruments it bears on. Unknown names are left out."""
    known: Mapping[str, Mapping[str, Any]] = ctx.tables.get("reasons", {}).get("note", {})
    notes = [known[name] for name in wanted if name in known]
    lines = tuple(
        Care(n["say"], n["text"], tuple(ctx.label(s) for s in n["source"]), applies_to=_bears_on(ctx, n.get("bears", "")))
        for n in notes
    )
    return Answer("", "", "reasons", care=lines, notes=(PLAIN,), verified_by=ctx.verified_by)


def _bears_on(ctx: Context, description: str) -> tuple[str, ...]:
    """The instruments that a description fits, without their variants; empty if it is none."""
    with suppress(QuestionError):
        question = parse(description, ctx.lexicon) if description else None
        if isinstance(question, nodes.Value):  # one instrument by its name
            return (ctx.label(question.subject),)
        if isinstance(question, nodes.Filter):
            answer = answer_filter(ctx, question.expr, limit=MANY)
            some = [p for p in answer.possible if p.only_as(VARIES)]
            found = {m.name: m.label for m in (*answer.matches, *some)}
            return tuple(label for name, label in found.items() if ctx.vocabulary.broader_of(name) not in found)
    return ()
