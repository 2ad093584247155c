"""Files are written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from kg.errors import InputError


def write_whole(path: Path, data: bytes, *, replace: bool = True) -> None:
    """Writes beside ``path`` under another name, then moves it there: an interruption leaves the old file or none.

    Raises InputError (BL-I02) if it cannot be written, or if it is there already and may not be replaced.
    """
    if not replace and path.exists():
        raise InputError("BL-I02", "There is such a file already; it is not overwritten.", file=str(path), hint=_OTHER)
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}.", suffix=".part")
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        umask = os.umask(0)
        os.umask(umask)
        os.chmod(temporary, 0o666 & ~umask)
        os.replace(temporary, path)
    except OSError as e:
        raise InputError("BL-I02", f"The file cannot be written: {e.strerror or e}.", file=str(path)) from e
    finally:
        if temporary:
            Path(temporary).unlink(missing_ok=True)


_OTHER = "Give another name, or --replace."
