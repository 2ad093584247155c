"""Specula: two bills on a hinge, gutters, tubes and funnels, leaves on a spring, wires that hold the lids."""

from __future__ import annotations

from kg.draw.paths import box, curve, ellipse, line, mirror, ribbon, shape
from kg.draw.sheet import Sheet


def bills(s: Sheet) -> None:
    """Two blades on a hinge, with a handle below, from the side; the blades from above."""
    n = s.length
    blade, form, joint, handle = (
        s.get("speculum-blade", quiet=True),
        s.get("blade-form", knows=("bill", "bill-wide", "bill-narrow")),
        s.get("jointpart", quiet=True),
        s.get("handle", quiet=True),
    )
    opening = s.get("opening", quiet=True)
    x, w = 0.3 * n, 0.016 * n
    fixed = opening.token == "fixed"
    spread = 0.0 if fixed else 0.12 * n
    item = s.item(blade if blade.recorded else form, form, opening, dashed=not (blade.recorded or form.recorded), label="")
    item.solid(
        ribbon(
            [(x, 0.05 * n), (0.5 * n, 0.06 * n), (0.8 * n, 0.045 * n + spread * 0.5), (n, 0.025 * n + spread * 0.7)],
            [w, w, w, w * 0.8],
            end="round",
        )
    )
    item.solid(
        ribbon(
            [(x, -0.05 * n), (0.5 * n, -0.06 * n), (0.8 * n, -0.045 * n - spread * 0.5), (n, -0.025 * n - spread * 0.7)],
            [w, w, w, w * 0.8],
            end="round",
        )
    )
    s.item(blade if blade.recorded else form).at(0.65 * n, -0.06 * n - spread * 0.25)
    ring = s.item(joint if joint.recorded else blade, label=None if joint.recorded else "")
    ring.solid(
        shape(
            (x - 0.03 * n, -0.12 * n),
            (x + 0.035 * n, -0.1 * n),
            (x + 0.05 * n, 0),
            (x + 0.035 * n, 0.1 * n),
            (x - 0.03 * n, 0.12 * n),
            (x - 0.05 * n, 0),
        )
    )
    ring.hole(ellipse(x, 0, 0.028 * n, 0.07 * n))
    ring.at(x - 0.03 * n, -0.08 * n)
    grip = s.item(handle if handle.recorded else blade, label=None if handle.recorded else "", dashed=not handle.recorded)
    grip.solid(
        ribbon(
            [(x - 0.02 * n, 0.1 * n), (x - 0.08 * n, 0.24 * n), (x - 0.1 * n, 0.44 * n)], [w * 1.4, w * 1.6, w * 2], end="round"
        )
    )
    grip.solid(
        ribbon([(x - 0.04 * n, -0.08 * n), (x - 0.16 * n, 0.04 * n), (x - 0.22 * n, 0.24 * n)], [w, w, w * 1.2], end="round")
    )
    grip.at(x - 0.09 * n, 0.36 * n)
    if opening.token == "adjustable":
        s.item(opening).solid(box(x - 0.2 * n, 0.13 * n, x - 0.02 * n, 0.15 * n, 0.008 * n)).line(
            *[line((x - (0.19 - 0.012 * i) * n, 0.13 * n), (x - (0.186 - 0.012 * i) * n, 0.15 * n)) for i in range(13)]
        ).at(x - 0.12 * n, 0.14 * n)
    for name, px, py in (
        ("joint", x - 0.12 * n, 0.12 * n),
        ("grip", x - 0.1 * n, 0.4 * n),
        ("back", x - 0.1 * n, 0.44 * n),
        ("end", 0.85 * n, 0.1 * n),
        ("tip", n, 0.1 * n),
        ("shank", 0.6 * n, 0.07 * n),
    ):
        s.place(name, px, py, 0.03 * n)
    view = s.detail("front", "a blade from above")
    half = {"bill-wide": 9.0, "bill-narrow": 4.6}.get(form.token, 6.6)
    top = s.item(form, view=view, label="", dashed=not form.recorded)
    if form.token == "bill-wide":
        top.solid(
            shape(
                (0, -half * 0.75, 1),
                (12, -half * 0.72),
                (30, -half),
                (42, -half * 0.8),
                (46, 0),
                (42, half * 0.8),
                (30, half),
                (12, half * 0.72),
                (0, half * 0.75, 1),
            )
        )
    else:
        top.solid(shape((0, -half, 1), (30, -half), (43, -half * 0.8), (46, 0), (43, half * 0.8), (30, half), (0, half, 1)))
    view.note = form.text if form.recorded else f"{form.text}: not recorded"


def gutter(s: Sheet) -> None:
    """A gutter-shaped blade at one end or both of a handle, from the side."""
    n = s.length
    blade, form, ends, handle, groove = (
        s.get("speculum-blade", quiet=True),
        s.get("blade-form", knows=("gutter", "flat")),
        s.get("ends", quiet=True),
        s.get("handle", quiet=True),
        s.get("groove", quiet=True),
    )
    weight, retention, build = (
        s.get("weight", quiet=True),
        s.get("retention", quiet=True, knows=() if s.get("weight", quiet=True).recorded else ("weight",)),
        s.get("build", quiet=True, knows=("heavy",)),
    )
    w = 0.018 * n * (1.3 if build.token == "heavy" else 1.0)
    tall = 0.42 * n
    two = ends.token == "two"
    first = blade if blade.recorded else form
    grip = s.item(handle if handle.recorded else first, ends, retention, build, label="")
    known = blade.recorded or form.recorded
    if weight.recorded or retention.token == "weight":
        grip.solid(ribbon([(0.34 * n, 0.0), (0.32 * n, 0.16 * n), (0.32 * n, tall)], [w, w, w]))
        s.item(weight if weight.recorded else retention, retention).solid(
            ellipse(0.32 * n, tall + 0.08 * n, 0.1 * n, 0.11 * n)
        ).hair(curve((0.27 * n, tall), (0.25 * n, tall + 0.08 * n), (0.28 * n, tall + 0.16 * n))).at(0.32 * n, tall + 0.1 * n)
    else:
        grip.solid(ribbon([(0.34 * n, 0.0), (0.3 * n, 0.5 * tall), (0.34 * n, tall)], [w, w * 1.1, w]))
    blades = [(0.0, 1.0)] + ([(tall, 0.78)] if two else [])
    for y, size in blades:
        item = s.item(first, form, ends, label=None if not y else "", dashed=not known)
        item.solid(
            shape(
                (0.33 * n, y - w, 1),
                (0.45 * n, y - w * 1.1),
                (0.33 * n + 0.5 * n * size, y - w * 0.9),
                (0.33 * n + 0.6 * n * size, y + 0.03 * n * (1 if not y else -1)),
                (0.33 * n + 0.52 * n * size, y + w * 0.6),
                (0.45 * n, y + w),
                (0.33 * n, y + w, 1),
            )
        )
        item.at(0.33 * n + 0.4 * n * size, y - w * 0.6)
        if form.token == "gutter":
            wall = curve(
                (0.36 * n, y - w * 0.4), (0.33 * n + 0.3 * n * size, y - w * 0.5), (0.33 * n + 0.55 * n * size, y - w * 0.1)
            )
            s.item(form, label="").line(wall)
        if groove:
            s.item(groove, label=None if not y else "").hair(
                curve((0.38 * n, y), (0.33 * n + 0.3 * n * size, y + 0.1 * w), (0.33 * n + 0.54 * n * size, y + 0.4 * w))
            ).at(0.33 * n + 0.2 * n * size, y + w * 0.5)
    if ends.recorded:
        s.item(ends).at(0.34 * n, tall * 0.9)
    if handle.recorded:
        s.item(handle).at(0.3 * n, 0.5 * tall)
    for name, px, py in (
        ("joint", 0.31 * n, 0.2 * tall),
        ("grip", 0.3 * n, 0.5 * tall),
        ("back", 0.3 * n, 0.6 * tall),
        ("end", 0.6 * n, 0.0),
        ("tip", 0.9 * n, 0.0),
        ("shank", 0.45 * n, 0.0),
    ):
        s.place(name, px, py, 0.025 * n)


def tubular(s: Sheet) -> None:
    """A tube or funnel through which one looks, flared at the eye; an obturator if there is one."""
    n = s.length
    form, lumen = s.get("blade-form", knows=("tube", "funnel")), s.get("lumen", quiet=True)
    shown = form if form.recorded else lumen
    item = s.item(shown, form, lumen, label="", dashed=not (form.recorded or lumen.recorded))
    if form.token == "funnel":
        item.solid(
            shape(
                (0, -0.3 * n, 1),
                (0.08 * n, -0.3 * n),
                (0.42 * n, -0.15 * n),
                (0.75 * n, -0.085 * n),
                (n, -0.07 * n, 1),
                (n, 0.07 * n, 1),
                (0.75 * n, 0.085 * n),
                (0.42 * n, 0.15 * n),
                (0.08 * n, 0.3 * n),
                (0, 0.3 * n, 1),
            )
        )
        item.line(ellipse(n, 0, 0.02 * n, 0.07 * n)).hair(curve((0.04 * n, -0.3 * n), (0.02 * n, 0), (0.04 * n, 0.3 * n)))
    else:
        h = n * s.set("half", 0.1)
        item.solid(
            shape(
                (0.05 * n, -h * 1.9, 1),
                (0.1 * n, -h * 1.2),
                (0.2 * n, -h),
                (n, -h, 1),
                (n + 0.05 * n, h, 1),
                (0.2 * n, h),
                (0.1 * n, h * 1.2),
                (0.05 * n, h * 1.9, 1),
            )
        )
        item.hole(ellipse(n + 0.02 * n, 0, 0.04 * n, h * 0.98, 0))
        if s.set("grip", True):
            handle = s.get("handle", quiet=True)
            s.item(
                handle if handle.recorded else s.get("grip", quiet=True),
                label=None if handle.recorded else "",
                dashed=not handle.recorded,
            ).solid(
                ribbon(
                    [(0.1 * n, h * 1.2), (0.06 * n, h * 2 + 0.1 * n), (0.0, h * 2 + 0.26 * n)],
                    [0.02 * n, 0.022 * n, 0.028 * n],
                    end="round",
                )
            ).at(0.04 * n, h * 2 + 0.14 * n)
    s.item(shown).at(0.45 * n, -0.09 * n)
    for name, px, py in (
        ("joint", 0.08 * n, 0),
        ("grip", 0.04 * n, 0.3 * n),
        ("back", 0.02 * n, 0),
        ("end", 0.8 * n, 0),
        ("tip", n, 0),
        ("shank", 0.5 * n, 0),
    ):
        s.place(name, px, py, 0.1 * n)


def leaves(s: Sheet) -> None:
    """Two leaves: on a spring bow that is pressed together, or long ones on a handle with a screw."""
    n = s.length
    form, blade, handle, arms = (
        s.get("blade-form", knows=("flange", "long-flat")),
        s.get("speculum-blade", quiet=True),
        s.get("handle", quiet=True),
        s.get("spring-arms", quiet=True),
    )
    w = 0.018 * n
    long = form.token == "long-flat"
    for sign in (-1, 1):
        move = (lambda p: p) if sign < 0 else mirror()
        if long:
            course = [(0.02 * n, -0.16 * n), (0.22 * n, -0.13 * n), (0.42 * n, -0.02 * n), (0.52 * n, -0.01 * n)]
            grip = s.item(handle, label="", dashed=not handle.recorded)
            grip.solid(ribbon(course, [w * 1.3, w * 1.2, w, w]).map(move))
            leaf = shape(
                (0.5 * n, -0.012 * n, 1), (0.52 * n, -0.07 * n), (0.6 * n, -0.075 * n), (n, -0.03 * n), (n, -0.012 * n, 1)
            )
        else:
            course = [
                (0.0, -0.002 * n),
                (0.03 * n, -0.11 * n),
                (0.2 * n, -0.2 * n),
                (0.42 * n, -0.18 * n),
                (0.62 * n, -0.1 * n),
            ]
            grip = s.item(arms if arms.recorded else handle, handle, label="", dashed=not (arms.recorded or handle.recorded))
            grip.solid(ribbon(course, [w * 0.8] * 5).map(move))
            leaf = shape(
                (0.6 * n, -0.16 * n),
                (0.66 * n, -0.15 * n),
                (0.74 * n, -0.07 * n),
                (0.98 * n, -0.05 * n),
                (n, -0.02 * n),
                (0.9 * n, -0.014 * n),
                (0.64 * n, -0.02 * n),
                (0.6 * n, -0.09 * n),
            )
        s.item(form if form.recorded else blade, form, blade, label="", dashed=not (form.recorded or blade.recorded)).solid(
            leaf.map(move)
        )
    s.item(form if form.recorded else blade).at(0.85 * n, -0.04 * n)
    if arms.recorded or handle.recorded:
        s.item(arms if arms.recorded else handle).at(0.2 * n, -0.19 * n if not long else -0.13 * n)
    if long:
        s.item(s.get("joint", quiet=True), label="").solid(ellipse(0.44 * n, 0, 0.03 * n)).line(ellipse(0.44 * n, 0, 0.01 * n))
    for name, px, py in (
        ("joint", 0.24 * n, 0.0),
        ("grip", 0.12 * n, 0.15 * n),
        ("back", 0, 0),
        ("end", 0.8 * n, 0.05 * n),
        ("tip", n, 0),
        ("shank", 0.5 * n, 0),
    ):
        s.place(name, px, py, 0.03 * n)


def lids(s: Sheet) -> None:
    """A bow with two loops or plates that hold the eyelids apart."""
    n = s.length
    form, guard, opening = (
        s.get("blade-form", knows=("wire",)),
        s.get("lash-guard", quiet=True),
        s.get("opening", quiet=True),
    )
    build = s.get("build", quiet=True, knows=("delicate",))
    w = 0.012 * n * (0.75 if build.token == "delicate" else 1.0)
    wire = form.token == "wire"
    known = form.recorded or guard.recorded
    bow = s.item(form, opening, build, label="", dashed=not (known or opening.recorded))
    for sign in (-1, 1):
        move = (lambda p: p) if sign < 0 else mirror()
        bow.solid(
            ribbon(
                [(0.02 * n, 0.0), (0.05 * n, -0.09 * n), (0.2 * n, -0.17 * n), (0.45 * n, -0.2 * n), (0.62 * n, -0.24 * n)],
                [w] * 5,
            ).map(move)
        )
        item = s.item(
            form if form.recorded or not guard.recorded else guard, guard, label=None if sign < 0 else "", dashed=not known
        )
        loop = [
            (0.6 * n, -0.24 * n),
            (0.66 * n, -0.38 * n),
            (0.78 * n, -0.4 * n),
            (0.9 * n, -0.36 * n),
            (0.96 * n, -0.24 * n),
            (0.9 * n, -0.19 * n),
            (0.78 * n, -0.17 * n),
            (0.66 * n, -0.19 * n),
        ]
        if wire:
            item.solid(ribbon([*loop, loop[0]], [w * 0.8] * 9).map(move))
        else:
            item.solid(shape(*loop).map(move))
            item.hair(curve((0.66 * n, -0.3 * n), (0.78 * n, -0.32 * n), (0.9 * n, -0.29 * n)).map(move))
        item.at(0.78 * n, sign * 0.36 * n)
        if guard.recorded:
            s.item(guard, label="").hair(
                *[line(((0.68 + 0.035 * i) * n, -0.24 * n), ((0.68 + 0.035 * i) * n, -0.35 * n)).map(move) for i in range(7)]
            )
    if opening.token == "adjustable":
        item = s.item(opening)
        item.solid(box(0.3 * n, -0.19 * n, 0.325 * n, 0.19 * n, 0.006 * n))
        item.line(*[line((0.3 * n, (-0.18 + 0.018 * i) * n), (0.325 * n, (-0.172 + 0.018 * i) * n)) for i in range(21)])
        item.at(0.312 * n, 0.12 * n)
    elif opening.token == "fixed":
        s.item(opening).at(0.03 * n, 0.0)
    for name, px, py in (
        ("joint", 0.24 * n, 0.0),
        ("grip", 0.1 * n, 0),
        ("back", 0.02 * n, 0),
        ("end", 0.75 * n, 0.18 * n),
        ("tip", 0.95 * n, 0.2 * n),
        ("shank", 0.45 * n, 0.2 * n),
    ):
        s.place(name, px, py, 0.03 * n)
