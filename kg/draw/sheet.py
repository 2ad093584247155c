"""A drawing before it has a page: views made of items, items made of strokes, each item with the facts it shows.

Models work in millimetres of the instrument; the page scales them, and strokes keep their weight on paper.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field
from typing import Any

from kg.draw.choices import ABSENT, UNKNOWN, VARIES, Choice, Choices
from kg.draw.paths import Path, Point, bounds
from kg.names import HAS_PART

SOLID, LINE, BOLD, INK, HAIR, SHADE, HOLE, GHOST = "solid", "line", "bold", "ink", "hair", "shade", "hole", "ghost"


@dataclass(frozen=True)
class Tag:
    """A fact that an item shows: ``feature`` and ``value`` by short name, and how well it is known."""

    feature: str
    value: str
    status: str


@dataclass
class Item:
    """Strokes that show the same facts. ``dashed``: what they show is not recorded; ``ghost``: another way it is made."""

    tags: tuple[Tag, ...] = ()
    dashed: bool = False
    label: str = ""
    anchor: Point | None = None
    slots: tuple[str, ...] = ()
    strokes: list[tuple[str, tuple[Path, ...]]] = field(default_factory=list)
    some: bool = False
    """Whether only some pieces have it: then everything of it is an outline."""
    move: Callable[[Point], Point] | None = None

    def _add(self, kind: str, paths: Iterable[Path]) -> Item:
        move = self.move
        found = tuple(p.map(move) if move else p for p in paths if p.runs)
        if found:
            self.strokes.append((GHOST if self.some else kind, found))
        return self

    def solid(self, *paths: Path) -> Item:
        """Bodies with one common outline; what lies under them is covered."""
        return self._add(SOLID, paths)

    def line(self, *paths: Path) -> Item:
        """Thin lines on a body."""
        return self._add(LINE, paths)

    def bold(self, *paths: Path) -> Item:
        """Lines as heavy as an outline, with nothing covered."""
        return self._add(BOLD, paths)

    def hair(self, *paths: Path) -> Item:
        """The thinnest lines, for hatching."""
        return self._add(HAIR, paths)

    def ink(self, *paths: Path) -> Item:
        """Black surfaces."""
        return self._add(INK, paths)

    def shade(self, *paths: Path) -> Item:
        """Grey surfaces without an outline."""
        return self._add(SHADE, paths)

    def hole(self, *paths: Path) -> Item:
        """Openings: the paper shows through."""
        return self._add(HOLE, paths)

    def ghost(self, *paths: Path) -> Item:
        """Outlines of another way in which it is made."""
        return self._add(GHOST, paths)

    def at(self, x: float, y: float) -> Item:
        """Where the label's leader line ends; the first place given stays."""
        if self.anchor is None:
            self.anchor = self.move((x, y)) if self.move else (x, y)
        return self


@dataclass
class View:
    """One picture. ``caption`` is empty for the main view; ``room``: its greatest height on paper in millimetres (0: free)."""

    name: str
    caption: str = ""
    items: list[Item] = field(default_factory=list)
    note: str = ""

    def bounds(self) -> tuple[float, float, float, float]:
        """(left, top, right, bottom) of all strokes; (0, 0, 1, 1) if there are none."""
        points = [p for i in self.items for _, paths in i.strokes for path in paths for p in path.points()]
        return bounds(points) if points else (0.0, 0.0, 1.0, 1.0)


@dataclass
class Place:
    """A place of the main picture: its middle, half the height of what is there, its direction in degrees, glyphs so far."""

    x: float
    y: float
    half: float
    angle: float = 0.0
    used: int = 0


class Sheet:
    """What a model draws on. ``length`` is the length to draw in millimetres; ``views`` hold the main view first."""

    def __init__(self, choices: Choices, length: float) -> None:
        self.choices = choices
        self.length = length
        self.views: list[View] = [View("main")]
        self.move: Callable[[Point], Point] | None = None
        self.places: dict[str, Place] = {}

    def place(self, name: str, x: float, y: float, half: float, angle: float = 0.0) -> None:
        """Where glyphs of parts go that the model does not know; the first place of a name stays."""
        if self.move:
            (ax, ay), (bx, by) = self.move((x, y)), self.move((x + 1.0, y))
            x, y, angle = ax, ay, math.degrees(math.atan2(by - ay, bx - ax))
        self.places.setdefault(name, Place(x, y, half, angle))

    def set(self, key: str, default: Any = None) -> Any:
        """A setting of the body."""
        return self.choices.settings.get(key, default)

    def get(self, parameter: str, *, quiet: bool = False, knows: Collection[str] | None = None) -> Choice:
        """The setting of a parameter; see ``Choices.choice``."""
        return self.choices.choice(parameter, quiet=quiet, knows=knows)

    @property
    def empty(self) -> bool:
        """Whether nothing is recorded that could be drawn: then even what the family has in common is dashed."""
        return self.choices.empty

    @property
    def main(self) -> View:
        return self.views[0]

    def detail(self, name: str, caption: str) -> View:
        """A further view, or the one of that name if there is one already."""
        for view in self.views:
            if view.name == name:
                return view
        self.views.append(View(name, caption))
        return self.views[-1]

    def item(self, *shown: Choice, view: View | None = None, label: str | None = None, dashed: bool | None = None) -> Item:
        """A new item that shows these choices; what is absent shows nothing.

        It is dashed if none of them is recorded. ``label``: None says what is shown, "" says nothing.
        """
        real = [c for c in shown if c.slot and (c.tokens or c.values) and c.status != ABSENT]
        if dashed is None:
            dashed = bool(shown) and not any(c.recorded for c in shown)
        item = Item(
            # A solid stroke says nothing of what is not recorded.
            tags=tuple(t for c in real if dashed or c.recorded for t in tags_of(c)),
            dashed=dashed,
            label=label_of(real) if label is None else label,
            slots=tuple(c.slot for c in real),
            some=bool(shown) and shown[0].status == VARIES and len(shown[0].tokens) == 1,
            move=self.move,
        )
        (view or self.main).items.append(item)
        return item


def tags_of(choice: Choice) -> tuple[Tag, ...]:
    """The facts that an item drawn from a choice shows: a part as "has part", a feature by its values."""
    if choice.part:
        value = choice.slot if choice.status != UNKNOWN else ""
        return (Tag(HAS_PART if value else choice.slot, value, choice.status),)
    values = choice.drawn_values() if choice.recorded else ("",)
    return tuple(Tag(choice.slot, value, choice.status) for value in values)


def label_of(choices: Iterable[Choice]) -> str:
    """What an item shows, in words: the first two values that are recorded, else the part.

    What is not recorded stands in the key.
    """
    found = list(choices)
    values = [c.text for c in found if c.recorded and not c.part and c.tokens and not c.bare]
    parts = [c.text for c in found if c.recorded and c.part and c.tokens]
    shown = values[:2] or parts[:1] or [f"{c.text}: not recorded" for c in found[:1] if c.part and c.status == UNKNOWN]
    return "; ".join(dict.fromkeys(shown))
