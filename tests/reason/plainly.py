"""The closure of one pattern's facts, rule by rule, as a textbook has it: what the engine must equal, slow and apart from it.

Justifications are computed as sets of sets of facts to their fixpoint, without bit masks, memory, or a bound.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import product

from kg.names import PATTERN, TYPE
from kg.vocabulary import Condition, Rule

Sets = frozenset[frozenset[Condition]]


class Plain:
    """Rules, found by their premises."""

    def __init__(self, rules: Iterable[Rule]) -> None:
        self._root = (TYPE, PATTERN)
        self._using: dict[Condition, list[int]] = defaultdict(list)
        self._rules = [(frozenset(r.body) - {self._root}, r.head) for r in rules]
        for index, (body, _) in enumerate(self._rules):
            for condition in body or {self._root}:
                self._using[condition].append(index)

    def close(self, facts: Iterable[Condition]) -> tuple[dict[Condition, Sets], Sets]:
        """(literal -> all minimal sets of facts from which it follows, all minimal sets that contradict themselves)."""
        labels: dict[Condition, Sets] = {fact: frozenset({frozenset({fact})}) for fact in facts}
        labels[self._root] = frozenset({frozenset()})
        clashes: Sets = frozenset()
        todo: Sequence[Condition] = list(labels)
        while todo:
            changed: set[Condition] = set()
            for index in sorted({i for condition in todo for i in self._using[condition]}):
                body, head = self._rules[index]
                if any(b not in labels for b in body):
                    continue
                new = frozenset(frozenset().union(*chosen) for chosen in product(*(labels[b] for b in sorted(body))))
                if head is None:
                    clashes = _minimal(clashes | new)
                elif (grown := _minimal(labels.get(head, frozenset()) | new)) != labels.get(head):
                    labels[head] = grown
                    changed.add(head)
            todo = sorted(changed)
        return labels, clashes


def _minimal(sets: Sets) -> Sets:
    return frozenset(s for s in sets if not any(o < s for o in sets))
