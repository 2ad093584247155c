"""Small things and frames: clips, rings, clamps of plastic; mouth gags, laryngoscopes, guillotines; calipers."""

from __future__ import annotations

from kg.draw.paths import arc, box, curve, ellipse, line, mirror, ribbon, shape, turn_point
from kg.draw.sheet import Sheet


def clip(s: Sheet) -> None:
    """Two limbs that close on something: by their own spring, by being crimped, or by a latch."""
    n = s.length
    form, blades, prongs, spring, jaws = (
        s.get(p, quiet=True) for p in ("clip-form", "clip-blades", "prongs", "inner-spring", "jaws")
    )
    closing = s.get("closing", quiet=True, knows=("crimp",) if prongs.recorded else None)
    grip, rigidity = s.get("grip", quiet=True), s.get("rigidity", quiet=True)
    w = 0.032 * n
    first = blades if blades.recorded else jaws if jaws.recorded else prongs if prongs.recorded else closing
    known = first.recorded
    style = closing.token or s.set("style", "plain")
    tags = (first, closing, grip, rigidity)
    if s.set("style") == "loop":
        item = s.item(rigidity if rigidity.recorded else grip, grip, dashed=not (rigidity.recorded or grip.recorded))
        item.solid(ellipse(0, 0, 0.34 * n, 0.3 * n) + ellipse(0, 0, 0.24 * n, 0.2 * n)).at(-0.2 * n, -0.22 * n)
    elif prongs.recorded:
        item = s.item(*tags)
        item.solid(ribbon([(0, 0), (0.2 * n, -0.06 * n), (0.5 * n, -0.09 * n), (0.8 * n, -0.06 * n), (n, 0)], [w] * 5))
        item.solid(
            shape((0, -w, 1), (-0.05 * n, 0.02 * n), (0.02 * n, 0.12 * n, 1), (0.05 * n, 0.02 * n, 1)),
            shape((n, -w, 1), (1.05 * n, 0.02 * n), (0.98 * n, 0.12 * n, 1), (0.95 * n, 0.02 * n, 1)),
        )
        item.hole(ellipse(0.05 * n, -0.01 * n, 0.02 * n), ellipse(0.95 * n, -0.01 * n, 0.02 * n))
        item.at(0.5 * n, -0.1 * n)
    elif style == "spring":
        item = s.item(*tags, label="")
        for sign in (-1, 1):
            move = mirror() if sign > 0 else (lambda p: p)
            item.solid(
                ribbon(
                    [
                        (0.26 * n, 0.02 * n),
                        (0.34 * n, -0.035 * n),
                        (0.5 * n, -0.03 * n),
                        (0.75 * n, -0.025 * n),
                        (n, -0.016 * n),
                    ],
                    [w * 0.8, w * 0.8, w * 0.7, w * 0.6, w * 0.4],
                    end="round",
                ).map(move)
            )
        coil = s.item(closing, spring)
        coil.solid(ellipse(0.16 * n, 0, 0.13 * n, 0.1 * n) + ellipse(0.16 * n, 0, 0.095 * n, 0.065 * n))
        coil.line(arc(0.16 * n, 0, 0.075 * n, 20, 330)).at(0.1 * n, -0.07 * n)
        if form.token == "window":
            s.item(form).solid(ellipse(0.64 * n, 0, 0.1 * n, 0.085 * n)).hole(ellipse(0.64 * n, 0, 0.07 * n, 0.055 * n)).at(
                0.66 * n, -0.06 * n
            )
        elif form.recorded:
            s.item(form).hair(line((0.4 * n, 0), (0.98 * n, 0))).at(0.75 * n, -0.03 * n)
        s.item(first).at(0.9 * n, 0.02 * n)
    elif style == "latch":
        for sign in (-1, 1):
            item = s.item(*tags, label="" if sign > 0 else None)
            body = ribbon(
                [(0.06 * n, 0.0), (0.02 * n, -0.06 * n), (0.14 * n, -0.09 * n), (0.6 * n, -0.06 * n), (0.92 * n, -0.05 * n)],
                [w, w, w * 1.1, w, w],
            )
            item.solid(body if sign < 0 else body.map(mirror()))
            item.line(
                *[
                    line(
                        ((0.2 + 0.05 * i) * n, sign * 0.028 * n),
                        ((0.225 + 0.05 * i) * n, sign * 0.045 * n),
                        ((0.25 + 0.05 * i) * n, sign * 0.028 * n),
                    )
                    for i in range(13)
                ]
            )
            item.at(0.45 * n, -0.075 * n)
        s.item(closing).solid(
            shape((0.9 * n, -0.08 * n, 1), (n, -0.06 * n), (n, 0.04 * n), (0.94 * n, 0.05 * n, 1), (0.95 * n, -0.02 * n, 1))
        ).at(0.99 * n, -0.03 * n)
    else:
        item = s.item(*tags, dashed=not known)
        item.solid(
            ribbon(
                [
                    (0.9 * n, -0.26 * n),
                    (0.5 * n, -0.2 * n),
                    (0.1 * n, -0.06 * n),
                    (0.04 * n, 0),
                    (0.1 * n, 0.06 * n),
                    (0.5 * n, 0.2 * n),
                    (0.9 * n, 0.26 * n),
                ],
                [w, w, w, w * 1.1, w, w, w],
                start="round",
                end="round",
            )
        )
        item.line(
            *[
                line(((0.3 + 0.06 * i) * n, (-0.09 - 0.02 * i) * n), ((0.32 + 0.06 * i) * n, (-0.125 - 0.02 * i) * n))
                for i in range(8)
            ]
        )
        item.at(0.5 * n, -0.2 * n)
    for name, x, y in (
        ("back", 0.05 * n, 0),
        ("grip", 0.15 * n, 0),
        ("joint", 0.3 * n, 0),
        ("shank", 0.45 * n, 0),
        ("end", 0.6 * n, 0.05 * n),
        ("tip", 0.95 * n, 0),
    ):
        s.place(name, x, y, 0.06 * n)


def lit_blade(s: Sheet) -> None:
    """A battery handle with a blade at a right angle, seen from the side."""
    n = s.length
    handle, blade, form, optics = (
        s.get("handle", quiet=True),
        s.get("retractor-blade", quiet=True),
        s.get("blade-form"),
        s.get("optics", quiet=True),
    )
    tip, lamp = s.get("tube-tip", quiet=True), s.get("lamp", quiet=True)
    w = 0.016 * n
    item = s.item(handle, dashed=not handle.recorded)
    item.solid(box(0.1 * n, 0.1 * n, 0.26 * n, 0.86 * n, 0.03 * n), box(0.12 * n, 0.02 * n, 0.24 * n, 0.11 * n, 0.01 * n))
    item.line(*[line((0.11 * n, (0.2 + 0.05 * i) * n), (0.25 * n, (0.2 + 0.05 * i) * n)) for i in range(12)])
    item.at(0.14 * n, 0.5 * n)
    known = blade.recorded or form.recorded
    if form.token == "curved":
        course = [(0.1 * n, -0.03 * n), (0.3 * n, -0.03 * n), (0.55 * n, -0.01 * n), (0.78 * n, 0.08 * n), (0.95 * n, 0.24 * n)]
    else:
        course = [
            (0.1 * n, -0.03 * n),
            (0.3 * n, -0.03 * n),
            (0.6 * n, -0.03 * n),
            (0.9 * n, -0.03 * n),
            (0.99 * n, -0.015 * n),
        ]
    one = s.item(blade if blade.recorded else form, form, dashed=not known)
    one.solid(
        box(0.1 * n, -0.07 * n, 0.27 * n, 0.03 * n, 0.012 * n),
        ribbon(course, [w * 2.2, w * 2.2, w * 1.7, w * 1.2, w * 0.8], end="round"),
    )
    one.at(*course[2])
    if form.recorded:
        s.item(form).at(*course[3])
    end = course[-1]
    if tip.token == "bulb":
        s.item(tip).solid(ellipse(end[0], end[1], w * 1.5, w * 1.5)).at(end[0], end[1])
    if optics.token == "light" or lamp.recorded:
        x, y = course[2][0] + 0.08 * n, course[2][1] - w * 2.2
        light = s.item(optics if optics.recorded else lamp, lamp)
        light.solid(ellipse(x, y, 0.016 * n)).line(
            *[line(turn_point(x, y, 0.025 * n, a), turn_point(x, y, 0.045 * n, a)) for a in (-120, -80, -40, 0)]
        )
        light.at(x, y)
    for name, x, y in (
        ("grip", 0.18 * n, 0.5 * n),
        ("back", 0.18 * n, 0.86 * n),
        ("joint", 0.18 * n, 0.04 * n),
        ("shank", 0.4 * n, -0.03 * n),
        ("end", 0.6 * n, 0.0),
        ("tip", *end),
    ):
        s.place(name, x, y, 0.03 * n)


def gag(s: Sheet) -> None:
    """A frame that opens the mouth, with what holds it open."""
    n = s.length
    part, handle, grip, retention = (
        s.get("frame", quiet=True),
        s.get("handle", quiet=True),
        s.get("grip", quiet=True),
        s.get("retention", quiet=True, knows=("ratchet",)),
    )
    ratchet, arms, plate, blade, form = (
        s.get(p, quiet=True) for p in ("ratchet", "arms", "tongue-plate", "retractor-blade", "blade-form")
    )
    rings, flat = s.get("rings", quiet=True), s.get("flat-handle", quiet=True)
    w = 0.018 * n
    if part.recorded or not (arms.recorded or rings.recorded or blade.recorded):
        item = s.item(part if part.recorded else retention, retention, dashed=not part.recorded)
        item.solid(
            shape(
                (0.25 * n, -0.24 * n),
                (0.4 * n, -0.3 * n),
                (0.72 * n, -0.26 * n),
                (0.8 * n, 0),
                (0.72 * n, 0.26 * n),
                (0.4 * n, 0.3 * n),
                (0.25 * n, 0.24 * n),
                (0.2 * n, 0),
            )
            + shape(
                (0.28 * n, -0.19 * n),
                (0.41 * n, -0.24 * n),
                (0.68 * n, -0.21 * n),
                (0.75 * n, 0),
                (0.68 * n, 0.21 * n),
                (0.41 * n, 0.24 * n),
                (0.28 * n, 0.19 * n),
                (0.245 * n, 0),
            )
        )
        item.at(0.45 * n, -0.275 * n)
    else:
        first = arms if arms.recorded else rings if rings.recorded else blade
        for sign in (-1, 1):
            item = s.item(first, grip, handle, label=None if sign < 0 else "", dashed=not first.recorded)
            arm = ribbon(
                [(0.116 * n, -0.134 * n), (0.3 * n, -0.07 * n), (0.45 * n, 0.0), (0.62 * n, 0.08 * n), (0.85 * n, 0.13 * n)],
                [w] * 5,
            )
            foot = shape(
                (0.82 * n, 0.1 * n), (0.92 * n, 0.1 * n), (0.98 * n, 0.19 * n), (0.9 * n, 0.21 * n), (0.82 * n, 0.16 * n)
            )
            item.solid(*((arm, foot) if sign < 0 else (arm.map(mirror()), foot.map(mirror()))))
            if rings.recorded:
                ring = ellipse(0.07 * n, -0.165 * n, 0.065 * n, 0.05 * n) + ellipse(0.07 * n, -0.165 * n, 0.048 * n, 0.034 * n)
                item.solid(ring if sign < 0 else ring.map(mirror()))
            item.at(0.7 * n, -0.11 * n)
    if plate.recorded or blade.recorded:
        tongue = s.item(plate if plate.recorded else blade, blade, form)
        tongue.solid(
            shape(
                (0.3 * n, -0.06 * n, 1),
                (0.75 * n, -0.075 * n),
                (0.95 * n, -0.06 * n),
                (n, 0),
                (0.95 * n, 0.06 * n),
                (0.75 * n, 0.075 * n),
                (0.3 * n, 0.06 * n, 1),
            )
        )
        if form.token == "split":
            tongue.hole(box(0.45 * n, -0.014 * n, 1.02 * n, 0.014 * n, 0.012 * n))
        tongue.at(0.7 * n, -0.04 * n)
        if form.recorded:
            s.item(form).at(0.6 * n, 0.03 * n)
    if handle.recorded and not rings.recorded:
        item = s.item(flat if flat.recorded else handle, handle, grip)
        item.solid(box(0.0, -0.03 * n, 0.24 * n, 0.03 * n, 0.022 * n)).at(0.1 * n, -0.02 * n)
    if ratchet.recorded or retention.token == "ratchet":
        bar = s.item(ratchet if ratchet.recorded else retention, retention)
        bar.solid(box(0.235 * n, -0.15 * n, 0.26 * n, 0.15 * n, 0.006 * n)).line(
            *[line((0.235 * n, (-0.14 + 0.016 * i) * n), (0.26 * n, (-0.132 + 0.016 * i) * n)) for i in range(18)]
        )
        bar.at(0.25 * n, 0.11 * n)
    for name, x, y in (
        ("grip", 0.12 * n, 0),
        ("back", 0.0, 0),
        ("joint", 0.25 * n, 0.12 * n),
        ("shank", 0.4 * n, 0.25 * n),
        ("end", 0.78 * n, 0.0),
        ("tip", 0.95 * n, 0),
    ):
        s.place(name, x, y, 0.04 * n)


def mouth_tube(s: Sheet) -> None:
    """A curved airway with a flange and a bite block, or a mask on a tube."""
    n = s.length
    flange, block, bend, lumen, cuff = (s.get(p, quiet=True) for p in ("flange", "bite-block", "tube-bend", "lumen", "cuff"))
    w = 0.05 * n
    course = (
        [(0.08 * n, 0), (0.3 * n, 0), (0.55 * n, 0.02 * n), (0.78 * n, 0.14 * n), (0.9 * n, 0.36 * n)]
        if bend.token == "curved" or s.set("curved")
        else [(0.08 * n, 0), (0.4 * n, 0), (0.7 * n, 0), (0.94 * n, 0)]
    )
    first = lumen if lumen.recorded else bend
    item = s.item(first, bend, lumen, dashed=not first.recorded)
    item.solid(ribbon(course, [w] * len(course)))
    item.line(ribbon(course, [w * 0.42] * len(course)))
    item.at(*course[2])
    if cuff.recorded:
        x, y = course[-1]
        s.item(cuff).solid(ellipse(x, y, 0.22 * n, 0.14 * n, 50)).hole(ellipse(x, y, 0.13 * n, 0.07 * n, 50)).at(x, y - 0.1 * n)
    if flange.recorded:
        s.item(flange).solid(box(0.04 * n, -0.15 * n, 0.09 * n, 0.15 * n, 0.024 * n)).at(0.06 * n, -0.12 * n)
    if block.recorded:
        s.item(block).solid(box(0.1 * n, -1.25 * w, 0.28 * n, 1.25 * w, 0.012 * n)).at(0.2 * n, -w)
    for name, x, y in (
        ("grip", 0.2 * n, 0),
        ("back", 0.06 * n, 0),
        ("joint", 0.3 * n, 0),
        ("shank", 0.45 * n, 0),
        ("end", 0.7 * n, 0.08 * n),
        ("tip", *course[-1]),
    ):
        s.place(name, x, y, w)


def caliper(s: Sheet) -> None:
    """Two legs with points."""
    n, tip = s.length, s.get("tip", quiet=True)
    for sign in (-1, 1):
        item = s.item(tip, s.get("tip-part", quiet=True), label=None if sign < 0 else "", dashed=not tip.recorded)
        leg = ribbon(
            [(0.1 * n, 0), (0.4 * n, -0.1 * n), (0.75 * n, -0.12 * n), (n, -0.1 * n)],
            [0.02 * n, 0.02 * n, 0.014 * n, 0.002 * n],
        )
        item.solid(leg if sign < 0 else leg.map(mirror())).at(n, -0.1 * n)
    s.item(tip, label="").solid(box(0, -0.03 * n, 0.14 * n, 0.03 * n, 0.015 * n))
    for name, x in (("grip", 0.08 * n), ("back", 0.0), ("joint", 0.12 * n), ("shank", 0.4 * n), ("end", 0.7 * n), ("tip", n)):
        s.place(name, x, 0, 0.1 * n)


def strip(s: Sheet) -> None:
    """A soft flat drain or a plate: a strip."""
    n = s.length
    rigidity, form = s.get("rigidity", quiet=True, knows=("flexible",)), s.get("jaws", quiet=True)
    first = rigidity if rigidity.recorded else form
    item = s.item(first, dashed=not first.recorded)
    waves = (
        [(x * n, (0.04 if i % 2 else -0.04) * n) for i, x in enumerate((0.0, 0.2, 0.4, 0.6, 0.8, 1.0))]
        if rigidity.token == "flexible"
        else [(0, 0), (0.5 * n, 0), (n, 0)]
    )
    item.solid(ribbon(waves, [0.05 * n] * len(waves)))
    item.hair(curve(*[(x, y - 0.02 * n) for x, y in waves]), curve(*[(x, y + 0.02 * n) for x, y in waves])).at(0.5 * n, 0)
    for name, x in (("grip", 0.2 * n), ("back", 0.0), ("joint", 0.3 * n), ("shank", 0.45 * n), ("end", 0.75 * n), ("tip", n)):
        s.place(name, x, 0, 0.05 * n)
