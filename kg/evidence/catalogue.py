"""Adopted facts of every pattern: own decisions, inheritance, withdrawal of what clashes.

A *slot* is what one decision is about: a feature, or a part kind (whose values are then ``bl:hasPart`` and
``bl:lacksPart``). Inheritance happens here, before any reasoning: a pattern takes what it has no own value for from the
pattern it is a variant of, then from its kind ("said of artery forceps in general"), nearest first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from kg import names
from kg.evidence.adopt import Decision, Weighing, common_broader, compatible, decide
from kg.evidence.statements import LENGTH, Statement, parse_span
from kg.vocabulary import Condition, Vocabulary, slot_of

OWN, VARIANT, KIND, RULE = "own", "variant", "kind", "rule"


@dataclass(frozen=True)
class Fact:
    """One adopted fact: ``literal`` is (property, value); ``origin`` the pattern or kind it was said of."""

    literal: Condition
    level: str
    origin: str
    weight: float = 0.0
    depth: int = 0


@dataclass
class Record:
    """Everything adopted about one pattern.

    ``facts`` by literal; ``varies`` slot -> values true of some pieces; ``denied`` feature -> values; ``disputes`` slot ->
    the decision that is disputed (the pattern's own or an inherited one); ``contested`` adopted literals that a lighter
    witness, or one who speaks of the kind, denies; ``length`` (shortest, longest) in millimetres.
    """

    pattern: str
    facts: dict[Condition, Fact] = field(default_factory=dict)
    varies: dict[str, tuple[str, ...]] = field(default_factory=dict)
    denied: dict[str, tuple[str, ...]] = field(default_factory=dict)
    disputes: dict[str, Decision] = field(default_factory=dict)
    contested: set[Condition] = field(default_factory=set)
    length: tuple[float, float] | None = None
    length_level: str = ""


@dataclass(frozen=True)
class SizeRule:
    """A size class from the recorded length: every size made is over ``over`` and at most ``to`` millimetres."""

    value: str
    over: float
    to: float


Clashes = Callable[[Iterable[Condition]], list[frozenset[Condition]]]
"""Given facts of one pattern, the minimal sets of them that cannot be true together; empty if there is no clash."""


def literal_of(slot: str, value: str) -> Condition:
    """(``bl:Ratchet``, ``bl:hasPart``) -> (``bl:hasPart``, ``bl:Ratchet``); a feature's literal is (feature, value)."""
    return (value, slot) if value in names.PARTS else (slot, value)


def decide_all(statements: Iterable[Statement], vocabulary: Vocabulary, weighing: Weighing) -> dict[str, dict[str, Decision]]:
    """subject -> slot -> decision, for patterns and kinds. Lengths are left to ``lengths``."""
    grouped: dict[tuple[str, str], list[Statement]] = defaultdict(list)
    for s in statements:
        if s.feature in names.PARTS:
            value = s.feature if s.mode != "not" else names.PARTS[1 - names.PARTS.index(s.feature)]
            mode = "is" if s.mode == "not" else s.mode
            grouped[s.subject, s.value].append(Statement(s.subject, s.value, mode, value, s.source))
        elif s.feature != LENGTH:
            grouped[s.subject, s.feature].append(s)
            denied = vocabulary.features[s.feature].denies if s.feature in vocabulary.features else ""
            if denied and s.mode == "is":  # "not used on bowel" speaks against "used on bowel"
                grouped[s.subject, denied].append(Statement(s.subject, denied, "not", s.value, s.source))
    out: dict[str, dict[str, Decision]] = defaultdict(dict)
    for (subject, slot), said in sorted(grouped.items()):
        feature = vocabulary.features.get(slot)
        single = feature.single if feature else True  # a part is there or absent
        out[subject][slot] = decide(subject, slot, said, vocabulary, weighing, single=single)
    return out


def vary_by_variants(vocabulary: Vocabulary, decisions: Mapping[str, Mapping[str, Decision]]) -> dict[str, dict[str, Decision]]:
    """A pattern whose variants are recorded with values that exclude each other varies, whatever is said of it as a whole.

    "Adson forceps have teeth" speaks of the toothed variant if a plain one is recorded too.
    """
    out = {subject: dict(slots) for subject, slots in decisions.items()}
    for term in vocabulary.by_role("pattern"):
        variants = [v for v in vocabulary.subtree(term.name) if v != term.name]
        for slot in {s for v in variants for s in decisions.get(v, {})}:
            feature = vocabulary.features.get(slot)
            if slot == names.OF_KIND or (feature is not None and not feature.single):
                continue  # plain and toothed variants are two kinds, but the pattern keeps its own broader one
            said = [decisions[v][slot] for v in sorted(variants) if slot in decisions.get(v, {})]
            values = {v for d in said for v in d.values}
            own = decisions.get(term.name, {}).get(slot)
            values |= set(own.varies or own.values) if own else set()
            if any(not compatible(a, b, vocabulary) for a in values for b in values):
                exact = {v for v in values if not any(v in vocabulary.ancestors(o) for o in values)}
                also = tuple(v for v in own.also_said if not any(compatible(v, e, vocabulary) for e in exact)) if own else ()
                weight = own.weight if own else 0.0
                varied = Decision(term.name, slot, varies=tuple(sorted(exact)), also_said=also, weight=weight)
                out.setdefault(term.name, {})[slot] = varied
    return out


def assemble(
    vocabulary: Vocabulary,
    decisions: Mapping[str, Mapping[str, Decision]],
    spans: Mapping[str, tuple[float, float]],
    sizes: Iterable[SizeRule],
    clashes: Clashes,
) -> dict[str, Record]:
    """The record of every pattern, sorted by name."""
    sizes = tuple(sizes)
    out: dict[str, Record] = {}
    for term in sorted(vocabulary.by_role("pattern"), key=lambda t: t.name):
        record = Record(term.name)
        line = _line(term.name, vocabulary, decisions)
        for slot in sorted({s for subject, _, _ in line for s in decisions.get(subject, {})}):
            feature = vocabulary.features.get(slot)
            if feature is None or feature.single:
                _inherit_one(record, slot, line, decisions, vocabulary)
            else:
                _inherit_many(record, slot, line, decisions, vocabulary)
        _set_length(record, line, spans)
        _set_size(record, sizes)
        _withdraw(record, clashes)
        _rule_out(record, clashes)
        out[term.name] = record
    return out


def lengths(statements: Iterable[Statement], weighing: Weighing) -> dict[str, tuple[float, float]]:
    """subject -> (shortest, longest): the span of all sizes that published sources (or, failing them, others) give."""
    grouped: dict[str, list[Statement]] = defaultdict(list)
    for s in statements:
        if s.feature == LENGTH:
            grouped[s.subject].append(s)
    out = {}
    for subject, said in sorted(grouped.items()):
        published = [s for s in said if weighing.sources[s.source].published]
        ends = [parse_span(s.value) for s in published or said]
        out[subject] = (min(low for low, _ in ends), max(high for _, high in ends))
    return out


def _line(pattern: str, vocabulary: Vocabulary, decisions: Mapping[str, Mapping[str, Decision]]) -> list[tuple[str, str, int]]:
    """(subject, level, depth) in the order of inheritance: the pattern, its parents, its kind, broader kinds."""
    line = [(pattern, OWN, 0)]
    line += [(p, VARIANT, i + 1) for i, p in enumerate(vocabulary.ancestors(pattern))]
    kind = ""
    for subject, _, _ in line:
        decision = decisions.get(subject, {}).get(names.OF_KIND)
        if decision and decision.values:
            kind = decision.values[0]
            break
    if kind:
        line += [(k, KIND, len(line) + i) for i, k in enumerate((kind, *vocabulary.ancestors(kind)))]
    return line


def _inherit_one(
    record: Record,
    slot: str,
    line: list[tuple[str, str, int]],
    decisions: Mapping[str, Mapping[str, Decision]],
    vocabulary: Vocabulary,
) -> None:
    denied: set[str] = set()
    for subject, level, depth in line:
        decision = decisions.get(subject, {}).get(slot)
        if decision is None:
            continue
        if level == KIND and (decision.open or decision.varies):
            continue  # "straight or curved" of a kind says nothing of one pattern
        if decision.open:
            record.disputes[slot] = decision
            break
        if decision.varies:
            record.varies[slot] = decision.varies
            shared = common_broader(list(decision.varies), vocabulary) if len(decision.varies) > 1 else ""
            if shared:  # made transverse or longitudinal: serrated in any case
                record.facts[slot, shared] = Fact((slot, shared), level, subject, decision.weight, depth)
        elif decision.values:
            value = decision.values[0]
            if denied & {value, *vocabulary.ancestors(value)}:
                break  # expressly denied nearer to the pattern
            literal = literal_of(slot, value)
            record.facts[literal] = Fact(literal, level, subject, decision.weight, depth)
        else:
            denied |= set(decision.denied)
            continue
        if decision.disputed:
            record.disputes[slot] = decision
        break
    if denied:
        record.denied[slot] = tuple(sorted(denied))


def _inherit_many(
    record: Record,
    slot: str,
    line: list[tuple[str, str, int]],
    decisions: Mapping[str, Mapping[str, Decision]],
    vocabulary: Vocabulary,
) -> None:
    denied: set[str] = set()
    varies: set[str] = set()
    for subject, level, depth in line:
        decision = decisions.get(subject, {}).get(slot)
        if decision is None:
            continue
        for value in decision.values:
            literal = (slot, value)
            if literal not in record.facts and not denied & {value, *vocabulary.ancestors(value)}:
                record.facts[literal] = Fact(literal, level, subject, decision.weight, depth)
        if level != KIND:
            varies |= set(decision.varies)
        if decision.disputed and slot not in record.disputes:
            record.disputes[slot] = decision
        denied |= set(decision.denied) | set(decision.contested)
    held = {value for feature, value in record.facts if feature == slot}
    varies -= held
    if varies:
        record.varies[slot] = tuple(sorted(varies))
    contested = {v for v in held if denied & {v, *vocabulary.ancestors(v)}}
    record.contested |= {(slot, v) for v in contested}
    if denied - held:
        record.denied[slot] = tuple(sorted(denied - held))


def _set_length(record: Record, line: list[tuple[str, str, int]], spans: Mapping[str, tuple[float, float]]) -> None:
    for subject, level, _ in line:
        if level != KIND and subject in spans:  # a kind comes in many lengths
            record.length, record.length_level = spans[subject], level
            return


def _set_size(record: Record, sizes: tuple[SizeRule, ...]) -> None:
    if record.length is None or any(feature == names.SIZE_CLASS for feature, _ in record.facts):
        return
    low, high = record.length
    for rule in sizes:
        if rule.over < low and high <= rule.to:
            literal = (names.SIZE_CLASS, rule.value)
            record.facts[literal] = Fact(literal, RULE, record.pattern)


def _withdraw(record: Record, clashes: Clashes) -> None:
    """Takes back the weakest statement of every clash, until nothing clashes.

    A clash between equals (both own, or both of the kind) is shown as disputed; an own value simply outranks an inherited
    one.
    """
    rank = {RULE: 0, KIND: 1, VARIANT: 2, OWN: 3}
    while found := clashes(record.facts):
        clash = min(found, key=lambda premises: sorted(premises))
        weakest = min(
            (record.facts[literal] for literal in clash),
            key=lambda f: (rank[f.level], -f.depth, f.weight, f.literal),
        )
        del record.facts[weakest.literal]
        if all(record.facts.get(p, weakest).level == weakest.level for p in clash):
            slot = slot_of(weakest.literal)
            value = weakest.literal[0] if slot == weakest.literal[1] else weakest.literal[1]
            kept = tuple(sorted(v if f == slot else f for f, v in record.facts if slot_of((f, v)) == slot))
            record.disputes[slot] = Decision(record.pattern, slot, kept, also_said=(value,), open=not kept)


def _rule_out(record: Record, clashes: Clashes) -> None:
    """Takes back "some are" values that cannot be, given what is adopted: "some smooth" of jaws serrated in full."""
    for slot, values in list(record.varies.items()):
        gone = tuple(v for v in values if clashes([*record.facts, literal_of(slot, v)]))
        if not gone:
            continue
        left = tuple(v for v in values if v not in gone)
        if len(left) > 1:
            record.varies[slot] = left
        else:
            del record.varies[slot]
        record.disputes.setdefault(slot, Decision(record.pattern, slot, left, also_said=gone))
