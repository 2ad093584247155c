"""Jaw faces in letters."""

from __future__ import annotations

import pytest

from kg.draw.sketch import CELLS, jaw_sketches
from kg.render import answer_lines, answer_markdown
from kg.render.spans import plain, width_of


def sketch(catalogue, pattern: str):  # type: ignore[no-untyped-def]
    found = jaw_sketches(catalogue.root, catalogue.vocabulary, catalogue.context.reader, [pattern])
    return found[0] if found else None


def test_half_and_full_serration(catalogue) -> None:
    half, full = sketch(catalogue, "bl:KellyForceps"), sketch(catalogue, "bl:CrileForceps")
    assert half.plain == ("+----------------+", "|        |||||||||", "+----------------+")
    assert full.plain == ("+----------------+", "||||||||||||||||||", "+----------------+")
    assert half.fancy[1] == "│" + " " * 8 + "┃" * 8 + "│"
    assert half.text == "transverse serration; serrated over the distal half"


def test_cross_hatched_tip_and_unknown_extent(catalogue) -> None:
    assert sketch(catalogue, "bl:RochesterCarmaltForceps").plain[1] == "|============xxxx|"
    allis = sketch(catalogue, "bl:AllisForceps")
    assert allis.plain[1] == "|........^^^^^^^^|" and "not recorded" in allis.text


@pytest.mark.parametrize("pattern", ["bl:ScalpelBlade10", "bl:CastroviejoNeedleHolder", "bl:LeksellRongeur"])
def test_no_sketch_without_one_recorded_surface(catalogue, pattern: str) -> None:
    assert sketch(catalogue, pattern) is None


def test_every_sketch_is_rectangular_and_plain_is_ascii(catalogue) -> None:
    patterns = [t.name for t in catalogue.vocabulary.by_role("pattern")]
    found = jaw_sketches(catalogue.root, catalogue.vocabulary, catalogue.context.reader, patterns)
    assert len(found) > 90
    for one in found:
        assert {width_of(line) for line in one.fancy} == {CELLS + 2}
        assert {len(line) for line in one.plain} == {CELLS + 2}
        assert "".join(one.plain).isascii()


def test_a_description_and_a_comparison_show_them(catalogue) -> None:
    described = plain(answer_lines(catalogue.describe("Kelly forceps"), 80))
    assert described.index("To say aloud") < described.index("Jaw face") < described.index("Who says so")
    compared = catalogue.compare(["Kelly", "Crile"])
    fancy, ascii_only = plain(answer_lines(compared, 80)), plain(answer_lines(compared, 80, plain=True))
    assert "│        ┃┃┃┃┃┃┃┃│" in fancy and "|        |||||||||" in ascii_only
    assert fancy.index("What tells them apart") < fancy.index("Jaw face") < fancy.index("Differences")
    assert "Jaw face" in answer_markdown(compared)
    assert "Jaw face" not in plain(answer_lines(catalogue.ask("artery forceps"), 80))


def test_no_sketch_where_the_faces_are_the_same(catalogue) -> None:
    assert catalogue.compare(["straight Kelly forceps", "curved Kelly forceps"]).sketches == ()
