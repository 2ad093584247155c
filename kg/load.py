"""Reads the ontology and the evidence from disk: files -> triples with the file they come from. Offline.

Parsing is pyoxigraph's (fast, exact line numbers); ``to_rdflib`` turns triples into an ``rdflib.Graph`` for the parts that
need one. Nothing here judges what the triples say.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import pyoxigraph as ox

from kg.errors import CatalogueError
from kg.nesting import too_deep

if TYPE_CHECKING:
    import rdflib

ROLES = ("header", "terms", "axioms", "patterns", "shapes", "evidence", "words", "data", "adoption")


@dataclass(frozen=True)
class SourceFile:
    """One file of the ontology: its path relative to the ontology folder (POSIX), its role, its triples in file order."""

    path: str
    role: str
    triples: tuple[ox.Triple, ...]


@dataclass(frozen=True)
class Ontology:
    """The whole ontology folder, parsed. ``root`` is the folder; ``files`` in the order of the manifest."""

    root: Path
    files: tuple[SourceFile, ...]

    def triples(self, *roles: str) -> Iterator[ox.Triple]:
        """All triples of the files with one of the roles, in order."""
        for file in self.files:
            if file.role in roles:
                yield from file.triples


def manifest(root: Path) -> list[tuple[Path, str]]:
    """(path, role) of every input file, in the manifest's order, glob entries sorted. Raises CatalogueError (BL-C04)."""
    import tomllib

    file = root / "manifest.toml"
    try:
        entries = tomllib.loads(file.read_text(encoding="utf-8"))["file"]
        out: list[tuple[Path, str]] = []
        for entry in entries:
            role = entry["role"]
            if role not in ROLES:
                raise ValueError(f"unknown role {role!r}")
            if ".." in Path(entry["path"]).parts or Path(entry["path"]).is_absolute():
                raise ValueError(f"{entry['path']} lies outside of the folder")
            found = sorted(p for p in root.glob(entry["path"]) if p.is_file())  # never a pipe or a device, which would not end
            if not found and "*" not in entry["path"]:
                raise ValueError(f"{entry['path']} does not exist")
            out.extend((path, role) for path in found)
    except (OSError, ValueError, KeyError, TypeError) as e:
        raise CatalogueError("BL-C04", f"{file}: the list of ontology files cannot be used: {e}") from e
    return out


def input_hash(root: Path) -> str:
    """SHA-256 over the names and contents of all inputs, hexadecimal. Changes whenever a rebuild is needed."""
    digest = hashlib.sha256()
    for path, _ in [(root / "manifest.toml", ""), *manifest(root)]:
        data = path.read_bytes()
        digest.update(f"{path.relative_to(root).as_posix()}\0{len(data)}\0".encode())
        digest.update(data)
    return digest.hexdigest()


def parse_turtle(path: Path, shown: str) -> tuple[ox.Triple, ...]:
    """The triples of a Turtle file. Raises CatalogueError (BL-C04) naming ``shown`` and the line."""
    try:
        data = path.read_bytes()
        if deep := too_deep(data):
            raise CatalogueError("BL-C04", f"{shown}: {deep}")
        return tuple(quad.triple for quad in ox.parse(data, format=ox.RdfFormat.TURTLE))
    except SyntaxError as e:
        raise CatalogueError("BL-C04", f"{shown}, line {e.lineno or '?'}: not valid Turtle: {e.msg}") from e
    except OSError as e:
        raise CatalogueError("BL-C04", f"{shown}: cannot be read: {e.strerror}") from e


def load(root: Path) -> Ontology:
    """Parses every Turtle file of the manifest. Raises CatalogueError (BL-C04) at the first file that cannot be read."""
    files = []
    for path, role in manifest(root):
        shown = path.relative_to(root).as_posix()
        triples = parse_turtle(path, shown) if path.suffix == ".ttl" else ()
        files.append(SourceFile(shown, role, triples))
    return Ontology(root, tuple(files))


def words(root: Path) -> dict:
    """The lexicon and the data asked for beside the graph: all TOML files of the roles "words" and "data", merged.

    Raises CatalogueError (BL-C04) naming the file, also where two files have a table of one name.
    """
    import tomllib

    out: dict = {}
    for path, role in manifest(root):
        if role in ("words", "data"):
            try:
                found = tomllib.loads(path.read_text(encoding="utf-8"))
                if twice := sorted(set(found) & set(out)):
                    raise ValueError(f"the table {twice[0]!r} stands in another file too")
                out |= found
            except (OSError, ValueError) as e:
                raise CatalogueError("BL-C04", f"{path.relative_to(root).as_posix()}: cannot be used: {e}") from e
    return out


def triples_of(text: str) -> list[ox.Triple]:
    """The triples of a Turtle text that the program wrote itself. Raises SyntaxError if it does not parse."""
    return [quad.triple for quad in ox.parse(text.encode(), format=ox.RdfFormat.TURTLE)]


def to_rdflib(triples: Iterable[ox.Triple]) -> rdflib.Graph:
    """The same triples as an rdflib graph."""
    import rdflib  # heavy: only the build and the checks need it

    def node(term: object) -> rdflib.term.Node:
        if isinstance(term, ox.NamedNode):
            return rdflib.URIRef(term.value)
        if isinstance(term, ox.BlankNode):
            return rdflib.BNode(term.value)
        assert isinstance(term, ox.Literal)
        datatype = None if term.language else rdflib.URIRef(term.datatype.value)
        if datatype == rdflib.XSD.string:
            datatype = None
        return rdflib.Literal(term.value, lang=term.language, datatype=datatype)

    graph = rdflib.Graph()
    for t in triples:
        graph.add((node(t.subject), node(t.predicate), node(t.object)))
    return graph
