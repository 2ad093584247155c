"""The in-process Horn engine: what follows for one pattern, from which of its facts, and what contradicts
what.

A literal is a Condition ``(property, value)`` about the pattern at hand. ``Engine(rules)`` indexes the rules
once; each ``close`` works on the facts of one pattern. Every literal gets a *label*: all minimal sets of
given facts from which it follows. So types, every justification of every type, and every clashing set come
out of one pass.

Premise sets are kept as bit masks over the sorted facts; a subset test is then one integer operation.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kg.names import PATTERN, TYPE
from kg.vocabulary import Condition, Rule

ROOT: Condition = (TYPE, PATTERN)
Premises = frozenset[Condition]


@dataclass(frozen=True)
class Clash:
    """``premises``: a minimal set of given facts that contradict each other; ``rule`` the rule that says
    so."""

    premises: Premises
    rule: Rule


class Engine:
    """Rules made ready for many patterns. Rules with the same body and head are kept once, in the order
    given."""

    def __init__(self, rules: Iterable[Rule]) -> None:
        self.rules: tuple[Rule, ...] = tuple(rules)
        self._ids: dict[Condition, int] = {ROOT: 0}
        self._bodies: list[tuple[int, ...]] = []
        self._heads: list[int] = []  # -1: a clash
        seen: set[tuple[tuple[int, ...], int]] = set()
        self._rule_of: list[Rule] = []
        for rule in self.rules:
            # The root class is true of every pattern, so it need not be waited for.
            body = tuple(sorted({self._intern(c) for c in rule.body if c != ROOT}))
            head = -1 if rule.head is None else self._intern(rule.head)
            if head == 0 or head in body or (body, head) in seen:
                continue
            seen.add((body, head))
            self._bodies.append(body)
            self._heads.append(head)
            self._rule_of.append(rule)
        self._names: list[Condition] = list(self._ids)
        watch: list[list[int]] = [[] for _ in self._names]
        for index, body in enumerate(self._bodies):
            for literal in body:
                watch[literal].append(index)
        self._watch: list[tuple[int, ...]] = [tuple(w) for w in watch]
        self._needs = [len(body) for body in self._bodies]
        self._free = [i for i, body in enumerate(self._bodies) if not body]

    def _intern(self, condition: Condition) -> int:
        return self._ids.setdefault(condition, len(self._ids))

    def types_only(self, facts: Iterable[Condition]) -> frozenset[Condition]:
        """All literals that follow from ``facts``, with the facts and the root type; no premise sets, no
        clashes."""
        given = set(facts)
        known, _ = self._forward({self._ids[f] for f in given if f in self._ids})
        return frozenset(self._names[i] for i in known) | given | {ROOT}

    def close(self, facts: Iterable[Condition], *, cap: int = 64) -> Closure:
        """The closure of the facts of one pattern.

        ``cap`` bounds how many premise sets are kept a literal (and clashing sets a pattern): the smallest
        are kept, and ``Closure.capped`` tells. The order of ``facts`` does not matter. Raises ValueError if
        ``cap`` is below 1.
        """
        if cap < 1:
            raise ValueError("cap must be at least 1")
        given = tuple(sorted(set(facts) - {ROOT}))
        return _Run(self, given, cap).closure()

    def _forward(self, start: Iterable[int]) -> tuple[set[int], list[int]]:
        """Forward closure by counting: the literals that hold, and the rules that fire, in firing order."""
        known = {0, *start}
        todo = deque(sorted(known))
        missing = self._needs.copy()
        fired = list(self._free)
        for index in self._free:
            head = self._heads[index]
            if head >= 0 and head not in known:
                known.add(head)
                todo.append(head)
        while todo:
            for index in self._watch[todo.popleft()]:
                missing[index] -= 1
                if not missing[index]:
                    fired.append(index)
                    head = self._heads[index]
                    if head >= 0 and head not in known:
                        known.add(head)
                        todo.append(head)
        return known, fired


class _Run:
    """One pattern's labels."""

    def __init__(self, engine: Engine, given: tuple[Condition, ...], cap: int) -> None:
        self.engine = engine
        self.given = given
        self.cap = cap
        self.capped = False

    def closure(self) -> Closure:
        engine = self.engine
        labels: dict[int, list[int]] = {0: [0]}
        start: list[int] = []
        outside: dict[Condition, int] = {}  # facts that no rule speaks of
        for position, fact in enumerate(self.given):
            literal = engine._ids.get(fact)
            if literal is None:
                outside[fact] = 1 << position
            else:
                labels[literal] = [1 << position]
                start.append(literal)
        _, fired = engine._forward(start)
        clash_rules = [i for i in fired if engine._heads[i] < 0]
        self._propagate(labels, [i for i in fired if engine._heads[i] >= 0])

        sets: dict[int, Premises] = {}

        def names(mask: int) -> Premises:
            if mask not in sets:
                sets[mask] = frozenset(f for i, f in enumerate(self.given) if mask >> i & 1)
            return sets[mask]

        found: dict[Condition, tuple[Premises, ...]] = {
            engine._names[i]: tuple(map(names, sorted(label, key=_size_first))) for i, label in labels.items()
        }
        found.update((fact, (names(mask),)) for fact, mask in outside.items())
        closure = Closure(engine, self.given, dict(sorted(found.items())), (), self.capped)
        clashes = self._clashes(labels, clash_rules, closure, names) if clash_rules else ()
        return Closure(engine, self.given, closure.literals, clashes, self.capped)

    def _propagate(self, labels: dict[int, list[int]], fired: Sequence[int]) -> None:
        """Labels to their fixpoint. Only rules that fire at all are looked at, first in firing order."""
        engine = self.engine
        users: dict[int, list[int]] = {}
        for index in fired:
            for literal in engine._bodies[index]:
                users.setdefault(literal, []).append(index)
        todo = deque(fired)
        queued = set(fired)
        while todo:
            index = todo.popleft()
            queued.discard(index)
            head = engine._heads[index]
            if self._add(labels, head, self._combine(labels, engine._bodies[index])):
                for user in users.get(head, ()):
                    if user not in queued:
                        queued.add(user)
                        todo.append(user)

    def _combine(self, labels: dict[int, list[int]], body: Sequence[int]) -> list[int]:
        """The minimal unions of one premise set for each literal of the body; empty if one has none yet."""
        if len(body) == 1:
            return labels.get(body[0], [])
        sets = [0]
        for literal in body:
            label = labels.get(literal)
            if not label:
                return []
            sets = label if sets == [0] else self._minimal({a | b for a in sets for b in label})
        return sets

    def _minimal(self, masks: Iterable[int]) -> list[int]:
        """Those that contain no other, smallest first, at most ``cap``."""
        kept: list[int] = []
        for mask in sorted(masks, key=_size_first):
            if not any(k & mask == k for k in kept):
                if len(kept) == self.cap:
                    self.capped = True
                    break  # what follows is larger, and cannot displace what is kept
                kept.append(mask)
        return kept

    def _add(self, labels: dict[int, list[int]], head: int, new: list[int]) -> bool:
        """Joins ``new`` into the label of ``head``; True if the label changed.

        With a cap each step either leaves the label or puts smaller sets in place of larger ones, so this
        ends.
        """
        old = labels.get(head)
        if not old:
            if new:
                labels[head] = list(new)
            return bool(new)
        fresh = [m for m in new if not any(k & m == k for k in old)]
        if not fresh:
            return False
        merged = self._minimal(old + fresh)
        changed = set(merged) != set(old)
        labels[head] = merged
        return changed

    def _clashes(self, labels, rules, closure, names) -> tuple[Clash, ...]:
        """For each minimal clashing set the rule with the shortest proof (ties: the first in rule order)."""
        by_mask: dict[int, list[int]] = {}
        for index in rules:
            for mask in self._combine(labels, self.engine._bodies[index]):
                by_mask.setdefault(mask, []).append(index)
        out: list[Clash] = []
        for mask in self._minimal(by_mask):
            candidates = [Clash(names(mask), self.engine._rule_of[i]) for i in sorted(set(by_mask[mask]))]
            out.append(min(candidates, key=lambda c: len(closure.proof_of_clash(c)) if len(candidates) > 1 else 0))
        return tuple(sorted(out, key=lambda c: (len(c.premises), sorted(c.premises))))


@dataclass(frozen=True)
class Closure:
    """What follows for one pattern.

    ``facts``: the given facts, sorted, without the root type. ``literals``: every literal that holds -> all
    minimal sets of facts from which it follows, smallest first; the root type follows from the empty set.
    ``clashes``: all minimal contradictory sets, smallest first; empty if the facts are consistent with the
    rules. ``capped``: some sets were left out because there were more than ``cap``; those kept are still
    right, and the smallest.
    """

    engine: Engine
    facts: tuple[Condition, ...]
    literals: dict[Condition, tuple[Premises, ...]]
    clashes: tuple[Clash, ...]
    capped: bool

    def types(self) -> tuple[str, ...]:
        """The classes the pattern belongs to, sorted, with the root class."""
        return tuple(value for prop, value in self.literals if prop == TYPE)

    def proof(self, literal: Condition, premises: Iterable[Condition]) -> tuple[Rule, ...]:
        """The rules that lead from ``premises`` to ``literal``, in reading order; none can be left out.

        Empty if the literal is itself a premise (or the root type). Raises ValueError if it does not follow
        from them.
        """
        known = frozenset(premises)
        if literal in known or literal == ROOT:
            return ()
        ids = self.engine._ids
        if literal not in ids:
            raise ValueError(f"{literal!r} does not follow from the premises")
        return self._proof((ids[literal],), known)

    def proof_of_clash(self, clash: Clash) -> tuple[Rule, ...]:
        """The rules that lead from the premises of ``clash`` to the contradiction; the last one is
        ``clash.rule``."""
        goals = tuple(self.engine._ids[c] for c in clash.rule.body if c != ROOT)
        return (*self._proof(goals, clash.premises), clash.rule)

    def _proof(self, goals: Sequence[int], premises: Iterable[Condition]) -> tuple[Rule, ...]:
        engine = self.engine
        start = {engine._ids[p] for p in premises if p in engine._ids} | {0}
        known, fired = engine._forward(start)
        if not known.issuperset(goals):
            raise ValueError("the literal does not follow from the premises")
        # Each literal is derived by one rule only, and each rule is needed for a goal: none can be left out.
        return tuple(engine._rule_of[i] for i in _cheapest(engine, fired, goals, start))


def _size_first(mask: int) -> tuple[int, int]:
    return mask.bit_count(), mask


def _cheapest(engine: Engine, fired: Sequence[int], goals: Sequence[int], start: set[int]) -> list[int]:
    """One rule a literal, chosen so that the derivation of each literal is short; rules of the goals in
    reading order."""
    cost: dict[int, int] = dict.fromkeys(start, 0)
    chosen: dict[int, int] = {}
    changed = True
    while changed:  # Bellman-Ford style: the proofs are a handful of rules long
        changed = False
        for index in fired:
            head, body = engine._heads[index], engine._bodies[index]
            if head < 0 or any(b not in cost for b in body):
                continue
            total = 1 + sum(cost[b] for b in body)
            if head not in cost or total < cost[head]:
                cost[head] = total
                chosen[head] = index
                changed = True
    order: list[int] = []
    done: set[int] = set(start)
    # Depth first without recursion: a long chain of categories must not exhaust the interpreter's stack. A
    # literal is pushed twice; the second time, when all it rests on is there, its rule is read.
    stack = [(goal, False) for goal in reversed(goals)]
    while stack:
        literal, ready = stack.pop()
        if ready:
            order.append(chosen[literal])
        elif literal not in done:
            done.add(literal)
            stack.append((literal, True))
            stack.extend((b, False) for b in reversed(engine._bodies[chosen[literal]]))
    return order
