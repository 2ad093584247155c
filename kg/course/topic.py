"""The patterns that a question is about, as a course takes them: variants folded under their parents, or each by itself."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from kg.answer import Context
from kg.answer.filters import answer_filter
from kg.answer.lookalikes import MAX_DIFFERENCES, MIN_SHARED, answer_look_alikes, look_alike_pairs, telling_slots
from kg.errors import QuestionError
from kg.language import nodes


@dataclass(frozen=True)
class Topic:
    """``patterns``: what is taught, sorted by label; ``folded``: pattern -> those of its variants that the question names too.

    ``possible``: how many more could fit, but are undecided; ``sparql``: the query.
    """

    patterns: tuple[str, ...]
    folded: dict[str, tuple[str, ...]]
    possible: int
    sparql: str


def topic(ctx: Context, question: nodes.Question, *, text: str, variants: bool = False) -> Topic:
    """The patterns of a question that lists, counts or groups patterns, or of the look-alikes of one (with itself).

    Empty if nothing fits. ``variants``: each variant stands by itself. Raises QuestionError (BL-Q03) for any other question.
    """
    match question:
        case nodes.Filter(expr) | nodes.Count(expr) | nodes.Group(expr, _):
            answer = answer_filter(ctx, expr, limit=0)
            found = [m.name for m in answer.matches]
        case nodes.LookAlikes(pattern):
            answer = answer_look_alikes(ctx, pattern)
            found = [pattern, *(a.name for a in answer.look_alikes or ())]
        case _:
            raise QuestionError(
                "BL-Q03",
                "This question does not ask for a list of instruments, so there is no topic in it.",
                question=text,
                span=(0, len(text)),
                expected=("a question that lists instruments",),
            )
    folded: dict[str, list[str]] = {}
    if not variants:
        taken = set(found)
        for name in found:
            parent = next((a for a in reversed(ctx.vocabulary.ancestors(name)) if a in taken), "")
            if parent:
                folded.setdefault(parent, []).append(name)
        below = {v for group in folded.values() for v in group}
        found = [name for name in found if name not in below]

    def by_label(some: Iterable[str]) -> tuple[str, ...]:
        return tuple(sorted(some, key=lambda p: (ctx.label(p).casefold(), p)))

    return Topic(by_label(found), {p: by_label(v) for p, v in folded.items()}, answer.possible_count, answer.sparql)


def pairs_among(ctx: Context, patterns: Iterable[str], *, differences: int = MAX_DIFFERENCES) -> frozenset[tuple[str, str]]:
    """The pairs of look-alikes among some patterns, each sorted by name; those of one family belong together too.

    A variant that stands by itself has its parent's look-alikes, for they are told from it as from its parent.
    """
    wanted = set(patterns)
    roots = {p: (p, *ctx.vocabulary.ancestors(p))[-1] for p in wanted}
    members: dict[str, list[str]] = {}
    for p, root in roots.items():
        members.setdefault(root, []).append(p)
    out = {(a, b) for group in members.values() for a in group for b in group if a < b}
    for one, two in look_alike_pairs(ctx, differences=differences, shared=MIN_SHARED):
        for a in members.get(one, ()):
            out |= {(min(a, b), max(a, b)) for b in members.get(two, ()) if len(telling_slots(ctx, a, b)) <= differences}
    return frozenset(out)
