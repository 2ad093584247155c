"""Drawings of patterns: what is recorded, drawn by the model of its family.

    drawing(catalogue, "Kelly forceps").svg()
    drawing(catalogue, "bl:KellyForceps", "bl:CrileForceps")     # side by side, the differences marked

What is not recorded is dashed or left out, and said in the key; nothing is invented but the outline that a family shares.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kg import names
from kg.draw.choices import UNKNOWN, VARIES, Choice, Choices, body_of
from kg.draw.models.glyphs import glyph
from kg.draw.models.icons import icon
from kg.draw.models.registry import model
from kg.draw.page import STUDY, Column, compose, document
from kg.draw.sheet import Sheet, tags_of
from kg.draw.table import Table, table_of
from kg.wording import CAUTION, listing

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.facts import PatternFacts
    from kg.vocabulary import Vocabulary

LICENCE = "CC BY 4.0"


@dataclass(frozen=True)
class Drawn:
    """A fact that a drawing shows. ``status``: known, varies, disputed; names are short names."""

    pattern: str
    feature: str
    value: str
    status: str
    text: str

    def to_json(self) -> dict[str, Any]:
        """With full IRIs."""
        return {
            "pattern": names.expand(self.pattern),
            "feature": names.expand(self.feature),
            "value": names.expand(self.value),
            "status": self.status,
            "text": self.text,
        }


@dataclass(frozen=True)
class Drawing:
    """One or two patterns, drawn.

    ``patterns`` and ``labels``: short names and names; ``drawn``: every fact that is shown; ``not_recorded``, ``varies``,
    ``disputed``, ``not_drawn``: label of the pattern -> texts; ``differences``: what differs in what is drawn, if there are
    two.
    """

    patterns: tuple[str, ...]
    labels: tuple[str, ...]
    drawn: tuple[Drawn, ...]
    not_recorded: Mapping[str, tuple[str, ...]]
    varies: Mapping[str, tuple[str, ...]]
    disputed: Mapping[str, tuple[str, ...]]
    not_drawn: Mapping[str, tuple[str, ...]]
    differences: tuple[str, ...]
    models: tuple[str, ...]
    text: str = field(repr=False, default="")
    """The SVG document."""

    def svg(self) -> str:
        """The drawing as an SVG 1.1 document, ending in a newline; the same for the same catalogue."""
        return self.text

    def _repr_svg_(self) -> str:
        return self.text

    def to_json(self) -> dict[str, Any]:
        return {
            "patterns": [{"iri": names.expand(p), "label": x} for p, x in zip(self.patterns, self.labels, strict=True)],
            "drawn": [d.to_json() for d in self.drawn],
            "not_recorded": {k: list(v) for k, v in self.not_recorded.items()},
            "varies": {k: list(v) for k, v in self.varies.items()},
            "disputed": {k: list(v) for k, v in self.disputed.items()},
            "not_drawn": {k: list(v) for k, v in self.not_drawn.items()},
            "differences": list(self.differences),
            "note": f"{STUDY} {CAUTION}",
        }


def drawing(catalogue: Catalogue, *patterns: str) -> Drawing:
    """Draws one pattern, or two side by side. A pattern is a short name or a name in words.

    Raises QuestionError (BL-Qxx) if a name is not understood, CatalogueError (BL-C04) if the drawing table is wrong,
    ValueError if there are not one or two patterns.
    """
    if not 1 <= len(patterns) <= 2:
        raise ValueError("a drawing shows one pattern or two")
    vocabulary = catalogue.vocabulary
    named = [
        p if p in vocabulary.terms and vocabulary.terms[p].role == "pattern" else catalogue.pattern_named(p) for p in patterns
    ]
    table = table_of(Path(catalogue.root))
    facts = catalogue.context.reader.facts(named)
    return _make([Subject(p, facts[p], table, vocabulary) for p in named], catalogue.stamp.release)


class Subject:
    """One pattern, drawn on its sheet."""

    def __init__(self, pattern: str, facts: PatternFacts, table: Table, vocabulary: Vocabulary) -> None:
        self.pattern, self.facts, self.vocabulary = pattern, facts, vocabulary
        self.label = vocabulary.label(pattern)
        body = body_of(table, facts, vocabulary)
        self.model = body.model
        self.choices = Choices(table, body, facts, vocabulary)
        span = facts.known.length
        self.length = (span[0] + span[1]) / 2 if span else float(body.settings.get("length", 150))
        self.sheet = Sheet(self.choices, self.length)
        model(body.model)(self.sheet)
        for choice in self.choices.unasked():
            self.choices.asked[choice.slot] = choice
            if choice.bare:
                continue  # shown by the outline that lacks it, below
            if choice.part:
                row = table.parts[choice.slot]
                if row.glyph:
                    glyph(self.sheet, choice, row.glyph, row.place)
            elif table.features[choice.slot].glyph:
                icon(self.sheet, choice, table.features[choice.slot].glyph)
        self._bare()
        self.shown = _shown(self.sheet)

    def _bare(self) -> None:
        """What is recorded as nothing being there is shown by the outline that lacks it."""
        drawn = [i for i in self.sheet.main.items if i.strokes]
        outline = next((i for i in drawn if not i.dashed), drawn[0] if drawn else None)
        shown = {(f, v) for f, v, _ in _shown(self.sheet)}
        for slot in self.choices.table.features:
            choice = self.choices.of_slot(slot)
            if outline and choice.bare:
                outline.tags += tuple(t for t in tags_of(choice) if (t.feature, t.value) not in shown)

    @property
    def asked(self) -> list[Choice]:
        order = self.vocabulary.features
        found = self.choices.asked.values()
        return sorted(
            found, key=lambda c: (order[c.slot].order if c.slot in order else self.vocabulary.terms[c.slot].order, c.slot)
        )

    def drawn(self) -> tuple[Drawn, ...]:
        place = self.choices.place
        facts = sorted(self.shown, key=lambda f: (place(f[1] if f[0] == names.HAS_PART else f[0]), f[1]))
        return tuple(Drawn(self.pattern, f, v, s, self._text(f, v)) for f, v, s in facts)

    def _text(self, feature: str, value: str) -> str:
        return (
            self.vocabulary.label(value)
            if feature == names.HAS_PART
            else (f"{self.vocabulary.label(feature)}: {self.vocabulary.label(value)}")
        )

    def not_recorded(self) -> tuple[str, ...]:
        return tuple(c.text for c in self.asked if c.status == UNKNOWN)

    def varies(self) -> tuple[str, ...]:
        return tuple(
            c.text if c.part else f"{self.vocabulary.label(c.slot)} {c.text}" for c in self.asked if c.status == VARIES
        )

    def disputed(self) -> tuple[str, ...]:
        return tuple(self.vocabulary.label(s) for s in sorted(self.choices.disputed) if s in self.choices.asked)

    def not_drawn(self) -> tuple[str, ...]:
        shown = {(f, v) for f, v, _ in self.shown}
        slots = [*self.choices.table.features, *self.choices.table.parts]
        out = []
        for choice in map(self.choices.of_slot, slots):
            if choice.recorded and choice.values:
                literals = [(names.HAS_PART, choice.slot)] if choice.part else [(choice.slot, v) for v in choice.drawn_values()]
                out += [self._text(*literal) for literal in literals if literal not in shown]
        return tuple(out)

    def length_text(self) -> str:
        span = self.facts.known.length
        if span is None:
            return "length not recorded: size of the drawing is no statement"
        low, high = span
        return f"length {low:g} mm" if low == high else f"length {low:g} to {high:g} mm, drawn as {self.length:.0f} mm"

    def column(self, marks: Mapping[str, str]) -> Column:
        rows = [("recorded", "recorded")]
        if self.not_recorded():
            rows.append(("not recorded", f"not recorded: {', '.join(self.not_recorded())}"))
        if self.varies():
            rows.append(("varies", f"made in more than one way: {'; '.join(self.varies())}"))
        if self.disputed():
            rows.append(("", f"disputed, drawn as adopted: {', '.join(self.disputed())}"))
        if self.not_drawn():
            rows.append(("", f"recorded and not drawn: {', '.join(self.not_drawn())}"))
        return Column(
            self.sheet, self.label, self._subtitle(), self.facts.known.length is not None, self.length_text(), rows, marks
        )

    def _subtitle(self) -> str:
        kinds = [v for f, v in self.facts.known.holds if f == names.OF_KIND]
        kind = self.vocabulary.label(self.vocabulary.narrowest(kinds)).removesuffix(" in general") if kinds else ""
        parent = self.vocabulary.terms[self.pattern].broader
        return ", ".join(t for t in (kind, f"a variant of {self.vocabulary.label(parent)}" if parent else "") if t)


def _shown(sheet: Sheet) -> tuple[tuple[str, str, str], ...]:
    """(feature, value, status) of every fact that a stroke shows, in order of first appearance."""
    found = {
        (t.feature, t.value): t.status
        for view in sheet.views
        for item in view.items
        if item.strokes
        for t in item.tags
        if t.value and t.status != UNKNOWN
    }
    return tuple((f, v, s) for (f, v), s in found.items())


def _make(subjects: Sequence[Subject], release: str) -> Drawing:
    marks, differences = _differences(subjects) if len(subjects) > 1 else ({}, [])
    page = compose([s.column(marks) for s in subjects], differences)
    labels = tuple(s.label for s in subjects)
    drawn = tuple(d for s in subjects for d in s.drawn())
    name = "d" + hashlib.sha256(" ".join(s.pattern for s in subjects).encode()).hexdigest()[:10]
    title = f"Schematic drawing: {listing(labels)}"
    said = ". ".join(
        f"{s.label}: {'; '.join(d.text for d in s.drawn()) or 'nothing recorded that can be drawn'}" for s in subjects
    )
    about = f"Boxlock {release}; {LICENCE}; study aid: schematic, not to shape"
    return Drawing(
        tuple(s.pattern for s in subjects),
        labels,
        drawn,
        {s.label: s.not_recorded() for s in subjects},
        {s.label: s.varies() for s in subjects},
        {s.label: s.disputed() for s in subjects},
        {s.label: s.not_drawn() for s in subjects},
        tuple(text for _, text in differences),
        tuple(s.model for s in subjects),
        document(page, title=title, text=f"{said}. {STUDY} {CAUTION}", metadata=about, name=name),
    )


def _differences(subjects: Sequence[Subject]) -> tuple[dict[str, str], list[tuple[str, str]]]:
    """(slot -> number, [(number, what differs)]): slots of which both are recorded, or in which a part is there or absent."""
    a, b = subjects
    slots = (*a.choices.table.features, *a.choices.table.parts)
    marks: dict[str, str] = {}
    rows: list[tuple[str, str]] = []
    for slot in sorted(slots, key=a.choices.place):
        one, two = a.choices.of_slot(slot), b.choices.of_slot(slot)
        said = [c.said(a.vocabulary) for c in (one, two)]
        if all(said) and said[0] != said[1]:
            marks[slot] = str(len(rows) + 1)
            rows.append((marks[slot], f"{a.vocabulary.label(slot)}: {said[0]} / {said[1]}"))
    return marks, rows
