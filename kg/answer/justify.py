"""Minimal justifications: from which adopted statements a description follows, told as sentences.

A justification is a minimal set of adopted statements from which, with the axioms, the description follows; what is no
statement of a source (a size range, the name of the pattern) counts as a statement of its own. It is told in reading order:
the statements, what follows from single values, then the definitions.
"""

from __future__ import annotations

from collections.abc import Iterable

from kg import names
from kg.answer.context import Context
from kg.answer.filters import describe_atom
from kg.answer.values import said_of
from kg.facts import PatternFacts
from kg.model import Reason
from kg.reason.horn import Closure
from kg.records import Record, record
from kg.truth import (
    INAPPLICABLE,
    All,
    AnyOf,
    Constant,
    Form,
    Includes,
    Is,
    Lengths,
    Member,
    OneOf,
    domain,
    evaluate,
)
from kg.vocabulary import Condition, slot_of
from kg.wording import clause, listing, sentence

CAP = 8
"""At most so many justifications are shown; whether there are more is said."""
WORKING = 8 * CAP  # so many are kept while alternatives are combined
SENTENCES = 7
"""A justification with more sentences than this has its small steps drawn into one sentence."""


@record
class _Goals(Record):
    """One way to make a form true: literals to derive; what else it rests on; rules that lead from them to the form."""

    literals: tuple[Condition, ...] = ()
    said: tuple[Reason, ...] = ()
    rules: tuple[Reason, ...] = ()

    def __add__(self, other: _Goals) -> _Goals:
        return _Goals(self.literals + other.literals, self.said + other.said, self.rules + other.rules)


def closure_of(ctx: Context, facts: PatternFacts) -> Closure:
    """What follows from the adopted statements of a pattern, with all minimal premise sets."""
    return ctx.engine.close([(names.TYPE, names.PATTERN), *(lit for lit, lv in facts.levels.items() if lv != "inferred")])


def justify(ctx: Context, pattern: str, form: Form, facts: PatternFacts) -> tuple[tuple[tuple[Reason, ...], ...], bool]:
    """All minimal justifications of a true form, shortest first, at most ``CAP``; whether there are more."""
    closure = closure_of(ctx, facts)
    ways, cut = premise_sets(ctx, pattern, form, facts, closure)
    found: list[tuple[Reason, ...]] = []
    for premises, goals in ways[:CAP]:
        lines = [premise(ctx, pattern, lit, facts) for lit in sorted(premises, key=lambda x: reading_order(ctx, x))]
        steps = _steps(ctx, closure, premises, goals.literals)
        told = [*lines, *goals.said, *(Reason(text, ()) for text in _drawn_together(steps, len(lines))), *goals.rules]
        found.append(tuple(dict.fromkeys(told)))
    return tuple(found), cut or len(ways) > CAP


def premise_sets(
    ctx: Context, pattern: str, form: Form, facts: PatternFacts, closure: Closure
) -> tuple[list[tuple[frozenset[Condition], _Goals]], bool]:
    """The minimal sets of adopted statements that make a true form true, smallest first, each with what is to be derived.

    The second value tells whether sets were left out because there were too many. Sets that also rest on something that is
    no statement are minimal with it.
    """
    goals, cut = _goal_sets(ctx, pattern, form, facts)
    candidates: list[tuple[frozenset, frozenset[Condition], _Goals]] = []
    for way in goals:
        sets, more = _unions(closure, way.literals)
        cut = cut or more
        candidates += [(premises | frozenset(way.said), premises, way) for premises in sets]
    candidates.sort(key=lambda c: (len(c[0]), len(c[2].literals), sorted(c[1])))
    kept: list[tuple[frozenset, frozenset[Condition], _Goals]] = []
    for candidate in candidates:
        if not any(k[0] <= candidate[0] for k in kept):
            kept.append(candidate)
    return [(premises, way) for _, premises, way in kept], cut


def _unions(closure: Closure, goals: Iterable[Condition]) -> tuple[list[frozenset[Condition]], bool]:
    """Minimal unions of one premise set for each goal, smallest first; whether some were left out."""
    unions: list[frozenset[Condition]] = [frozenset()]
    cut = False
    for goal in goals:
        found = sorted({u | p for u in unions for p in closure.literals.get(goal, ())}, key=lambda s: (len(s), sorted(s)))
        unions = []
        for candidate in found:
            if not any(k <= candidate for k in unions):
                unions.append(candidate)
        cut = cut or len(unions) > WORKING or (closure.capped and len(closure.literals.get(goal, ())) >= WORKING)
        unions = unions[:WORKING]
    return unions, cut


def _goal_sets(ctx: Context, pattern: str, form: Form, facts: PatternFacts) -> tuple[list[_Goals], bool]:
    """The ways in which a true form is true, one for each true alternative; whether some were left out."""
    match form:
        case All(items):
            sets, cut = [_Goals()], False
            for item in items:
                more, cut_there = _goal_sets(ctx, pattern, item, facts)
                sets = [a + b for a in sets for b in more]
                cut = cut or cut_there or len(sets) > WORKING
                sets = sets[:WORKING]
            return sets, cut
        case AnyOf(items):
            true = [_goal_sets(ctx, pattern, i, facts) for i in items if evaluate(i, facts.known, ctx.vocabulary) == 1]
            return [way for ways, _ in true for way in ways], any(cut for _, cut in true)
        case Member(category, conditions):
            if (names.TYPE, category) in facts.known.holds:
                return [_Goals(((names.TYPE, category),))], False
            return _goal_sets(ctx, pattern, conditions, facts)
        case Includes(feature, value, True):
            return [_Goals(((feature, value),))], False
        case OneOf(slot, allowed):
            return [_one_of(ctx, slot, allowed, facts)], False
    return [_Goals(said=(_remark(ctx, pattern, form, facts),))], False


def _one_of(ctx: Context, slot: str, allowed: frozenset[str], facts: PatternFacts) -> _Goals:
    known, vocabulary = facts.known, ctx.vocabulary
    if allowed >= domain(slot, vocabulary):
        return _Goals(rules=(Reason("This is so of every pattern.", ()),))
    if slot not in vocabulary.features:
        return _Goals(((min(allowed), slot),))
    if slot in known.inapplicable:
        part = vocabulary.features[slot].applies
        text = f"What has no {ctx.label(part)} has no {ctx.label(slot)}."
        return _Goals(((names.LACKS_PART, part),), rules=(Reason(text, ()),))
    held = [lit for lit in known.holds if lit[0] == slot and lit[1] in allowed]
    if slot in known.varies or not held:
        return _Goals(said=(_remark(ctx, facts.pattern, OneOf(slot, allowed), facts),))
    denial = INAPPLICABLE in allowed or f"{slot}/other" in allowed
    # Of a denial say what it is as exactly as known; of a broad word the broadest that was asked for is enough.
    best = min(held, key=lambda lit: ((-1 if denial else 1) * len(vocabulary.ancestors(lit[1])), lit))
    rules: tuple[Reason, ...] = ()
    if denial:
        out = _tops(ctx, [v for v in vocabulary.values_of(slot) if v not in allowed])
        text = f"A piece has one {ctx.label(slot)}: {ctx.label(best[1])} rules out {listing(out, 'or')}."
        rules = (Reason(text, ()),)
    elif not allowed <= vocabulary.subtree(best[1]):
        rules = (Reason(f"{ctx.label(best[1]).capitalize()} is one of the values asked for.", ()),)
    return _Goals((best,), rules=rules)


def _tops(ctx: Context, values: Iterable[str]) -> list[str]:
    """Labels of the values that lie below none of the others."""
    chosen = set(values)
    return [ctx.label(v) for v in sorted(chosen) if ctx.vocabulary.broader_of(v) not in chosen]


def _remark(ctx: Context, pattern: str, form: Form, facts: PatternFacts) -> Reason:
    """What makes an atom true that is no literal, with those who say so."""
    match form:
        case Lengths():
            low, high = facts.known.length or (0, 0)
            subjects = ctx.reader.line(pattern, facts)
            said = [w for s in subjects for w in ctx.reader.witnesses(s, names.LENGTH_MIN)][:20]
            return Reason(f"All sizes recorded lie between {low:g} and {high:g} mm.", ctx.cite(said))
        case Is(name, positive):
            return Reason(f"It is {'' if positive else 'not '}the {ctx.label(name)} or a variant of it.", ())
        case OneOf(slot, _) if facts.known.varies.get(slot):
            values = listing([ctx.value_label(slot, v) for v in facts.known.varies[slot]], "or")
            return Reason(f"It is made with different values of {ctx.label(slot)}: {values}.", ())
        case OneOf(slot, _):
            denied = facts.known.denied.get(slot, ())
            return Reason(f"Expressly denied of {ctx.label(slot)}: {listing(map(ctx.label, denied), 'or')}.", ())
        case Includes(feature, value, False):
            return _denial(ctx, pattern, feature, value, facts)
        case Constant():
            return Reason("This is so of every pattern.", ())
    return Reason(describe_atom(ctx, form) + ".", ())


def _denial(ctx: Context, pattern: str, feature: str, value: str, facts: PatternFacts) -> Reason:
    if feature in facts.known.inapplicable:
        part = ctx.vocabulary.features[feature].applies
        return Reason(f"It has no {ctx.label(part)}, so no {ctx.label(feature)}.", ())
    covering = {value, *ctx.vocabulary.ancestors(value)}
    subjects = ctx.reader.line(pattern, facts)
    said = [w for s in subjects for w in ctx.reader.witnesses(s, feature) if w.mode == "not" and w.value in covering]
    what = ctx.label(next((w.value for w in said), value))
    return Reason(f"Expressly denied: {ctx.label(feature)} {what}.", ctx.cite(said))


# --- steps ----------------------------------------------------------------------------------------------------------
@record
class _Step(Record):
    body: tuple[Condition, ...]
    head: Condition
    text: str

    @property
    def small(self) -> bool:
        """From one value or part to another; no category takes part."""
        return len(self.body) == 1 and self.body[0][0] != names.TYPE and self.head[0] != names.TYPE


def _steps(ctx: Context, closure: Closure, premises: frozenset[Condition], goals: Iterable[Condition]) -> list[_Step]:
    """The proof of all goals: small steps first, chains of them drawn into one, then the definitions."""
    rules: dict = {}
    goals = tuple(goals)
    for goal in goals:
        for rule in closure.proof(goal, _within(closure, goal, premises)):
            rules[rule] = None
    steps = [_Step(r.body, r.head, r.text) for r in rules if r.head is not None]
    steps = _contracted(ctx, steps, goals)
    small = [s for s in steps if s.small]
    return small + [s for s in steps if not s.small]


def _contracted(ctx: Context, steps: list[_Step], goals: tuple[Condition, ...]) -> list[_Step]:
    """Small steps whose result only the next small step uses are told as one."""
    uses: dict[Condition, int] = dict.fromkeys(goals, 1)
    for step in steps:
        for literal in step.body:
            uses[literal] = uses.get(literal, 0) + 1
    done: dict[Condition, _Step] = {}
    for step in steps:  # in the order of the proof: what a step needs stands before it
        before = done.get(step.body[0]) if step.small else None
        if before is not None and before.small and uses[step.body[0]] == 1:
            del done[step.body[0]]
            step = _Step(before.body, step.head, "")
        done.setdefault(step.head, step)
    return [_Step(s.body, s.head, _small_text(ctx, s)) if s.small else s for s in done.values()]


def _small_text(ctx: Context, step: _Step) -> str:
    return f"What {clause(step.body[0], ctx.vocabulary)} {clause(step.head, ctx.vocabulary)}."


def _drawn_together(steps: list[_Step], statements: int) -> list[str]:
    """The steps as sentences; with too many of them the small ones become one sentence."""
    small = [s.text for s in steps if s.small]
    rest = [s.text for s in steps if not s.small]
    if statements + len(steps) > SENTENCES and len(small) > 1:
        small = ["; ".join(t.rstrip(".") if i == 0 else t[:1].lower() + t[1:].rstrip(".") for i, t in enumerate(small)) + "."]
    return small + rest


def _within(closure: Closure, goal: Condition, premises: frozenset[Condition]) -> frozenset[Condition]:
    """The premise set of one goal inside a larger set."""
    return min((p for p in closure.literals[goal] if p <= premises), key=lambda s: (len(s), sorted(s)))


def premise(ctx: Context, pattern: str, literal: Condition, facts: PatternFacts) -> Reason:
    """An adopted statement as a sentence with its witnesses, and whether anyone disputes it."""
    level = facts.levels.get(literal, "")
    subject, witnesses = ctx.reader.support(pattern, literal, facts)
    text = sentence(pattern, literal, ctx.vocabulary)
    if subject != pattern:
        text = text[:-1] + f" (said of {said_of(ctx, subject)})."
    sources = ctx.cite(witnesses)
    if level == "derived":
        text = text[:-1] + " (by rule, from the recorded length)."
        sources = ctx.cite(ctx.reader.witnesses(pattern, names.LENGTH_MIN))
    slot = slot_of(literal)
    return Reason(text, sources, ctx.dispute(pattern, slot, facts) is not None)


def reading_order(ctx: Context, literal: Condition) -> tuple[int, Condition]:
    prop, value = literal
    feature = ctx.vocabulary.features.get(prop)
    order = feature.order if feature else ctx.vocabulary.terms[value].order if value in ctx.vocabulary.terms else 0
    return order, literal
