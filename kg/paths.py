"""Where files are: the only module that knows the folder of the ontology and of the user's cache.

The ontology ships as package data. What ``boxlock build`` makes goes to ``ontology/generated`` when that folder can be
written, else to the user's cache (``$XDG_CACHE_HOME/boxlock``, by default ``~/.cache/boxlock``), in a folder named after
the hash of the inputs.
"""

from __future__ import annotations

import os
from pathlib import Path


def ontology_dir() -> Path:
    """The folder of the shipped ontology. Set ``BOXLOCK_ONTOLOGY`` to work on another copy."""
    override = os.environ.get("BOXLOCK_ONTOLOGY")
    if override:
        return Path(override)
    import ontology  # not importlib.resources: it costs more to import than all that a question needs here

    return Path(ontology.__file__).parent


def generated_dir(ontology: Path) -> Path:
    """Where the shipped closure lies."""
    return ontology / "generated"


def cache_dir(input_hash: str) -> Path:
    """Where a closure is kept if the package folder cannot be written; not created here."""
    return _base("XDG_CACHE_HOME", ".cache") / "boxlock" / input_hash[:16]


def store_folder(digest: str) -> Path:
    """Where the closure with this digest is kept as an on-disk store, which opens faster than the closure loads."""
    return cache_dir(digest).parent / f"store-{digest[:16]}"


def export_folder(digest: str) -> Path:
    """Where the closure of an exported file with this digest is kept."""
    return cache_dir(digest).parent / f"export-{digest[:16]}"


def own_dir() -> Path:
    """The folder of the user's own catalogue (see ``kg.overlay``); not created here."""
    given = os.environ.get("BOXLOCK_HOME")
    if given:
        return Path(given)
    return _base("XDG_DATA_HOME", ".local", "share") / "boxlock"


def history_file() -> Path:
    """The prompt's history; not created here."""
    return _base("XDG_STATE_HOME", ".local", "state") / "boxlock" / "history"


def rehearsal_file() -> Path:
    """What is kept of rehearsals (see ``kg.rehearse.past``); not created here."""
    return history_file().with_name("rehearsal.json")


def _base(variable: str, *below_home: str) -> Path:
    """A folder of the user's by the XDG base directory specification, which has relative ones ignored.

    Where the user has no home (no ``HOME`` and no entry in the user database), nothing is kept: the path is one that nothing
    can be put into. Neither the folder one is in nor a shared temporary one will do: others may write there.
    """
    given = os.environ.get(variable, "")
    if os.path.isabs(given):
        return Path(given)
    home = os.path.expanduser("~")
    return Path(home if os.path.isabs(home) else os.devnull, *below_home)
