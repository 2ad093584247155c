"""Statements that contradict each other: the smallest clashing sets, the axiom behind each, and the smallest repairs.

A *repair* is a smallest choice of statements whose withdrawal leaves no clash: a minimal hitting set of the clashing sets.
Of the repairs with the fewest statements the one with the lightest witnesses comes first; an editor decides.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from kg import names
from kg.reason.horn import ROOT, Engine
from kg.records import Record, record
from kg.vocabulary import Condition, Rule, Vocabulary
from kg.wording import article, is_plural, listing, sentence

CLASHES = 16
"""At most so many clashing sets of one subject are worked on."""
REPAIRS = 5
"""At most so many repairs are named."""


@record
class Stated(Record):
    """Who says a fact, and where: ``file`` and ``line`` (0: not known), ``weight`` of the witness, ``source`` its citation."""

    literal: Condition
    source: str = ""
    file: str = ""
    line: int = 0
    weight: float = 0.0

    @property
    def place(self) -> str:
        """``file:line``, ``file``, or the empty text."""
        return f"{self.file}:{self.line}" if self.file and self.line else self.file


@record
class Repair(Record):
    """Facts to withdraw, with the weight of all their witnesses together."""

    withdraw: tuple[Condition, ...]
    weight: float
    text: str


@record
class Trouble(Record):
    """One smallest set of facts of ``subject`` that contradict each other.

    ``sentences``: the facts as sentences; ``steps``: what follows from them, up to the axiom that is broken; ``axiom`` that
    axiom as a sentence; ``stated`` who says the facts, by file and line.
    """

    subject: str
    facts: tuple[Condition, ...]
    sentences: tuple[str, ...]
    steps: tuple[str, ...]
    axiom: str
    stated: tuple[Stated, ...]

    def text(self) -> str:
        """The whole in one paragraph, with the places of the statements."""
        told = []
        for fact, said in zip(self.facts, self.sentences, strict=True):
            places = list(dict.fromkeys(s.place or s.source for s in self.stated if s.literal == fact))
            places = [p for p in places if p]
            told.append(f"{said[:-1]} ({', '.join(places)})." if places else said)
        return " ".join([*told, *self.steps, self.axiom])


@record
class Clashing(Record):
    """Everything that is contradictory about one subject. ``capped``: there were more clashing sets than are shown."""

    troubles: tuple[Trouble, ...]
    repairs: tuple[Repair, ...]
    capped: bool = False


def clashing(
    subject: str, stated: Iterable[Stated], engine: Engine, vocabulary: Vocabulary, *, cap: int = CLASHES
) -> Clashing | None:
    """What contradicts what among the statements about one subject; None if they agree.

    ``engine`` must have the rules of exclusion (``Staged.engine``). ``subject`` is the short name of a pattern or kind; a
    name that the vocabulary lacks is shown as it is. Statements of one fact by several witnesses count as one fact.
    """
    witnesses: dict[Condition, list[Stated]] = {}
    for s in stated:
        witnesses.setdefault(s.literal, []).append(s)
    closure = engine.close([ROOT, *witnesses], cap=cap)
    if not closure.clashes:
        return None
    troubles = []
    for clash in closure.clashes:
        facts = tuple(sorted(clash.premises, key=lambda lit: (_order(lit, vocabulary), lit)))
        *steps, last = closure.proof_of_clash(clash)
        troubles.append(
            Trouble(
                subject,
                facts,
                tuple(sentence(subject, f, vocabulary) for f in facts),
                tuple(dict.fromkeys(r.text for r in steps)),
                last.text,
                tuple(s for f in facts for s in sorted(witnesses[f], key=lambda s: (s.file, s.line, s.source))),
            )
        )
    weights = {fact: sum(s.weight for s in said) for fact, said in witnesses.items()}
    repairs = repairs_of([c.premises for c in closure.clashes], weights, subject, vocabulary)
    return Clashing(tuple(troubles), repairs, closure.capped)


def repairs_of(
    clashes: Sequence[frozenset[Condition]], weights: Mapping[Condition, float], subject: str, vocabulary: Vocabulary
) -> tuple[Repair, ...]:
    """The smallest repairs, those with the lightest witnesses first, at most ``REPAIRS``."""
    found = []
    for chosen in hitting_sets(clashes, cap=64):
        facts = tuple(sorted(chosen, key=lambda lit: (_order(lit, vocabulary), lit)))
        said = [f'"{sentence(subject, f, vocabulary)[:-1]}"' for f in facts]
        weight = round(sum(weights.get(f, 0.0) for f in facts), 6)
        found.append(Repair(facts, weight, f"Withdraw {listing(said)}."))
    if not found:
        return ()
    fewest = min(len(r.withdraw) for r in found)
    smallest = [r for r in found if len(r.withdraw) == fewest]
    return tuple(sorted(smallest, key=lambda r: (r.weight, r.withdraw))[:REPAIRS])


def hitting_sets(sets: Sequence[frozenset[Condition]], *, cap: int) -> list[frozenset[Condition]]:
    """The minimal sets that share a member with each of ``sets``, smallest first, at most ``cap``.

    Empty if ``sets`` is empty or one of them is. Exact up to the cap: candidates are grown member by member.
    """
    if not sets or not all(sets):
        return []
    found: list[frozenset[Condition]] = []
    layer: list[frozenset[Condition]] = [frozenset()]
    while layer and len(found) < cap:
        grown: dict[frozenset[Condition], None] = {}
        for chosen in layer:
            missed = next((s for s in sets if not s & chosen), None)
            if missed is None:
                if not any(f <= chosen for f in found):
                    found.append(chosen)
                continue
            for member in sorted(missed):
                grown[chosen | {member}] = None
        layer = [g for g in grown if not any(f <= g for f in found)][: 64 * cap]
    return sorted(found, key=lambda s: (len(s), sorted(s)))[:cap]


def impossible(engine: Engine, vocabulary: Vocabulary) -> list[tuple[str, tuple[Condition, ...], tuple[Rule, ...]]]:
    """The categories that can have no member: (category, the conditions that exclude each other, the rules that say so)."""
    out = []
    for category, conditions in sorted(vocabulary.definitions.items()):
        closure = engine.close([ROOT, *conditions])
        for clash in closure.clashes[:1]:
            out.append((category, tuple(sorted(clash.premises)), closure.proof_of_clash(clash)))
    return out


def impossible_text(category: str, rules: Sequence[Rule], vocabulary: Vocabulary) -> str:
    """``Nothing can be a hard soft clamp``, with the rules that exclude it."""
    label = vocabulary.label(category)
    return " ".join([f"Nothing can be {label if is_plural(label) else article(label)}.", *(r.text for r in rules)])


def _order(literal: Condition, vocabulary: Vocabulary) -> int:
    prop, value = literal
    if prop in names.PARTS:
        return vocabulary.terms[value].order if value in vocabulary.terms else 0
    feature = vocabulary.features.get(prop)
    return feature.order if feature else 0
