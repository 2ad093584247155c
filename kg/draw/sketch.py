"""Jaw faces in letters, for terminals: which serrations, and how far they reach.

    +------------------+
    |          |||||||||
    +------------------+

The joint is on the left, the tip on the right. Signs come from the drawing table; where it is not recorded how far serrations
reach, the half near the joint is dotted.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from kg.draw.choices import KNOWN, VARIES, Choices, body_of
from kg.draw.models.jaws import EXTENTS
from kg.draw.table import table_of
from kg.facts import FactReader
from kg.model import JawSketch
from kg.vocabulary import Vocabulary

CELLS = 16
_FRAME, _PLAIN = "╭─╮│╰╯·", "+-+|++."


def jaw_sketches(root: Path, vocabulary: Vocabulary, reader: FactReader, patterns: Sequence[str]) -> tuple[JawSketch, ...]:
    """One sketch for each of the patterns with a recorded jaw surface, in their order; none where that varies only."""
    table = table_of(root)
    facts = reader.facts(patterns)
    out = []
    for pattern in patterns:
        known = facts[pattern]
        choices = Choices(table, body_of(table, known, vocabulary), known, vocabulary)
        surface, extent = choices.choice("surface", quiet=True), choices.choice("extent", quiet=True)
        if surface.status == VARIES or not surface.recorded or surface.token not in table.faces:
            continue
        text = "; ".join(c.text for c in (surface, extent) if c.recorded)
        reach = EXTENTS.get(extent.token) if extent.status in (KNOWN, "disputed") else None
        blank = not table.faces[surface.token][0].strip()
        if reach is None and not blank:
            text += "; how far is not recorded"
        fancy, plain = (_lines(table.faces[surface.token][i], reach, frame, blank) for i, frame in enumerate((_FRAME, _PLAIN)))
        out.append(JawSketch(pattern, vocabulary.label(pattern), fancy, plain, text, surface.slot))
    return tuple(out)


def _lines(signs: str, reach: float | None, frame: str, blank: bool) -> tuple[str, ...]:
    start = round((0.5 if reach is None else 0.0 if reach < 0.1 else reach) * CELLS)
    tip = round(CELLS * 0.75)
    row = ""
    for cell in range(CELLS):
        if cell < start and not blank:
            row += frame[6] if reach is None else " "
        else:
            row += signs[-1] if cell >= tip else signs[0]
    top, bottom = frame[0] + frame[1] * CELLS + frame[2], frame[4] + frame[1] * CELLS + frame[5]
    return top, frame[3] + row + frame[3], bottom
