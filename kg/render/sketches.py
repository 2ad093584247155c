"""Jaw faces in letters as blocks: for a description, and for a comparison where they differ."""

from __future__ import annotations

from collections.abc import Sequence

from kg.model import JawSketch
from kg.render.blocks import Block, Heading, Para, Verbatim, words


def with_sketches(blocks: Sequence[Block], sketches: Sequence[JawSketch], plain: bool) -> list[Block]:
    """The blocks of a result with the sketches before their second part; ``plain``: in ASCII only."""
    shown = sketch_blocks(sketches, plain)
    headings = [n for n, block in enumerate(blocks) if isinstance(block, Heading)]
    at = headings[1] if len(headings) > 1 else len(blocks)
    return [*blocks[:at], *shown, *blocks[at:]]


def sketch_blocks(sketches: Sequence[JawSketch], plain: bool) -> list[Block]:
    """Each sketch with what it shows; empty if there is none."""
    if not sketches:
        return []
    out: list[Block] = [Heading("Jaw face, from the joint (left) to the tip")]
    for found in sketches:
        drawn = found.plain if plain else found.fancy
        said = f"{found.label}: {found.text}" if len(sketches) > 1 else found.text
        out.append(Verbatim(tuple(("", f"  {line}") for line in drawn), close=True))
        out.append(Para(words(said, "remark"), 1, close=True))
    return out
