"""Instruments like a named one, but otherwise in something: "like a Kelly but with teeth".

What is asked for is decided as in any list: it must hold of a pattern, and what is not recorded leaves it open. Of the patterns
that fit, those are given that differ from the named one in the fewest visible parts and features besides, likest first, each
with what it also differs in; only those of its own kind, if there are any. Likeness is counted as between look-alikes
(``kg.answer.lookalikes``).
"""

from __future__ import annotations

from kg import names
from kg.answer.context import Context, properties
from kg.answer.filters import answer_filter
from kg.answer.lookalikes import MIN_SHARED, kin_bits, likeness, look_alike
from kg.answer.visible import Table, table
from kg.language import nodes
from kg.model import Answer, LookAlike
from kg.records import replace
from kg.truth import normalise

FURTHER = 2
"""So many differences besides the one asked for leave a pattern alike."""
NEAREST = 5
"""Where none is alike, so many of the nearest are given."""


def answer_alike(ctx: Context, pattern: str, expr: nodes.Expr | None, size: str = "") -> Answer:
    """``size``: ``longer``, by the longest size that is made, ``shorter``, by the shortest, or empty. Patterns that fit but
    differ in more are left out; so are variants of one that is given."""
    seen = table(ctx)
    at = seen.index[pattern]
    asked = answer_filter(ctx, expr if expr is not None else nodes.Everything(), limit=len(seen.patterns))
    slots = _spoken_of(ctx, expr) | ({names.LENGTH} if size else set())
    fit = [m.name for m in asked.matches if m.name != pattern and _sized(seen, at, seen.index[m.name], size)]
    alike = _nearest(ctx, seen, at, fit, slots)
    by_name = {m.name: m for m in asked.matches}
    kin = kin_bits(ctx, seen, at)
    own = any(kin >> seen.index[a.name] & 1 for a in alike)
    could = {p.name: p for p in asked.possible if p.name != pattern and not size and (not own or kin >> seen.index[p.name] & 1)}
    open_ = [a for a in _near(ctx, seen, at, list(could), slots) if len(a.signs) <= FURTHER]
    notes = (
        f"Alike: of its kind, if there are any, and differing in at most {FURTHER} visible parts or features besides what is "
        "asked for; where there is none, the nearest are given. What is not recorded for one of them counts neither way.",
    )
    return replace(
        asked,
        kind="like",
        matches=tuple(by_name[a.name] for a in alike),
        look_alikes=tuple(alike),
        possible=tuple(could[a.name] for a in open_),
        possible_count=len(open_),
        disputed=(),
        pattern_count=len(alike),
        notes=notes,
    )


def _spoken_of(ctx: Context, expr: nodes.Expr | None) -> set[str]:
    """The labels of the slots that a description speaks of."""
    return set() if expr is None else set(properties(normalise(expr, ctx.vocabulary))) | _parts(expr)


def _parts(expr: nodes.Expr) -> set[str]:
    match expr:
        case nodes.HasPart(part):
            return {part}
        case nodes.Not(inner):
            return _parts(inner)
        case nodes.And(items) | nodes.Or(items):
            return set().union(*map(_parts, items))
        case nodes.Length():
            return {names.LENGTH}
    return set()


def _sized(seen: Table, at: int, other: int, size: str) -> bool:
    """Whether another pattern is made longer, or shorter, than the first; unknown is not enough."""
    if not size:
        return True
    column = next((c for c in seen.columns if c.slot == names.LENGTH), None)
    if column is None or not column.recorded >> at & column.recorded >> other & 1:
        return False
    here, there = column.classes[column.of[at]], column.classes[column.of[other]]
    return there[1] > here[1] if size == "longer" else there[0] < here[0]  # type: ignore[index]


def _near(ctx: Context, seen: Table, at: int, fit: list[str], slots: set[str]) -> list[LookAlike]:
    """The patterns likest first, without the signs that were asked for, and without variants of one that is there."""
    labels = {ctx.label(s) for s in slots}
    kin = kin_bits(ctx, seen, at)
    own = [name for name in fit if kin >> seen.index[name] & 1]
    all_of_them = []
    for name in own or fit:
        alike = look_alike(ctx, seen, at, seen.index[name])
        alike = replace(alike, signs=tuple(s for s in alike.signs if s[0] not in labels))
        all_of_them.append((likeness(alike, bool(own)), alike))
    # Of its own kind those of which little is recorded will do, where there are no others.
    found = [pair for pair in all_of_them if pair[1].shared >= MIN_SHARED] or (all_of_them if own else [])
    ordered = [alike for _, alike in sorted(found, key=lambda pair: pair[0])]
    given = {a.name for a in ordered}
    return [a for a in ordered if given.isdisjoint(ctx.vocabulary.ancestors(a.name))]


def _nearest(ctx: Context, seen: Table, at: int, fit: list[str], slots: set[str]) -> list[LookAlike]:
    near = _near(ctx, seen, at, fit, slots)
    return [a for a in near if len(a.signs) <= FURTHER] or near[:NEAREST]
