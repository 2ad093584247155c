"""What is staged, as the Turtle files of a catalogue: one a source, one a pattern; and such files back as input."""

from __future__ import annotations

import json
from collections.abc import Mapping

import pyoxigraph as ox

from kg import names
from kg.build import OWN
from kg.errors import CatalogueError
from kg.evidence.statements import Source, Statement, read_statements
from kg.evidence.table import to_turtle
from kg.intake.resolve import Pattern, Staging
from kg.load import SourceFile

_PREFIXES = names.turtle_head("bl", "dcterms", "owl", "rdfs", "skos", "src")


def with_staged(own: Mapping[str, str], staging: Staging, sources: Mapping[str, Source]) -> dict[str, str]:
    """The files of one's own catalogue (path -> Turtle) after the staging is added; what is there already stays.

    ``sources``: all that are known, so that new evidence of a shipped source names it in full.
    """
    out = dict(own)
    for pattern in staging.patterns.values():
        out[f"patterns/{pattern.name.split(':')[1]}.ttl"] = pattern_turtle(pattern)
    known = {**sources, **staging.sources}
    cited = {s for p in staging.patterns.values() for s in p.sources if s in staging.sources}
    for name in sorted({*staging.sources, *cited, *(s.source for s in staging.said)}):
        path = f"evidence/{name.split(':')[1]}.ttl"
        said: set[Statement] = {s for s in staging.said if s.source == name}
        if path in own:
            said |= set(read_statements(source_file(path, own[path])))
        out[path] = to_turtle(known[name], said)
    return out


def pattern_turtle(pattern: Pattern) -> str:
    """The text of one pattern's file; texts are English, as everywhere in the catalogue."""
    lines = [f"{pattern.name} a owl:NamedIndividual , bl:Pattern"]
    for predicate, texts in (
        ("rdfs:label", (pattern.label,)),
        ("bl:plural", (pattern.plural,)),
        ("skos:altLabel", pattern.synonyms),
        ("skos:hiddenLabel", pattern.misspellings),
        ("skos:definition", (pattern.definition,)),
    ):
        given = sorted({t for t in texts if t})
        if given:
            lines.append(f"    {predicate} " + " , ".join(f"{json.dumps(t, ensure_ascii=False)}@en" for t in given))
    if pattern.variant_of:
        lines.append(f"    {names.VARIANT_OF} {pattern.variant_of}")
    if pattern.sources:
        lines.append("    dcterms:source " + " , ".join(pattern.sources))
    return _PREFIXES + "\n" + " ;\n".join(lines) + " .\n"


def source_file(path: str, text: str) -> SourceFile:
    """One file as input of ``kg.build.stage``. Raises CatalogueError (BL-C06) if it is not valid Turtle."""
    role = path.split("/", 1)[0]
    try:
        triples = tuple(q.triple for q in ox.parse(text.encode(), format=ox.RdfFormat.TURTLE))
    except (SyntaxError, ValueError) as e:
        line = getattr(e, "lineno", None) or "?"
        raise CatalogueError("BL-C06", f"your own catalogue: {path}, line {line}: not valid Turtle", hint=_MEND) from e
    return SourceFile(f"{OWN}{path}", role, triples)


def source_files(own: Mapping[str, str]) -> tuple[SourceFile, ...]:
    """All files, in the order of their paths."""
    return tuple(source_file(path, own[path]) for path in sorted(own))


_MEND = "Mend the file, or go back to the generation before (see the README, Your own catalogue)."
