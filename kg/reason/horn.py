"""The in-process Horn engine: what follows for one pattern, from which of its facts, and what contradicts
what.

A literal is a Condition ``(property, value)`` about the pattern at hand. ``Engine(rules)`` indexes the rules
once; each ``close`` works on the facts of one pattern. Every literal gets a *label*: all minimal sets of
given facts from which it follows. So types, every justification of every type, and every clashing set come
out of one pass.

Premise sets are kept as bit masks over the sorted facts; a subset test is then one integer operation. Nearly all rules
have one premise, so what follows from one literal by those alone (its *reach*) is worked out once and kept: a pattern is the
union of the reaches of its facts and what the few rules with more premises (*joins*) add. Many patterns share facts, which
makes a catalogue of any size cheap.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import NamedTuple

from kg.names import PATTERN, TYPE
from kg.records import Record, record
from kg.vocabulary import Condition, Rule

ROOT: Condition = (TYPE, PATTERN)
Premises = frozenset[Condition]


@record
class Clash(Record):
    """``premises``: a minimal set of given facts that contradict each other; ``rule`` the rule that says
    so."""

    premises: Premises
    rule: Rule


class _Reach(NamedTuple):
    """What follows from one literal by rules with one premise, itself included.

    ``literals`` by number, ``names`` the same as conditions; ``joins`` the rules with more premises that have one of them, and
    ``marks`` a mask of those that have; ``bits`` a mask of all; ``against`` one of what clash rules name beside one of them.
    """

    literals: tuple[int, ...]
    names: Premises
    joins: frozenset[int]
    marks: int
    bits: int
    against: int


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
        self._reaches: dict[int, _Reach] = {}
        joined = {b for body, head in zip(self._bodies, self._heads, strict=True) if len(body) > 1 and head >= 0 for b in body}
        self._marks = {literal: 1 << place for place, literal in enumerate(sorted(joined))}
        self._needed = [sum(self._marks.get(b, 0) for b in body) for body in self._bodies]
        self._singles: dict[Condition, Premises] = {}
        self._places = {i: place for place, i in enumerate(sorted(range(len(self._names)), key=self._names.__getitem__))}

    def _intern(self, condition: Condition) -> int:
        return self._ids.setdefault(condition, len(self._ids))

    def types_only(self, facts: Iterable[Condition]) -> frozenset[Condition]:
        """All literals that follow from ``facts``, with the facts and the root type; no premise sets, no
        clashes."""
        given = frozenset(facts)
        parts = [self._base, *(self._reach(self._ids[f]) for f in given if f in self._ids)]
        return given.union(*[part.names for part in self._with_joins(parts)])

    def consistent(self, facts: Iterable[Condition]) -> bool:
        """Whether no rule says that the facts contradict each other: ``close(facts).clashes`` is empty."""
        parts = [self._base, *(self._reach(self._ids[f]) for f in set(facts) if f in self._ids)]
        return not self._clash_rules(self._with_joins(parts))

    def dependents(self, literals: Iterable[Condition]) -> frozenset[Condition]:
        """Everything whose derivation may use one of these literals, themselves included: all else follows, or does not, with
        them and without them alike."""
        todo = [self._ids[c] for c in literals if c in self._ids]
        known = set(todo)
        while todo:
            for index in self._watch[todo.pop()]:
                head = self._heads[index]
                if head >= 0 and head not in known:
                    known.add(head)
                    todo.append(head)
        return frozenset(self._names[i] for i in known).union(literals)

    @cached_property
    def _base(self) -> _Reach:
        """What is true of every pattern by rules with no premise, or one."""
        return self._reach_of([0, *(self._heads[i] for i in self._free if self._heads[i] >= 0)])

    def _reach(self, literal: int) -> _Reach:
        found = self._reaches.get(literal)
        if found is None:
            found = self._reaches[literal] = self._reach_of([literal])
        return found

    def _reach_of(self, start: Sequence[int]) -> _Reach:
        known = dict.fromkeys(start)
        todo = [*known]
        joins: set[int] = set()
        marks = bits = against = 0
        while todo:
            literal = todo.pop()
            bits |= 1 << literal
            marks |= self._marks.get(literal, 0)
            for index in self._watch[literal]:
                head, body = self._heads[index], self._bodies[index]
                if head < 0:
                    for other in body:
                        against |= 1 << other if other != literal or len(body) == 1 else 0
                elif len(body) > 1:
                    joins.add(index)
                elif head not in known:
                    known[head] = None
                    todo.append(head)
        return _Reach(tuple(known), frozenset(self._names[i] for i in known), frozenset(joins), marks, bits, against)

    def _with_joins(self, parts: list[_Reach]) -> list[_Reach]:
        """The reaches of some literals, and those of all that rules with more premises add."""
        todo = set().union(*[part.joins for part in parts])
        if not todo:
            return parts
        marks = 0
        for part in parts:
            marks |= part.marks
        out, done = list(parts), set()
        while fired := [i for i in todo if self._needed[i] & marks == self._needed[i]]:
            done.update(fired)
            for index in sorted(fired):  # so that what is worked out does not depend on how sets lie in memory
                part = self._reach(self._heads[index])
                out.append(part)
                marks |= part.marks
                todo |= part.joins
            todo -= done
        return out

    def _single(self, fact: Condition) -> Premises:
        """The set of one fact, made once: most of what follows does so from one fact alone."""
        found = self._singles.get(fact)
        if found is None:
            found = self._singles[fact] = frozenset((fact,))
        return found

    def _clash_rules(self, parts: Sequence[_Reach]) -> list[int]:
        """The clash rules whose premises all hold, in the order of the rules."""
        bits = against = 0
        for part in parts:
            bits |= part.bits
            against |= part.against
        met = bits & against
        if not met and not self._always_clash:
            return []
        found = set(self._always_clash)
        while met:
            literal = (met & -met).bit_length() - 1
            met &= met - 1
            found.update(i for i in self._watch[literal] if self._heads[i] < 0)
        return [i for i in sorted(found) if all(bits >> b & 1 for b in self._bodies[i])]

    @cached_property
    def _always_clash(self) -> tuple[int, ...]:
        return tuple(i for i in self._free if self._heads[i] < 0)

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
        parts: list[_Reach] = []
        places: list[int] = []
        outside: dict[Condition, int] = {}  # facts that no rule speaks of
        for position, fact in enumerate(self.given):
            literal = engine._ids.get(fact)
            if literal is None:
                outside[fact] = 1 << position
            else:
                parts.append(engine._reach(literal))
                places.append(position)
        held = engine._with_joins([engine._base, *parts])
        labels = self._labels(parts, places)

        sets: dict[int, Premises] = {0: frozenset()}
        sets.update((1 << place, engine._single(fact)) for place, fact in enumerate(self.given))

        def names(mask: int) -> Premises:
            found = sets.get(mask)
            if found is None:
                found = sets[mask] = frozenset(f for i, f in enumerate(self.given) if mask >> i & 1)
            return found

        # Most labels are one set; sorting the rest is all the order there is to make.
        found: dict[Condition, tuple[Premises, ...]] = {
            engine._names[i]: (names(label[0]),) if len(label) == 1 else tuple(map(names, sorted(label, key=_size_first)))
            for i, label in sorted(labels.items(), key=lambda item: engine._places[item[0]])
        }
        if outside:
            found.update((fact, (names(mask),)) for fact, mask in outside.items())
            found = dict(sorted(found.items()))
        clash_rules = engine._clash_rules(held)
        closure = Closure(engine, self.given, found, (), self.capped)
        if not clash_rules:
            return closure
        clashes = self._clashes(labels, clash_rules, closure, names)
        return Closure(engine, self.given, found, clashes, self.capped)

    def _labels(self, parts: Sequence[_Reach], places: Sequence[int]) -> dict[int, list[int]]:
        """literal -> its label: first what follows from one fact each, then the joins to their fixpoint."""
        engine = self.engine
        labels: dict[int, list[int]] = {i: [0] for i in engine._base.literals}
        for part, place in zip(parts, places, strict=True):
            for literal in part.literals:
                label = labels.get(literal)
                if label is None:
                    labels[literal] = [1 << place]
                elif label[0]:  # else it is true of every pattern
                    label.append(1 << place)
        if len(parts) > self.cap:
            for literal, label in labels.items():
                labels[literal] = self._minimal(label)
        todo = deque(sorted(engine._base.joins.union(*(part.joins for part in parts))))
        queued = set(todo)
        while todo:
            index = todo.popleft()
            queued.discard(index)
            new = self._combine(labels, engine._bodies[index])
            if not new or not self._add(labels, engine._heads[index], new):
                continue
            reach = engine._reach(engine._heads[index])
            for literal in reach.literals[1:]:  # the first is the head itself
                self._add(labels, literal, new)
            for user in sorted(reach.joins - queued):
                queued.add(user)
                todo.append(user)
        return labels

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


@record
class Closure(Record):
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
