"""What a look at a course answers with, and its JSON (the keys are a contract, see DEVELOPERS.md).

Instruments are (short name, label) pairs in JSON as ``iri`` and ``label``; counts count patterns, variants by themselves, as
``ask`` does.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from kg.names import expand

if TYPE_CHECKING:
    from kg.course.compare_curricula import Changes
    from kg.course.smallest import More, Smallest

Instrument = tuple[str, str]


class Status(StrEnum):
    """How an objective stands. ``UNCONFIRMED``: its question is a proposal; ``OUTSIDE``: the designer says that it is no
    matter for the catalogue; ``IMPOSSIBLE``: its question contradicts itself.
    """

    MET = "met"
    SHORT = "short"
    IMPOSSIBLE = "impossible"
    UNCONFIRMED = "unconfirmed"
    UNMAPPED = "unmapped"
    OUTSIDE = "outside"


def instruments_json(found: tuple[Instrument, ...]) -> list[dict[str, Any]]:
    return [{"iri": expand(name), "label": label} for name, label in found]


@dataclass(frozen=True)
class Claim:
    """An instrument that the file says meets an objective. ``verdict``: "so", "not recorded" or "contradicted"; ``reason``
    what fails or is open, in words."""

    label: str
    verdict: str
    reason: str = ""


@dataclass(frozen=True)
class ObjectiveResult:
    """One objective. ``count``: taught patterns that match; ``instruments``: these; ``inferred``: those of them that match
    only by reasoning; ``in_catalogue``: all patterns that match; ``open_taught``, ``open_in_catalogue``: those that could
    match, since not enough is recorded. ``lacks``: "course" or "catalogue" where it is not met, else empty; ``wanting``:
    subjects of a comparison of which nothing is taught. ``helpful``: patterns not taught that would meet it, the first of
    ``helpful_count``. ``in_session``: taught matches in its own session, None without one. ``words``: the words of a prose
    objective that a proposal was made from. ``by_family``: family -> taught matches.
    """

    id: str
    text: str
    status: Status
    question: str = ""
    reading: str = ""
    count: int = 0
    minimum: int = 1
    weight: float = 1.0
    session: str = ""
    lacks: str = ""
    instruments: tuple[Instrument, ...] = ()
    inferred: tuple[Instrument, ...] = ()
    in_catalogue: int = 0
    open_taught: int = 0
    open_in_catalogue: int = 0
    wanting: tuple[str, ...] = ()
    helpful: tuple[str, ...] = ()
    helpful_count: int = 0
    in_session: int | None = None
    words: tuple[str, ...] = ()
    outside: str = ""
    claims: tuple[Claim, ...] = ()
    by_family: tuple[tuple[str, int], ...] = ()
    file: str = ""
    line: int = 0

    @property
    def met(self) -> bool:
        """Whether it is shown to be met; what is unconfirmed is not."""
        return self.status is Status.MET

    @property
    def would_be_met(self) -> bool:
        """Whether a proposal, once confirmed, would make it met."""
        return self.status in (Status.MET, Status.UNCONFIRMED) and not self.lacks

    def to_json(self) -> dict[str, Any]:
        out = {k: list(v) if isinstance(v, tuple) else v for k, v in self.__dict__.items()}
        del out["claims"], out["by_family"]
        return out | {
            "status": str(self.status),
            "met": self.met,
            "would_be_met": self.would_be_met,
            "labels": [label for _, label in self.instruments],
            "instruments": [i | {"inferred": n in self.inferred} for i, n in self._pairs()],
            "inferred": len(self.inferred),
            "claims": [c.__dict__ for c in self.claims],
            "families": dict(self.by_family),
        }

    def _pairs(self) -> Iterable[tuple[dict[str, Any], Instrument]]:
        return zip(instruments_json(self.instruments), self.instruments, strict=True)


@dataclass(frozen=True)
class Group:
    """A family (what sources call a group: asserted) or a category (defined: inferred), and how much of it is taught.

    ``objectives``: so many objectives reach a member of it.
    """

    name: str
    label: str
    taught: int
    in_catalogue: int
    objectives: int

    def to_json(self) -> dict[str, Any]:
        return {"iri": expand(self.name)} | {k: v for k, v in self.__dict__.items() if k != "name"}


@dataclass(frozen=True)
class FeatureGap:
    """A feature, or the presence of a part, with values that some pattern has and no taught one.

    ``values``: (label, how many patterns of the catalogue have it); ``broadest``: those of them whose broader value is taught;
    ``on_some``: those that some pieces of a taught pattern have, and others have not; ``whole``: no value of it is taught at
    all; ``visible``: it can be seen on the instrument.
    """

    name: str
    label: str
    part: str
    visible: bool
    whole: bool
    values: tuple[tuple[str, int], ...]
    broadest: tuple[str, ...]
    on_some: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        return {
            "iri": expand(self.name),
            "feature": self.label,
            "part": self.part,
            "visible": self.visible,
            "whole": self.whole,
            "values": [{"label": label, "in_catalogue": count} for label, count in self.values],
            "broadest": list(self.broadest),
            "on_some_pieces": list(self.on_some),
        }


@dataclass(frozen=True)
class SplitPair:
    """Two look-alikes that the course never sets side by side. ``how``: "different sessions" or "one is not taught" (then
    the taught one comes first). ``signs``: the features that tell them apart; ``sessions``: where each is shown.
    """

    pair: tuple[Instrument, Instrument]
    how: str
    signs: tuple[str, ...]
    sessions: tuple[tuple[str, ...], tuple[str, ...]] = ((), ())

    def to_json(self) -> dict[str, Any]:
        return {
            "labels": [label for _, label in self.pair],
            "iris": [expand(name) for name, _ in self.pair],
            "how": self.how,
            "told_apart_by": list(self.signs),
            "sessions": [list(s) for s in self.sessions],
        }


@dataclass(frozen=True)
class SessionResult:
    """One session: patterns shown, its objectives, and how many of them are met."""

    id: str
    title: str
    shows: tuple[Instrument, ...]
    objectives: int
    met: int

    def to_json(self) -> dict[str, Any]:
        return self.__dict__ | {"shows": instruments_json(self.shows)}


@dataclass(frozen=True)
class Coverage:
    """What a course covers. ``listed``: the file says what is shown (False: the whole answer of every question was taken as
    taught). ``unreached``: patterns of the catalogue that match no objective, by family; ``idle``: taught ones among them.
    ``repeated``: (pattern, sessions) shown more than once; ``crowded``: ids of objectives met many times over.
    """

    title: str
    files: tuple[str, ...]
    listed: bool
    taught: tuple[Instrument, ...]
    objectives: tuple[ObjectiveResult, ...]
    sessions: tuple[SessionResult, ...]
    families: tuple[Group, ...]
    categories: tuple[Group, ...]
    feature_gaps: tuple[FeatureGap, ...]
    split_pairs: tuple[SplitPair, ...]
    contrasted_pairs: int
    unreached: tuple[tuple[str, tuple[Instrument, ...]], ...]
    idle: tuple[Instrument, ...]
    repeated: tuple[tuple[Instrument, tuple[str, ...]], ...]
    crowded: tuple[str, ...]
    notes: tuple[str, ...]
    verified_by: str
    smallest: Smallest | None = None
    every_value: Smallest | None = None
    more: More | None = None
    changes: Changes | None = None

    @property
    def gaps(self) -> tuple[ObjectiveResult, ...]:
        """Objectives that are not shown to be met, those outside the catalogue left out."""
        return tuple(o for o in self.objectives if not o.met and o.status is not Status.OUTSIDE)

    @property
    def contradictions(self) -> tuple[tuple[ObjectiveResult, Claim], ...]:
        """What the file says of an instrument and the catalogue contradicts."""
        return tuple((o, c) for o in self.objectives for c in o.claims if c.verdict == "contradicted")

    @property
    def complete(self) -> bool:
        """No gap and no contradiction: what ``--strict`` asks for."""
        return not self.gaps and not self.contradictions

    def of(self, status: Status) -> tuple[ObjectiveResult, ...]:
        """The objectives of one status."""
        return tuple(o for o in self.objectives if o.status is status)

    def to_json(self) -> dict[str, Any]:
        out: dict[str, Any] = {
            "title": self.title,
            "files": list(self.files),
            "complete": self.complete,
            "summary": self.summary(),
            "taught": {
                "basis": "listed" if self.listed else "assumed",
                "count": len(self.taught),
                "instruments": instruments_json(self.taught),
            },
            "objectives": [o.to_json() for o in self.objectives],
            "unmapped": [o.id for o in self.of(Status.UNMAPPED)],
            "lacking_in_course": [o.id for o in self.gaps if o.lacks == "course"],
            "lacking_in_catalogue": [o.id for o in self.gaps if o.lacks == "catalogue"],
            "contradictions": [{"objective": o.id, "label": c.label, "reason": c.reason} for o, c in self.contradictions],
            "sessions": [s.to_json() for s in self.sessions],
            "families": [g.to_json() for g in self.families],
            "categories": [g.to_json() for g in self.categories],
            "uncovered_features": [f.to_json() for f in self.feature_gaps],
            "split_lookalikes": [p.to_json() for p in self.split_pairs],
            "contrasted_lookalikes": self.contrasted_pairs,
            "unreached": [{"family": f, "instruments": instruments_json(i)} for f, i in self.unreached],
            "taught_for_no_objective": instruments_json(self.idle),
            "over_taught": {
                "instruments": [{"iri": expand(n), "label": label, "sessions": list(s)} for (n, label), s in self.repeated],
                "objectives": list(self.crowded),
            },
            "notes": list(self.notes),
            "verified_by": self.verified_by,
        }
        for key in ("smallest", "every_value", "more"):
            if (part := getattr(self, key)) is not None:
                out[key] = part.to_json()
        if self.changes is not None:
            out["against"] = self.changes.to_json()
        return out

    def summary(self) -> dict[str, Any]:
        """Status -> number of objectives, and the share of the weight that is met (of what is not outside)."""
        inside = [o for o in self.objectives if o.status is not Status.OUTSIDE]
        total = sum(o.weight for o in inside)
        share = sum(o.weight for o in inside if o.met) / total if total else 0.0
        return {str(s): len(self.of(s)) for s in Status} | {"weight_met": round(share, 4)}
