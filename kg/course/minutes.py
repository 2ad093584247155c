"""How long an instrument takes, and how hard it counts: numbers of ``teaching.toml``, which a file or an option overrides."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field, fields, replace
from fractions import Fraction
from math import ceil
from pathlib import Path
from typing import Any

from kg.datafiles import data_file, read_data, read_own
from kg.errors import BoxlockError, InputError

FILE = "teaching.toml"
"""Bytes of a file of estimates that are read at most."""
MOST = 1_000
"""No number in the file is larger."""


@dataclass(frozen=True)
class Estimate:
    """Minutes. ``unit``: everything is a whole multiple of it; ``show``, ``thing``, ``look_alike`` (at most
    ``look_alikes_counted`` of them), ``variant``: what an instrument takes; ``mixed``: its turn in the closing round.

    ``each``: so many minutes for every instrument instead, if not None; ``instruments``: pattern -> minutes, before all
    else. Both include the closing round. ``hard_look_alike``, ``hard_thing``: what counts towards hardness.
    """

    unit: float = 0.5
    show: float = 1.0
    thing: float = 0.1
    look_alike: float = 0.25
    look_alikes_counted: int = 4
    variant: float = 0.5
    mixed: float = 0.5
    hard_look_alike: float = 1.0
    hard_thing: float = 0.1
    each: float | None = None
    instruments: Mapping[str, float] = field(default_factory=dict)

    def units(self, pattern: str, *, things: int, look_alikes: int, variants: int) -> int:
        """The whole time of a pattern in units, at least 1."""
        minutes = _exact(self.show) + things * _exact(self.thing) + variants * _exact(self.variant) + _exact(self.mixed)
        minutes += min(look_alikes, self.look_alikes_counted) * _exact(self.look_alike)
        if self.each is not None:
            minutes = _exact(self.each)
        if pattern in self.instruments:
            minutes = _exact(self.instruments[pattern])
        return max(1, ceil(minutes / _exact(self.unit)))

    def closing(self, units: int) -> int:
        """How many of a pattern's units are its turn in the closing round; fewer than all."""
        return min(ceil(_exact(self.mixed) / _exact(self.unit)), units - 1)

    def hardness(self, *, things: int, look_alikes: int) -> int:
        """The higher, the harder to tell; in whole steps, so that small differences decide nothing."""
        return int(look_alikes * _exact(self.hard_look_alike) + things * _exact(self.hard_thing) + Fraction(1, 2))

    def minutes(self, units: int) -> float:
        return float(units * _exact(self.unit))

    def fitting(self, minutes: int) -> int:
        """How many whole units a session of so many minutes has room for."""
        return int(minutes / _exact(self.unit))

    def to_json(self) -> dict[str, Any]:
        out = asdict(self)
        return out | {"instruments": dict(sorted(self.instruments.items()))}


def _exact(number: float) -> Fraction:
    """The decimal that was written: 0.1 is a tenth."""
    return Fraction(str(number))


_PLACES = {f.name: ("minutes", f.name) for f in fields(Estimate) if f.name not in ("each", "instruments")}
_PLACES |= {"hard_look_alike": ("hardness", "look_alike"), "hard_thing": ("hardness", "thing")}


def read_estimate(root: Path) -> Estimate:
    """The estimate of an ontology folder; the defaults if it has none. Raises CatalogueError (BL-C04) if it is wrong."""
    if not (root / FILE).exists():
        return Estimate()
    with data_file(FILE):
        return _changed(Estimate(), read_data(root, FILE), None)


def own_estimate(base: Estimate, file: str, named: Callable[[str], str]) -> Estimate:
    """``base`` with the numbers that a file gives. ``named``: the words for an instrument -> its short name, or an error.

    Raises InputError: BL-I02 if the file cannot be read, BL-I04 if it is too large, BL-I03 if it has another form.
    """
    try:
        return _changed(base, read_own(file, "estimate"), named)
    except (ValueError, RecursionError) as e:
        hint = f"The form is that of {FILE} in the ontology: [minutes], [minutes.instruments], [hardness]."
        raise InputError("BL-I03", f"The estimate cannot be used: {e}.", file=file, hint=hint) from e


def _changed(base: Estimate, raw: Mapping[str, Any], named: Callable[[str], str] | None) -> Estimate:
    """The estimate with what a parsed file gives. Raises ValueError for anything that has no meaning there."""
    given = {key: dict(_table(raw, key)) for key in ("minutes", "hardness")}
    if unknown := sorted(set(raw) - set(given)):
        raise ValueError(f'"{unknown[0]}" means nothing here')
    single = given["minutes"].pop("instruments", {})
    if not isinstance(single, Mapping):
        raise ValueError("instruments is a table of names and minutes")
    changes: dict[str, Any] = {}
    for name, (table, key) in _PLACES.items():
        if key in given[table]:
            changes[name] = _number(key, given[table].pop(key), whole=name == "look_alikes_counted")
    if left := [key for table in given.values() for key in table]:
        raise ValueError(f'"{left[0]}" means nothing here')
    if "unit" in changes and not 0.1 <= changes["unit"] <= 60:
        raise ValueError("unit lies between 0.1 and 60 minutes")
    minutes = {}
    for words, value in single.items():
        number = _number(words, value)
        if number <= 0:
            raise ValueError(f"{words}: minutes are above 0")
        minutes[_resolved(words, named)] = number
    return replace(base, **changes, instruments={**base.instruments, **minutes})


def _table(raw: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    found = raw.get(key, {})
    if not isinstance(found, Mapping):
        raise ValueError(f"{key} is a table: [{key}]")
    return found


def _number(key: str, value: Any, *, whole: bool = False) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= MOST:
        raise ValueError(f"{key} is a number from 0 to {MOST:,}")
    if whole and value != int(value):
        raise ValueError(f"{key} is a whole number")
    return int(value) if whole else value


def _resolved(words: str, named: Callable[[str], str] | None) -> str:
    if named is None:
        return words
    try:
        return named(words)
    except BoxlockError as e:
        raise ValueError(f"{words!r} is no instrument of the catalogue ({e.message.rstrip('.')})") from e
