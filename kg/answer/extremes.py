"""Answers over a whole set: the longest and shortest, all or any of it, and which category, source or value has most."""

from __future__ import annotations

from kg import names
from kg.answer.context import Context
from kg.answer.filters import answer_filter, folded_count
from kg.language import nodes
from kg.model import VARIES, Answer, Argument, Grouped, Valued
from kg.records import replace

SHOWN = 5
"""So many of a ranking are listed; the rest is counted."""
NOT_DECIDED = "not decided by the record"
SOME_PIECES = "of some pieces"
PLACES = ("second", "third", "fourth", "fifth")
LOOKED_AT = 1000
"""Of so many undecided ones it is looked at whether some pieces of them are so."""


def answer_ends(ctx: Context, expr: nodes.Expr) -> Answer:
    """The longest and the shortest that fit, each with those alike."""
    longest, shortest = (answer_extreme(ctx, expr, most, "length") for most in (True, False))
    rows = [v for one in (longest, shortest) for v in one.values or () if v.status != "next"]
    matches = tuple(dict.fromkeys((*longest.matches, *shortest.matches)))
    return replace(longest, matches=matches, pattern_count=folded_count(matches), values=tuple(rows))


def answer_extreme(ctx: Context, expr: nodes.Expr, most: bool, by: str, number: int = 0, place: int = 0) -> Answer:
    """The longest or shortest that fit, by recorded length: the longest size made, or the shortest; with ``by`` "range" the
    one whose sizes span most. ``matches`` holds the first of the ranking (all of them on a tie), ``values`` the ranking, of
    which ``number`` are listed if that is more than usual; a variant as long as its pattern is listed with it. ``place``: 1 for
    those of the second length, and so on, which ``matches`` then holds."""
    base = answer_filter(ctx, expr, limit=0)
    facts = ctx.reader.facts([m.name for m in base.matches], [names.LENGTH_MIN])
    sizes = {m.name: facts[m.name].known.length for m in base.matches}
    known = [(m, size) for m in base.matches if (size := sizes[m.name]) is not None]

    def measure(size: tuple[float, float]) -> float:
        return size[1] - size[0] if by == "range" else size[1] if most else size[0]

    known.sort(key=lambda pair: ((-1 if most else 1) * measure(pair[1]), pair[0].label.casefold()))
    if place:  # a variant stands with its pattern
        there = {m.name for m, _ in known}
        known = [(m, size) for m, size in known if m.variant_of not in there]
    measures = list(dict.fromkeys(measure(size) for _, size in known))
    best = [m for m, size in known if measure(size) == measures[place]] if place < len(measures) else []
    alike = {m.name: size for m, size in known}
    apart = [(m, size) for m, size in known if not m.variant_of or alike.get(m.variant_of) != size]
    rows = []
    ahead = sum(measures.index(measure(size)) < place for _, size in apart) if place else 0
    shown = apart[: max(SHOWN, number, ahead + len([m for m in best if m in [a for a, _ in apart]]))]
    ctx.reader.foresee(name for match, _ in shown for name in (match.name, match.variant_of) if name)
    for match, size in shown:
        witnesses = next(
            (w for s in (match.name, match.variant_of) if s and (w := ctx.reader.witnesses(s, names.LENGTH_MIN))), ()
        )
        end = "longest" if most else "shortest"
        first = f"{PLACES[place - 1]} {end}" if place else end
        status = ("widest range" if by == "range" else first) if match in best else "next"
        if place and measures.index(measure(size)) < place:
            status = end if measure(size) == measures[0] else "before it"
        rows.append(Valued(length_text(size), status, ctx.cite(witnesses), match.label, "length"))
    notes = []
    without = len(base.matches) - len(known)
    if base.matches:
        notes.append(
            f"By recorded length, over all sizes made: {len(known)} of the {len(base.matches)} that fit have a length on record"
            + (f"; of {without} it is not recorded, and they could be longer or shorter." if without else ".")
        )
    if not known:
        rows = [Valued("not recorded", "not recorded", (), "", "length")]
    return replace(
        base,
        kind="extreme",
        matches=tuple(best),
        possible=(),
        possible_count=0,
        disputed=(),
        pattern_count=folded_count(best),
        values=tuple(rows),
        notes=tuple(notes),
    )


def answer_ranked(ctx: Context, expr: nodes.Expr, limit: int, *, down: bool = False) -> Answer:
    """All that fit in the order of their recorded lengths, by the shortest size made, then the longest; ``down``: from the
    longest size made downwards. Those of one length stand together, those without one last."""
    base = answer_filter(ctx, expr, limit=limit)
    facts = ctx.reader.facts([m.name for m in base.matches], [names.LENGTH_MIN])
    sizes: dict[tuple[float, float] | None, list[str]] = {}
    for match in base.matches:
        sizes.setdefault(facts[match.name].known.length, []).append(match.label)
    known = sorted(size for size in sizes if size is not None)
    if down:
        known.sort(key=lambda size: (-size[1], -size[0]))
    ordered = [*known, *([None] if None in sizes else [])]
    return replace(
        base,
        kind="group",
        groups=tuple(
            Grouped(
                length_text(size) if size else "not recorded", len(sizes[size]), tuple(sorted(sizes[size], key=str.casefold))
            )
            for size in ordered
        ),
    )


def length_text(size: tuple[float, float]) -> str:
    """A length in millimetres, and in centimetres and inches."""
    from kg.answer.values import in_units

    low, high = size
    text = f"{low:g} mm" if low == high else f"{low:g} to {high:g} mm"
    return f"{text} ({in_units(size)})"


def answer_quantified(ctx: Context, scope: nodes.Expr, expr: nodes.Expr, quantifier: str, statement: str) -> Answer:
    """Is it so of all, or any, of a set? ``groups`` holds those of which it is, those of which it is not, and the rest.

    Of all: yes if it is recorded of every one, no at the first counter-example. Of any: yes at the first example, if only some
    pieces of it are so too. Without a word for all or any: "some" if it is so of some and not of others.
    """
    whole = answer_filter(ctx, scope, limit=0)
    yes = answer_filter(ctx, nodes.And((scope, expr)), limit=LOOKED_AT if quantifier == "any" else 0)
    no = answer_filter(ctx, nodes.And((scope, nodes.Not(expr))), limit=0)
    labels = {m.name: m.label for m in whole.matches}
    found = [m for m in yes.matches if m.name in labels]
    against = [m for m in no.matches if m.name in labels]
    decided = {m.name for m in (*found, *against)}
    of_some = {p.name for p in yes.possible if p.only_as(VARIES) and "; " not in p.reason} & (set(labels) - decided)
    left = [label for name, label in labels.items() if name not in decided and name not in of_some]
    holds: bool | str
    if quantifier == "any":
        holds = True if found or of_some else "not recorded" if left or not labels else False
    elif against and found and not quantifier:
        holds = "some"
    elif against:
        holds = False
    else:
        holds = True if found and not left and not of_some else "not recorded"
    groups = [
        Grouped("yes", len(found), tuple(m.label for m in found)),
        Grouped("no", len(against), tuple(m.label for m in against)),
        Grouped(SOME_PIECES, len(of_some), tuple(sorted((labels[name] for name in of_some), key=str.casefold))),
        Grouped(NOT_DECIDED, len(left), tuple(sorted(left, key=str.casefold))),
    ]
    return replace(
        yes,
        kind="quantified",
        matches=tuple(against if quantifier == "all" and against else found),
        possible=(),
        possible_count=0,
        count=len(found),
        pattern_count=folded_count(found),
        argument=Argument(statement, holds),
        groups=tuple(g for g in groups if g.count),
    )
