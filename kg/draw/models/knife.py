"""Knives: a handle with a blade, a handle for blades, a blade alone, and knives that plane skin."""

from __future__ import annotations

from kg.draw.models.jaws import BUILDS, bend_of
from kg.draw.paths import Path, box, curve, ellipse, line, ribbon, shape
from kg.draw.sheet import Sheet


def outline(edge: str, x: float, n: float, h: float) -> Path:
    """A blade from ``x`` to ``x + n``, back up, edge down; ``h`` is half its height."""

    def at(u: float, v: float, corner: int = 0) -> tuple[float, float, int]:
        return (x + u * n, v * h, corner)

    if edge == "curved":
        return shape(at(0, -1, 1), at(0.97, -0.95, 1), at(0.95, -0.3), at(0.86, 0.55), at(0.7, 1.0), at(0.5, 1.08), at(0, 1, 1))
    if edge == "small":
        return shape(at(0, -0.55, 1), at(0.97, -0.6, 1), at(0.94, -0.1), at(0.84, 0.42), at(0.7, 0.58), at(0, 0.55, 1))
    if edge == "large":
        return shape(
            at(0, -1.15, 1), at(0.95, -1.2, 1), at(0.98, -0.4), at(0.92, 0.6), at(0.76, 1.35), at(0.55, 1.55), at(0, 1.3, 1)
        )
    if edge == "pointed":
        return shape(at(0, -1, 1), at(1.0, -1.0, 1), at(0.12, 1, 1), at(0, 1, 1))
    if edge == "hooked":
        return shape(
            at(0, -0.9, 1),
            at(0.3, -1.1),
            at(0.62, -1.5),
            at(0.86, -0.7),
            at(0.96, 0.9),
            at(0.97, 2.0, 1),
            at(0.86, 0.9),
            at(0.68, 0.05),
            at(0.45, 0.1),
            at(0.2, 0.8, 1),
            at(0, 0.9, 1),
        )
    if edge == "straight":
        return shape(at(0, -1, 1), at(0.8, -1, 1), at(1.0, 0.7), at(1.0, 1, 1), at(0, 1, 1))
    return shape(at(0, -1, 1), at(0.82, -0.9), at(1, -0.1, 1), at(0.86, 0.85), at(0, 1, 1))


def bevel(edge: str, x: float, n: float, h: float) -> Path:
    """The line along which the ground edge of ``outline`` begins."""
    ends = {
        "curved": ((0.02, 0.7), (0.45, 0.74), (0.68, 0.66), (0.83, 0.3), (0.91, -0.3)),
        "small": ((0.02, 0.3), (0.6, 0.32), (0.78, 0.22), (0.88, -0.05), (0.93, -0.35)),
        "large": ((0.02, 0.95), (0.5, 1.18), (0.72, 0.98), (0.87, 0.35), (0.92, -0.4)),
        "pointed": ((0.13, 0.62), (0.5, -0.2), (0.88, -0.92)),
        "hooked": ((0.2, 0.45), (0.45, -0.25), (0.7, -0.35), (0.87, 0.45), (0.93, 1.3)),
        "straight": ((0.02, 0.65), (0.5, 0.65), (0.95, 0.65)),
    }
    points = ends.get(edge, ((0.02, 0.6), (0.4, 0.6), (0.74, 0.5)))
    return curve(*((x + u * n, v * h) for u, v in points))


def double(x: float, n: float, h: float, pointed: bool) -> Path:
    """A blade with an edge on both sides."""
    tip = [(x + n, 0, 1)] if pointed else [(x + 0.97 * n, -h * 0.3), (x + n, 0), (x + 0.97 * n, h * 0.3)]
    return shape((x, -h, 1), (x + 0.7 * n, -h * 0.92), *tip, (x + 0.7 * n, h * 0.92), (x, h, 1))


def draw(s: Sheet) -> None:
    """A handle with its blade."""
    n, build = s.length, s.get("build", quiet=True)
    k = BUILDS.get(build.token, 1.0)
    blade, edge, tip = s.get("blade", quiet=True), s.get("edge"), s.get("tip", quiet=True, knows=("pointed",))
    cutting, sides, proportion = (
        s.get("edge-part", quiet=True),
        s.get("edge-count", quiet=True),
        s.get("blade-proportion", quiet=True),
    )
    width, curvature, tip_part = s.get("blade-width", quiet=True), s.get("bend", quiet=True), s.get("tip-part", quiet=True)
    share = s.set("blade", 0.45) * {"long": 1.2, "short": 0.8}.get(proportion.token, 1.0)
    start = n * (1 - share)
    _handle(s, start, n * 0.03 * k)
    h = n * s.set("half", 0.04) * {"narrow": 0.55, "wide": 1.45}.get(width.token, 1.0) * (0.5 + 0.5 * k)
    for number, token in enumerate(curvature.tokens if curvature.status == "varies" else (curvature.token,)):
        s.move = bend_of(token, start, n)
        shown = (
            double(start, n - start, h, tip.token == "pointed")
            if sides.token == "two"
            else outline(edge.token, start, n - start, h)
        )
        if number:
            s.item(curvature.way(number), label="").ghost(shown)
            continue
        drawn = blade if blade.recorded else cutting if cutting.recorded else edge
        item = s.item(
            drawn, edge, tip, cutting, sides, proportion, width, curvature, build, tip_part, label="", dashed=not drawn.recorded
        )
        item.solid(shown)
        m = n - start
        if sides.token == "two":
            item.line(line((start, 0), (start + 0.93 * m, 0)))
        else:
            item.line(bevel(edge.token, start, m, h))
        if tip.token == "pointed" and sides.token != "two" and edge.token != "pointed":
            item.solid(shape((start + 0.75 * m, -h, 1), (start + 1.03 * m, -h * 0.2, 1), (start + 0.75 * m, h * 0.95, 1)))
        spot = list(bevel(edge.token, start, m, h).points())[1]
        s.item(edge if edge.recorded else drawn).at(*(spot if sides.token != "two" else (start + 0.55 * m, h * 0.7)))
        if curvature.recorded:
            s.item(curvature, label=f"blade {curvature.text}").at(start + 0.4 * m, -h)
        if tip.recorded:
            s.item(tip).at(start + 0.97 * m, -h * 0.1)
        s.place("end", start + 0.5 * m, 0, h * 1.1)
        s.place("tip", n, 0, h * 0.3)
    s.move = None
    s.place("shank", start - 0.05 * n, 0, 0.02 * n)
    s.place("joint", start, 0, h)
    _skin_plane(s, start, n, h)


def _handle(s: Sheet, end: float, h: float) -> None:
    grip, part, flat = s.get("grip"), s.get("handle", quiet=True), s.get("flat-handle", quiet=True)
    item = s.item(grip, part, flat, s.get("shank", quiet=True), label="", dashed=not (grip.recorded or part.recorded))
    if flat.recorded:
        item.solid(
            shape(
                (0, -h * 0.9),
                (0.1 * end, -h),
                (0.6 * end, -h * 0.95),
                (0.9 * end, -h * 0.62),
                (end, -h * 0.5, 1),
                (end, h * 0.5, 1),
                (0.9 * end, h * 0.62),
                (0.6 * end, h * 0.95),
                (0.1 * end, h),
                (0, h * 0.9),
            )
        )
    else:
        item.solid(
            ribbon(
                [(0, 0), (0.15 * end, 0), (0.6 * end, 0), (0.85 * end, 0), (end, 0)],
                [h * 0.62, h * 0.72, h * 0.72, h * 0.5, h * 0.42],
                start="round",
            )
        )
    item.line(*[line(((0.5 + 0.028 * i) * end, -h * 0.55), ((0.5 + 0.028 * i) * end, h * 0.55)) for i in range(10)])
    s.item(flat if flat.recorded else grip if grip.recorded else part).at(0.3 * end, -h * 0.6)
    s.place("grip", 0.3 * end, 0, h)
    s.place("back", 0, 0, h)


def _skin_plane(s: Sheet, start: float, n: float, h: float) -> None:
    """Roller, guard and the screw that sets the thickness of a slice."""
    roller, guard, thickness, motion = (s.get(p, quiet=True) for p in ("roller", "guard", "thickness", "guard-motion"))
    if guard.recorded:
        y = h * 1.5 if motion.token != "moving" else h * 1.75
        s.item(guard, motion).solid(box(start + 0.02 * n, y - 0.005 * n, n - 0.02 * n, y + 0.006 * n, 0.005 * n)).at(
            start + 0.6 * (n - start), y
        )
    if roller.recorded:
        s.item(roller, motion).solid(box(start + 0.03 * n, h * 1.7, n - 0.03 * n, h * 1.7 + 0.03 * n, 0.014 * n)).line(
            line((start + 0.05 * n, h * 1.7 + 0.015 * n), (n - 0.05 * n, h * 1.7 + 0.015 * n))
        ).at(n - 0.1 * n, h * 1.7 + 0.02 * n)
    if thickness.token == "adjustable":
        item = s.item(thickness)
        for x in (start + 0.015 * n, n - 0.012 * n):
            item.solid(
                box(x - 0.012 * n, h * 0.9, x + 0.012 * n, h * 2.3, 0.004 * n), ellipse(x, h * 2.5, 0.018 * n, 0.012 * n)
            )
        item.at(start + 0.015 * n, h * 2.5)


def blade_alone(s: Sheet) -> None:
    """A replaceable blade: its slot, its edge, its point."""
    n, blade, edge, cutting = s.length, s.get("blade"), s.get("edge"), s.get("edge-part", quiet=True)
    tip = s.get("tip-part", quiet=True)
    h, tang = n * 0.085, 0.36 * n
    item = s.item(blade, tip, label="")
    item.solid(
        outline(edge.token, tang, n - tang, h),
        shape(
            (0, -h * 0.2, 1), (0.05 * n, -h * 0.85, 1), (tang * 1.02, -h * 0.85, 1), (tang * 1.02, h * 0.8, 1), (0, h * 0.8, 1)
        ),
    )
    item.hole(
        shape(
            (0.08 * n, -h * 0.16),
            (0.11 * n, -h * 0.34),
            (0.18 * n, -h * 0.34),
            (0.2 * n, -h * 0.2),
            (0.29 * n, -h * 0.2),
            (0.31 * n, 0),
            (0.29 * n, h * 0.2),
            (0.2 * n, h * 0.2),
            (0.18 * n, h * 0.34),
            (0.11 * n, h * 0.34),
            (0.08 * n, h * 0.16),
        )
    )
    m = n - tang
    ground = bevel(edge.token, tang, m, h)
    s.item(edge, cutting).line(ground).at(*list(ground.points())[-2])
    s.item(blade).at(0.19 * n, -h * 0.28)
    for name, x in (("back", 0.0), ("end", tang + 0.5 * m), ("tip", n), ("grip", 0.1 * n), ("shank", tang), ("joint", tang)):
        s.place(name, x, 0, h)


def handle_alone(s: Sheet) -> None:
    """A handle that takes blades: grip, neck, and the fitting."""
    n, grip, part, flat, slot = (
        s.length,
        s.get("grip"),
        s.get("handle", quiet=True),
        s.get("flat-handle", quiet=True),
        s.get("slot", quiet=True),
    )
    build = s.get("build", quiet=True)
    h = n * 0.036 * BUILDS.get(build.token, 1.0)
    item = s.item(grip, part, flat, build, label="")
    neck = 0.8 * n
    if flat.recorded:
        item.solid(
            shape(
                (0, -h * 0.5),
                (0.02 * n, -h),
                (0.3 * n, -h * 1.05),
                (0.62 * n, -h),
                (0.74 * n, -h * 0.72),
                (neck, -h * 0.62, 1),
                (neck, h * 0.62, 1),
                (0.74 * n, h * 0.72),
                (0.62 * n, h),
                (0.3 * n, h * 1.05),
                (0.02 * n, h),
                (0, h * 0.5),
            )
        )
    else:
        item.solid(
            ribbon(
                [(0, 0), (0.1 * n, 0), (0.4 * n, 0), (0.6 * n, 0), (neck, 0)],
                [h * 0.5, h * 0.66, h * 0.7, h * 0.5, h * 0.46],
                start="round",
            )
        )
    item.line(*[line(((0.5 + 0.012 * i) * n, -h * 0.6), ((0.5 + 0.012 * i) * n, h * 0.6)) for i in range(11)])
    s.item(flat if flat.recorded else grip).at(0.25 * n, -h * 0.8)
    fitting = s.item(slot, label=None if slot.recorded else "", dashed=not slot.recorded)
    fitting.solid(shape((neck, -h * 0.5, 1), (n, -h * 0.42, 1), (n - 0.02 * n, 0), (n, h * 0.3, 1), (neck, h * 0.5, 1)))
    fitting.line(
        line((neck + 0.03 * n, -h * 0.12), (n - 0.03 * n, -h * 0.12)),
        line((neck + 0.03 * n, h * 0.14), (n - 0.03 * n, h * 0.14)),
    )
    fitting.at(neck + 0.11 * n, -h * 0.3)
    for name, x in (("back", 0.0), ("end", n), ("tip", n), ("grip", 0.25 * n), ("shank", 0.7 * n), ("joint", neck)):
        s.place(name, x, 0, h)
