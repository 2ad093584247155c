"""How well what was seen fits each pattern: the likelihood of an observation, for all patterns at once.

An observation is a description in normal form (``kg.truth``). Its *fit* to a pattern is the chance that a piece of the
pattern answers to it: 1 if all values that are possible answer to it, 0 if none does, else the share of those that do.
Where nothing is recorded that is the share among the patterns of which something is recorded, so that what is not recorded
counts neither way. ``likelihood`` makes room for error: no observation rules a pattern out for good.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from kg import names
from kg.identify.settings import Settings
from kg.identify.table import UNRECORDED, Table
from kg.truth import All, AnyOf, Constant, Form, Includes, Interval, Is, Known, Lengths, Member, OneOf, opened


def likelihoods(form: Form, table: Table) -> list[float]:
    """The likelihood of an observation for every pattern of the table, each above 0 and below 1."""
    found = fits(form, table)
    wrong = error(sum(found) / len(found), table.settings, uses=_speaks_of_use(form, table))
    right = 1.0 - table.settings.error_rate
    return [wrong + (right - wrong) * fit for fit in found]


def _speaks_of_use(form: Form, table: Table) -> bool:
    """Whether a form says what an instrument is for, which is seldom mistaken for something rare."""
    match form:
        case Includes(feature, _, positive):
            return positive and table.vocabulary.features[feature].order >= table.settings.seen_before
        case OneOf(slot, _) if slot in table.vocabulary.features:
            return table.vocabulary.features[slot].order >= table.settings.seen_before
        case AnyOf(items):
            return all(_speaks_of_use(i, table) for i in items)
    return False


def error(common: float, settings: Settings, *, uses: bool = False) -> float:
    """The chance of making just this observation in error. ``common``: the share of patterns that answer to it.

    The error rate is the chance that an observation is wrong; a wrong one is as likely to be this one as this one is
    common, within bounds: what is rare is seldom seen by mistake. ``uses``: what is said is a use.
    """
    odds = common / (1.0 - common) if common < 0.5 else 1.0
    return settings.error_rate * max(odds, 1.0 / (settings.use_confusion if uses else settings.confusion))


def fits(form: Form, table: Table) -> list[float]:
    """The fit of a form to every pattern, 0 to 1."""
    match form:
        case Constant(value):
            return [1.0 if value > 0 else 0.0] * len(table.patterns)
        case Is(pattern, positive):
            return [float((pattern in f.known.line) is positive) for f in table.facts]
        case OneOf(slot, allowed):
            return _one_of(slot, allowed, table)
        case Includes(feature, value, positive):
            found = _includes(feature, value, table)
            return found if positive else [1.0 - x for x in found]
        case Member(category, conditions):
            inner = fits(opened(conditions), table)
            literal = (names.TYPE, category)
            return [1.0 if literal in f.known.holds else x for f, x in zip(table.facts, inner, strict=True)]
        case Lengths(intervals):
            return _lengths(intervals, table)
        case All(items):
            return [math.prod(column) for column in zip(*(fits(i, table) for i in items), strict=True)]
        case AnyOf(items):
            columns = zip(*(fits(i, table) for i in items), strict=True)
            return [1.0 - math.prod(1.0 - x for x in column) for column in columns]
    raise TypeError(f"not a form: {form!r}")


def _one_of(name: str, allowed: frozenset[str], table: Table) -> list[float]:
    slot = table.slots[name]
    shares = [slot.share(k, allowed) for k in range(len(slot.classes))]
    members = slot.members
    out = [shares[members.get(i, UNRECORDED)] for i in range(len(table.patterns))]
    part = name not in table.vocabulary.features
    disputed = table.settings.disputed_fit
    for i, facts in enumerate(table.facts):
        if facts.disputed and out[i] < disputed:
            said = {(p, v) for p, v in facts.disputed if (v == name if part else p == name)}
            if any((p if part else v) in allowed for p, v in said):
                out[i] = disputed
    return out


def _includes(feature: str, value: str, table: Table) -> list[float]:
    """A feature with many values lacks a value only if a source denies it; else it may have it, by how common that is, among
    those with the same broader value where that is recorded."""
    vocabulary = table.vocabulary
    denies = {f.name for f in vocabulary.features.values() if f.denies == feature}
    slot, above = table.slots.get(feature), vocabulary.ancestors(value)
    out = []
    for i, facts in enumerate(table.facts):
        known = facts.known
        if (feature, value) in known.holds:
            out.append(1.0)
        elif feature in known.inapplicable or _denied(feature, value, denies, known, table):
            out.append(0.0)
        elif slot is None:
            out.append(0.5)
        else:
            broader = [slot.weight[a] for a in above if (feature, a) in known.holds and slot.weight.get(a)]
            narrowed = slot.weight.get(value, 0.0) / min(broader) if broader else 0.0
            out.append(max(slot.includes(slot.members.get(i, UNRECORDED), value), narrowed))
    return out


def _denied(feature: str, value: str, denies: set[str], known: Known, table: Table) -> bool:
    said = {*known.denied.get(feature, ()), *(v for f, v in known.holds if f in denies)}
    return any(value in table.vocabulary.subtree(v) for v in said)


def _lengths(intervals: Sequence[Interval], table: Table) -> list[float]:
    """Within the range of sizes made the fit is 1; outside it falls off as the eye's error does."""
    known = {i: _length_fit(intervals, span, table) for i, span in table.lengths.items()}
    at_random = sum(known.values()) / len(known) if known else 0.5
    return [known.get(i, at_random) for i in range(len(table.patterns))]


def _length_fit(intervals: Sequence[Interval], span: tuple[float, float], table: Table) -> float:
    low, high = span
    best = 0.0
    for a, _, b, _ in intervals:
        gap = max(a - high, low - b, 0.0)
        near = b if low > b else a
        sigma = max(table.settings.length_least, table.settings.length_share * near)
        best = max(best, math.exp(-0.5 * (gap / sigma) ** 2))
    return best
