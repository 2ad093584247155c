"""The closure on disk: its files, their stamp, how they are written and read.

Files in ``ontology/generated`` (or in the user's cache): ``closure.nq`` (see ``kg.quads``), ``vocabulary.json``,
``words.json`` (the lexicon, as JSON because that reads faster), ``value-classes.ttl`` and
``stamp.json`` (hash of the inputs, digest of each file, engine that verified).
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from kg.errors import CatalogueError

QUADS, VOCABULARY, WORDS = "closure.nq", "vocabulary.json", "words.json"
VALUE_CLASSES, STAMP = "value-classes.ttl", "stamp.json"


@dataclass(frozen=True)
class Stamp:
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
    """Writes all files, the stamp last; each file is replaced whole. Raises OSError if the folder cannot be written."""
    import tempfile  # only writing needs it

    folder.mkdir(parents=True, exist_ok=True)
    (folder / STAMP).unlink(missing_ok=True)  # an interrupted write leaves no stamp: a missing closure, never a mixed one
    for name, text in [*contents.items(), (STAMP, stamp.to_json())]:
        handle, temporary = tempfile.mkstemp(dir=folder, prefix=f".{name}.")
        try:
            with os.fdopen(handle, "wb") as out:
                out.write(text.encode())
            os.chmod(temporary, 0o644)
            os.replace(temporary, folder / name)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise


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
    except (OSError, ValueError, KeyError, TypeError) as e:
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
