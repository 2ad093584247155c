"""What can be observed of every pattern, as tables: made once for a catalogue, then each step is a few sums.

A *slot* is a single-valued feature, a part, a feature with many values, or the length. What is known of a pattern on a slot
is its set of possible values (``kg.truth.possible``). Patterns with the same set form a *class* of the slot; those of which
nothing is recorded form the class 0, so that only what is recorded costs time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from kg import names
from kg.facts import PatternFacts
from kg.identify.settings import Settings
from kg.truth import INAPPLICABLE, domain, possible
from kg.vocabulary import Vocabulary

LENGTH = names.LENGTH
UNRECORDED = 0
_PARTS = frozenset({names.HAS_PART, names.LACKS_PART})


@dataclass
class Slot:
    """One slot. ``classes``: possible sets, the first of the patterns with nothing recorded; ``members``: pattern -> class.
    ``exact``: what a person with a piece of the class would say: the values recorded, none where nothing is.

    ``weight``: value -> how often it is recorded (smoothed); ``other`` is the weight of there being nothing to remark on.
    For a feature with many values a class is the set of values that hold, and ``weight`` counts the patterns of each.
    """

    name: str
    single: bool
    classes: list[frozenset[str]] = field(default_factory=list)
    exact: list[tuple[str, ...]] = field(default_factory=list)
    members: dict[int, int] = field(default_factory=dict)
    weight: dict[str, float] = field(default_factory=dict)
    other: float = 0.0
    recorded: float = 0.0
    _answer_fits: dict[tuple[int, str], float] = field(default_factory=dict)
    _common: dict[str, float] = field(default_factory=dict)

    def answer_fit(self, class_: int, answer: str, vocabulary: Vocabulary) -> float:
        """The fit of an answer, the value or anything narrower, to a class; remembered."""
        key = (class_, answer)
        found = self._answer_fits.get(key)
        if found is None:
            allowed = vocabulary.subtree(answer)
            found = self.share(class_, allowed) if self.single else self.includes(class_, answer)
            self._answer_fits[key] = found
        return found

    def common(self, answer: str, vocabulary: Vocabulary, patterns: int) -> float:
        """The mean fit of an answer over all patterns; remembered."""
        found = self._common.get(answer)
        if found is None:
            total = sum(self.answer_fit(k, answer, vocabulary) for k in self.members.values())
            total += self.answer_fit(UNRECORDED, answer, vocabulary) * (patterns - len(self.members))
            found = self._common[answer] = total / patterns
        return found

    def share(self, class_: int, allowed: frozenset[str]) -> float:
        """The chance that a piece of this class has a value in ``allowed``: by share among the values still possible."""
        left = self.classes[class_]
        if left <= allowed:
            return 1.0
        inside = left & allowed
        if not inside:
            return 0.0
        total = sum(self.weight.get(v, 0.0) for v in left)
        return sum(self.weight.get(v, 0.0) for v in inside) / total if total else len(inside) / len(left)

    def includes(self, class_: int, value: str) -> float:
        """The same for one value of a feature with many values, where the class does not hold it."""
        if class_ != UNRECORDED and value in self.classes[class_]:
            return 1.0
        return self.weight.get(value, 0.0) / (self.recorded + self.other + 1.0)


@dataclass
class Table:
    """All patterns and slots. ``groups``: the members of each candidate, a parent first, then its variants.

    ``lengths``: pattern -> (shortest, longest) in millimetres, only where recorded.
    """

    vocabulary: Vocabulary
    settings: Settings
    patterns: list[str]
    facts: list[PatternFacts]
    groups: list[list[int]]
    group_of: list[int]
    slots: dict[str, Slot]
    lengths: dict[int, tuple[float, float]]

    def is_seen(self, slot: str) -> bool:
        """True if a slot is a matter of looking, so that it can be asked for."""
        if slot in self.settings.never:
            return False
        feature = self.vocabulary.features.get(slot)
        return feature is None or feature.order < self.settings.seen_before or slot in self.settings.costs

    def slot_class(self, slot: str, pattern: int) -> int:
        return self.slots[slot].members.get(pattern, UNRECORDED)


def build_table(patterns: Sequence[str], facts: Sequence[PatternFacts], vocabulary: Vocabulary, settings: Settings) -> Table:
    """The table of patterns with their facts, in the order given."""
    groups, group_of = _groups(patterns, vocabulary)
    table = Table(vocabulary, settings, list(patterns), list(facts), groups, group_of, {}, {})
    share = [1.0 / len(groups[g]) for g in group_of]
    for feature in vocabulary.features.values():
        if not feature.denies:
            make = _single if feature.single else _many
            table.slots[feature.name] = make(table, feature.name, share)
    for part in vocabulary.by_role("part"):
        table.slots[part.name] = _single(table, part.name, share)
    table.lengths = {i: f.known.length for i, f in enumerate(facts) if f.known.length}
    return table


def _groups(patterns: Sequence[str], vocabulary: Vocabulary) -> tuple[list[list[int]], list[int]]:
    """Variants folded under their parent: a variant is no candidate of its own."""
    index = {p: i for i, p in enumerate(patterns)}
    head: list[str] = []
    for pattern in patterns:
        above = [a for a in vocabulary.ancestors(pattern) if a in index]
        head.append(above[-1] if above else pattern)
    order = sorted(range(len(patterns)), key=lambda i: (head[i], head[i] != patterns[i], patterns[i]))
    groups: dict[str, list[int]] = {}
    for i in order:
        groups.setdefault(head[i], []).append(i)
    listed = list(groups.values())
    group_of = [0] * len(patterns)
    for g, members in enumerate(listed):
        for i in members:
            group_of[i] = g
    return listed, group_of


def _single(table: Table, name: str, share: Sequence[float]) -> Slot:
    """A slot of which each piece has one value."""
    vocabulary = table.vocabulary
    feature = vocabulary.features.get(name)
    slot = Slot(name, True, [frozenset()], [()])
    every = domain(name, vocabulary)
    named = every - {INAPPLICABLE, f"{name}/other"}
    counts = dict.fromkeys(named, 0.0)
    inapplicable = unrecorded = 0.0
    index: dict[frozenset[str], int] = {}
    for i, facts in enumerate(table.facts):
        left = possible(name, facts.known, vocabulary)
        exact: list[str] = []
        there = feature is not None and bool(feature.applies) and (names.HAS_PART, feature.applies) in facts.known.holds
        if left == every:
            unrecorded += share[i]
            if there:  # it has the part, so the feature applies: a class of its own
                left -= {INAPPLICABLE}
            else:
                continue
        elif INAPPLICABLE in left and len(left) == 1:
            inapplicable += share[i]
            exact = [INAPPLICABLE]
        else:
            exact = _exact(left, facts, name, vocabulary)
            for value in exact:
                counts[value] = counts.get(value, 0.0) + share[i] / len(exact)
        if left not in index:
            index[left] = len(slot.classes)
            slot.classes.append(left)
            slot.exact.append(tuple(exact))
        slot.members[i] = index[left]
    # A broader value beside narrower ones is what a source says that does not look closely: half a count.
    slot.weight = {v: (counts[v] * 0.5 if vocabulary.children.get(v) else counts[v] + 0.25) for v in sorted(counts)}
    slot.recorded = sum(counts.values()) + inapplicable
    slot.other = (1.0 if name in table.settings.noticed else table.settings.silence) * unrecorded
    if feature is None:
        slot.weight = {v: counts[v] + 0.25 for v in sorted(_PARTS)}
        slot.weight[names.LACKS_PART] += slot.other
    else:
        slot.weight[f"{name}/other"] = slot.other
        slot.weight[INAPPLICABLE] = inapplicable
    slot.classes[UNRECORDED] = every
    return slot


def _exact(left: frozenset[str], facts: PatternFacts, name: str, vocabulary: Vocabulary) -> list[str]:
    """The values that are recorded, not those below them."""
    if name not in vocabulary.features:
        return sorted(left)
    varying = facts.known.varies.get(name, ())
    if len(varying) > 1:
        return list(varying)
    return [v for v in sorted(left) if vocabulary.terms[v].broader not in left] if left <= set(vocabulary.terms) else []


def _many(table: Table, name: str, share: Sequence[float]) -> Slot:
    """A slot with many values: a class is the set of values that hold, broader ones included."""
    slot = Slot(name, False, [frozenset()], [()])
    index: dict[frozenset[str], int] = {}
    unrecorded = 0.0
    for i, facts in enumerate(table.facts):
        held = frozenset(v for f, v in facts.known.holds if f == name)
        if not held:
            unrecorded += share[i]
            continue
        if held not in index:
            index[held] = len(slot.classes)
            slot.classes.append(held)
            above = {a for v in held for a in table.vocabulary.ancestors(v)}
            slot.exact.append(tuple(sorted(held - above)))
        slot.members[i] = index[held]
        slot.recorded += share[i]
        for value in held:
            slot.weight[value] = slot.weight.get(value, 0.0) + share[i]
    slot.other = table.settings.silence * unrecorded
    return slot
