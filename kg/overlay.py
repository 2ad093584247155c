"""A user's own catalogue: evidence and patterns beside the shipped ones, in a folder of its own; the package never changes.

The folder is ``$BOXLOCK_HOME``, else ``$XDG_DATA_HOME/boxlock``, else ``~/.local/share/boxlock``::

    current              one line: the generation in force
    generation-7/        evidence/*.ttl  patterns/*.ttl   what was added, as Turtle, one file a source or pattern
                         generated/                       the closure of the shipped catalogue with it
    lock                 held while somebody writes

Every change writes a whole new generation and then replaces ``current``, so whoever reads, and whatever is interrupted, finds
the old state or the new one. The generation before is kept. The closure is fresh if its stamp is the hash of the shipped
closure's inputs and of the own files; if not, it is made anew when the catalogue is opened.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import shutil
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from kg import closure, load, names, paths
from kg.errors import CatalogueError, ReasonerError

if TYPE_CHECKING:
    from kg.intake.inspect import Inspection

Say = Callable[[str], None]
CURRENT, LOCK = "current", "lock"
_GENERATION = re.compile(r"generation-([0-9]{1,9})")
_PARTS = ("evidence", "patterns")


@dataclass(frozen=True)
class Added:
    """What ``add`` did. ``folder`` is the new generation; None if nothing was written: refused, or nothing was new."""

    inspection: Inspection
    folder: Path | None


# --- reading ----------------------------------------------------------------------------------------------------------
def current(home: Path) -> Path | None:
    """The generation in force; None if nothing was ever added. Raises CatalogueError (BL-C06) if it cannot be told."""
    try:
        text = (home / CURRENT).read_text(encoding="utf-8").strip()
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as e:
        raise CatalogueError("BL-C06", f"your own catalogue cannot be read: {home / CURRENT}: {e}") from e
    if not _GENERATION.fullmatch(text) or not (home / text).is_dir():
        what = f"your own catalogue cannot be used: {home / CURRENT} names no generation that is there"
        raise CatalogueError("BL-C06", what, hint="Write the name of the newest whole folder generation-N into it.")
    return home / text


def read_files(generation: Path | None) -> dict[str, str]:
    """Path in the generation (``evidence/x.ttl``) -> text, sorted. Raises CatalogueError (BL-C06)."""
    out: dict[str, str] = {}
    for part in _PARTS if generation else ():
        for path in sorted((generation / part).glob("*.ttl")):
            try:
                out[f"{part}/{path.name}"] = path.read_text(encoding="utf-8")
            except (OSError, ValueError) as e:
                raise CatalogueError("BL-C06", f"your own catalogue: {path} cannot be read: {e}") from e
    return out


def inputs_hash(root: Path, files: Mapping[str, str]) -> str:
    """Changes whenever the shipped closure or an own file does."""
    digest = hashlib.sha256(_shipped_inputs(root).encode())
    for path, text in sorted(files.items()):
        data = text.encode()
        digest.update(f"\0{path}\0{len(data)}\0".encode() + data)
    return digest.hexdigest()


def _shipped_inputs(root: Path) -> str:
    try:
        return closure.read_stamp(paths.generated_dir(root)).inputs
    except CatalogueError:
        return load.input_hash(root)


def _verified(folder: Path) -> str:
    try:
        return closure.read_stamp(folder).verified_by
    except CatalogueError:
        return ""


# --- checking and adding ------------------------------------------------------------------------------------------------
def check_files(
    files: Iterable[Path | str], root: Path | None = None, *, hermit: bool = True, say: Say = lambda _: None
) -> Inspection:
    """What ``add`` would find; nothing is written. Raises CatalogueError if the catalogue itself cannot be staged."""
    from kg.intake.inspect import inspect

    root = root or paths.ontology_dir()
    return inspect(list(files), root, read_files(current(paths.own_dir())), hermit=hermit, say=say)


def add_files(
    files: Iterable[Path | str], root: Path | None = None, *, hermit: bool = True, say: Say = lambda _: None
) -> Added:
    """Adds all of the files to one's own catalogue, or, if there is an error in any, nothing.

    Raises CatalogueError: BL-C05 if another process is writing, BL-C06 if the own catalogue cannot be read or written.
    """
    from kg.intake.inspect import inspect

    root, home = root or paths.ontology_dir(), paths.own_dir()
    with locked(home):
        generation = current(home)
        own = read_files(generation)
        shipped = _verified(paths.generated_dir(root))
        known = _verified(generation / "generated") if generation else shipped
        everything = hermit and bool(shipped) and not known  # an addition without HermiT is made good
        found = inspect(list(files), root, own, hermit=hermit, everything=everything, say=say)
        if not found.accepted or found.files == own:
            return Added(found, None)
        engine = found.verified_by if found.touched else known
        stamp = _stamp(root, found.files, found.contents, engine if shipped else "")
        say("writing your own catalogue")
        return Added(found, commit(home, found.files, found.contents, stamp))


def _stamp(root: Path, files: Mapping[str, str], contents: Mapping[str, str], engine: str) -> closure.Stamp:
    from kg.build import release

    return closure.stamp_of(contents, inputs_hash(root, files), engine, release())


def commit(home: Path, files: Mapping[str, str], contents: Mapping[str, str], stamp: closure.Stamp) -> Path:
    """Writes a new generation and puts it in force. The caller holds the lock. Raises CatalogueError (BL-C06)."""
    try:
        kept = current(home)
    except CatalogueError:
        kept = None
    numbers = [int(m[1]) for p in home.iterdir() if (m := _GENERATION.fullmatch(p.name))]
    folder = home / f"generation-{max(numbers, default=0) + 1}"
    try:
        for part in _PARTS:
            (folder / part).mkdir(parents=True)
        for path, text in files.items():
            (folder / path).write_text(text, encoding="utf-8")
        closure.write(folder / "generated", contents, stamp)
        _to_disk(folder)
        pointer = home / f"{CURRENT}.new"
        pointer.write_text(f"{folder.name}\n", encoding="utf-8")
        _sync(pointer)
        os.replace(pointer, home / CURRENT)  # the one moment at which the new state comes into force
        _sync(home)
    except OSError as e:
        shutil.rmtree(folder, ignore_errors=True)
        raise CatalogueError("BL-C06", f"your own catalogue cannot be written: {e.strerror or e} ({home})") from e
    for path in home.iterdir():
        if _GENERATION.fullmatch(path.name) and path not in (folder, kept):
            shutil.rmtree(path, ignore_errors=True)
    return folder


def _to_disk(folder: Path) -> None:
    for place, _, found in os.walk(folder):
        for name in found:
            _sync(Path(place) / name)
        _sync(Path(place))
    _sync(folder.parent)


def _sync(path: Path) -> None:
    """Asks the system to put it on the disk; a folder cannot be opened for that everywhere."""
    with contextlib.suppress(PermissionError, IsADirectoryError):
        handle = os.open(path, os.O_RDONLY)
        try:
            with contextlib.suppress(OSError):
                os.fsync(handle)
        finally:
            os.close(handle)


@contextlib.contextmanager
def locked(home: Path, *, wait_s: float = 0.0) -> Iterator[None]:
    """Holds the lock of the folder, which is made if need be. Raises CatalogueError: BL-C05 if another process has it.

    The system frees the lock of a process that ends in any way, so what a killed one left behind is never in the way; the
    number of the process stands in the file for whoever wonders.
    """
    try:
        home.mkdir(parents=True, exist_ok=True)
        handle = os.open(home / LOCK, os.O_RDWR | os.O_CREAT, 0o644)
    except OSError as e:
        raise CatalogueError("BL-C06", f"your own catalogue cannot be written: {e.strerror or e} ({home})") from e
    try:
        until = time.monotonic() + wait_s
        while not _try_lock(handle):
            if time.monotonic() >= until:
                pid = os.read(handle, 20).decode("ascii", "replace").strip()
                who = f" (process {pid})" if pid.isdecimal() else ""
                what = f"your own catalogue is being written by another process{who}"
                raise CatalogueError("BL-C05", what, hint="Wait until it has finished.")
            time.sleep(0.1)
        os.ftruncate(handle, 0)
        os.pwrite(handle, f"{os.getpid()}\n".encode(), 0)
        yield
    finally:
        os.close(handle)


def _try_lock(handle: int) -> bool:
    try:
        import fcntl
    except ImportError:  # Windows
        import msvcrt

        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


# --- opening ------------------------------------------------------------------------------------------------------------
def closure_folder(root: Path, *, say: Say = lambda _: None, damaged: bool = False) -> Path | None:
    """Where the closure of the shipped and the own catalogue lies; None if there is no own catalogue.

    Makes it anew, and says so, if the shipped catalogue or an own file has changed, or if the caller found it ``damaged``.
    Raises CatalogueError or ReasonerError if that cannot be done; the own files are left as they are.
    """
    home = paths.own_dir()

    def in_force() -> tuple[Path | None, dict[str, str], bool]:
        """(folder of the closure or None, the own files, whether it can be used as it is)."""
        generation = current(home)
        if generation is None:
            return None, {}, True
        files, folder = read_files(generation), generation / "generated"
        return folder, files, not damaged and _inputs(folder) == inputs_hash(root, files)

    folder, _, usable = in_force()
    if usable:
        return folder
    with locked(home, wait_s=30):
        folder, files, usable = in_force()  # another process may have done it meanwhile
        if folder is None or usable:
            return folder
        why = "cannot be read" if damaged else "is older than the shipped catalogue or your files"
        say(f"the closure of your own catalogue {why}; rebuilding it now, your files stay as they are")
        return _rebuild(root, home, folder, files, say)


def _inputs(folder: Path) -> str:
    try:
        return closure.read_stamp(folder).inputs
    except CatalogueError:
        return ""


def _rebuild(root: Path, home: Path, folder: Path, files: Mapping[str, str], say: Say) -> Path:
    from kg import build
    from kg.intake.inspect import touched
    from kg.intake.turtle import source_files

    shipped = build.stage(root)
    mine = build.stage(root, source_files(files), base=shipped)
    contents = build.contents(mine)
    engine = _verified(paths.generated_dir(root))
    changed = touched(shipped, mine)
    if engine and changed:
        say(f"reasoning with HermiT on {len(changed)} patterns of yours")
        try:
            engine = build.verify(mine, changed)
        except ReasonerError as e:
            if e.code != "BL-R01":
                raise
            engine = ""
    for line in _changes(folder, contents, set(changed), mine.vocabulary.label):
        say(line)
    return commit(home, files, contents, _stamp(root, files, contents, engine)) / "generated"


def _changes(old: Path, contents: Mapping[str, str], patterns: set[str], label: Callable[[str], str]) -> list[str]:
    """How the categories of one's own patterns differ between an old closure and a new one, in sentences."""
    try:
        before = _types((old / closure.QUADS).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return []
    after = _types(contents[closure.QUADS])
    out = []
    for pattern in sorted(patterns):
        for words, more in (("is now", after), ("is no longer", before)):
            less = before if more is after else after
            found = sorted(map(label, more.get(pattern, set()) - less.get(pattern, set())))
            if found and pattern in before:
                out.append(f"{label(pattern)} {words}: {', '.join(found)}")
    return out


def _types(quads: str) -> dict[str, set[str]]:
    """pattern -> its types in the graph of what holds."""
    own = re.escape(names.PREFIXES["bl"])
    line = re.compile(
        rf"^<({own}[^>]+)> <{re.escape(names.expand(names.TYPE))}> <({own}[^>]+)> <{re.escape(names.expand('graph:holds'))}>",
        re.MULTILINE,
    )
    out: dict[str, set[str]] = {}
    for subject, kind in line.findall(quads):
        out.setdefault(names.shrink(subject), set()).add(names.shrink(kind))
    return out
