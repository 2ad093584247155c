"""Rows -> sources, patterns and statements with the names of the catalogue, or findings that say what is not known.

Names may be ids (``bl:jawSurface`` or ``jawSurface``) or words: labels first, then synonyms, then misspellings. A word
that fits two things is a finding, never a guess.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from difflib import get_close_matches

from kg import names
from kg.evidence.statements import LENGTH, Source, Statement, format_span
from kg.intake.rows import Place, Report, Row, shorten
from kg.intake.words import Words
from kg.language.tokens import fold
from kg.vocabulary import Term, Vocabulary

SHORTEST_MM, LONGEST_MM = 10.0, 1000.0
FIELDS = ("human", "veterinary", "dental")
_TYPE_WORDS = (names.TYPE, "a", "type", "is a", "category", "class", "is")
_RESERVED = ("con", "prn", "aux", "nul", *(f"{d}{n}" for d in ("com", "lpt") for n in range(1, 10)))
"""Names of devices on Windows; an id becomes the name of a file."""
_ID = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9_-]*[A-Za-z0-9])?")
_SPAN = re.compile(r"(\d+(?:\.\d+)?)(?:\s*(?:\.\.|-|–|to)\s*(\d+(?:\.\d+)?))?(?:\s*mm)?", re.IGNORECASE)


@dataclass(frozen=True)
class Pattern:
    """A new pattern as given: names resolved, texts as they are; ``place`` is that of its row."""

    name: str
    label: str
    plural: str
    synonyms: tuple[str, ...]
    misspellings: tuple[str, ...]
    variant_of: str
    definition: str
    sources: tuple[str, ...]
    place: Place


@dataclass
class Staging:
    """What the files hold, as far as it could be understood. ``said``: statement -> place of its first mention."""

    sources: dict[str, Source] = field(default_factory=dict)
    patterns: dict[str, Pattern] = field(default_factory=dict)
    said: dict[Statement, Place] = field(default_factory=dict)
    places: dict[str, Place] = field(default_factory=dict)
    """Term or source -> where it is declared, or first spoken of."""

    @property
    def empty(self) -> bool:
        return not (self.sources or self.patterns or self.said)


def resolve(
    rows: Iterable[Row], vocabulary: Vocabulary, sources: Mapping[str, Source], kinds: Iterable[str], report: Report
) -> Staging:
    """``vocabulary`` and ``sources``: what is known already; ``kinds``: the kinds of source that can be weighed."""
    rows = list(rows)
    out = Staging()
    work = _Resolver(vocabulary, sources, tuple(kinds), out, report)
    for table, step in (("sources", work.source), ("patterns", work.pattern_id), ("patterns", work.pattern)):
        for row in rows:
            if row.table == table:
                step(row)
    for row in rows:
        if row.table == "statements":
            work.statement(row)
    return out


class _Resolver:
    def __init__(self, vocabulary: Vocabulary, sources: Mapping[str, Source], kinds: tuple[str, ...], out: Staging, report):
        self.vocabulary = vocabulary
        self.known_sources = sources
        self.kinds = kinds
        self.out = out
        self.report: Report = report
        self._values: dict[str, Words] = {}
        by = vocabulary.by_role
        self.features = Words([*by("feature"), *(t for t in by("property"))])
        self.parts = Words(by("part"))
        self.categories = Words(by("category"))
        self.all_values = Words(by("value"))
        self.subjects = Words([*by("pattern"), *by("kind")])
        self.patterns = Words(by("pattern"))
        self.source_words = Words([])

    # --- sources ----------------------------------------------------------------------------------------------------
    def source(self, row: Row) -> None:
        name = self._id(row, "src")
        if not name:
            return
        record = {
            c: " ".join(row.text(c).split()) for c in ("title", "publisher", "kind", "field", "work", "page", "url", "seen")
        }
        for column in ("kind", "field"):
            record[column] = record[column].casefold()
        at = row.place
        if not record["title"]:
            self._lacks(row, "title", f"the source {name} has no title", "Give the title as it is printed.")
        if record["kind"] and record["kind"] not in self.kinds:
            near = get_close_matches(record["kind"], self.kinds, 1)
            fix = f"Did you mean {near[0]}?" if near else f"Kinds: {', '.join(self.kinds)}."
            self.report.error("BL-I05", row.at("kind"), f'"{shorten(record["kind"])}" is no kind of source', fix)
            record["kind"] = ""
        elif not record["kind"]:
            self._lacks(row, "kind", f"the source {name} says no kind", f"Kinds: {', '.join(self.kinds)}.")
        if record["field"] and record["field"] not in FIELDS:
            text = f'"{shorten(record["field"])}" is no field of a source'
            self.report.error("BL-I05", row.at("field"), text, f"Fields: {', '.join(FIELDS)}.")
            record["field"] = ""
        if record["url"] and not re.match(r"https?://[^\s<>\"]+$", record["url"]):
            self.report.error("BL-I03", row.at("url"), "this is no web address", "Write https://... or leave it empty.")
            record["url"] = ""
        if record["seen"] and not _seen(record["seen"]):
            text = f'"{shorten(record["seen"], 30)}" is no date on which a source can have been seen'
            self.report.error("BL-I03", row.at("seen"), text, "Write year and month, as 2026-01, not later than today.")
            record["seen"] = ""
        source = Source(name, **{**record, "work": record["work"] or name.split(":")[1]})
        known = self.known_sources.get(name)
        if known is not None and (known.title != source.title or known.kind != source.kind):
            text = f'the id {name} is in use for another source: "{shorten(known.title)}"'
            self.report.error(
                "BL-I03", row.at("id"), text, "Choose another id; to cite that source, leave it out of your sources."
            )
            return
        if name not in self.known_sources and self._in_other_case(name, [*self.known_sources, *self.out.sources], row.at("id")):
            return
        if name in self.out.sources and self.out.sources[name] != source:
            self.report.error("BL-I03", row.at("id"), f"the source {name} is described twice, in two ways", "Keep one row.")
            return
        if record["kind"] and known is None:
            self.out.sources.setdefault(name, source)
        self.out.places.setdefault(name, at)

    def _source_named(self, text: str, at: Place) -> str:
        sources = {**self.known_sources, **self.out.sources}
        short = text if text.startswith("src:") else f"src:{text}"
        if short in sources:
            return short
        found = sorted(n for n, s in sources.items() if fold(s.title) == fold(text))
        if len(found) == 1:
            return found[0]
        if found:
            self.report.error(
                "BL-I05", at, f'"{shorten(text)}" is the title of {len(found)} sources', f"Say which: {', '.join(found[:5])}."
            )
            return ""
        if short not in self.out.places:  # a source that is faulty itself has been reported
            near = get_close_matches(text[:80], [n.removeprefix("src:") for n in sources], 1, 0.75)
            fix = f"Did you mean {near[0]}?" if near else "Describe it in the table sources."
            self.report.error("BL-I05", at, f'"{shorten(text)}" is no source that is known or described here', fix)
        return ""

    # --- patterns ---------------------------------------------------------------------------------------------------
    def pattern_id(self, row: Row) -> None:
        """First pass: the names alone, so that patterns may refer to each other in any order."""
        name = self._id(row, "bl")
        if not name:
            return
        at = row.at("id")
        known = self.vocabulary.terms.get(name)
        if known is not None:
            if not self._as_known(row, known):
                what = f"{name} is in the catalogue already ({known.label}, a {known.role})"
                self.report.error("BL-I03", at, what, "Leave the row out and state what is new of it, or choose another id.")
            if row.text("type"):
                self._category(row.text("type"), row.at("type"))
            return
        if name in self.out.patterns:
            self.report.error("BL-I03", at, f"the pattern {name} is described twice", "Keep one row.")
            return
        if self._in_other_case(name, [*self.vocabulary.terms, *self.out.patterns], at):
            return
        if not re.match(r"bl:[A-Z]", name):
            what = f"{name} does not begin with a capital letter, as the id of a pattern does"
            self.report.error("BL-I03", at, what, f"Write {name.split(':')[1][:1].upper()}{name.split(':')[1][1:]}.")
        texts = {c: " ".join(row.text(c).split()) for c in ("label", "plural", "definition")}
        split = {c: _split(row.text(c)) for c in ("synonyms", "misspellings")}
        self.out.patterns[name] = Pattern(
            name,
            texts["label"],
            texts["plural"],
            split["synonyms"],
            split["misspellings"],
            "",
            texts["definition"],
            (),
            row.place,
        )
        self.out.places.setdefault(name, row.place)

    def _as_known(self, row: Row, known: Term) -> bool:
        """Whether a row only repeats what is known of a pattern, or says nothing of it."""
        if known.role != "pattern":
            return False
        parent = self.patterns.find(row.text("variant of")) if row.text("variant of") else []
        told: dict[str, tuple[str, ...]] = {
            "label": (known.label,),
            "plural": (known.plural,),
            "synonyms": known.alt,
            "misspellings": known.hidden,
            "definition": (known.definition,),
        }
        same = all(set(_split(row.text(c)) if len(t) != 1 else (row.text(c),)) <= {*t, ""} for c, t in told.items())
        return same and (not row.text("variant of") or parent == [known.broader])

    def pattern(self, row: Row) -> None:
        """Second pass: what a pattern refers to."""
        name = row.text("id") if ":" in row.text("id") else f"bl:{row.text('id')}"
        staged = self.out.patterns.get(name)
        if staged is None or staged.place != row.place:
            return
        self._with_staged()
        parent = ""
        if row.text("variant of"):
            parent = self._one(self.patterns, row.text("variant of"), row.at("variant of"), "pattern")
        cited = _split(row.text("definition source"))
        sources = tuple(s for c in cited if (s := self._source_named(c, row.at("definition source"))))
        self.out.patterns[name] = Pattern(**{**staged.__dict__, "variant_of": parent, "sources": sources})
        if row.text("type"):
            self._category(row.text("type"), row.at("type"))

    def _with_staged(self) -> None:
        """Makes the new patterns known as words too; once."""
        if not self.out.patterns or next(iter(self.out.patterns)) in self.patterns.names:
            return
        new = [
            Term(p.name, "pattern", p.label or p.name.split(":")[1], p.plural, p.synonyms) for p in self.out.patterns.values()
        ]
        by = self.vocabulary.by_role
        self.patterns = Words([*by("pattern"), *new])
        self.subjects = Words([*by("pattern"), *new, *by("kind")])

    # --- statements -------------------------------------------------------------------------------------------------
    def statement(self, row: Row) -> None:
        self._with_staged()
        text = row.text
        if any(not text(c) for c in ("source", "subject", "mode", "feature", "value")):
            return  # reported with the form
        source = self._source_named(text("source"), row.at("source"))
        subject = self._subject(text("subject"), row.at("subject"))
        mode = text("mode").casefold()
        if mode not in ("is", "some", "not"):
            self.report.error("BL-I03", row.at("mode"), f'the mode is "{shorten(mode)}"', "Modes: is (every piece), some, not.")
            mode = ""
        if fold(text("feature")) in _TYPE_WORDS:
            self._category(text("value"), row.at("feature"))
            return
        feature = self._feature(row)
        value = self._value(feature, row) if feature else ""
        if feature == LENGTH and mode not in ("is", ""):
            self.report.error("BL-I03", row.at("mode"), "a length has the mode is", "Give all sizes made, as 127..178.")
            return
        if source and subject and mode and feature and value:
            first = self.out.said.get(Statement(subject, feature, mode, value, source))
            if first:
                where = first.cell if "!" in first.cell else f"{'row' if first.cell else 'line'} {first.line}"
                self.report.warning("BL-I03", row.place, f"this is said already, in {where}", "One of them can go.")
            self.out.said.setdefault(Statement(subject, feature, mode, value, source), row.at("value"))
            self.out.places.setdefault(subject, row.place)

    def _subject(self, text: str, at: Place) -> str:
        if not self.subjects.find(text) and self.categories.find(text):
            what = f'"{shorten(text)}" is a category, and nothing is said of a category'
            self.report.error("BL-I07", at, what, "Say it of a pattern, or of a kind (the labels that end in: in general).")
            return ""
        return self._one(self.subjects, text, at, "pattern or kind")

    def _feature(self, row: Row) -> str:
        text, at = row.text("feature"), row.at("feature")
        if text in (names.LENGTH_MIN, names.LENGTH_MAX):
            text = LENGTH
        if not self.features.find(text) and len(part := self.parts.find(text)) == 1:
            label, words = self.vocabulary.label(part[0]), [f'"{self.vocabulary.label(p)}"' for p in names.PARTS]
            what = f'"{shorten(text)}" is a part, not a feature'
            self.report.error("BL-I05", at, what, f"Write {' or '.join(words)} as the feature, and {label} as the value.")
            return ""
        return self._one(self.features, text, at, "feature")

    def _value(self, feature: str, row: Row) -> str:
        text, at = row.text("value"), row.at("value")
        if feature == LENGTH:
            return self._length(text, at)
        if feature not in self._values:
            self._values[feature] = self._words_of(feature)
        allowed = self._values[feature]
        found = allowed.find(text)
        if len(found) == 1:
            return found[0]
        label = self.vocabulary.label(feature)
        if found:
            labels = ", ".join(self.vocabulary.label(f) for f in found[:5])
            what = f'"{shorten(text)}" can mean {len(found)} values of {label}: a narrower word is needed'
            self.report.error("BL-I05", at, what, f"Say which: {labels}.")
            return ""
        elsewhere = [n for n in self.all_values.find(text) if self.vocabulary.terms[n].feature != feature]
        near = allowed.near(text)
        if elsewhere:
            home = self.vocabulary.label(self.vocabulary.terms[elsewhere[0]].feature)
            what = f'"{shorten(text)}" is a value of another feature: {home}, not {label}'
            self.report.error("BL-I05", at, what, f"Write the feature {home}, or a value of {label}.")
        elif self.categories.find(text):
            self._category(text, at, near=near)
        else:
            fix = f"Did you mean {near}?" if near else f"Values: {self._some_values(allowed)}."
            self.report.error("BL-I05", at, f'"{shorten(text)}" is no value of {label}', fix)
        return ""

    def _words_of(self, feature: str) -> Words:
        if feature in names.PARTS:
            return self.parts
        home = self.vocabulary.features[feature].denies or feature
        values = [self.vocabulary.terms[v] for v in self.vocabulary.values_of(home)]
        return Words(values) if values else self.patterns

    def _some_values(self, allowed: Words) -> str:
        labels = sorted(self.vocabulary.label(n) for n in allowed.names)
        return ", ".join(labels[:8]) + (f" and {len(labels) - 8} more" if len(labels) > 8 else "")

    def _length(self, text: str, at: Place) -> str:
        match = _SPAN.fullmatch(text)
        if not match or len(text) > 40:
            what = f'"{shorten(text, 30)}" is no length in millimetres'
            self.report.error("BL-I03", at, what, "Write a number, as 140, or a span, as 127..178; 14 cm is 140.")
            return ""
        low, high = float(match[1]), float(match[2] or match[1])
        if low > high:
            self.report.error("BL-I03", at, "the longest size is shorter than the shortest", "Write the shorter one first.")
            return ""
        if low < SHORTEST_MM or high > LONGEST_MM:
            odd = low if low < SHORTEST_MM else high
            what = f"a length of {odd:g} mm is not plausible for a hand instrument"
            self.report.error("BL-I03", at, what, f"Lengths are millimetres, {SHORTEST_MM:g} to {LONGEST_MM:g}.")
            return ""
        return format_span(low, high)

    def _category(self, text: str, at: Place, near: str = "") -> None:
        found = self.categories.find(text)
        label = self.vocabulary.label(found[0]) if found else shorten(text)
        what = f"this says that something is {'of the category ' if found else ''}{label}: a category is inferred, never stated"
        conditions = self.vocabulary.definitions.get(found[0], ()) if found else ()
        features = "; ".join(
            f"{self.vocabulary.label(p)}: {self.vocabulary.label(v)}" for p, v in conditions if p != names.TYPE
        )
        fix = f"State the features that define it ({features})." if features else "State the features that define it."
        self.report.error("BL-I07", at, what, fix + (f" If a kind is meant: {near}." if near else ""))

    def _one(self, words: Words, text: str, at: Place, what: str) -> str:
        found = words.find(text)
        if len(found) == 1:
            return found[0]
        if found:
            listed = ", ".join(f"{n} ({self.vocabulary.label(n)})" for n in found[:5])
            self.report.error("BL-I05", at, f'"{shorten(text)}" can mean {len(found)} things', f"Say which: {listed}.")
        else:
            near = words.near(text)
            fix = f"Did you mean {near}?" if near else f"See the list of names in the template for every {what}."
            self.report.error("BL-I05", at, f'"{shorten(text)}" is no {what} that is known', fix)
        return ""

    def _lacks(self, row: Row, column: str, what: str, fix: str) -> None:
        """A finding that something is not given; with the form of a table it has been made already."""
        if not any(
            f.line == row.place.line and f.file == row.place.file and f"no {column}" in f.text for f in self.report.errors
        ):
            self.report.error("BL-I03", row.place, what, fix)

    def _id(self, row: Row, prefix: str) -> str:
        text = row.text("id")
        local = text.removeprefix(f"{prefix}:")
        if not text:
            return ""
        if not _ID.fullmatch(local) or len(local) > 100 or local.casefold() in _RESERVED:
            what = f'"{shorten(text)}" cannot be an id'
            fix = "Use letters, digits and hyphens, without spaces"
            fix += f"; the full form is {prefix}:Name." if ":" in text else "."
            self.report.error("BL-I03", row.at("id"), what, fix)
            return ""
        return f"{prefix}:{local}"

    def _in_other_case(self, name: str, known: Iterable[str], at: Place) -> bool:
        """A finding if an id differs from another in capitals alone: each becomes the name of a file."""
        other = next((n for n in known if n != name and n.casefold() == name.casefold()), "")
        if other:
            what = f"{name} differs from {other} in capitals alone"
            self.report.error("BL-I03", at, what, "Choose another id, or write it as it stands there.")
        return bool(other)


def _split(text: str) -> tuple[str, ...]:
    return tuple(" ".join(p.split()) for p in text.split("|") if p.strip())


def _seen(text: str) -> bool:
    """Whether a text is a year, a month or a day that has begun."""
    match = re.fullmatch(r"((?:19|20)[0-9]{2})(?:-(0[1-9]|1[0-2])(?:-(0[1-9]|[12][0-9]|3[01]))?)?", text)
    return bool(match) and text <= date.today().isoformat()[: len(text)]
