"""Two halves that cross at a joint: ring handles or bars behind it, jaws or scissor blades before it."""

from __future__ import annotations

from kg.draw.models import details
from kg.draw.models.jaws import BUILDS, ENDS, PROPORTIONS, bend_of, bevel, blade, button, draw_jaws
from kg.draw.paths import Path, box, ellipse, line, mirror, poly, ribbon, shape, then, turn
from kg.draw.sheet import Sheet

FINENESS = {"fine": 0.78, "pointed": 0.6}
"""Forms of the tip that show in the width of a blade."""


def draw(s: Sheet) -> None:
    """Ring-handled and bar-handled instruments with jaws, scissors."""
    n = s.length
    build = s.get("build", quiet=True)
    k = BUILDS.get(build.token, 1.0)
    cutting = s.set("ends", "jaws") == "blades"
    share = s.set("front", 0.27)
    share *= PROPORTIONS.get((s.get("blade-proportion", quiet=True) if cutting else s.get("proportion", quiet=True)).token, 1.0)
    share = min(share, 0.5)
    joint = n * (1 - share)
    thick = n * 0.0165 * k
    grip = s.get("grip")
    if grip.token == "bars":
        _bars(s, joint, thick)
    else:
        _rings(s, joint, thick, 6.0 if cutting else 0.0)
    places = {"grip": 0.15 * n, "back": 0.02 * n, "shank": 0.6 * joint, "joint": joint, "neck": joint + 0.055 * n}
    for name, x in places.items():
        s.place(name, x, 0, n * 0.025)
    if cutting:
        _blades(s, joint, k)
        s.place("end", joint + 0.5 * (n - joint), 0, n * 0.04)
        s.place("tip", n, 0, n * 0.04)
    else:
        draw_jaws(s, joint + 0.02 * n, n, n * 0.0185 * k)
    _joint(s, joint, n * 0.022 * (0.6 + 0.4 * k), n)
    if cutting:
        details.blade_tips(s)
    else:
        details.jaw_face(s)
        details.tip_teeth(s)


# --- handles --------------------------------------------------------------------------------------------------------
def _rings(s: Sheet, joint: float, thick: float, open_by: float) -> None:
    n, grip, rings, shank = s.length, s.get("grip"), s.get("rings", quiet=True), s.get("shank", quiet=True)
    handle = s.get("handle", quiet=True)
    rx, ry = min(max(0.088 * n, 9.5), 14.5), min(max(0.07 * n, 7.6), 11.2)
    gap = max(0.028 * n, 3.4)
    cx, cy = rx + 0.2, gap * 0.62 + ry
    rim = 0.22 * ry
    start = (cx + (rx - rim / 2) * 0.55, -(cy - (ry - rim / 2) * 0.83))
    course = [
        start,
        (cx + rx * 1.3, -gap * 1.02),
        (cx + rx * 1.35 + (joint - cx - rx * 1.35) * 0.5, -gap * 0.72),
        (joint - 0.05 * n, -thick * 0.55),
        (joint + 0.012 * n, thick * 0.3),
    ]
    widths = [rim * 0.45, thick * 0.8, thick * 0.92, thick * 1.12, thick * 1.2]
    arm = ribbon(course, widths)
    ring = ellipse(cx, -cy, rx, ry, 7)
    hole = ellipse(cx, -cy, rx - rim, ry - rim, 7)
    for sign in (1, -1):
        move = then(mirror(), turn(-open_by, joint, 0)) if sign > 0 else turn(open_by, joint, 0)
        item = s.item(grip, rings, shank, handle, label="")
        item.solid(arm.map(move), (ring + hole).map(move))
    s.item(rings, grip, label=rings.text if rings.recorded else None).at(
        *turn(open_by, joint, 0)((cx + rx * 0.1, -cy - ry + rim * 0.5))
    )
    if shank.recorded:
        s.item(shank).at(*turn(-open_by, joint, 0)((joint * 0.72 + 0.06 * n, gap * 0.55)))
    ratchet = s.get("ratchet", quiet=True)
    if ratchet:
        _ratchet(s, cx + rx * 1.5, gap * 0.85, n / 140)


def _ratchet(s: Sheet, x: float, half: float, u: float) -> None:
    """Two toothed arms that hook into each other between the shanks."""
    item = s.item(s.get("ratchet"))
    wide = 2.3 * u
    item.solid(box(x - wide, -half, x + wide, half, 0.5 * u))
    step = 2 * wide / 4
    zigzag = [(x - wide + step * (i / 2), (0.55 if i % 2 else -0.55) * u) for i in range(9)]
    item.line(line(*zigzag))
    item.at(x, half * 0.5)


def _bars(s: Sheet, joint: float, thick: float) -> None:
    n, grip, bars = s.length, s.get("grip"), s.get("bars", quiet=True)
    spread = n * s.set("spread", 0.1)
    course = [
        (0.005 * n, -spread * 1.08),
        (0.1 * joint, -spread),
        (0.4 * joint, -spread * 1.02),
        (0.75 * joint, -spread * 0.62),
        (joint - 0.04 * n, -thick * 0.8),
        (joint + 0.012 * n, thick * 0.3),
    ]
    arm = ribbon(course, [thick * 0.9, thick * 1.1, thick * 1.3, thick * 1.3, thick * 1.5, thick * 1.4], start="round")
    for move in (mirror(), lambda p: p):
        s.item(grip, bars, s.get("handle", quiet=True), label="").solid(arm.map(move))
    s.item(bars, grip, label=bars.text if bars.recorded else None).at(0.3 * joint, -spread * 1.02)
    spring = s.get("spring", quiet=True)
    if spring:
        item = s.item(spring)
        for sign in (-1, 1):
            item.bold(
                Path(
                    (
                        (
                            tuple(
                                (x, sign * y, False)
                                for x, y in (
                                    (0.12 * joint, -spread * 0.88),
                                    (0.3 * joint, -spread * 0.34),
                                    (0.48 * joint, -0.01 * n),
                                )
                            ),
                            False,
                        ),
                    )
                )
            )
        item.at(0.34 * joint, spread * 0.26)
    ratchet = s.get("ratchet", quiet=True)
    if ratchet:
        item = s.item(ratchet)
        x, u = 0.05 * joint, n / 140
        item.solid(ribbon([(x, -spread * 1.0), (x - 1.5 * u, 0), (x, spread * 0.9)], [1.1 * u] * 3, start="round", end="round"))
        item.line(*[line((x - 1.8 * u, k * 1.5 * u), (x - 0.4 * u, k * 1.5 * u + 0.8 * u)) for k in range(-3, 4)])
        item.at(x - 1.5 * u, 0)


# --- joint ----------------------------------------------------------------------------------------------------------
def _joint(s: Sheet, x: float, r: float, n: float) -> None:
    joint, action, part = s.get("joint"), s.get("action", quiet=True), s.get("jointpart", quiet=True)
    item = s.item(joint, action, part)
    token = joint.token
    if token == "box":
        item.solid(box(x - 2.1 * r, -1.35 * r, x + 1.9 * r, 1.35 * r, 0.6 * r))
        item.line(
            line((x - 1.45 * r, -1.2 * r), (x - 0.95 * r, 1.2 * r)), line((x + 0.95 * r, -1.2 * r), (x + 1.45 * r, 1.2 * r))
        )
        item.line(ellipse(x, 0, 0.42 * r))
    elif token == "lap":
        item.solid(ellipse(x, 0, 1.55 * r, 1.45 * r))
        item.line(ellipse(x, 0, 0.95 * r), line((x - 0.6 * r, 0.5 * r), (x + 0.6 * r, -0.5 * r)))
        item.line(
            line((x - 1.6 * r, 0.8 * r), (x - 0.75 * r, 0.6 * r)), line((x + 0.75 * r, -0.6 * r), (x + 1.6 * r, -0.8 * r))
        )
    elif token == "pin":
        item.solid(ellipse(x, 0, 1.35 * r))
        item.ink(ellipse(x, 0, 0.42 * r))
    else:
        item.solid(ellipse(x, 0, 1.5 * r))
        item.line(ellipse(x, 0, 0.5 * r))
    if action.token == "double":
        back = x - 5.2 * r
        item.solid(ellipse(back, -1.5 * r, 0.95 * r), ellipse(back, 1.5 * r, 0.95 * r))
        item.ink(ellipse(back, -1.5 * r, 0.28 * r), ellipse(back, 1.5 * r, 0.28 * r))
    elif action.token == "single":
        item.ink(ellipse(x, 0, 0.2 * r))
    item.at(x, -1.2 * r)


# --- blades ---------------------------------------------------------------------------------------------------------
def _blades(s: Sheet, joint: float, k: float) -> None:
    n = s.length
    part, tips, curvature = s.get("blade", quiet=True), s.get("blade-tips"), s.get("bend")
    tip, proportion, build = (
        s.get("tip", quiet=True, knows=FINENESS),
        s.get("blade-proportion", quiet=True),
        s.get("build", quiet=True),
    )
    tip_part = s.get("tip-part", quiet=True)
    edge, insert = s.get("edge-part", quiet=True), s.get("insert", quiet=True)
    wide = n * 0.036 * (0.55 + 0.45 * k)
    fine = FINENESS.get(tip.token, 1.0)
    upper, lower = ENDS.get(tips.token, ("plain", "plain"))
    open_by = 6.0
    for number, token in enumerate(curvature.tokens if curvature.status == "varies" else (curvature.token,)):
        bend = bend_of(token, joint, n)
        for sign, end in ((1, lower), (-1, upper)):
            move = then(bend, turn(open_by, joint, 0)) if sign > 0 else then(bend, turn(-open_by, joint, 0))
            one = blade(joint, n, wide * fine, end)
            one = one.map(mirror()) if sign > 0 else one
            if number:
                s.item(curvature.way(number), label="").ghost(one.map(move))
                continue
            item = s.item(part, tips, curvature, tip, proportion, build, edge, tip_part, label="")
            item.solid(one.map(move))
            ground = bevel(joint, n, wide * fine)
            item.line((ground.map(mirror()) if sign > 0 else ground).map(move))
            if insert.token == "insert":
                strip = shape(
                    (joint + 0.05 * n, 0, 1),
                    (joint + 0.05 * n, -wide * 0.2, 1),
                    (n - 0.02 * n, -wide * 0.1, 1),
                    (n - 0.02 * n, 0, 1),
                )
                s.item(insert, label="" if sign > 0 else None).shade((strip.map(mirror()) if sign > 0 else strip).map(move)).at(
                    *move((joint + 0.12 * n, 0.0))
                )
            if sign > 0 and tips.token in ("knobbed", "hook"):
                extra = s.item(tips, label="")
                if tips.token == "knobbed":
                    extra.solid(button(n, wide * 0.12, wide * 0.42).map(move))
                else:
                    extra.solid(poly((n - 2.4 * wide * 0.4, 0), (n - wide * 0.2, -wide * 0.5), (n, wide * 0.1)).map(move))
            if sign < 0:
                s.item(curvature).at(*move((joint + 0.5 * (n - joint), -wide * 0.5)))
            else:
                s.item(tips).at(*move((n - 0.02 * n, wide * 0.15)))
