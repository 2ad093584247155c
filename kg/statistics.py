"""Numbers about the catalogue: how much, how well witnessed, how complete, by family.

A *family* is the broadest kind a pattern belongs to. *Fill* is the share of (pattern, group) pairs with anything recorded,
where the groups are those of ``ontology/completeness.toml`` and inapplicable pairs are left out.
"""

from __future__ import annotations

import tomllib
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from kg import names
from kg.basis import RANKS, bases
from kg.build import Staged
from kg.evidence.catalogue import Record
from kg.quads import inapplicable
from kg.vocabulary import Condition, slot_of

WEAK = ("common practice", "memory")


@dataclass(frozen=True)
class Family:
    """One family. ``filled`` of ``counted`` (pattern, group) pairs have something recorded.

    Shares are fractions of its filled pairs, by where the value comes from, and of its adopted values.
    """

    label: str
    patterns: int
    variants: int
    filled: int
    counted: int
    fill: float
    own: float
    inherited: float
    of_kind: float
    inferred: float
    weak_fill: float
    weak_values: float
    empty: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Statistics:
    """The whole catalogue.

    ``basis``: adopted values by what they rest on at best; ``single_witness``: adopted values with one work behind them;
    ``alike``: groups of patterns (labels) that no recorded feature or part tells apart: work for the editor.
    """

    patterns: int
    variants: int
    statements: int
    sources: int
    sources_with_two: int
    adopted: int
    disputed: int
    disputes: int
    single_witness: int
    basis: Mapping[str, int]
    families: tuple[Family, ...]
    alike: tuple[tuple[str, ...], ...] = ()

    @property
    def fill(self) -> float:
        """Filled pairs among those that count, over all families."""
        return sum(f.filled for f in self.families) / max(1, sum(f.counted for f in self.families))

    @property
    def weak_fill(self) -> float:
        """Of the filled pairs, the share that rests on common practice or memory."""
        return sum(f.weak_fill * f.filled for f in self.families) / max(1, sum(f.filled for f in self.families))

    @property
    def weak_share(self) -> float:
        """Of the adopted values, the share that rests on common practice or memory alone."""
        return sum(self.basis.get(w, 0) for w in WEAK) / max(1, self.adopted)

    def to_json(self) -> dict[str, Any]:
        out = {k: v for k, v in self.__dict__.items() if k not in ("families", "alike")} | {"basis": dict(self.basis)}
        out |= {
            "fill": self.fill,
            "weak_fill": self.weak_fill,
            "weak_share": self.weak_share,
            "alike": [list(group) for group in self.alike],
        }
        return out | {"families": [f.__dict__ | {"empty": dict(f.empty)} for f in self.families]}


def alike(staged: Staged) -> tuple[tuple[str, ...], ...]:
    """Groups of two or more patterns with the same recorded single-valued features, parts, variation and length."""
    groups: dict[tuple, list[str]] = defaultdict(list)
    for pattern, record in staged.records.items():
        held = frozenset(lit for lit in staged.inferred[pattern] if _tells(staged, lit[0]))
        varies = tuple(sorted((slot, v) for slot, values in record.varies.items() for v in values))
        groups[held, varies, record.length].append(staged.vocabulary.label(pattern))
    return tuple(sorted(tuple(sorted(g, key=str.casefold)) for g in groups.values() if len(g) > 1))


def _tells(staged: Staged, prop: str) -> bool:
    feature = staged.vocabulary.features.get(prop)
    return prop in names.PARTS or (feature is not None and prop != names.OF_KIND)


def measure(root: Path, staged: Staged) -> Statistics:
    """All figures, computed from the staged catalogue."""
    groups = tomllib.loads((root / "completeness.toml").read_text(encoding="utf-8"))["group"]
    found = bases(staged.records, staged.statements, staged.sources, staged.vocabulary, staged.engine)
    values = [(p, lit) for p, r in staged.records.items() for lit in _adopted(r)]
    rests_on = Counter(found[p].get(lit, "") or "published" for p, lit in values)
    per_source = Counter(s.source for s in staged.statements)
    variants = sum(bool(staged.vocabulary.ancestors(p)) for p in staged.records)
    witnesses = _witness_counts(staged)
    own_disputes = {(d.subject, slot) for r in staged.records.values() for slot, d in r.disputes.items()}
    return Statistics(
        patterns=len(staged.records),
        variants=variants,
        statements=len(staged.statements),
        sources=len(per_source),
        sources_with_two=sum(n >= 2 for n in per_source.values()),
        adopted=len(values),
        disputed=sum(slot_of(lit) in staged.records[p].disputes for p, lit in values),
        disputes=len(own_disputes),
        single_witness=sum(witnesses.get((p, lit), 0) == 1 for p, lit in values),
        basis={rank or "published": rests_on.get(rank or "published", 0) for rank in RANKS},
        families=tuple(_families(staged, groups, found)),
        alike=alike(staged),
    )


def _adopted(record: Record) -> Iterable[Condition]:
    return (lit for lit, fact in record.facts.items() if fact.level != "rule")


def _witness_counts(staged: Staged) -> dict[tuple[str, Condition], int]:
    """(pattern, literal) -> works that say exactly this of the subject it was adopted from."""
    works: dict[tuple[str, Condition], set[str]] = defaultdict(set)
    for s in staged.statements:
        source = staged.sources[s.source]
        works[s.subject, (s.feature, s.value)].add(source.work or source.name)
    return {
        (pattern, lit): len(works[fact.origin, lit])
        for pattern, record in staged.records.items()
        for lit, fact in record.facts.items()
    }


def _families(staged: Staged, groups: list[dict[str, Any]], found: Mapping[str, Mapping[Condition, str]]) -> Iterable[Family]:
    members: dict[str, list[str]] = defaultdict(list)
    for pattern, record in staged.records.items():
        members[family_of(staged, record)].append(pattern)
    for kind in sorted(members, key=lambda k: (-len(members[k]), k)):
        levels: Counter[str] = Counter()
        empty: Counter[str] = Counter()
        weak = 0
        for pattern in members[kind]:
            for group in groups:
                if not _counts(staged, pattern, group.get("kinds", [])):
                    continue
                level, basis = _fill(staged, pattern, group["slots"], found[pattern])
                levels[level] += 1
                weak += basis in WEAK
                if level == "empty":
                    empty[group["name"]] += 1
        filled = sum(n for level, n in levels.items() if level not in ("empty", "inapplicable"))
        counted = filled + levels["empty"]
        values = [(p, lit) for p in members[kind] for lit in _adopted(staged.records[p])]
        weak_values = sum(found[p].get(lit, "") in WEAK for p, lit in values)
        label = staged.vocabulary.label(kind) if kind else "no kind"
        yield Family(
            label=label,
            patterns=len(members[kind]),
            variants=sum(bool(staged.vocabulary.ancestors(p)) for p in members[kind]),
            filled=filled,
            counted=counted,
            fill=filled / counted if counted else 0.0,
            own=levels["own"] / filled if filled else 0.0,
            inherited=levels["variant"] / filled if filled else 0.0,
            of_kind=levels["kind"] / filled if filled else 0.0,
            inferred=(levels["inferred"] + levels["rule"]) / filled if filled else 0.0,
            weak_fill=weak / filled if filled else 0.0,
            weak_values=weak_values / len(values) if values else 0.0,
            empty=dict(empty.most_common()),
        )


def _counts(staged: Staged, pattern: str, kinds: list[str]) -> bool:
    """Whether a group with these kinds counts for the pattern: one of its kinds, or a broader one, is among them."""
    own = [v for f, v in staged.records[pattern].facts if f == names.OF_KIND]
    line = {k for v in own for k in (v, *staged.vocabulary.ancestors(v))}
    return not kinds or bool(line & set(kinds))


def family_of(staged: Staged, record: Record) -> str:
    """The broadest kind of a pattern; empty if no source says its kind."""
    kinds = [v for f, v in record.facts if f == names.OF_KIND]
    return (kinds[0], *staged.vocabulary.ancestors(kinds[0]))[-1] if kinds else ""


def _fill(staged: Staged, pattern: str, slots: list[str], basis: Mapping[Condition, str]) -> tuple[str, str]:
    """(level of the best-known slot of a group, or "empty"/"inapplicable"; what it rests on)."""
    record = staged.records[pattern]
    held = staged.inferred[pattern]
    absent = set(inapplicable(held, staged.vocabulary))
    known: list[tuple[int, str, str]] = []
    order = ("own", "variant", "kind", "rule", "inferred")
    for slot in slots:
        for lit in held:
            if slot_of(lit) == slot:
                fact = record.facts.get(lit)
                level = fact.level if fact else "inferred"
                known.append((order.index(level), level, basis.get(lit, "")))
        if slot in record.varies:
            known.append((0, "own", ""))
    if known:
        _, level, rests = min(known)
        return level, rests
    real = [s for s in slots if s in staged.vocabulary.features or s in staged.vocabulary.terms]
    return ("inapplicable" if real and all(s in absent for s in real) else "empty"), ""
