"""What a comparison leaves out because the question leaves it aside: "apart from the teeth, how do they differ?" """

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.language.in_what import left_aside
from kg.records import replace
from kg.wording import capital, listing

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.model import Answer, Difference


def without_lines(catalogue: Catalogue, out: Answer, text: str) -> Answer:
    """A comparison without the lines on what is left aside, which a note names."""
    if out.comparison is None or not (aside := left_aside(text, catalogue.lexicon, catalogue.talk)):
        return out
    from kg.yesno import Asked, lines_asked

    comparison = out.comparison
    dropped = {line.feature for line in lines_asked(catalogue.context, comparison, Asked(catalogue, aside))}
    if not dropped:
        return out

    def kept(lines: tuple[Difference, ...]) -> tuple[Difference, ...]:
        return tuple(line for line in lines if line.feature not in dropped)

    signs = tuple(f"{capital(feature)} " for feature in dropped)
    left = replace(
        comparison,
        differences=kept(comparison.differences),
        shared=kept(comparison.shared),
        not_recorded=kept(comparison.not_recorded),
        telling_signs=tuple(s for s in comparison.telling_signs if not s.startswith(signs)),
    )
    return replace(out, comparison=left, notes=(*out.notes, f"Left out, as asked: {listing(sorted(dropped))}."))
