"""A handout as Markdown: headings, lists and footnotes as in the GitHub flavour; text is escaped."""

from __future__ import annotations

from dataclasses import replace

from kg.export.handout import ABSENT, Card, Field, Handout, Line, Numbers
from kg.export.marks import DISPUTE, GENERAL, legend, remark, rests_on
from kg.render.english import SHOWN_SOURCES
from kg.render.lists import match_heading
from kg.render.markdown import escape, to_markdown

BLANK = "\\_" * 24


def to_text(handout: Handout) -> str:
    """The whole handout; with a cover the answers stand at the end."""
    return _Text(handout).whole()


class _Text:
    def __init__(self, handout: Handout) -> None:
        self.handout = handout
        self.numbers = Numbers(SHOWN_SOURCES, handout.sources)
        self.out: list[str] = []

    def whole(self) -> str:
        h = self.handout
        self.out += [f"# {escape(h.title)}", "", f"{escape(h.date)}", ""]
        self.out += [f"- {heading}: {escape(text)}" for heading, text in h.fact_texts]
        self.out += ["", *(f"> {escape(c)}\n>" for c in h.cautions)]
        self.out[-1] = self.out[-1].removesuffix("\n>")
        self.out.append("")
        if h.blocks and h.cover == "nothing":
            self._blocks()
        numbered = {c.name: n for n, c in enumerate(h.cards, 1)}
        for result, heading in headings(h):
            self.out += [f"## {escape(heading)}", ""]
            for group, cards in by_group(h, h.of(result)):
                if group:
                    self.out += [f"### {escape(group)}", ""]
                for card in cards:
                    self._card(card, "####" if group else "###", numbered[card.name], h.cover)
        self._open()
        if h.cover != "nothing":
            self.out += ["## Answers", ""]
            self._blocks()
            for card in h.cards:
                if h.cover == "names":
                    self.out.append(f"{numbered[card.name]}. {escape(card.label)}")
                else:
                    self._card(card, "###", numbered[card.name], "nothing")
            self.out.append("")
        self._end()
        return "\n".join(self.out).rstrip() + "\n"

    def _blocks(self) -> None:
        if self.handout.blocks:
            self.out += [to_markdown(self.handout.blocks).replace("\n### ", "\n## "), ""]

    def _card(self, card: Card, level: str, n: int, cover: str) -> None:
        h = self.handout
        said = remark(card)
        name = BLANK if cover == "names" else escape(card.label)
        self.out += [f"{level} {f'{n}. ' if h.cover != 'nothing' else ''}{name}", ""]
        if said:
            self.out += [f"*{escape(said)}*", ""]
        if card.reason:
            self.out += [escape(card.reason), ""]
        for field, cell in zip(h.fields, card.cells, strict=True):
            if cover == "facts":
                self.out.append(f"- **{escape(field.heading)}:** {BLANK}")
            elif cell and not (cover == "names" and tells_name(field)):
                self._field(field, cell)
        if h.notes_wanted:
            self.out.append(f"- **own notes:** {BLANK}")
        self.out.append("")

    def _field(self, field: Field, cell: tuple[Line, ...]) -> None:
        if not field.by_part:
            self.out.append(f"- **{escape(field.heading)}:** " + "; ".join(self._line(line) for line in cell))
            return
        self.out.append(f"- **{escape(field.heading)}**")
        for about, lines in by_part(cell):
            lead = f"{escape(about)}: " if about else ""
            self.out.append(f"  - {lead}" + "; ".join(self._line(line) for line in lines))

    def _line(self, line: Line) -> str:
        text = escape(line.text) + (GENERAL if line.general else "")
        if line.basis:
            text += f" *({escape(rests_on(line.basis))})*"
        cited = self.numbers.text(line.sources)
        text += f" \\[{cited}\\]" if cited else ""
        return text + (f"[^{line.note}]" if line.note else "")

    def _open(self) -> None:
        total = sum(len(o.patterns) for o in self.handout.open)
        if not total:
            return
        self.out += [f"## {open_heading(self.handout)}", ""]
        for group in self.handout.open:
            self.out.append(f"- {escape(group.text)}: " + ", ".join(escape(label) for _, label in group.patterns))
        self.out.append("")

    def _end(self) -> None:
        h = self.handout
        if h.remarks:
            self.out += ["## Notes", "", *(f"- {escape(text)}" for text in h.remarks), ""]
        signs = [(sign, text) for sign, text in legend(h) if not sign.startswith(DISPUTE)]
        if signs:
            self.out += ["## Signs", "", *(f"- {escape(sign)}: {escape(text)}" for sign, text in signs), ""]
        for f in h.footnotes:
            adopted = escape(f.adopted.value) if f.adopted.value else "nothing, it is left open"
            sides = [f"adopted: {adopted} {self._cited(f.adopted.sources)}".rstrip()]
            sides += [f"also said: {escape(q.value)} {self._cited(q.sources)}".rstrip() for q in f.also_said]
            self.out.append(f"[^{f.number}]: {escape(', '.join(f.labels))}, {escape(f.feature)}: {'; '.join(sides)}")
        if h.footnotes:
            self.out.append("")
        if self.numbers.listed:
            self.out += ["## Sources", ""]
            self.out += [f"{n}. {escape(s)}" for n, s in enumerate(self.numbers.listed, 1)]

    def _cited(self, sources: tuple[str, ...]) -> str:
        cited = self.numbers.text(sources)
        return f"\\[{cited}\\]" if cited else ""


# --- shared by the writers --------------------------------------------------------------------------------------------
def headings(handout: Handout) -> list[tuple]:
    """(result, heading) of the lists of cards that a handout has, in the order of an answer."""
    out = []
    if handout.of("match"):
        out.append(("match", match_heading(handout.answer)))
    elif handout.answer.kind in ("filter", "count", "group", "classify"):
        out.append(("match", "No pattern is known to match."))
    if handout.of("disputed"):
        out.append(("disputed", "Disputed: these would match if the side not adopted is right"))
    if handout.of("subject"):
        out.append(("subject", "The instrument" if len(handout.of("subject")) == 1 else "The instruments"))
    return out


def open_heading(handout: Handout) -> str:
    total = sum(len(o.patterns) for o in handout.open)
    more = " more" if handout.of("match") else ""
    return f"{total:,}{more} could match: the sources do not decide"


def by_group(handout: Handout, cards: tuple[Card, ...]) -> list[tuple[str, tuple[Card, ...]]]:
    """(group, its cards) in order; a card stands in each of its groups. Without groups all under the empty one."""
    if not handout.group or not any(c.groups for c in cards):
        return [("", cards)]
    found = [(g, tuple(c for c in cards if g in c.groups)) for g in handout.groups]
    rest = tuple(c for c in cards if not c.groups)
    return [(g, members) for g, members in [*found, ("not in a group", rest)] if members]


def by_part(cell: tuple[Line, ...]) -> list[tuple[str, list[Line]]]:
    """(part, its lines), the parts in order of their first line; absent parts of which no more is said stand together, last."""
    out: dict[str, list[Line]] = {}
    for line in cell:
        out.setdefault(line.about, []).append(line)
    bare = [lines[0] for lines in out.values() if [line.text for line in lines] == [ABSENT]]
    rows = [(about, lines) for about, lines in out.items() if lines[0] not in bare]
    return [*rows, ("without", [replace(line, text=line.about) for line in bare])] if bare else rows


def tells_name(field: Field) -> bool:
    """Whether a field gives away the name of its pattern."""
    return field.key in ("also-called", "aloud", "look-alikes")
