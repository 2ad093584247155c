"""Opening a catalogue: the shipped closure, or the user's own, or one rebuilt where neither can be used."""

from __future__ import annotations

import errno
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from kg import closure, paths
from kg.catalogue import Catalogue
from kg.errors import BoxlockError, CatalogueError

if TYPE_CHECKING:
    from kg.store import Store

Say = Callable[[str], None]


def open_catalogue(root: Path | None = None, *, store: Store | None = None, say: Say = lambda _: None) -> Catalogue:
    """Opens the shipped closure; if it is missing or damaged, says so through ``say`` and rebuilds it.

    A closure in the package folder is used as it is (``boxlock check`` tells whether it is fresh). If that one cannot be
    used and the folder cannot be written, the rebuilt closure goes to the user's cache. Raises CatalogueError or
    ReasonerError if the rebuild fails.

    Without ``root`` the user's own catalogue is opened with the shipped one, if there is one (``kg.overlay``); if it cannot
    be used, that is said, and the shipped one is opened alone.
    """
    if root is None and store is None and (paths.own_dir() / "current").exists():
        mine = _open_own(paths.ontology_dir(), say)
        if mine is not None:
            return mine
    root = root or paths.ontology_dir()
    shipped = paths.generated_dir(root)
    try:
        return _open(root, shipped, store)
    except CatalogueError as trouble:
        if trouble.code not in ("BL-C01", "BL-C02"):
            raise
        first = trouble
    # A build that is under way, or was interrupted, has the new closure ready beside; if it ends meanwhile, in its place.
    for folder in (shipped / closure.NEXT, shipped):
        try:
            return _open(root, folder, store)
        except CatalogueError:
            continue
    from kg import load  # needed only now

    cached = paths.cache_dir(load.input_hash(root))
    try:
        return _open(root, cached, store)
    except CatalogueError:
        pass
    say(f"{first.message} [{first.code}]; rebuilding it now")
    return _open(root, rebuild(root, say=say), store)


def open_remote(url: str, *, local: Catalogue | None = None, say: Say = lambda _: None) -> Catalogue:
    """The catalogue that ``kg.publish`` brought to a server: its facts are asked there, its words and rules come from the
    closure here with the same digest, the shipped one or the user's own, or that of ``local``. One query tells if they fit.

    Raises InputError (BL-I01) for the address; QueryError: BL-S11 if the server holds another catalogue, part of one or none,
    BL-S06 to BL-S10 if it does not answer; CatalogueError as ``open_catalogue``.
    """
    from kg.store.address import read_address
    from kg.store.publication import other_closure, published
    from kg.store.remote import RemoteStore

    address = read_address(url)
    if address.exposed:
        say("the credentials go to the server unencrypted; use https where you can")
    store = RemoteStore(address)
    try:
        there = published(store)
        seen: list[str] = []
        for found in [local] if local else _here(store, say):
            if found.stamp.files.get(closure.QUADS) == there:
                out = Catalogue(found.root, found.folder, found.stamp, store)
                out.exported = found.exported
                return out
            seen.append(found.stamp.files.get(closure.QUADS, ""))
        raise other_closure(store, there, seen)
    except BaseException:
        store.close()
        raise


def _here(store: Store, say: Say) -> Iterator[Catalogue]:
    """The catalogues of this installation: the shipped one, then the user's own."""
    root = paths.ontology_dir()
    yield open_catalogue(root, store=store, say=say)
    if (paths.own_dir() / "current").exists():
        mine = _open_own(root, say)
        if mine is not None:
            yield mine


def _open_own(root: Path, say: Say) -> Catalogue | None:
    from kg import overlay

    try:
        folder = overlay.closure_folder(root, say=say)
        if folder is None:
            return None
        try:
            return _open(root, folder, None)
        except CatalogueError:
            return _open(root, overlay.closure_folder(root, say=say, damaged=True) or folder, None)
    except BoxlockError as e:
        say(f"{e.message} [{e.code}]; your own catalogue is left out, the shipped one answers")
        return None


def _open(root: Path, folder: Path, store: Store | None) -> Catalogue:
    stamp = closure.read_stamp(folder)
    catalogue = Catalogue(root, folder, stamp, store)
    if store is None:
        # Load at once: a damaged file must be found before the first answer, not during one.
        _ = catalogue.store
        catalogue.check_files()
    return catalogue


def rebuild(root: Path, *, hermit: bool = True, say: Say = lambda _: None) -> Path:
    """Builds the closure into the package folder, or into the user's cache if that cannot be written. Returns the folder."""
    from kg import load
    from kg.build import build

    shipped = paths.generated_dir(root)
    try:
        build(root, shipped, hermit=hermit, say=say)
        return shipped
    except PermissionError:
        pass
    except OSError as e:
        if e.errno != errno.EROFS:
            raise CatalogueError("BL-C01", f"the closure cannot be written to {shipped}: {e.strerror}") from e
    cached = paths.cache_dir(load.input_hash(root))
    try:
        build(root, cached, hermit=hermit, say=say)
    except OSError as e:
        raise CatalogueError("BL-C01", f"the closure cannot be written to {cached}: {e.strerror}") from e
    return cached
