"""Small phrases that several renderers share."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from kg.wording import CAUTION as CAUTION

if TYPE_CHECKING:
    from kg.render.blocks import Spans

SHOWN_SOURCES = 2
"""So many sources are named in a text; the rest are counted. JSON names all."""

BASES = {
    "veterinary": "veterinary sources only",
    "common practice": "rests on common practice",
    "memory": "rests on memory",
    "maker's page": "rests on a maker's page",
}
"""What a match rests on at best -> how it is said."""


def number(count: int, one: str, many: str = "") -> str:
    """``1 pattern``, ``12 patterns``."""
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def shortened(items: Sequence[str], shown: int) -> list[str]:
    """The first items, then "and 3 more"; a single one too many is still shown."""
    if len(items) <= shown + 1:
        return list(items)
    return [*items[:shown], f"and {len(items) - shown} more"]


def cited(sources: Sequence[str]) -> Spans:
    """`` (first source; second source; and 3 more)``, or no span."""
    if not sources:
        return ()
    return (("source", " (" + "; ".join(_few(sources)) + ")"),)


def _few(sources: Sequence[str]) -> list[str]:
    rest = len(sources) - SHOWN_SOURCES
    return [*sources[:SHOWN_SOURCES], *([f"and {rest} more"] if rest > 0 else [])]


def short_form(label: str, parent: str) -> str:
    """What a variant's label adds to its parent's: "curved" for "curved X" beside "X"; else the whole label."""
    at = label.casefold().find(parent.casefold())
    if at < 0 or not parent:
        return label
    rest = f"{label[:at]} {label[at + len(parent) :]}"
    return " ".join(rest.split()) or label
