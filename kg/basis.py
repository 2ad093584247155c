"""What each adopted or inferred fact rests on: published human sources, or less.

The basis of an adopted fact is its best witness; that of an inferred one the weakest premise of its best justification.
Worked out at build time, so that every answer can label a match that rests on memory, common practice or veterinary
witnesses alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from kg import names
from kg.evidence.catalogue import Record
from kg.evidence.statements import LENGTH, Source, Statement
from kg.evidence_levels import BASES
from kg.reason.horn import ROOT, Engine
from kg.vocabulary import Condition, Vocabulary, slot_of

RANKS = ("", *BASES.values())
"""From strong to weak."""


def bases(
    records: Mapping[str, Record],
    statements: Iterable[Statement],
    sources: Mapping[str, Source],
    vocabulary: Vocabulary,
    engine: Engine,
) -> dict[str, dict[Condition, str]]:
    """pattern -> literal -> basis, only where it is not the empty one. Sorted."""
    said: dict[tuple[str, str], list[Statement]] = {}
    for s in statements:
        said.setdefault((s.subject, s.value if s.feature in names.PARTS else s.feature), []).append(s)
    out: dict[str, dict[Condition, str]] = {}
    for pattern, record in sorted(records.items()):
        ranks = {literal: _rank(literal, fact.origin, said, sources, vocabulary) for literal, fact in record.facts.items()}
        found: dict[Condition, str] = {}
        # The best justification of a literal is the one whose weakest premise is strongest. So its basis is the lowest rank
        # such that it follows from the facts of that rank and better ones.
        missing = engine.types_only([ROOT, *record.facts])
        for rank in sorted({0, *ranks.values()}):
            held = engine.types_only([ROOT, *(p for p in record.facts if ranks[p] <= rank)])
            if rank:
                found.update(dict.fromkeys(missing & held, RANKS[rank]))
            missing -= held
            if not missing:
                break
        out[pattern] = dict(sorted(found.items()))
    return out


def _rank(
    literal: Condition,
    origin: str,
    said: Mapping[tuple[str, str], list[Statement]],
    sources: Mapping[str, Source],
    vocabulary: Vocabulary,
) -> int:
    slot = LENGTH if literal[0] == names.SIZE_CLASS else slot_of(literal)
    value = literal[0] if literal[0] in names.PARTS else literal[1]
    supporting = [s for s in said.get((origin, slot), ()) if _supports(s, value, vocabulary)]
    return min((rank_of(sources[s.source]) for s in supporting), default=0)


def _supports(statement: Statement, value: str, vocabulary: Vocabulary) -> bool:
    """Whether the statement is a witness for the value; one that says less (a broader value) is no full witness."""
    if statement.feature == LENGTH or value in names.PARTS:
        return True
    return statement.mode != "not" and (statement.value == value or value in vocabulary.ancestors(statement.value))


def rank_of(source: Source) -> int:
    """0 published and human, then in the order of ``RANKS``."""
    if source.kind in RANKS:
        return RANKS.index(source.kind)
    return 1 if source.field == "veterinary" else 0
