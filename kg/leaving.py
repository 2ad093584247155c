"""Matches that are left out of a list, with a note that says which and why."""

from __future__ import annotations

from collections.abc import Container
from typing import TYPE_CHECKING

from kg.records import replace
from kg.wording import listing

if TYPE_CHECKING:
    from kg.model import Answer

ALL = 5000
"""So many patterns are looked at to find those that are left out."""


def without(out: Answer, gone: Container[str], why: str) -> Answer:
    """The list without the patterns of ``gone``, and a note; as it is where none of it is among them, or all of it."""
    kept = tuple(m for m in out.matches if m.name not in gone)
    if not kept or len(kept) == len(out.matches):
        return out
    left = listing([m.label for m in out.matches if m.name in gone])
    return replace(out, matches=kept, pattern_count=None, notes=(f"Left out, since {why}: {left}.", *out.notes))


__all__ = ["ALL", "without"]
