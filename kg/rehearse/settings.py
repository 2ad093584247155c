"""The order, words and numbers of a rehearsal, from ``rehearsal.toml`` beside the ontology."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from kg.datafiles import data_file, read_data

FILE = "rehearsal.toml"
WORDINGS = "heard.toml"
"""Other wordings of values and parts, beside the first file."""
TASKS = ("describe", "name", "name from use", "left out", "use", "where never", "reprocess", "tell apart", "disputed")
"""What can be asked."""


@dataclass(frozen=True)
class Line:
    """What an answer may say for a line on reprocessing that begins so; ``welcome``: it is not asked for.

    ``also``: of what the line asks besides; either alone earns half.
    """

    starts: str
    heard: tuple[str, ...]
    also: tuple[str, ...] = ()
    welcome: bool = False


@dataclass(frozen=True)
class Settings:
    """``openings`` and ``follow`` are tasks in order; ``ask`` task -> question with places to fill.

    ``lines``: what may be said for each line on reprocessing; ``same``: rows of words that stand for each other;
    ``heard``: term -> other wordings of it (after "~" less exact ones). The numbers
    and the remaining word lists are explained in the file.
    """

    openings: tuple[str, ...]
    follow: tuple[str, ...]
    longest: int
    alike: float
    again_below: float
    again_after: int
    look_alike_weight: float
    missed_weight: float
    least_described: int
    most_named: int
    most_used: int
    most_told_apart: int
    longest_answer: int
    never_asked: frozenset[str]
    ask: Mapping[str, str]
    lines: tuple[Line, ...]
    hearing: Mapping[str, tuple[str, ...]]
    same: tuple[tuple[str, ...], ...]
    heard: Mapping[str, tuple[str, ...]]


_WORDS = (
    "dull",
    "contrast",
    "absent_before",
    "absent_after",
    "onward",
    "first",
    "second",
    "both",
    "longer",
    "shorter",
    "never_wrong",
)


def read_settings(root: Path) -> Settings:
    """The settings of an ontology folder. Raises CatalogueError (BL-C04) if the file is missing or wrong."""
    with data_file(WORDINGS):
        heard = read_data(root, WORDINGS)["heard"] if (root / WORDINGS).exists() else {}
    with data_file(FILE):
        return _settings(read_data(root, FILE), heard)


def _texts(found: Iterable[Any]) -> tuple[str, ...]:
    return tuple(str(text) for text in found)


def _settings(raw: Mapping[str, Any], heard: Mapping[str, Any]) -> Settings:
    chain, limits, hearing = raw["chain"], raw["limits"], raw["hearing"]
    settings = Settings(
        openings=tuple(chain["openings"]),
        follow=tuple(chain["follow"]),
        longest=int(chain["longest"]),
        alike=float(chain["alike"]),
        again_below=float(chain["again_below"]),
        again_after=int(chain["again_after"]),
        look_alike_weight=float(chain["look_alike_weight"]),
        missed_weight=float(chain["missed_weight"]),
        **{k: int(limits[k]) for k in ("least_described", "most_named", "most_used", "most_told_apart", "longest_answer")},
        never_asked=frozenset(str(f) for f in limits["never_asked"]),
        ask={str(k): str(v) for k, v in raw["ask"].items()},
        lines=tuple(
            Line(str(x["starts"]), _texts(x["heard"]), _texts(x.get("also", ())), bool(x.get("welcome", False)))
            for x in raw["line"]
        ),
        hearing={name: tuple(str(w) for w in hearing[name]) for name in _WORDS},
        same=tuple(_texts(row) for row in hearing["same"]),
        heard={str(name): _texts(phrases) for name, phrases in heard.items()},
    )
    unknown = [t for t in (*settings.openings, *settings.follow) if t not in TASKS]
    unasked = [t for t in (*settings.openings, *settings.follow, "it") if t not in settings.ask]
    if unknown or unasked:
        raise ValueError(f"not known or without words: {', '.join(dict.fromkeys(unknown + unasked))}")
    if not (0 <= settings.alike <= 1 and 0 <= settings.again_below <= 1 and settings.longest > 0):
        raise ValueError("alike and again_below lie between 0 and 1, longest is at least 1")
    return settings
