"""Geometry against closed formulas: circles, arc lengths, distances."""

from __future__ import annotations

import itertools
import math
import re

import pytest

from kg.draw import paths
from kg.draw.paths import Bend, box, curve, ellipse, evenly, line, mirror, poly, ribbon, sample, shape, then, turn


def test_a_bend_of_constant_curvature_is_a_circle() -> None:
    """The direction grows in proportion to the way: an arc of radius length / angle (elementary geometry)."""
    length, angle = 100.0, math.radians(90)
    radius = length / angle
    bend = Bend((0.0, length, 90.0))
    for share in (0.25, 0.5, 0.75, 1.0):
        x, y = bend((length * share, 0.0))
        assert math.isclose(x, radius * math.sin(angle * share), abs_tol=0.02)
        assert math.isclose(y, radius * (1 - math.cos(angle * share)), abs_tol=0.02)


def test_a_bend_keeps_the_distance_from_the_line() -> None:
    bend = Bend((10.0, 60.0, -75.0), (70.0, 90.0, 30.0))
    for s in range(0, 120, 7):
        (x, y), (a, b) = bend((s, 0.0)), bend((s, 3.0))
        assert math.isclose(math.hypot(a - x, b - y), 3.0, abs_tol=0.05)


def test_a_bend_keeps_lengths_along_the_line() -> None:
    bend = Bend((0.0, 80.0, 88.0))
    walked = sum(math.dist(bend((i / 10, 0.0)), bend(((i + 1) / 10, 0.0))) for i in range(1000))
    assert math.isclose(walked, 100.0, rel_tol=0.002)


def test_no_bend_moves_nothing() -> None:
    assert Bend()((5.0, 2.0)) == (5.0, 2.0)
    assert Bend((0.0, 10.0, 0.0))((5.0, 2.0)) == (5.0, 2.0)


def test_a_ribbon_is_as_wide_as_it_says() -> None:
    strip = ribbon([(0, 0), (50, 0), (100, 0)], [2.0, 3.0, 4.0])
    for x, y in strip.points():
        assert math.isclose(abs(y), 2 + x / 50, abs_tol=1e-6)


def test_an_ellipse_lies_on_its_equation() -> None:
    for x, y in ellipse(3, 4, 10, 5).points():
        assert math.isclose(((x - 3) / 10) ** 2 + ((y - 4) / 5) ** 2, 1.0)


def test_a_smooth_line_passes_through_its_points() -> None:
    points = [(0.0, 0.0), (10.0, 5.0), (20.0, -3.0), (30.0, 0.0)]
    dense = sample(points, 6)
    assert all(any(math.dist(p, q) < 1e-9 for q in dense) for p in points)
    assert len(dense) == 19


def test_evenly_spaced_points() -> None:
    found = evenly([(0.0, 0.0), (5.0, 0.0), (100.0, 0.0)], 10.0)
    gaps = [math.dist(a, b) for a, b in itertools.pairwise(found)]
    assert all(9.9 < g < 13.5 for g in gaps)


@pytest.mark.parametrize(
    "path",
    [line((0, 0), (1, 1)), poly((0, 0), (1, 0), (1, 1)), curve((0, 0), (1, 2), (3, 1)), box(0, 0, 5, 3, 1), ellipse(0, 0, 2),
     shape((0, 0, 1), (2, 1), (4, 0, 1))],
)  # fmt: skip
def test_path_data_follow_the_grammar_of_svg(path) -> None:
    number = r"-?\d+(\.\d{1,2})?"
    pair = rf"{number} {number}"
    grammar = rf"(M{pair}((L{pair})|(C{pair} {pair} {pair}))*Z?)+"
    assert re.fullmatch(grammar, path.d()), path.d()


def test_numbers_are_short() -> None:
    assert [paths.number(n) for n in (0.0, -0.001, 1.0, 1.5, 2.126, -3.0)] == ["0", "0", "1", "1.5", "2.13", "-3"]


def test_a_straight_piece_follows_a_bend() -> None:
    """Without nodes of its own a straight piece would cut the corner: its middle must lie on the circle."""
    bent = line((0, 0), (100, 0)).map(Bend((0.0, 100.0, 90.0)))
    radius = 100 / math.radians(90)
    assert len(list(bent.points())) > 10
    assert all(math.isclose(math.hypot(x, y - radius), radius, rel_tol=0.002) for x, y in bent.points())
    again = line((0, 0), (100, 0)).map(then(Bend((0.0, 100.0, 90.0)), turn(10.0), mirror()))
    assert len(list(again.points())) == len(list(bent.points()))


def test_an_empty_path_has_no_data() -> None:
    assert paths.Path().d() == "" and curve((1, 1)).d() == ""
