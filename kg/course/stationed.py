"""The records of a circuit of stations and their JSON, for the examiner and for the candidate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from kg.names import expand


@dataclass(frozen=True)
class Point:
    """One thing that an examiner listens for. ``marks`` 0: welcome, but no mark rests on it.

    ``also``: what is as right (the other side of a dispute, another name); ``flag`` is empty, "disputed", "inferred", or what
    it rests on at best where no published human source suffices; ``sources`` who says so.
    """

    text: str
    about: str
    marks: int
    also: tuple[str, ...] = ()
    flag: str = ""
    sources: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        return {
            "text": self.text,
            "about": self.about,
            "marks": self.marks,
            "also_accepted": list(self.also),
            "flag": self.flag,
            "sources": list(self.sources),
        }


@dataclass(frozen=True)
class MarkedStep:
    """A step of a station. ``answer`` is the model answer in sentences; at least one point has marks."""

    step: str
    answer: str
    points: tuple[Point, ...]

    @property
    def marks(self) -> int:
        return sum(p.marks for p in self.points)

    def to_json(self) -> dict[str, Any]:
        points = [p.to_json() for p in self.points]
        return {"step": self.step, "marks": self.marks, "answer": self.answer, "facts": points}


@dataclass(frozen=True)
class Station:
    """One station. ``shown``: (letter, pattern, label) of what lies there; the letter is empty if it is one instrument."""

    number: int
    task: str
    family: str
    prompt: str
    shown: tuple[tuple[str, str, str], ...]
    steps: tuple[MarkedStep, ...]
    notes: tuple[str, ...] = ()

    @property
    def marks(self) -> int:
        return sum(s.marks for s in self.steps)

    def to_json(self, *, candidate: bool = False) -> dict[str, Any]:
        """``candidate``: only what a candidate may read."""
        out: dict[str, Any] = {"number": self.number, "prompt": self.prompt, "marks": self.marks}
        if candidate:
            return out
        steps = [s.to_json() for s in self.steps]
        return out | {
            "task": self.task,
            "family": self.family,
            "instruments": [{"letter": x, "iri": expand(n), "label": label} for x, n, label in self.shown],
            "answer": " ".join(s.answer for s in self.steps),
            "steps": steps,
            "facts": [fact | {"step": s["step"]} for s in steps for fact in s["facts"]],
            "sources": list(dict.fromkeys(source for s in self.steps for p in s.points for source in p.sources)),
            "notes": list(self.notes),
        }


@dataclass(frozen=True)
class Cell:
    """One cell of the blueprint: so many items it should have, to a fraction, and so many it has. ``reason``: why it has fewer
    by one or more, empty if it has not."""

    family: str
    task: str
    target: float
    items: int
    reason: str = ""

    def to_json(self) -> dict[str, Any]:
        return _told(self)


@dataclass(frozen=True)
class Share:
    """What a whole family or a whole task should have of the items, to a fraction, and what it has; ``reason`` as in a cell."""

    label: str
    target: float
    items: int
    reason: str = ""

    def to_json(self) -> dict[str, Any]:
        return _told(self)


def _told(part: Cell | Share) -> dict[str, Any]:
    """A part of the blueprint with how far it is off."""
    return dict(part.__dict__) | {"deviation": round(part.items - part.target, 4)}


@dataclass(frozen=True)
class Circuit:
    """A set of stations. ``wanted``: how many were asked for; ``proved``: no choice is nearer to the blueprint."""

    question: str
    reading: str
    seed: int
    wanted: int
    items: tuple[Station, ...]
    cells: tuple[Cell, ...]
    families: tuple[Share, ...]
    tasks: tuple[Share, ...]
    own_blueprint: bool
    proved: bool
    look_alikes: bool
    possible: int = 0
    notes: tuple[str, ...] = ()
    verified_by: str = ""
    sparql: str = ""

    @property
    def marks(self) -> int:
        return sum(s.marks for s in self.items)

    def to_json(self, *, candidate: bool = False) -> dict[str, Any]:
        items = [s.to_json(candidate=candidate) for s in self.items]
        if candidate:
            return {"kind": "stations", "sheet": "candidate", "count": len(items), "marks": self.marks, "items": items}
        return {
            "question": self.question,
            "reading": self.reading,
            "kind": "stations",
            "sparql": self.sparql,
            "seed": self.seed,
            "wanted": self.wanted,
            "count": len(items),
            "marks": self.marks,
            "items": items,
            "blueprint": [c.to_json() for c in self.cells],
            "families": [s.to_json() for s in self.families],
            "tasks": [s.to_json() for s in self.tasks],
            "own_blueprint": self.own_blueprint,
            "proof": "proved best" if self.proved else "best found",
            "look_alikes_allowed": self.look_alikes,
            "possible_count": self.possible,
            "notes": list(self.notes),
            "verified_by": self.verified_by,
        }
