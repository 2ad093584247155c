"""Reads the drawn facts back out of an SVG document, by its data attributes."""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree

from kg.draw.sheet import Tag

_SHAPES = ("path", "circle", "rect")


def read_back(svg: str) -> tuple[Tag, ...]:
    """The facts that the strokes of a drawing show, in order of first appearance; those that are not recorded left out.

    Raises ValueError if the text is no SVG document of ours or declares entities.
    """
    if "<!" in svg:
        raise ValueError("a drawing has no declarations")
    try:
        root = ElementTree.fromstring(svg)
    except ElementTree.ParseError as e:
        raise ValueError(f"not XML: {e}") from e
    if root.tag.rpartition("}")[2] != "svg":
        raise ValueError("not an SVG document")
    found: dict[tuple[str, str], Tag] = {}
    for element in root.iter():
        feature, value = element.get("data-feature"), element.get("data-value")
        drawn = any(e.tag.rpartition("}")[2] in _SHAPES for e in element.iter())
        if feature and value and drawn:
            found.setdefault((feature, value), Tag(feature, value, element.get("data-status", "")))
    return tuple(found.values())
