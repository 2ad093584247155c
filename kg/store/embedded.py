"""The store inside the process: pyoxigraph in memory, loaded from the N-Quads of the closure."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterable, Iterator
from functools import lru_cache, partial
from pathlib import Path
from typing import TypeVar

import pyoxigraph as ox

from kg.errors import CatalogueError, QueryError
from kg.store.base import Cell, Rows, Store, plain

Result = ox.QuerySolutions | ox.QueryBoolean | ox.QueryTriples
R = TypeVar("R", ox.QuerySolutions, ox.QueryBoolean, ox.QueryTriples)

_REBUILD = "Run: boxlock build"
RECORD = "written.json"
"""In the folder of a store on disk: what its files were when they were written."""
_NO_DATA = ("LOG", "LOCK", "patterns.sets", ".patterns.sets")
"""Beginnings of the names of files that hold none of the library's data: its own, and sets with their own check sums."""


class EmbeddedStore(Store):
    """Quads in memory (``from_quads``), or kept on disk and opened for reading only (``open_folder``).

    ``kept`` is the folder of a store on disk, None in memory.

    Template queries read named graphs only: the default graph is what the quads put there, never the union.
    """

    name = "the embedded store"

    def __init__(self, graph_store: ox.Store, kept: Path | None = None) -> None:
        self._store = graph_store
        self.kept = kept

    @classmethod
    def from_quads(cls, data: Path | str | bytes) -> EmbeddedStore:
        """Load N-Quads from a path (gzip if it ends in ``.gz``) or from bytes.

        Raises CatalogueError: BL-C01 if the file is not there or cannot be read, BL-C02 if it is not N-Quads.
        """
        what = "the given data" if isinstance(data, bytes) else str(data)
        graph_store = ox.Store()
        try:
            quads = data if isinstance(data, bytes) else _read(Path(data))
            # Lenient: the closure's digest has been checked, so IRIs need not be validated again (a third faster).
            graph_store.load(input=quads, format=ox.RdfFormat.N_QUADS, lenient=True)
        except (SyntaxError, ValueError) as fault:
            raise CatalogueError("BL-C02", f"{what} is not N-Quads: {plain(fault)}", hint=_REBUILD) from fault
        except OSError as fault:
            reason = fault.strerror or plain(fault)
            raise CatalogueError("BL-C01", f"{what} cannot be read: {reason}", hint=_REBUILD) from fault
        return cls(graph_store)

    @classmethod
    def open_folder(cls, folder: Path) -> EmbeddedStore:
        """Open what ``save_folder`` wrote, for reading only; any number of processes may.

        Raises QueryError (BL-S05) if it cannot be opened, or if any file of it is another than was written.
        """
        if not folder.is_dir():
            raise QueryError("BL-S05", f"{folder} is not there")
        try:
            if json.loads((folder / RECORD).read_bytes()) != _state(folder):
                raise ValueError("a file of it has changed since it was written")
            return cls(ox.Store.read_only(str(folder)), kept=folder)
        except (OSError, ValueError, RuntimeError, RecursionError) as fault:  # the library reports corruption as RuntimeError
            raise QueryError("BL-S05", f"{folder} cannot be opened: {plain(fault)}") from fault

    def save_folder(self, folder: Path) -> None:
        """Write all quads as an on-disk store, whole or not at all: into a new folder, then renamed.

        If another process was faster its folder stays. Raises OSError if it cannot be written.
        """
        _write_folder(folder, lambda disk: disk.bulk_load(input=self.to_quads(), format=ox.RdfFormat.N_QUADS))

    @staticmethod
    def make_folder(folder: Path, quads: Path) -> None:
        """As ``save_folder``, straight from a file of N-Quads, however large. Raises OSError, or QueryError (BL-S05) if the
        file is no N-Quads."""
        try:
            _write_folder(folder, lambda disk: disk.bulk_load(path=str(quads), format=ox.RdfFormat.N_QUADS, lenient=True))
        except (SyntaxError, ValueError, RuntimeError) as fault:
            raise QueryError("BL-S05", f"{quads} cannot be loaded: {plain(fault)}") from fault

    def __len__(self) -> int:
        return 0 if self.closed else len(self._store)

    def to_quads(self) -> bytes:
        """All quads as N-Quads, unsorted."""
        return b"" if self.closed else self._store.dump(format=ox.RdfFormat.N_QUADS) or b""

    def query(self, text: str, *, union: bool = False) -> Result:
        """The library's own result, for code in this package. ``union``: all graphs are the default graph.

        Raises SyntaxError if the text does not parse, and whatever else the library raises; QueryError if
        closed.
        """
        if self.closed:
            raise QueryError("BL-S05", f"{self.name} is closed")
        return self._store.query(text, use_default_graph_as_union=union)

    def close(self) -> None:
        super().close()
        self._store = ox.Store()

    def _select(self, query: str) -> Rows:
        result = self._run(query, ox.QuerySolutions, "rows")
        return Rows(variables(result), list(rows(result)))

    def _texts(self, query: str) -> list[tuple[str, ...]]:
        result = self._run(query, ox.QuerySolutions, "rows")
        return [tuple(["" if t is None else t.value for t in row]) for row in result]

    def _ask(self, query: str) -> bool:
        return bool(self._run(query, ox.QueryBoolean, "yes or no"))

    def _construct(self, query: str) -> str:
        return ntriples(self._run(query, ox.QueryTriples, "triples"))

    def _run(self, query: str, form: type[R], wanted: str) -> R:
        try:
            result = self.query(query)
        except SyntaxError as fault:
            raise QueryError("BL-S01", f"the query does not parse: {plain(fault)}") from fault
        if isinstance(result, form):
            return result
        raise QueryError("BL-S05", f"{self.name} was asked for {wanted}, but the query has another form")


def _write_folder(folder: Path, load: Callable[[ox.Store], None]) -> None:
    import contextlib
    import shutil
    import tempfile
    import time

    folder.parent.mkdir(parents=True, exist_ok=True)
    for left in folder.parent.glob(".store-*"):  # by a process that was killed; hours later nobody is still writing
        with contextlib.suppress(OSError):
            if abs(time.time() - left.stat().st_mtime) > 7_200:
                shutil.rmtree(left, ignore_errors=True)
    temporary = Path(tempfile.mkdtemp(dir=folder.parent, prefix=".store-"))
    try:
        disk = ox.Store(str(temporary))
        load(disk)
        disk.optimize()
        disk.flush()
        del disk  # releases the lock
        (temporary / RECORD).write_text(json.dumps(_state(temporary)), encoding="utf-8")
        if not folder.exists():
            temporary.rename(folder)
    finally:
        shutil.rmtree(temporary, ignore_errors=True)


def _state(folder: Path) -> dict[str, list[int]]:
    """File -> size and times, in nanoseconds, of every file that the answers depend on.

    The library does not tell of all damage: where a block cannot be read while it looks whether something exists, it goes on as
    if there were nothing, and a table of contents that was cut off gives an older state. Whoever changes a file changes its
    times, which costs far less to look at than the contents.
    """
    out = {}
    with os.scandir(folder) as found:
        for entry in found:
            if entry.name != RECORD and not entry.name.startswith(_NO_DATA):
                is_ = entry.stat()
                out[entry.name] = [is_.st_size, is_.st_mtime_ns, is_.st_ctime_ns]
    return out


def variables(result: ox.QuerySolutions) -> tuple[str, ...]:
    """The names of the projected variables, in the order of the query."""
    return tuple(variable.value for variable in result.variables)


def rows(result: ox.QuerySolutions) -> Iterator[dict[str, Cell]]:
    """The rows one by one, in the order of the query, so that a caller may stop early.

    Blank nodes are renamed b0, b1, ... by first appearance: the library gives them random labels.
    """
    names = variables(result)
    labels: dict[str, str] = {}
    for solution in result:
        yield {n: _cell(t, labels) for n, t in zip(names, solution, strict=True) if t is not None}


def ntriples(triples: Iterable[ox.Triple]) -> str:
    """Triples as sorted N-Triples without doubles; blank nodes get labels that depend on the graph alone."""
    dataset = ox.Dataset(ox.Quad(t.subject, t.predicate, t.object) for t in triples)
    if any(isinstance(part, ox.BlankNode) for quad in dataset for part in (quad.subject, quad.object)):
        dataset.canonicalize(ox.CanonicalizationAlgorithm.UNSTABLE)
    lines = {f"{quad.triple} .\n" for quad in dataset}
    return "".join(sorted(lines))


def _read(path: Path) -> bytes:
    data = path.read_bytes()
    if path.suffix != ".gz":
        return data
    import gzip  # only here: asking reads the plain file, and every import counts in a one-shot answer
    import zlib

    try:
        return gzip.decompress(data)
    except (EOFError, zlib.error, gzip.BadGzipFile) as fault:
        raise ValueError(f"damaged gzip file: {fault}") from fault


_iri = lru_cache(maxsize=65_536)(partial(Cell, "iri"))
_literal = lru_cache(maxsize=4_096)(partial(Cell, "literal"))
"""Every row names the same few thousand terms again and again."""


def _cell(term: ox.NamedNode | ox.BlankNode | ox.Literal | ox.Triple, labels: dict[str, str]) -> Cell:
    if isinstance(term, ox.NamedNode):
        return _iri(term.value)
    if isinstance(term, ox.Literal):
        return _literal(term.value, term.datatype.value, term.language or "")
    if isinstance(term, ox.BlankNode):
        return Cell("blank", labels.setdefault(term.value, f"b{len(labels)}"))
    # A triple used as a term: not part of our data, but a query can make one. Its text is the best that can
    # be shown.
    return Cell("literal", str(term))
