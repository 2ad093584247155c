"""Files: reading one within limits, and writing the whole of it or nothing."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from kg.errors import InputError


def read_limited(path: Path | str, most: int, what: str) -> bytes:
    """The contents of a plain file that a person gives; ``what`` it is, for people ("The blueprint").

    Raises InputError: BL-I02 if it cannot be read or is no plain file, BL-I04 if it has more than ``most`` bytes.
    """
    file = str(path)
    handle = -1
    try:
        # A pipe would be waited for and a device never ends: opened without waiting, and looked at before anything is read.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise InputError("BL-I02", f"{what} cannot be read: this is no plain file.", file=file)
        data = bytearray()
        while len(data) <= most and (piece := os.read(handle, min(most + 1 - len(data), 1 << 20))):
            data += piece
    except (OSError, ValueError) as e:
        why = e.strerror if isinstance(e, OSError) and e.strerror else "the name cannot be used"
        raise InputError("BL-I02", f"{what} cannot be read: {why}.", file=file) from e
    finally:
        if handle >= 0:
            os.close(handle)
    if len(data) > most:
        raise InputError("BL-I04", f"{what} is larger than {most:,} bytes.", file=file)
    return bytes(data)


def write_text(path: Path, text: str) -> None:
    """Unix line ends, UTF-8; what cannot be encoded is replaced. Otherwise as ``write_bytes``."""
    write_bytes(path, text.encode("utf-8", "replace"))


def write_bytes(path: Path, data: bytes, *, replace: bool = True) -> None:
    """Writes beside ``path`` under another name, then moves it there: an interruption leaves the old file or none.

    Raises InputError (BL-I02) if it cannot be written, or if it is there already and may not be replaced.
    """
    import tempfile  # only writing needs it

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
