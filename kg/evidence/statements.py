"""Evidence as records: sources and what they say.

A *statement* is one source, one subject (a pattern or a kind), one feature, one value, in one of three modes:
``is`` (true of every piece), ``some`` (true of some pieces: "made with"), ``not`` (expressly denied). A length is one
statement with a span in millimetres. In Turtle the mode is the predicate's namespace: ``bl:``, ``some:``, ``not:``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import pyoxigraph as ox

from kg import names
from kg.load import SourceFile

MODES = {"bl": "is", "some": "some", "not": "not"}
PREFIX_OF_MODE = {mode: prefix for prefix, mode in MODES.items()}
LENGTH = names.LENGTH
UNPUBLISHED = ("common practice", "memory")  # kinds of source that count only where nothing is published


@dataclass(frozen=True, order=True)
class Source:
    """Who says so. ``kind`` is one of the kinds weighted in adoption.toml; copies of one ``work`` have one vote."""

    name: str
    title: str
    publisher: str = ""
    kind: str = ""
    field: str = ""
    work: str = ""
    page: str = ""
    url: str = ""
    seen: str = ""

    @property
    def published(self) -> bool:
        return self.kind not in UNPUBLISHED

    def cite(self) -> str:
        """The source in one line, for people."""
        place = f", p. {self.page}" if self.page and f"p. {self.page}" not in self.title else ""
        kind = "" if not self.published else f", {self.publisher}" if self.publisher else ""
        animal = " (veterinary)" if self.field == "veterinary" else ""
        return f"{self.title}{kind}{place}{animal}"


@dataclass(frozen=True, order=True)
class Statement:
    """One thing one source says. For a length ``value`` is ``"127..177.8"`` or ``"140"`` (millimetres)."""

    subject: str
    feature: str
    mode: str
    value: str
    source: str


SOURCE_FIELDS = {
    "dcterms:title": "title",
    "dcterms:publisher": "publisher",
    "bl:sourceKind": "kind",
    "bl:field": "field",
    "bl:work": "work",
    "bl:page": "page",
    "bl:seen": "seen",
    "rdfs:seeAlso": "url",
}
"""Property of a source in an evidence file -> field of ``Source``, in the order in which a file has them."""


def read_sources(files: Iterable[SourceFile]) -> dict[str, Source]:
    """All sources declared in the files, by short name, sorted."""
    records: dict[str, dict[str, str]] = {}
    for file in files:
        for t in file.triples:
            subject = t.subject.value
            if not subject.startswith(names.PREFIXES["src"]):
                continue
            record = records.setdefault(names.shrink(subject), {})
            try:
                key = SOURCE_FIELDS.get(names.shrink(t.predicate.value))
            except ValueError:
                key = None
            if key:
                record[key] = t.object.value
    return {name: Source(name=name, **{"title": name, **record}) for name, record in sorted(records.items())}


def read_statements(file: SourceFile) -> tuple[Statement, ...]:
    """What the source of one evidence file says, sorted. The file's graph is named after its one ``bl:Source``."""
    type_iri, source_iri = names.expand("rdf:type"), names.expand("bl:Source")
    declared = [t.subject.value for t in file.triples if t.predicate.value == type_iri and t.object.value == source_iri]
    if len(declared) != 1:
        raise ValueError(f"{file.path}: an evidence file declares exactly one bl:Source, this one {len(declared)}")
    source = names.shrink(declared[0])
    out: set[Statement] = set()
    spans: dict[str, dict[str, list[float]]] = {}
    for t in file.triples:
        if t.subject.value == declared[0]:
            continue
        subject = names.shrink(t.subject.value)
        predicate = names.shrink(t.predicate.value)
        prefix, local = predicate.split(":", 1)
        if predicate == names.TYPE:
            what = (
                f"{file.path}: {subject} is said to be {t.object.value.rsplit('#')[-1]}: a category is inferred, never stated"
            )
            raise ValueError(f"{what}; state the features that define it")
        if predicate in (names.LENGTH_MIN, names.LENGTH_MAX):
            spans.setdefault(subject, {}).setdefault(predicate, []).append(float(t.object.value))
        elif prefix in MODES and isinstance(t.object, ox.NamedNode):
            out.add(Statement(subject, f"bl:{local}", MODES[prefix], names.shrink(t.object.value), source))
        else:
            raise ValueError(f"{file.path}: {subject} {predicate} is not the form of a statement")
    for subject, ends in spans.items():
        low, high = min(ends.get(names.LENGTH_MIN, [0])), max(ends.get(names.LENGTH_MAX, [0]))
        span = format_span(low, high)
        try:
            parse_span(span)
        except ValueError as e:
            raise ValueError(f"{file.path}: {subject}: {e}") from None
        out.add(Statement(subject, LENGTH, "is", span, source))
    return tuple(sorted(out))


def migrate(statement: Statement, replaced: Mapping[str, str]) -> Statement:
    """The statement with deprecated names replaced, so that data written for an older release keep their meaning."""
    feature = replaced.get(statement.feature, statement.feature)
    value = replaced.get(statement.value, statement.value)
    return replace(statement, subject=replaced.get(statement.subject, statement.subject), feature=feature, value=value)


def format_span(low: float, high: float) -> str:
    """(140, 140) -> "140"; (127, 177.8) -> "127..177.8"."""
    return f"{low:g}" if low == high else f"{low:g}..{high:g}"


def parse_span(text: str) -> tuple[float, float]:
    """The reverse of ``format_span``. Raises ValueError if it is not a span of positive numbers."""
    low, dots, high = text.partition("..")
    span = float(low), float(high if dots else low)
    if not 0 < span[0] <= span[1] < float("inf"):
        raise ValueError(f"not a length in millimetres: {text!r}")
    return span
