"""Rows -> sources, patterns and statements with the names of the catalogue, or findings that say what is not known.

Names may be ids (``bl:jawSurface`` or ``jawSurface``) or words: labels first, then synonyms, then misspellings. A word
that fits two things is a finding, never a guess.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches

from kg import names
from kg.evidence.statements import LENGTH, Source, Statement, format_span
from kg.intake.rows import Place, Report, Row, shorten
from kg.language.tokens import fold
from kg.vocabulary import Term, Vocabulary

SHORTEST_MM, LONGEST_MM = 10.0, 1000.0
FIELDS = ("human", "veterinary", "dental")
_MOST_NEAR = 200
"""Looking for near names is slow; a file with more unknown names than this has another fault."""
_TYPE_WORDS = (names.TYPE, "a", "type", "is a", "category", "class", "is")
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


class Words:
    """Folded words -> names, for terms of some roles."""

    def __init__(self, terms: Iterable[Term]) -> None:
        self._ranks: list[dict[str, list[str]]] = [{}, {}, {}]
        self._shown: dict[str, str] = {}
        self.names: set[str] = set()
        for term in terms:
            self.names.add(term.name)
            self._shown.setdefault(fold(term.label), term.label)
            local = term.name.split(":")[1]
            spelt = re.sub(r"(?<=[a-z0-9])(?=[A-Z])", " ", local)
            for rank, words in enumerate(((term.label,), (spelt, term.plural, *term.alt), term.hidden)):
                for word in words:
                    found = self._ranks[rank].setdefault(fold(word), []) if word else []
                    if term.name not in found:
                        found.append(term.name)
        self._near: dict[str, str] = {}
        self._locals = {n.split(":")[1]: n for n in sorted(self.names)}
        self._small = {k.casefold(): k for k in reversed(self._locals)}

    def find(self, text: str) -> list[str]:
        """Names that the text can mean: one if it is clear, several if it is not, none if it is not known."""
        if text in self.names:
            return [text]
        if text in self._locals:
            return [self._locals[text]]
        key = fold(" ".join(text.split()))
        return next((rank[key] for rank in self._ranks if key in rank), [])

    def near(self, text: str) -> str:
        """A known label or id that looks like the text; empty if none does, or if too much has been asked already."""
        plain = fold(" ".join(text.split())).rsplit(":", 1)[-1][:80]
        if plain not in self._near:
            if len(self._near) >= _MOST_NEAR:
                return ""
            found = get_close_matches(plain, sorted({*self._shown, *self._small}), 1, 0.7)
            self._near[plain] = (self._shown.get(found[0]) or self._small[found[0]]) if found else ""
        return self._near[plain]


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
        record = {c: row.text(c) for c in ("title", "publisher", "kind", "field", "work", "page", "url", "seen")}
        for column in ("kind", "field"):
            record[column] = record[column].casefold()
        at = row.place
        if not record["title"]:
            self.report.error("BL-I03", at, f"the source {name} has no title", "Give the title as it is printed.")
        if record["kind"] and record["kind"] not in self.kinds:
            near = get_close_matches(record["kind"], self.kinds, 1)
            fix = f"Did you mean {near[0]}?" if near else f"Kinds: {', '.join(self.kinds)}."
            self.report.error("BL-I05", row.at("kind"), f'"{shorten(record["kind"])}" is no kind of source', fix)
            record["kind"] = ""
        elif not record["kind"]:
            self.report.error("BL-I03", at, f"the source {name} says no kind", f"Kinds: {', '.join(self.kinds)}.")
        if record["field"] and record["field"] not in FIELDS:
            text = f'"{shorten(record["field"])}" is no field of a source'
            self.report.error("BL-I05", row.at("field"), text, f"Fields: {', '.join(FIELDS)}.")
            record["field"] = ""
        if record["url"] and not re.match(r"https?://[^\s<>\"]+$", record["url"]):
            self.report.error("BL-I03", row.at("url"), "this is no web address", "Write https://... or leave it empty.")
            record["url"] = ""
        source = Source(name, **{**record, "work": record["work"] or name.split(":")[1]})
        known = self.known_sources.get(name)
        if known is not None and (known.title != source.title or known.kind != source.kind):
            text = f'the id {name} is in use for another source: "{shorten(known.title)}"'
            self.report.error(
                "BL-I03", row.at("id"), text, "Choose another id; to cite that source, leave it out of your sources."
            )
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
            same = known.role == "pattern" and (known.label, known.definition) == (row.text("label"), row.text("definition"))
            if (row.text("label") or row.text("definition")) and not same:
                what = f"{name} is in the catalogue already ({known.label}, a {known.role})"
                self.report.error("BL-I03", at, what, "Leave the row out and state what is new of it, or choose another id.")
            if row.text("type"):
                self._category(row.text("type"), row.at("type"))
            return
        if name in self.out.patterns:
            self.report.error("BL-I03", at, f"the pattern {name} is described twice", "Keep one row.")
            return
        if not re.match(r"bl:[A-Z]", name):
            what = f"{name} does not begin with a capital letter, as the id of a pattern does"
            self.report.error("BL-I03", at, what, f"Write {name.split(':')[1][:1].upper()}{name.split(':')[1][1:]}.")
        texts = {c: row.text(c) for c in ("label", "plural", "definition")}
        split = {c: tuple(p.strip() for p in row.text(c).split("|") if p.strip()) for c in ("synonyms", "misspellings")}
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
        cited = [s.strip() for s in row.text("definition source").split("|") if s.strip()]
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

    def _id(self, row: Row, prefix: str) -> str:
        text = row.text("id")
        local = text.removeprefix(f"{prefix}:")
        if not text:
            return ""
        if not _ID.fullmatch(local) or len(local) > 100:
            what = f'"{shorten(text)}" cannot be an id'
            self.report.error("BL-I03", row.at("id"), what, "Use letters, digits and hyphens, without spaces.")
            return ""
        return f"{prefix}:{local}"
