"""A shaft with a working end, or two: chisels, curettes, elevators, rasps, hooks, probes, dilators, sounds, mallets."""

from __future__ import annotations

from collections.abc import Callable

from kg.draw.choices import Choice
from kg.draw.models.ends import ENDS, soft_faces
from kg.draw.models.jaws import BUILDS, bend_of
from kg.draw.paths import Bend, Path, Point, box, ellipse, flip, line, ribbon, shape, then
from kg.draw.sheet import GHOST, HAIR, Item, Sheet

Move = Callable[[Point], Point]
WAVES = {"flexible": (26.0, -52.0, 40.0), "semirigid": (9.0, -18.0, 12.0)}


def wave(token: str, start: float, end: float) -> Bend:
    """The line of something that hangs: turns to and fro between two places."""
    turns, n = WAVES.get(token, ()), end - start
    spans = ((0.0, 0.3), (0.3, 0.62), (0.66, 0.95))
    return Bend(*((start + a * n, start + b * n, t) for (a, b), t in zip(spans, turns, strict=False)))


def draw(s: Sheet) -> None:
    """One shaft, its handle, and what is at its ends."""
    n = s.length
    u, build = n / 160 * s.set("detail", 1.0), s.get("build", quiet=True)
    ends, grip, curvature = s.get("ends", quiet=True), s.get("grip", quiet=True), s.get("bend")
    # On a shaft that is bent anyway a wave would not be seen.
    rigidity = s.get(
        "rigidity", quiet=True, knows=("rigid", *WAVES, "malleable") if curvature.token in ("straight", "") else ()
    )
    two = ends.token == "two" or (not ends and s.set("two", False))
    thick = n * s.set("thick", 0.011) * BUILDS.get(build.token, 1.0) ** 0.6
    kind = _kind(s, grip)
    handle = (0.36 * n, 0.64 * n) if two else (0.0, n * s.set("grip", 0.42))
    if kind == "none":
        handle = (0.3 * n, 0.3 * n)
    reach, narrow = 14 * u, thick * _taper(s)
    first, last = reach if two else 0.0 if kind == "none" else 0.03 * n, n - reach
    working = _working(s, False)[0] in ENDS
    point = () if working else (_point(last, reach, narrow, s.get("tip", quiet=True).token),)
    for number, bend in enumerate(_bends(curvature, rigidity, handle[1], n)):
        s.move = bend
        if number:
            other = curvature.way(number) if curvature.status == "varies" else rigidity
            s.item(other, label="").ghost(ribbon([(handle[1], 0), (n / 2, 0), (last, 0)], [thick, thick, narrow], steps=12))
            continue
        shaft = ribbon(
            [(first, 0), (n / 2, 0), (last, 0)],
            [thick, thick, narrow],
            steps=12,
            start="round" if kind == "none" and not two else "flat",
        )
        shown = [curvature, rigidity, build, s.get("shank", quiet=True), ends]
        if not working:  # the shaft ends in a point of its own, in one piece with it
            shown += [s.get(name, quiet=True) for name in ("tip", "tip-part", "edge-part")]
        ends_of = (*point, *(p.map(flip(n / 2)) for p in point if two))
        s.item(*shown, label="", dashed=s.empty).solid(shaft, *ends_of)
        _ends(s, ends, last, u, narrow, bend, working, two)
        if curvature.recorded:
            s.item(curvature).at(0.5 * (handle[1] + last), -thick)
        if rigidity.recorded:
            s.item(rigidity).at(0.6 * (handle[1] + last), 0)
        if kind != "none":
            _handle(s, grip, kind, handle, thick, u)
        places = {"shank": (handle[1] + last) / 2, "joint": handle[1] + 4 * u, "back": 0.0, "end": last + 4 * u, "tip": n}
        for name, x in places.items():
            s.place(name, x, 0, thick)
        s.place("grip", (handle[0] + handle[1]) / 2, 0, 4 * u)
    s.move = None


def _kind(s: Sheet, grip: Choice) -> str:
    """The form of the handle: the recorded one, else that of the family."""
    usual = s.set("handle", "bar")
    if grip.token in ("none", "rings"):
        return {"none": "none", "rings": "ring"}[grip.token]
    if grip.token == "solid":
        return s.set("solid", "bar" if usual == "none" else usual)
    return "bar" if usual == "none" and s.get("handle", quiet=True).recorded else usual


def _ends(s: Sheet, ends: Choice, x: float, u: float, thick: float, bend: Move, working: bool, two: bool) -> None:
    """What is at the ends: at the far one, and at the near one if there are two."""
    tip = s.get("tip", quiet=True, knows=TAPERS if working else None)
    if not working:
        if tip.recorded:
            s.item(tip).at(x + 13 * u, 0)
        if two:
            s.move = then(flip(s.length / 2), bend)
            s.item(ends).at(x + 10 * u, 0)
            s.move = bend
        return
    _end(s, x, u, thick, None)
    if two or "two" in ends.tokens:
        s.move = then(flip(s.length / 2), bend)
        other = _end(s, x, u, thick, ends if two else ends.way(ends.tokens.index("two")))
        if not two:  # made with one end or two: the second as an outline
            other.strokes, other.label = [(GHOST, paths) for kind, paths in other.strokes if kind != HAIR], ""
        s.move = bend


def _bends(curvature: Choice, rigidity: Choice, start: float, end: float) -> list[Move]:
    tokens = curvature.tokens if curvature.status == "varies" else (curvature.token,)
    soft = rigidity.token in WAVES
    out: list[Move] = [
        wave(rigidity.token, start, end) if soft and t in ("straight", "") else bend_of(t, start, end) for t in tokens
    ]
    if rigidity.token == "malleable" and len(out) == 1:
        out.append(Bend((start + 0.2 * (end - start), end, 35.0)))
    return out


def _taper(s: Sheet) -> float:
    return TAPERS.get(s.get("tip", quiet=True, knows=TAPERS).token, 1.0)


def _end(s: Sheet, x: float, u: float, thick: float, second: Choice | None) -> Item:
    """The working end; ``second``: that of the other end, which is drawn because there are two."""
    token, shown = _working(s, second is not None)
    tip, width, part = s.get("tip", quiet=True, knows=TAPERS), s.get("blade-width", quiet=True), s.get("tip-part", quiet=True)
    edge, end_edges, prongs = (s.get(name, quiet=True) for name in ("edge-part", "end-edges", "prongs"))
    own = (*shown, tip, part, width, end_edges, prongs) if shown else (tip, part, width, end_edges, edge)
    if second is not None:
        own = (second, *own)
    grow = {"narrow": 0.72, "wide": 1.4}.get(width.token, 1.0)
    item = s.item(*own, label=None if shown else "", dashed=not shown and not s.set("sure"))
    ENDS[token](item, x, u * grow, thick)
    right, down = ANCHORS.get(token, (7.0, -2.0))
    item.at(x + right * u, down * u)
    facing = s.get("facing", quiet=True, knows=("soft",))
    if token == "double-head" and facing.recorded:
        s.item(facing).shade(*soft_faces(x, u)).line(*soft_faces(x, u)).at(x + 8 * u, -11.5 * u)
    if end_edges.token == "both" or (end_edges.token == "one" and second is None):
        sharp = line((x + 10.5 * u, 1.6 * u), (x + 13 * u, 0.8 * u))
        s.item(end_edges, label="" if second else None).bold(sharp).at(x + 12 * u, 1.2 * u)
    return item


ANCHORS = {"ball": (1.2, 0.0), "hook": (7.6, 1.6), "blunt-hook": (8.0, 3.0), "round-hook": (8.0, 3.0)}
"""Where leader lines end on working ends that bend away."""
TAPERS = {"tapered": 0.35, "fine": 0.4, "pointed": 0.12, "conical": 0.25}
"""Forms of the tip that taper the whole shaft -> what is left of its thickness at the end."""


def _working(s: Sheet, second: bool) -> tuple[str, tuple[Choice, ...]]:
    """(what is drawn at the end, the choices that it shows); no choices: only the family says so."""
    work = s.get("work", quiet=not s.set("end"), knows=ENDS)
    parts = {name: s.get(name, quiet=True) for name in ("bowl", "hooks", "loop", "loop-wire", "thread", "basket", "bulb")}
    edge, form = s.get("edge-part", quiet=True), s.get("blade-form", quiet=True, knows=("paddle",))
    if work.recorded and work:
        framed = ("frame", "blade") if work.token in ("crosswise", "sliding-frame") else ()
        same = (
            work,
            *(s.get(name, quiet=True) for name in framed),
            *(parts[name] for name in ("bowl", "hooks", "loop", "loop-wire")),
            edge,
        )
        token = work.tokens[-1] if work.status != "varies" and work.token == "half-round" else work.token
        if token == "hook" and s.get("tip", quiet=True).token in ("blunt", "rounded"):
            return ("blunt-hook" if s.get("tip").token == "blunt" else "round-hook"), (*same, s.get("tip", quiet=True))
        crown = s.get("crown", quiet=True)
        return ("crown-angled", (*same, crown)) if token == "crown" and crown.token == "angled" else (token, same)
    looks = {
        "bowl": "deep-bowl" if s.set("long-bowl") else "cup",
        "hooks": "hook",
        "loop": "loop",
        "loop-wire": "wire-noose",
        "thread": "screw",
        "basket": "basket",
        "bulb": "ball",
    }
    for name, token in looks.items():
        if parts[name].recorded and parts[name]:
            return token, (parts[name], edge)
    if form.recorded:
        return "paddle", (form, edge)
    return s.set("second" if second and s.set("second") else "end", ""), ()


def _point(x: float, n: float, t: float, tip: str) -> Path:
    if tip in ("pointed", "pyramid", "conical"):
        return shape((x, -t, 1), (x + n * 0.5, -t, 1), (x + n, 0, 1), (x + n * 0.5, t, 1), (x, t, 1))
    if tip in ("tapered", "fine"):
        return ribbon([(x, 0), (x + n, 0)], [t, t * 0.5], end="round")
    if tip == "rounded":
        return ribbon([(x, 0), (x + n * 0.7, 0), (x + n * 0.9, 0)], [t, t * 1.15, t * 1.1], end="round")
    if tip == "blunt":
        return shape((x, -t, 1), (x + n * 0.9, -t), (x + n, -t * 0.4, 1), (x + n, t * 0.4, 1), (x + n * 0.9, t), (x, t, 1))
    return ribbon([(x, 0), (x + n * 0.94, 0)], [t, t], end="round")


# --- handles --------------------------------------------------------------------------------------------------------
def _handle(s: Sheet, grip: Choice, kind: str, span: tuple[float, float], thick: float, u: float) -> None:
    part, striking, disc = s.get("handle", quiet=True), s.get("striking", quiet=True), None
    a, b = span
    rings = s.get("rings", quiet=True) if kind == "ring" else part
    item = s.item(grip if grip.recorded else part, part, rings, label=None)
    if kind == "thick":
        item.solid(
            shape(
                (a, -4.6 * u, 1),
                (a + 3 * u, -5 * u),
                (a + 0.25 * (b - a), -5.4 * u),
                (b - 8 * u, -4.2 * u),
                (b, -thick * 1.2, 1),
                (b, thick * 1.2, 1),
                (b - 8 * u, 4.2 * u),
                (a + 0.25 * (b - a), 5.4 * u),
                (a + 3 * u, 5 * u),
                (a, 4.6 * u, 1),
            )
        )
        item.line(
            *[line((a + (10 + 4 * i) * u, -4.4 * u), (a + (10 + 4 * i) * u, 4.4 * u)) for i in range(int((b - a) / u / 4) - 5)]
        )
    elif kind == "flat":
        item.solid(
            shape(
                (a, -2 * u),
                (a + 4 * u, -4.6 * u),
                (a + 14 * u, -5 * u),
                (b - 6 * u, -thick * 1.6),
                (b, -thick, 1),
                (b, thick, 1),
                (b - 6 * u, thick * 1.6),
                (a + 14 * u, 5 * u),
                (a + 4 * u, 4.6 * u),
                (a, 2 * u),
            )
        )
    elif kind == "disc":
        item.solid(ellipse(a + 3.4 * u, 0, 3.4 * u, 6.4 * u), box(a + 4 * u, -thick, b, thick))
    elif kind == "tee":
        item.solid(box(a, -20 * u, a + 6.5 * u, 20 * u, 3 * u), box(a + 6 * u, -thick * 1.3, b, thick * 1.3))
    elif kind == "ring":
        item.solid(ellipse(a + 9 * u, 0, 9 * u, 8 * u)).hole(ellipse(a + 9 * u, 0, 6.6 * u, 5.8 * u))
    else:
        item.solid(box(a, -2.5 * u, b, 2.5 * u, 2.2 * u))
        item.line(
            *[
                line((a + f * (b - a) - 0.8 * u, -2.4 * u), (a + f * (b - a) + 0.8 * u, 2.4 * u))
                for f in [0.2 + 0.05 * i for i in range(13)]
            ]
        )
    item.at(a + 0.3 * (b - a), -2 * u)
    if striking:
        s.item(striking).solid(box(a - 4 * u, -5.6 * u, a + 2 * u, 5.6 * u, 1.5 * u)).at(a - 1 * u, -3 * u)
    del disc
