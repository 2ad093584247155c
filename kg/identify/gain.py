"""What to look at next: for every slot the bits an answer is expected to give, lowered if it is hard to see."""

from __future__ import annotations

import math
from collections.abc import Collection

from kg import names
from kg.identify.fit import error
from kg.identify.table import LENGTH, UNRECORDED, Slot, Table
from kg.truth import INAPPLICABLE

BINS = 24
"""Lengths are judged in so many steps of equal ratio."""
SHORTEST, LONGEST = 20.0, 1000.0
LEAST_BITS = 0.02
"""What is expected to give less is not worth a look."""
_DOUBTFUL = 0.3
"""How far a length just outside of the sizes made fits, for the expectation alone."""


def gains(table: Table, weights: dict[int, float], closed: Collection[str]) -> list[tuple[str, float]]:
    """(slot, bits) best first: expected gain, less the share of it that seeing the slot costs. Ties are broken by name.

    ``weights``: pattern -> probability, one pattern a candidate, adding up to 1; ``closed``: slots that were answered or
    cannot be told.
    """
    out: list[tuple[float, str]] = []
    for slot in table.slots.values():
        if slot.name in closed or not slot.members or not table.is_seen(slot.name):
            continue
        masses = _masses(slot, weights)
        if len(masses) > 1 and _applies(slot, masses):
            bits = _expected(slot, masses, table) * (1.0 - table.settings.cost(slot.name))
            if bits > LEAST_BITS:
                out.append((bits, slot.name))
    if LENGTH not in closed:
        bits = _length_gain(table, weights) * (1.0 - table.settings.cost(LENGTH))
        if bits > LEAST_BITS:
            out.append((bits, LENGTH))
    out.sort(key=lambda pair: (-round(pair[0], 9), pair[1]))
    return [(slot, bits) for bits, slot in out]


def _masses(slot: Slot, weights: dict[int, float]) -> dict[int, float]:
    """class -> probability of the candidates in it."""
    out: dict[int, float] = {}
    recorded = 0.0
    members = slot.members
    small, large = (weights, members) if len(weights) < len(members) else (members, weights)
    for i in small:
        if i in large:
            w = weights[i]
            out[members[i]] = out.get(members[i], 0.0) + w
            recorded += w
    if recorded < 1.0 - 1e-9:
        out[UNRECORDED] = out.get(UNRECORDED, 0.0) + 1.0 - recorded
    return out


def _applies(slot: Slot, masses: dict[int, float]) -> bool:
    """Only what may be seen on most of the leading candidates is worth a look."""
    absent = sum(m for k, m in masses.items() if slot.classes[k] == {INAPPLICABLE})
    return absent < 0.5


def _expected(slot: Slot, masses: dict[int, float], table: Table) -> float:
    """The bits that the answer brings the true pattern, on average over the candidates and their answers."""
    e, vocabulary = table.settings.error_rate, table.vocabulary
    answers = sorted({a for k in masses for a in slot.exact[k]})
    unsure = masses.get(UNRECORDED, 0.0)
    bits = 0.0
    for a in answers:
        wrong = error(slot.common(a, vocabulary, len(table.patterns)), table.settings)
        like = {k: wrong + (1 - e - wrong) * slot.answer_fit(k, a, vocabulary) for k in masses}
        norm = sum(mass * like[k] for k, mass in masses.items())
        for k, mass in masses.items():
            if a in slot.exact[k]:
                bits += mass / len(slot.exact[k]) * math.log2(like[k] / norm)
        if unsure:
            # Nothing is recorded, but something may be there and be seen.
            chance = slot.answer_fit(UNRECORDED, a, vocabulary)
            bits += unsure * chance * math.log2(like[UNRECORDED] / norm)
    return (1 - e) * bits


def _bin(length: float) -> int:
    return int(BINS * math.log(min(max(length, SHORTEST), LONGEST) / SHORTEST) / math.log(LONGEST / SHORTEST))


def _length_gain(table: Table, weights: dict[int, float]) -> float:
    """As for any slot; a range of sizes made allows all steps that it touches."""
    e = table.settings.error_rate
    spans: dict[tuple[int, int], float] = {}
    recorded = 0.0
    for i, w in weights.items():
        if i in table.lengths:
            low, high = table.lengths[i]
            key = (_bin(low), _bin(high))
            spans[key] = spans.get(key, 0.0) + w
            recorded += w
    if len(spans) < 2 and recorded > 1.0 - 1e-9:
        return 0.0
    bits = 0.0
    wrong = e / table.settings.confusion
    for step in range(BINS + 1):
        rows = []
        for (low, high), w in spans.items():
            inside = low <= step <= high
            fit = 1.0 if inside else _DOUBTFUL if low - 1 <= step <= high + 1 else 0.0
            rows.append((w, 1.0 / (high - low + 1) if inside else 0.0, wrong + (1 - e - wrong) * fit))
        at_random = sum(w * like for w, _, like in rows) / recorded if recorded else 0.5
        norm = sum(w * like for w, _, like in rows) + (1.0 - recorded) * at_random
        bits += sum(w * chance * math.log2(like / norm) for w, chance, like in rows if chance)
    return (1 - e) * bits


def separates(slot: Slot, one: int, two: int) -> bool:
    """True if the recorded facts on a slot tell two patterns apart for certain."""
    a, b = slot.members.get(one, UNRECORDED), slot.members.get(two, UNRECORDED)
    return slot.single and a != b and UNRECORDED not in (a, b) and not slot.classes[a] & slot.classes[b]


def lengths_apart(table: Table, one: int, two: int) -> bool:
    """True if the sizes made of two patterns are recorded and do not meet."""
    if one not in table.lengths or two not in table.lengths:
        return False
    (a, b), (c, d) = table.lengths[one], table.lengths[two]
    return b < c or d < a


def separating(table: Table, one: int, two: int) -> list[str]:
    """The slots that tell two patterns apart, those worth looking at first; what was said of the kind comes last."""
    out = [s.name for s in table.slots.values() if separates(s, one, two)]
    if lengths_apart(table, one, two):
        out.append(LENGTH)
    vocabulary, settings = table.vocabulary, table.settings

    def order(name: str) -> tuple[bool, float, int, str]:
        feature = vocabulary.features.get(name)
        place = feature.order if feature else vocabulary.terms[name].order if name in vocabulary.terms else 99
        return not table.is_seen(name) or name == names.OF_KIND, settings.cost(name), place, name

    return sorted(out, key=order)
