"""The evidence as a table and back, and what changed between two ontology folders: for editors and for release notes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from kg.build import Staged, stage
from kg.errors import InputError
from kg.evidence.catalogue import Record
from kg.evidence.table import from_row, to_row, to_turtle
from kg.terms import replacements
from kg.vocabulary import Condition


@dataclass(frozen=True)
class Changes:
    """Differences from an older to a newer catalogue, each sorted. Names are short names.

    ``values``: (pattern, what was adopted before, what is now) where a pattern of both catalogues changed; statements are
    rows of the table form. ``replaced``: deprecated term -> its replacement, as the newer catalogue says.
    """

    added_patterns: tuple[str, ...]
    removed_patterns: tuple[str, ...]
    added_terms: tuple[str, ...]
    removed_terms: tuple[str, ...]
    added_statements: tuple[Mapping[str, str], ...]
    removed_statements: tuple[Mapping[str, str], ...]
    values: tuple[tuple[str, tuple[Condition, ...], tuple[Condition, ...]], ...]
    replaced: Mapping[str, str]

    def to_json(self) -> dict[str, Any]:
        out = {k: list(v) for k, v in self.__dict__.items() if isinstance(v, tuple)}
        return out | {"replaced": dict(self.replaced)}


def compare(old: Staged, new: Staged, replaced: Mapping[str, str]) -> Changes:
    """The changes from ``old`` to ``new``. ``replaced`` maps deprecated terms to their replacement."""
    before, after = set(old.statements), set(new.statements)
    terms_before = {t.name for t in old.vocabulary.terms.values() if t.role not in ("pattern", "source")}
    terms_after = {t.name for t in new.vocabulary.terms.values() if t.role not in ("pattern", "source")}
    both = sorted(set(old.records) & set(new.records))
    values = [(p, *_difference(old.records[p], new.records[p])) for p in both]
    return Changes(
        added_patterns=tuple(sorted(set(new.records) - set(old.records))),
        removed_patterns=tuple(sorted(set(old.records) - set(new.records))),
        added_terms=tuple(sorted(terms_after - terms_before)),
        removed_terms=tuple(sorted(terms_before - terms_after)),
        added_statements=tuple(to_row(s) for s in sorted(after - before)),
        removed_statements=tuple(to_row(s) for s in sorted(before - after)),
        values=tuple(v for v in values if v[1] or v[2]),
        replaced=dict(sorted(replaced.items())),
    )


def _difference(old: Record, new: Record) -> tuple[tuple[Condition, ...], tuple[Condition, ...]]:
    """(facts only before, facts only now) of one pattern."""
    return tuple(sorted(set(old.facts) - set(new.facts))), tuple(sorted(set(new.facts) - set(old.facts)))


def catalogue_changes(old: Path, new: Path) -> Changes:
    """The changes between two ontology folders. Raises CatalogueError (BL-C04) if one of them cannot be read."""
    after = stage(new)
    replaced = replacements(after.ontology.triples("header", "terms", "axioms", "patterns"))
    return compare(stage(old), after, replaced)


def evidence_rows(root: Path) -> list[dict[str, str]]:
    """Every statement of the catalogue as a row of the table form, sorted."""
    return [to_row(s) for s in sorted(stage(root).statements)]


def evidence_files(root: Path, rows: list[dict[str, str]], shown: str) -> dict[str, str]:
    """Rows of the table form -> file name -> Turtle text, one file a source, as they stand in ``ontology/evidence``.

    Sources must be known to the catalogue at ``root``. Raises InputError (BL-I03) naming ``shown`` and the line of the first
    row that is not a statement or names an unknown source.
    """
    sources = stage(root).sources
    by_source: dict[str, set] = {}
    for line, row in enumerate(rows, 2):  # the heading is line 1
        try:
            statement = from_row(row)
        except ValueError as e:
            raise InputError("BL-I03", f"This row is not a statement: {e}.", file=shown, line=line) from e
        if statement.source not in sources:
            raise InputError("BL-I03", f"The source {statement.source} is not declared.", file=shown, line=line)
        by_source.setdefault(statement.source, set()).add(statement)
    return {f"{name.removeprefix('src:')}.ttl": to_turtle(sources[name], said) for name, said in sorted(by_source.items())}
