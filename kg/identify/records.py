"""What identification answers with, and its JSON (the keys are a contract, see DEVELOPERS.md)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from kg.model import Shown
from kg.names import expand


@dataclass(frozen=True)
class Candidate:
    """A pattern that it may be, the best-fitting of its variants standing for all. ``probability`` 0 to 1.

    ``agrees`` and ``disagrees`` are clauses of what was seen; ``unknown`` those on which nothing decisive is recorded.
    """

    name: str
    label: str
    probability: float
    agrees: tuple[str, ...] = ()
    disagrees: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    variant_of: str = ""

    def to_json(self) -> dict[str, Any]:
        out: dict[str, Any] = {
            "iri": expand(self.name),
            "label": self.label,
            "probability": round(self.probability, 6),
            "agrees": list(self.agrees),
            "disagrees": list(self.disagrees),
            "unknown": list(self.unknown),
        }
        return out | ({"variant_of": expand(self.variant_of)} if self.variant_of else {})


@dataclass(frozen=True)
class Look:
    """A feature or part worth looking at next. ``bits``: what the answer is expected to give, less what seeing it costs.

    ``examples``: values that the leading candidates have.
    """

    slot: str
    feature: str
    bits: float
    examples: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        return {"iri": expand(self.slot), "feature": self.feature, "bits": round(self.bits, 4), "examples": list(self.examples)}


@dataclass(frozen=True)
class Claim:
    """What speaks for and against one name, by what was seen. ``place`` is its rank among the candidates, from 1."""

    name: str
    label: str
    probability: float
    place: int
    for_: tuple[str, ...]
    against: tuple[str, ...]
    not_recorded: tuple[str, ...]
    spoken: str

    def to_json(self) -> dict[str, Any]:
        return {
            "iri": expand(self.name),
            "label": self.label,
            "probability": round(self.probability, 6),
            "place": self.place,
            "for": list(self.for_),
            "against": list(self.against),
            "not_recorded": list(self.not_recorded),
            "spoken": self.spoken,
        }


STANDS_OUT = 0.3
"""A candidate with less probability is not what "it" means in a question that follows."""
MOST_ALIKE = 6
"""So many are meant then."""


@dataclass(frozen=True)
class Seen:
    """One observation as it was understood: ``text`` what was said, ``reading`` in canonical words."""

    text: str
    reading: str

    def to_json(self) -> dict[str, Any]:
        return {"text": self.text, "reading": self.reading}


@dataclass(frozen=True)
class Identification(Shown):
    """The outcome of what was seen so far, most probable candidate first.

    ``candidates`` is a first page; ``count`` counts all, whose probabilities add up to 1. ``inseparable``: labels of leading
    candidates that no recorded feature tells apart, one group each. ``settled``: "named" (probability 0.9 or more),
    "inseparable" (so much lies on one such group), "no more" (nothing is left that would tell) or "" (go on looking).
    ``set_aside``: what was not understood and left out; ``nearest``: the nearest known word of each, empty if there is none.
    """

    seen: tuple[Seen, ...]
    candidates: tuple[Candidate, ...]
    count: int
    next: tuple[Look, ...]
    inseparable: tuple[tuple[str, ...], ...]
    spoken: str
    settled: str = ""
    claim: Claim | None = None
    notes: tuple[str, ...] = ()
    set_aside: tuple[str, ...] = ()
    nearest: tuple[str, ...] = ()

    @property
    def alike(self) -> int:
        """How many candidates are about as likely as the first, if none stands out; else 0."""
        first = self.candidates[0].probability if self.candidates else 1.0
        near = sum(2 * c.probability >= first for c in self.candidates)
        return 0 if self.settled or first >= STANDS_OUT else min(near, MOST_ALIKE)

    def to_json(self) -> dict[str, Any]:
        out: dict[str, Any] = {
            "observations": [s.to_json() for s in self.seen],
            "candidates": [c.to_json() for c in self.candidates],
            "candidate_count": self.count,
            "next": [n.to_json() for n in self.next],
            "inseparable": [list(group) for group in self.inseparable],
            "spoken": self.spoken,
            "settled": self.settled,
            "notes": list(self.notes),
            "not_understood": list(self.set_aside),
            "nearest_words": list(self.nearest),
        }
        return out | ({"claim": self.claim.to_json()} if self.claim else {})
