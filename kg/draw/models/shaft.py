"""Long shafts with a grip behind and jaws or blades in front, worked through a small opening."""

from __future__ import annotations

from kg.draw.models import details
from kg.draw.models.jaws import BUILDS, ENDS, bend_of, blade, draw_jaws
from kg.draw.paths import box, ellipse, line, mirror, ribbon, shape, then, turn
from kg.draw.sheet import Sheet


def draw(s: Sheet) -> None:
    """Grip, shaft, and what is at its end."""
    n = s.length
    shank, insulation, jaws = (s.get(name, quiet=True) for name in ("shank", "insulation", "jaws"))
    front = n * s.set("front", 0.13) * {"long": 1.25, "short": 0.75}.get(s.get("proportion", quiet=True).token, 1.0)
    start, end, h = 0.2 * n, n - front, 0.0115 * n
    s.item(shank, insulation, dashed=s.empty, label="").solid(box(start, -h, end, h))
    if insulation.recorded:
        s.item(insulation).shade(box(start + 0.01 * n, -h * 0.9, end - 0.01 * n, h * 0.9)).at(0.5 * (start + end), h)
    if shank.recorded:
        s.item(shank).at(0.42 * n, -h)
    _grip(s, start, h)
    places = {"grip": 0.12 * n, "back": 0.1 * n, "shank": 0.26 * n, "joint": end, "end": end + 0.5 * front, "tip": n}
    for name, x in places.items():
        s.place(name, x, 0.0, h * 1.6)
    if s.set("ends") == "blades":
        _blades(s, end, n, h)
    elif s.set("ends") != "open" or jaws.recorded:
        draw_jaws(s, end, n, 0.0125 * n * BUILDS.get(s.get("build", quiet=True).token, 1.0))
        details.jaw_face(s)
        details.tip_teeth(s)
    if s.set("ends") != "open" or jaws.recorded:
        joint = s.get("joint", quiet=True)
        s.item(joint, label="").solid(ellipse(end, 0, h * 1.15)).ink(ellipse(end, 0, h * 0.25))


def _grip(s: Sheet, start: float, h: float) -> None:
    """What the hand holds: bars, with rings if there are any; a pistol grip; a syringe."""
    n = s.length
    handle, rings, ratchet = (s.get(name, quiet=True) for name in ("handle", "rings", "ratchet"))
    grip = s.get("grip", quiet=True, knows=("rings", "pistol", "bars", "syringe"))
    item = s.item(grip if grip.recorded else handle, handle, grip, s.get("bars", quiet=True))
    if grip.token == "syringe":
        item.solid(box(0, -2.6 * h, 0.03 * n, 2.6 * h, h), box(0.03 * n, -0.8 * h, 0.08 * n, 0.8 * h))
        item.solid(box(0.07 * n, -3.4 * h, start + 0.01 * n, 3.4 * h, h), box(0.065 * n, -5 * h, 0.085 * n, 5 * h, h))
        item.line(*[line(((0.1 + 0.012 * i) * n, 1.2 * h), ((0.1 + 0.012 * i) * n, 3.2 * h)) for i in range(8)])
        item.at(0.13 * n, -2.4 * h)
        return
    item.solid(
        shape(
            (start + 0.02 * n, -h * 1.6, 1),
            (start, -h * 2.4),
            (0.12 * n, -h * 2.6),
            (0.1 * n, h * 1.2),
            (start, h * 2.2),
            (start + 0.02 * n, h * 1.6, 1),
        )
    )
    ringed = grip.token not in ("pistol", "bars")
    for dx, dy in ((0.045, 0.115), (0.12, 0.13)):
        x, y = dx * n, dy * n
        turn_at = 0.14 * n - (0.14 - dx) * 0.5 * n
        end = (x + 0.012 * n, y - 0.03 * n) if ringed else (x + 0.002 * n, y + 0.02 * n)
        widths = [h * 1.1, h * 0.95, h * 0.9] if ringed else [h * 1.2, h * 1.3, h * 1.3]
        item.solid(ribbon([(0.14 * n, h), (turn_at, 0.06 * n), end], widths, end="flat" if ringed else "round"))
        if ringed:
            hold = s.item(rings, grip, label="", dashed=not (rings.recorded or grip.token == "rings"))
            hold.solid(ellipse(x, y, 0.034 * n, 0.04 * n) + ellipse(x, y, 0.024 * n, 0.029 * n))
    item.at(0.13 * n, -h)
    if rings.recorded:
        s.item(rings).at(0.045 * n, 0.15 * n)
    if ratchet:
        one = s.item(ratchet)
        bar = ribbon([(0.075 * n, 0.085 * n), (0.115 * n, 0.083 * n)], [h * 0.4, h * 0.4])
        (one.ghost(bar) if ratchet.status == "varies" else one.solid(bar)).at(0.095 * n, 0.084 * n)


def _blades(s: Sheet, start: float, n: float, h: float) -> None:
    part, tips, edge = (s.get(name, quiet=True) for name in ("blade", "blade-tips", "edge-part"))
    curvature = s.get("bend", quiet=True)
    for number, token in enumerate(curvature.tokens if curvature.status == "varies" else (curvature.token or "straight",)):
        bend = bend_of(token, start, n)
        for sign in (1, -1):
            one = blade(start, n, h * 2.1, ENDS.get(tips.token, ("blunt", "blunt"))[sign > 0])
            one = (one.map(mirror()) if sign > 0 else one).map(then(bend, turn(11.0 * sign, start, 0)))
            if number:
                s.item(curvature.way(number), label="").ghost(one)
            else:
                s.item(part, edge, curvature, tips, label="").solid(one)
        if not number:
            s.item(part).at(*then(bend, turn(-11.0, start, 0))((start + 0.6 * (n - start), -h)))
            if curvature.recorded:
                s.item(curvature).at(*then(bend, turn(11.0, start, 0))((start + 0.6 * (n - start), h)))
