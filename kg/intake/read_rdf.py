"""Turtle and TriG -> the same rows as a table gives, so that one set of checks serves both.

A Turtle file describes one source (``src:x a bl:Source``), what it says, and perhaps new patterns. In TriG each source is a
graph named after it; what stands outside the graphs describes sources and patterns. Nothing is fetched: an ``owl:imports``
is refused like any other statement that is no evidence.
"""

from __future__ import annotations

import re
from collections import defaultdict

import pyoxigraph as ox

from kg import names
from kg.evidence.statements import MODES, SOURCE_FIELDS
from kg.intake.rows import MOST_ROWS, Cell, Place, Report, Row, shorten
from kg.intake.tables import usable
from kg.nesting import too_deep

_PATTERN = {
    "rdfs:label": "label",
    "bl:plural": "plural",
    "skos:altLabel": "synonyms",
    "skos:hiddenLabel": "misspellings",
    names.VARIANT_OF: "variant of",
    "skos:definition": "definition",
    "dcterms:source": "definition source",
}
_LOGIC = tuple(names.PREFIXES[p] for p in ("owl", "rdfs"))
_FRAMEWORK = tuple(
    map(
        names.expand,
        ("bl:termRole", "bl:valueOf", "bl:choice", "bl:appliesTo", "bl:describesPart", "bl:denies", "skos:broader"),
    )
)
_NO_LOGIC = tuple(map(names.expand, ("rdfs:label", "rdfs:seeAlso", "rdfs:comment", "owl:NamedIndividual")))
_OF_TERMS = tuple(map(names.expand, ("bl:FeatureValue", "bl:PartKind", "bl:Concept", "bl:Kind", "bl:Finish", "bl:Choice")))
_LISTS = tuple(f"{names.PREFIXES['rdf']}{n}" for n in ("first", "rest", "reifies"))
_FORM = "Statements are bl:feature, some:feature or not:feature with a value; see ontology/README.md."


def read_rdf(text: str, shown: str, report: Report, *, named_graphs: bool) -> list[Row]:
    """The rows of one Turtle (or TriG) text. Findings for syntax, and for triples that are no evidence."""
    form = ox.RdfFormat.TRIG if named_graphs else ox.RdfFormat.TURTLE
    quads: list[ox.Quad] = []
    if deep := too_deep(text.encode("utf-8", "replace")):
        report.error("BL-I04", Place(shown), deep, "Evidence has no statements about statements; take them out.")
        return []
    try:
        for quad in ox.parse(text.encode(), format=form):
            quads.append(quad)
            if len(quads) > 3 * MOST_ROWS:
                report.error("BL-I04", Place(shown), f"more than {3 * MOST_ROWS:,} triples", "Split the file.")
                return []
    except SyntaxError as e:
        kind = "TriG" if named_graphs else "Turtle"
        what = f"not valid {kind}: {shorten(e.msg or '', 200)}"
        report.error(
            "BL-I03", Place(shown, e.lineno or 0), what, "Mend the line; often a full stop or a quotation mark is missing."
        )
        return []
    except ValueError as e:
        report.error("BL-I03", Place(shown), f"not valid RDF: {shorten(str(e), 200)}", "Mend the file.")
        return []
    return _Reader(shown, text, quads, report).rows()


class _Reader:
    def __init__(self, shown: str, text: str, quads: list[ox.Quad], report: Report) -> None:
        self.shown = shown
        self.report = report
        self.lines = _Lines(text)
        self.quads = quads
        kinds: dict[str, set[str]] = defaultdict(set)
        for q in quads:
            if q.predicate.value == names.expand(names.TYPE) and isinstance(q.subject, ox.NamedNode):
                kinds[q.subject.value].add(q.object.value)
        self.sources = sorted(s for s, k in kinds.items() if names.expand("bl:Source") in k)
        self.patterns = {s for s, k in kinds.items() if names.expand(names.PATTERN) in k}

    def rows(self) -> list[Row]:
        described: dict[tuple[str, str], dict[str, list[Cell]]] = {}
        statements: list[Row] = []
        spans: dict[tuple[str, str], dict[str, list[Cell]]] = defaultdict(lambda: defaultdict(list))
        for quad in self.quads:
            subject, predicate = quad.subject, _short(quad.predicate)
            at = self.lines.place(self.shown, quad)
            if _defining(quad):
                self._defines(at, predicate if predicate != names.TYPE else _short(quad.object))
                continue
            if isinstance(subject, ox.BlankNode) or isinstance(quad.object, ox.BlankNode):
                if quad.predicate.value not in _LISTS:  # the brackets of a list were met where the list is used
                    self.report.error("BL-I03", at, "something without a name ([ ], ( ) or _:x) is no evidence", _FORM)
                continue
            if not isinstance(subject, ox.NamedNode):
                self.report.error("BL-I03", at, "a statement about a statement is no evidence", _FORM)
                continue
            iri, value = subject.value, quad.object
            if iri in self.sources:
                self._describe(described, "sources", iri, predicate, value, at, SOURCE_FIELDS)
            elif iri in self.patterns and (predicate in _PATTERN or predicate == names.TYPE):
                self._describe(described, "patterns", iri, predicate, value, at, _PATTERN)
            elif predicate in _PATTERN:
                self._redescribes(iri, predicate, at)
            elif predicate in (names.LENGTH_MIN, names.LENGTH_MAX):
                source = self._source(quad, at)
                if source and self._plain(value, at):
                    spans[source, iri][predicate].append(Cell(value.value, at))
            else:
                row = self._statement(quad, predicate, at)
                if row:
                    statements.append(row)
        out = [self._described(table, iri, fields) for (table, iri), fields in described.items()]
        out += [row for key, ends in spans.items() if (row := self._length(*key, ends))]
        return out + statements

    def _defines(self, at: Place, construct: str) -> None:
        text = f"{shorten(construct)} defines a category or another term; evidence says what an instrument is like, and defines"
        self.report.error("BL-I07", at, f"{text} nothing", "State the features; categories follow from them.")

    def _redescribes(self, iri: str, predicate: str, at: Place) -> None:
        text = f"{shorten(predicate)} describes {shorten(names.shown(iri))}, which is no new pattern of this file"
        fix = "Only a new pattern (a bl:Pattern) is described here; the terms of the catalogue stay as they are."
        self.report.error("BL-I07", at, text, fix)

    def _describe(self, described, table: str, iri: str, predicate: str, value, at: Place, columns: dict[str, str]) -> None:
        fields = described.setdefault((table, iri), {"": [Cell("", at)]})
        if predicate == names.TYPE:
            own = {"sources": ("bl:Source",), "patterns": (names.PATTERN, "owl:NamedIndividual")}[table]
            if _short(value) not in own:
                if table == "patterns":  # a category stated of a new pattern
                    fields.setdefault("type", []).append(Cell(_short(value), at))
                else:
                    self.report.error("BL-I03", at, f"a source is not a {shorten(_short(value))}", "Leave the type out.")
        elif predicate in columns:
            if self._plain(value, at) and self._text(columns[predicate], table, value, at):
                fields.setdefault(columns[predicate], []).append(Cell(_short(value), at))
        else:
            self.report.error("BL-I03", at, f"a source has no {shorten(predicate)}", f"Known: {', '.join(columns)}.")

    def _described(self, table: str, iri: str, fields: dict[str, list[Cell]]) -> Row:
        place = self.lines.subject(self.shown, iri)
        cells = {"id": Cell(_short(ox.NamedNode(iri)), place)}
        for column, found in fields.items():
            if not column:
                continue
            if len(found) > 1 and column not in ("synonyms", "misspellings", "definition source", "type"):
                self.report.error("BL-I03", found[1].place, f"the {column} is given twice", "Keep one.")
            parts = [c.text.replace("|", "/") for c in found] if len(found) > 1 else [found[0].text]
            cells[column] = Cell("|".join(parts), found[0].place)
        return Row(table, cells, place)

    def _statement(self, quad: ox.Quad, predicate: str, at: Place) -> Row | None:
        prefix, _, local = predicate.partition(":")
        subject, value = _short(quad.subject), quad.object
        if predicate == names.TYPE:
            feature, mode = names.TYPE, "is"
        elif prefix in MODES:
            feature, mode = f"bl:{local}", MODES[prefix]
        else:
            known = f"{shorten(predicate)} is no property of evidence"
            self.report.error("BL-I05", at, known, _FORM)
            return None
        if feature in (names.LENGTH_MIN, names.LENGTH_MAX):
            self.report.error(
                "BL-I03", at, "a length has the mode is", "Write bl:shortestLength and bl:longestLength, all sizes."
            )
            return None
        if not isinstance(value, ox.NamedNode) and feature != names.LENGTH:
            what = f"the value of {shorten(feature)} is text; a value is a name"
            self.report.error("BL-I03", at, what, "Write bl:Name, without quotation marks.")
            return None
        source = self._source(quad, at)
        if not source:
            return None
        texts = {"source": source, "subject": subject, "mode": mode, "feature": feature, "value": _short(value)}
        return Row("statements", {c: Cell(t, at) for c, t in texts.items()}, at)

    def _source(self, quad: ox.Quad, at: Place) -> str:
        """Who says a triple: the graph it stands in, else the one source that the file declares."""
        graph = quad.graph_name
        if isinstance(graph, ox.NamedNode):
            return _short(graph)
        if isinstance(graph, ox.BlankNode):
            what = "this graph has no name, so nobody can tell who says this"
            self.report.error("BL-I03", at, what, "Name the graph after its source: src:name { ... }.")
            return ""
        if len(self.sources) == 1:
            return _short(ox.NamedNode(self.sources[0]))
        number = "no source" if not self.sources else f"{len(self.sources)} sources"
        what = f"the file declares {number}, so nobody can tell who says this"
        self.report.error("BL-I03", at, what, "Declare one (src:name a bl:Source; ...), or use TriG with one graph a source.")
        return ""

    def _length(self, source: str, iri: str, ends: dict[str, list[Cell]]) -> Row | None:
        low, high = ends.get(names.LENGTH_MIN, []), ends.get(names.LENGTH_MAX, [])
        at = (low or high)[0].place
        if not low or not high:
            what = "a length has only one of bl:shortestLength and bl:longestLength"
            self.report.error("BL-I03", at, what, "Give both, equal if there is one size.")
            return None
        if len(low) > 1 or len(high) > 1:
            self.report.error("BL-I03", at, "one source gives two lengths", "Give the shortest and the longest size.")
            return None
        span = low[0].text if low[0].text == high[0].text else f"{low[0].text}..{high[0].text}"
        cells = {"source": source, "subject": _short(ox.NamedNode(iri)), "mode": "is", "feature": names.LENGTH, "value": span}
        return Row("statements", {c: Cell(t, at) for c, t in cells.items()}, at)

    def _plain(self, value, at: Place) -> bool:
        """Whether a text is as a cell of a table may be; names are looked at elsewhere."""
        return isinstance(value, ox.NamedNode) or usable(Cell(value.value.strip(), at), self.report)

    def _text(self, column: str, table: str, value, at: Place) -> bool:
        """Whether a description is of the right form: names where names belong, and texts, English ones for a pattern."""
        what = ""
        if column in ("variant of", "definition source", "url"):
            return True  # resolved like a cell of a table, names or texts
        if isinstance(value, ox.NamedNode):
            what = f"the {column} is a name ({shorten(_short(value))}), not a text"
        elif table == "patterns" and value.language and not value.language.startswith("en"):
            what = f"the {column} is in another language (@{value.language}); the catalogue is English"
        elif table == "patterns" and not value.language and value.datatype.value != names.expand("xsd:string"):
            what = f"the {column} is no text but {shorten(_short(value.datatype))}"
        if what:
            self.report.error("BL-I03", at, what, 'Write "..."@en.')
        return not what


class _Lines:
    """The lines of the text, to find a triple again; by local names, since a file may choose its own prefixes."""

    def __init__(self, text: str) -> None:
        self._of: dict[str, list[int]] = defaultdict(list)
        self._starts: dict[str, list[int]] = defaultdict(list)
        for number, line in enumerate(text.split("\n"), 1):
            words = re.findall(r"[A-Za-z0-9_-]+", line[:2000])
            for word in dict.fromkeys(words):
                self._of[word].append(number)
            if not line[:1].isspace():
                for word in words[:8]:
                    self._starts[word].append(number)

    def subject(self, shown: str, iri: str) -> Place:
        return Place(shown, next(iter(self._starts.get(_local(iri), ())), 0))

    def place(self, shown: str, quad: ox.Quad) -> Place:
        start = next(iter(self._starts.get(_local(getattr(quad.subject, "value", "")), ())), 0)
        value = getattr(quad.object, "value", "")
        word = _local(value) if isinstance(quad.object, ox.NamedNode) else next(iter(re.findall(r"[A-Za-z0-9_-]+", value)), "")
        predicate = set(self._of.get(_local(quad.predicate.value), ()))
        if quad.predicate.value == names.expand(names.TYPE):
            predicate |= set(self._of.get("a", ()))
        for number in self._of.get(word, ()):
            if number >= start and number in predicate:
                return Place(shown, number)
        after = [n for n in sorted(predicate) if n >= start]
        return Place(shown, after[0] if after else start)


def _defining(quad: ox.Quad) -> bool:
    """Whether a triple is of the logic, or describes a term as the ontology does; its subject may be without a name."""
    predicate, value = quad.predicate.value, getattr(quad.object, "value", "")
    if predicate == names.expand(names.TYPE):
        kinds = (*_LOGIC, names.PREFIXES["skos"])
        known = (*_NO_LOGIC, *map(names.expand, ("bl:Source", names.PATTERN)))
        return value not in known and (value.startswith(kinds) or value in _OF_TERMS)
    return predicate in _FRAMEWORK or (predicate.startswith(_LOGIC) and predicate not in _NO_LOGIC)


def _local(iri: str) -> str:
    return re.split(r"[#/]", iri)[-1]


def _short(node) -> str:
    if not isinstance(node, ox.NamedNode):
        return getattr(node, "value", "")
    return names.shown(node.value)
