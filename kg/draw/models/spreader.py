"""Retractors that hold themselves: hinged arms, arms on a rack, frames with blades or hooks all round."""

from __future__ import annotations

import math

from kg.draw.models.jaws import BUILDS
from kg.draw.models.retractor import COUNTS, prong
from kg.draw.paths import Path, box, ellipse, line, mirror, ribbon, shape, then, turn
from kg.draw.sheet import Item, Sheet


def hinged(s: Sheet) -> None:
    """Two arms that cross at a joint and spread; a ratchet or a screw holds them."""
    n = s.length
    grip, rings, arms, ratchet = (
        s.get("grip"),
        s.get("rings", quiet=True),
        s.get("arms", quiet=True),
        s.get("ratchet", quiet=True),
    )
    retention = s.get("retention", quiet=True, knows=("ratchet", "screw", "spring"))
    joint, w = 0.48 * n, 0.013 * n
    ringed = grip.token == "rings"
    for sign in (1, -1):
        move = mirror() if sign > 0 else (lambda p: p)
        body = [
            (0.13 * n, -0.135 * n),
            (0.24 * n, -0.1 * n),
            (0.4 * n, -0.03 * n),
            (joint, 0.0),
            (0.6 * n, 0.055 * n),
            (0.78 * n, 0.085 * n),
            (0.9 * n, 0.095 * n),
        ]
        arm = ribbon(body, [w, w * 1.1, w * 1.3, w * 1.5, w * 1.2, w, w * 0.9])
        first = grip if grip.recorded else arms
        item = s.item(first, rings, arms, s.get("handle", quiet=True), label="", dashed=not (grip.recorded or arms.recorded))
        if ringed:
            ring, hole = (
                ellipse(0.075 * n, -0.155 * n, 0.075 * n, 0.055 * n, -14),
                ellipse(0.075 * n, -0.155 * n, 0.057 * n, 0.038 * n, -14),
            )
            item.solid(arm.map(move), (ring + hole).map(move))
        else:
            item.solid(
                arm.map(move),
                ribbon([(0.02 * n, -0.165 * n), (0.14 * n, -0.132 * n)], [w * 1.7, w * 1.1], start="round").map(move),
            )
        _arm_end(s, sign, n, w)
    s.item(rings if rings.recorded else grip if grip.recorded else arms).at(0.075 * n, -0.2 * n)
    if arms.recorded:
        s.item(arms).at(0.72 * n, -0.075 * n)
    if ratchet or retention.token == "ratchet":
        first = ratchet if ratchet.recorded else retention
        item = s.item(first, retention)
        bar = ribbon([(0.27 * n, -0.11 * n), (0.25 * n, 0), (0.27 * n, 0.14 * n)], [w * 0.75] * 3, end="round")
        item.solid(bar)
        item.line(*[line((0.246 * n, (0.0 + 0.012 * i) * n), (0.262 * n, (0.006 + 0.012 * i) * n)) for i in range(10)])
        item.at(0.252 * n, 0.03 * n)
    if retention.token == "screw":
        s.item(retention).solid(box(0.25 * n, -0.15 * n, 0.27 * n, 0.15 * n, 0.005 * n)).line(
            *[line((0.25 * n, (-0.14 + 0.014 * i) * n), (0.27 * n, (-0.134 + 0.014 * i) * n)) for i in range(20)]
        ).at(0.26 * n, 0.1 * n)
    if retention.token == "spring":
        s.item(retention).bold(
            Path(((tuple((x * n, y * n, False) for x, y in ((0.2, -0.11), (0.28, 0.0), (0.2, 0.11))), False),))
        ).at(0.28 * n, 0)
    s.item(s.get("jointpart", quiet=True), label="").solid(ellipse(joint, 0, w * 2.3)).line(ellipse(joint, 0, w * 0.8))
    for name, x, y in (
        ("grip", 0.1 * n, -0.15 * n),
        ("joint", 0.27 * n, 0.0),
        ("shank", 0.4 * n, 0.0),
        ("end", 0.9 * n, 0.0),
        ("tip", n, 0.1 * n),
        ("back", 0.0, -0.16 * n),
    ):
        s.place(name, x, y, 0.03 * n)
    prong_view(s)


def _arm_end(s: Sheet, sign: int, n: float, w: float) -> None:
    """Prongs or a hook at the end of one arm, pointing outward."""
    prongs, hooks, count, point = (s.get(p, quiet=True) for p in ("prongs", "hooks", "prong-count", "prong-point"))
    blade = s.get("retractor-blade", quiet=True)
    y = 0.095 * n * sign * -1
    out = 1 if y > 0 else -1
    if hooks.recorded or count.token == "one":
        item = s.item(hooks if hooks.recorded else prongs, count, point)
        item.solid(
            ribbon(
                [(0.88 * n, y), (0.95 * n, y * 1.02), (0.99 * n, y + out * 0.02 * n), (n, y + out * 0.07 * n)],
                [w * 0.85, w * 0.75, w * 0.6, 0.05],
            )
        )
        item.at(0.99 * n, y + out * 0.03 * n)
        return
    known = prongs.recorded or count.recorded
    many = COUNTS.get(count.token, 3)
    first = prongs if prongs.recorded else count if count.recorded else blade if blade.recorded else prongs
    item = s.item(first, count, point, label=None if sign > 0 and first.slot else "", dashed=not (known or blade.recorded))
    if blade.recorded and not known:
        item.solid(box(0.86 * n, y, n, y + out * 0.035 * n, 0.01 * n))
    for i in range(many):
        x = (0.995 - 0.034 * i) * n
        item.solid(
            ribbon(
                [(x - 0.02 * n, y), (x, y + out * 0.012 * n), (x + 0.004 * n, y + out * 0.062 * n)],
                [w * 0.55, w * 0.5, w * (0.5 if point.token == "blunt" else 0.05)],
                end="round" if point.token == "blunt" else "flat",
            )
        )
    item.at(0.99 * n, y + out * 0.04 * n)


def prong_view(s: Sheet) -> None:
    """Prongs enlarged, where their number or points are recorded."""
    prongs, count, point = s.get("prongs", quiet=True), s.get("prong-count", quiet=True), s.get("prong-point", quiet=True)
    if not (count.recorded or point.recorded):
        return
    view = s.detail("prongs", "end of an arm, enlarged")
    many = COUNTS.get(count.token, 2)
    span = 5.0 * (many - 1)
    s.item(prongs, view=view, label="").solid(box(-span / 2 - 2, 0, span / 2 + 2, 4, 1.2))
    for i in range(many):
        s.item(count if count.recorded else point, point, view=view, label="", dashed=not count.recorded and i > 0).solid(
            prong(-span / 2 + 5.0 * i, 3.5, 14.0, 1.1, point.token)
        )
    view.note = "; ".join(c.text for c in (count, point) if c.recorded) + ("" if count.recorded else "; number: not recorded")


# --- arms on a rack -------------------------------------------------------------------------------------------------
def rack(s: Sheet) -> None:
    """A toothed bar with one fixed and one sliding arm, blades at their ends; a third blade between them if there are three."""
    n = s.length
    build, retention, crossbar = s.get("build", quiet=True), s.get("retention", knows=("rack",)), s.get("crossbar", quiet=True)
    blade, form, width, count = (
        s.get("retractor-blade", quiet=True),
        s.get("blade-form", quiet=True),
        s.get("blade-width", quiet=True),
        s.get("blade-count", quiet=True),
    )
    crank, ratchet, arms = s.get("crank", quiet=True), s.get("ratchet", quiet=True), s.get("arms", quiet=True)
    k = BUILDS.get(build.token, 1.0)
    w, half = 0.02 * n * (0.5 + 0.5 * k), 0.34 * n
    shown = crossbar if crossbar.recorded else ratchet if ratchet.recorded else retention
    bar = s.item(shown, retention, ratchet, crossbar, build)
    bar.solid(box(0.1 * n, -half, 0.1 * n + 2 * w, half, 0.4 * w))
    if retention.token == "rack" or ratchet.recorded:
        bar.line(
            *[
                line((0.1 * n + 1.2 * w, (-0.32 + 0.016 * i) * n), (0.1 * n + 1.9 * w, (-0.32 + 0.016 * i) * n))
                for i in range(41)
            ]
        )
    bar.at(0.1 * n + w, 0.1 * n)
    for sign, y in ((-1, -0.27 * n), (1, 0.2 * n)):
        item = s.item(arms if arms.recorded else retention, label=None if arms.recorded and sign > 0 else "")
        item.solid(box(0.075 * n, y - 1.5 * w, 0.1 * n + 2.9 * w, y + 1.5 * w, 0.5 * w))
        item.solid(ribbon([(0.17 * n, y), (0.5 * n, y + sign * 0.015 * n), (0.8 * n, y)], [w, w * 0.95, w * 0.85]))
        item.at(0.5 * n, y)
        _rack_blade(s, blade, form, width, count, 0.66 * n, y, sign, n)
    if count.token == "three" or (count.status == "varies" and "three" in count.tokens):
        item = s.item(count)
        item.solid(ribbon([(0.1 * n + 2 * w, -0.03 * n), (0.42 * n, -0.03 * n)], [w * 0.8, w * 0.8]))
        item.solid(
            shape(
                (0.42 * n, -0.12 * n),
                (0.49 * n, -0.135 * n),
                (0.52 * n, -0.03 * n),
                (0.49 * n, 0.075 * n),
                (0.42 * n, 0.06 * n),
                (0.45 * n, -0.03 * n),
            )
        )
        item.at(0.47 * n, -0.03 * n)
    if crank:
        item = s.item(crank)
        item.solid(
            ellipse(0.09 * n + w, 0.2 * n, 0.026 * n),
            ribbon([(0.09 * n, 0.2 * n), (0.0, 0.27 * n)], [w * 0.5, w * 0.6], end="round"),
            ellipse(0.0, 0.27 * n, 0.018 * n),
        )
        item.at(0.04 * n, 0.235 * n)
    for name, x, y in (
        ("joint", 0.06 * n, -0.27 * n),
        ("grip", 0.06 * n, 0.2 * n),
        ("back", 0.1 * n, half),
        ("shank", 0.35 * n, 0.2 * n),
        ("end", 0.72 * n, 0.12 * n),
        ("tip", 0.8 * n, 0.2 * n),
    ):
        s.place(name, x, y, 0.03 * n)


def _rack_blade(s: Sheet, blade, form, width, count, x: float, y: float, sign: int, n: float) -> None:  # type: ignore[no-untyped-def]
    first = blade if blade.recorded else form
    if not first.slot:
        return
    half = 0.11 * n * {"narrow": 0.6, "wide": 1.25}.get(width.token, 1.0)
    two = (count,) if count.token == "two" else ()  # a third is drawn by itself
    item = s.item(first, form, width, *two, dashed=not (blade.recorded or form.recorded), label=None if sign < 0 else "")
    inner = y - sign * 0.05 * n
    if form.token == "curved":
        plate = shape(
            (x - half, y, 1),
            (x + half, y, 1),
            (x + half * 0.9, inner - sign * 0.01 * n),
            (x, inner - sign * 0.03 * n),
            (x - half * 0.9, inner - sign * 0.01 * n),
        )
    else:
        plate = box(x - half, y, x + half, inner, 0.012 * n)
    item.solid(plate)
    if form.token == "window":
        a, b = sorted((y - sign * 0.014 * n, inner + sign * 0.012 * n))
        item.hole(box(x - half * 0.72, a, x - half * 0.1, b, 0.008 * n), box(x + half * 0.1, a, x + half * 0.72, b, 0.008 * n))
    item.at(x + half * 0.5, (y + inner) / 2)


# --- frames ---------------------------------------------------------------------------------------------------------
def frame(s: Sheet) -> None:
    """A ring or frame from which blades or hooks pull outward."""
    n = s.length
    part, retention = s.get("frame", quiet=True), s.get("retention", quiet=True)
    blade, form, hooks = s.get("retractor-blade", quiet=True), s.get("blade-form", quiet=True), s.get("hooks", quiet=True)
    first = part if part.recorded else retention
    r, w = 0.34 * n, 0.02 * n
    item = s.item(first, retention, dashed=not first.recorded)
    item.solid(ellipse(0, 0, r * 1.25, r, steps=24) + ellipse(0, 0, r * 1.25 - 2 * w, r - 2 * w, steps=24))
    item.at(-r * 0.9, -r * 0.7)
    known = blade.recorded or hooks.recorded
    for i, degrees in enumerate((-90, -25, 35, 90, 145, 205)):
        a = math.radians(degrees)
        x, y = (r * 1.25 - w) * math.cos(a), (r - w) * math.sin(a)
        angle = math.degrees(math.atan2(y, x * 0.8))
        one = s.item(
            hooks if hooks.recorded and not blade.recorded else blade if blade.recorded else form,
            form,
            label=None if i == 1 else "",
            dashed=not known,
        )
        one.move = then(turn(angle + 180, 0, 0), lambda p, x=x, y=y: (p[0] + x, p[1] + y))
        _round_end(one, hooks.recorded and not blade.recorded, form.token, n)
        one.anchor = None
        if i == 1:
            one.at(0.1 * n, 0)
    ratchet = s.get("ratchet", quiet=True)
    if ratchet:
        s.item(ratchet).solid(box(r * 1.12, -0.03 * n, r * 1.42, 0.03 * n, 0.01 * n)).line(
            *[line(((1.16 + 0.04 * k) * r, -0.02 * n), ((1.18 + 0.04 * k) * r, 0.02 * n)) for k in range(6)]
        ).at(1.3 * r, 0)
    for name, x, y in (
        ("joint", 0, r),
        ("grip", -r * 1.25, 0),
        ("back", -r * 1.25, 0),
        ("shank", 0, -r),
        ("end", r * 0.9, r * 0.6),
        ("tip", 0, r),
    ):
        s.place(name, x, y, 0.04 * n)


def _round_end(item: Item, hooked: bool, form: str, n: float) -> None:
    if hooked:
        item.bold(
            Path(((tuple((x * n, y * n, False) for x, y in ((-0.06, 0.0), (0.02, 0.0), (0.12, 0.004), (0.16, 0.02))), False),))
        )
        item.solid(
            ribbon(
                [(0.1 * n, 0.0), (0.15 * n, 0.0), (0.165 * n, 0.02 * n), (0.15 * n, 0.035 * n)],
                [0.004 * n, 0.004 * n, 0.003 * n, 0.0005 * n],
            )
        )
        return
    half = 0.05 * n
    item.solid(box(-0.03 * n, -0.012 * n, 0.07 * n, 0.012 * n, 0.004 * n))
    if form == "curved":
        item.solid(
            shape((0.06 * n, -half, 1), (0.09 * n, -half * 0.9), (0.12 * n, 0), (0.09 * n, half * 0.9), (0.06 * n, half, 1))
        )
    else:
        item.solid(box(0.06 * n, -half, 0.11 * n, half, 0.01 * n))
