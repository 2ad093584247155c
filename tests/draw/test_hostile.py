"""Labels from outside come out harmless: in SVG, in its title, in the terminal, in JSON."""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kg.draw import drawing, read_back
from kg.draw.words import clean, escape, width, wrap
from kg.render import drawing_lines
from kg.render.spans import plain

NASTY = [
    '<script>alert("x")</script>',
    "\"' onload='x' & &amp; ]]> <!-- --> <!DOCTYPE x [<!ENTITY e 'e'>]>",
    "=cmd()|' /C calc'!A0",
    "\x1b[31mred\x1b[0m \x07 \x00 \x9b31m",
    "\u202eesrever\u202c \u2066\u200f שלום مرحبا",
    "e\u0301\u0301\u0301\u0301 a\u0336b\u0336 \U0001f469\u200d\U0001f52c \ud800",
    "x" * 5000,
    "word " * 2000,
    "",
    "\ufffe\uffff\u2028\u2029\t\r\n",
]


def renamed(catalogue, pattern: str, label: str):  # type: ignore[no-untyped-def]
    """The catalogue with another label for one pattern, its box lock and its ratchet."""
    terms = dict(catalogue.vocabulary.terms)
    for name in (pattern, "bl:BoxLock", "bl:Ratchet"):
        terms[name] = terms[name]._replace(label=label)
    vocabulary = replace(catalogue.vocabulary, terms=terms)
    return SimpleNamespace(
        vocabulary=vocabulary, root=Path(catalogue.root), context=catalogue.context, stamp=SimpleNamespace(release="1<2")
    )


@pytest.mark.parametrize("label", NASTY, ids=range(len(NASTY)))
@pytest.mark.parametrize("two", [False, True], ids=["one", "two"])
def test_a_nasty_label_does_no_harm(catalogue, label: str, two: bool) -> None:
    named = ("bl:KellyForceps", "bl:MayoScissors") if two else ("bl:KellyForceps",)
    drawn = drawing(renamed(catalogue, "bl:KellyForceps", label), *named)
    svg = drawn.svg()
    root = ElementTree.fromstring(svg)
    allowed = {"svg", "title", "desc", "metadata", "g", "path", "rect", "circle", "text"}
    assert {e.tag.rpartition("}")[2] for e in root.iter()} == allowed
    known = {
        "width", "height", "viewBox", "version", "role", "aria-labelledby", "font-family", "stroke-linecap", "stroke-linejoin",
        "id", "fill", "stroke", "stroke-width", "stroke-dasharray", "fill-rule", "d", "x", "y", "rx", "cx", "cy", "r",
        "font-size", "font-weight", "text-anchor", "unicode-bidi", "data-feature", "data-value", "data-status",
    }  # fmt: skip
    assert {key for e in root.iter() for key in e.attrib} <= known
    assert not any(ord(c) < 32 and c != "\n" for c in svg) and "\x1b" not in svg
    assert not set(svg) & set("\u202e\u202c\u2066\u200f\u2028\u2029\ud800")
    assert read_back(svg)
    text = plain(drawing_lines(drawn, "x.svg", 80))
    assert "\x1b" not in text and "\u202e" not in text and "\x00" not in text
    width_of_page = float((root.get("viewBox") or "").split()[2])
    for element in root.iter("{http://www.w3.org/2000/svg}text"):
        assert 0 <= float(element.get("x", "0")) <= width_of_page


@given(st.text())
def test_any_text_is_valid_xml_and_stays_one_line(text: str) -> None:
    root = ElementTree.fromstring(f'<t a="{escape(text)}">{escape(text)}</t>')
    assert root.text in (clean(text), None) and (root.get("a") or "") == clean(text)
    assert "\n" not in clean(text)


@given(st.text(min_size=1), st.floats(min_value=3, max_value=60))
def test_wrapped_lines_keep_the_text_and_the_room(text: str, room: float) -> None:
    lines = wrap(text, room, 2.0)
    assert "".join(lines).replace(" ", "") == clean(text).replace(" ", "")
    assert all(width(line, 2.0) <= room or len(line) == 1 or len(line.strip()) <= 2 for line in lines)


def test_read_back_refuses_what_is_no_drawing() -> None:
    for text in ("", "no xml", "<html/>", '<!DOCTYPE svg [<!ENTITY a "b">]><svg/>'):
        with pytest.raises(ValueError):
            read_back(text)


def test_no_or_too_many_patterns(catalogue) -> None:
    for named in ((), ("bl:KellyForceps",) * 3):
        with pytest.raises(ValueError):
            drawing(catalogue, *named)
