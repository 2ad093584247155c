"""Writing a file: the whole of it, or nothing."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from kg.errors import InputError


def write_text(path: Path, text: str) -> None:
    """Unix line ends, UTF-8; what cannot be encoded is replaced. Otherwise as ``write_bytes``."""
    write_bytes(path, text.encode("utf-8", "replace"))


def write_bytes(path: Path, data: bytes, *, replace: bool = True) -> None:
    """Writes beside ``path`` under another name, then moves it there: an interruption leaves the old file or none.

    Raises InputError (BL-I02) if it cannot be written, or if it is there already and may not be replaced.
    """
    refuse_existing(path, replace=replace)
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}.", suffix=".part")
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        umask = os.umask(0)
        os.umask(umask)
        os.chmod(temporary, 0o666 & ~umask)  # mkstemp makes it private; a handout has the usual rights
        os.replace(temporary, path)
        temporary = ""
    except (OSError, ValueError) as e:
        why = e.strerror if isinstance(e, OSError) and e.strerror else "the name cannot be used"
        raise InputError("BL-I02", f"The file cannot be written: {why}.", file=str(path)) from e
    finally:
        if temporary:
            Path(temporary).unlink(missing_ok=True)


def refuse_existing(path: Path, *, replace: bool) -> None:
    """Raises InputError (BL-I02) if the file is there and may not be replaced; worth knowing before any work is done."""
    if not replace and path.exists():
        hint = "Give another name, or --replace."
        raise InputError("BL-I02", "There is such a file already; it is not overwritten.", file=str(path), hint=hint)
