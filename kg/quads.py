"""The text of ``closure.nq``: everything the asking side needs, as ground N-Quads, sorted, without blank nodes.

Two builds of the same inputs give the same bytes. Named graphs:

    graph:holds          all that is true of a pattern: adopted, inferred, applicability, lengths
    graph:adopted-own    adopted from what sources say of the pattern itself
    graph:adopted-variant, graph:adopted-kind   inherited from the parent pattern, or said of its kind in general
    graph:derived        size class by rule, features that do not apply
    graph:inferred       added by reasoning: categories, broader values, parts implied by rules
    graph:varies         values true of some pieces only ("made straight or curved")
    graph:denied         values expressly denied
    graph:disputed       values with a witness that were not adopted
    graph:contested      adopted values that a lighter witness denies
    graph:open           (pattern, bl:undecided, feature or part): a tie that left nothing adopted
    graph:on-veterinary, graph:on-makers-page, graph:on-common-practice, graph:on-memory   facts that rest on nothing better
    graph:terms          labels, synonyms, definitions, broader terms
    src:...              one graph per source: its metadata and what it says
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache

from kg import names
from kg.evidence.catalogue import KIND, OWN, VARIANT, Record
from kg.evidence.statements import Source
from kg.evidence_levels import BASES
from kg.load import Ontology
from kg.vocabulary import Condition, Term, Vocabulary

_BASIS_GRAPH = {kind: graph for graph, kind in BASES.items()}
_LEVEL_GRAPH = {OWN: "graph:adopted-own", VARIANT: "graph:adopted-variant", KIND: "graph:adopted-kind"}
_DECIMAL = names.PREFIXES["xsd"] + "decimal"


def quads(
    ontology: Ontology,
    vocabulary: Vocabulary,
    records: Mapping[str, Record],
    inferred: Mapping[str, frozenset[Condition]],
    sources: Mapping[str, Source],
    basis: Mapping[str, Mapping[Condition, str]],
) -> str:
    """The text of ``closure.nq``.

    ``inferred``: pattern -> all literals that hold of it after reasoning; ``basis``: what a literal rests on (``kg.basis``).
    """
    lines: set[str] = set()
    for pattern, record in records.items():
        lines |= pattern_lines(pattern, record, inferred[pattern], vocabulary, basis.get(pattern, {}))
    lines |= term_lines(vocabulary.terms.values())
    for file in ontology.files:
        if file.role == "evidence":
            graph = _graph_of(file.triples)
            lines.update(f"{t.subject} {t.predicate} {t.object} <{graph}> ." for t in file.triples)
    for source in sources.values():
        lines.add(f"{_node(source.name)} {_node('rdfs:label')} {_literal(source.cite())} {_node('graph:terms')} .")
    return "\n".join(sorted(lines)) + "\n"


def pattern_lines(
    pattern: str, record: Record, held: frozenset[Condition], vocabulary: Vocabulary, basis: Mapping[Condition, str]
) -> set[str]:
    """The lines of one pattern, without line ends: what ``quads`` says of it, whatever else the catalogue holds."""
    lines: set[str] = set()

    def add(subject: str, predicate: str, value: str, graph: str) -> None:
        lines.add(f"{_node(subject)} {_node(predicate)} {_node(value)} {_node(graph)} .")

    _add_record(add, lines, pattern, record, held, vocabulary)
    for (prop, value), kind in basis.items():
        add(pattern, prop, value, _BASIS_GRAPH[kind])
    return lines


def _add_record(add, lines, pattern: str, record: Record, held: frozenset[Condition], vocabulary: Vocabulary) -> None:
    add(pattern, names.TYPE, names.PATTERN, "graph:holds")
    for parent in vocabulary.ancestors(pattern):
        add(pattern, names.VARIANT_OF, parent, "graph:holds")
    for (prop, value), fact in record.facts.items():
        add(pattern, prop, value, _LEVEL_GRAPH.get(fact.level, "graph:derived"))
    for prop, value in held:
        add(pattern, prop, value, "graph:holds")
        if (prop, value) not in record.facts and (prop, value) != (names.TYPE, names.PATTERN):
            add(pattern, prop, value, "graph:inferred")
    for feature in inapplicable(held, vocabulary):
        add(pattern, names.INAPPLICABLE, feature, "graph:holds")
        add(pattern, names.INAPPLICABLE, feature, "graph:derived")
    if record.length:
        level = _LEVEL_GRAPH.get(record.length_level, "graph:derived")
        for graph in ("graph:holds", level):
            for name, mm in zip((names.LENGTH_MIN, names.LENGTH_MAX), record.length, strict=True):
                lines.add(f'{_node(pattern)} {_node(name)} "{mm:g}"^^<{_DECIMAL}> {_node(graph)} .')
    for graph, slots in (("graph:varies", record.varies), ("graph:denied", record.denied)):
        for slot, values in slots.items():
            for value in values:
                _add_slot(add, pattern, slot, value, graph)
    for slot, value in sorted(record.contested):
        add(pattern, slot, value, "graph:contested")
    for slot, decision in record.disputes.items():
        for value in decision.also_said:
            _add_slot(add, pattern, slot, value, "graph:disputed")
        if decision.open:
            add(pattern, names.UNDECIDED, slot, "graph:open")


def _add_slot(add, pattern: str, slot: str, value: str, graph: str) -> None:
    if value in names.PARTS:
        add(pattern, value, slot, graph)
    else:
        add(pattern, slot, value, graph)


def inapplicable(held: Iterable[Condition], vocabulary: Vocabulary) -> list[str]:
    """Features that do not apply because the part they describe is absent, sorted."""
    absent = {value for prop, value in held if prop == names.LACKS_PART}
    return sorted(f.name for f in vocabulary.features.values() if f.applies in absent)


def term_lines(terms: Iterable[Term]) -> set[str]:
    """Labels, synonyms, definitions and broader terms of some terms, without line ends; sources have none here."""
    lines: set[str] = set()
    graph = _node("graph:terms")
    for term in terms:
        if term.role == "source":
            continue
        texts = [("rdfs:label", term.label), ("skos:definition", term.definition)]
        texts += [("skos:altLabel", a) for a in term.alt]
        lines.update(f"{_node(term.name)} {_node(p)} {_literal(t)} {graph} ." for p, t in texts if t)
        if term.broader and term.role != "pattern":
            lines.add(f"{_node(term.name)} {_node('skos:broader')} {_node(term.broader)} {graph} .")
        if term.feature:
            lines.add(f"{_node(term.name)} {_node('bl:valueOf')} {_node(term.feature)} {graph} .")
    return lines


def _graph_of(triples) -> str:
    source = names.expand("bl:Source")
    return next(t.subject.value for t in triples if t.object.value == source)


@lru_cache(maxsize=65_536)  # every line names the same few thousand
def _node(short: str) -> str:
    return f"<{names.expand(short)}>"


def _literal(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n").replace("\r", "\\r")
    return f'"{escaped}"@en'
