"""Forceps for the head: two branches that cross at a lock; from above, and one branch from the side."""

from __future__ import annotations

from kg.draw.models.jaws import BUILDS
from kg.draw.paths import Bend, box, curve, ellipse, line, mirror, ribbon, shape
from kg.draw.sheet import Sheet

PELVIC = {"none": 0.0, "slight": -7.0, "there": -24.0, "marked": -38.0}
SHANKS = {"short": 0.1, "long": 0.24}


def draw(s: Sheet) -> None:
    """Handles, lock, shanks and blades from above; the curve for the pelvis from the side."""
    n = s.length
    handle, blade, form = s.get("handle", quiet=True), s.get("head-blade"), s.get("blade-form", quiet=True)
    shank, shank_form, shank_length = (
        s.get("shank", quiet=True),
        s.get("shank-form", quiet=True),
        s.get("shank-length", quiet=True),
    )
    cephalic, build = s.get("cephalic", quiet=True), s.get("build", quiet=True)
    curvature = s.get("bend", quiet=True)
    k = BUILDS.get(build.token, 1.0) ** 0.5
    w = 0.012 * n * k
    lock = 0.36 * n
    reach = SHANKS.get(shank_length.token, 0.16) * n
    start = lock + reach
    wide = {"long": 0.115, "round": 0.155}.get(cephalic.token, 0.13) * n
    gap = {"overlapping": 0.0, "narrow": 0.004, "wide": 0.035, "parallel": 0.022}.get(shank_form.token, 0.012) * n
    for sign in (1, -1):
        move = mirror() if sign > 0 else (lambda p: p)
        s.item(handle, build, label="", dashed=not handle.recorded).solid(
            shape(
                (0, -0.045 * n),
                (0.03 * n, -0.058 * n),
                (0.12 * n, -0.042 * n),
                (0.2 * n, -0.05 * n),
                (0.29 * n, -0.034 * n),
                (lock, -0.012 * n, 1),
                (lock, 0.01 * n, 1),
                (0.28 * n, -0.004 * n),
                (0.1 * n, -0.012 * n),
                (0.02 * n, -0.016 * n),
            ).map(move)
        )
        # Behind the lock a branch lies on the other side of the axis.
        course = [(lock - 0.02 * n, -0.006 * n), (lock + 0.03 * n, gap), (start, gap + 0.004 * n), (start + 0.05 * n, 0.06 * n)]
        s.item(shank, shank_form, shank_length, curvature, label="", dashed=not shank.recorded).solid(
            ribbon(course, [w * 1.2, w * 1.1, w, w]).map(move)
        )
        end = n
        m = end - start
        outer = [
            (start + 0.02 * n, gap),
            (start + 0.1 * m, 0.075 * n),
            (start + 0.4 * m, wide),
            (start + 0.72 * m, wide * 0.94),
            (start + 0.94 * m, wide * 0.5),
            (end, wide * 0.24),
        ]
        inner = [
            (end - 0.035 * n, wide * 0.2),
            (start + 0.88 * m, wide * 0.42),
            (start + 0.7 * m, wide * 0.78),
            (start + 0.4 * m, wide * 0.8),
            (start + 0.16 * m, 0.055 * n),
            (start + 0.05 * m, gap - 0.002 * n),
        ]
        item = s.item(blade, form, cephalic, label="", dashed=not blade.recorded)
        item.solid(shape(*outer, *inner).map(move))
    s.item(blade).at(start + 0.55 * (n - start), -wide * 0.9)
    if cephalic.recorded:
        s.item(cephalic).at(start + 0.4 * (n - start), wide * 0.92)
    if handle.recorded:
        s.item(handle).at(0.12 * n, -0.04 * n)
    if shank_form.recorded or shank_length.recorded:
        s.item(shank_form, shank_length).at(lock + 0.6 * reach, gap + w * 0.5)
    elif shank.recorded:
        s.item(shank).at(lock + 0.6 * reach, gap + w * 0.5)
    _lock(s, lock, 0.026 * n)
    for name, x, y in (
        ("grip", 0.2 * n, 0.0),
        ("back", 0.0, 0.0),
        ("joint", lock - 0.02 * n, 0.03 * n),
        ("shank", lock + 0.5 * reach, gap),
        ("end", start + 0.5 * (n - start), wide),
        ("tip", n, 0.0),
    ):
        s.place(name, x, y, 0.03 * n)
    _side(s, n, lock, start)


def _lock(s: Sheet, x: float, r: float) -> None:
    joint, part = s.get("joint"), s.get("jointpart", quiet=True)
    item = s.item(joint, part)
    if joint.token == "sliding":
        item.solid(box(x - 2.4 * r, -r, x + 2.4 * r, r, 0.5 * r)).line(
            line((x - 2 * r, 0), (x + 2 * r, 0)),
            line((x - 1.6 * r, -0.6 * r), (x - 2 * r, 0), (x - 1.6 * r, 0.6 * r)),
            line((x + 1.6 * r, -0.6 * r), (x + 2 * r, 0), (x + 1.6 * r, 0.6 * r)),
        )
    elif joint.token == "socket":
        item.solid(
            shape(
                (x - 1.4 * r, -1.3 * r, 1),
                (x + 1.2 * r, -1.3 * r, 1),
                (x + 1.2 * r, 0.2 * r, 1),
                (x + 0.2 * r, 1.3 * r, 1),
                (x - 1.4 * r, 1.3 * r, 1),
            )
        )
        item.line(line((x - 1.4 * r, 0.2 * r), (x + 0.1 * r, -0.2 * r), (x + 1.2 * r, 0.2 * r)))
    else:
        item.solid(ellipse(x, 0, 1.2 * r)).line(ellipse(x, 0, 0.45 * r))
    item.at(x, -0.9 * r)


def _side(s: Sheet, n: float, lock: float, start: float) -> None:
    """One branch from the side, where the window of the blade and the curve for the pelvis are seen."""
    pelvic, form, shank_form, blade = (
        s.get("pelvic"),
        s.get("blade-form", quiet=True),
        s.get("shank-form", quiet=True),
        s.get("head-blade"),
    )
    view = s.detail("side", "one branch from the side")
    z = 70.0 / n
    bend = Bend((start * z, n * z, PELVIC.get(pelvic.token, 0.0)))
    if shank_form.token == "backward":
        bend = Bend((lock * z, start * z, 22.0), (start * z, n * z, PELVIC.get(pelvic.token, 0.0) - 22.0))
    item = s.item(pelvic, shank_form, view=view, label="", dashed=pelvic.status == "not recorded")
    item.solid(ribbon([(0, 0), (lock * z, 0), (start * z, 0)], [2.6, 1.6, 1.1], start="round", steps=10).map(bend))
    a, m = start * z, (n - start) * z
    plate = shape(
        (a - 1, -1.0, 1),
        (a + 0.15 * m, -2.2),
        (a + 0.45 * m, -5.0),
        (a + 0.8 * m, -4.6),
        (a + 0.97 * m, -2.0),
        (a + m, 0),
        (a + 0.97 * m, 2.0),
        (a + 0.8 * m, 4.6),
        (a + 0.45 * m, 5.0),
        (a + 0.15 * m, 2.2),
        (a - 1, 1.0, 1),
    )
    item.solid(plate.map(bend))
    hole = shape(
        (a + 0.26 * m, 0),
        (a + 0.46 * m, -3.2),
        (a + 0.76 * m, -2.9),
        (a + 0.88 * m, 0),
        (a + 0.76 * m, 2.9),
        (a + 0.46 * m, 3.2),
    ).map(bend)
    if form.token == "window":
        s.item(form, view=view, label="").hole(hole)
    elif form.token == "hollow":
        s.item(form, view=view, label="").shade(hole).line(hole)
    elif form.token == "solid":
        s.item(form, view=view, label="").hair(curve((a + 0.2 * m, 0), (a + 0.9 * m, 0)).map(bend))
    else:
        s.item(blade, view=view, label="", dashed=True).line(hole)
    view.note = "; ".join(c.text for c in (pelvic, form) if c.recorded) or f"{pelvic.text}: not recorded"
    if pelvic.recorded and not form.recorded:
        view.note += "; whether the blade has a window: not recorded"
