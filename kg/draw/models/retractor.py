"""Hand-held retractors, seen from the side: a handle, and at its end or ends a blade, hooks or prongs."""

from __future__ import annotations

from collections.abc import Sequence

from kg.draw.choices import Choice
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
    form, ends = s.get("blade-form", knows=FORMS), s.get("ends", quiet=True)
    blade, hooks, prongs, width = (s.get(name, quiet=True) for name in ("retractor-blade", "hooks", "prongs", "blade-width"))
    hooked = hooks.recorded and not (form.recorded or blade.recorded)
    forked = prongs.recorded and not blade.recorded
    token = form.token if form.recorded else "hooks" if hooked else "rake" if forked else "plain"
    thick = n * 0.0115 * (0.45 + 0.55 * BUILDS.get(s.get("build", quiet=True).token, 1.0))
    front, back = 0.6 * n, 0.3 * n if ends.token == "two" else 0.0
    shown = (blade if blade.recorded else form, form, width)
    if token != "hooks":
        # The blade begins under the handle, so that no line parts them where the metal is one piece.
        course = [(0.45 * n, 0.0), *((front + x, y) for x, y in _course(token, n))]
        item = s.item(*shown, label="", dashed=not any(c.recorded for c in (form, blade, hooks, prongs)))
        widths = [thick] * (len(course) - 1) + [thick * (0.3 if token == "rake" else 0.55)]
        item.solid(ribbon(course, widths, end="point" if token == "rake" else "flat"))
        s.item(next((c for c in (form, blade, prongs) if c.recorded), form)).at(*course[-3])
    if "two" in ends.tokens:
        second = _second(s, token, back, thick, shown)
        if ends.token != "two":  # made with one end or two: the second as an outline
            second.strokes, second.label = [(GHOST, paths) for _, paths in second.strokes], ""
    _handle(s, token, front, back, thick)
    if token == "hooks":
        _hooks(s, front + 0.2 * n, thick, n)
    if token != "hooks" or prongs.recorded:
        _front(s, token, width, prongs, blade, form)
    rigidity = s.get("rigidity", quiet=True, knows=("malleable",))
    if rigidity.token == "malleable":
        bent = [(front, 0), (front + 0.12 * n, 0.005 * n), (front + 0.22 * n, 0.06 * n), (front + 0.28 * n, 0.16 * n)]
        s.item(rigidity).ghost(ribbon(bent, [thick] * 4)).at(*bent[2])
    places = {"grip": 0.25 * n, "shank": 0.52 * n, "back": back, "joint": 0.56 * n, "end": front + 0.18 * n}
    for name, x in places.items():
        s.place(name, x, 0, 2 * thick)
    s.place("tip", front + 0.2 * n, 0.18 * n, 2 * thick)


def _handle(s: Sheet, token: str, front: float, back: float, thick: float) -> None:
    """What the hand holds; grooved where a handle is recorded."""
    n = s.length
    grip, part, build, ends = (s.get(name, quiet=True) for name in ("grip", "handle", "build", "ends"))
    known = grip.recorded or part.recorded
    item = s.item(grip if grip.recorded else part, part, build, ends, label="", dashed=s.empty)
    if token == "hooks":
        course = [(back, 0), (0.2 * n, 0), (0.5 * n, 0), (front + 0.22 * n, 0)]
        item.solid(ribbon(course, [thick * 1.7, thick * 2, thick * 1.2, thick * 0.6], start="round"))
    elif ends.token == "two":
        item.solid(ribbon([(back + 0.05 * n, 0), (front - 0.05 * n, 0)], [thick * 1.35] * 2, start="round", end="round"))
    elif token == "flat" and not known:
        item.solid(ribbon([(0, 0), (front, 0)], [thick, thick], start="round"))
    else:
        item.solid(box(0, -2.4 * thick, 0.5 * n, 2.4 * thick, 2.2 * thick))
        if known:
            grooves = [(0.08 + 0.024 * i) * n for i in range(16)]
            item.line(*[line((x, -2.2 * thick), (x, 2.2 * thick)) for x in grooves])
    if known:
        s.item(grip if grip.recorded else part).at(0.25 * n, -2 * thick)


def _hooks(s: Sheet, x: float, thick: float, n: float) -> None:
    hooks, count, point = s.get("hooks"), s.get("prong-count", quiet=True), s.get("prong-point", quiet=True)
    item = s.item(hooks, count, point)
    item.solid(
        ribbon(
            [(x, 0), (x + 0.06 * n, 0), (x + 0.095 * n, 0.016 * n), (x + 0.1 * n, 0.045 * n), (x + 0.08 * n, 0.062 * n)],
            [thick * 0.6, thick * 0.55, thick * 0.5, thick * 0.4, 0.05],
        )
    )
    item.at(x + 0.098 * n, 0.03 * n)


def _second(s: Sheet, token: str, back: float, thick: float, shown: Sequence[Choice]) -> Item:
    """The other end of a double-ended retractor: prongs or hooks where there are any, else a blade the other way round."""
    n, (ends, hooks, prongs) = s.length, (s.get(name, quiet=True) for name in ("ends", "hooks", "prongs"))
    forked = prongs.recorded or hooks.recorded
    form = "rake" if forked or token == "hooks" else token
    turned = form in ("double-curve", "curved")
    move = then(flip(back / 2), mirror()) if turned else flip(back / 2)
    size = 1.0 if form == "double-curve" else 0.85
    course = [(0.45 * n, 0.0), *(move((x * size, y * size)) for x, y in _course(form, n))]
    first = (prongs if prongs.recorded else hooks) if forked else shown[0]
    item = s.item(first, ends, dashed=not first.recorded)
    item.solid(ribbon(course, [thick] * (len(course) - 1) + [thick * 0.5], end="point" if forked else "flat"))
    return item.at(*course[-3])


def _front(s: Sheet, token: str, width: Choice, prongs: Choice, blade: Choice, form: Choice) -> None:
    """Blade and prongs from the front, where their width and number are seen."""
    count, point = s.get("prong-count", quiet=True), s.get("prong-point", quiet=True)
    if not (width.recorded or count.recorded or prongs.recorded):
        return
    view = s.detail("front", "from the front, enlarged")
    half = {"narrow": 4.2, "wide": 11.0}.get(width.token, 7.0)
    notes = []
    forked = token in ("rake", "hooks") and prongs.recorded
    if not forked:
        first = width if width.recorded else blade if blade.recorded else form
        item = s.item(first, view=view, label="", dashed=not (width.recorded or blade.recorded or form.recorded))
        item.solid(box(-half, 0, half, 19, 2.4), box(-2, -5, 2, 1))
        notes.append(width.text if width.recorded else "width: not recorded")
    if prongs.recorded:
        many = COUNTS.get(count.token, 3)
        x0 = 0.0 if forked else half + 12
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
