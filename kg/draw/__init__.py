"""Schematic line drawings (SVG) and text sketches, computed from what is recorded of a pattern.

ontology/drawing.toml --table--> which model, which settings
facts --choices--> settings, each known, varying, disputed or not recorded
models: settings --> sheet (views, items, strokes, with the facts they show)
sheet --page, labels, ink--> SVG
"""

from __future__ import annotations

from kg.draw.drawing import Drawing, Drawn, drawing

__all__ = ["Drawing", "Drawn", "drawing"]
