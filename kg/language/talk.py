"""How people talk round a question: the words of ``plain.toml``, read when the grammar alone does not do."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from kg.datafiles import data_file, read_data
from kg.errors import CODES

if TYPE_CHECKING:
    from kg.language.lexicon import Lexicon

FILE = "plain.toml"
Key = tuple[str, ...]


class Topic(NamedTuple):
    """Phrases of a question that has no answer here, with the code and words of the refusal. ``last``: only if every word is
    known."""

    phrases: frozenset[Key]
    code: str
    message: str
    hint: str
    last: bool


@dataclass(frozen=True)
class Talk:
    """``silent`` and ``passed``: words that say nothing of an instrument; of the latter an answer tells that they were passed
    over. ``strong``: words that forbid reading by cues. ``cues``: phrase -> what the question is after.

    ``between`` and ``beside``: words that may stand between the pieces of a question for instruments, without and with
    being told. ``vague``: words that are no short name of a value. ``instead``: (phrase, the words that it stands for),
    longest phrases first. ``frames``: (words and ``{places}`` of a whole question, the question that it stands for).
    ``apart`` and ``against``: words anywhere, or just before a name, that ask for other instruments than those named;
    ``telling``: words with which a clause begins that asks nothing. ``than``: between two that are measured against each
    other. ``asking``, ``being``, ``means`` and ``manner``: the words of a question in the passive, ``active`` the same in
    the active. ``bidding``: words before those that ask for something to be made ("can you draw"). ``grouping``: words that
    ask for groups. ``examples``: phrases behind which only an example stands. ``nameless``: phrases round the description of
    an instrument -> whether they ask for its name where they stand first, and where they stand last; ``several``: words that
    ask for more than one, as typed; ``elsewhere``: phrases that ask for something else whatever stands beside them.
    """

    silent: frozenset[str] = frozenset()
    passed: frozenset[str] = frozenset()
    strong: frozenset[str] = frozenset()
    cues: Mapping[Key, frozenset[str]] = field(default_factory=dict)
    topics: tuple[Topic, ...] = ()
    between: frozenset[str] = frozenset()
    beside: frozenset[str] = frozenset()
    vague: frozenset[str] = frozenset()
    apart: frozenset[str] = frozenset()
    against: frozenset[str] = frozenset()
    than: frozenset[str] = frozenset()
    telling: frozenset[str] = frozenset()
    asking: frozenset[str] = frozenset()
    being: frozenset[str] = frozenset()
    means: frozenset[str] = frozenset()
    manner: frozenset[str] = frozenset()
    active: str = ""
    bidding: frozenset[str] = frozenset()
    grouping: frozenset[str] = frozenset()
    examples: tuple[Key, ...] = ()
    instead: tuple[tuple[Key, tuple[str, ...]], ...] = ()
    frames: tuple[tuple[Key, str], ...] = ()
    nameless: Mapping[Key, tuple[bool, bool]] = field(default_factory=dict)
    several: frozenset[str] = frozenset()
    elsewhere: frozenset[Key] = frozenset()

    def says_nothing(self, key: str) -> bool:
        """Whether a word says nothing of an instrument by itself."""
        return key in self.silent or key in self.passed or key in self.between

    @cached_property
    def unseen(self) -> frozenset[str]:
        """Words by which nothing is seen: they name no value by themselves, or say nothing of an instrument."""
        return self.vague | self.silent | self.passed | self.between

    @property
    def longest(self) -> int:
        """Words of the longest cue."""
        return max(map(len, self.cues), default=0)


def read_talk(root: Path, lexicon: Lexicon) -> Talk:
    """The words of an ontology folder, folded as the lexicon folds words; none if it has no such file. Raises CatalogueError
    (BL-C04) if the file cannot be used."""

    def keys(phrases: Iterable[str]) -> list[Key]:
        from kg.language.tokens import scan

        return [tuple(t.key for t in lexicon.keyed(scan(p))) for p in phrases]

    if not (root / FILE).exists():
        return Talk()
    with data_file(FILE):
        raw = read_data(root, FILE)
        framing, listing = raw["framing"], raw["listing"]
        cues: dict[Key, set[str]] = {}
        for name, phrases in raw["cues"].items():
            for key in keys(phrases):
                cues.setdefault(key, set()).add(name)
        topics = tuple(
            Topic(frozenset(keys(t["phrases"])), str(t["code"]), str(t["message"]), str(t["hint"]), bool(t.get("last")))
            for t in raw["topic"]
        )
        if wrong := [t.code for t in topics if t.code not in CODES]:
            raise ValueError(f"{wrong[0]!r} is no code of an error")
        return Talk(
            silent=_words(keys(framing["silent"])),
            passed=_words(keys([*framing["passed"], *framing["light"]])),
            strong=_words(keys(framing["strong"])),
            cues={key: frozenset(names) for key, names in cues.items()},
            topics=topics,
            between=_words(keys(listing["between"])) - _words(keys(framing["strong"])),
            beside=_words(keys([*listing["beside"], *framing["light"]])) - _words(keys(framing["strong"])),
            vague=_words(keys([*listing["vague"], *framing["strong"]])),
            apart=_words(keys(raw["naming"]["apart"])),
            against=_words(keys(raw["naming"]["against"])),
            than=_words(keys(raw["naming"]["than"])),
            telling=_words(keys(framing["telling"])),
            **{name: frozenset(raw["passive"][name]) for name in ("asking", "being", "means", "manner")},
            active=str(raw["passive"]["active"]),
            examples=tuple(sorted(keys(listing["examples"]), key=len, reverse=True)),
            grouping=_words(keys(listing["grouping"])),
            bidding=frozenset(listing["bidding"]),
            nameless=_nameless(raw.get("nameless", {}), keys),
            several=frozenset(raw.get("nameless", {}).get("several", ())),
            elsewhere=frozenset(keys(raw.get("nameless", {}).get("elsewhere", ()))),
            instead=_changes(raw["instead"], keys),
            frames=_frames(raw["frames"], keys),
        )


def _nameless(table: Mapping[str, Iterable[str]], keys: Callable[[Iterable[str]], list[Key]]) -> dict[Key, tuple[bool, bool]]:
    out = dict.fromkeys(keys(table.get("comes", ())), (False, False))
    out |= dict.fromkeys(keys(table.get("asks_last", ())), (False, True))
    return out | dict.fromkeys(keys(table.get("asks", ())), (True, True))


def _changes(table: Mapping[str, str], keys: Callable[[Iterable[str]], list[Key]]) -> tuple[tuple[Key, tuple[str, ...]], ...]:
    from kg.language.words import expand

    out = [(key, tuple(new.split())) for old, new in table.items() for key in keys(expand(old))]
    return tuple(sorted(out, key=_longest))


def _frames(table: Mapping[str, str], keys: Callable[[Iterable[str]], list[Key]]) -> tuple[tuple[Key, str], ...]:
    """Frames with the most words first, so that the one that says most is tried first."""
    from kg.language.words import expand

    out: list[tuple[Key, str]] = []
    for old, new in table.items():
        for text in expand(old):
            key: list[str] = []
            for piece in re.split(r"(\{\w+\})", text):
                key += [piece] if piece.startswith("{") else [k for found in keys([piece]) for k in found]
            out.append((tuple(key), new))
    return tuple(sorted(out, key=_said_least))


def _said_least(frame: tuple[Key, str]) -> tuple[int, Key]:
    return -sum(not k.startswith("{") for k in frame[0]), frame[0]


def _longest(change: tuple[Key, tuple[str, ...]]) -> tuple[int, Key]:
    return -len(change[0]), change[0]


def _words(keys: Iterable[Key]) -> frozenset[str]:
    return frozenset(word for key in keys for word in key)
