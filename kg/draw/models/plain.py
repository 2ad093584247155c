"""What is drawn where no family has a model: the outline of something unknown, dashed; its parts and features beside it."""

from __future__ import annotations

from kg.draw.paths import box
from kg.draw.sheet import Sheet


def draw(s: Sheet) -> None:
    """A dashed outline without any feature, with places for parts."""
    n = s.length
    s.item(label="", dashed=True).solid(box(0, -0.05 * n, n, 0.05 * n, 0.04 * n))
    places = {"back": 0.02, "grip": 0.2, "shank": 0.4, "joint": 0.55, "neck": 0.62, "end": 0.8, "tip": 0.98}
    for name, share in places.items():
        s.place(name, share * n, 0, 0.05 * n)
