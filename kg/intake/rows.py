"""Rows of the three tables with the place of every cell, and the findings on them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from kg.model import Finding

LONGEST_CELL = 32_767
"""Characters; the most that a cell of a spreadsheet holds."""
MOST_ROWS = 10_000
"""Rows in all files given at once."""
ERROR, WARNING = "error", "warning"


@dataclass(frozen=True, order=True)
class Place:
    """Where something stands: file as given, line (or row of a sheet; 0: the whole file), cell such as ``sources!B3``."""

    file: str
    line: int = 0
    cell: str = ""


@dataclass(frozen=True)
class Cell:
    """The text of one cell, without outer spaces, and its place."""

    text: str
    place: Place


@dataclass(frozen=True)
class Row:
    """One row of ``statements``, ``sources`` or ``patterns``: column -> cell, empty cells left out."""

    table: str
    cells: Mapping[str, Cell]
    place: Place

    def text(self, column: str) -> str:
        cell = self.cells.get(column)
        return cell.text if cell else ""

    def at(self, column: str) -> Place:
        cell = self.cells.get(column)
        return cell.place if cell else self.place


@dataclass
class Report:
    """Findings in the order they were made; ``findings`` sorts them. The same words on the same place count once."""

    _found: dict[Finding, None] = field(default_factory=dict)

    def error(self, code: str, place: Place, text: str, fix: str = "") -> None:
        self._add(ERROR, code, place, text, fix)

    def warning(self, code: str, place: Place, text: str, fix: str = "") -> None:
        self._add(WARNING, code, place, text, fix)

    def add(self, finding: Finding) -> None:
        self._found[finding] = None

    def _add(self, severity: str, code: str, place: Place, text: str, fix: str) -> None:
        shown = f"{place.cell}: {text}" if place.cell else text
        self.add(Finding(severity, place.file, place.line, code, shown, fix))

    @property
    def errors(self) -> list[Finding]:
        """In the order they were made."""
        return [f for f in self._found if f.severity == ERROR]

    @property
    def failed(self) -> bool:
        return any(f.severity == ERROR for f in self._found)

    def findings(self) -> list[Finding]:
        """Errors first, then by file and line."""
        return sorted(self._found, key=lambda f: (f.severity != ERROR, f.file, f.line, f.code, f.text))


def shorten(text: str, most: int = 60) -> str:
    """A text as it may be shown: on one line, printable, at most ``most`` characters."""
    plain = "".join(c if c.isprintable() else "?" for c in " ".join(text.split()))
    return plain if len(plain) <= most else plain[: most - 1] + "…"
