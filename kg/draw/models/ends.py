"""Working ends of shafts, each drawn at the end of the axis: from ``x`` on, to the right, about y = 0."""

from __future__ import annotations

from collections.abc import Callable

from kg.draw.paths import Path, arc, box, curve, ellipse, line, poly, ribbon, shape, turn_point
from kg.draw.sheet import Item

End = Callable[[Item, float, float, float], None]


def square_edged(item: Item, x: float, u: float, t: float) -> None:
    item.solid(
        shape(
            (x - 6 * u, -t, 1),
            (x + 2 * u, -3.1 * u),
            (x + 12 * u, -3.6 * u, 1),
            (x + 12 * u, 3.6 * u, 1),
            (x + 2 * u, 3.1 * u),
            (x - 6 * u, t, 1),
        )
    )
    item.line(line((x + 9 * u, -3.5 * u), (x + 9 * u, 3.5 * u)))


def half_round(item: Item, x: float, u: float, t: float) -> None:
    item.solid(
        shape(
            (x - 6 * u, -t, 1),
            (x + 2 * u, -3.1 * u),
            (x + 9 * u, -3.4 * u, 1),
            (x + 12 * u, -1.6 * u),
            (x + 12.6 * u, 0),
            (x + 12 * u, 1.6 * u),
            (x + 9 * u, 3.4 * u, 1),
            (x + 2 * u, 3.1 * u),
            (x - 6 * u, t, 1),
        )
    )
    item.line(curve((x + 12 * u, -1.2 * u), (x + 2 * u, -1.5 * u), (x - 2 * u, 0), (x + 2 * u, 1.5 * u), (x + 12 * u, 1.2 * u)))


def gouge_u(item: Item, x: float, u: float, t: float) -> None:
    half_round(item, x, u, t)
    item.bold(
        curve((x + 15 * u, -3 * u), (x + 19 * u, -2.6 * u), (x + 20.4 * u, 0), (x + 19 * u, 2.6 * u), (x + 15 * u, 3 * u))
    )


def gouge_v(item: Item, x: float, u: float, t: float) -> None:
    half_round(item, x, u, t)
    item.bold(line((x + 15 * u, -3 * u), (x + 20.4 * u, 0), (x + 15 * u, 3 * u)))


def cup(item: Item, x: float, u: float, t: float) -> None:
    item.solid(
        shape(
            (x - 5 * u, -t, 1),
            (x - 1 * u, -t * 0.8),
            (x + 2 * u, -2.6 * u),
            (x + 6 * u, -3.2 * u),
            (x + 10 * u, -2 * u),
            (x + 11.4 * u, 0),
            (x + 10 * u, 2 * u),
            (x + 6 * u, 3.2 * u),
            (x + 2 * u, 2.6 * u),
            (x - 1 * u, t * 0.8),
            (x - 5 * u, t, 1),
        )
    )
    item.line(ellipse(x + 6.2 * u, 0, 4 * u, 2.3 * u)).hair(*[arc(x + 6.2 * u, 0, r * u, 100, 200) for r in (1.0, 1.6)])


def deep_bowl(item: Item, x: float, u: float, t: float) -> None:
    item.solid(
        shape(
            (x - 5 * u, -t, 1),
            (x, -t * 0.8),
            (x + 4 * u, -2.2 * u),
            (x + 11 * u, -2.6 * u),
            (x + 15 * u, 0),
            (x + 11 * u, 2.6 * u),
            (x + 4 * u, 2.2 * u),
            (x, t * 0.8),
            (x - 5 * u, t, 1),
        )
    )
    item.line(ellipse(x + 9 * u, 0, 4.6 * u, 1.7 * u))


def paddle(item: Item, x: float, u: float, t: float) -> None:
    item.solid(
        shape(
            (x - 6 * u, -t, 1),
            (x, -t * 0.9),
            (x + 5 * u, -2.5 * u),
            (x + 11 * u, -2.5 * u),
            (x + 14 * u, 0),
            (x + 11 * u, 2.5 * u),
            (x + 5 * u, 2.5 * u),
            (x, t * 0.9),
            (x - 6 * u, t, 1),
        )
    )
    item.hair(curve((x + 1 * u, 0), (x + 10 * u, 0)))


def elevator(item: Item, x: float, u: float, t: float) -> None:
    item.solid(
        shape(
            (x - 6 * u, -t, 1),
            (x + 1 * u, -2 * u),
            (x + 8 * u, -4.2 * u),
            (x + 11.5 * u, -3.2 * u),
            (x + 12.6 * u, 0),
            (x + 11.5 * u, 3.2 * u),
            (x + 8 * u, 4.2 * u),
            (x + 1 * u, 2 * u),
            (x - 6 * u, t, 1),
        )
    )
    item.line(curve((x + 8 * u, -3.6 * u), (x + 10.6 * u, 0), (x + 8 * u, 3.6 * u)))


def loop(item: Item, x: float, u: float, t: float) -> None:
    item.solid(
        shape(
            (x - 4 * u, -t, 1),
            (x + 1 * u, -1.6 * u),
            (x + 6 * u, -3.6 * u),
            (x + 11 * u, -2.2 * u),
            (x + 12.6 * u, 0),
            (x + 11 * u, 2.2 * u),
            (x + 6 * u, 3.6 * u),
            (x + 1 * u, 1.6 * u),
            (x - 4 * u, t, 1),
        )
    )
    item.hole(
        curve(
            (x + 3.2 * u, 0),
            (x + 6 * u, -2.4 * u),
            (x + 9.8 * u, -1.3 * u),
            (x + 11 * u, 0),
            (x + 9.8 * u, 1.3 * u),
            (x + 6 * u, 2.4 * u),
            closed=True,
        )
    )


def sharp_loop(item: Item, x: float, u: float, t: float) -> None:
    loop(item, x, u, t)
    item.hair(*[line(turn_point(x + 7 * u, 0, 4.6 * u, a), turn_point(x + 7 * u, 0, 5.6 * u, a)) for a in range(-50, 51, 20)])


def blunt_loop(item: Item, x: float, u: float, t: float) -> None:
    loop(item, x, u, t)
    item.line(ellipse(x + 6.4 * u, 0, 5.4 * u, 2.9 * u))


def wire_noose(item: Item, x: float, u: float, t: float) -> None:
    item.bold(
        curve(
            (x - 2 * u, -t * 0.4),
            (x + 4 * u, -2.6 * u),
            (x + 11 * u, -4.4 * u),
            (x + 16 * u, 0),
            (x + 11 * u, 4.4 * u),
            (x + 4 * u, 2.6 * u),
            (x - 2 * u, t * 0.4),
        )
    )


def hook(item: Item, x: float, u: float, t: float) -> None:
    item.solid(
        ribbon(
            [
                (x - 6 * u, 0),
                (x + 1 * u, 0),
                (x + 5 * u, -0.6 * u),
                (x + 8 * u, 1.4 * u),
                (x + 8.2 * u, 4.6 * u),
                (x + 6 * u, 6.6 * u),
            ],
            [t, t * 0.9, t * 0.8, t * 0.65, t * 0.4, 0.1 * u],
        )
    )


def blunt_hook(item: Item, x: float, u: float, t: float) -> None:
    item.solid(
        ribbon(
            [(x - 6 * u, 0), (x + 1 * u, 0), (x + 6 * u, 0.2 * u), (x + 8 * u, 2.6 * u), (x + 8 * u, 7.5 * u)],
            [t, t * 0.9, t * 0.85, t * 0.8, t * 0.8],
            end="round",
        )
    )


def round_hook(item: Item, x: float, u: float, t: float) -> None:
    course = [(x - 6 * u, 0), (x + 1 * u, 0), (x + 6 * u, 0.2 * u), (x + 8 * u, 2.6 * u), (x + 8 * u, 7.5 * u)]
    item.solid(ribbon(course, [t, t * 0.9, t * 0.85, t * 0.8, t * 0.8], end="round"), ellipse(x + 8 * u, 8 * u, t * 1.7))


def file_teeth(item: Item, x: float, u: float, t: float) -> None:
    item.solid(box(x - 4 * u, -2.6 * u, x + 17 * u, 2.6 * u, 1.8 * u))
    out = []
    for i in range(13):
        a = x - 1 * u + 1.3 * i * u
        out += [line((a, -2.1 * u), (a + 1.6 * u, 2.1 * u)), line((a + 1.6 * u, -2.1 * u), (a, 2.1 * u))]
    item.hair(*out)


def burr(item: Item, x: float, u: float, t: float) -> None:
    item.solid(ellipse(x + 6 * u, 0, 6.4 * u))
    item.line(
        *[curve((x + 0.4 * u, k * u), (x + 6 * u, (k * 1.5 - 1.2) * u), (x + 11.8 * u, k * u)) for k in (-2.2, -0.2, 1.8)]
    )


def drill(item: Item, x: float, u: float, t: float) -> None:
    item.solid(
        shape(
            (x - 4 * u, -t, 1),
            (x, -4.6 * u, 1),
            (x + 9 * u, -4.6 * u, 1),
            (x + 16 * u, 0, 1),
            (x + 9 * u, 4.6 * u, 1),
            (x, 4.6 * u, 1),
            (x - 4 * u, t, 1),
        )
    )
    item.line(
        curve((x, -4 * u), (x + 6 * u, 0), (x + 9 * u, 4.4 * u)),
        curve((x + 5 * u, -4.5 * u), (x + 9.5 * u, 0), (x + 12 * u, 2.6 * u)),
    )


def crown(item: Item, x: float, u: float, t: float) -> None:
    teeth = [p for i in range(8) for p in ((x + 12 * u, (-5.6 + 1.4 * i) * u), (x + 13.6 * u, (-5.6 + 1.4 * i + 0.7) * u))]
    item.solid(poly((x - 3 * u, -t), (x, -4.2 * u), *teeth, (x + 12 * u, 5.6 * u), (x, 4.2 * u), (x - 3 * u, t)))


def crown_angled(item: Item, x: float, u: float, t: float) -> None:
    crown(item, x, u, t)
    item.line(*[line((x + 2 * u, (-3.6 + 1.8 * k) * u), (x + 11.6 * u, (-5.2 + 2.4 * k + 1.4) * u)) for k in range(4)])


def screw(item: Item, x: float, u: float, t: float) -> None:
    item.solid(
        shape(
            (x - 4 * u, -t, 1),
            (x, -2.4 * u),
            (x + 8 * u, -2.0 * u),
            (x + 17 * u, 0, 1),
            (x + 8 * u, 2.0 * u),
            (x, 2.4 * u),
            (x - 4 * u, t, 1),
        )
    )
    item.bold(
        *[line(((x + 2.6 * i * u), -(3.4 - 0.5 * i) * u), ((x + 1.4 * u + 2.6 * i * u), (3.4 - 0.5 * i) * u)) for i in range(6)]
    )


def ring(item: Item, x: float, u: float, t: float) -> None:
    item.solid(ribbon([(x - 6 * u, 0), (x + 0.5 * u, 0)], [t, t]), ellipse(x + 4.4 * u, 0, 4.4 * u)).hole(
        ellipse(x + 4.4 * u, 0, 2.9 * u)
    )


def ball(item: Item, x: float, u: float, t: float) -> None:
    item.solid(ribbon([(x - 6 * u, 0), (x, 0)], [t, t]), ellipse(x + 1.2 * u, 0, max(2.0 * u, t * 1.7), max(1.7 * u, t * 1.5)))


def double_head(item: Item, x: float, u: float, t: float) -> None:
    item.solid(box(x - 2 * u, -13 * u, x + 18 * u, 13 * u, 2.4 * u))
    item.line(line((x - 1.8 * u, -10 * u), (x + 17.8 * u, -10 * u)), line((x - 1.8 * u, 10 * u), (x + 17.8 * u, 10 * u)))


def soft_faces(x: float, u: float) -> tuple[Path, Path]:
    """The soft facings of a mallet's head that begins at ``x``."""
    return (
        box(x - 1.6 * u, -12.6 * u, x + 17.6 * u, -10.2 * u, 1.6 * u),
        box(x - 1.6 * u, 10.2 * u, x + 17.6 * u, 12.6 * u, 1.6 * u),
    )


def sliding_frame(item: Item, x: float, u: float, t: float) -> None:
    item.solid(box(x - 2 * u, -6 * u, x + 20 * u, 6 * u, 5.6 * u)).hole(box(x + 5 * u, -4 * u, x + 17.6 * u, 4 * u, 3.8 * u))
    item.ink(poly((x + 5 * u, -4 * u), (x + 7 * u, -4 * u), (x + 7 * u, 4 * u), (x + 5 * u, 4 * u)))


def crosswise(item: Item, x: float, u: float, t: float) -> None:
    item.solid(
        shape(
            (x - 6 * u, -t, 1),
            (x, -1.8 * u),
            (x + 5 * u, -6 * u),
            (x + 12 * u, -7 * u, 1),
            (x + 12 * u, 7 * u, 1),
            (x + 5 * u, 6 * u),
            (x, 1.8 * u),
            (x - 6 * u, t, 1),
        )
    )
    item.hole(
        shape(
            (x + 4 * u, -2.4 * u),
            (x + 6.4 * u, -4.8 * u),
            (x + 10 * u, -5.4 * u, 1),
            (x + 10 * u, 5.4 * u, 1),
            (x + 6.4 * u, 4.8 * u),
            (x + 4 * u, 2.4 * u),
        )
    )
    item.ink(poly((x + 10 * u, -6.8 * u), (x + 12 * u, -6.8 * u), (x + 12 * u, 6.8 * u), (x + 10 * u, 6.8 * u)))


def groove_end(item: Item, x: float, u: float, t: float) -> None:
    item.solid(ribbon([(x - 6 * u, 0), (x + 6 * u, 0)], [t, t * 0.8], end="round"))


def basket(item: Item, x: float, u: float, t: float) -> None:
    for h in (-4.6, -1.6, 1.6, 4.6):
        item.bold(
            curve((x - 1 * u, 0), (x + 4 * u, h * 0.8 * u), (x + 9 * u, h * u), (x + 14 * u, h * 0.7 * u), (x + 18 * u, 0))
        )
    item.ink(ellipse(x + 18.4 * u, 0, 0.9 * u))


def straight_edge(item: Item, x: float, u: float, t: float) -> None:
    item.solid(
        shape(
            (x - 5 * u, -t, 1),
            (x, -t),
            (x + 3 * u, -2.4 * u),
            (x + 13 * u, -1.4 * u),
            (x + 16 * u, 0.6 * u, 1),
            (x + 13 * u, 2.2 * u),
            (x + 2 * u, 2.4 * u),
            (x - 5 * u, t, 1),
        )
    )
    item.line(curve((x + 3 * u, 1.2 * u), (x + 15 * u, 0.5 * u)))


ENDS: dict[str, End] = {
    "straight": square_edged,
    "half-round": half_round,
    "u": gouge_u,
    "v": gouge_v,
    "cup": cup,
    "deep-bowl": deep_bowl,
    "paddle": paddle,
    "loop": loop,
    "sharp": sharp_loop,
    "blunt": blunt_loop,
    "wire-noose": wire_noose,
    "hook": hook,
    "blunt-hook": blunt_hook,
    "round-hook": round_hook,
    "file": file_teeth,
    "burr": burr,
    "drill": drill,
    "crown": crown,
    "crown-angled": crown_angled,
    "screw": screw,
    "ring": ring,
    "ball": ball,
    "double-head": double_head,
    "sliding-frame": sliding_frame,
    "crosswise": crosswise,
    "basket": basket,
    "elevator": elevator,
    "small-knife": straight_edge,
}
"""Setting -> what draws it: (item, where it begins, size of a detail, half the thickness of the shaft)."""
