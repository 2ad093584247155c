"""Hand-made answers, and a screen that keeps what is shown."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass
from types import SimpleNamespace

import pytest

from kg.model import (
    Answer,
    Argument,
    Comparison,
    Difference,
    Disputed,
    Grouped,
    Match,
    Possible,
    Quote,
    Reason,
    Valued,
)
from repl.screen import Screen

ONE = Quote("longitudinal serration", ("Notes A, University", "Notes B, Journal", "Notes C", "Notes D"))
OTHER = Quote("criss-cross serration", ("common practice, no published source found",))


@dataclass
class Shown:
    """A screen of fixed width with the text of both its streams."""

    screen: Screen

    @property
    def out(self) -> str:
        return self.screen.out.getvalue()  # type: ignore[attr-defined]

    @property
    def err(self) -> str:
        return self.screen.err.getvalue()  # type: ignore[attr-defined]


def make_screen(width: int = 80, *, colour: bool = False, form: str = "text") -> Shown:
    return Shown(Screen(io.StringIO(), io.StringIO(), lambda: width, colour, colour, form))


@pytest.fixture
def new_screen() -> Callable[..., Shown]:
    """Makes a screen: ``new_screen(width, colour=False, form="text")``."""
    return make_screen


@pytest.fixture
def made() -> SimpleNamespace:
    """The functions below that make an answer of each kind, by name."""
    return SimpleNamespace(**EVERY)


def found() -> Answer:
    """A filter with everything: variants, bases, a dispute of two patterns, and two reasons why others could match."""
    missing = ("jaw surface: longitudinal serration",)
    return Answer(
        "clamps with longitudinal serration",
        "clamps with longitudinal serration",
        "filter",
        sparql="SELECT ?p WHERE { ?p a bl:Clamp }",
        matches=(
            Match("bl:Kelly", "Kelly forceps", True),
            Match("bl:CurvedKelly", "curved Kelly forceps", True, "", "bl:Kelly"),
            Match("bl:StraightKelly", "straight Kelly forceps", True, "veterinary", "bl:Kelly"),
            Match("bl:Glover", "Glover clamp", True, "memory"),
            Match("bl:CurvedDoyen", "curved Doyen intestinal clamp", True, "common practice", "bl:Doyen"),
        ),
        possible=(
            Possible("bl:A", "Blalock clamp", missing, "not recorded"),
            Possible("bl:B", "bulldog clamp", missing, "recorded only as serrated jaws"),
            Possible("bl:C", "Pace-Potts clamp", missing, "not recorded"),
        ),
        possible_count=23,
        disputed=(
            Disputed("bl:D", "Doyen intestinal clamp", "jaw surface", ONE, (OTHER,)),
            Disputed("bl:E", "straight Doyen intestinal clamp", "jaw surface", ONE, (OTHER,)),
            Disputed("bl:F", "DeBakey vascular clamp", "jaw surface", Quote("", ()), (OTHER, ONE)),
        ),
        pattern_count=3,
        notes=("A caution that belongs to this answer.",),
        next_questions=("compare Kelly forceps and Crile forceps",),
        verified_by="HermiT 1.4",
    )


def nothing() -> Answer:
    return Answer("q", "crushing clamps that are non-crushing", "filter", verified_by="not verified by HermiT")


def valued() -> Answer:
    four = ("F921, ASTM", "Hemostat, Wikipedia", "A third", "A fourth")
    values = (
        Valued("box lock", "adopted", four, "forceps in general", "joint"),
        Valued("curved", "made with", ("A third",), "Kelly forceps", "curvature"),
        Valued("straight", "made with", ("A third",), "Kelly forceps", "curvature"),
        Valued("traumatic", "inferred", (), "Kelly forceps", "trauma"),
    )
    return Answer("q", "what is recorded of Kelly forceps?", "value", values=values, verified_by="HermiT 1.4")


def unrecorded() -> Answer:
    values = (Valued("not recorded", "not recorded", (), "Kelly forceps", "jaw insert"),)
    return Answer("q", "what is the jaw insert of Kelly forceps?", "value", values=values)


def compared() -> Answer:
    extent = Difference(
        "jaws",
        "extent of the serration",
        (("Kelly forceps", ("distal half",)), ("Crile forceps", ("full length",))),
        True,
        (("Kelly forceps", ("Notes A", "Notes B", "Notes C")), ("Crile forceps", ("Notes B",))),
    )
    alike = (("Kelly forceps", ("transverse",)), ("Crile forceps", ("transverse",)))
    surface = Difference("jaws", "jaw surface", alike)
    unknown = Difference("tip", "tip shape", (("Kelly forceps", ("not recorded",)), ("Crile forceps", ("fine tip",))))
    sign = "Extent of the serration — Kelly forceps: distal half; Crile forceps: full length."
    comparison = Comparison(
        ("Kelly forceps", "Crile forceps"), (extent,), (surface,), (unknown,), (sign,), (), ("adopted facts",)
    )
    reading = "compare Kelly forceps and Crile forceps"
    return Answer("q", reading, "compare", comparison=comparison, verified_by="HermiT 1.4")


def argued() -> Answer:
    first = Reason("The Doyen clamp is made for clamping bowel.", ("Notes A", "Notes B", "Notes C", "Notes D"))
    second = Reason("The Doyen clamp is non-crushing.", ("Notes A",), disputed=True)
    third = Reason("A non-crushing clamp is a clamp that is non-crushing.", ())
    ways = ((first, second, third), (first, third))
    argument = Argument("why is Doyen clamp a non-crushing clamp?", True, ways)
    return Answer("q", "why is Doyen clamp a non-crushing clamp?", "why", argument=argument, verified_by="HermiT 1.4")


def grouped() -> Answer:
    variant = Match("bl:CurvedKelly", "curved Kelly forceps", variant_of="bl:Kelly")
    matches = (Match("bl:Kelly", "Kelly forceps"), variant)
    groups = (
        Grouped("haemostatic", 2, ("curved Kelly forceps", "Kelly forceps")),
        Grouped("not recorded", 0, ()),
    )
    return Answer("q", "forceps by purpose", "group", matches=matches, groups=groups, pattern_count=1)


EVERY = {f.__name__: f for f in (found, nothing, valued, unrecorded, compared, argued, grouped)}
