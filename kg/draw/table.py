"""What is drawn how: ``ontology/drawing.toml``, read and checked. The words of models and their parameters are ours; what
recorded value stands for which parameter is knowledge, and lives in the table alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from kg import names
from kg.draw.models.registry import MODELS
from kg.errors import CatalogueError
from kg.model import Finding
from kg.vocabulary import Vocabulary

FILE = "drawing.toml"


@dataclass(frozen=True)
class FeatureRow:
    """How a feature is drawn. ``parameter``: what of the model it decides; ``tokens``: value -> setting, empty if that value
    is expressly not drawn; ``unknown``: the setting that is drawn dashed where nothing is recorded (empty: nothing is drawn);
    ``glyph``: a picture of its own, for models that do not know the parameter; ``bare``: the setting that is shown by nothing
    being there.
    """

    parameter: str
    tokens: Mapping[str, str]
    unknown: str = ""
    glyph: str = ""
    bare: str = ""


@dataclass(frozen=True)
class PartRow:
    """How a part is drawn: by the model, if it knows ``parameter``; else as a ``glyph`` at a place of the model."""

    parameter: str
    glyph: str = ""
    place: str = ""


@dataclass(frozen=True)
class Body:
    """One rule: patterns of these kinds, handles, parts and values are drawn by ``model`` with ``settings``.

    The first rule that fits is taken. ``assume``: parameters of parts that are drawn dashed where it is not recorded whether
    they are there.
    """

    model: str
    kinds: tuple[str, ...] = ()
    values: tuple[str, ...] = ()
    has: tuple[str, ...] = ()
    assume: frozenset[str] = frozenset()
    settings: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Table:
    """The whole table, keyed by short names. ``undrawn``: name -> reason; ``faces``: how a jaw face is sketched in letters."""

    features: Mapping[str, FeatureRow]
    parts: Mapping[str, PartRow]
    bodies: tuple[Body, ...]
    undrawn: Mapping[str, str]
    faces: Mapping[str, tuple[str, str]]


def read_table(root: Path) -> Table:
    """The table of an ontology folder. Raises CatalogueError (BL-C04), naming file and line, if it has another form."""
    import tomllib

    path = root / FILE
    try:
        text = path.read_text(encoding="utf-8")
        raw = tomllib.loads(text)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as e:
        raise CatalogueError("BL-C04", f"{FILE}: cannot be used: {e}", hint="Correct the file; see its head.") from e
    for key, problem in _form_faults(raw):
        where = f"{FILE}, line {line_of(text, key)}"
        raise CatalogueError("BL-C04", f"{where}: {problem}", hint="The head of the file says what a block may hold.")
    return Table(
        {
            name: FeatureRow(
                row["parameter"],
                {v: t or "" for v, t in row["values"].items()},
                row.get("unknown", ""),
                row.get("glyph", ""),
                row.get("bare", ""),
            )
            for name, row in raw.get("feature", {}).items()
        },
        {
            name: PartRow(row.get("parameter", ""), row.get("glyph", ""), row.get("place", "end"))
            for name, row in raw.get("part", {}).items()
        },
        tuple(
            Body(
                row["model"],
                tuple(row.get("kinds", ())),
                tuple(row.get("values", ())),
                tuple(row.get("has", ())),
                frozenset(row.get("assume", ())),
                {k: v for k, v in row.items() if k not in _BODY},
            )
            for row in raw.get("body", ())
        ),
        dict(raw.get("undrawn", {})),
        {name: (row["signs"], row["plain"]) for name, row in raw.get("face", {}).items()},
    )


table_of = lru_cache(maxsize=4)(read_table)
"""The table of an ontology folder, read once in a process."""
_BODY = ("model", "kinds", "values", "has", "assume")


def _form_faults(raw: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """(text to look for, what is wrong) for everything that has another form than the reader expects."""
    for name in sorted(set(raw) - {"feature", "part", "body", "undrawn", "face"}):
        yield f"[{name}", f'"{name}" means nothing here'
    for name, row in _tables(raw.get("feature", {})):
        if row is None or not isinstance(row.get("parameter"), str) or not isinstance(row.get("values"), dict):
            yield f'"{name}"', f"{name} has no parameter or no values"
            continue
        for value, token in row["values"].items():
            if token is not False and not (isinstance(token, str) and token):
                yield f'"{value}"', f"{value} is given neither a setting nor false"
        for key in sorted(set(row) - {"parameter", "values", "unknown", "glyph", "bare"}):
            yield f'"{name}"', f'"{key}" means nothing in a feature'
    for name, row in _tables(raw.get("part", {})):
        if row is None or not (row.get("parameter") or row.get("glyph")):
            yield f'"{name}"', f"{name} has neither a parameter nor a glyph"
        elif set(row) - {"parameter", "glyph", "place"}:
            yield f'"{name}"', f"{name} has more than a parameter, a glyph and a place"
    for row in raw.get("body", ()):
        if not isinstance(row, dict) or not isinstance(row.get("model"), str):
            yield "[[body]]", "a body has no model"
    for name, row in _tables(raw.get("face", {})):
        if row is None or not isinstance(row.get("signs"), str) or not isinstance(row.get("plain"), str):
            yield f"[face.{name}]", f"the face {name} has no signs or no plain signs"
        elif not row["plain"].isascii():
            yield f"[face.{name}]", f"the plain signs of the face {name} are not ASCII"


def _tables(rows: Mapping[str, Any]) -> Iterator[tuple[str, dict[str, Any] | None]]:
    for name, row in rows.items():
        yield name, row if isinstance(row, dict) else None


def line_of(text: str, key: str) -> int:
    """The first line that holds ``key``, counted from 1; 1 if none does."""
    for number, content in enumerate(text.splitlines(), 1):
        if key in content and not content.lstrip().startswith("#"):
            return number
    return 1


# --- against the vocabulary -----------------------------------------------------------------------------------------
def faults(root: Path, vocabulary: Vocabulary) -> list[Finding]:
    """What the table says of names that do not exist, and what it forgets; empty if all is well or there is no table."""
    path = root / FILE
    if not path.is_file():
        return []
    text = path.read_text(encoding="utf-8")
    try:
        table = read_table(root)
    except CatalogueError as e:
        found = re.search(r"line (\d+)", e.message)
        return [Finding("error", FILE, int(found[1]) if found else 0, "BL-C04", e.message, e.hint)]
    fix = "Every visible feature, value and part stands in the table, drawn or expressly not drawn."
    return [
        Finding("error", FILE, line_of(text, f'"{name}"'), "BL-C04", problem, fix)
        for name, problem in _name_faults(table, vocabulary)
    ]


def _name_faults(table: Table, vocabulary: Vocabulary) -> Iterator[tuple[str, str]]:
    parts = {t.name for t in vocabulary.by_role("part")}
    named = {**table.features, **table.parts, **table.undrawn}
    for name in sorted(named):
        if name not in parts and name not in vocabulary.features:
            yield name, f"{name} is no feature and no part"
    for name, row in sorted(table.features.items()):
        values = set(vocabulary.values_of(name))
        for value in sorted(set(row.tokens) ^ values):
            yield (
                value if value in row.tokens else name,
                (f"{value} is no value of {name}" if value in row.tokens else f"{value} of {name} is missing"),
            )
    for name in sorted((parts | set(visible_features(vocabulary))) - set(named)):
        yield name, f"{name} is missing"
    for body in table.bodies:
        if body.model not in MODELS:
            yield body.model, f'there is no model "{body.model}"'
        for name in (*body.kinds, *body.values, *body.has):
            if name not in vocabulary.terms:
                yield name, f"{name} does not exist"
    if not table.bodies or table.bodies[-1].kinds or table.bodies[-1].values or table.bodies[-1].has:
        yield "model", "the last body must fit everything"


def visible_features(vocabulary: Vocabulary) -> Sequence[str]:
    """The features that are said with the parts, as something that can be seen; sorted."""
    hidden = {names.OF_KIND, names.SIZE_CLASS}
    return sorted(f.name for f in vocabulary.features.values() if not f.section and f.name not in hidden)
