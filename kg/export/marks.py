"""The small signs that every form of a handout uses, and what they mean."""

from __future__ import annotations

from collections.abc import Iterable

from kg.export.handout import Card, Handout, Line
from kg.render.english import BASES
from kg.render.spans import clean

GENERAL = "°"
DISPUTE = "†"
NOTHING = "nothing recorded"
_SHORT = {"common practice": "practice", "maker's page": "maker"}
_MEANING = {
    "common practice": "common practice; no published source was found for it",
    "memory": "from memory; no published source was found for it",
    "maker's page": "nothing better than a maker's own page says so",
    "veterinary": "only veterinary sources say so",
}


def rests_on(basis: str) -> str:
    """What a line rests on, in a word or two; empty where published human sources suffice."""
    return _SHORT.get(basis, basis)


def remark(card: Card) -> str:
    """What a card's heading says beside the name: ``rests on memory, variant of ...``."""
    parts = [BASES.get(card.basis, f"rests on {card.basis}")] if card.basis else []
    if card.contested:
        parts.append("disputed: a source says otherwise")
    return ", ".join(parts)


def plain_line(line: Line, *, about: bool, named: bool = True) -> str:
    """A line as text with its marks in words, for tables: ``jaws: bowed jaws (memory)``.

    ``named`` False: without the name of the kind that it was said of, which is often that of the pattern.
    """
    general = (f"said of {line.general}" if named else "said of its kind in general") if line.general else ""
    signs = [s for s in (rests_on(line.basis), general) if s]
    if line.note:
        signs.append(f"dispute {line.note}")
    lead = f"{line.about}: " if about and line.about else ""
    return f"{lead}{line.text}" + (f" ({'; '.join(signs)})" if signs else "")


def legend(handout: Handout) -> tuple[tuple[str, str], ...]:
    """(sign, what it means) of the signs that this handout uses."""
    lines = [line for card in handout.cards for cell in card.cells for line in cell]
    bases = {line.basis for line in lines} | {c.basis for c in handout.cards}
    out = (
        [("[1]", "number of a source in the list below; +2: two more sources say so")] if any(x.sources for x in lines) else []
    )
    if any(line.general for line in lines):
        out.append((GENERAL, "said of its kind or parent pattern in general, not of this pattern by itself"))
    if handout.footnotes:
        out.append((f"{DISPUTE}1", "number of a dispute in the list below: sources disagree"))
    if any(line.status == "made with" for line in lines):
        out.append(("(some pieces)", "made both ways"))
    if any(c.drawing for c in handout.cards):
        what = "schematic, not to shape; dashed: not recorded; dash and dot: also made like this"
        out.append(("drawings", what))
    for basis, meaning in _MEANING.items():
        if basis in bases:
            out.append((rests_on(basis), meaning))
    return tuple(out)


def joined(lines: Iterable[Line], *, about: bool, named: bool = True) -> str:
    """The lines of a cell as one text, a line each; see ``plain_line``."""
    return "\n".join(plain_line(line, about=about, named=named) for line in lines)


def slug(title: str) -> str:
    """A file name from a title: small letters, digits and hyphens, at most 60 of them; "handout" if nothing is left."""
    kept = "".join(c if c.isascii() and c.isalnum() else "-" for c in clean(title).casefold())
    return "-".join(p for p in kept.split("-") if p)[:60].strip("-") or "handout"
