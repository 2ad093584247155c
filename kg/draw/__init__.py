"""Schematic line drawings (SVG) and text sketches, computed from what is recorded of a pattern.

    ontology/drawing.toml --table--> which model, which settings
    facts --choices--> settings, each known, varying, disputed or not recorded
    models: settings --> sheet (views, items, strokes, with the facts they show)
    sheet --page, labels, ink--> SVG

The names are imported when they are first used, so that a sketch does not pay for a drawing.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOMES = {"Drawing": "make", "Drawn": "make", "drawing": "make", "read_back": "readback"}
__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"kg.draw.{_HOMES[name]}"), name)
