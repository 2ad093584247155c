"""Magnified views: the face of a jaw, teeth at the tip, tips of blades."""

from __future__ import annotations

from kg.draw.models.jaws import EXTENTS, MESHED
from kg.draw.paths import Path, box, ellipse, line, poly, shape
from kg.draw.sheet import Item, Sheet, View


def jaw_face(s: Sheet) -> None:
    """The inner face of one jaw, joint end on the left: serrations and their extent, window, insert, groove."""
    surface, extent, form = s.get("surface"), s.get("extent", quiet=True), s.get("form", quiet=True)
    fenestration, insert, proportion = s.get("window", quiet=True), s.get("insert", quiet=True), s.get("proportion", quiet=True)
    groove, tip = s.get("groove", quiet=True), s.get("tip", quiet=True)
    if not (surface.recorded or fenestration.recorded or insert.recorded or groove.recorded or extent.recorded):
        return
    view = s.detail("face", "jaw face, enlarged")
    n, half = 44.0, 5.2
    if "narrow" in form:
        half *= 0.66
    if "broad" in form:
        half *= 1.3
    n *= {"short": 0.72, "long": 1.12}.get(proportion.token, 1.0)
    tokens = form.tokens or tuple(s.set("forms", ()))
    outline = _face_outline(n, half, tokens, tip.token)
    shown = (s.get("jaws", quiet=True), surface, form, proportion, fenestration, insert)
    s.item(*shown, view=view, label="", dashed=surface.status == "not recorded").solid(outline)
    if fenestration.token == "window":
        s.item(fenestration, view=view, label="").hole(_face_window(n, half, tokens))
    if insert.token == "insert":
        s.item(insert, view=view, label="").shade(box(3, -half + 1.4, n - 2.2, half - 1.4, 0.8)).line(
            box(3, -half + 1.4, n - 2.2, half - 1.4, 0.8)
        )
    inside = _Face(n, half, tokens, fenestration.token == "window")
    item = s.item(surface, extent, view=view, label="")
    known = extent.recorded or not s.choices.facts.known.holds
    start = EXTENTS.get(extent.token, 0.04)
    if surface.recorded and surface.token != "smooth":
        _pattern(item, inside, surface.token, start, s, view, known or surface.token in ("rows", "along", "cushion"))
    if groove:
        s.item(groove, view=view, label="").bold(line((2.5, 0), (n * 0.8, 0)))
    view.note = surface.text if surface.recorded else f"{surface.text}: not recorded"
    if extent.recorded:
        view.note += f"; {extent.text}"
    elif extent.status == "not recorded" and surface.recorded and surface.token not in ("smooth", "cushion"):
        view.note += "; how far: not recorded"


class _Face:
    """Where serrations may lie: the face without its rim and window."""

    def __init__(self, n: float, half: float, forms: tuple[str, ...], hollow: bool) -> None:
        self.n, self.half, self.forms, self.hollow = n, half, forms, hollow

    def reach(self, x: float) -> float:
        """Half the height of the face at ``x``."""
        return max(_half_at(x / self.n, self.half, self.forms) - 0.55, 0.2)

    def spans(self, x: float) -> list[tuple[float, float]]:
        """The pieces of the face across at ``x``, without the window."""
        top = self.reach(x)
        if not self.hollow:
            return [(-top, top)]
        inner = _window_half(x / self.n, self.half, self.forms)
        return [(-top, top)] if inner <= 0 else [(-top, -inner - 0.3), (inner + 0.3, top)]


def _half_at(u: float, half: float, forms: tuple[str, ...]) -> float:
    if "triangle" in forms or "flare" in forms or "broadend" in forms:
        wide = 1.9 if "triangle" in forms else 1.35
        grown = half * (0.5 + (wide - 0.5) * max(0.0, (u - 0.25) / 0.75) ** 1.2)
        return grown if u < 0.97 else grown * 0.9
    if "ring" in forms:
        v = (u - 0.56) / 0.44
        return half * max(0.42, 1.75 * max(0.0, 1 - v * v) ** 0.5 if u > 0.12 else 0.42)
    taper = 1 - 0.32 * u
    if u > 0.93:
        taper *= (1 - ((u - 0.93) / 0.07) ** 2 * 0.75) ** 0.5
    return half * taper


def _window_half(u: float, half: float, forms: tuple[str, ...]) -> float:
    if "ring" in forms:
        v = (u - 0.56) / 0.32
        return half * 1.15 * max(0.0, 1 - v * v) ** 0.5
    if "triangle" in forms or "flare" in forms or "broadend" in forms:
        return _half_at(u, half, forms) * 0.5 if 0.42 < u < 0.84 else 0.0
    return half * 0.42 * max(0.0, 1 - ((u - 0.55) / 0.3) ** 4) ** 0.5 if 0.25 < u < 0.85 else 0.0


def _face_outline(n: float, half: float, forms: tuple[str, ...], tip: str) -> Path:
    steps = 22
    us = [i / steps for i in range(steps)] + [0.97, 0.99, 1.0]
    top = [(u * n, -_half_at(u, half, forms)) for u in us]
    if tip in ("pointed", "fine", "tapered", "conical"):
        top = [(x, y * (1 - 0.8 * max(0.0, x / n - 0.72) / 0.28)) for x, y in top]
    first, *rest = top
    return shape((*first, 1), *rest, *[(x, -y) for x, y in reversed(rest)], (first[0], -first[1], 1))


def _face_window(n: float, half: float, forms: tuple[str, ...]) -> Path:
    us = [0.2 + 0.72 * i / 36 for i in range(37)]
    top = [(u * n, -_window_half(u, half, forms)) for u in us if _window_half(u, half, forms) > 0]
    return shape(*top, *[(x, -y) for x, y in reversed(top)])


def _pattern(item: Item, face: _Face, token: str, start: float, s: Sheet, view: View, known: bool) -> None:
    """The serrations. Where it is not recorded how far they go, the half near the joint is dashed."""
    firm = 0.5 if not known else start
    _lines(item, face, token, max(start, firm), 0.965)
    if not known:
        doubt = s.item(s.get("extent", quiet=True), view=view, label="", dashed=True)
        _lines(doubt, face, token, 0.05, firm)


def _lines(item: Item, face: _Face, token: str, start: float, end: float) -> None:
    n = face.n
    a, b = start * n, end * n
    if token in ("across", "along-cross"):
        if token == "along-cross":
            _along(item, face, a, n * 0.74)
            _hatch(item, face, n * 0.77, b)
            return
        _across(item, face, a, b, 1.25, 0.0)
    elif token == "oblique":
        _across(item, face, a, b, 1.5, 0.5)
    elif token == "along":
        _along(item, face, a, b)
    elif token == "cross":
        _hatch(item, face, a, b)
    elif token == "combined":
        _across(item, face, a, b, 2.2, 0.0)
        _along(item, face, a, b)
    elif token == "rows":
        _rows(item, face, a, b)
    elif token == "cushion":
        item.line(box(n * 0.06, -face.half * 0.55, n * 0.93, face.half * 0.5, 1.6))
        item.shade(box(n * 0.06, -face.half * 0.55, n * 0.93, face.half * 0.5, 1.6))
    elif token == "serrated":
        _notches(item, face, a, b)


def _across(item: Item, face: _Face, a: float, b: float, step: float, slant: float) -> None:
    x, out = a + step / 2, []
    while x < b:
        for top, bottom in face.spans(x):
            if bottom - top > 0.4:
                out.append(line((x - slant * top, top), (x - slant * bottom, bottom)))
        x += step
    item.line(*out)


def _along(item: Item, face: _Face, a: float, b: float) -> None:
    out = []
    rows = 7
    for k in range(rows):
        y = face.half * 0.82 * (2 * k / (rows - 1) - 1)
        piece: list[tuple[float, float]] = []
        steps = 40
        for i in range(steps + 1):
            x = a + (b - a) * i / steps
            inside = any(top <= y <= bottom for top, bottom in face.spans(x))
            if inside:
                piece.append((x, y))
            if (not inside or i == steps) and len(piece) > 1:
                out.append(line(piece[0], piece[-1]))
            if not inside:
                piece = []
    item.line(*out)


def _hatch(item: Item, face: _Face, a: float, b: float) -> None:
    step, out = 1.35, []
    for sign in (-1, 1):
        x = a - face.half
        while x < b + face.half:
            piece: list[tuple[float, float]] = []
            for i in range(33):
                y = face.half * 2 * (2 * i / 32 - 1)
                px = x + sign * y
                if a <= px <= b and any(top <= y <= bottom for top, bottom in face.spans(px)):
                    piece.append((px, y))
                elif len(piece) > 1:
                    out.append(line(piece[0], piece[-1]))
                    piece = []
                else:
                    piece = []
            if len(piece) > 1:
                out.append(line(piece[0], piece[-1]))
            x += step
    item.hair(*out)


def _rows(item: Item, face: _Face, a: float, b: float) -> None:
    """Three lengthwise rows of fine teeth that fit between two rows of the other jaw."""
    out = []
    for y in (-face.half * 0.5, 0.0, face.half * 0.5):
        x, zigzag = a + 0.6, []
        up = True
        while x < b - 0.3 and face.reach(x) > abs(y) + 0.4:
            zigzag.append((x, y + (-0.55 if up else 0.55)))
            x, up = x + 0.62, not up
        if len(zigzag) > 1:
            out.append(line(*zigzag))
    item.line(*out)


def _notches(item: Item, face: _Face, a: float, b: float) -> None:
    """Serrated, with no direction recorded: notches along both edges and nothing said of the face between."""
    out = []
    for side in (-1, 1):
        x, zigzag = a + 0.5, []
        up = True
        while x < b:
            zigzag.append((x, side * (face.reach(x) - (0.0 if up else 1.0))))
            x, up = x + 0.75, not up
        if len(zigzag) > 1:
            out.append(line(*zigzag))
    item.line(*out)


# --- teeth ----------------------------------------------------------------------------------------------------------
def tip_teeth(s: Sheet) -> None:
    """Both tips from the side, apart, so that it is seen which teeth lie on which."""
    teeth, tip = s.get("teeth"), s.get("tip", quiet=True)
    if not teeth.recorded and not tip.recorded:
        return
    view = s.detail("tip", "tip, jaws apart, enlarged")
    item = s.item(teeth, tip, view=view, label="", dashed=teeth.status == "not recorded" and not tip.recorded)
    for side in (-1, 1):
        item.solid(_tip(tip.token, side))
    _teeth(s.item(teeth, view=view, label=""), teeth.token)
    view.note = "; ".join(c.text for c in (tip, teeth) if c.recorded)
    if not teeth.recorded and teeth.text:
        view.note += f"; {teeth.text}: not recorded"


def _tip(token: str, side: int) -> Path:
    inner, outer = side * 3.0, side * 8.6
    ends = {
        "pointed": [(20, side * 3.2, 1)],
        "fine": [(18.4, side * 4.3), (19.4, side * 3.4), (19.2, inner, 1)],
        "tapered": [(19, side * 4.6, 1), (19, inner, 1)],
        "conical": [(16, side * 5.2), (20, side * 3.1, 1)],
        "pyramid": [(15.6, side * 6.0, 1), (20, side * 3.1, 1)],
        "blunt": [(17, side * 7.8), (18.6, side * 6.9), (19, side * 5.4, 1), (19, inner, 1)],
        "broad": [(15, side * 8.6), (18.6, side * 8.3), (19, side * 7.0, 1), (19, inner, 1)],
        "rounded": [(16.4, side * 7.9), (18.6, side * 6.2), (19.2, side * 4.2), (18.2, inner, 1)],
        "triangle": [(14, side * 8.3), (19, side * 10.4, 1), (19, inner, 1)],
        "ring": [(15, side * 9), (18.6, side * 7.6), (19.3, side * 5), (18, inner, 1)],
    }.get(token, [(17, side * 7.2), (18.8, side * 5.6), (19, side * 4.4, 1), (19, inner, 1)])
    return shape((0, inner, 1), (0, outer, 1), (8, outer), *ends)


def _teeth(item: Item, token: str) -> None:
    if token in ("", "none"):
        return
    if token == "one-two":
        item.solid(poly((16.2, -3.0), (17.5, 0.6), (18.8, -3.0)))
        item.solid(poly((14.4, 3.0), (15.5, -0.2), (16.6, 3.0)), poly((17.4, 3.0), (18.4, -0.2), (19.4, 3.0)))
    elif token in MESHED:
        fewer = MESHED[token]
        step = 12 / (fewer + 1)
        half = step * 1.1 / 3
        for count, first, side in ((fewer, 8.9 + step / 2, -1), (fewer + 1, 8.9, 1)):
            starts = [first + step * k for k in range(count)]
            item.solid(*[poly((x, 3 * side), (x + half, 0.4 * side), (x + 2 * half, 3 * side)) for x in starts])
    elif token == "interlocking":
        item.solid(*[poly((12.2 + 3.2 * k, -3), (13.6 + 3.2 * k, 0.2), (15 + 3.2 * k, -3)) for k in range(2)])
        item.solid(*[poly((10.6 + 3.2 * k, 3), (12 + 3.2 * k, -0.2), (13.4 + 3.2 * k, 3)) for k in range(2)])
    elif token == "rows":
        item.solid(*[poly((3 + 1.5 * k, -3), (3.75 + 1.5 * k, -1.6), (4.5 + 1.5 * k, -3)) for k in range(10)])
        item.solid(*[poly((2.2 + 1.5 * k, 3), (3 + 1.5 * k, 1.6), (3.75 + 1.5 * k, 3)) for k in range(10)])
    elif token == "points":
        for side in (-1, 1):
            item.solid(
                shape(
                    (14, side * 3, 1),
                    (17.4, side * 3.2),
                    (20.4, side * 1.5),
                    (20.6, -side * 1.7, 1),
                    (18.4, side * 1.2),
                    (15, side * 3, 1),
                )
            )
    else:
        item.solid(poly((16, -3.0), (17.4, 0.2), (18.8, -3.0)))
        item.bold(line((13.4, 3.0), (14.6, 1.4)))
        item.line(ellipse(15.4, 0.2, 0.25))


# --- blades ---------------------------------------------------------------------------------------------------------
def blade_tips(s: Sheet) -> None:
    """The two tips of scissors, apart."""
    tips, tip = s.get("blade-tips"), s.get("tip", quiet=True, knows=("fine", "pointed"))
    view = s.detail("tip", "tips, enlarged")
    ends = {
        "blunt-blunt": ("blunt", "blunt"),
        "sharp-sharp": ("sharp", "sharp"),
        "sharp-blunt": ("sharp", "blunt"),
        "knobbed": ("blunt", "knobbed"),
        "hook": ("plain", "hook"),
    }.get(tips.token, ("plain", "plain"))
    item = s.item(tips, tip, view=view, label="")
    thin = {"fine": 0.78, "pointed": 0.6}.get(tip.token, 1.0)
    for side, end in ((-1, ends[0]), (1, ends[1])):
        item.solid(_blade_end(end, side, thin))
        item.line(line((0, side * 3.2), (13, side * 3.0)))
    view.note = "; ".join(c.text for c in (tips, tip) if c.recorded) or f"{tips.text}: not recorded"


def _blade_end(end: str, side: int, thin: float) -> Path:
    inner, outer = side * 1.8, side * (1.8 + 7.4 * thin)
    middle = (inner + outer) / 2
    ends = {
        "sharp": [(12, outer * 0.75), (20, inner, 1)],
        "blunt": [(14, outer * 0.9), (18.4, outer * 0.72), (20, middle * 0.9), (19, inner, 1)],
        "knobbed": [
            (13, middle),
            (16, middle * 0.9),
            (17.6, outer * 0.86),
            (20.2, middle),
            (18.4, inner * 0.4),
            (16.4, inner, 1),
        ],
        "hook": [
            (12, outer * 0.86),
            (18, outer * 0.7),
            (20, middle * 0.7),
            (19, inner * 0.1, 1),
            (16.6, middle * 0.66),
            (14, inner, 1),
        ],
    }.get(end, [(14, outer * 0.85), (19, middle, 1), (19, inner, 1)])
    return shape((0, inner, 1), (0, outer, 1), (7, outer), *ends)
