"""Published sterilisation cycles: every one that fits, each with all its conditions and its source."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from kg.answer.context import Context
from kg.language import nodes
from kg.model import Answer, Cycle
from kg.wording import listing

CAUTION = (
    "A figure holds only under its own conditions, and after cleaning. The instructions of the makers of the instrument and of "
    "the steriliser, and local policy, decide."
)
SECOND_HAND = "Seen in a copy of the source, or as another work reports it: look at the original before relying on it."
_CLOSE = 0.6  # °C, so that 270 °F is 132 °C


def answer_cycles(ctx: Context, asked: nodes.Cycles) -> Answer:
    """The cycles that fit what was asked, in the order of the file; with none, what is on record instead."""
    rows = ctx.tables.get("cycle", ())
    like = [r for r in rows if _fits(ctx, r, asked)]
    found = [r for r in like if asked.degrees is None or _at(r, asked.degrees, asked.unit)]
    cycles = tuple(_cycle(ctx, r) for r in found)
    notes = [CAUTION]
    if any(c.second_hand for c in cycles):
        notes.append(SECOND_HAND)
    silent = [r for r in like if not r.get("celsius")] if asked.degrees is not None else []
    if silent:
        one = len(silent) == 1
        notes.append(
            f"{len(silent)} more {'cycle gives' if one else 'cycles give'} no temperature; ask without it to see them."
        )
    if not cycles:
        notes.append(_instead(ctx, rows, like, asked))
    return Answer("", "", "cycles", cycles=cycles, notes=tuple(notes), verified_by=ctx.verified_by)


def _fits(ctx: Context, row: Mapping[str, Any], asked: nodes.Cycles) -> bool:
    """True if method, load and steriliser are as asked; a broader method includes the narrower ones."""
    if asked.method and row["method"] not in ctx.vocabulary.subtree(asked.method):
        return False
    return (not asked.load or row["load"] == asked.load) and (not asked.steriliser or row.get("steriliser") == asked.steriliser)


def _at(row: Mapping[str, Any], degrees: float, unit: str) -> bool:
    """True if the cycle runs at this temperature; False where the source gives no temperature."""
    stated = row.get("fahrenheit") if unit == "f" else row.get("celsius")
    if stated:
        return stated[0] <= degrees <= stated[-1]
    celsius = row.get("celsius")
    if not celsius:
        return False
    value = (degrees - 32) * 5 / 9
    return celsius[0] - _CLOSE <= value <= celsius[-1] + _CLOSE


def _cycle(ctx: Context, row: Mapping[str, Any]) -> Cycle:
    words = ctx.lexicon.words
    return Cycle(
        method=ctx.label(row["method"]),
        load=words.loads[row["load"]][0],
        steriliser=words.sterilisers[row["steriliser"]][0] if row.get("steriliser") else "",
        source=ctx.label(row["source"]),
        celsius=tuple(row.get("celsius", ())),
        fahrenheit=tuple(row.get("fahrenheit", ())),
        minutes=tuple(row.get("minutes", ())),
        least=row.get("least", False),
        drying=tuple(row.get("drying", ())),
        aeration_hours=tuple(row.get("aeration_hours", ())),
        conditions=tuple(row.get("conditions", ())),
        used=row.get("used", True),
        second_hand=row.get("second_hand", False),
    )


def _instead(ctx: Context, rows: Iterable[Mapping[str, Any]], like: Sequence[Mapping[str, Any]], asked: nodes.Cycles) -> str:
    """What is on record where nothing fits: other temperatures, else the methods there are cycles of."""
    temperatures = sorted({tuple(r["celsius"]) for r in like if r.get("celsius")})
    if asked.degrees is not None and temperatures:
        return f"On record for this, at other temperatures: {listing(_celsius(t) for t in temperatures)}."
    methods = sorted({ctx.label(r["method"]) for r in rows})
    if not methods:
        return "This build of the catalogue holds no cycles; run: boxlock build"
    return f"Cycles are on record of {listing(methods)}, each for some loads and sterilisers only."


def _celsius(span: Sequence[float]) -> str:
    return " to ".join(f"{t:g}" for t in dict.fromkeys(span)) + " °C"
