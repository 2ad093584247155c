"""The prompt's history: a file if one can be kept, else memory. A failing disk never costs an answer."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from prompt_toolkit.history import FileHistory, History, InMemoryHistory


class _CarefulFile(FileHistory):
    """A history file whose faults are passed over."""

    def load_history_strings(self) -> Iterable[str]:
        try:
            return list(super().load_history_strings())
        except OSError:
            return []

    def store_string(self, string: str) -> None:
        try:
            super().store_string(string)
        except (OSError, UnicodeError):
            return


def open_history(path: Path) -> History:
    """The history in the file, made with its folder if need be and private to its owner; in memory if that fails."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch(mode=0o600)
        with path.open("ab"):
            pass
    except OSError:
        return InMemoryHistory()
    return _CarefulFile(str(path))
