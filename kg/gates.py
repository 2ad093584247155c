"""Quality gates: queries in ``ontology/checks`` that must return no rows. Each file's header is its manual page.

A gate selects ``?term`` (where to look) and may bind ``?detail``. It sees the union of everything: the ontology's files, the
evidence graphs and the closure's graphs.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pyoxigraph as ox

from kg import names
from kg.errors import CatalogueError
from kg.load import Ontology
from kg.model import Finding
from kg.sparql.terms import prologue

_FIELDS = ("Problem", "Why", "Fix", "Severity")


@dataclass(frozen=True)
class Gate:
    """One rule. ``name`` is the file's stem; the other fields are its header; ``query`` its SPARQL."""

    name: str
    problem: str
    why: str
    fix: str
    severity: str
    query: str


def read_gates(folder: Path) -> list[Gate]:
    """All gates of a folder, by name. Raises CatalogueError (BL-C04) if a header lacks a field."""
    gates = []
    for path in sorted(folder.glob("*.rq")):
        text = path.read_text(encoding="utf-8")
        header = dict(re.findall(r"^# (\w+): +(.+)$", text, re.MULTILINE))
        missing = [f for f in _FIELDS if f not in header]
        if missing or header["Severity"] not in ("error", "warning"):
            raise CatalogueError("BL-C04", f"checks/{path.name}: the header lacks {', '.join(missing) or 'a severity'}")
        query = "".join(line for line in text.splitlines(keepends=True) if not line.startswith("#"))
        gates.append(Gate(path.stem, *(header[f] for f in _FIELDS), prologue(query) + query))
    return gates


def dataset(ontology: Ontology, quads: str) -> ox.Store:
    """The ontology's files (one graph) together with the closure's graphs."""
    store = ox.Store()
    store.bulk_load(input=quads.encode(), format=ox.RdfFormat.N_QUADS)
    graph = ox.NamedNode(names.expand("graph:ontology"))
    triples = ontology.triples("header", "terms", "axioms", "patterns")
    store.bulk_extend(ox.Quad(t.subject, t.predicate, t.object, graph) for t in triples)
    return store


def run(gates: Iterable[Gate], store: ox.Store) -> Iterator[tuple[Gate, str, str]]:
    """(gate, term, detail) for every row of every gate; terms and details as short names or text."""
    for gate in gates:
        solutions = store.query(gate.query, use_default_graph_as_union=True)
        detailed = ox.Variable("detail") in solutions.variables
        rows = {(_text(s["term"]), _text(s["detail"]) if detailed else "") for s in solutions}
        for term, detail in sorted(rows):
            yield gate, term, detail


def findings(gates: Iterable[Gate], store: ox.Store, place) -> list[Finding]:
    """Every row as a finding. ``place``: IRI -> (file, line) or None."""
    out = []
    for gate, term, detail in run(gates, store):
        iri = names.expand(term) if names.is_short(term) else term
        file, line = place(iri) or ("", 0)
        text = f"{term}: {gate.problem}" + (f" ({detail})" if detail else "")
        out.append(Finding(gate.severity, file, line, "BL-C04", text, f"{gate.fix} [{gate.name}]"))
    return out


def _text(term: object) -> str:
    if term is None:
        return ""
    value = getattr(term, "value", str(term))
    return names.shown(value)
