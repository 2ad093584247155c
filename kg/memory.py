"""How much memory this process may have, looked at before a library is loaded that ends the process where it gets too little.

A limit on address space (``ulimit -v``) is all that can be known beforehand; where the machine itself runs out, the system
ends a process of its choice, and nothing that was written is half written.
"""

from __future__ import annotations

import math

from kg.errors import BoxlockError

ANSWER = 150_000_000
"""For the closure in memory and an answer: 90 MB were enough, 70 MB were not."""
THREADS = 4_000_000_000
"""For a store on disk, whose threads reserve much that they never use: 450 MB were not enough with two cores."""
LIBRARY = 1_000_000_000
"""For the solver, workbooks and PDF: 450 MB were enough with two cores, 300 MB were not; threads come with cores."""


def room() -> float:
    """Bytes of address space that this process may have; infinite without a limit, or where there are none (Windows)."""
    try:
        import resource
    except ImportError:
        return math.inf
    limit = resource.getrlimit(resource.RLIMIT_AS)[0]
    return math.inf if limit == resource.RLIM_INFINITY else limit


def need(least: int, what: str) -> None:
    """Raises BoxlockError (BL-X02) if less than ``least`` bytes may be used; ``what`` needs them, for people ("An answer")."""
    found = room()
    if found < least:
        text = f"{what} needs {least // 1_000_000:,} MB of address space; {int(found) // 1_000_000:,} MB are allowed."
        raise BoxlockError("BL-X02", text, hint="Raise the limit (ulimit -v).")
