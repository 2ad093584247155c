"""Whether there are more of one than of another, or of which there are more, where both are counted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.language import nodes

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.model import Answer
    from kg.yesno import Asked


def outnumbers(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """Yes or no to "are there more saws than chisels?"; to "are more saws straight or curved?" which of the two."""
    del catalogue
    if not isinstance(out.tree, nodes.Counts) or len(out.groups) != 2 or asked.says("not"):
        return ""
    ways = [w for w in ("as_many", "fewer", "more") if asked.says(w)]
    if not ways:
        return ""
    one, other = out.groups
    if asked.says("either") and not asked.says("than") and ways[0] != "as_many":
        if one.count == other.count:
            return f"As many of the one as of the other by what is recorded: {one.count:,}."
        first, last = sorted(out.groups, key=lambda group: group.count, reverse=ways[0] == "more")
        return (
            f"{ways[0].capitalize()} {first.value}, by what is recorded: {first.count:,}, against {last.count:,} {last.value}."
        )
    holds = {"as_many": one.count == other.count, "fewer": one.count < other.count, "more": one.count > other.count}[ways[0]]
    return f"{'Yes' if holds else 'No'}, by what is recorded: {one.count:,} {one.value}, {other.count:,} {other.value}."


__all__ = ["outnumbers"]
