"""Where the closure is kept and asked: one contract (``base``), one module for each kind of store.

``embedded`` runs in the process, ``remote`` asks a server, ``fake`` asks a function. Raw queries typed by people go through
``guard`` (what may run) and ``sandbox`` (a child process that is killed at its limit); templates need neither.
"""

from kg.store.base import Cell, Rows, Store, short

__all__ = ["Cell", "Rows", "Store", "short"]
