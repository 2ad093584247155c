"""Labels above and below a picture, with leader lines: no two labels touch, no two lines of one side cross."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kg.draw.ink import GREY, badge_svg, badge_width, dot_svg, lines_svg, stroke_svg
from kg.draw.paths import Point
from kg.draw.words import width, wrap

SIZE = 2.7
ROOM = 31.0
"""Size of the letters and the widest line of a label, in millimetres on paper."""
GAP = 2.4
MOST_LINES = 3


@dataclass
class Label:
    """``mark``: a number that stands before the text and ties it to a list of differences; empty if there is none."""

    text: str
    anchor: Point
    mark: str = ""

    def __post_init__(self) -> None:
        self.badge = badge_width(self.mark, SIZE) + 0.8 if self.mark else 0.0
        self.lines = wrap(self.text, ROOM, SIZE, MOST_LINES)
        self.wide = max(width(line, SIZE) for line in self.lines) + 2 * self.badge
        self.x = 0.0


def place(labels: Sequence[Label], left: float, right: float, middle: float) -> tuple[list[Label], list[Label], list[Label]]:
    """(above, below, without room), each from left to right, with ``x`` set to the centre of each label.

    A label goes to the side on which its anchor lies; a side that is full gives to the other.
    """
    sides: tuple[list[Label], list[Label]] = ([], [])
    over: list[Label] = []
    for label in labels:
        sides[label.anchor[1] > middle].append(label)
    for i in (0, 1):
        while sides[i] and _need(sides[i]) > right - left:
            last = max(sides[i], key=lambda found: -abs(found.anchor[1] - middle))
            sides[i].remove(last)
            if _need([*sides[1 - i], last]) <= right - left:
                sides[1 - i].append(last)
            else:
                over.append(last)
    for side in sides:
        side.sort(key=lambda found: (found.anchor[0], found.text))
        _spread(side, left, right)
    return sides[0], sides[1], over


def _need(labels: Sequence[Label]) -> float:
    return sum(found.wide + GAP for found in labels) - GAP


def _spread(labels: list[Label], left: float, right: float) -> None:
    """As near above their anchors as they can be without touching: neighbours that would touch move as one block."""
    blocks: list[tuple[list[Label], float]] = []
    for label in labels:
        blocks.append(([label], label.anchor[0] - label.wide / 2))
        while True:
            blocks[-1] = (blocks[-1][0], min(max(blocks[-1][1], left), right - _need(blocks[-1][0])))
            if len(blocks) < 2 or blocks[-2][1] + _need(blocks[-2][0]) + GAP <= blocks[-1][1]:
                break
            group = blocks[-2][0] + blocks[-1][0]
            del blocks[-2:]
            offset, wish = 0.0, 0.0
            for found in group:
                wish += found.anchor[0] - found.wide / 2 - offset
                offset += found.wide + GAP
            blocks.append((group, wish / len(group)))
    for group, start in blocks:
        x = start
        for found in group:
            found.x = x + found.wide / 2
            x += found.wide + GAP


def height(labels: Sequence[Label]) -> float:
    """The height that a row of labels takes, with its leader lines; 0 if there is none."""
    return max((len(found.lines) for found in labels), default=0) * 1.2 * SIZE + 5.0 if labels else 0.0


def row_svg(labels: Sequence[Label], edge: float, *, above: bool) -> str:
    """The labels of one side; ``edge`` is where the picture begins."""
    out = []
    for found in labels:
        tall = len(found.lines) * 1.2 * SIZE
        near = edge - 4.0 if above else edge + 4.0
        first = near - tall + SIZE if above else near + SIZE * 0.85
        start = near + (0.9 if above else -0.6)
        out.append(stroke_svg([(found.x, start), found.anchor], weight=0.15, colour=GREY))
        out.append(dot_svg(*found.anchor, r=0.42))
        out.append(lines_svg(found.x, first, found.lines, SIZE, anchor="middle"))
        if found.mark:
            out.append(badge_svg(found.x - found.wide / 2, first, found.mark, SIZE))
    return "".join(out)
