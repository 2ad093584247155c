"""Jaws and blades beyond a joint: their outlines in profile, tips, teeth, and bends. Upper jaws lie at negative y."""

from __future__ import annotations

from dataclasses import dataclass

from kg.draw.choices import Choice
from kg.draw.paths import Bend, Path, curve, ellipse, line, mirror, poly, ribbon, shape
from kg.draw.sheet import Item, Sheet

BENDS = {"straight": 0.0, "slight": -17.0, "curved": -40.0, "angled": -38.0, "right": -88.0}
BUILDS = {"delicate": 0.76, "slender": 0.66, "heavy": 1.32}
PROPORTIONS = {"short": 0.74, "long": 1.4}
TIPS = {
    "fine": (0.45, "round"),
    "pointed": (0.12, "point"),
    "rounded": (1.25, "round"),
    "blunt": (1.15, "flat"),
    "broad": (1.75, "flat"),
    "tapered": (0.32, "flat"),
    "conical": (0.2, "point"),
    "pyramid": (0.3, "flat"),
    "triangle": (1.9, "flat"),
    "ring": (1.4, "round"),
}
"""Setting -> (share of the usual thickness at the tip, form of the end)."""


def bend_of(token: str, start: float, end: float) -> Bend:
    """The bend of what lies between ``start`` and ``end`` on the axis."""
    span = end - start
    if token == "offset":
        return Bend((start + 0.05 * span, start + 0.2 * span, -38.0), (start + 0.5 * span, start + 0.65 * span, 38.0))
    degrees = BENDS.get(token, 0.0)
    if token == "angled":
        return Bend((start + 0.3 * span, start + 0.48 * span, degrees))
    if token == "right":
        return Bend((start + 0.5 * span, start + 0.78 * span, degrees))
    return Bend((start + 0.12 * span, end, degrees))


@dataclass(frozen=True)
class Jaw:
    """A pair of jaws along the axis: from ``x0`` to ``x1``, half as thick as ``thick`` at the root; ``unit`` scales details."""

    x0: float
    x1: float
    thick: float
    unit: float
    tip: str
    forms: tuple[str, ...]
    bow: float = 0.055
    """How far bowed jaws stand apart, as a share of their length."""

    @property
    def span(self) -> float:
        return self.x1 - self.x0

    def outline(self, *, lower: bool = False) -> Path:
        """One jaw in profile."""
        upper = self._upper(shorter=lower and "unequal" in self.forms)
        return upper.map(mirror()) if lower else upper

    def gap(self, u: float) -> float:
        """How far the inner edge lies from the axis at ``u`` of the length, 0 to 1."""
        if "bowed" in self.forms:
            return self.bow * self.span * 4 * u * (1 - u)
        return 0.0

    def _upper(self, *, shorter: bool) -> Path:
        x0, n, w = self.x0, self.span * (0.82 if shorter else 1.0), self.thick
        share, end = TIPS.get(self.tip, (0.62, "round"))
        t = w * share
        if "cup" in self.forms:
            return shape(
                (x0, 0, 1),
                (x0, -w),
                (x0 + 0.3 * n, -w * 1.02),
                (x0 + 0.56 * n, -w * 1.0),
                (x0 + 0.8 * n, -w * 1.15),
                (x0 + 0.97 * n, -w * 0.62),
                (x0 + n, 0, 1),
                (x0 + 0.9 * n, -w * 0.34),
                (x0 + 0.72 * n, -w * 0.46),
                (x0 + 0.55 * n, -w * 0.16),
                (x0 + 0.45 * n, 0, 1),
            )
        if "square-edged" in self.forms:
            return shape(
                (x0, 0, 1),
                (x0, -w * 1.25),
                (x0 + 0.3 * n, -w * 1.3),
                (x0 + 0.62 * n, -w * 0.85),
                (x0 + n, -0.1, 1),
                (x0 + n, 0, 1),
            )
        if "clamshell" in self.forms:
            return shape(
                (x0, 0, 1),
                (x0, -w),
                (x0 + 0.2 * n, -w * 1.6),
                (x0 + 0.55 * n, -w * 2.6),
                (x0 + 0.88 * n, -w * 1.7),
                (x0 + n, 0, 1),
                (x0 + 0.84 * n, -w * 1.1),
                (x0 + 0.55 * n, -w * 1.75),
                (x0 + 0.3 * n, -w * 0.9),
                (x0 + 0.16 * n, 0, 1),
            )
        top = [
            (x0, -w),
            (x0 + 0.25 * n, -w * 0.98 - self.gap(0.25)),
            (x0 + 0.5 * n, -(w + (t - w) * 0.42) - self.gap(0.5)),
            (x0 + 0.75 * n, -(w + (t - w) * 0.74) - self.gap(0.75)),
        ]
        edge = [(x0 + u * n, -self.gap(u)) for u in (0.75, 0.5, 0.25)]
        if end == "point":
            close = [(x0 + n, -t * 0.2, 1), (x0 + n, 0, 1)]
        elif end == "flat":
            r = min(t * 0.45, 0.05 * n)
            close = [(x0 + n - r, -t), (x0 + n - 0.2 * r, -t + 0.4 * r), (x0 + n, -t + r * 1.2, 1), (x0 + n, 0, 1)]
        else:
            r = min(t, 0.1 * n)
            close = [(x0 + n - r, -t * 0.96), (x0 + n - 0.3 * r, -t * 0.66), (x0 + n, -t * 0.12), (x0 + n, 0, 1)]
        return shape((x0, 0, 1), (*top[0], 1), *top[1:], *close, *edge)

    # --- what is seen on the profile -----------------------------------------------------------------------------
    def ticks(self, start: float, end: float) -> list[Path]:
        """Serrations as ticks across the line where the jaws meet, from ``start`` to ``end`` of the length."""
        step, out = self.unit * 0.95, []
        x = self.x0 + start * self.span + step / 2
        while x < self.x0 + end * self.span - step * 0.3:
            u = (x - self.x0) / self.span
            h, g = min(self.unit * 0.85, self.thick * 0.4), self.gap(u)
            if g:
                out += [line((x, -g), (x, -g - h)), line((x, g), (x, g + h))]
            else:
                out.append(line((x, -h), (x, h)))
            x += step
        return out


def face_on(jaw: Jaw, width: float, forms: tuple[str, ...]) -> Path:
    """A jaw turned to show its face: a neck that widens to a ring, a triangle or a flare."""
    x0, n, w = jaw.x0, jaw.span, jaw.thick
    half = width / 2
    if "ring" in forms:
        body = [
            (x0 + 0.35 * n, -w * 0.62),
            (x0 + 0.5 * n, -half * 0.62),
            (x0 + 0.66 * n, -half * 0.95),
            (x0 + 0.8 * n, -half),
            (x0 + 0.93 * n, -half * 0.72),
            (x0 + 0.995 * n, -half * 0.25),
        ]
        nodes = [(x0, -w * 0.8, 1), *body, *[(x, -y) for x, y in reversed(body)], (x0, w * 0.8, 1)]
        return shape(*nodes)
    r = half * 0.22
    top = [
        (x0, -w * 0.8, 1),
        (x0 + 0.4 * n, -w * 0.66),
        (x0 + 0.6 * n, -w * 0.85),
        (x0 + 0.8 * n, -half * 0.62),
        (x0 + n - r * 1.2, -half),
        (x0 + n - r * 0.3, -half + r * 0.25),
        (x0 + n, -half + r * 1.1),
    ]
    return shape(*top, *[(x, -y, *c) for x, y, *c in reversed(top)])


def window(jaw: Jaw, width: float, forms: tuple[str, ...]) -> Path:
    """The opening in a jaw that shows its face."""
    x0, n, half = jaw.x0, jaw.span, width / 2
    if "ring" in forms:
        rim = max(half * 0.28, 0.9 * jaw.unit)
        body = [
            (x0 + 0.46 * n, 0),
            (x0 + 0.56 * n, -half * 0.62 + rim * 0.5),
            (x0 + 0.68 * n, -half * 0.95 + rim),
            (x0 + 0.8 * n, -half + rim),
            (x0 + 0.91 * n, -half * 0.72 + rim * 0.8),
        ]
        tip = (x0 + n - rim * 0.95, 0)
        return curve(*body, tip, *[(x, -y) for x, y in reversed(body[1:])], closed=True)
    rim = max(half * 0.26, 0.8 * jaw.unit)
    return shape(
        (x0 + 0.66 * n, 0),
        (x0 + 0.8 * n, -half * 0.62 + rim * 0.8),
        (x0 + n - rim * 1.6, -half + rim * 1.15),
        (x0 + n - rim * 1.1, -half + rim * 1.7),
        (x0 + n - rim * 1.1, half - rim * 1.7),
        (x0 + n - rim * 1.6, half - rim * 1.15),
        (x0 + 0.8 * n, half * 0.62 - rim * 0.8),
    )


MESHED = {"two-three": 2, "three-four": 3, "four-five": 4, "five-six": 5}
"""Teeth on the side with fewer; the other side has one more."""


# --- teeth in profile -----------------------------------------------------------------------------------------------
def teeth(item: Item, jaw: Jaw, token: str) -> None:
    """Teeth where the jaws meet at the tip."""
    x, u, t = jaw.x1, jaw.unit, max(jaw.thick * 0.6, jaw.unit)
    if token == "points":
        for side in (-1, 1):
            item.solid(
                shape(
                    (x - 2.2 * u, side * t * 0.9, 1),
                    (x + 0.4 * u, side * t * 0.95),
                    (x + 1.7 * u, side * 0.25 * u),
                    (x + 1.55 * u, -side * 0.7 * u, 1),
                    (x + 0.6 * u, side * 0.3 * u),
                    (x - 0.8 * u, side * 0.3 * u, 1),
                )
            )
        return
    if token == "rows":
        for k in range(7):
            a = x - (0.4 + 0.8 * k) * u
            item.line(line((a, -0.5 * u), (a - 0.4 * u, 0.5 * u), (a - 0.8 * u, -0.5 * u)))
        return
    if token == "one-two":
        item.ink(poly((x - 0.9 * u, -0.9 * u), (x + 0.9 * u, -0.9 * u), (x, 1.25 * u)))
        item.bold(line((x - 1.6 * u, 0.2 * u), (x - 0.85 * u, 1.2 * u)), line((x + 1.6 * u, 0.2 * u), (x + 0.85 * u, 1.2 * u)))
        item.solid(shape((x - 0.2 * u, t, 1), (x + 1.5 * u, t * 0.85), (x + 1.4 * u, 0.1 * u, 1), (x + 0.35 * u, 1.2 * u, 1)))
        return
    if token in MESHED:  # one more below than above
        item.ink(poly((x - 0.45 * u, 0.1 * u), (x + 0.75 * u, 0.1 * u), (x + 0.15 * u, -1.2 * u)))
    count = {**MESHED, "interlocking": 2}.get(token, 1)
    for k in range(count):
        a = x - 1.5 * u * k
        item.ink(poly((a - 1.2 * u, -0.1 * u), (a, -0.1 * u), (a - 0.6 * u, 1.2 * u)))
        if token != "teeth":
            item.ink(poly((a - 1.95 * u, 0.1 * u), (a - 0.75 * u, 0.1 * u), (a - 1.35 * u, -1.2 * u)))


# --- what the jaws of any handle have in common ---------------------------------------------------------------------
FACED = ("ring", "triangle", "flare", "broadend")


def draw_jaws(s: Sheet, x0: float, x1: float, thick: float, *, gap: bool = True) -> Jaw:
    """Jaws with all their recorded features, beyond a joint at ``x0``; returns what they were drawn from."""
    part, curvature = s.get("jaws"), s.get("bend")
    cutting, prongs, tip_part = s.get("edge-part", quiet=True), s.get("prongs", quiet=True), s.get("tip-part", quiet=True)
    form, tip, teeth_of, build = s.get("form", quiet=True), s.get("tip"), s.get("teeth"), s.get("build", quiet=True)
    proportion, fenestration = s.get("proportion", quiet=True), s.get("window", quiet=True)
    shown = tuple(dict.fromkeys((*form.tokens, *(s.set("forms", ()) if not form else ()))))
    if "narrow" in shown:
        thick *= 0.72
    if "broad" in shown:
        thick *= 1.4
    jaw = Jaw(x0, x1, thick, s.length / 140, tip.token, shown, s.set("bow", 0.055))
    move = bend_of(curvature.token, x0, x1)
    facing = any(f in FACED for f in shown)
    width = s.length * {"ring": 0.1, "triangle": 0.13, "flare": 0.085, "broadend": 0.06}.get(
        next((f for f in shown if f in FACED), ""), 0.05
    )
    s.move = move
    known = part.recorded or form.recorded or teeth_of.recorded or s.get("surface", quiet=True).recorded
    blade = s.get("blade", quiet=True) if "square-edged" in shown else part
    own = (part, curvature, form, tip, build, proportion, cutting, tip_part, blade)
    outline = s.item(*own, label="", dashed=not known)
    if facing:
        outline.solid(face_on(jaw, width, shown).map(lambda p: (p[0] - 0.012 * s.length, p[1] + 0.16 * width)))
        outline.solid(face_on(jaw, width, shown))
    else:
        outline.solid(jaw.outline(lower=True), jaw.outline())
        outline.line(curve(*[(x0 + u * jaw.span, -jaw.gap(u)) for u in (0.0, 0.5, 1.0)]))
    s.item(curvature, form, label=_curve_label(curvature)).at(x0 + 0.45 * jaw.span, -thick * (0.4 if facing else 0.6))
    _window(s, fenestration, jaw, width, shown, facing)
    _surface(s, jaw, facing)
    if teeth_of and teeth_of.token not in ("none", ""):
        item = s.item(teeth_of)
        teeth(item, jaw, teeth_of.token)
        item.at(x1, 0.4 * jaw.unit)
    if prongs.recorded:
        item = s.item(prongs)
        for k in range(3):
            a = x1 - (0.12 + 0.14 * k) * jaw.span
            for side in (-1, 1):
                item.ink(poly((a - jaw.unit, side * jaw.thick * 0.7), (a + jaw.unit, side * jaw.thick * 0.7), (a, side * 0.1)))
        item.at(x1 - 0.26 * jaw.span, thick * 0.5)
    if cutting.recorded and not facing and "cup" not in shown and "square-edged" not in shown:
        s.item(cutting, label="").bold(line((x0 + 0.1 * jaw.span, 0), (x1, 0)))
    s.place("end", x0 + 0.55 * jaw.span, 0, thick)
    s.place("tip", x1, 0, thick * 0.6)
    _ghosts(s, jaw, curvature, facing, width, shown)
    s.move = None
    return jaw


def _curve_label(curvature: Choice) -> str | None:
    return f"jaws {curvature.text}" if curvature.recorded else None


def _window(s: Sheet, choice: Choice, jaw: Jaw, width: float, forms: tuple[str, ...], facing: bool) -> None:
    if facing and ("ring" in forms or choice.token == "window"):
        item = s.item(choice, label=None if choice.recorded else "")
        hole = window(jaw, width, forms)
        item.hole(hole)
        item.at(jaw.x0 + 0.82 * jaw.span, width * 0.2)
    elif choice.token == "window":
        item = s.item(choice)
        x, n, w = jaw.x0, jaw.span, jaw.thick
        for side in (-1, 1):
            slit = ribbon(
                [(x + 0.3 * n, side * w * 0.5), (x + 0.78 * n, side * (w * 0.42))],
                [w * 0.2, w * 0.16],
                start="round",
                end="round",
            )
            item.hole(slit)
        item.at(x + 0.55 * n, w * 0.5)


SERRATED = ("across", "oblique", "cross", "combined", "serrated", "along", "rows", "along-cross")


def _surface(s: Sheet, jaw: Jaw, facing: bool) -> None:
    """Ticks on the profile for serrations that reach the edge of the jaw."""
    surface, extent = s.get("surface", quiet=True), s.get("extent", quiet=True)
    if facing or surface.token not in ("across", "oblique", "cross", "serrated"):
        return
    start, known = EXTENTS.get(extent.token, 0.5), extent.recorded
    s.item(surface, extent, label="").line(*jaw.ticks(start if known else 0.5, 0.97)).at(jaw.x0 + 0.8 * jaw.span, 0)
    if not known:
        s.item(extent, label="", dashed=True).line(line((jaw.x0 + 0.08 * jaw.span, 0), (jaw.x0 + 0.5 * jaw.span, 0)))


EXTENTS = {"full": 0.04, "half": 0.5, "part": 0.62, "tip": 0.82}
"""Setting -> the share of the length, from the joint, that is not serrated."""


def _ghosts(s: Sheet, jaw: Jaw, curvature: Choice, facing: bool, width: float, forms: tuple[str, ...]) -> None:
    """The other curvatures in which it is made, as outlines."""
    if curvature.status != "varies":
        return
    for number, token in enumerate(curvature.tokens[1:], 1):
        s.move = bend_of(token, jaw.x0, jaw.x1)
        item = s.item(curvature.way(number), label="")
        if facing:
            item.ghost(face_on(jaw, width, forms))
        else:
            item.ghost(jaw.outline(lower=True), jaw.outline())


# --- scissor blades -------------------------------------------------------------------------------------------------
ENDS = {"blunt-blunt": ("blunt", "blunt"), "sharp-sharp": ("sharp", "sharp"), "sharp-blunt": ("sharp", "blunt")}


def blade(x0: float, x1: float, wide: float, end: str) -> Path:
    """A scissor blade whose edge lies on the axis and whose back lies above it."""
    n = x1 - x0
    if end == "sharp":
        close = [(x0 + 0.8 * n, -wide * 0.5), (x1, 0, 1)]
    elif end in ("blunt", "knobbed"):
        close = [(x0 + 0.8 * n, -wide * 0.66), (x1 - 0.2 * wide, -wide * 0.48), (x1, -wide * 0.2), (x1 - 0.12 * wide, 0, 1)]
    else:
        close = [(x0 + 0.8 * n, -wide * 0.6), (x1, -wide * 0.3, 1), (x1, 0, 1)]
    root = [(x0 - 0.04 * n, wide * 0.3, 1), (x0 - 0.04 * n, -wide * 0.6, 1)]
    return shape(*root, (x0 + 0.12 * n, -wide * 0.86), (x0 + 0.35 * n, -wide * 0.95), (x0 + 0.6 * n, -wide * 0.85), *close)


def bevel(x0: float, x1: float, wide: float) -> Path:
    """The line along which the ground edge of a blade begins."""
    n = x1 - x0
    return curve((x0 + 0.1 * n, -wide * 0.28), (x0 + 0.5 * n, -wide * 0.27), (x0 + 0.93 * n, -wide * 0.12))


def button(x: float, y: float, r: float) -> Path:
    return ellipse(x, y, r, r * 0.8)
