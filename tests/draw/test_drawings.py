"""Every pattern draws: valid, complete, read back, told apart from its look-alikes, nothing on top of anything else.

XML is parsed with the standard library's parser and rasterised with resvg (an SVG renderer that is not ours), which also
tells whether a difference can be seen. What is recorded comes from SPARQL on the closure, written here and independent of the
drawing's own reading.
"""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from pathlib import Path

import pytest

from kg.answer.lookalikes import look_alike_pairs
from kg.draw import drawing, read_back
from kg.draw.make import Subject
from kg.draw.table import read_table
from kg.draw.views import sheet_of
from kg.names import HAS_PART

SVG = "{http://www.w3.org/2000/svg}"
NUMBER = r"-?\d+(?:\.\d+)?"


@pytest.fixture(scope="module")
def table(ontology_folder: Path):
    return read_table(ontology_folder)


@pytest.fixture(scope="module")
def patterns(catalogue) -> list[str]:
    return [t.name for t in catalogue.vocabulary.by_role("pattern")]


@pytest.fixture(scope="module")
def drawings(catalogue, patterns):
    return {p: drawing(catalogue, p) for p in patterns}


@pytest.fixture(scope="module")
def facts(catalogue, patterns):
    return catalogue.context.reader.facts(patterns)


def shapes(svg: str) -> tuple[str, ...]:
    """The strokes of a document without texts, facts and ids: what the eye sees."""
    root = ElementTree.fromstring(svg)
    return tuple(
        " ".join(e.get(k, "") for k in ("d", "cx", "cy", "fill", "stroke", "stroke-width", "stroke-dasharray"))
        for e in root.iter()
        if e.tag in (f"{SVG}path", f"{SVG}circle")
    )


def item_shapes(subject: Subject) -> tuple:
    """The strokes of all items, without page and labels."""
    return tuple(
        (view.name, kind, item.dashed, tuple(p.d() for p in paths))
        for view in subject.sheet.views
        for item in view.items
        for kind, paths in item.strokes
    )


def test_every_pattern_draws_as_valid_svg_with_its_name(drawings, catalogue) -> None:
    assert len(drawings) == 694
    for pattern, drawn in drawings.items():
        root = ElementTree.fromstring(drawn.svg())
        label = catalogue.vocabulary.label(pattern)
        assert root.tag == f"{SVG}svg" and root.get("role") == "img"
        title, text = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
        assert title is not None and label in (title.text or "")
        assert text is not None and "not to shape" in (text.text or "")
        assert {title.get("id"), text.get("id")} == set((root.get("aria-labelledby") or "").split())
        assert "CC BY 4.0" in (root.findtext(f"{SVG}metadata") or "")
        assert any("licensed practice decide" in (t.text or "") for t in root.iter(f"{SVG}text"))


def test_nothing_reaches_out_of_the_page(drawings) -> None:
    for pattern, drawn in drawings.items():
        root = ElementTree.fromstring(drawn.svg())
        width, height = (float(n) for n in (root.get("viewBox") or "").split()[2:])
        for path in root.iter(f"{SVG}path"):
            found = [float(n) for n in re.findall(NUMBER, path.get("d", ""))]
            assert all(0 <= x <= width for x in found[::2]) and all(0 <= y <= height for y in found[1::2]), pattern


def test_reading_back_gives_what_was_drawn(drawings) -> None:
    for pattern, drawn in drawings.items():
        found = {(t.feature, t.value, t.status) for t in read_back(drawn.svg())}
        assert found == {(d.feature, d.value, d.status) for d in drawn.drawn}, pattern


def test_what_is_drawn_is_recorded_and_what_is_recorded_is_drawn(drawings, catalogue, table) -> None:
    """Against SPARQL of our own over the graphs of what holds and of what varies."""
    rows = catalogue.store.select(
        "SELECT ?p ?f ?v WHERE { VALUES ?g { <https://boxlock.example/graph/holds> <https://boxlock.example/graph/varies> } "
        "GRAPH ?g { ?p ?f ?v } FILTER(isIRI(?v)) }"
    )
    recorded: dict[str, set[tuple[str, str]]] = {}
    for row in rows:
        recorded.setdefault(row["p"].short, set()).add((row["f"].short, row["v"].short))
    drawable = {(f, v) for f, line in table.features.items() for v, token in line.tokens.items() if token}
    for pattern, drawn in drawings.items():
        shown = {(d.feature, d.value) for d in drawn.drawn}
        assert shown <= recorded[pattern], (pattern, shown - recorded[pattern])
        assert not drawn.not_drawn[drawn.labels[0]], pattern
        # Of every feature with one value, the narrowest that is recorded is shown, or one of the ways in which it is made.
        for feature in {f for f, v in recorded[pattern] & drawable}:
            assert feature in {f for f, _ in shown}, (pattern, feature)
        parts = {v for f, v in recorded[pattern] if f == HAS_PART and v in table.parts}
        assert parts <= {v for f, v in shown if f == HAS_PART}, pattern


def test_look_alikes_with_a_drawable_difference_look_different(catalogue, facts, table) -> None:
    vocabulary = catalogue.vocabulary
    made: dict[str, Subject] = {}

    def subject(pattern: str) -> Subject:
        if pattern not in made:
            made[pattern] = Subject(pattern, facts[pattern], table, vocabulary)
        return made[pattern]

    pairs = differing = 0
    for a, b in look_alike_pairs(catalogue.context):
        pairs += 1
        one, two = subject(a), subject(b)
        slots = (*table.features, *table.parts)
        said = [tuple(s.choices.of_slot(slot).said(vocabulary) for slot in slots) for s in (one, two)]
        if any(x and y and x != y for x, y in zip(*said, strict=True)):
            differing += 1
            assert item_shapes(one) != item_shapes(two), (a, b)
    assert pairs > 3000 and differing > 2500


def test_values_of_a_feature_that_a_model_claims_to_show_look_different(catalogue, facts, table, patterns) -> None:
    """Each pattern is drawn with every value that its model's other patterns have; two that are both shown must differ."""
    vocabulary = catalogue.vocabulary
    used: dict[tuple[str, str], set[str]] = {}
    holders: dict[tuple[str, str], set[str]] = {}
    for pattern in patterns:
        model, known = Subject(pattern, facts[pattern], table, vocabulary).model, facts[pattern].known
        literals = [*known.holds, *((f, v) for f, values in known.varies.items() for v in values)]
        for feature, value in literals:
            if feature in table.features and table.features[feature].tokens.get(value):
                used.setdefault((model, feature), set()).add(value)
                holders.setdefault((model, feature), set()).add(pattern)
    checked = 0
    for (model, feature), values in used.items():
        for pattern in sorted(holders[model, feature])[:3]:
            known, seen = facts[pattern].known, {}
            for value in sorted(values):
                holds = frozenset(literal for literal in known.holds if literal[0] != feature) | {(feature, value)}
                varies = {f: v for f, v in known.varies.items() if f != feature}
                other = replace(facts[pattern], known=replace(known, holds=holds, varies=varies), disputed=())
                made = Subject(pattern, other, table, vocabulary)
                if made.model != model or (feature, value) not in {(f, v) for f, v, _ in made.shown}:
                    continue
                drawn = item_shapes(made)
                assert drawn not in seen, (pattern, feature, value, seen[drawn])
                seen[drawn] = value
                checked += 1
    assert checked > 400


def test_what_is_not_recorded_is_dashed_or_left_out(drawings) -> None:
    """No fact is claimed by a stroke whose fact is not recorded, and such strokes are dashed."""
    for pattern, drawn in drawings.items():
        for group in ElementTree.fromstring(drawn.svg()).iter(f"{SVG}g"):
            if group.get("data-status") == "not recorded":
                assert group.get("data-value") == "", pattern
                nested = {g.get("data-status") for g in group.iter(f"{SVG}g") if g.get("data-status")}
                if nested == {"not recorded"}:
                    lines = [p for p in group.iter(f"{SVG}path") if p.get("stroke")]
                    assert all(p.get("stroke-dasharray") for p in lines), pattern


def test_texts_do_not_touch_each_other_or_the_drawing(drawings) -> None:
    for pattern, drawn in drawings.items():
        assert collisions(drawn.svg()) == [], pattern


def test_nor_where_two_stand_side_by_side(catalogue) -> None:
    pairs = list(look_alike_pairs(catalogue.context))[::30]
    mixed = [(a, b) for (a, _), (_, b) in zip(pairs, reversed(pairs), strict=True) if a != b][::3]
    for a, b in (*pairs, *mixed):
        assert collisions(drawing(catalogue, a, b).svg()) == [], (a, b)


def test_leader_lines_do_not_cross(drawings) -> None:
    """Two segments cross if the ends of each lie on both sides of the other (orientation test)."""
    leader = re.compile(rf'stroke="#555" stroke-width="0.15" d="M({NUMBER}) ({NUMBER})L({NUMBER}) ({NUMBER})"')

    def side(a: tuple[float, float], b: tuple[float, float], p: tuple[float, float]) -> float:
        return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])

    for pattern, drawn in drawings.items():
        found = [tuple(map(float, m)) for m in leader.findall(drawn.svg())]
        lines = [((x0, y0), (x1, y1)) for x0, y0, x1, y1 in found if y0 != y1]
        for i, (a, b) in enumerate(lines):
            for p, q in lines[:i]:
                crossing = side(a, b, p) * side(a, b, q) < 0 and side(p, q, a) * side(p, q, b) < 0
                assert not crossing, pattern


def collisions(svg: str) -> list[tuple[str | None, str | None]]:
    """Texts that overlap each other, or a stroke; measured with a typeface that is not ours (the one that Pillow brings)."""
    font = pytest.importorskip("PIL.ImageFont", reason="pip install pillow").load_default(100)
    root = ElementTree.fromstring(svg)
    boxes, out = [], []
    for text in root.iter(f"{SVG}text"):
        size = float(text.get("font-size", "0"))
        wide = font.getlength(text.text or "") * size / 100
        x, y = float(text.get("x", "0")), float(text.get("y", "0"))
        left = x - wide / 2 if text.get("text-anchor") == "middle" else x - wide if text.get("text-anchor") == "end" else x
        boxes.append((left, y - 0.75 * size, left + wide, y + 0.2 * size, text.text))
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            if not (a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]):
                out.append((a[4], b[4]))
    for group in root.iter(f"{SVG}g"):
        for path in group.findall(f"{SVG}path"):
            nodes = re.findall(rf"({NUMBER}) ({NUMBER})", path.get("d", ""))
            for x, y in ((float(a), float(b)) for a, b in nodes):
                out += [(t, None) for left, top, right, bottom, t in boxes if left < x < right and top < y < bottom]
    return out


def test_the_same_catalogue_gives_the_same_drawing(catalogue) -> None:
    assert drawing(catalogue, "bl:KellyForceps").svg() == drawing(catalogue, "bl:KellyForceps").svg()
    assert drawing(catalogue, "Kelly forceps").svg() == drawing(catalogue, "bl:KellyForceps").svg()


def test_the_views_alone(catalogue) -> None:
    sheet = sheet_of(catalogue, "bl:KellyForceps")
    assert [v.name for v in sheet.views] == ["main", "face", "tip"]
    assert all(v.bounds()[2] > v.bounds()[0] for v in sheet.views)


# --- as pictures ------------------------------------------------------------------------------------------------------
def raster(svg: str, width: int = 700):  # type: ignore[no-untyped-def]
    resvg = pytest.importorskip("resvg_py", reason="pip install resvg-py")
    image = pytest.importorskip("PIL.Image", reason="pip install pillow")
    data = bytes(resvg.svg_to_bytes(svg_string=svg, width=width, dpi=96.0, skip_system_fonts=True))
    return image.open(io.BytesIO(data)).convert("L")


def test_one_drawing_of_each_model_shows_ink(drawings) -> None:
    by_model = {d.models[0]: d for d in drawings.values()}
    assert len(by_model) >= 28
    for model, drawn in by_model.items():
        dark = sum(raster(drawn.svg()).histogram()[:128])
        assert dark > 1000, model


def test_half_and_full_serration_are_seen(catalogue) -> None:
    """Kelly and Crile (common practice: serrated over the distal half, and over the full length) differ in ink."""
    half, full = (drawing(catalogue, p).svg() for p in ("bl:StraightKellyForceps", "bl:StraightCrileForceps"))
    assert shapes(half) != shapes(full)
    dark = [sum(raster(svg).histogram()[:128]) for svg in (half, full)]
    assert dark[1] > dark[0] * 1.01
