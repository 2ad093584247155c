"""Two spring arms: joined at the back and open (thumb forceps), with a joint of their own, or crossed so that they close."""

from __future__ import annotations

from kg.draw.models import details
from kg.draw.models.jaws import BUILDS, ENDS, MESHED, PROPORTIONS, Jaw, bend_of, blade, draw_jaws, face_on
from kg.draw.paths import box, ellipse, line, mirror, ribbon, shape, then, turn
from kg.draw.sheet import Sheet

ENDS_OF_ARMS = {
    "blunt": (0.55, "round"),
    "broad": (0.95, "flat"),
    "fine": (0.26, "round"),
    "pointed": (0.16, "point"),
    "rounded": (0.6, "round"),
    "tapered": (0.3, "flat"),
    "triangle": (0.9, "flat"),
}


def draw(s: Sheet) -> None:
    """Thumb forceps: two arms from a common back, ribbed grips, tips that meet."""
    n = s.length
    grip, arms, tip, build = (
        s.get("grip", knows=("spring",)),
        s.get("spring-arms", quiet=True),
        s.get("tip"),
        s.get("build", quiet=True),
    )
    curvature, teeth_of, form = s.get("bend"), s.get("teeth"), s.get("form", quiet=True)
    jaws, joint = s.get("jaws", quiet=True), s.get("jointpart", quiet=True)
    handle, tip_part = s.get("handle", quiet=True), s.get("tip-part", quiet=True)
    k = BUILDS.get(build.token, 1.0)
    share, end = ENDS_OF_ARMS.get(tip.token, (0.5, "round"))
    open_by, wide = 0.052 * n, 0.021 * n * (0.5 + 0.5 * k)
    front = 0.7 * n
    at_tip = wide * share
    gap = 0.0135 * n
    for number, token in enumerate(curvature.tokens if curvature.status == "varies" else (curvature.token,)):
        bend = bend_of(token, front, n)
        course = [
            (0.0, -0.003 * n), (0.06 * n, -0.008 * n), (0.2 * n, -0.034 * n), (0.45 * n, -open_by), (0.66 * n, -0.036 * n),
            (0.86 * n, -gap - at_tip * 1.1), (n, -gap * 0.55 - at_tip),
        ]  # fmt: skip
        widths = [wide * 0.42, wide * 0.5, wide * 0.72, wide, wide * 0.8, (wide + at_tip) * 0.4, at_tip]
        arm = ribbon(course, widths, end=end, steps=5)
        both = [arm.map(mirror()).map(bend), arm.map(bend)]
        if number:
            bent = ribbon(course[4:], widths[4:], end=end, steps=5)
            s.item(curvature.way(number), label="").ghost(bent.map(mirror()).map(bend), bent.map(bend))
            continue
        shown = (grip, arms, tip, build, curvature, form, jaws, handle, tip_part)
        s.item(*shown, label="", dashed=not (grip.recorded or arms.recorded)).solid(*both)
        s.move = bend
        _ribs(s, n, open_by, wide)
        surface, extent = s.get("surface", quiet=True), s.get("extent", quiet=True)
        if surface.token in ("across", "serrated", "cross", "oblique"):
            item = s.item(surface, extent, label="")
            for i in range(7):
                x = (0.9 + 0.014 * i) * n
                y = gap + (x / n - 0.86) / 0.14 * (-0.45 * gap)
                item.line(line((x, -y), (x, -y - at_tip * 0.7)), line((x, y), (x, y + at_tip * 0.7)))
        if "triangle" in form:
            jaw = Jaw(0.86 * n, n, at_tip, n / 140, tip.token, form.tokens)
            s.item(form, label=None).solid(face_on(jaw, 0.09 * n, ("triangle",))).at(0.96 * n, 0)
        if "ring" in form:
            ring_of(s, form, 0.9 * n, 0.055 * n)
        if teeth_of.token not in ("", "none"):
            _teeth(s, teeth_of.token, n, gap * 0.55, at_tip)
        s.item(curvature, label=f"tips {curvature.text}" if curvature.recorded else None).at(0.86 * n, -gap - at_tip * 1.6)
        if tip.recorded:
            s.item(tip).at(n, gap * 0.55 + at_tip)
        s.place("tip", n, 0, gap + at_tip)
        s.place("end", 0.9 * n, 0, gap + 2 * at_tip)
        s.move = None
    s.item(arms, grip, label=arms.text if arms.recorded else None).at(0.3 * n, 0.045 * n)
    s.place("grip", 0.42 * n, 0, open_by + wide)
    s.place("shank", 0.66 * n, 0, 0.036 * n)
    s.place("back", 0.0, 0, 0.01 * n)
    s.place("joint", 0.3 * n, 0, 0.04 * n)
    if joint:
        _arm_joint(s, 0.78 * n, 0.03 * n)
    if jaws.recorded or s.get("surface", quiet=True).recorded:
        details.jaw_face(s)
    details.tip_teeth(s)


def _ribs(s: Sheet, n: float, open_by: float, wide: float) -> None:
    item = s.item(s.get("grip", knows=("spring",)), label="", dashed=False)
    for sign in (-1, 1):
        item.line(
            *[
                line(
                    ((0.4 + 0.016 * i) * n, sign * (open_by - wide * 0.6)),
                    ((0.4 + 0.016 * i) * n, sign * (open_by + wide * 0.6)),
                )
                for i in range(8)
            ]
        )


def _teeth(s: Sheet, token: str, n: float, gap: float, thick: float) -> None:
    """Teeth at the open tips, pointing at each other."""
    item, u = s.item(s.get("teeth")), n / 140
    top = {"one-two": (0.0,), "interlocking": (0.0, -2.0)}.get(token, (0.0,))
    low = {"one-two": (0.9, -0.9), "interlocking": (-1.0,), "teeth": ()}.get(token, ())
    small = 0.45 if token == "rows" else 0.8
    if token == "rows":
        top, low = tuple(-1.0 * i for i in range(8)), tuple(-0.5 - 1.0 * i for i in range(8))
    if fewer := MESHED.get(token):
        step = min(1.6, 4.8 / fewer)
        top, low = tuple(-step * i for i in range(fewer)), tuple(step / 2 - step * i for i in range(fewer + 1))
        small = step / 2
    for x in top:
        a = n - 0.9 * u + x * u
        item.ink(shape((a - small * u, -gap, 1), (a + small * u, -gap, 1), (a, -gap + 1.5 * small * u, 1)))
    for x in low:
        a = n - 0.9 * u + x * u
        item.ink(shape((a - small * u, gap, 1), (a + small * u, gap, 1), (a, gap - 1.5 * small * u, 1)))
    item.at(n - 0.6 * u, 0)


def ring_of(s: Sheet, choice, x: float, r: float) -> None:  # type: ignore[no-untyped-def]
    """A ring over a plate at the ends of the arms."""
    item = s.item(choice, s.get("work", quiet=True), s.get("window", quiet=True))
    item.solid(ellipse(x, 0, r * 1.15, r)).hole(ellipse(x, 0, r * 0.85, r * 0.7)).at(x, -r * 0.8)


def _arm_joint(s: Sheet, x: float, r: float) -> None:
    joint = s.get("joint")
    item = s.item(joint)
    item.solid(ellipse(x, 0, r, r)).line(ellipse(x, 0, r * 0.4)).at(x, -r * 0.7)


# --- spring arms with a joint ---------------------------------------------------------------------------------------
def jointed(s: Sheet) -> None:
    """Spring arms that are pressed together and close jaws or blades beyond a joint."""
    n = s.length
    grip, arms, build, part = (
        s.get("grip", knows=("spring",)),
        s.get("spring-arms", quiet=True),
        s.get("build", quiet=True),
        s.get("jointpart"),
    )
    handle = s.get("handle", quiet=True)
    k = BUILDS.get(build.token, 1.0)
    cutting = s.set("ends") == "blades"
    share = 0.2 * PROPORTIONS.get(s.get("proportion", quiet=True).token, 1.0)
    joint, wide = n * (1 - share), 0.024 * n
    course = [
        (0.0, -0.004 * n), (0.05 * n, -0.02 * n), (0.25 * n, -0.062 * n), (0.55 * n, -0.066 * n), (0.8 * joint, -0.035 * n),
        (joint, -0.004 * n),
    ]  # fmt: skip
    arm = ribbon(course, [wide * 0.5, wide * 0.6, wide * 0.8, wide, wide * 0.75, wide * 0.8])
    s.item(grip, arms, build, handle, label="").solid(arm, arm.map(mirror()))
    ribs = [(0.4 + 0.018 * i) * n for i in range(9)]
    s.item(grip, label="").line(*[line((x, sign * 0.05 * n), (x, sign * 0.082 * n)) for x in ribs for sign in (-1, 1)])
    s.item(arms, grip, label=arms.text if arms.recorded else None).at(0.3 * n, -0.062 * n)
    latch = s.get("latch", quiet=True)
    if latch:
        item = s.item(latch)
        item.solid(
            box(0.3 * n, -0.05 * n, 0.33 * n, 0.012 * n, 0.01 * n),
            shape((0.3 * n, 0.012 * n, 1), (0.35 * n, 0.006 * n), (0.36 * n, 0.03 * n, 1), (0.3 * n, 0.03 * n, 1)),
        )
        item.at(0.315 * n, 0)
    s.place("grip", 0.5 * n, 0, 0.08 * n)
    s.place("back", 0, 0, 0.02 * n)
    if cutting:
        _blades(s, joint)
    else:
        draw_jaws(s, joint + 0.01 * n, n, 0.019 * n * (0.5 + 0.5 * k))
    style = s.get("joint")
    r = 0.028 * n
    s.item(style, part).solid(ellipse(joint, 0, r)).line(ellipse(joint, 0, r * 0.4)).at(joint, r * 0.6)
    s.place("joint", joint, 0, r)
    s.place("end", (joint + n) / 2, 0, 0.03 * n)
    s.place("tip", n, 0, 0.01 * n)
    if cutting:
        details.blade_tips(s)
    else:
        details.jaw_face(s)
        details.tip_teeth(s)


def _blades(s: Sheet, joint: float) -> None:
    n = s.length
    part, tips, curvature = s.get("blade", quiet=True), s.get("blade-tips"), s.get("bend")
    edge, tip = s.get("edge-part", quiet=True), s.get("tip-part", quiet=True)
    upper, lower = ENDS.get(tips.token, ("plain", "plain"))
    for number, token in enumerate(curvature.tokens if curvature.status == "varies" else (curvature.token,)):
        bend = bend_of(token, joint, n)
        for sign, end in ((1, lower), (-1, upper)):
            one = blade(joint, n, 0.034 * n, end)
            one = (one.map(mirror()) if sign > 0 else one).map(then(bend, turn(7.0 * sign, joint, 0)))
            if number:
                s.item(curvature.way(number), label="").ghost(one)
            else:
                s.item(part, tips, curvature, edge, tip, label="").solid(one)
        if not number:
            s.item(curvature).at(*then(bend, turn(-7.0, joint, 0))((joint + 0.5 * (n - joint), -0.01 * n)))
            s.item(tips).at(*then(bend, turn(7.0, joint, 0))((n, 0.004 * n)))


# --- crossed arms ---------------------------------------------------------------------------------------------------
def crossed(s: Sheet) -> None:
    """Arms that cross: pressing opens the jaws, letting go closes them."""
    n = s.length
    grip, arms, build, part = (
        s.get("grip", knows=("cross",)),
        s.get("spring-arms", quiet=True),
        s.get("build", quiet=True),
        s.get("jointpart", quiet=True),
    )
    joint, wide = 0.6 * n, 0.022 * n * BUILDS.get(build.token, 1.0) ** 0.5
    half = [
        (0.03 * n, -0.055 * n), (0.12 * n, -0.098 * n), (0.3 * n, -0.09 * n), (0.46 * n, -0.045 * n),
        (joint + 0.005 * n, 0.002 * n),
    ]  # fmt: skip
    widths = [wide * 0.8, wide * 0.9, wide, wide, wide * 0.9]
    loop = [*((x, -y) for x, y in reversed(half)), (0.012 * n, 0.0), *half]
    first = grip if grip.recorded else arms
    item = s.item(first, arms, build, s.get("handle", quiet=True), label="")
    item.solid(ribbon(loop, [*reversed(widths), wide * 0.8, *widths]))
    s.item(arms, grip, label=arms.text if arms.recorded else None).at(0.2 * n, -0.098 * n)
    s.place("grip", 0.25 * n, 0, 0.1 * n)
    s.place("back", 0, 0, 0.05 * n)
    draw_jaws(s, joint + 0.015 * n, n, 0.022 * n)
    joined = s.get("joint")
    if joined.recorded or part:
        s.item(joined, part).solid(ellipse(joint, 0, 0.035 * n)).line(ellipse(joint, 0, 0.013 * n)).at(joint, 0.02 * n)
    s.place("joint", joint, 0, 0.04 * n)
    s.place("end", 0.8 * n, 0, 0.03 * n)
    s.place("tip", n, 0, 0.02 * n)
    details.jaw_face(s)
    details.tip_teeth(s)
