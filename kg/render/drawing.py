"""What a drawing shows, in words: where it was written, what is drawn, what is not recorded."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.render.blocks import Block, Heading, Para, Table, para, words
from kg.render.english import CAUTION
from kg.wording import listing

if TYPE_CHECKING:
    from kg.draw import Drawing


def drawing_blocks(drawing: Drawing, file: str) -> list[Block]:
    """``file`` is where it was written; empty if nowhere."""
    where = f", written to {file}" if file else ""
    out: list[Block] = [para(f"Drawn: {listing(drawing.labels)}{where}.", "name")]
    if drawing.differences:
        out.append(Heading("What differs"))
        out += [Para(words(text), 1, ((("number", f"{n}. "),)), close=True) for n, text in enumerate(drawing.differences, 1)]
    several = len(drawing.labels) > 1
    for pattern, label in zip(drawing.patterns, drawing.labels, strict=True):
        found = [d for d in drawing.drawn if d.pattern == pattern]
        rows = tuple((words(d.text), words("" if d.status == "known" else d.status, "remark")) for d in found)
        out.append(Heading(f"Drawn of {label}" if several else "What is drawn"))
        out.append(Table((), rows) if rows else Para(words("nothing: too little is recorded"), 1, close=True))
        for title, texts in (
            ("Not recorded, dashed or left out", drawing.not_recorded[label]),
            ("Made in more than one way", drawing.varies[label]),
            ("Disputed, drawn as adopted", drawing.disputed[label]),
            ("Recorded and not drawn", drawing.not_drawn[label]),
        ):
            if texts:
                out.append(para(f"{title}: {', '.join(texts)}.", "remark", indent=1, close=True))
    out.append(para(f"Study aid: schematic, not to shape. {CAUTION}", "caution"))
    return out
