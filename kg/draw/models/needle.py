"""Needles: curved ones that carry a suture, and hollow ones; the point and its section enlarged."""

from __future__ import annotations

from kg.draw.paths import box, curve, ellipse, line, poly, ribbon, shape, turn_point
from kg.draw.sheet import Sheet, View


def suture(s: Sheet) -> None:
    """A curved needle with its thread; point and section beside it."""
    n, point, swage, tip = s.length, s.get("point"), s.get("swage", quiet=True), s.get("tip-part", quiet=True)
    r, w = n * 0.4, n * 0.016
    course = [turn_point(0, 0, r, 180 + 180 * i / 14) for i in range(15)]
    widths = [w] * 11 + [w * 0.92, w * 0.75, w * 0.45, 0.05]
    if point.token == "blunt":
        widths = [w] * 14 + [w * 0.8]
    item = s.item(point, tip, s.get("grip", quiet=True, knows=("none",)), label="", dashed=s.empty)
    item.solid(ribbon(course, widths, end="round" if point.token == "blunt" else "flat"))
    thread = curve((-r, 0), (-r * 1.03, 0.16 * n), (-r * 0.7, 0.27 * n), (-r * 0.1, 0.22 * n), (r * 0.5, 0.3 * n))
    item.hair(thread)
    s.item(point).at(*turn_point(0, 0, r, 345))
    if swage.recorded:
        s.item(swage).line(line((-r - w, -1.5 * w), (-r + w, -1.5 * w)), line((-r - w, -4 * w), (-r + w, -4 * w))).at(
            -r, -2 * w
        )
    for name, degrees in (("back", 180), ("grip", 215), ("shank", 250), ("joint", 250), ("end", 310), ("tip", 352)):
        s.place(name, *turn_point(0, 0, r, degrees), w * 1.5, degrees + 90)
    _point_view(s)
    section(s, s.detail("section", "section near the point"), 0, 0, 6.0)


def _point_view(s: Sheet) -> None:
    point = s.get("point")
    view = s.detail("point", "point, enlarged")
    item = s.item(point, view=view, label="", dashed=point.status == "not recorded")
    token = point.token
    if token == "blunt":
        item.solid(ribbon([(0, 0), (30, 0), (40, 0)], [4, 3.6, 3], end="round"))
    elif token == "paddle":
        item.solid(shape((0, -4, 1), (22, -4.8, 1), (42, 0, 1), (22, 4.8, 1), (0, 4, 1))).line(line((22, -4.6), (22, 4.6)))
    elif token == "three-edged":
        item.solid(shape((0, -4, 1), (30, -4, 1), (40, 0, 1), (30, 4, 1), (0, 4, 1))).line(
            line((30, -3.8), (40, 0)), line((30, 0), (40, 0)), line((30, -4), (30, 4))
        )
    elif token in ("cutting-in", "cutting-out", "cutting"):
        y = {"cutting-in": 1.9, "cutting-out": -1.9}.get(token, 0.0)
        item.solid(shape((0, -4, 1), (14, -4.4), (42, 0, 1), (14, 4.4), (0, 4, 1))).line(curve((12, y), (26, y * 0.6), (42, 0)))
    else:
        item.solid(shape((0, -4, 1), (16, -3.7), (42, 0, 1), (16, 3.7), (0, 4, 1)))
    view.note = point.text if point.recorded else f"{point.text}: not recorded"


def section(s: Sheet, view: View, x: float, y: float, r: float) -> None:
    """The section of a needle; its inner curve lies above."""
    point = s.get("point", quiet=True)
    item = s.item(point, view=view, label="", dashed=not point.recorded)
    token = point.token
    if token == "cutting-in":
        item.solid(poly((x, y - r), (x + r * 0.95, y + r * 0.7), (x - r * 0.95, y + r * 0.7)))
    elif token == "cutting-out":
        item.solid(poly((x, y + r), (x + r * 0.95, y - r * 0.7), (x - r * 0.95, y - r * 0.7)))
    elif token == "paddle":
        item.solid(
            poly(
                (x - r * 1.1, y),
                (x - r * 0.7, y - r * 0.42),
                (x + r * 0.7, y - r * 0.42),
                (x + r * 1.1, y),
                (x + r * 0.7, y + r * 0.42),
                (x - r * 0.7, y + r * 0.42),
            )
        )
    elif token == "three-edged":
        item.solid(poly((x - r * 0.9, y + r * 0.6), (x, y - r), (x + r * 0.9, y + r * 0.6))).line(
            line((x, y - r), (x, y)), line((x, y), (x + r * 0.9, y + r * 0.6)), line((x, y), (x - r * 0.9, y + r * 0.6))
        )
    elif token == "cutting":
        item.solid(poly((x - r, y + r * 0.6), (x, y - r), (x + r, y + r * 0.6))).line(ellipse(x, y + r * 0.05, r * 0.3))
    else:
        item.solid(ellipse(x, y, r * 0.85))
    view.note = "inner curve of the needle above"


# --- hollow needles -------------------------------------------------------------------------------------------------
def hollow(s: Sheet) -> None:
    """Hub, shaft and point of a needle with a channel; the point enlarged."""
    n = s.length
    lumen, bore, stylet, grip = (
        s.get("lumen", quiet=True),
        s.get("bore", quiet=True),
        s.get("stylet", quiet=True),
        s.get("grip", quiet=True),
    )
    h = n * 0.0085 * {"narrow": 0.65, "wide": 1.6}.get(bore.token, 1.0)
    start = 0.2 * n
    item = s.item(lumen, bore, grip, label="", dashed=s.empty)
    item.solid(box(start, -h, n - 4 * h, h))
    hub = s.item(grip, s.get("handle", quiet=True), label="", dashed=s.empty)
    if grip.token == "solid":
        hub.solid(
            box(0.02 * n, -0.1 * n, 0.1 * n, 0.1 * n, 0.03 * n), box(0.09 * n, -0.02 * n, start + 0.01 * n, 0.02 * n, 0.006 * n)
        )
        s.item(grip).at(0.06 * n, -0.06 * n)
    else:
        hub.solid(
            shape(
                (start + 0.01 * n, -h, 1),
                (0.17 * n, -0.016 * n),
                (0.12 * n, -0.034 * n),
                (0.05 * n, -0.036 * n, 1),
                (0.05 * n, 0.036 * n, 1),
                (0.12 * n, 0.034 * n),
                (0.17 * n, 0.016 * n),
                (start + 0.01 * n, h, 1),
            )
        )
        hub.line(line((0.075 * n, -0.035 * n), (0.075 * n, 0.035 * n)))
    if stylet:
        s.item(stylet).solid(box(0.0, -0.026 * n, 0.05 * n, 0.026 * n, 0.01 * n)).hair(line((0.05 * n, 0), (n - 4 * h, 0))).at(
            0.03 * n, -0.01 * n
        )
    if lumen.recorded:
        s.item(lumen).at(0.5 * n, -h)
    _hollow_tip(s, s.main, n - 4 * h, h, label=True)
    for name, x in (("back", 0.05 * n), ("grip", 0.1 * n), ("shank", 0.4 * n), ("joint", start), ("end", 0.75 * n), ("tip", n)):
        s.place(name, x, 0, max(h, 0.012 * n))
    view = s.detail("point", "point, enlarged")
    _hollow_tip(s, view, 14, 4.2, label=False)
    point, opening = s.get("point"), s.get("opening-at", quiet=True)
    view.note = "; ".join(c.text for c in (point, opening) if c.recorded) or f"{point.text}: not recorded"


def _hollow_tip(s: Sheet, view: View, x: float, h: float, *, label: bool) -> None:
    point, opening, holes = (
        s.get("point"),
        s.get("opening-at", quiet=True, knows=("side",) if s.get("point").token == "curved-bevel" else None),
        s.get("side-holes", quiet=True),
    )
    notch, edge, part = (
        s.get("notch", quiet=True),
        s.get("edge-part", quiet=True),
        s.get("tip-part", quiet=True),
    )
    item = s.item(
        point,
        opening,
        holes,
        edge,
        part,
        view=view,
        label=None if label else "",
        dashed=point.status == "not recorded",
    )
    a = x - (11.0 if notch.recorded else 3.3) * h
    if point.token == "pencil":
        item.solid(
            shape(
                (a, -h, 1),
                (x + 1 * h, -h),
                (x + 3 * h, -0.6 * h),
                (x + 5 * h, 0, 1),
                (x + 3 * h, 0.6 * h),
                (x + 1 * h, h),
                (a, h, 1),
            )
        )
    elif point.token == "curved-bevel":
        item.solid(
            shape(
                (a, -h, 1),
                (x, -h * 0.95),
                (x + 2.6 * h, -1.3 * h),
                (x + 4.6 * h, -2.4 * h),
                (x + 5.4 * h, -3.0 * h, 1),
                (x + 4.9 * h, -1.0 * h),
                (x + 2.6 * h, 0.7 * h),
                (x, h),
                (a, h, 1),
            )
        )
        item.hole(shape((x + 3.6 * h, -1.9 * h), (x + 5.0 * h, -2.6 * h), (x + 4.5 * h, -1.4 * h)))
    elif point.token == "bevel":
        item.solid(shape((a, -h, 1), (x, -h, 1), (x + 5 * h, h, 1), (a, h, 1)))
        item.hole(ellipse(x + 2.2 * h, 0.02 * h, 2.2 * h, 0.36 * h, 21.8))
    else:
        item.solid(shape((a, -h, 1), (x + 1 * h, -h, 1), (x + 4 * h, 0, 1), (x + 1 * h, h, 1), (a, h, 1)))
    if opening.recorded:
        long = {"long-side": 1.9, "side": 0.8}.get(opening.token, 0.0)
        if long and point.token != "curved-bevel":
            s.item(opening, holes, view=view, label="").hole(ellipse(x - 0.4 * h, -0.35 * h, long * h, 0.36 * h))
    item.at(x + 2 * h, 0)
    if notch.recorded:
        cut = shape((x - 9 * h, -1.2 * h, 1), (x - 3 * h, -1.2 * h, 1), (x - 3.4 * h, 0.2 * h), (x - 8.6 * h, 0.2 * h))
        s.item(notch, view=view, label=None if label else "").hole(cut).at(x - 6 * h, -0.4 * h)
