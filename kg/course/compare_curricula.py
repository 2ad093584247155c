"""What differs between two courses, or two versions of one: objectives, what is taught, and what that does to the coverage."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from kg.course.gaps import DIFFERENT
from kg.course.records import Coverage, Instrument, ObjectiveResult, instruments_json

_WORDS = ("text", "question", "minimum", "weight", "session")
"""What an objective says; how it stands follows from that and from what is taught."""


@dataclass(frozen=True)
class Changes:
    """``title``: the older course. ``reworded``: (id, what, before, after); ``moved``: (id, status before, status now);
    ``share``: the weight met before and now. Values are texts such as "jaw surface: smooth jaws"; pairs are of labels.
    """

    title: str
    added: tuple[str, ...]
    removed: tuple[str, ...]
    reworded: tuple[tuple[str, str, str, str], ...]
    moved: tuple[tuple[str, str, str], ...]
    taught_added: tuple[Instrument, ...]
    taught_removed: tuple[Instrument, ...]
    values_gained: tuple[str, ...]
    values_lost: tuple[str, ...]
    pairs_joined: tuple[tuple[str, str], ...]
    pairs_split: tuple[tuple[str, str], ...]
    share: tuple[float, float]

    @property
    def same(self) -> bool:
        """Nothing differs."""
        lists = [v for k, v in self.__dict__.items() if k not in ("title", "share")]
        return not any(lists) and self.share[0] == self.share[1]

    def to_json(self) -> dict[str, Any]:
        return {
            "title": self.title,
            "same": self.same,
            "objectives_added": list(self.added),
            "objectives_removed": list(self.removed),
            "objectives_reworded": [{"id": i, "what": w, "before": b, "after": a} for i, w, b, a in self.reworded],
            "status_changed": [{"id": i, "before": b, "after": a} for i, b, a in self.moved],
            "taught_added": instruments_json(self.taught_added),
            "taught_removed": instruments_json(self.taught_removed),
            "values_gained": list(self.values_gained),
            "values_lost": list(self.values_lost),
            "lookalikes_joined": [list(p) for p in self.pairs_joined],
            "lookalikes_split": [list(p) for p in self.pairs_split],
            "weight_met": list(self.share),
        }


def changes(old: Coverage, new: Coverage) -> Changes:
    """What differs in ``new`` from ``old``. Objectives are the same if they have the same id."""
    before, after = ({o.id: o for o in c.objectives} for c in (old, new))
    both = [i for i in after if i in before]
    old_pairs, new_pairs = (_pairs(c) for c in (old, new))
    old_values, new_values = (_values(c) for c in (old, new))
    return Changes(
        title=old.title,
        added=tuple(i for i in after if i not in before),
        removed=tuple(i for i in before if i not in after),
        reworded=tuple(r for i in both for r in _reworded(before[i], after[i])),
        moved=tuple((i, standing(before[i]), standing(after[i])) for i in both if standing(before[i]) != standing(after[i])),
        taught_added=_without(new.taught, old.taught),
        taught_removed=_without(old.taught, new.taught),
        values_gained=_without(old_values, new_values),
        values_lost=_without(new_values, old_values),
        pairs_joined=_without(old_pairs, new_pairs),
        pairs_split=_without(new_pairs, old_pairs),
        share=(old.summary()["weight_met"], new.summary()["weight_met"]),
    )


def standing(objective: ObjectiveResult) -> str:
    """How an objective stands, in words: "met", "short: the course lacks it", "unconfirmed"."""
    if objective.status == "short":
        return f"short: the {objective.lacks} lacks it"
    return str(objective.status)


def _reworded(old: ObjectiveResult, new: ObjectiveResult) -> Iterable[tuple[str, str, str, str]]:
    for what in _WORDS:
        one, other = getattr(old, what), getattr(new, what)
        if one != other:
            yield old.id, what, _said(one), _said(other)


def _said(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _values(coverage: Coverage) -> tuple[str, ...]:
    """Values of which nothing is taught."""
    return tuple(f"{g.label}: {label}" for g in coverage.feature_gaps for label, _ in g.values)


def _pairs(coverage: Coverage) -> tuple[tuple[str, str], ...]:
    """Look-alikes that are both taught but never side by side, as sorted labels."""
    found = [sorted(label for _, label in p.pair) for p in coverage.split_pairs if p.how == DIFFERENT]
    return tuple((a, b) for a, b in found)


def _without(items: Iterable[Any], others: Iterable[Any]) -> tuple[Any, ...]:
    gone = set(others)
    return tuple(i for i in items if i not in gone)
