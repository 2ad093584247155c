"""The models and glyphs by the names that the drawing table uses."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache

from kg.draw.choices import Choice
from kg.draw.sheet import Sheet


@cache
def models() -> Mapping[str, Callable[[Sheet], None]]:
    """Name -> what draws it."""
    from kg.draw.models import pair, plain

    return {"pair": pair.draw, "plain": plain.draw}


@cache
def glyphs() -> Mapping[str, Callable[[Sheet, Choice, str], None]]:
    """Name -> what draws a part at a place of the model."""
    return {}
