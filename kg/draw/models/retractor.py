"""Hand-held retractors, seen from the side: a handle, and at its end or ends a blade, hooks or prongs."""

from __future__ import annotations

from kg.draw.models.jaws import BUILDS
from kg.draw.paths import Path, Point, box, flip, line, mirror, ribbon, shape, then
from kg.draw.sheet import GHOST, Item, Sheet

FORMS = ("curved", "double-curve", "lip", "angled", "right", "rake", "flat")
"""The forms of a blade that are told apart in profile."""
COUNTS = {"one": 1, "two": 2, "three": 3, "four": 4}


def _course(form: str, n: float) -> list[Point]:
    """The blade in profile, from the end of the handle on; x counts from there, y down."""
    if form == "curved":
        return [
            (0, 0),
            (0.06 * n, -0.03 * n),
            (0.16 * n, -0.085 * n),
            (0.28 * n, -0.06 * n),
            (0.345 * n, 0.05 * n),
            (0.31 * n, 0.17 * n),
            (0.22 * n, 0.235 * n),
        ]
    if form == "double-curve":
        return [
            (0, 0),
            (0.09 * n, -0.02 * n),
            (0.19 * n, -0.1 * n),
            (0.29 * n, -0.085 * n),
            (0.33 * n, 0.02 * n),
            (0.28 * n, 0.1 * n),
        ]
    if form == "lip":
        return [(0, 0), (0.18 * n, 0), (0.205 * n, 0.025 * n), (0.21 * n, 0.14 * n), (0.2 * n, 0.22 * n), (0.17 * n, 0.255 * n)]
    if form == "right":
        return [(0, 0), (0.2 * n, 0), (0.214 * n, 0.014 * n), (0.214 * n, 0.12 * n), (0.214 * n, 0.235 * n)]
    if form == "angled":
        return [
            (0, 0),
            (0.19 * n, 0),
            (0.212 * n, 0.02 * n),
            (0.215 * n, 0.12 * n),
            (0.205 * n, 0.2 * n),
            (0.225 * n, 0.232 * n),
        ]
    if form == "rake":
        return [(0, 0), (0.1 * n, 0), (0.17 * n, -0.015 * n), (0.22 * n, 0.02 * n), (0.235 * n, 0.1 * n), (0.2 * n, 0.16 * n)]
    if form == "flat":
        return [(0, 0), (0.15 * n, 0), (0.3 * n, 0.006 * n), (0.4 * n, 0.022 * n)]
    return [(0, 0), (0.17 * n, 0), (0.2 * n, 0.03 * n), (0.21 * n, 0.12 * n), (0.205 * n, 0.2 * n)]


def draw(s: Sheet) -> None:
    """Handle and blade from the side, and the blade from the front."""
    n = s.length
    form, ends, grip, blade = (
        s.get("blade-form", knows=FORMS),
        s.get("ends", quiet=True),
        s.get("grip", quiet=True),
        s.get("retractor-blade", quiet=True),
    )
    build, width, hooks, prongs = (
        s.get("build", quiet=True),
        s.get("blade-width", quiet=True),
        s.get("hooks", quiet=True),
        s.get("prongs", quiet=True),
    )
    rigidity = s.get("rigidity", quiet=True, knows=("malleable",))
    count, point = s.get("prong-count", quiet=True), s.get("prong-point", quiet=True)
    k = BUILDS.get(build.token, 1.0)
    two = ends.token == "two"
    thick = n * 0.0115 * (0.45 + 0.55 * k)
    front, back = 0.6 * n, 0.3 * n if two else 0.0
    hooked = hooks.recorded and not (form.recorded or blade.recorded)
    token = (
        form.token if form.recorded else "hooks" if hooked else "rake" if prongs.recorded and not blade.recorded else "plain"
    )
    handle = s.item(grip if grip.recorded else s.get("handle", quiet=True), build, rigidity, ends, label="", dashed=s.empty)
    if token in ("flat",) and not two and not grip.recorded:
        handle.solid(ribbon([(0, 0), (front, 0)], [thick, thick], start="round"))
    elif hooked:
        handle.solid(
            ribbon(
                [(back, 0), (0.2 * n, 0), (0.5 * n, 0), (front + 0.22 * n, 0)],
                [thick * 1.7, thick * 2, thick * 1.2, thick * 0.6],
                start="round",
            )
        )
        handle.line(*[line(((0.2 + 0.015 * i) * n, -thick * 1.4), ((0.2 + 0.015 * i) * n, thick * 1.4)) for i in range(12)])
    elif two:
        handle.solid(ribbon([(back, 0), (front, 0)], [thick, thick]))
    else:
        handle.solid(
            box(0, -2.4 * thick, 0.46 * n, 2.4 * thick, 2.2 * thick), ribbon([(0.44 * n, 0), (front, 0)], [thick * 1.2, thick])
        )
        handle.line(*[line(((0.08 + 0.024 * i) * n, -2.2 * thick), ((0.08 + 0.024 * i) * n, 2.2 * thick)) for i in range(14)])
    if grip.recorded:
        s.item(grip).at(0.25 * n, -2 * thick)
    shown = (blade if blade.recorded else form, form, width)
    recorded = any(c.recorded for c in (form, blade, hooks, prongs))
    if token == "hooks":
        _hooks(s, front + 0.2 * n, thick, n, two)
    else:
        course = [(front + x, y) for x, y in _course(token, n)]
        item = s.item(*shown, label="", dashed=not recorded)
        widths = [thick] * (len(course) - 1) + [thick * (0.3 if token == "rake" else 0.55)]
        item.solid(ribbon(course, widths, end="flat" if token != "rake" else "point"))
        label = s.item(form if form.recorded else blade if blade.recorded else prongs if prongs.recorded else form)
        label.at(*course[-3])
    if "two" in ends.tokens:
        second = _second(s, token, n, back, thick, ends, hooks, prongs, shown)
        if not two:  # made with one end or two: the second as an outline
            second.strokes, second.label = [(GHOST, paths) for _, paths in second.strokes], ""
    if token != "hooks" and s.set("front", True):
        _front(s, token, width, count, point, prongs, blade, form)
    if rigidity.token == "malleable":
        course = [(front, 0), (front + 0.12 * n, 0.005 * n), (front + 0.22 * n, 0.06 * n), (front + 0.28 * n, 0.16 * n)]
        s.item(rigidity).ghost(ribbon(course, [thick] * 4)).at(*course[2])
    for name, x in (
        ("grip", 0.25 * n),
        ("shank", 0.52 * n),
        ("back", back),
        ("joint", 0.56 * n),
        ("end", front + 0.18 * n),
        ("tip", front + 0.2 * n),
    ):
        s.place(name, x, 0 if name not in ("tip",) else 0.18 * n, 2 * thick)


def _hooks(s: Sheet, x: float, thick: float, n: float, two: bool) -> None:
    hooks, count, point = s.get("hooks"), s.get("prong-count", quiet=True), s.get("prong-point", quiet=True)
    item = s.item(hooks, count, point)
    item.solid(
        ribbon(
            [(x, 0), (x + 0.06 * n, 0), (x + 0.095 * n, 0.016 * n), (x + 0.1 * n, 0.045 * n), (x + 0.08 * n, 0.062 * n)],
            [thick * 0.6, thick * 0.55, thick * 0.5, thick * 0.4, 0.05],
        )
    )
    item.at(x + 0.098 * n, 0.03 * n)


def _second(s: Sheet, token: str, n: float, back: float, thick: float, ends, hooks, prongs, shown) -> Item:  # type: ignore[no-untyped-def]
    """The other end of a double-ended retractor: prongs or hooks where there are any, else a blade the other way round."""
    forked = prongs.recorded or hooks.recorded
    form = "rake" if forked and token != "rake" else token if token != "hooks" else "rake"
    move = then(flip(back / 2), mirror()) if form in ("double-curve", "curved") else flip(back / 2)
    scale = 0.85 if form not in ("double-curve",) else 1.0
    course = [move((x * scale, y * scale)) for x, y in _course(form, n)]
    widths = [thick] * (len(course) - 1) + [thick * 0.5]
    first = (prongs if prongs.recorded else hooks) if forked else shown[0]
    item = s.item(first, ends, dashed=not first.recorded)
    item.solid(ribbon(course, widths, end="point" if forked else "flat"))
    return item.at(*course[-3])


def _front(s: Sheet, token: str, width, count, point, prongs, blade, form) -> None:  # type: ignore[no-untyped-def]
    """Blade and prongs from the front, where their width and number are seen."""
    if not (width.recorded or count.recorded or prongs.recorded):
        return
    view = s.detail("front", "from the front, enlarged")
    half = {"narrow": 4.2, "wide": 11.0}.get(width.token, 7.0)
    notes = []
    if token != "rake" or not prongs.recorded:
        first = width if width.recorded else blade if blade.recorded else form
        item = s.item(first, view=view, label="", dashed=not (width.recorded or blade.recorded or form.recorded))
        item.solid(box(-half, 0, half, 19, 2.4), box(-2, -5, 2, 1))
        notes.append(width.text if width.recorded else "width: not recorded")
    if prongs.recorded:
        many = COUNTS.get(count.token, 3)
        x0 = half + 12 if token != "rake" else 0.0
        span = 4.2 * (many - 1)
        item = s.item(prongs, count, point, view=view, label="")
        item.solid(box(x0 - 2, -5, x0 + 2, 2), box(x0 - span / 2 - 1.4, 1, x0 + span / 2 + 1.4, 4, 1))
        for i in range(many):
            x = x0 - span / 2 + 4.2 * i
            doubt = not count.recorded and i > 0
            one = s.item(count if doubt else prongs, view=view, label="", dashed=doubt)
            one.solid(prong(x, 3.5, 15.0, 1.0, point.token))
        notes.append(" ".join(c.text for c in (count, point) if c.recorded) or "prongs, number not recorded")
    view.note = "; ".join(notes)


def prong(x: float, top: float, length: float, half: float, kind: str) -> Path:
    """One prong, pointing down."""
    if kind == "blunt":
        return ribbon([(x, top), (x, top + length)], [half, half * 1.15], end="round")
    if kind == "sharp":
        return shape(
            (x - half, top, 1),
            (x - half * 0.8, top + length * 0.7),
            (x, top + length, 1),
            (x + half * 0.8, top + length * 0.7),
            (x + half, top, 1),
        )
    return shape((x - half, top, 1), (x - half * 0.7, top + length, 1), (x + half * 0.7, top + length, 1), (x + half, top, 1))
