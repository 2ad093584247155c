"""The example questions of the first screen and the help; they are kept with the ontology, in ``examples.toml``."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

from kg import ontology_dir


@dataclass(frozen=True)
class Example:
    """A form of question in a few words, one question of that form, and whether the first screen shows it."""

    form: str
    question: str
    first: bool = False


def examples(root: Path | None = None) -> tuple[Example, ...]:
    """All examples in the order of the file; empty if the file is missing or cannot be used."""
    file = (root or ontology_dir()) / "examples.toml"
    try:
        raw = tomllib.loads(file.read_text(encoding="utf-8"))
        return tuple(Example(str(e["form"]), str(e["question"]), bool(e.get("first"))) for e in raw["example"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return ()  # examples are a courtesy: without them everything still works
