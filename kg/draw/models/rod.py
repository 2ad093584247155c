"""A shaft with a working end, or two: chisels, curettes, elevators, rasps, hooks, probes, dilators, sounds, mallets."""

from __future__ import annotations

from collections.abc import Callable

from kg.draw.choices import Choice
from kg.draw.models.ends import ENDS
from kg.draw.models.jaws import BUILDS, bend_of
from kg.draw.paths import Bend, Path, Point, box, ellipse, flip, line, ribbon, shape, then
from kg.draw.sheet import Sheet

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
    ends, grip, curvature, rigidity = s.get("ends", quiet=True), s.get("grip", quiet=True), s.get("bend"), s.get("rigidity", quiet=True)
    two = ends.token == "two" or (not ends and s.set("two", False))
    thick = n * s.set("thick", 0.011) * BUILDS.get(build.token, 1.0) ** 0.6
    kind = s.set("handle", "bar")
    handle = (0.36 * n, 0.64 * n) if two else (0.0, n * s.set("grip", 0.42))
    reach = 14 * u
    first, last = (reach if two else 0.0), n - reach
    if kind == "none":
        handle = (0.5 * n, 0.5 * n)
    bends = _bends(curvature, rigidity, handle[1] if kind != "none" else 0.3 * n, n)
    for number, bend in enumerate(bends):
        s.move = bend
        course = ribbon([(first, 0), (n / 2, 0), (last, 0)], [thick, thick, thick * _taper(s)], steps=12)
        if number:
            s.item(label="").ghost(course)
            continue
        s.item(curvature, rigidity, build, s.get("shank", quiet=True), label="", dashed=False).solid(course)
        _end(s, last, u, thick * _taper(s), None)
        if two:
            back = then(flip(n / 2), bend)
            s.move = back
            _end(s, last, u, thick, ends)
            s.move = bend
        if curvature.recorded or curvature.slot in s.choices.asked:
            s.item(curvature, label=None if curvature.recorded else "").at(0.5 * (handle[1] + last), -thick)
        if rigidity.recorded:
            s.item(rigidity).at(0.6 * (handle[1] + last), thick)
        if kind != "none":
            _handle(s, grip, kind, handle, thick, u)
        s.place("shank", (handle[1] + last) / 2, 0, thick)
        s.place("grip", (handle[0] + handle[1]) / 2, 0, 4 * u)
        s.place("back", 0.0, 0, thick)
        s.place("joint", handle[1] + 4 * u, 0, thick)
        s.place("end", last + 4 * u, 0, 3 * u)
        s.place("tip", n, 0, 2 * u)
    s.move = None


def _bends(curvature: Choice, rigidity: Choice, start: float, end: float) -> list[Callable[[Point], Point]]:
    tokens = curvature.tokens if curvature.status == "varies" else (curvature.token,)
    soft = rigidity.token in WAVES
    out: list[Callable[[Point], Point]] = [
        wave(rigidity.token, start, end) if soft and t in ("straight", "") else bend_of(t, start, end) for t in tokens
    ]
    if rigidity.token == "malleable" and len(out) == 1:
        out.append(Bend((start + 0.2 * (end - start), end, 35.0)))
    return out


def _taper(s: Sheet) -> float:
    return {"tapered": 0.35, "fine": 0.4, "pointed": 0.12, "conical": 0.25}.get(s.get("tip", quiet=True).token, 1.0)


def _end(s: Sheet, x: float, u: float, thick: float, second: Choice | None) -> None:
    """The working end; ``second``: that of the other end, which is drawn because there are two."""
    work, tip, width = s.get("work", quiet=not s.set("end")), s.get("tip", quiet=True), s.get("blade-width", quiet=True)
    bowl, hooks, bulb, loop = (s.get(p, quiet=True) for p in ("bowl", "hooks", "bulb", "loop"))
    thread, basket, form, wire = (s.get(p, quiet=True) for p in ("thread", "basket", "blade-form", "loop-wire"))
    edge, endedges, prongs = s.get("edge-part", quiet=True), s.get("end-edges", quiet=True), s.get("prongs", quiet=True)
    bevel, tip_part, facing = s.get("bevel", quiet=True), s.get("tip-part", quiet=True), s.get("facing", quiet=True)
    grow = {"narrow": 0.72, "wide": 1.4}.get(width.token, 1.0)
    shown: tuple[Choice, ...] = ()
    token = s.set("second" if second and s.set("second") else "end", "")
    if work.recorded and work.tokens:
        token, shown = work.token, (work, bowl, hooks, loop, wire, edge)
        if token == "hook" and tip.token == "blunt":
            token = "blunt-hook"
        if token == "crown" and s.get("crown", quiet=True).token == "angled":
            token, shown = "crown-angled", (*shown, s.get("crown", quiet=True))
    else:
        for choice, its in ((bowl, "scoop" if s.set("long-bowl") else "cup"), (hooks, s.set("hook", "hook")), (loop, "loop"),
                            (thread, "screw"), (basket, "basket"), (wire, "snare"), (bulb, "ball"), (form, "spatula")):  # fmt: skip
            if choice.recorded and choice.tokens:
                token, shown = its, (choice, edge)
                break
    if token == "mallet" and facing.token == "soft":
        token, shown = "mallet-soft", (facing,)
    drawing = ENDS.get(token)
    own = (*shown, tip, tip_part, width, endedges, bevel, prongs) if shown else (tip, tip_part, width, endedges, bevel, edge)
    if second is not None:
        own = (second, *own)
    if token == "gouge" and len(work.tokens) > 1:
        drawing = ENDS[work.tokens[-1]]
    if drawing is None:
        item = s.item(*own, label="", dashed=False)
        item.solid(_point(x, 14 * u, thick, tip.token))
        if tip.recorded:
            s.item(tip).at(x + 13 * u, 0)
        return
    guess = not shown and not s.set("sure")
    item = s.item(*own, label=None if shown else "", dashed=guess)
    drawing(item, x, u * grow, thick)
    item.at(x + 7 * u, -2 * u)
    if len(work.tokens) > 1 and second is None:
        for extra in work.tokens[1:]:
            if extra in ENDS and extra != token and token not in ("gouge",):
                ENDS[extra](s.item(work, label=""), x, u * grow, thick)
    if "both" in endedges or (endedges.token == "one" and second is None):
        s.item(endedges, label="" if second else None).bold(line((x + 10.5 * u, 1.6 * u), (x + 13 * u, 0.8 * u))).at(x + 12 * u, 1.2 * u)


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
    item = s.item(grip if grip.recorded else part, part, dashed=not (grip.recorded or part.recorded), label=None)
    if kind == "thick":
        item.solid(shape((a, -4.6 * u, 1), (a + 3 * u, -5 * u), (a + 0.25 * (b - a), -5.4 * u), (b - 8 * u, -4.2 * u), (b, -thick * 1.2, 1),
                         (b, thick * 1.2, 1), (b - 8 * u, 4.2 * u), (a + 0.25 * (b - a), 5.4 * u), (a + 3 * u, 5 * u), (a, 4.6 * u, 1)))  # fmt: skip
        item.line(*[line((a + (10 + 4 * i) * u, -4.4 * u), (a + (10 + 4 * i) * u, 4.4 * u)) for i in range(int((b - a) / u / 4) - 5)])
    elif kind == "flat":
        item.solid(shape((a, -2 * u), (a + 4 * u, -4.6 * u), (a + 14 * u, -5 * u), (b - 6 * u, -thick * 1.6), (b, -thick, 1),
                         (b, thick, 1), (b - 6 * u, thick * 1.6), (a + 14 * u, 5 * u), (a + 4 * u, 4.6 * u), (a, 2 * u)))  # fmt: skip
    elif kind == "disc":
        item.solid(ellipse(a + 3.4 * u, 0, 3.4 * u, 6.4 * u), box(a + 4 * u, -thick, b, thick))
    elif kind == "tee":
        item.solid(box(a, -20 * u, a + 6.5 * u, 20 * u, 3 * u), box(a + 6 * u, -thick * 1.3, b, thick * 1.3))
    elif kind == "ring":
        item.solid(ellipse(a + 9 * u, 0, 9 * u, 8 * u)).hole(ellipse(a + 9 * u, 0, 6.6 * u, 5.8 * u))
    else:
        item.solid(box(a, -2.5 * u, b, 2.5 * u, 2.2 * u))
        item.line(*[line((a + f * (b - a) - 0.8 * u, -2.4 * u), (a + f * (b - a) + 0.8 * u, 2.4 * u)) for f in
                    [0.2 + 0.05 * i for i in range(13)]])  # fmt: skip
    item.at(a + 0.3 * (b - a), -2 * u)
    if striking:
        s.item(striking).solid(box(a - 4 * u, -5.6 * u, a + 2 * u, 5.6 * u, 1.5 * u)).at(a - 1 * u, -3 * u)
    del disc
