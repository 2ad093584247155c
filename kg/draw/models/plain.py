"""What is drawn where no family has a model: the outline of something unknown, dashed."""

from __future__ import annotations

from kg.draw.paths import box
from kg.draw.sheet import Sheet


def draw(s: Sheet) -> None:
    """A dashed outline without any feature."""
    n = s.length
    s.item(label="", dashed=True).solid(box(0, -0.05 * n, n, 0.05 * n, 0.04 * n))
