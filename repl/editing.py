"""Commands for the editor of facts: figures on the evidence, the evidence as a table and back, what changed."""

from __future__ import annotations

import csv
import io
from argparse import Namespace
from pathlib import Path

import kg
from repl.screen import Screen

LARGEST_TABLE = 30_000_000
"""Bytes; all of the shipped evidence has less than one million."""


def figures(screen: Screen, root: Path) -> int:
    """``check --evidence``: statistics of the catalogue."""
    measured = kg.measure_catalogue(root, kg.stage(root))
    if screen.format == "json":
        screen.write(kg.json_text(measured.to_json()))
    else:
        screen.show(kg.block_lines(kg.statistics_blocks(measured), screen.width()))
    return 0


def table(options: Namespace, screen: Screen) -> int:
    """Writes all evidence as one sorted table, or turns a table back into evidence files."""
    root = kg.ontology_dir()
    path = Path(options.file)
    if options.into is None:
        rows = kg.evidence_rows(root)
        kg.write_text(path, _csv(kg.TABLE_COLUMNS, rows))
        screen.write(f"{len(rows)} statements written to {kg.clean(str(path))}.\n")
        return 0
    written = _turtle_files(root, path, Path(options.into))
    screen.write(f"{written} evidence files written to {kg.clean(options.into)}.\n")
    return 0


def _turtle_files(root: Path, path: Path, folder: Path) -> int:
    try:
        text = kg.read_limited(path, LARGEST_TABLE, "The table").decode("utf-8-sig")
    except UnicodeDecodeError as e:
        raise kg.InputError("BL-I03", "The table is no UTF-8 text.", file=str(path), hint="Save it as UTF-8.") from e
    try:
        rows = list(csv.DictReader(io.StringIO(text)))
    except csv.Error as e:
        raise kg.InputError("BL-I03", f"The table is no CSV: {e}.", file=str(path)) from e
    texts = kg.evidence_files(root, rows, str(path))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as e:
        why = e.strerror if isinstance(e, OSError) and e.strerror else "the name cannot be used"
        raise kg.InputError("BL-I02", f"The folder cannot be made: {why}.", file=str(folder)) from e
    for name, content in texts.items():
        kg.write_text(folder / name, content)
    return len(texts)


def changes(options: Namespace, screen: Screen) -> int:
    """What changed since an older ontology folder: patterns, terms, statements, adopted values, replaced names."""
    old = Path(options.old)
    if not (old / "manifest.toml").is_file():
        raise kg.InputError("BL-I02", "This is not an ontology folder: it has no manifest.toml.", file=str(old))
    found = kg.catalogue_changes(old, kg.ontology_dir())
    if screen.format == "json":
        screen.write(kg.json_text(found.to_json()))
    else:
        screen.show(kg.block_lines(kg.changes_blocks(found), screen.width()))
    return 0


def _csv(columns: tuple[str, ...], rows: list[dict[str, str]]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()
