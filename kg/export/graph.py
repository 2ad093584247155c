"""A part of the catalogue as Turtle or JSON-LD: patterns, what is adopted of them, the axioms they reach, and who says what.

The file stands on its own. For any OWL tool it is an ontology in OWL 2 DL: the patterns with their adopted facts, and the
axioms that these facts can reach (``kg.reason.neighbourhood``), so that categories follow as they do in the whole catalogue.
What each source says is written beside that as statements, with annotation properties only, since a statement that was not
adopted must not be asserted::

    [] a bl:Statement ; bl:about bl:SomePattern ; bl:says bl:curvature ; bl:value bl:Curved ; dcterms:source src:some-book .

``bl:says`` has the mode in its namespace, as in evidence files: ``bl:`` every piece, ``some:`` some pieces, ``not:`` denied.
``kg.export.reopen`` reads the statements alone and reasons over them again.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import pyoxigraph as ox

from kg import names
from kg.build import Staged, release, stage
from kg.errors import InputError
from kg.evidence.statements import LENGTH, PREFIX_OF_MODE, SOURCE_FIELDS, Statement, parse_span
from kg.export.gather import EVERY_OPEN, subjects_of
from kg.export.wishes import Wishes, check_wishes, the_date
from kg.load import SourceFile
from kg.render.english import CAUTION
from kg.render.spans import clean
from kg.vocabulary import Vocabulary

if TYPE_CHECKING:
    from kg.catalogue import Catalogue

LICENCE = "https://creativecommons.org/licenses/by/4.0/"
STATEMENT, ABOUT, SAYS, VALUE = "bl:Statement", "bl:about", "bl:says", "bl:value"
SHORTEST, LONGEST = names.LENGTH_MIN, names.LENGTH_MAX
_OWN = {
    STATEMENT: "One thing that one source says. It is evidence: it may be adopted or not.",
    ABOUT: "The pattern, or the kind of patterns, that a statement is about.",
    SAYS: "What is said: a feature, in the namespace of the mode. bl: of every piece, some: of some pieces, not: denied.",
    VALUE: "The value that is said; a length has shortestLength and longestLength in millimetres instead.",
}
_PREFIXES = ("bl", "kind", "src", "some", "not", "owl", "rdf", "rdfs", "skos", "dcterms", "xsd")


def graph_bytes(catalogue: Catalogue, text: str, wishes: Wishes, ending: str) -> bytes:
    """The file that holds every pattern of an answer: matches, disputed ones and those that could match.

    Raises QuestionError if the question is not understood; InputError (BL-I01) if the answer names no pattern.
    """
    check_wishes(wishes)
    day = the_date(wishes.date)
    question = catalogue.parse(text)
    answer = catalogue.answer(question, text, limit=EVERY_OPEN)
    found = [n for n, _ in subjects_of(question, answer, catalogue.context)] + [p.name for p in answer.possible]
    if not found:
        what = "This answer names no pattern, so there is nothing to write as a graph."
        raise InputError("BL-I01", what, hint="Write it as .html, .pdf, .md, .csv or .json.")
    staged = staging_of(catalogue)
    dataset = subset(staged, found)
    header = {
        "dcterms:title": wishes.own_title or answer.reading,
        "dcterms:description": f"Patterns of the answer to: {answer.question}. Read as: {answer.reading}. {CAUTION}",
        "dcterms:created": day,
        "dcterms:license": LICENCE,
        "owl:versionInfo": f"written by Boxlock {release()}",
    }
    _head(dataset, header, found)
    return (to_turtle if ending == ".ttl" else to_jsonld)(dataset).encode()


def staging_of(catalogue: Catalogue) -> Staged:
    """The evidence behind an open catalogue: of an exported file that of the file, else the user's own included."""
    from kg import overlay, paths

    if catalogue.exported is not None:
        from kg.export.reopen import files_of

        return stage(catalogue.root, files_of(catalogue.exported, catalogue.exported.read_bytes()), alone=True)
    own: tuple[SourceFile, ...] = ()
    home = paths.own_dir()
    if catalogue.folder.is_relative_to(home):
        from kg.intake.turtle import source_files

        own = source_files(overlay.read_files(overlay.current(home)))
    return stage(catalogue.root, own)


def with_family(vocabulary: Vocabulary, patterns: Iterable[str]) -> list[str]:
    """The patterns with their parents and all variants of these, on which what is adopted of a parent depends; sorted.

    Patterns that one of them is recorded to fit on come along, so that no name is left without its term.
    """
    out: set[str] = set()
    for pattern in patterns:
        root = (pattern, *vocabulary.ancestors(pattern))[-1]
        out |= vocabulary.subtree(root)
    return sorted(out)


def subset(staged: Staged, patterns: Iterable[str]) -> set[ox.Triple]:
    """The triples of the patterns, their axioms and their evidence."""
    from kg.reason.neighbourhood import neighbourhoods

    vocabulary = staged.vocabulary
    chosen = _closed(staged, with_family(vocabulary, patterns))
    (logic,) = neighbourhoods(staged.with_facts(chosen), [chosen])
    triples = set(_from_rdflib(logic))
    kinds: set[str] = set()
    for pattern in chosen:
        for prop, value in staged.records[pattern].facts:
            if prop == names.OF_KIND:
                kinds |= {value, *vocabulary.ancestors(value)}
    said = [s for s in staged.statements if s.subject in {*chosen, *kinds}]
    for n, statement in enumerate(said):
        triples |= _statement(statement, n)
    named = {names.shrink(t.value) for triple in triples for t in (triple.subject, triple.object) if _is_ours(t)}
    for name in sorted({s.source for s in said}):
        triples |= _source(staged, name)
    triples |= _lengths(staged, chosen)
    triples |= _words(staged, vocabulary, chosen, named)
    for own, comment in _OWN.items():
        kind = "owl:Class" if own == STATEMENT else "owl:AnnotationProperty"
        triples.add(ox.Triple(_node(own), _node("rdf:type"), _node(kind)))
        triples.add(ox.Triple(_node(own), _node("rdfs:comment"), ox.Literal(comment, language="en")))
    triples.add(ox.Triple(_node("bl:Source"), _node("rdf:type"), _node("owl:Class")))
    for datatype in (SHORTEST, LONGEST):
        triples.add(ox.Triple(_node(datatype), _node("rdf:type"), _node("owl:DatatypeProperty")))
    return triples


def _closed(staged: Staged, patterns: list[str]) -> list[str]:
    """With the patterns that are values of statements about these ("fits"), and their families."""
    vocabulary, chosen = staged.vocabulary, set(patterns)
    while True:
        more = {s.value for s in staged.statements if s.subject in chosen and s.value in staged.records} - chosen
        if not more:
            return sorted(chosen)
        chosen |= set(with_family(vocabulary, more))


def _statement(s: Statement, n: int) -> set[ox.Triple]:
    node = ox.BlankNode(f"s{n}")
    if s.feature == LENGTH:
        low, high = parse_span(s.value)
        said = [(SAYS, _node(LENGTH)), (SHORTEST, _decimal(low)), (LONGEST, _decimal(high))]
    else:
        says = f"{PREFIX_OF_MODE[s.mode]}:{s.feature.split(':', 1)[1]}"
        said = [(SAYS, _node(says)), (VALUE, _node(s.value))]
    pairs = [("rdf:type", _node(STATEMENT)), (ABOUT, _node(s.subject)), *said, ("dcterms:source", _node(s.source))]
    return {ox.Triple(node, _node(p), o) for p, o in pairs}


def _source(staged: Staged, name: str) -> set[ox.Triple]:
    source = staged.sources[name]
    out = {ox.Triple(_node(name), _node("rdf:type"), _node("bl:Source"))}
    for predicate, field in SOURCE_FIELDS.items():
        value = getattr(source, field)
        if value:
            out.add(ox.Triple(_node(name), _node(predicate), ox.Literal(value)))
    return out


def _lengths(staged: Staged, patterns: Iterable[str]) -> set[ox.Triple]:
    out = set()
    for pattern in patterns:
        span = staged.records[pattern].length
        if span:
            out |= {ox.Triple(_node(pattern), _node(p), _decimal(mm)) for p, mm in zip((SHORTEST, LONGEST), span, strict=True)}
    return out


def _words(staged: Staged, vocabulary: Vocabulary, patterns: Iterable[str], named: Iterable[str]) -> set[ox.Triple]:
    """Of patterns all that their files say; of every other term that occurs its label and definition."""
    out: set[ox.Triple] = set()
    ours = {names.expand(p) for p in patterns}
    for triple in staged.ontology.triples("patterns"):
        said_of = triple.subject.value if isinstance(triple.subject, ox.NamedNode) else ""
        if said_of in ours and triple.predicate.value != names.expand("dcterms:source"):
            out.add(triple)
    for name in named:
        entry = vocabulary.terms.get(name)
        if entry is None or entry.role in ("pattern", "source"):
            continue
        out.add(ox.Triple(_node(name), _node("rdfs:label"), ox.Literal(entry.label, language="en")))
        if entry.definition:
            out.add(ox.Triple(_node(name), _node("skos:definition"), ox.Literal(entry.definition, language="en")))
    return out


def _head(triples: set[ox.Triple], texts: Mapping[str, str], patterns: Iterable[str]) -> None:
    import hashlib

    key = hashlib.sha256("\0".join(sorted(patterns)).encode()).hexdigest()[:16]
    node = ox.NamedNode(f"https://boxlock.example/export/{key}")
    triples.add(ox.Triple(node, _node("rdf:type"), _node("owl:Ontology")))
    for predicate, text in texts.items():
        triples.add(ox.Triple(node, _node(predicate), ox.Literal(clean(text))))
    for predicate in texts:
        if not predicate.startswith("owl:"):
            triples.add(ox.Triple(_node(predicate), _node("rdf:type"), _node("owl:AnnotationProperty")))


# --- terms ------------------------------------------------------------------------------------------------------------
def _node(short: str) -> ox.NamedNode:
    return ox.NamedNode(names.expand(short))


def _decimal(number: float) -> ox.Literal:
    return ox.Literal(f"{number:g}" if number != int(number) else f"{int(number)}.0", datatype=_node("xsd:decimal"))


def _is_ours(term: object) -> bool:
    if not isinstance(term, ox.NamedNode):
        return False
    return term.value.startswith((names.PREFIXES["bl"], names.PREFIXES["kind"])) and names.is_short(names.shown(term.value))


def _from_rdflib(graph: Any) -> Iterable[ox.Triple]:
    data = graph.serialize(format="nt", encoding="utf-8")
    return (quad.triple for quad in ox.parse(data, format=ox.RdfFormat.N_TRIPLES))


# --- Turtle -----------------------------------------------------------------------------------------------------------
class _Nested:
    """Triples by subject; an unnamed node that stands in one place is written there, in brackets or as a list."""

    def __init__(self, triples: Iterable[ox.Triple]) -> None:
        self.by_subject: dict[Any, list[tuple[ox.NamedNode, Any]]] = {}
        for t in triples:
            self.by_subject.setdefault(t.subject, []).append((t.predicate, t.object))
        self.inside = {o for said in self.by_subject.values() for _, o in said if isinstance(o, ox.BlankNode)}

    def roots(self) -> list[Any]:
        return [s for s in self.by_subject if s not in self.inside]

    def list_of(self, node: Any) -> list[Any] | None:
        """The members, if the node begins an RDF list."""
        out = []
        first, rest, nil = (names.expand(f"rdf:{n}") for n in ("first", "rest", "nil"))
        while not (isinstance(node, ox.NamedNode) and node.value == nil):
            said = {p.value: o for p, o in self.by_subject.get(node, ())} if isinstance(node, ox.BlankNode) else {}
            if set(said) != {first, rest}:
                return None
            out.append(said[first])
            node = said[rest]
        return out or None


def to_turtle(triples: Iterable[ox.Triple]) -> str:
    """The triples as Turtle, each subject once, in a fixed order; the same triples give the same text."""
    graph = _Nested(triples)

    def term(node: Any) -> str:
        if isinstance(node, ox.NamedNode):
            short = names.shown(node.value)
            return short if short != node.value else f"<{node.value}>"
        if isinstance(node, ox.Literal):
            return _literal(node)
        members = graph.list_of(node)
        if members is not None:
            return "( " + " ".join(term(m) for m in members) + " )"
        return "[ " + " ; ".join(said(node)) + " ]"

    def said(node: Any) -> list[str]:
        by: dict[str, list[str]] = {}
        for predicate, value in graph.by_subject.get(node, ()):
            by.setdefault("a" if predicate.value == names.expand("rdf:type") else term(predicate), []).append(term(value))
        return [f"{p} {' , '.join(sorted(by[p]))}" for p in sorted(by, key=lambda p: (p != "a", p))]

    blocks = []
    for root in graph.roots():
        lead = "[]" if isinstance(root, ox.BlankNode) else term(root)
        blocks.append(f"{lead} " + " ;\n    ".join(said(root)) + " .\n")
    blocks.sort(key=lambda b: (not b.startswith("<"), b.startswith("[]"), b))
    return names.turtle_head(*_PREFIXES) + "\n" + "\n".join(blocks)


def _literal(node: ox.Literal) -> str:
    text = str(ox.Literal(node.value))
    if node.language:
        return f"{text}@{node.language}"
    short = names.shown(node.datatype.value)
    return text if short == "xsd:string" else f"{text}^^{short}"


# --- JSON-LD ----------------------------------------------------------------------------------------------------------
def to_jsonld(triples: Iterable[ox.Triple]) -> str:
    """The triples as JSON-LD with a context of prefixes, in a fixed order; unnamed nodes stand where they belong."""
    graph = _Nested(triples)

    def value(node: Any) -> Any:
        if isinstance(node, ox.NamedNode):
            return {"@id": names.shown(node.value)}
        if isinstance(node, ox.Literal):
            if node.language:
                return {"@value": node.value, "@language": node.language}
            short = names.shown(node.datatype.value)
            return node.value if short == "xsd:string" else {"@value": node.value, "@type": short}
        members = graph.list_of(node)
        return {"@list": [value(m) for m in members]} if members is not None else said(node)

    def said(node: Any) -> dict[str, Any]:
        out: dict[str, Any] = {} if isinstance(node, ox.BlankNode) else {"@id": names.shown(node.value)}
        by: dict[str, list[Any]] = {}
        for predicate, content in graph.by_subject[node]:
            if predicate.value == names.expand("rdf:type"):
                by.setdefault("@type", []).append(names.shown(content.value))
            else:
                by.setdefault(names.shown(predicate.value), []).append(value(content))
        for key in sorted(by):
            found = sorted(by[key], key=lambda v: json.dumps(v, sort_keys=True))
            out[key] = found[0] if len(found) == 1 else found
        return out

    nodes = sorted((said(root) for root in graph.roots()), key=lambda n: ("@id" not in n, json.dumps(n, sort_keys=True)))
    context = {prefix: names.PREFIXES[prefix] for prefix in _PREFIXES}
    return json.dumps({"@context": context, "@graph": nodes}, ensure_ascii=False, indent=1) + "\n"
