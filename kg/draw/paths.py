"""Plane geometry for line drawings: smooth paths, ribbons and bends. Knows nothing of instruments.

A point is (x, y) in millimetres, x from the hand to the tip, y downwards. A path is made of runs of nodes; a node is
(x, y, corner). Between nodes the path is smooth, except at corners. Everything is deterministic.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

Point = tuple[float, float]
Node = tuple[float, float, bool]
Run = tuple[tuple[Node, ...], bool]


@dataclass(frozen=True)
class Path:
    """Runs of (nodes, closed). Several runs make one shape with holes (even-odd rule)."""

    runs: tuple[Run, ...] = ()

    def map(self, move: Callable[[Point], Point]) -> Path:
        """The path with every node moved; long straight pieces get nodes of their own if the move bends them."""
        if getattr(move, "bends", False):
            return self.dense()._moved(move)
        return self._moved(move)

    def _moved(self, move: Callable[[Point], Point]) -> Path:
        return Path(tuple((tuple((*move((x, y)), c) for x, y, c in nodes), closed) for nodes, closed in self.runs))

    def dense(self, step: float = 4.0) -> Path:
        """The path with further nodes on its straight pieces, at most ``step`` apart, that leave its form as it is."""
        return Path(tuple((_denser(nodes, closed, step), closed) for nodes, closed in self.runs))

    def __add__(self, other: Path) -> Path:
        return Path(self.runs + other.runs)

    def points(self) -> Iterable[Point]:
        """All nodes, corners or not."""
        return ((x, y) for nodes, _ in self.runs for x, y, _ in nodes)

    def d(self) -> str:
        """The path data of SVG 1.1 (section 8.3): M, L, C and Z with two decimals."""
        return "".join(_run_text(nodes, closed) for nodes, closed in self.runs)


def _denser(nodes: Sequence[Node], closed: bool, step: float) -> tuple[Node, ...]:
    out: list[Node] = []
    for i, a in enumerate(nodes):
        out.append(a)
        b = nodes[(i + 1) % len(nodes)]
        if (i + 1 < len(nodes) or closed) and a[2] and b[2]:
            pieces = int(math.hypot(b[0] - a[0], b[1] - a[1]) // step)
            out += [
                (a[0] + (b[0] - a[0]) * k / (pieces + 1), a[1] + (b[1] - a[1]) * k / (pieces + 1), False)
                for k in range(1, pieces + 1)
            ]
    return tuple(out)


def _run_text(nodes: Sequence[Node], closed: bool) -> str:
    if len(nodes) < 2:
        return ""
    out = [f"M{_pair(nodes[0])}"]
    count = len(nodes)
    for i in range(count if closed else count - 1):
        a, b = nodes[i], nodes[(i + 1) % count]
        if a[2] and b[2]:
            out.append(f"L{_pair(b)}")
            continue
        before = nodes[i - 1] if closed or i else None
        after = nodes[(i + 2) % count] if closed or i + 2 < count else None
        out.append(f"C{_pair(_handle(before, a, b))} {_pair(_handle(after, b, a))} {_pair(b)}")
    return "".join(out) + ("Z" if closed else "")


def _handle(before: Node | None, at: Node, towards: Node) -> Point:
    """The control point beside ``at``: a third of the way, along the chord of its neighbours (Catmull-Rom, 1974)."""
    length = math.hypot(towards[0] - at[0], towards[1] - at[1]) / 3
    start = at if at[2] or before is None else before
    dx, dy = towards[0] - start[0], towards[1] - start[1]
    size = math.hypot(dx, dy)
    return (at[0], at[1]) if size < 1e-9 else (at[0] + dx / size * length, at[1] + dy / size * length)


def _pair(point: Sequence[float]) -> str:
    return f"{_number(point[0])} {_number(point[1])}"


def _number(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


number = _number
"""A length as it stands in SVG: at most two decimals, no minus zero."""


# --- making paths ---------------------------------------------------------------------------------------------------
def line(*points: Point) -> Path:
    """Straight from point to point, open."""
    return Path(((tuple((x, y, True) for x, y in points), False),))


def poly(*points: Point) -> Path:
    """A closed shape with straight sides."""
    return Path(((tuple((x, y, True) for x, y in points), True),))


def curve(*points: Point, closed: bool = False) -> Path:
    """A smooth line through the points."""
    return Path(((tuple((x, y, False) for x, y in points), closed),))


def shape(*nodes: Sequence[float], closed: bool = True) -> Path:
    """A shape through (x, y) nodes, smooth, and (x, y, 1) corners."""
    return Path(((tuple((n[0], n[1], len(n) > 2 and bool(n[2])) for n in nodes), closed),))


def box(x0: float, y0: float, x1: float, y1: float, radius: float = 0.0) -> Path:
    """A rectangle, with rounded corners if ``radius`` is above 0."""
    x0, x1, y0, y1 = min(x0, x1), max(x0, x1), min(y0, y1), max(y0, y1)
    r = min(radius, (x1 - x0) / 2, (y1 - y0) / 2)
    if r <= 0:
        return poly((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    q = r * 0.293
    nodes: list[Node] = []
    for x, y, sx, sy, first in (
        (x0, y0, 1, 1, True),
        (x1, y0, -1, 1, False),
        (x1, y1, -1, -1, True),
        (x0, y1, 1, -1, False),
    ):
        a, b = (x, y + sy * r, True), (x + sx * r, y, True)
        mid = (x + sx * q, y + sy * q, False)
        nodes += [a, mid, b] if first else [b, mid, a]
    return Path(((tuple(nodes), True),))


def ellipse(x: float, y: float, rx: float, ry: float | None = None, tilt: float = 0.0, steps: int = 16) -> Path:
    """An ellipse with its centre at (x, y), turned by ``tilt`` degrees."""
    ry = rx if ry is None else ry
    c, s = math.cos(math.radians(tilt)), math.sin(math.radians(tilt))
    nodes = []
    for i in range(steps):
        a = 2 * math.pi * i / steps
        px, py = rx * math.cos(a), ry * math.sin(a)
        nodes.append((x + px * c - py * s, y + px * s + py * c, False))
    return Path(((tuple(nodes), True),))


def arc(x: float, y: float, r: float, start: float, end: float, steps: int = 10) -> Path:
    """Part of a circle from ``start`` to ``end`` degrees, open."""
    return curve(*(turn_point(x, y, r, start + (end - start) * i / steps) for i in range(steps + 1)))


def turn_point(x: float, y: float, r: float, degrees: float) -> Point:
    """The point at an angle on a circle."""
    return x + r * math.cos(math.radians(degrees)), y + r * math.sin(math.radians(degrees))


def sample(points: Sequence[Point], steps: int = 8) -> list[Point]:
    """Points along the smooth line through ``points``, ``steps`` for each piece, both ends included."""
    out: list[Point] = []
    nodes = [(x, y, False) for x, y in points]
    for i in range(len(nodes) - 1):
        a, b = nodes[i], nodes[i + 1]
        before = nodes[i - 1] if i else None
        after = nodes[i + 2] if i + 2 < len(nodes) else None
        h1, h2 = _handle(before, a, b), _handle(after, b, a)
        for k in range(steps):
            t = k / steps
            u = 1 - t
            weights = (u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t)
            quad = ((a[0], a[1]), h1, h2, (b[0], b[1]))
            out.append((sum(w * p[0] for w, p in zip(weights, quad, strict=True)), _dot(weights, quad)))
    out.append(points[-1])
    return out


def _dot(weights: Sequence[float], quad: Sequence[Point]) -> float:
    return sum(w * p[1] for w, p in zip(weights, quad, strict=True))


def evenly(points: Sequence[Point], step: float) -> list[Point]:
    """Points along the smooth line through ``points``, about ``step`` apart, both ends included."""
    fine = sample(points, 32)
    out, walked = [fine[0]], 0.0
    for a, b in itertools.pairwise(fine):
        walked += math.hypot(b[0] - a[0], b[1] - a[1])
        if walked >= step:
            out.append(b)
            walked = 0.0
    return out


def normals(points: Sequence[Point]) -> list[Point]:
    """The unit normal at each point of a line, to its left when y points down (towards smaller y on a line to the right)."""
    out = []
    for i in range(len(points)):
        a, b = points[max(i - 1, 0)], points[min(i + 1, len(points) - 1)]
        dx, dy = b[0] - a[0], b[1] - a[1]
        size = math.hypot(dx, dy) or 1.0
        out.append((dy / size, -dx / size))
    return out


def ribbon(points: Sequence[Point], widths: Sequence[float], *, start: str = "flat", end: str = "flat", steps: int = 4) -> Path:
    """A strip along a smooth line. ``widths`` are half widths at ``points``; ends are ``flat``, ``round`` or ``point``."""
    centre = sample(points, steps)
    half = [w for a, b in itertools.pairwise(widths) for w in (a + (b - a) * k / steps for k in range(steps))]
    half.append(widths[-1])
    sides = normals(centre)
    left = [(x + n[0] * w, y + n[1] * w) for (x, y), n, w in zip(centre, sides, half, strict=True)]
    right = [(x - n[0] * w, y - n[1] * w) for (x, y), n, w in zip(centre, sides, half, strict=True)]
    nodes: list[Node] = [(x, y, i in (0, len(left) - 1) and (start, end)[i > 0] != "round") for i, (x, y) in enumerate(left)]
    nodes += _cap(centre[-1], sides[-1], half[-1], end, 1)
    nodes += [(x, y, i in (0, len(right) - 1) and (end, start)[i > 0] != "round") for i, (x, y) in enumerate(reversed(right))]
    nodes += _cap(centre[0], sides[0], half[0], start, -1)
    return Path(((tuple(nodes), True),))


def _cap(at: Point, normal: Point, half: float, kind: str, way: int) -> list[Node]:
    if kind == "flat":
        return []
    ahead = (-normal[1] * way, normal[0] * way)
    if kind == "point":
        return [(at[0] + ahead[0] * half * 1.4, at[1] + ahead[1] * half * 1.4, True)]
    turns = (60, 0, -60) if way > 0 else (-60, 0, 60)
    out: list[Node] = []
    for degrees in turns:
        s, c = math.sin(math.radians(degrees)), math.cos(math.radians(degrees))
        out.append((at[0] + half * (normal[0] * s + ahead[0] * c), at[1] + half * (normal[1] * s + ahead[1] * c), False))
    return out


# --- moving ---------------------------------------------------------------------------------------------------------
def shift(dx: float, dy: float = 0.0) -> Callable[[Point], Point]:
    return lambda p: (p[0] + dx, p[1] + dy)


def mirror(axis: float = 0.0) -> Callable[[Point], Point]:
    """Across a horizontal line."""
    return lambda p: (p[0], 2 * axis - p[1])


def flip(axis: float = 0.0) -> Callable[[Point], Point]:
    """Across a vertical line."""
    return lambda p: (2 * axis - p[0], p[1])


def turn(degrees: float, x: float = 0.0, y: float = 0.0) -> Callable[[Point], Point]:
    """About a point, clockwise as y points down."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return lambda p: (x + (p[0] - x) * c - (p[1] - y) * s, y + (p[0] - x) * s + (p[1] - y) * c)


class Bend:
    """Bends what was drawn along the x axis: ``pieces`` are (from, to, degrees); negative degrees turn up.

    Called with a point it gives the bent point: x is measured along the bent line, y stays the distance from it.
    """

    STEP = 0.5
    bends = True

    def __init__(self, *pieces: tuple[float, float, float]) -> None:
        self.pieces = [p for p in pieces if p[2]]
        self.start = min((p[0] for p in self.pieces), default=0.0)
        end = max((p[1] for p in self.pieces), default=0.0)
        self._at: list[tuple[float, float, float]] = []
        x, y, s = self.start, 0.0, self.start
        while s < end + self.STEP:
            angle = self._angle(s)
            self._at.append((x, y, angle))
            middle = self._angle(s + self.STEP / 2)
            x, y, s = x + math.cos(middle) * self.STEP, y + math.sin(middle) * self.STEP, s + self.STEP

    def _angle(self, s: float) -> float:
        return sum(math.radians(d) * min(max((s - a) / (b - a), 0.0), 1.0) for a, b, d in self.pieces)

    def __call__(self, point: Point) -> Point:
        s, t = point
        if not self.pieces or s <= self.start:
            return point
        i = min(int((s - self.start) / self.STEP), len(self._at) - 1)
        x, y, angle = self._at[i]
        rest = s - self.start - i * self.STEP
        angle = self._angle(s) if i < len(self._at) - 1 else angle
        x, y = x + math.cos(angle) * rest, y + math.sin(angle) * rest
        return x - math.sin(angle) * t, y + math.cos(angle) * t


class Then:
    """One move after the other."""

    def __init__(self, moves: Sequence[Callable[[Point], Point]]) -> None:
        self.moves = moves
        self.bends = any(getattr(m, "bends", False) for m in moves)

    def __call__(self, point: Point) -> Point:
        for move in self.moves:
            point = move(point)
        return point


def then(*moves: Callable[[Point], Point]) -> Then:
    """One move after the other."""
    return Then(moves)


def bounds(points: Iterable[Point]) -> tuple[float, float, float, float]:
    """(left, top, right, bottom). Raises ValueError if there is no point."""
    found = list(points)
    xs, ys = [p[0] for p in found], [p[1] for p in found]
    return min(xs), min(ys), max(xs), max(ys)
