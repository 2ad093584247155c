"""Parts drawn on a model that does not know them: a small shape at one of the model's places."""

from __future__ import annotations

from collections.abc import Callable

from kg.draw.choices import Choice
from kg.draw.paths import arc, box, curve, ellipse, line, ribbon, shape, shift, then, turn, turn_point
from kg.draw.sheet import Item, Place, Sheet
from kg.errors import CatalogueError

Glyph = Callable[[Item, float], None]


def glyph(s: Sheet, choice: Choice, kind: str, name: str) -> None:
    """The part at its place; several at one place stand beside each other."""
    place = s.places.get(name) or s.places.get("end") or Place(0.0, 0.0, 0.05 * s.length)
    u = s.length / 150
    along = place.used * 9 * u * (1 if name in ("grip", "back", "joint") else -1)
    place.used += 1
    lift = -place.half - 1.0 * u if kind in _BESIDE else 0.0
    s.move = then(shift(along, lift), turn(place.angle), shift(place.x, place.y))
    item = s.item(choice)
    if kind not in GLYPHS:
        raise CatalogueError(
            "BL-C04", f'drawing.toml: there is no glyph "{kind}" for a part', hint=f"There are {', '.join(GLYPHS)}."
        )
    GLYPHS[kind](item, u)
    item.at(0.0, -1.0 * u)
    s.move = None


_BESIDE = frozenset(
    ("lamp", "sidearm", "screw", "traction", "plate", "bar", "guard", "trigger", "latch", "drum", "cage", "foot", "rubber")
)


def g_disc(i: Item, u: float) -> None:
    i.solid(ellipse(0, 0, 1.6 * u, 6 * u))


def g_ring(i: Item, u: float) -> None:
    i.solid(ellipse(-4 * u, 0, 5 * u) + ellipse(-4 * u, 0, 3.4 * u))


def g_screw(i: Item, u: float) -> None:
    i.solid(box(-1.2 * u, -4 * u, 1.2 * u, 4 * u), ellipse(0, -5.6 * u, 4 * u, 2.2 * u))
    i.line(*[line((-1.2 * u, (-2.4 + 1.6 * k) * u), (1.2 * u, (-1.6 + 1.6 * k) * u)) for k in range(4)])


def g_lamp(i: Item, u: float) -> None:
    i.solid(ellipse(0, 0, 1.6 * u)).line(
        *[line(turn_point(0, 0, 2.6 * u, a), turn_point(0, 0, 4.6 * u, a)) for a in (-150, -115, -80, -45)]
    )


def g_lens(i: Item, u: float) -> None:
    i.solid(shape((0, -4.6 * u), (1.6 * u, 0), (0, 4.6 * u), (-1.6 * u, 0)))


def g_sidearm(i: Item, u: float) -> None:
    i.solid(ribbon([(0, 1.5 * u), (-2 * u, -4 * u), (-5 * u, -8 * u)], [1.6 * u, 1.6 * u, 2 * u]))


def g_valve(i: Item, u: float) -> None:
    i.solid(box(-1.4 * u, -8 * u, 1.4 * u, 0, 0.6 * u), box(-4 * u, -10 * u, 4 * u, -8 * u, 0.8 * u))


def g_hole(i: Item, u: float) -> None:
    i.solid(ellipse(0, 0, 1.9 * u, 1.4 * u)).ink(ellipse(0, 0, 0.9 * u, 0.7 * u))


def g_holes(i: Item, u: float) -> None:
    i.hole(*[ellipse((-4 + 4 * k) * u, 0, 1.1 * u, 0.6 * u) for k in range(3)])


def g_marks(i: Item, u: float) -> None:
    i.bold(*[line(((-6 + 3 * k) * u, -1.4 * u), ((-6 + 3 * k) * u, 1.4 * u)) for k in range(5)])


def g_stripe(i: Item, u: float) -> None:
    i.bold(line((-16 * u, 0), (16 * u, 0)))


def g_block(i: Item, u: float) -> None:
    i.solid(box(-4 * u, -3.4 * u, 4 * u, 3.4 * u, 1 * u))


def g_stops(i: Item, u: float) -> None:
    i.solid(ellipse(0, -3 * u, 1.5 * u), ellipse(0, 3 * u, 1.5 * u))


def g_balloon(i: Item, u: float) -> None:
    i.solid(ellipse(0, 0, 7 * u, 5 * u)).hair(curve((-6 * u, 0), (0, 0.4 * u), (6 * u, 0)))


def g_blade(i: Item, u: float) -> None:
    i.solid(shape((-8 * u, -2 * u, 1), (4 * u, -2 * u), (9 * u, 0, 1), (4 * u, 2.4 * u), (-8 * u, 2 * u, 1))).line(
        line((-7 * u, 1.2 * u), (5 * u, 1.4 * u))
    )


def g_edge(i: Item, u: float) -> None:
    i.line(curve((-6 * u, 1.4 * u), (0, 1.9 * u), (6 * u, 1.4 * u)), curve((-6 * u, 2.2 * u), (0, 2.8 * u), (6 * u, 2.2 * u)))


def g_hinge(i: Item, u: float) -> None:
    i.solid(ellipse(0, 0, 2.2 * u)).ink(ellipse(0, 0, 0.7 * u))


def g_slot(i: Item, u: float) -> None:
    i.hole(box(-6 * u, -0.8 * u, 6 * u, 0.8 * u, 0.7 * u))


def g_bulb(i: Item, u: float) -> None:
    i.solid(ellipse(0, 0, 2.4 * u, 2.1 * u))


def g_sleeve(i: Item, u: float) -> None:
    i.solid(box(-14 * u, -2.4 * u, 14 * u, 2.4 * u, 0.8 * u)).hair(
        line((-13 * u, -1.2 * u), (13 * u, -1.2 * u)), line((-13 * u, 1.2 * u), (13 * u, 1.2 * u))
    )


def g_pin(i: Item, u: float) -> None:
    i.solid(shape((-5 * u, -1 * u, 1), (1 * u, -1 * u, 1), (6 * u, 0, 1), (1 * u, 1 * u, 1), (-5 * u, 1 * u, 1)))


def g_weight(i: Item, u: float) -> None:
    i.solid(ellipse(0, 0, 7 * u, 8 * u))


def g_crank(i: Item, u: float) -> None:
    i.solid(ribbon([(0, 0), (-6 * u, -8 * u)], [1.2 * u, 1.2 * u]), ellipse(0, 0, 2.4 * u), ellipse(-6 * u, -8 * u, 2 * u))


def g_bar(i: Item, u: float) -> None:
    i.solid(box(-2 * u, -12 * u, 2 * u, 12 * u, 1.6 * u))


def g_dial(i: Item, u: float) -> None:
    i.solid(ellipse(0, 0, 6 * u)).line(
        *[line(turn_point(0, 0, 4.4 * u, a), turn_point(0, 0, 5.6 * u, a)) for a in range(0, 360, 30)],
        line((0, 0), (2.6 * u, -2.6 * u)),
    )


def g_drum(i: Item, u: float) -> None:
    i.solid(box(-12 * u, -3 * u, 12 * u, 3 * u, 1.6 * u)).line(
        line((-9 * u, -2.8 * u), (-9 * u, 2.8 * u)), line((9 * u, -2.8 * u), (9 * u, 2.8 * u))
    )


def g_guard(i: Item, u: float) -> None:
    i.solid(box(-9 * u, -1 * u, 9 * u, 1 * u, 0.8 * u))


def g_flat(i: Item, u: float) -> None:
    i.solid(box(-12 * u, -4 * u, 12 * u, 4 * u, 3 * u))


def g_foot(i: Item, u: float) -> None:
    i.solid(
        shape(
            (-10 * u, 2 * u, 1),
            (4 * u, 2 * u, 1),
            (4 * u, -4 * u, 1),
            (6 * u, -4 * u, 1),
            (6 * u, 4 * u, 1),
            (-10 * u, 4 * u, 1),
        )
    )


def g_frame(i: Item, u: float) -> None:
    i.solid(box(-9 * u, -7 * u, 9 * u, 7 * u, 4 * u) + box(-6.4 * u, -4.6 * u, 6.4 * u, 4.6 * u, 2.4 * u))


def g_handle(i: Item, u: float) -> None:
    i.solid(box(-14 * u, -3.4 * u, 14 * u, 3.4 * u, 2.6 * u)).line(
        *[line(((-8 + 2 * k) * u, -3 * u), ((-8 + 2 * k) * u, 3 * u)) for k in range(9)]
    )


def g_spring(i: Item, u: float) -> None:
    i.bold(line(*[((-7 + 1.2 * k) * u, (1.4, -1.4)[k % 2] * u) for k in range(13)]))


def g_plate(i: Item, u: float) -> None:
    i.solid(box(-8 * u, -3 * u, 8 * u, 3 * u, 2 * u))


def g_hook(i: Item, u: float) -> None:
    i.solid(
        ribbon(
            [(-3 * u, 0), (2 * u, 0), (5 * u, 2 * u), (4.6 * u, 5 * u), (2.6 * u, 5.6 * u)],
            [0.9 * u, 0.8 * u, 0.7 * u, 0.5 * u, 0.1 * u],
        )
    )


def g_jaws(i: Item, u: float) -> None:
    for side in (-1, 1):
        i.solid(
            shape(
                (-8 * u, side * 0.4 * u, 1),
                (-8 * u, side * 2.6 * u, 1),
                (4 * u, side * 3.4 * u),
                (9 * u, side * 2.2 * u, 1),
                (4 * u, side * 1.8 * u),
            )
        )


def g_joint(i: Item, u: float) -> None:
    i.solid(ellipse(0, 0, 2.6 * u)).line(ellipse(0, 0, 1 * u))


def g_latch(i: Item, u: float) -> None:
    i.solid(
        shape((-3 * u, 0, 1), (-3 * u, -6 * u, 1), (3 * u, -6 * u), (3 * u, -4 * u, 1), (-1 * u, -3.6 * u, 1), (-1 * u, 0, 1))
    )


def g_pad(i: Item, u: float) -> None:
    i.shade(box(-7 * u, -1 * u, 7 * u, 1 * u, 0.6 * u)).line(box(-7 * u, -1 * u, 7 * u, 1 * u, 0.6 * u))


def g_groove(i: Item, u: float) -> None:
    i.line(line((-16 * u, -0.4 * u), (16 * u, -0.4 * u)), line((-16 * u, 0.4 * u), (16 * u, 0.4 * u)))


def g_lumen(i: Item, u: float) -> None:
    i.hair(line((-16 * u, -0.7 * u), (16 * u, -0.7 * u)), line((-16 * u, 0.7 * u), (16 * u, 0.7 * u)))


def g_obturator(i: Item, u: float) -> None:
    i.solid(shape((-4 * u, -2.4 * u, 1), (2 * u, -2.4 * u), (8 * u, 0), (2 * u, 2.4 * u), (-4 * u, 2.4 * u, 1)))


def g_rubber(i: Item, u: float) -> None:
    i.solid(ribbon([(0, 2 * u), (-3 * u, -4 * u), (-8 * u, -8 * u)], [0.8 * u] * 3), ellipse(-13 * u, -11 * u, 7 * u, 5.4 * u))


def g_prongs(i: Item, u: float) -> None:
    i.solid(
        *[
            ribbon([(-6 * u, (2.4 * k) * u), (0, 2.4 * k * u), (4 * u, (2.4 * k + 1.6) * u)], [0.7 * u, 0.6 * u, 0.1 * u])
            for k in (-1, 0, 1)
        ]
    )


def g_ratchet(i: Item, u: float) -> None:
    i.solid(box(-2.4 * u, -3 * u, 2.4 * u, 3 * u, 0.6 * u)).line(
        line(*[((-2.4 + 0.6 * k) * u, (0.5, -0.5)[k % 2] * u) for k in range(9)])
    )


def g_knob(i: Item, u: float) -> None:
    i.solid(box(-2.6 * u, -4 * u, 2.6 * u, 4 * u, 1.2 * u)).line(
        *[line((-2.4 * u, (-3 + 1.5 * k) * u), (2.4 * u, (-3 + 1.5 * k) * u)) for k in range(5)]
    )


def g_bowl(i: Item, u: float) -> None:
    i.solid(ellipse(0, 0, 5 * u, 3 * u)).line(ellipse(0, 0, 3.4 * u, 1.8 * u))


def g_loop(i: Item, u: float) -> None:
    i.bold(curve((-2 * u, -0.4 * u), (3 * u, -3.4 * u), (9 * u, 0), (3 * u, 3.4 * u), (-2 * u, 0.4 * u)))


def g_thread(i: Item, u: float) -> None:
    i.solid(ribbon([(-6 * u, 0), (8 * u, 0)], [2 * u, 0.4 * u])).bold(
        *[line(((-5 + 2 * k) * u, -2.6 * u), ((-4 + 2 * k) * u, 2.6 * u)) for k in range(6)]
    )


def g_notch(i: Item, u: float) -> None:
    i.hole(shape((-3 * u, -1.6 * u, 1), (3 * u, -1.6 * u, 1), (2 * u, 0.2 * u), (-2 * u, 0.2 * u)))


def g_arms(i: Item, u: float) -> None:
    for side in (-1, 1):
        i.solid(ribbon([(-10 * u, 0), (0, side * 3.4 * u), (10 * u, side * 5 * u)], [0.9 * u, 0.9 * u, 0.8 * u]))


def g_stylet(i: Item, u: float) -> None:
    i.solid(ribbon([(-12 * u, 0), (4 * u, 0)], [0.7 * u, 0.7 * u]), ellipse(-12 * u, 0, 2.6 * u))


def g_cage(i: Item, u: float) -> None:
    i.solid(box(-6 * u, -4 * u, 6 * u, 1 * u, 1.6 * u)).line(
        *[line(((-4 + 2.4 * k) * u, -4 * u), ((-4 + 2.4 * k) * u, 1 * u)) for k in range(4)]
    )


def g_traction(i: Item, u: float) -> None:
    i.solid(
        ribbon([(0, 0), (-8 * u, -10 * u), (-26 * u, -14 * u)], [0.9 * u] * 3),
        box(-34 * u, -20 * u, -29 * u, -8 * u, 2 * u),
        box(-30 * u, -15 * u, -25 * u, -13 * u),
    )


def g_trigger(i: Item, u: float) -> None:
    i.solid(ribbon([(0, 0), (2 * u, -4 * u), (0, -8 * u)], [1 * u] * 3, end="round"))


def g_wings(i: Item, u: float) -> None:
    for side in (-1, 1):
        i.solid(ribbon([(-6 * u, side * u), (0, side * 5 * u), (6 * u, side * u)], [0.8 * u] * 3))


def g_tip(i: Item, u: float) -> None:
    i.line(arc(-1 * u, 0, 2.2 * u, -80, 80))


GLYPHS: dict[str, Glyph] = {name[2:]: found for name, found in list(globals().items()) if name.startswith("g_")}
