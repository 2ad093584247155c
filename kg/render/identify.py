"""An identification as blocks: the sentence to say first, then what it rests on, then where to look."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kg.identify import Candidate, Claim, Identification
from kg.render.blocks import Block, Heading, Para, Spans, Table, para, words
from kg.render.english import CAUTION, number, shortened
from kg.wording import listing

SHOWN = 6
"""So many candidates are listed in a text; JSON gives a longer page."""
FAINTEST = 0.005


def identification_blocks(outcome: Identification, *, brief: bool = False) -> list[Block]:
    """The sentence, the claim if one was made, how it was understood, the candidates, and what to look at next.

    ``brief``: at the prompt, where what was seen is known and the caution stands on the first screen.
    """
    out: list[Block] = [Para((("name", outcome.spoken),))]
    if outcome.set_aside:
        pairs = zip(outcome.set_aside, outcome.nearest, strict=True)
        named = ", ".join(f'"{word}"' + (f" (did you mean {near}?)" if near else "") for word, near in pairs)
        out.append(Para((("error", f"Not understood, and left out: {named}"), ("", "."))))
    if outcome.claim:
        out += claim_blocks(outcome.claim)
    if outcome.seen and not brief:
        out.append(Para((("remark", "Understood as: it "), ("query", listing(s.reading for s in outcome.seen)))))
    out += _candidates(outcome)
    for group in outcome.inseparable:
        out.append(Para(words(f"No recorded feature tells these apart: {', '.join(group)}.", "remark"), 1, close=True))
    out += _looks(outcome)
    out += [Para(words(note, "caution")) for note in outcome.notes]
    if not brief:
        out.append(para(CAUTION, "caution"))
    return out


def claim_blocks(claim: Claim) -> list[Block]:
    """What speaks for and against a name."""
    chance = _chance(claim.probability)
    out: list[Block] = [
        Heading(f"Is it {claim.label}?"),
        Para(words(f"Place {claim.place} among the candidates, {chance}. Nothing is ruled out for good."), 1, close=True),
    ]
    for title, clauses in (("for it", claim.for_), ("against it", claim.against), ("not recorded", claim.not_recorded)):
        out += [Para(words(text), 1, (("remark", f"{title}:"),), close=True) for text in clauses]
    if not (claim.for_ or claim.against or claim.not_recorded):
        out.append(Para(words("Nothing was seen yet that speaks for or against it."), 1, close=True))
    return out


def _candidates(outcome: Identification) -> list[Block]:
    shown = [c for c in outcome.candidates[:SHOWN] if c.probability >= FAINTEST]
    if not outcome.seen or not shown:
        return []
    rows = tuple(_row(c) for c in shown)
    rest = outcome.count - len(shown)
    out: list[Block] = [
        Heading("It may be"),
        Table(("pattern", "chance", "does not fit", "not recorded"), rows),
    ]
    left = 1.0 - sum(c.probability for c in shown)
    if rest > 0 and left >= 0.01:
        text = f"{number(rest, 'other pattern shares', 'other patterns share')} {_percent(left)}."
        out.append(Para(words(text, "remark"), 1, close=True))
    return out


def _row(candidate: Candidate) -> tuple[Spans, ...]:
    return (
        words(candidate.label, "name"),
        words(_percent(candidate.probability), "number"),
        words("; ".join(shortened(candidate.disagrees, 2)), "dispute"),
        words("; ".join(shortened(candidate.unknown, 2)), "remark"),
    )


def _looks(outcome: Identification) -> list[Block]:
    """What to look at next, as short questions; or that nothing is left that would tell."""
    if not outcome.next:
        if not outcome.seen:
            return []
        return [para("Nothing that is recorded and can be seen would tell more.", "remark")]
    first, *others = outcome.next
    text = f"Look at: {first.feature}" + _examples(first.examples)
    out: list[Block] = [Para((("query", text),))]
    if others:
        more = "; ".join(f"{look.feature}{_examples(look.examples[:3])}" for look in others[:3])
        out.append(Para(words(f"Or at: {more}", "remark"), close=True))
    return out


def _examples(labels: Sequence[str]) -> str:
    return f" ({', '.join(labels)}?)" if labels else ""


def _percent(probability: float) -> str:
    if probability >= 0.995:
        return "over 99 %"
    return f"{probability:.0%}".replace("%", " %") if probability >= 0.01 else "under 1 %"


def _chance(probability: float) -> str:
    return f"chance {_percent(probability)}"


def identification_json(outcome: Identification) -> dict[str, Any]:
    """``Identification.to_json`` with the standing caution among the notes."""
    out = outcome.to_json()
    return out | {"notes": [*out["notes"], CAUTION]}
