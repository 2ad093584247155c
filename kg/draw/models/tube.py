"""Tubes: catheters, drains, suction tubes, cannulas, trocars, endoscopes."""

from __future__ import annotations

from kg.draw.choices import Choice
from kg.draw.models.jaws import bend_of
from kg.draw.models.rod import wave
from kg.draw.paths import Bend, box, curve, ellipse, line, ribbon, shape
from kg.draw.sheet import Sheet

BORES = {"narrow": 0.55, "wide": 1.55}
TUBE_BENDS = {"curved": -48.0, "angled": -42.0}


def draw(s: Sheet) -> None:
    """A tube from what is at its back, along its wall, to its tip."""
    n = s.length
    lumen, bore, rigidity, shape_of = (
        s.get("lumen", quiet=True),
        s.get("bore", quiet=True),
        _rigidity(s),
        s.get("tube-bend", quiet=True),
    )
    curvature, tip = s.get("bend", quiet=True), s.get("tube-tip", quiet=True)
    cannula = s.get("cannula", quiet=True)
    half = n * s.set("half", 0.017) * BORES.get(bore.token, 1.0)
    start = n * s.set("back-length", 0.16)
    bends = _bends(s, start, n)
    shown = lumen if lumen.recorded else tip if tip.recorded else s.get("cannula", quiet=True)
    for number, move in enumerate(bends):
        s.move = move
        wall = ribbon([(start, 0), (0.5 * (start + n), 0), (n - half, 0)], [half] * 3, steps=14)
        if number:
            other = next((c for c in (curvature, rigidity) if c.status == "varies" and len(c.tokens) > number), None)
            s.item(*([other.way(number)] if other else []), label="").ghost(wall)
            continue
        item = s.item(shown, bore, rigidity, shape_of, curvature, cannula, label="", dashed=s.empty)
        item.solid(wall)
        if lumen.recorded or s.set("hollow", True):
            inner = [(start + (n - half - start) * i / 14, half * 0.45) for i in range(15)]
            item.hair(curve(*inner), curve(*[(x, -y) for x, y in inner]))
        _tip(s, n, half)
        _holes(s, n, half, start)
        _marks(s, n, half, start)
        for choice in (shape_of, curvature):
            if choice.recorded:
                s.item(choice).at(start + 0.62 * (n - start), -half)
        if rigidity.recorded:
            s.item(rigidity).at(start + 0.34 * (n - start), half)
        s.item(shown if shown.recorded else tip, label=None if shown.recorded else "").at(
            start + 0.2 * (n - start), -half * 0.9
        )
        s.place("shank", start + 0.45 * (n - start), 0, half)
        s.place("end", start + 0.8 * (n - start), 0, half)
        s.place("tip", n, 0, half)
    s.move = None
    _back(s, start, half, n)
    s.place("back", 0.3 * start, 0, half * 1.5)
    s.place("grip", 0.5 * start, 0, half * 1.6)
    s.place("joint", start, 0, half)


def _rigidity(s: Sheet) -> Choice:
    """Shown by the line of the tube, unless its tip or its form bends it anyway."""
    bent = s.get("tube-tip", quiet=True).token in ("elbow", "angled", "coil") or s.get("tube-bend", quiet=True).recorded
    curvature = s.get("bend", quiet=True)
    if bent or (curvature.recorded and curvature.token != "straight"):
        return s.get("rigidity", quiet=True, knows=())
    return s.get("rigidity", quiet=True)


def _bends(s: Sheet, start: float, n: float) -> list[Bend]:
    rigidity, shape_of, curvature = _rigidity(s), s.get("tube-bend", quiet=True), s.get("bend", quiet=True)
    tip = s.get("tube-tip", quiet=True)
    span = n - start
    if tip.token == "elbow":
        return [Bend((n - 0.16 * span, n - 0.1 * span, -40.0))]
    if tip.token == "angled":
        return [Bend((n - 0.2 * span, n - 0.13 * span, -34.0))]
    if tip.token == "coil":
        return [Bend((n - 0.52 * span, n, -560.0))]
    if shape_of.recorded:
        degrees = TUBE_BENDS[shape_of.token] * s.set("curl", 1.0)
        if shape_of.token == "angled":
            return [Bend((start + 0.22 * span, start + 0.36 * span, degrees))]
        return [Bend((start + s.set("bend-from", 0.3) * span, n - 0.04 * span, degrees))]
    if curvature.recorded and curvature.token != "straight":
        return [
            bend_of(t, start + 0.2 * span, n)
            for t in (curvature.tokens if curvature.status == "varies" else (curvature.token,))
        ]
    if rigidity.token in ("flexible", "semirigid"):
        first = wave(rigidity.token, start, n)
        return [first, bend_of("straight", start, n)] if rigidity.status == "varies" else [first]
    out = [Bend()]
    if curvature.status == "varies":
        out += [bend_of(t, start + 0.2 * span, n) for t in curvature.tokens[1:]]
    if rigidity.token == "malleable":
        out.append(Bend((start + 0.3 * span, n, 40.0)))
    elif rigidity.status == "varies":
        out.append(wave("flexible", start, n))
    return out


def _tip(s: Sheet, n: float, h: float) -> None:
    choice, opening, part = s.get("tube-tip", quiet=True), s.get("opening-at", quiet=True), s.get("tip-part", quiet=True)
    tip, bulb, wings = s.get("tip", quiet=True), s.get("bulb", quiet=True), s.get("wings", quiet=True)
    token = choice.token
    first = choice if choice.recorded else tip
    holes = (s.get("side-holes", quiet=True),) if token == "holes" else ()
    item = s.item(first, part, opening, *holes, label=None if first.recorded else "", dashed=s.empty)
    x = n - h
    if token == "bulb":
        item.solid(
            shape(
                (x - h, -h, 1),
                (x + 0.4 * h, -1.3 * h),
                (x + 2.6 * h, -2.1 * h),
                (x + 5 * h, -1.5 * h),
                (x + 5.8 * h, 0),
                (x + 5 * h, 1.5 * h),
                (x + 2.6 * h, 2.1 * h),
                (x + 0.4 * h, 1.3 * h),
                (x - h, h, 1),
            )
        )
        item.line(ellipse(x + 4.8 * h, 0, 0.3 * h, 0.6 * h))
    elif token == "bevel":
        item.solid(shape((x - h, -h, 1), (x, -h, 1), (x + 3 * h, h, 1), (x - h, h, 1))).hole(
            ellipse(x + 1.3 * h, 0, 1.7 * h, 0.4 * h, 34)
        )
    elif token == "holes":
        item.solid(ribbon([(x - h, 0), (x, 0)], [h, h], end="round"))
        item.ink(*[ellipse(x - (1.2 + 3 * i) * h, (-0.5, 0.5)[i % 2] * h, 0.34 * h) for i in range(9)])
    elif token == "mushroom":
        item.solid(
            shape(
                (x - h, -h, 1),
                (x, -h, 1),
                (x + 0.6 * h, -3.2 * h),
                (x + 2.6 * h, -2.6 * h),
                (x + 3.6 * h, 0),
                (x + 2.6 * h, 2.6 * h),
                (x + 0.6 * h, 3.2 * h),
                (x, h, 1),
                (x - h, h, 1),
            )
        )
        item.hole(ellipse(x + 1.5 * h, -1.3 * h, 0.6 * h, 0.9 * h), ellipse(x + 1.5 * h, 1.3 * h, 0.6 * h, 0.9 * h))
    elif token == "weight":
        item.solid(ribbon([(x - h, 0), (x + h, 0), (x + 7 * h, 0)], [h, 1.25 * h, 1.2 * h], end="round"))
        item.ink(*[ellipse(x + (1.2 + 2.2 * i) * h, 0, 0.75 * h) for i in range(3)])
    elif token in ("straight", "elbow", "angled", "coil") or tip.token in ("rounded", "blunt"):
        item.solid(ribbon([(x - h, 0), (x, 0)], [h, h], end="round"))
    elif tip.token in ("tapered", "conical", "pointed", "pyramid", "fine"):
        long = {"tapered": 9, "fine": 9, "conical": 5, "pyramid": 4}.get(tip.token, 4.5)
        item.solid(
            shape(
                (x - h, -h, 1), (x, -h, 1), (x + long * h, -0.12 * h, 1), (x + long * h, 0.12 * h, 1), (x, h, 1), (x - h, h, 1)
            )
        )
        if tip.token == "pyramid":
            item.line(line((x, 0.1 * h), (x + long * h, 0)), line((x, -h), (x, h)))
    elif s.set("end") == "open" or not (choice.recorded or tip.recorded):
        item.dashed = s.set("end") != "open"
        item.solid(ribbon([(x - 0.6 * h, 0), (x + h, 0)], [h, h])).line(ellipse(x + h, 0, 0.3 * h, 0.95 * h))
    else:
        item.solid(ribbon([(x - h, 0), (x, 0)], [h, h], end="round"))
    item.at(x + h, -0.3 * h)
    if bulb.recorded:
        s.item(bulb).solid(ellipse(x + h, 0, 1.9 * h, 1.6 * h)).at(x + h, 0)
    if opening.recorded:
        _opening(s, n, h)
    if wings.recorded:
        two = s.item(wings, s.get("retention", quiet=True, knows=("wings",)))
        for sign in (-1, 1):
            two.solid(
                ribbon(
                    [
                        (x - 9 * h, sign * h * 0.8),
                        (x - 6 * h, sign * 3.6 * h),
                        (x - 2.6 * h, sign * 3.4 * h),
                        (x, sign * 0.7 * h),
                    ],
                    [0.5 * h] * 4,
                )
            )
        two.at(x - 4 * h, -3.8 * h)


def _opening(s: Sheet, n: float, h: float) -> None:
    choice = s.get("opening-at", quiet=True)
    item = s.item(choice)
    if choice.token == "end":
        item.ink(ellipse(n + 0.2 * h, 0, 0.25 * h, 0.6 * h)).at(n, 0)
    else:
        long = 2.6 if choice.token == "long-side" else 1.0
        item.hole(ellipse(n - 5 * h, -0.55 * h, long * h, 0.4 * h)).at(n - 5 * h, -0.55 * h)


def _holes(s: Sheet, n: float, h: float, start: float) -> None:
    holes, balloon, cuff = (s.get(name, quiet=True) for name in ("side-holes", "balloon", "cuff"))
    if holes.recorded and s.get("tube-tip", quiet=True).token != "holes":
        many = int(s.set("holes", 3))
        item = s.item(holes)
        item.hole(*[ellipse(n - (3.4 + 3.4 * i) * h, (0.42, -0.42)[i % 2] * h, 0.85 * h, 0.38 * h) for i in range(many)])
        item.at(n - 3.4 * h, 0.42 * h)
    swell = balloon if balloon.tokens and balloon.recorded else cuff
    if swell.recorded and swell.tokens:
        x = n - (16 if holes.recorded else 11) * h
        item = s.item(swell, s.get("retention", quiet=True, knows=("balloon",)))
        bag = shape(
            (x - 5.5 * h, -h),
            (x - 4 * h, -3.4 * h),
            (x, -4.8 * h),
            (x + 4 * h, -3.4 * h),
            (x + 5.5 * h, -h),
            (x + 5.5 * h, h),
            (x + 4 * h, 3.4 * h),
            (x, 4.8 * h),
            (x - 4 * h, 3.4 * h),
            (x - 5.5 * h, h),
        )
        item.solid(bag) if swell.status != "varies" else item.ghost(bag)
        item.hair(
            curve((x - 5.2 * h, -h), (x, -h * 0.96), (x + 5.2 * h, -h)),
            curve((x - 5.2 * h, h), (x, h * 0.96), (x + 5.2 * h, h)),
        )
        item.at(x, -4 * h)


def _marks(s: Sheet, n: float, h: float, start: float) -> None:
    marks = s.get("marks", quiet=True)
    if marks.recorded:
        item = s.item(marks)
        xs = [start + (0.3 + 0.08 * i) * (n - start) for i in range(6)]
        item.bold(*[line((x, -h), (x, h)) for x in xs]).at(xs[3], h)


# --- backs ----------------------------------------------------------------------------------------------------------
def _back(s: Sheet, x: float, h: float, n: float) -> None:
    kind = s.set("back", "funnel")
    flange, lumens, handle, vent = (
        s.get("flange", quiet=True),
        s.get("lumens", quiet=True, knows=None if kind == "funnel" else ()),
        s.get("handle", quiet=True),
        s.get("vent", quiet=True),
    )
    vented = s.get("vented", quiet=True, knows=("vented",) if vent.recorded else None)
    item = s.item(handle if handle.recorded else lumens, flange, label="", dashed=s.empty)
    if kind == "funnel":
        item.solid(
            shape(
                (x + h, -h, 1),
                (0.6 * x, -1.1 * h),
                (0.2 * x, -2.1 * h),
                (0, -2.3 * h, 1),
                (0, 2.3 * h, 1),
                (0.2 * x, 2.1 * h),
                (0.6 * x, 1.1 * h),
                (x + h, h, 1),
            )
        )
        many = {"two": 1, "three": 2}.get(lumens.token, 0)
        for sign in (-1, 1)[:many]:
            arm = ribbon(
                [(x * 0.95, sign * 0.4 * h), (0.6 * x, sign * 2.6 * h), (0.2 * x, sign * 5.4 * h)], [0.8 * h, 0.9 * h, 1.1 * h]
            )
            s.item(lumens).solid(arm).at(0.3 * x, sign * 4.8 * h)
        if lumens.token == "one":
            s.item(lumens).at(0.5 * x, 1.2 * h)
        if lumens.status == "varies":
            s.item(lumens).ghost(
                ribbon([(x * 0.95, -0.4 * h), (0.6 * x, -2.6 * h), (0.2 * x, -5.4 * h)], [0.8 * h, 0.9 * h, 1.1 * h])
            ).at(0.3 * x, -4.8 * h)
    elif kind == "suction":
        item.solid(
            shape(
                (x + h, -h, 1),
                (0.85 * x, -2.4 * h),
                (0.5 * x, -2.6 * h),
                (0.3 * x, -1.9 * h, 1),
                (0.3 * x, 1.9 * h, 1),
                (0.5 * x, 2.6 * h),
                (0.85 * x, 2.4 * h),
                (x + h, h, 1),
            )
        )
        item.solid(
            *[
                shape(
                    (0.3 * x - 0.09 * x * i, -1.7 * h, 1),
                    (0.21 * x - 0.09 * x * i, -1.2 * h, 1),
                    (0.21 * x - 0.09 * x * i, 1.2 * h, 1),
                    (0.3 * x - 0.09 * x * i, 1.7 * h, 1),
                )
                for i in range(3)
            ]
        )
        if vented.token == "vented" or vent.recorded:
            s.item(vent if vent.recorded and vent.tokens else vented, vented).solid(ellipse(0.66 * x, 0, 2.4 * h, 1.7 * h)).ink(
                ellipse(0.66 * x, 0, 1.1 * h, 0.8 * h)
            ).at(0.66 * x, 0)
        elif vented.token == "closed":
            s.item(vented).line(ellipse(0.66 * x, 0, 2.4 * h, 1.7 * h)).at(0.66 * x, 0)
    elif kind == "flange":
        item.solid(box(0, -5.2 * h, 0.12 * x + 0.6 * h, 5.2 * h, 1.1 * h), ribbon([(0.1 * x, 0), (x + h, 0)], [h * 1.05, h]))
        if flange.recorded:
            s.item(flange).at(0.06 * x + 0.2 * h, -4.2 * h)
    elif kind == "valve":
        item.solid(box(0.1 * x, -3.4 * h, x, 3.4 * h, 0.8 * h), box(0, -2.3 * h, 0.12 * x, 2.3 * h, 0.5 * h))
        item.line(line((0.3 * x, -3.3 * h), (0.3 * x, 3.3 * h)), line((0.86 * x, -3.3 * h), (0.86 * x, 3.3 * h)))
    elif kind == "tee":
        item.solid(
            ribbon([(0.1 * x, -7 * h), (0.02 * x, 0), (0.1 * x, 7 * h)], [1.5 * h, 2 * h, 1.5 * h], start="round", end="round"),
            box(0.05 * x, -1.8 * h, x + h, 1.8 * h, 0.6 * h),
        )
    elif kind == "eyepiece":
        item.solid(
            shape(
                (0, -3.6 * h, 1),
                (0.16 * x, -3.6 * h),
                (0.3 * x, -1.9 * h, 1),
                (0.55 * x, -1.9 * h, 1),
                (0.6 * x, -2.7 * h, 1),
                (0.95 * x, -2.5 * h),
                (x + h, -h, 1),
                (x + h, h, 1),
                (0.95 * x, 2.5 * h),
                (0.6 * x, 2.7 * h, 1),
                (0.55 * x, 1.9 * h, 1),
                (0.3 * x, 1.9 * h, 1),
                (0.16 * x, 3.6 * h),
                (0, 3.6 * h, 1),
            )
        )
        item.line(line((0.3 * x, -1.9 * h), (0.3 * x, 1.9 * h)))
    elif kind == "hub":
        item.solid(
            shape(
                (x + h, -h, 1),
                (0.8 * x, -h * 1.6),
                (0.5 * x, -2.4 * h),
                (0, -2.8 * h, 1),
                (0, 2.8 * h, 1),
                (0.5 * x, 2.4 * h),
                (0.8 * x, h * 1.6),
                (x + h, h, 1),
            )
        )
        item.line(line((0.12 * x, -2.7 * h), (0.12 * x, 2.7 * h)))
    elif kind == "bar":
        item.solid(box(0, -2.6 * h, x, 2.6 * h, 2 * h))
        item.line(*[line((x * (0.2 + 0.07 * i), -2.5 * h), (x * (0.2 + 0.07 * i), 2.5 * h)) for i in range(9)])
    if handle.recorded and kind != "grip":
        s.item(handle).at(0.5 * x, -1.8 * h)
