"""Reading TOML: the data files beside the ontology, and files that a person gives. Errors say which file, and what to do."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from kg.errors import CatalogueError, InputError
from kg.files import read_limited
from kg.nesting import MOST_DOTS, too_dotted

LARGEST_OWN = 200_000
"""Bytes of a file that a person gives."""


@contextmanager
def data_file(name: str) -> Iterator[None]:
    """What is read and made of a data file inside: any fault of it becomes a CatalogueError (BL-C04) that names it."""
    try:
        yield
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as e:
        raise CatalogueError("BL-C04", f"{name}: cannot be used: {e}", hint="Correct the file; see its comments.") from e


def read_data(root: Path, name: str) -> dict[str, Any]:
    """A data file of an ontology folder, parsed. Raises OSError if there is none, ValueError (see ``data_file``)."""
    import tomllib

    return tomllib.loads((root / name).read_text(encoding="utf-8"))


def read_own(file: str, what: str) -> dict[str, Any]:
    """A TOML file that a person gives, parsed; ``what`` it is, for people.

    Raises InputError: BL-I02 if it cannot be read, BL-I04 above ``LARGEST_OWN`` bytes; ValueError or RecursionError if it is no
    TOML, which the caller tells with its form.
    """
    import tomllib

    text = read_limited(file, LARGEST_OWN, f"The {what}").decode("utf-8")
    if line := too_dotted(text):
        raise InputError("BL-I04", f"The {what} has a key of more than {MOST_DOTS} parts.", file=file, line=line)
    return tomllib.loads(text)
