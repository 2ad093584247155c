"""A handout as one HTML file: no network, no framework; style and script are the files beside this module.

The page's Content-Security-Policy admits nothing but this one style and this one script, by their digests (CSP level 2), and
pictures that lie in the page itself. Without the script everything can be read; with it answers can be covered and shown.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path

from kg.export.handout import Card, Field, Footnote, Handout, Line, Numbers, Photo
from kg.export.marks import GENERAL, legend, remark, rests_on
from kg.export.text import by_group, by_part, headings, open_heading, tells_name
from kg.model import Quote
from kg.render.english import SHOWN_SOURCES
from kg.render.html import text, to_html

_ORDERS = (("given", "as given"), ("name", "by name"), ("shuffled", "shuffled"))
_COVERS = (("nothing", "nothing"), ("names", "the names"), ("facts", "the facts"))


def to_page(handout: Handout) -> str:
    """The whole page."""
    return _Page(handout).whole()


@cache
def _piece(name: str) -> str:
    return (Path(__file__).parent / name).read_text(encoding="utf-8")


def _digest(piece: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(piece.encode()).digest()).decode()


class _Page:
    def __init__(self, handout: Handout) -> None:
        self.handout = handout
        self.numbers = Numbers(SHOWN_SOURCES, handout.sources)
        self.place = {c.name: n for n, c in enumerate(handout.cards, 1)}
        self.by_label = {text(c.label): c.name for c in handout.cards}
        self.used: set[str] = set()

    def whole(self) -> str:
        h = self.handout
        style, script = _piece("page.css"), _piece("page.js")
        policy = (
            f"default-src 'none'; style-src '{_digest(style)}'; script-src '{_digest(script)}'; img-src data:; "
            "base-uri 'none'; form-action 'none'"
        )
        lists = "\n".join(self._list(result, heading) for result, heading in headings(h))
        # the lists come first in the making, so that sources are numbered as they are read
        blocks = self._blocks()
        body = "\n".join(p for p in (blocks, lists, self._open(), self._end()) if p)
        tools = self._tools() if h.cards else ""
        return (
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
            '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
            f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
            '<meta name="referrer" content="no-referrer">\n<meta name="color-scheme" content="light dark">\n'
            f"<title>{text(h.title)}</title>\n<style>{style}</style>\n</head>\n"
            f'<body data-cover="{h.cover}" data-key="{self._key()}">\n<a class="skip" href="#list">To the list</a>\n'
            f"{self._head()}\n{tools}\n"
            f'<main id="list" tabindex="-1">\n{body}\n</main>\n'
            f"<footer><p>Made with Boxlock. {text(h.cautions[0])}</p></footer>\n<script>{script}</script>\n</body>\n</html>\n"
        )

    def _key(self) -> str:
        """Under which the reader's notes are kept in the browser: the same for the same list of patterns and title."""
        parts = [self.handout.title, *sorted(self.place)]
        return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:16]

    def _head(self) -> str:
        h = self.handout
        facts = "".join(f"<div><dt>{text(k)}</dt><dd>{text(v)}</dd></div>" for k, v in h.fact_texts)
        cautions = "".join(f"<p>{text(c)}</p>" for c in h.cautions)
        return (
            f'<header>\n<p class="kicker">Study handout <span class="date">{text(h.date)}</span></p>\n'
            f'<h1>{text(h.title)}</h1>\n<div class="teeth" aria-hidden="true"></div>\n<dl class="facts">{facts}</dl>\n'
            f'<div class="cautions">{cautions}</div>\n</header>'
        )

    def _tools(self) -> str:
        orders = "".join(f'<option value="{k}">{text(v)}</option>' for k, v in _ORDERS)
        checked = {self.handout.cover: " checked"}
        covers = "".join(
            f'<label><input type="radio" name="cover" value="{k}"{checked.get(k, "")}> {text(v)}</label>' for k, v in _COVERS
        )
        several = (
            '<label class="tool">Filter <input id="filter" type="search" autocomplete="off" placeholder="words, e.g. curved">'
            f'</label>\n<label class="tool">Order <select id="order">{orders}</select></label>\n'
        )
        return (
            '<section class="tools" aria-label="Filter, order and cover" hidden>\n'
            f"{several if len(self.handout.cards) > 1 else ''}"
            f'<fieldset class="tool"><legend>Cover</legend>{covers}</fieldset>\n'
            '<button type="button" id="all">Show all</button>\n'
            '<p id="count" role="status"></p>\n</section>'
        )

    # --- cards --------------------------------------------------------------------------------------------------------
    def _list(self, result: str, heading: str) -> str:
        h = self.handout
        cards = h.of(result)  # type: ignore[arg-type]
        out = [f'<section class="list" aria-labelledby="h-{result}">\n<h2 id="h-{result}">{text(heading)}</h2>']
        for group, members in by_group(h, cards) if cards else ():
            if group:
                out.append(f'<h3 class="group">{text(group)}</h3>')
            out.append('<ol class="cards one">' if len(h.cards) == 1 else '<ol class="cards">')
            out += [self._card(card, 4 if group else 3) for card in members]
            out.append("</ol>")
        return "\n".join([*out, "</section>"])

    def _card(self, card: Card, level: int) -> str:
        h, n = self.handout, self.place[card.name]
        first = card.name not in self.used  # a pattern may stand in several groups; its id and its notes are at the first
        self.used.add(card.name)
        pictures = self._pictures(card)
        out = [f'<li class="card"{f" id=c{n}" if first else ""} data-name="{text(card.label.casefold())}">']
        number = f'<span class="no">{n}<span class="vh">.</span></span>'
        name = f'<bdi class="secret" data-of="names" data-what="name">{text(card.label)}</bdi>'
        out.append(f"<h{level}>{number} {name}</h{level}>")
        said = remark(card)
        out.append(f'<p class="rests">{text(said)}</p>' if said else "")
        out.append(f'<p class="why">{text(card.reason)}</p>' if card.reason else "")
        out.append(pictures)
        out.append('<dl class="fields">')
        for field, cell in zip(h.fields, card.cells, strict=True):
            if cell:
                out.append(self._field(field, cell))
        out.append("</dl>")
        if h.notes_wanted and first:
            heading = f'own notes <span class="vh">on number {n}</span>'
            out.append(f'<label class="own">{heading}<textarea rows="2"></textarea></label>')
        return "".join(out) + "</li>"

    def _field(self, field: Field, cell: tuple[Line, ...]) -> str:
        of = "names facts" if tells_name(field) else "facts"
        if field.by_part:
            rows = "".join(
                f"<li>{self._about(about)}{'; '.join(self._line(line) for line in lines)}</li>"
                for about, lines in by_part(cell)
            )
            inside = f"<ul>{rows}</ul>"
        else:
            inside = "; ".join(self._line(line) for line in cell)
        heading = text(field.heading)
        return f'<div><dt>{heading}</dt><dd><div class="secret" data-of="{of}" data-what="{heading}">{inside}</div></dd></div>'

    def _about(self, about: str) -> str:
        if not about:
            return ""
        shown = text(about)
        name = self.by_label.get(shown)
        return f'<b><a href="#c{self.place[name]}">{shown}</a></b> ' if name else f"<b>{shown}</b> "

    def _line(self, line: Line) -> str:
        out = f"<i>{text(line.text)}</i>" if line.status == "not recorded" else text(line.text)
        out += GENERAL if line.general else ""
        out += f' <span class="basis">{text(rests_on(line.basis))}</span>' if line.basis else ""
        cited = self.numbers.text(line.sources)
        out += f" <sup>{cited}</sup>" if cited else ""
        return out + (f' <a class="dispute" href="#d{line.note}">†{line.note}</a>' if line.note else "")

    def _pictures(self, card: Card) -> str:
        out = []
        if card.drawing:
            out.append(
                card.drawing.replace("<svg ", '<svg role="img" aria-label="Drawing made from the recorded features" ', 1)
            )
        if card.photo:
            out.append(f'<img class="photo" alt="Own photograph" src="{photo_uri(card.photo)}">')
        inside = "".join(out)
        return f'<div class="secret pictures" data-of="facts" data-what="the picture">{inside}</div>' if out else ""

    def _blocks(self) -> str:
        if not self.handout.blocks:
            return ""
        inside = to_html(self.handout.blocks, 2)
        secret = f'<div class="secret" data-of="names facts" data-what="the answer">{inside}</div>'
        return f'<section class="answer" aria-label="The answer">\n{secret if self.handout.cards else inside}\n</section>'

    # --- after the cards ----------------------------------------------------------------------------------------------
    def _open(self) -> str:
        h = self.handout
        if not h.open:
            return ""
        rows = ""
        for group in h.open:
            labels = ", ".join(f"<bdi>{text(label)}</bdi>" for _, label in group.patterns)
            rows += f"<li><span>{text(group.text)}</span> {labels}</li>"
        return f'<section class="open"><h2>{text(open_heading(h))}</h2><ul>{rows}</ul></section>'

    def _end(self) -> str:
        h = self.handout
        out = []
        if h.remarks:
            out.append("<section><h2>Notes</h2>" + "".join(f"<p>{text(r)}</p>" for r in h.remarks) + "</section>")
        signs = legend(h)
        if signs:
            rows = "".join(f"<div><dt>{text(sign)}</dt><dd>{text(what)}</dd></div>" for sign, what in signs)
            out.append(f'<section class="signs"><h2>Signs</h2><dl>{rows}</dl></section>')
        if h.footnotes:
            rows = "".join(self._footnote(f) for f in h.footnotes)
            out.append(f'<section class="disputes"><h2>Disputes</h2><ul>{rows}</ul></section>')
        if self.numbers.listed:
            rows = "".join(f"<li>{text(s)}</li>" for s in self.numbers.listed)
            out.append(f'<section class="sources"><h2>Sources</h2><ol>{rows}</ol></section>')
        return "\n".join(out)

    def _footnote(self, note: Footnote) -> str:
        adopted = self._side("adopted", [note.adopted]) if note.adopted.value else "<br>adopted: nothing, it is left open"
        return (
            f'<li id="d{note.number}"><b>†{note.number}</b> {text(", ".join(note.labels))}: {text(note.feature)}'
            f"{adopted}{self._side('also said', note.also_said)}</li>"
        )

    def _side(self, which: str, quotes: Iterable[Quote]) -> str:
        return "".join(f"<br>{which}: {text(q.value)}{self._cited(q.sources)}" for q in quotes)

    def _cited(self, sources: Sequence[str]) -> str:
        cited = self.numbers.text(sources)
        return f" <sup>{cited}</sup>" if cited else ""


def photo_uri(photo: Photo) -> str:
    return f"data:{photo.media};base64,{base64.b64encode(photo.data).decode()}"
