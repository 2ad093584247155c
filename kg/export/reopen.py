"""An exported Turtle or JSON-LD file, opened as a catalogue of its own.

Only who says what is taken from the file: the patterns with their words, and the statements with their sources. What is
adopted and what follows is worked out again with this release's axioms, so that a file can teach nothing that its sources do
not say. The closure made from it is kept in the user's cache, under the hash of the file and of the ontology.
"""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import pyoxigraph as ox

from kg import closure, load, names, paths
from kg.errors import BoxlockError, CatalogueError, InputError
from kg.evidence.statements import SOURCE_FIELDS
from kg.export.graph import ABOUT, LONGEST, SAYS, SHORTEST, STATEMENT, VALUE
from kg.files import read_limited
from kg.nesting import too_deep

if TYPE_CHECKING:
    from kg.build import Staged
    from kg.catalogue import Catalogue

MOST_BYTES = 30_000_000
KEPT = 8
"""Closures of so many exported files stay in the cache."""
_FORMATS = {".ttl": ox.RdfFormat.TURTLE, ".jsonld": ox.RdfFormat.JSON_LD}
_PATTERN_WORDS = ("rdfs:label", "bl:plural", "skos:altLabel", "skos:hiddenLabel", "skos:definition", names.VARIANT_OF)


def open_export(path: Path, say: Callable[[str], None] = lambda _: None, *, base: Staged | None = None) -> Catalogue:
    """The catalogue of the file. ``base``: a staging of the shipped ontology, whose axioms are taken over if it is given.

    Raises InputError: BL-I02 if the file cannot be read, BL-I03 if it is no exported graph, BL-I04 if it is too large.
    """
    from kg.catalogue import Catalogue

    data = _read(path)
    root = paths.ontology_dir()
    key = hashlib.sha256(load.input_hash(root).encode() + b"\0" + path.suffix.lower().encode() + b"\0" + data).hexdigest()
    folder = paths.export_folder(key)
    try:
        return _from(path, Catalogue(root, folder, closure.read_stamp(folder)))
    except CatalogueError:
        pass
    say(f"reading {path.name} and reasoning over what its sources say")
    files = files_of(path, data)
    try:
        texts, stamp = _closure(root, files, key, base)
    except (CatalogueError, KeyError, ValueError, TypeError, AttributeError) as e:  # whatever a file from outside can hold
        reason = e.message if isinstance(e, CatalogueError) else " ".join(str(e).split())[:200]
        raise InputError("BL-I03", f"The file cannot be used as a catalogue: {reason}", file=str(path)) from e
    try:
        closure.write(folder, texts, stamp)
        _forget(folder)
    except OSError:
        folder = Path(tempfile.mkdtemp(prefix="boxlock-"))
        closure.write(folder, texts, stamp)
    return _from(path, Catalogue(root, folder, closure.read_stamp(folder)))


def _forget(newest: Path) -> None:
    """Leaves the closures of the last few files in the cache."""
    import shutil

    others = [p for p in newest.parent.glob("export-*") if p != newest]
    for old in sorted(others, key=lambda p: p.stat().st_mtime, reverse=True)[KEPT - 1 :]:
        shutil.rmtree(old, ignore_errors=True)


def _from(path: Path, catalogue: Catalogue) -> Catalogue:
    catalogue.exported = path
    return catalogue


def _closure(root: Path, files: list[load.SourceFile], key: str, base: Staged | None) -> tuple[dict[str, str], closure.Stamp]:
    from kg.build import contents, release, stage

    texts = contents(stage(root, files, base=base, alone=True))
    return texts, closure.stamp_of(texts, key, "", release())


def _read(path: Path) -> bytes:
    if path.suffix.lower() not in _FORMATS:
        what = "A catalogue in a file is an exported Turtle or JSON-LD file."
        raise InputError("BL-I03", what, file=str(path), hint=f"Its name ends in {' or '.join(_FORMATS)}.")
    return read_limited(path, MOST_BYTES, "The file")


def files_of(path: Path, data: bytes) -> list[load.SourceFile]:
    """The patterns and, source by source, the statements of an exported file, as files of the build.

    Raises InputError (BL-I03) if the file does not parse, or holds no patterns or no statements.
    """
    if deep := too_deep(data, json=path.suffix.lower() == ".jsonld"):
        raise InputError("BL-I04", f"The file is not read: {deep}.", file=str(path), hint=_HINT)
    try:
        triples = [quad.triple for quad in ox.parse(data, format=_FORMATS[path.suffix.lower()])]
    except (SyntaxError, ValueError, MemoryError) as e:  # the last for a single token of more than 16 MB
        line = getattr(e, "lineno", None) or 0
        raise InputError(
            "BL-I03", f"The file does not parse: {' '.join(str(e).split())[:200]}", file=str(path), line=line
        ) from e
    said: dict[object, dict[str, list]] = {}
    for t in triples:
        said.setdefault(t.subject, {}).setdefault(names.shown(t.predicate.value), []).append(t.object)
    try:
        patterns = list(_patterns(said))
        evidence = _evidence(said)
    except (BoxlockError, ValueError, LookupError, AttributeError) as e:
        raise InputError("BL-I03", f"The file is no exported graph: {str(e)[:200]}", file=str(path)) from e
    if not patterns or not evidence:
        missing = "patterns" if not patterns else "statements"
        raise InputError("BL-I03", f"The file is no exported graph: it holds no {missing}.", file=str(path), hint=_HINT)
    out = [load.SourceFile("own/patterns/exported.ttl", "patterns", tuple(patterns))]
    return out + [
        load.SourceFile(f"own/evidence/{name}.ttl", "evidence", tuple(found)) for name, found in sorted(evidence.items())
    ]


def _patterns(said: dict[object, dict[str, list]]) -> Iterable[ox.Triple]:
    pattern, kind, individual = (_node(n) for n in (names.PATTERN, names.TYPE, "owl:NamedIndividual"))
    for subject, by in said.items():
        if (
            pattern in by.get(names.TYPE, ())
            and isinstance(subject, ox.NamedNode)
            and subject.value.startswith(names.PREFIXES["bl"])
        ):
            yield ox.Triple(subject, kind, pattern)
            yield ox.Triple(subject, kind, individual)
            for predicate in _PATTERN_WORDS:
                for value in by.get(predicate, ()):
                    yield ox.Triple(subject, _node(predicate), value)


def _evidence(said: dict[object, dict[str, list]]) -> dict[str, set[ox.Triple]]:
    """Source -> its triples as in an evidence file."""
    out: dict[str, set[ox.Triple]] = {}
    kind, source_class, statement = (_node(n) for n in (names.TYPE, "bl:Source", STATEMENT))
    for subject, by in said.items():
        if source_class in by.get(names.TYPE, ()):
            found = out.setdefault(_local(subject), set())
            found.add(ox.Triple(subject, kind, source_class))
            for predicate in SOURCE_FIELDS:
                found |= {ox.Triple(subject, _node(predicate), v) for v in by.get(predicate, ())}
    for by in said.values():
        if statement not in by.get(names.TYPE, ()):
            continue
        (about,), (says,), (source,) = (by[p] for p in (ABOUT, SAYS, "dcterms:source"))
        found = out[_local(source)]
        if names.shown(says.value) == names.LENGTH:
            found |= {ox.Triple(about, _node(p), by[p][0]) for p in (SHORTEST, LONGEST)}
        else:
            found.add(ox.Triple(about, ox.NamedNode(says.value), by[VALUE][0]))
    return out


def _local(source: object) -> str:
    short = names.shrink(source.value)  # type: ignore[attr-defined]
    if not short.startswith("src:"):
        raise ValueError(f"{short} is no name of a source")
    return short.removeprefix("src:")


def _node(short: str) -> ox.NamedNode:
    return ox.NamedNode(names.expand(short))


_HINT = "Write one with: boxlock export QUESTION --to FILE.ttl"
