"""The closure on disk: its files, their stamp, how they are written and read.

Files in ``ontology/generated`` (or in the user's cache): ``closure.nq`` (see ``kg.quads``), ``vocabulary.json``,
``words.json`` (the word file, as JSON because that reads faster), ``phrases.json`` (the phrases of the lexicon, see
``kg.language.kept``), ``facts.json`` and ``patterns.json`` (the facts of all patterns by property and by pattern, see
``kg.columns``), ``value-classes.ttl`` and ``stamp.json`` (hash of the inputs, digest of each file, engine that verified).
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import time
from collections.abc import Iterator, Mapping
from pathlib import Path

from kg.errors import CatalogueError
from kg.records import Record, record

QUADS, VOCABULARY, WORDS = "closure.nq", "vocabulary.json", "words.json"
PHRASES, FACTS, PATTERNS = "phrases.json", "facts.json", "patterns.json"
VALUE_CLASSES, STAMP = "value-classes.ttl", "stamp.json"
NEXT = ".next"
"""Within the folder of a closure: the one that is about to take its place."""
LONGEST_WAIT = 30.0
"""Seconds for another process to write its closure, which takes well under one."""


@record
class Stamp(Record):
    """What a closure was made from.

    ``inputs``: hash of the inputs; ``files`` and ``sizes``: file -> SHA-256 and bytes; ``verified_by`` is empty if no HermiT
    run stands behind it.
    """

    inputs: str
    files: Mapping[str, str]
    sizes: Mapping[str, int]
    verified_by: str
    release: str

    def to_json(self) -> str:
        return json.dumps(self.__dict__, indent=1, sort_keys=True, default=dict) + "\n"


def stamp_of(contents: Mapping[str, str], inputs: str, verified_by: str, release: str) -> Stamp:
    """The stamp of a closure's files (name -> text)."""
    data = {name: text.encode() for name, text in contents.items()}
    digests, sizes = {n: digest(d) for n, d in data.items()}, {n: len(d) for n, d in data.items()}
    return Stamp(inputs, digests, sizes, verified_by, release)


def write(folder: Path, contents: Mapping[str, str], stamp: Stamp) -> None:
    """Puts a closure into a folder; whoever reads, and whatever interrupts it, finds the old one or the new one, whole.

    All files are first written into ``folder/NEXT``, the stamp last. Then each is put in the place of the old one. Until that
    is done the new closure can be read in ``NEXT`` (as ``kg.opening`` does), and its digests tell that the files outside are
    mixed. Two processes take turns. Raises OSError if the folder cannot be written, CatalogueError (BL-C05) if another process
    does not finish.
    """
    import shutil  # only writing needs it

    folder.mkdir(parents=True, exist_ok=True)
    with _turn(folder):
        ahead = folder / NEXT
        shutil.rmtree(ahead, ignore_errors=True)
        named = [*contents.items(), (STAMP, stamp.to_json())]
        try:
            ahead.mkdir()
            for name, text in named:
                with (ahead / name).open("wb") as out:
                    out.write(text.encode())
                    out.flush()
                    os.fsync(out.fileno())
        except BaseException:
            shutil.rmtree(ahead, ignore_errors=True)
            raise
        for name, _ in named:
            passing = folder / f".{name}.new"
            passing.unlink(missing_ok=True)  # of a process that was killed
            try:
                os.link(ahead / name, passing)  # a second name needs no room on a disk that may just have become full
            except OSError:
                shutil.copyfile(ahead / name, passing)
            os.replace(passing, folder / name)
        shutil.rmtree(ahead, ignore_errors=True)


@contextlib.contextmanager
def _turn(folder: Path) -> Iterator[None]:
    """Holds the folder against other writers; where the system has no such locks, the digests have to do."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        until = time.monotonic() + LONGEST_WAIT
        while True:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                break
            except BlockingIOError:
                if time.monotonic() > until:
                    what = f"the closure is being written by another process ({folder})"
                    raise CatalogueError("BL-C05", what, hint="Wait until it has finished.") from None
                time.sleep(0.02)
            except OSError:
                break  # a file system without locks
        yield
    finally:
        os.close(handle)


def digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def read_stamp(folder: Path) -> Stamp:
    """Raises CatalogueError: BL-C01 if there is no closure, BL-C02 if its stamp cannot be read."""
    try:
        raw = json.loads((folder / STAMP).read_text(encoding="utf-8"))
        sizes = {str(name): int(size) for name, size in raw["sizes"].items()}
        return Stamp(str(raw["inputs"]), dict(raw["files"]), sizes, str(raw["verified_by"]), str(raw["release"]))
    except FileNotFoundError:
        raise CatalogueError("BL-C01", "the closure has not been built", hint=_REBUILD) from None
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as e:
        raise CatalogueError("BL-C02", f"the closure's stamp cannot be read ({e})", hint=_REBUILD) from e


def look(folder: Path, name: str, stamp: Stamp) -> None:
    """Checks that a file of the closure is there in its full size, without reading it.

    Raises CatalogueError (BL-C01, BL-C02).
    """
    try:
        size = (folder / name).stat().st_size
    except OSError:
        raise CatalogueError("BL-C01", f"the closure's file {name} is missing", hint=_REBUILD) from None
    if size != stamp.sizes.get(name):
        raise CatalogueError("BL-C02", f"the closure's file {name} is damaged: it has not its stamped size", hint=_REBUILD)


def check(folder: Path, name: str, stamp: Stamp) -> Path:
    """Checks a file of the closure against its digest, piece by piece, for one too large to be read whole. Returns its path.

    Raises CatalogueError (BL-C01, BL-C02).
    """
    look(folder, name, stamp)
    try:
        with (folder / name).open("rb") as file:
            found = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as e:
        raise CatalogueError("BL-C02", f"the closure's file {name} cannot be read ({e.strerror})", hint=_REBUILD) from e
    if found != stamp.files.get(name):
        raise _damaged(name)
    return folder / name


def read(folder: Path, name: str, stamp: Stamp) -> bytes:
    """One file of the closure, checked against its digest. Raises CatalogueError (BL-C01, BL-C02)."""
    try:
        data = (folder / name).read_bytes()
    except FileNotFoundError:
        raise CatalogueError("BL-C01", f"the closure's file {name} is missing", hint=_REBUILD) from None
    except OSError as e:
        raise CatalogueError("BL-C02", f"the closure's file {name} cannot be read ({e.strerror})", hint=_REBUILD) from e
    if digest(data) != stamp.files.get(name):
        raise _damaged(name)
    return data


def _damaged(name: str) -> CatalogueError:
    return CatalogueError("BL-C02", f"the closure's file {name} is damaged: its digest is not the stamped one", hint=_REBUILD)


_REBUILD = "Run: boxlock build"
