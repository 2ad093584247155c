"""The records of a plan and their JSON. Minutes are numbers; tuples are in the order in which they are shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from kg.course.minutes import Estimate
from kg.names import expand


@dataclass(frozen=True)
class Sign:
    """What to point at. ``mark`` is empty, "disputed", or what it rests on at best where no published human source suffices."""

    feature: str
    value: str
    mark: str = ""

    def to_json(self) -> dict[str, Any]:
        return dict(self.__dict__)


@dataclass(frozen=True)
class Step:
    """One instrument of a running order.

    ``start``: minutes since the session began; ``shown_with``: variants taught with it; ``beside``: the look-alike taught
    before it that it is set beside; ``signs``: what tells it from its look-alikes in this session, else from most others;
    ``same``: look-alikes that no recorded sign tells from it; ``expect``: the answer to ``ask_next``; ``elsewhere``:
    (look-alike, number of its session); ``rests_on``: (what it rests on at best, what is said of the instrument that does).
    """

    name: str
    label: str
    start: float
    minutes: float
    say: str
    point_at: str
    ask_next: str
    expect: str
    hardness: int
    shown_with: tuple[str, ...] = ()
    beside: str = ""
    signs: tuple[Sign, ...] = ()
    same: tuple[str, ...] = ()
    elsewhere: tuple[tuple[str, int], ...] = ()
    rests_on: tuple[tuple[str, tuple[str, ...]], ...] = ()

    def to_json(self) -> dict[str, Any]:
        return {
            "label": self.label,
            "iri": expand(self.name),
            "start": self.start,
            "minutes": self.minutes,
            "say": self.say,
            "point_at": self.point_at,
            "ask_next": self.ask_next,
            "expect": self.expect,
            "shown_with": list(self.shown_with),
            "beside": self.beside or None,
            "signs": [s.to_json() for s in self.signs],
            "not_told_from": list(self.same),
            "look_alikes_elsewhere": [{"label": label, "session": n} for label, n in self.elsewhere],
            "rests_on": {basis: list(what) for basis, what in self.rests_on},
            "hardness": self.hardness,
        }


@dataclass(frozen=True)
class Session:
    """``minutes``: the whole of it, the closing round of ``mixed_minutes`` included; ``mixed``: its order, as labels."""

    number: int
    minutes: float
    script: tuple[Step, ...]
    mixed: tuple[str, ...]
    mixed_minutes: float
    hardness: float

    def to_json(self) -> dict[str, Any]:
        return {
            "number": self.number,
            "minutes": self.minutes,
            "labels": [s.label for s in self.script],
            "script": [s.to_json() for s in self.script],
            "mixed_round": {"minutes": self.mixed_minutes, "labels": list(self.mixed)},
            "hardness": self.hardness,
        }


@dataclass(frozen=True)
class Split:
    """Two look-alikes in two sessions; ``signs``: (feature, of the one, of the other)."""

    labels: tuple[str, str]
    sessions: tuple[int, int]
    signs: tuple[tuple[str, str, str], ...]
    reason: str

    def to_json(self) -> dict[str, Any]:
        return {
            "labels": list(self.labels),
            "sessions": list(self.sessions),
            "deciding_signs": [{"feature": f, "values": [a, b]} for f, a, b in self.signs],
            "reason": self.reason,
        }


@dataclass(frozen=True)
class Achieved:
    """One figure of the objective: its value, what no plan can better, and whether the two are proved to be equal."""

    what: str
    value: float
    at_least: float
    proved: bool

    def to_json(self) -> dict[str, Any]:
        return {"what": self.what, "value": self.value, "at_least": self.at_least, "proved": self.proved}


@dataclass(frozen=True)
class Plan:
    """A topic cut into sessions of at most ``limit`` minutes. Without sessions nothing fits the question.

    ``pairs``: how many pairs of look-alikes there are in the topic; ``objective``: in the order in which the figures count;
    ``possible``: how many more instruments could fit the question but are undecided, and left out; ``timed_out``: the clock
    stopped the search, so that another run may find another plan.
    """

    question: str
    reading: str
    limit: int
    seconds: int
    sessions: tuple[Session, ...]
    splits: tuple[Split, ...]
    pairs: int
    objective: tuple[Achieved, ...]
    estimate: Estimate
    possible: int = 0
    timed_out: bool = False
    notes: tuple[str, ...] = ()
    verified_by: str = ""
    sparql: str = ""

    @property
    def proof(self) -> str:
        return "proved best" if all(f.proved for f in self.objective) else "best found"

    def to_json(self) -> dict[str, Any]:
        return {
            "question": self.question,
            "reading": self.reading,
            "kind": "plan",
            "sparql": self.sparql,
            "minutes_limit": self.limit,
            "seconds_limit": self.seconds,
            "sessions": [s.to_json() for s in self.sessions],
            "split_lookalikes": [s.to_json() for s in self.splits],
            "lookalike_pairs": self.pairs,
            "objective": [f.to_json() for f in self.objective],
            "proof": self.proof,
            "timed_out": self.timed_out,
            "possible_count": self.possible,
            "estimate": self.estimate.to_json(),
            "notes": list(self.notes),
            "verified_by": self.verified_by,
        }
