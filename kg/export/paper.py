"""A handout as PDF, set by typst: the texts go to the sheet ``page.typ`` as data, so that none can be read as markup."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from kg import memory
from kg.errors import BoxlockError, InputError
from kg.export.figure import standing_alone
from kg.export.handout import Card, Field, Footnote, Handout, Line, Numbers
from kg.export.marks import DISPUTE, GENERAL, legend, remark, rests_on
from kg.export.text import by_group, by_part, headings, open_heading, tells_name
from kg.render.blocks import Block, Heading, Para, Spans, Table
from kg.render.english import SHOWN_SOURCES
from kg.render.spans import clean

THIN = "\u2009"
SHEET = Path(__file__).parent / "page.typ"


def to_paper(handout: Handout) -> bytes:
    """A tagged PDF with its fonts in it; it claims PDF/UA-1 where every letter has a glyph.

    The same handout gives the same file. Raises InputError (BL-I01) if typst is not installed.
    """
    memory.need(memory.LIBRARY, "A PDF")
    try:
        import typst
    except ImportError as e:
        what = "writing a PDF needs the package typst, which is not installed"
        raise InputError("BL-I01", what, hint="pip install 'boxlock[handouts]'; HTML needs nothing and prints well") from e
    with tempfile.TemporaryDirectory(prefix="boxlock-") as name:
        folder = Path(name)
        data = json.dumps(_Paper(handout, folder).data())
        (folder / SHEET.name).write_text(SHEET.read_text(encoding="utf-8"), encoding="utf-8")

        def compiled(standards: list[str]) -> bytes:
            return typst.compile(
                str(folder / SHEET.name), root=name, sys_inputs={"data": data}, timestamp=0, pdf_standards=standards
            )

        try:
            return compiled(["ua-1"])
        except typst.TypstError:
            pass  # a letter without a glyph, for one: the file is tagged all the same, but cannot claim the standard
        try:
            return compiled([])
        except typst.TypstError as e:
            raise BoxlockError("BL-X01", f"the handout could not be set as PDF: {e.message}", hint="Write it as HTML.") from e


class _Paper:
    """The data of the sheet; pictures are written into ``folder``."""

    def __init__(self, handout: Handout, folder: Path) -> None:
        self.handout, self.folder = handout, folder
        self.numbers = Numbers(SHOWN_SOURCES, handout.sources)
        self.place = {c.name: n for n, c in enumerate(handout.cards, 1)}

    def data(self) -> dict[str, Any]:
        h = self.handout
        year, month, day = map(int, h.date.split("-"))
        lists = [
            {
                "heading": heading,
                "groups": [
                    {"name": clean(group), "cards": [self._card(c, h.cover) for c in cards]}
                    for group, cards in by_group(h, h.of(result))
                    if cards
                ],
            }
            for result, heading in headings(h)
        ]
        answers = [] if h.cover == "nothing" else [self._card(c, "nothing") | {"notes": False} for c in h.cards]
        out = {
            "title": clean(h.title),
            "date": h.date,
            "year": year,
            "month": month,
            "day": day,
            "paper": h.paper,
            "facts": [[clean(k), clean(v)] for k, v in h.fact_texts],
            "cautions": [clean(c) for c in h.cautions],
            "remarks": [clean(r) for r in h.remarks],
            "blocks": [_block(b) for b in h.blocks],
            "lists": lists,
            "cover": h.cover,
            "answers": answers,
            "open-heading": open_heading(h),
            "open": [[clean(o.text), clean(", ".join(label for _, label in o.patterns))] for o in h.open],
            "signs": [[sign, text] for sign, text in legend(h)],
            "disputes": [self._dispute(f) for f in h.footnotes],
        }
        return out | {"sources": [clean(s) for s in self.numbers.listed]}

    def _card(self, card: Card, cover: str) -> dict[str, Any]:
        h = self.handout
        fields = [
            self._field(field, cell, blank=cover == "facts")
            for field, cell in zip(h.fields, card.cells, strict=True)
            if cover == "facts" or (cell and not (cover == "names" and tells_name(field)))
        ]
        return {
            "no": str(self.place[card.name]),
            "name": "" if cover == "names" else clean(card.label),
            "remark": clean(remark(card)),
            "reason": clean(card.reason),
            "pictures": [] if cover == "facts" else self._pictures(card),
            "fields": fields,
            "notes": h.notes_wanted,
        }

    def _field(self, field: Field, cell: tuple[Line, ...], *, blank: bool) -> dict[str, Any]:
        rows = by_part(cell) if field.by_part else [("", list(cell))]
        listed = [] if blank else [{"about": clean(about), "runs": self._runs(lines)} for about, lines in rows]
        return {"heading": clean(field.heading), "blank": blank, "rows": listed}

    def _runs(self, lines: Sequence[Line]) -> list[list[str]]:
        out: list[list[str]] = []
        for i, line in enumerate(lines):
            out.append(
                ["open" if line.status == "not recorded" else "", clean(line.text) + (GENERAL + THIN if line.general else "")]
            )
            out += [["", " "], ["basis", rests_on(line.basis)]] if line.basis else []
            out += [["cite", cited]] if (cited := self.numbers.text(line.sources)) else []
            out += [["dispute", f" {DISPUTE}{line.note}"]] if line.note else []
            out += [["", "; "]] if i < len(lines) - 1 else []
        return out

    def _pictures(self, card: Card) -> list[dict[str, Any]]:
        n = self.place[card.name]
        found = (
            [(f"d{n}.svg", standing_alone(card.drawing).encode(), "Drawing made from the recorded features")]
            if card.drawing
            else []
        )
        if card.photo:
            found.append((f"p{n}.{card.photo.media.split('/')[1]}", card.photo.data, "Own photograph"))
        for file, data, _ in found:
            (self.folder / file).write_bytes(data)
        return [{"file": file, "alt": alt, "drawn": file.endswith(".svg")} for file, _, alt in found]

    def _dispute(self, note: Footnote) -> dict[str, Any]:
        sides = [("adopted", note.adopted.value or "nothing, it is left open", note.adopted.sources)]
        sides += [("also said", q.value, q.sources) for q in note.also_said]
        return {
            "no": str(note.number),
            "head": clean(f"{', '.join(note.labels)}: {note.feature}"),
            "sides": [[which, [["", clean(value)], ["cite", self.numbers.text(sources)]]] for which, value, sources in sides],
        }


def _block(block: Block) -> dict[str, Any]:
    match block:
        case Heading(text, _):
            return {"kind": "heading", "text": clean(text)}
        case Para(spans, indent, lead, close):
            return {"kind": "para", "runs": _spans(spans), "lead": _spans(lead), "indent": indent, "close": close}
        case Table(header, rows):
            shown = list(header) if any(header) else []
            cells = [[{"runs": _spans(cell)} for cell in row] for row in rows]
            return {"kind": "table", "header": [clean(h) for h in shown], "rows": cells, "widths": _widths(header, rows)}
    return {"kind": "raw", "text": "\n".join(clean(text) for _, text in block.lines)}


def _widths(header: Sequence[str], rows: Iterable[Sequence[Spans]]) -> list[float]:
    """How wide the columns are beside each other, by their longest cell; none very narrow, none very wide."""
    longest = [float(len(h)) for h in header]
    for row in rows:
        sizes = [sum(len(text) for _, text in cell) for cell in row]
        longest = [max(a, b) for a, b in zip(longest or [0.0] * len(sizes), sizes, strict=True)]
    return [min(max(size, 10), 48) for size in longest]


def _spans(spans: Spans) -> list[list[str]]:
    kinds = {"name": "name", "remark": "remark", "source": "remark", "number": "remark", "dispute": "dispute"}
    return [[kinds.get(style, ""), clean(text)] for style, text in spans]
