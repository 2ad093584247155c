"""The numbers and word lists of identification, from ``seeing.toml`` beside the ontology."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from kg.datafiles import data_file, read_data

FILE = "seeing.toml"
HEARD = "heard.toml"
"""Other wordings of values and parts; those of answers in a rehearsal."""


@dataclass(frozen=True)
class Settings:
    """``error_rate``: chance that one observation is wrong; ``confusion``: how many wrong things could have been said at
    most, if this one is rare, ``use_confusion`` the same of what is said of its use; ``disputed_fit``: how far a value fits
    that a witness supports though another is adopted; ``silence``: what an unrecorded feature counts towards "nothing
    there", 0 to 1; ``noticed``: features of which nothing recorded means so in full.

    Lengths: one standard deviation is ``length_share`` of what was observed, at least ``length_least`` millimetres.
    ``costs``: feature or part -> share of its bits, 0 to 1; ``never``: what is not asked for, beside features whose place in a
    description is ``seen_before`` or later and that have no cost of their own. ``skip``: words passed over in a description;
    ``means``: short ways of speaking, each with words that the question language knows. ``dull``: words of other wordings that
    are left out when these are looked for; ``heard``: term -> other wordings of it. ``alike``: rows of values
    that people do not tell apart.
    """

    error_rate: float = 0.1
    confusion: float = 2.0
    use_confusion: float = 2.0
    disputed_fit: float = 0.4
    silence: float = 0.3
    length_share: float = 0.1
    length_least: float = 8.0
    default_cost: float = 0.1
    costs: dict[str, float] = field(default_factory=dict)
    never: frozenset[str] = frozenset()
    seen_before: int = 80
    noticed: frozenset[str] = frozenset()
    skip: tuple[str, ...] = ()
    means: dict[str, str] = field(default_factory=dict)
    dull: tuple[str, ...] = ()
    heard: dict[str, tuple[str, ...]] = field(default_factory=dict)
    alike: tuple[tuple[str, ...], ...] = ()

    def cost(self, slot: str) -> float:
        """The share of its bits that seeing a feature or part costs."""
        return self.costs.get(slot, self.default_cost)


def _joined(heard: dict[str, tuple[str, ...]], more: dict[str, list[str]]) -> dict[str, tuple[str, ...]]:
    return heard | {str(k): (*heard.get(str(k), ()), *map(str, v)) for k, v in more.items()}


def read_settings(root: Path) -> Settings:
    """The settings of an ontology folder; the defaults if it has none. Raises CatalogueError (BL-C04) if they are wrong."""
    if not (root / FILE).exists():
        return Settings()
    with data_file(HEARD):
        heard = read_data(root, HEARD)["heard"] if (root / HEARD).exists() else {}
        heard = {str(name): tuple(map(str, phrases)) for name, phrases in heard.items()}
    with data_file(FILE):
        raw = read_data(root, FILE)
        model, cost = raw["model"], raw["cost"]
        settings = Settings(
            **{key: float(value) for key, value in model.items()},
            default_cost=float(cost["default"]),
            costs={name: float(bits) for name, bits in cost.get("features", {}).items()},
            never=frozenset(cost.get("never", ())),
            noticed=frozenset(raw.get("noticed", {}).get("features", ())),
            seen_before=int(cost.get("seen_before", 80)),
            skip=tuple(str(s) for s in raw.get("speech", {}).get("skip", ())),
            means={str(k): str(v) for k, v in raw.get("speech", {}).get("means", {}).items()},
            dull=tuple(str(s) for s in raw.get("speech", {}).get("dull", ())),
            alike=tuple(tuple(map(str, row)) for row in raw.get("speech", {}).get("alike", ())),
            heard=_joined(heard, raw.get("speech", {}).get("wordings", {})),
        )
        if not 0 < settings.error_rate < 0.5 or not 0 <= settings.silence <= 1 or not 0 <= settings.disputed_fit <= 1:
            raise ValueError("error_rate lies between 0 and 0.5, silence and disputed_fit from 0 to 1")
        if min(settings.confusion, settings.use_confusion) < 1 or settings.length_share <= 0 or settings.length_least <= 0:
            raise ValueError("both confusions are at least 1, length_share and length_least are above 0")
        if not all(0 <= c < 1 for c in (settings.default_cost, *settings.costs.values())):
            raise ValueError("costs lie between 0 and 1")
    return settings
