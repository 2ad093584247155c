"""Saws, braces and drills for bone."""

from __future__ import annotations

import math

from kg.draw.models.ends import ENDS
from kg.draw.paths import box, curve, ellipse, evenly, line, normals, poly, ribbon, shape
from kg.draw.sheet import Sheet


def saw(s: Sheet) -> None:
    """A saw with a blade: a grip, a stiff back or a frame, teeth below, or on both edges."""
    n = s.length
    grip, work, back, frame, blade = (
        s.get("grip"),
        s.get("work"),
        s.get("saw-back", quiet=True),
        s.get("frame", quiet=True),
        s.get("blade", quiet=True),
    )
    width, cutting, sides, edge = (
        s.get("blade-width", quiet=True),
        s.get("edge-part", quiet=True),
        s.get("edge-count", quiet=True),
        s.get("edge", quiet=True, knows=("straight", "curved")),
    )
    handle = s.get("handle", quiet=True)
    h = n * 0.07 * {"narrow": 0.4, "wide": 1.5}.get(width.token, 1.0)
    a, b = 0.32 * n, n
    hold = s.item(grip if grip.recorded else handle, handle, dashed=not (grip.recorded or handle.recorded))
    if grip.token == "pistol":
        hold.solid(
            shape(
                (0.3 * n, -0.1 * n, 1),
                (0.34 * n, -0.06 * n),
                (0.34 * n, 0.06 * n),
                (0.26 * n, 0.1 * n),
                (0.2 * n, 0.26 * n),
                (0.09 * n, 0.3 * n),
                (0.06 * n, 0.24 * n),
                (0.14 * n, 0.06 * n),
                (0.18 * n, -0.06 * n),
            )
        )
        hold.at(0.15 * n, 0.16 * n)
    elif sides.token == "two":
        hold.solid(box(0, -0.035 * n, 0.46 * n, 0.035 * n, 0.03 * n), ribbon([(0.46 * n, 0), (0.62 * n, 0)], [0.014 * n] * 2))
        hold.at(0.22 * n, -0.02 * n)
        a = 0.62 * n
    else:
        hold.solid(
            shape(
                (0.02 * n, -0.09 * n),
                (0.18 * n, -0.12 * n),
                (0.33 * n, -0.08 * n),
                (0.34 * n, 0.06 * n),
                (0.22 * n, 0.15 * n),
                (0.06 * n, 0.14 * n),
                (0, 0.02 * n),
            )
        )
        hold.hole(ellipse(0.16 * n, 0.02 * n, 0.09 * n, 0.055 * n))
        hold.at(0.06 * n, -0.08 * n)
    if frame.recorded:
        item = s.item(frame)
        item.solid(
            ribbon(
                [
                    (a, -0.02 * n),
                    (a + 0.02 * n, -0.2 * n),
                    (0.65 * n, -0.24 * n),
                    (b - 0.03 * n, -0.2 * n),
                    (b - 0.01 * n, 0.03 * n),
                ],
                [0.014 * n] * 5,
                end="round",
            )
        )
        item.at(0.65 * n, -0.24 * n)
    shown = blade if blade.recorded else work if work.recorded else cutting
    item = s.item(shown, work, cutting, width, sides, edge, dashed=not shown.recorded)
    y = h * 0.5
    step = n * 0.013
    if sides.token == "two":
        half = 0.09 * n
        upper = _teeth(a, b, step, -half, 0.0 if edge.token == "straight" or edge.status == "varies" else 0.3)
        lower = _teeth(a, b, step, half, 0.3 if "curved" in edge.tokens else 0.0)
        item.solid(poly((a, -half * 0.6), *upper, (b, -half * 0.9), (b, half * 0.9), *reversed(lower), (a, half * 0.6)))
    else:
        lower = _teeth(a, b, step, y, 0.0)
        item.solid(poly((a - 0.02 * n, -h * 0.75), (b - 0.01 * n, -h * 0.6), (b, y), *reversed(lower), (a - 0.02 * n, y)))
    item.at(0.7 * n if a < 0.5 * n else 0.8 * n, y)
    if back.recorded:
        s.item(back).solid(box(a - 0.02 * n, -h * 0.85, b - 0.01 * n, -h * 0.5, 0.006 * n)).at(0.55 * n, -h * 0.7)
    for name, x in (("grip", 0.2 * n), ("back", 0.0), ("shank", 0.4 * n), ("joint", a), ("end", 0.75 * n), ("tip", b)):
        s.place(name, x, 0, h)


def _teeth(a: float, b: float, step: float, y: float, belly: float) -> list[tuple[float, float]]:
    """A row of saw teeth from ``a`` to ``b``; ``belly``: by what share of ``y`` its middle bulges."""
    out = []
    for i in range(int((b - a) / step - 1)):
        x = a + (i + 0.5) * step
        base = y * (1 + belly * math.sin(math.pi * (x - a) / (b - a)))
        out += [(x, base), (x + step / 2, base + math.copysign(step, y))]
    return out


def wire(s: Sheet) -> None:
    """A flexible saw between two grips: a toothed wire or a chain of toothed links."""
    n = s.length
    grip, work, links, wires, tees = (
        s.get("grip"),
        s.get("work", quiet=True),
        s.get("links", quiet=True),
        s.get("saw-wire", quiet=True),
        s.get("t-handles", quiet=True),
    )
    rigidity, cutting, handle = s.get("rigidity", quiet=True), s.get("edge-part", quiet=True), s.get("handle", quiet=True)
    course = [
        (0.1 * n, 0.02 * n),
        (0.2 * n, -0.05 * n),
        (0.35 * n, -0.22 * n),
        (0.5 * n, -0.28 * n),
        (0.65 * n, -0.22 * n),
        (0.8 * n, -0.05 * n),
        (0.9 * n, 0.02 * n),
    ]
    shown = wires if wires.recorded else links if links.recorded else work
    item = s.item(shown, work, cutting, rigidity, dashed=not shown.recorded)
    if links.recorded:
        points = evenly(course, 0.036 * n)
        for (x, y), (nx, ny) in zip(points, normals(points), strict=True):
            item.solid(ellipse(x, y, 0.021 * n, 0.012 * n, math.degrees(math.atan2(nx, -ny))))
            item.ink(ellipse(x - nx * 0.014 * n, y - ny * 0.014 * n, 0.005 * n))
    else:
        item.bold(curve(*course))
        points = evenly(course, 0.016 * n)
        ticks = zip(points, normals(points), strict=True)
        item.line(
            *[line((x - a * 0.006 * n, y - b * 0.006 * n), (x + a * 0.006 * n, y + b * 0.006 * n)) for (x, y), (a, b) in ticks]
        )
    item.at(0.5 * n, -0.28 * n)
    for x in (0.09 * n, 0.91 * n):
        hold = s.item(tees if tees.recorded else grip, grip, handle, label=None if x < 0.5 * n else "")
        if tees.recorded:
            hold.solid(
                box(x - 0.08 * n, 0.07 * n, x + 0.08 * n, 0.105 * n, 0.016 * n),
                ribbon([(x, 0.07 * n), (x, 0.02 * n)], [0.009 * n, 0.007 * n]),
            )
        else:
            hold.solid(ellipse(x, 0.08 * n, 0.06 * n, 0.05 * n) + ellipse(x, 0.08 * n, 0.044 * n, 0.034 * n))
        hold.at(x - 0.04 * n, 0.1 * n)
    for name, x, y in (
        ("grip", 0.09 * n, 0.1 * n),
        ("back", 0.02 * n, 0.09 * n),
        ("shank", 0.3 * n, -0.18 * n),
        ("joint", 0.5 * n, -0.28 * n),
        ("end", 0.7 * n, -0.17 * n),
        ("tip", 0.9 * n, 0.02 * n),
    ):
        s.place(name, x, y, 0.02 * n)


def brace(s: Sheet) -> None:
    """A cranked brace that turns a drill."""
    n = s.length
    grip, handle, cutting, work = s.get("grip"), s.get("handle", quiet=True), s.get("edge-part", quiet=True), s.get("work")
    w = 0.013 * n
    item = s.item(grip, handle)
    item.solid(
        ribbon(
            [
                (0.06 * n, 0),
                (0.2 * n, 0),
                (0.25 * n, -0.02 * n),
                (0.28 * n, -0.16 * n),
                (0.34 * n, -0.2 * n),
                (0.5 * n, -0.2 * n),
                (0.56 * n, -0.16 * n),
                (0.59 * n, -0.02 * n),
                (0.64 * n, 0),
                (0.8 * n, 0),
            ],
            [w] * 10,
        )
    )
    item.solid(
        ellipse(0.04 * n, 0, 0.04 * n, 0.075 * n),
        box(0.34 * n, -0.2 * n - 2.3 * w, 0.5 * n, -0.2 * n + 2.3 * w, 2 * w),
        box(0.72 * n, -2.2 * w, 0.84 * n, 2.2 * w, w),
    )
    item.at(0.42 * n, -0.2 * n)
    drill = s.item(
        work if work.recorded else cutting,
        cutting,
        dashed=not work.recorded,
        label=None if work.recorded or cutting.recorded else "",
    )
    ENDS.get(work.token or s.set("end", "drill"), ENDS["drill"])(drill, 0.88 * n, n / 150, w * 0.7)
    drill.at(0.93 * n, 0.02 * n)
    for name, x in (("grip", 0.42 * n), ("back", 0.0), ("shank", 0.68 * n), ("joint", 0.6 * n), ("end", 0.8 * n), ("tip", n)):
        s.place(name, x, 0, 0.02 * n)
