"""Look-alikes found again, two patterns at a time."""

from __future__ import annotations

import kg
from kg.answer.lookalikes import MAX_DIFFERENCES, MIN_SHARED
from kg.answer.visible import table


def alike(catalogue: kg.Catalogue, one: str, two: str) -> bool:
    """Look-alikes by the words of their definition, two patterns at a time and without bit sets."""
    seen = table(catalogue.context)
    a, b = seen.index[one], seen.index[two]
    known = {i: sum(c.there >> i & 1 for c in seen.columns) for i in (a, b)}
    differing = common = 0
    for c in seen.columns:
        if c.recorded >> a & 1 and c.recorded >> b & 1:
            differing += bool(c.apart[c.of[a]] >> b & 1)
            common += c.there >> a & 1 or c.there >> b & 1
    return differing <= MAX_DIFFERENCES and common >= MIN_SHARED and all(2 * common >= n for n in known.values())
