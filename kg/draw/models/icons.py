"""Small pictures of single features, for models whose outline does not show them: sections, directions, ways of holding."""

from __future__ import annotations

from collections.abc import Callable

from kg.draw.choices import Choice
from kg.draw.models.ends import ENDS
from kg.draw.paths import arc, box, curve, ellipse, line, poly, ribbon, shape, turn_point
from kg.draw.sheet import Item, Sheet
from kg.errors import CatalogueError

Icon = Callable[[Item, str], None]


def icon(s: Sheet, choice: Choice, kind: str) -> None:
    """A view of its own for one feature."""
    if kind not in ICONS:
        raise CatalogueError(
            "BL-C04", f'drawing.toml: there is no glyph "{kind}" for a feature', hint=f"There are {', '.join(ICONS)}."
        )
    view = s.detail(f"icon-{choice.slot}", s.choices.vocabulary.label(choice.slot))
    for number, token in enumerate(choice.tokens[:2]):
        item = s.item(choice, view=view, label="")
        item.move = lambda p, dx=26.0 * number: (p[0] + dx, p[1])
        ICONS[kind](item, token)
    view.note = choice.text


def _action(i: Item, t: str) -> None:
    i.solid(ellipse(10, 0, 2.4)).ink(ellipse(10, 0, 0.6))
    if t == "double":
        i.solid(ellipse(2, -3.4, 1.8), ellipse(2, 3.4, 1.8)).ink(ellipse(2, -3.4, 0.5), ellipse(2, 3.4, 0.5))
    i.bold(line((12, -1.6), (22, -5)), line((12, 1.6), (22, 5 if t == "double" else 1.6)))


def _retention(i: Item, t: str) -> None:
    if t == "none":
        i.bold(line((0, 0), (18, 0))).line(line((6, -4), (12, 4)), line((12, -4), (6, 4)))
    elif t in ("ratchet", "rack"):
        teeth = [p for k in range(8) for p in ((2.4 * k, 0), (2.4 * k + 1.2, -1.8))]
        i.solid(poly((0, 4), *teeth, (19, 0), (19, 4)))
        if t == "rack":
            i.solid(ellipse(9.6, -4.4, 3)).ink(ellipse(9.6, -4.4, 0.6))
    elif t == "screw":
        i.solid(box(4, -1.6, 20, 1.6), ellipse(2, 0, 2.6, 4)).line(
            *[line((6 + 2 * k, -1.6), (7 + 2 * k, 1.6)) for k in range(7)]
        )
    elif t == "spring":
        i.bold(line(*[(1.6 * k, (3, -3)[k % 2]) for k in range(12)]))
    elif t == "weight":
        i.solid(shape((4, -4, 1), (14, -4, 1), (17, 5, 1), (1, 5, 1))).bold(arc(9, -5, 2.4, 180, 360))
    elif t == "balloon":
        i.solid(ellipse(9, 0, 6, 5), box(-2, -1, 20, 1))
    elif t == "wings":
        i.solid(
            box(-2, -1, 20, 1), ribbon([(4, -1), (9, -5), (14, -1)], [0.7] * 3), ribbon([(4, 1), (9, 5), (14, 1)], [0.7] * 3)
        )
    elif t == "frame":
        i.solid(ellipse(9, 0, 8, 5.4) + ellipse(9, 0, 6.4, 3.8))
    else:
        i.bold(line((0, -4), (4, -4), (4, 4), (0, 4)), line((18, -4), (14, -4), (14, 4), (18, 4))).line(
            line((5, 0), (13, 0)), line((6.5, -1.2), (5, 0), (6.5, 1.2)), line((11.5, -1.2), (13, 0), (11.5, 1.2))
        )


def _rigidity(i: Item, t: str) -> None:
    if t == "rigid":
        i.solid(box(0, -1.2, 22, 1.2, 1))
    elif t == "flexible":
        i.solid(ribbon([(0, 0), (5, -3.4), (11, 3.2), (17, -3.2), (22, 0)], [1.2] * 5, start="round", end="round"))
    elif t == "semirigid":
        i.solid(ribbon([(0, 0), (11, -1.6), (22, 0)], [1.2] * 3, start="round", end="round"))
    else:
        i.solid(box(0, -1.2, 22, 1.2, 1)).ghost(ribbon([(0, 0), (8, 0), (15, 2.4), (20, 8)], [1.2] * 4, end="round"))


def _bevel(i: Item, t: str) -> None:
    if t == "double":
        i.solid(shape((0, -3, 1), (14, -3, 1), (22, 0, 1), (14, 3, 1), (0, 3, 1)))
    else:
        i.solid(shape((0, -3, 1), (22, -3, 1), (12, 3, 1), (0, 3, 1)))


def _edges(i: Item, t: str) -> None:
    {
        "one": lambda: i.solid(shape((0, -4, 1), (1.4, 8, 1), (-1.4, 8, 1)).map(lambda p: (p[0] + 4, 4 - p[1]))),
        "two": lambda: i.solid(shape((0, 0, 1), (8, -1.8), (16, 0, 1), (8, 1.8))),
        "three": lambda: i.solid(poly((0, 6), (7, -6), (14, 6))),
    }[t]()


def _lumens(i: Item, t: str) -> None:
    i.solid(ellipse(7, 0, 6))
    if t == "one":
        i.hole(ellipse(7, 0, 4))
    elif t == "two":
        i.hole(ellipse(5.6, 0, 2.6, 3.8), ellipse(10.6, 0, 1.1, 1.5))
    else:
        i.hole(ellipse(5.2, 1.2, 2.5), ellipse(9.8, -2.2, 1.2), ellipse(10.2, 2.0, 1.2))


def _bore(i: Item, t: str) -> None:
    i.solid(ellipse(7, 0, 6)).hole(ellipse(7, 0, 1.8 if t == "narrow" else 4.9))


def _optics(i: Item, t: str) -> None:
    if t == "lens":
        i.solid(shape((8, -7), (10.6, 0), (8, 7), (5.4, 0)))
        i.line(line((0, -4), (7, -4), (18, 0)), line((0, 4), (7, 4), (18, 0)))
        return
    i.solid(ellipse(8, -1, 4), box(6.2, 2.4, 9.8, 6, 0.6))
    if t == "light":
        i.line(*[line(turn_point(8, -1, 5.4, a), turn_point(8, -1, 8, a)) for a in range(-210, 31, 40)])
    else:
        i.bold(line((2, -7), (14, 6)))


def _view(i: Item, t: str) -> None:
    i.solid(box(0, -1.6, 14, 1.6)) if t == "forward" else i.solid(shape((0, -1.6, 1), (12, -1.6, 1), (15, 1.6, 1), (0, 1.6, 1)))
    turn_by = 0 if t == "forward" else -30
    i.line(
        line((14, 0), turn_point(14, 0, 11, turn_by - 22)),
        line((14, 0), turn_point(14, 0, 11, turn_by + 22)),
        arc(14, 0, 10, turn_by - 22, turn_by + 22),
    )


def _opening(i: Item, t: str) -> None:
    i.bold(line((0, -5), (16, -5)), line((0, 5), (16, 5)))
    if t == "adjustable":
        i.line(line((8, -4), (8, 4)), line((6.6, -2.2), (8, -4), (9.4, -2.2)), line((6.6, 2.2), (8, 4), (9.4, 2.2)))
    else:
        i.solid(box(6.6, -5, 9.4, 5))


def _closing(i: Item, t: str) -> None:
    if t == "spring":
        i.bold(line(*[(1.6 * k, (3, -3)[k % 2]) for k in range(12)]))
    elif t == "crimp":
        i.line(
            line((8, -9), (8, -4), (6.6, -5.6)),
            line((8, -4), (9.4, -5.6)),
            line((8, 9), (8, 4), (6.6, 5.6)),
            line((8, 4), (9.4, 5.6)),
        ).bold(line((0, -2), (16, -1)), line((0, 2), (16, 1)))
    else:
        i.bold(line((0, -2), (14, -2), (16, 0), (14, 2), (10, 2)), line((0, 2), (8, 2)))


def _build(i: Item, t: str) -> None:
    h = {"delicate": 0.9, "slender": 0.5, "heavy": 3.0}[t]
    i.solid(box(0, -h, 20, h, h * 0.5))


def _tip(i: Item, t: str) -> None:
    ends = {
        "blunt": [(19, -3.6), (20, -2.2, 1), (20, 2.2, 1), (19, 3.6)],
        "broad": [(18, -5.4), (20, -4.4, 1), (20, 4.4, 1), (18, 5.4)],
        "fine": [(14, -1.4), (20, -0.5), (20, 0.5), (14, 1.4)],
        "pointed": [(11, -3), (21, 0, 1), (11, 3)],
        "rounded": [(17, -4), (20, -2.4), (21, 0), (20, 2.4), (17, 4)],
        "tapered": [(12, -2.6), (20, -1.2, 1), (20, 1.2, 1), (12, 2.6)],
        "conical": [(12, -4, 1), (21, -0.6), (21, 0.6), (12, 4, 1)],
        "pyramid": [(13, -4, 1), (21, 0, 1), (13, 4, 1)],
        "triangle": [(10, -2.4), (20, -6, 1), (20, 6, 1), (10, 2.4)],
        "ring": [(9, -1.6), (14, -5), (20, -3), (21, 0), (20, 3), (14, 5), (9, 1.6)],
    }[t]
    i.solid(shape((0, -4, 1), *ends, (0, 4, 1)))
    if t == "pyramid":
        i.line(line((13, -4), (13, 4)), line((13, 1), (21, 0)))
    elif t == "ring":
        i.hole(ellipse(16.4, 0, 2.6, 2.4))


def _edge_facing(i: Item, t: str) -> None:
    i.solid(box(0, -6, 7, 6, 1), box(7, -1, 18, 1))
    if t == "soft":
        i.shade(box(0, -6, 7, -3.4), box(0, 3.4, 7, 6))
    else:
        i.hair(*[line((0.4 + k, -5.6), (0.4 + k, 5.6)) for k in range(7)])


def _head(i: Item, t: str) -> None:
    i.solid(ellipse(10, 0, 5), box(0, -1, 6, 1)) if t == "ball" else i.solid(
        shape((4, -3, 1), (15, -6, 1), (15, 6, 1), (4, 3, 1)), box(0, -1, 5, 1)
    )


def _count(i: Item, t: str) -> None:
    for k in range({"one": 1, "two": 2, "three": 3, "four": 4}.get(t, 1)):
        i.solid(box(5.0 * k, -6, 5.0 * k + 2.4, 6, 1))


def _prong_point(i: Item, t: str) -> None:
    from kg.draw.models.retractor import prong

    i.solid(prong(2, 0, 13, 1.2, t), prong(8, 0, 13, 1.2, t))


def _vented(i: Item, t: str) -> None:
    i.solid(box(0, -3, 20, 3, 1))
    (i.ink if t == "vented" else i.line)(ellipse(8, 0, 2, 1.6))


def _crown(i: Item, t: str) -> None:
    ENDS["crown-angled"](i, 3, 0.7, 1.4)


def _ends(i: Item, t: str) -> None:
    for x in (0, 14):
        i.solid(
            shape(
                (x, -2.4, 1),
                (x + 8, -2.4, 1),
                (x + 10, 0, 1) if t == "both" or not x else (x + 9.4, 0),
                (x + 8, 2.4, 1),
                (x, 2.4, 1),
            )
        )


def _thickness(i: Item, t: str) -> None:
    i.solid(box(0, 2, 20, 3.4)).bold(line((0, -2), (20, -2)))
    if t == "adjustable":
        i.line(line((10, -1.4), (10, 1.6)), line((9, -0.2), (10, -1.4), (11, -0.2)), line((9, 0.4), (10, 1.6), (11, 0.4)))


def _guard(i: Item, t: str) -> None:
    i.solid(box(0, -1.6, 20, 1.6, 1.5))
    if t == "moving":
        i.line(arc(10, 0, 5, 200, 340), line((14.9, -3.4), (14.7, -1.6), (13, -2.6)))
    else:
        i.ink(ellipse(3, 0, 0.8), ellipse(17, 0, 0.8))


def _cutting(i: Item, t: str) -> None:
    i.solid(ellipse(9, 0, 8, 4)).line(ellipse(9, 0, 6, 2.4)).bold(
        arc(9, 0, 9.6, -40, 40), line((5, -5.4), (13, -5.4)), line((5, 5.4), (13, 5.4))
    )


def _form(i: Item, t: str) -> None:
    from kg.draw.models.jaws import Jaw, face_on

    jaw = Jaw(0, 30, 3.0, 1.0, "", (t,))
    if t in ("ring", "triangle", "flare"):
        i.solid(face_on(jaw, 12, (t,)))
    else:
        wide = {"broad": 1.6, "narrow": 0.6}.get(t, 1.0)
        i.solid(jaw.outline(lower=True).map(lambda p: (p[0], p[1] * wide)), jaw.outline().map(lambda p: (p[0], p[1] * wide)))


def _work(i: Item, t: str) -> None:
    if t in ENDS:
        ENDS[t](i, 8, 1.0, 1.4)
    elif t == "rings":
        i.solid(ellipse(6, 0, 6, 4) + ellipse(6, 0, 3.6, 2)).hair(
            *[line(turn_point(6, 0, 4.2, a), turn_point(6, 0, 5.4, a)) for a in range(0, 360, 30)]
        )
    elif t == "plate":
        i.solid(ellipse(6, 0, 6, 4), ellipse(20, 0, 6, 4)).hole(ellipse(20, 0, 4, 2.4))
    elif t == "biting":
        i.solid(shape((0, 2, 1), (14, 2, 1), (14, -5, 1), (17, -5, 1), (17, 5, 1), (0, 5, 1)), box(0, -4, 11, 1))
    elif t == "saw":
        i.solid(poly((0, -3), *[p for k in range(10) for p in ((20 - 2 * k, -3 + 6), (19 - 2 * k, 5))], (0, 3)))
    elif t == "wire":
        i.bold(curve((0, 2), (8, -3), (20, 2)))
    else:
        i.solid(shape((0, -2, 1), (12, -3), (18, 0, 1), (12, 3), (0, 2, 1)))


def _blade_form(i: Item, t: str) -> None:
    from kg.draw.models.retractor import _course

    i.solid(ribbon(_course({"right": "right"}.get(t, t), 60.0), [1.0] * len(_course(t, 60.0))))
    if t in ("window", "split", "hollow"):
        i.hole(box(2, 5, 6, 12, 1.5))


def _tube_bend(i: Item, t: str) -> None:
    i.solid(
        ribbon([(0, 0), (8, 0), (14, 3), (18, 9)], [1.4] * 4)
        if t == "curved"
        else ribbon([(0, 0), (9, 0), (9.8, 0.3), (18, 7)], [1.4] * 4)
    )


def _point(i: Item, t: str) -> None:
    i.solid(shape((0, -2, 1), (12, -2, 1), (20, 0 if t != "bevel" else 2, 1), (12 if t != "bevel" else 20, 2, 1), (0, 2, 1)))


def _tube_tip(i: Item, t: str) -> None:
    i.solid(box(0, -2, 14, 2))
    if t == "bulb":
        i.solid(ellipse(15, 0, 4, 3.6))
    elif t in ("angled", "elbow"):
        i.solid(ribbon([(12, 0), (15, -1), (19, -6)], [2, 2, 2], end="round"))
    elif t == "bevel":
        i.solid(shape((12, -2, 1), (14, -2, 1), (19, 2, 1), (12, 2, 1)))
    else:
        i.solid(ellipse(14, 0, 3, 2))
        i.ink(ellipse(6, 0, 0.6), ellipse(10, 0, 0.6))


def _opening_at(i: Item, t: str) -> None:
    i.solid(ribbon([(0, 0), (16, 0)], [2.4] * 2, end="round"))
    if t == "end":
        i.ink(ellipse(17.6, 0, 0.7, 1.2))
    else:
        i.hole(ellipse(11, -0.8, 3.6 if t == "long-side" else 1.5, 0.9))


def _bend(i: Item, t: str) -> None:
    from kg.draw.models.jaws import bend_of

    i.solid(ribbon([(0, 0), (30, 0)], [1.4, 1.0], steps=12, end="round").map(bend_of(t, 4, 30)))


ICONS: dict[str, Icon] = {
    "bend": _bend,
    "action": _action,
    "retention": _retention,
    "rigidity": _rigidity,
    "bevel": _bevel,
    "edge-count": _edges,
    "lumens": _lumens,
    "bore": _bore,
    "optics": _optics,
    "view": _view,
    "opening": _opening,
    "closing": _closing,
    "build": _build,
    "tip": _tip,
    "facing": _edge_facing,
    "head": _head,
    "prong-count": _count,
    "blade-count": _count,
    "prong-point": _prong_point,
    "vented": _vented,
    "crown": _crown,
    "end-edges": _ends,
    "thickness": _thickness,
    "guard-motion": _guard,
    "cutting-sides": _cutting,
    "form": _form,
    "work": _work,
    "blade-form": _blade_form,
    "tube-bend": _tube_bend,
    "point": _point,
    "tube-tip": _tube_tip,
    "opening-at": _opening_at,
}
