"""The adoption rule: what one subject is taken to be, given what the sources say.

Published sources first; memory and common practice count only where nothing is published. Each work has one vote of its
kind's weight (copies of a work add nothing). For a feature with one value the value with the greatest weight is adopted,
where a broader value supports a narrower one; if narrower values tie, their common broader value is adopted and the tie is
shown as disputed; with no common broader value nothing is adopted and the dispute is open. "Made with" values (mode
``some``) say that the feature varies between pieces, if they have at least half the weight of those who say one thing of
every piece, or if they only tell apart what the others name by a broader value. A feature with many values adopts all that
is not denied with equal or greater weight. An editor's ruling (its own source kind, ``ruling``) beats the count.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from kg.evidence.statements import UNPUBLISHED, Source, Statement
from kg.vocabulary import Vocabulary

RULING = "ruling"


@dataclass(frozen=True)
class Decision:
    """What is adopted for one (subject, feature).

    ``values``: adopted values (at most one for a single-valued feature). ``varies``: values of which each is true of some
    pieces only. ``denied``: values expressly denied. ``also_said``: values with a witness that were not adopted.
    ``contested``: values of a feature with many values that are adopted although a lighter witness denies them.
    ``open``: a tie or an equal contradiction that left nothing adopted. ``weight``: of the adopted values, for withdrawing
    the weaker of two statements that clash.
    """

    subject: str
    feature: str
    values: tuple[str, ...] = ()
    varies: tuple[str, ...] = ()
    denied: tuple[str, ...] = ()
    also_said: tuple[str, ...] = ()
    open: bool = False
    weight: float = 0.0
    contested: tuple[str, ...] = ()

    @property
    def disputed(self) -> bool:
        return bool(self.also_said or self.contested) or self.open


@dataclass(frozen=True)
class Weighing:
    """The weights and the sources, so that a vote can be counted."""

    weight_of_kind: Mapping[str, float]
    sources: Mapping[str, Source]

    def votes(self, statements: Iterable[Statement]) -> float:
        """Total weight of the works behind the statements; each work counts once, by its heaviest source."""
        heaviest: dict[str, float] = {}
        for s in statements:
            source = self.sources[s.source]
            work = source.work or source.name
            heaviest[work] = max(heaviest.get(work, 0.0), self.weight_of_kind[source.kind])
        return sum(heaviest.values())

    def kind(self, statement: Statement) -> str:
        return self.sources[statement.source].kind


def decide(
    subject: str, feature: str, said: Iterable[Statement], vocabulary: Vocabulary, weighing: Weighing, *, single: bool
) -> Decision:
    """Adopts a value, or several, for one subject and one feature. ``said`` are the statements on exactly these."""
    statements = sorted(said)
    counted = _that_count(statements, weighing)
    decision = (_decide_one if single else _decide_many)(subject, feature, counted, vocabulary, weighing)
    # What uncounted witnesses say against the adopted value is still a dispute to be shown.
    others = {s.value for s in statements if s not in counted and s.mode == "is"}
    if single:
        known = set(decision.values) | set(decision.varies)
        against = {v for v in others if known and not any(compatible(v, k, vocabulary) for k in known)}
    else:
        against = others & set(decision.denied)
    if not against:
        return decision
    also = tuple(sorted({*decision.also_said, *against}))
    return Decision(**{**decision.__dict__, "also_said": also})


def _that_count(statements: list[Statement], weighing: Weighing) -> list[Statement]:
    rulings = [s for s in statements if weighing.kind(s) == RULING]
    if rulings:
        return rulings
    published = [s for s in statements if weighing.kind(s) not in UNPUBLISHED]
    if any(s.mode != "not" for s in published):
        return published
    # Published witnesses that only deny leave room for what is common practice, within their denial.
    denied = {s.value for s in published}
    statements = [s for s in statements if s in published or s.value not in denied]
    common = [s for s in statements if weighing.kind(s) != "memory"]
    return common if any(s not in published for s in common) else statements


def _decide_one(
    subject: str, feature: str, statements: list[Statement], vocabulary: Vocabulary, weighing: Weighing
) -> Decision:
    is_, some, not_ = (_by_value(statements, mode) for mode in ("is", "some", "not"))
    # "Generally lengthwise" beside "lengthwise" is support for it, not a second form.
    apart = {v for v in some if not any(compatible(v, o, vocabulary) for o in is_)}
    plain = weighing.votes([s for group in is_.values() for s in group])
    # One weak page that has seen an odd piece does not undo what many say of every piece: it is shown as disputed.
    forms = {v for v in apart if 2 * weighing.votes(some[v]) >= plain or subject.startswith("kind:")}
    if forms:
        if len(some) == 1 or subject.startswith("kind:"):
            # "Some are curved" beside "straight". Of a kind anything that varies must not be handed to its patterns.
            forms |= set(is_)
        varies = {*forms, *(v for v in some if not any(compatible(v, f, vocabulary) for f in forms))}
        # "It is curved" beside "straight or curved" has seen one of the forms; what fits none of them is a rival.
        outside = {v for v in is_ if not any(compatible(v, s, vocabulary) for s in varies)}
        weight = weighing.votes([s for v in some for s in some[v]])
        if weight >= weighing.votes([s for v in outside for s in is_[v]]):
            values = tuple(sorted(varies))
            return Decision(subject, feature, varies=values, also_said=tuple(sorted(outside)), weight=weight)
    elif is_ and _finer_forms(some, is_, vocabulary):
        # "With four by five or five by six teeth" beside "with teeth": who names no form does not contradict those who do.
        return Decision(subject, feature, varies=tuple(sorted(some)), weight=plain)
    elif some:
        odd = {v: some[v] for v in apart}
        is_ = {v: [*is_.get(v, ()), *some.get(v, ())] for v in dict.fromkeys([*is_, *some]) if v not in odd}
    if not is_:
        return Decision(subject, feature, denied=tuple(sorted(not_)))

    def support(value: str) -> float:
        line = {value, *vocabulary.ancestors(value)}
        own = weighing.votes([s for v in line for s in is_.get(v, ())])
        return own - weighing.votes([s for v in line for s in not_.get(v, ())])

    ranked = sorted(is_, key=lambda v: (-support(v), -len(vocabulary.ancestors(v)), v))
    best = support(ranked[0])
    tied = [v for v in ranked if support(v) == best]
    # A broader value that ties with its own narrower one is no rival of it.
    rivals = [v for v in tied if not any(o != v and v in vocabulary.ancestors(o) for o in tied)]
    line = {ranked[0], *vocabulary.ancestors(ranked[0])}
    if best < 0 or (best == 0 and line & set(not_)):
        return Decision(subject, feature, also_said=tuple(sorted(is_)), open=True)
    adopted = rivals[0] if len(rivals) == 1 else common_broader(rivals, vocabulary)
    if not adopted:
        return Decision(subject, feature, also_said=tuple(sorted(rivals)), open=True)
    if len(rivals) > 1:
        also = {*rivals, *(v for v in is_ if not compatible(v, adopted, vocabulary))}
    else:
        also = {v for v in is_ if not compatible(v, adopted, vocabulary)}
        also |= {v for v in some if not compatible(v, adopted, vocabulary)}  # the odd ones
    return Decision(
        subject, feature, (adopted,), denied=tuple(sorted(not_)), also_said=tuple(sorted(also)), weight=max(best, 0.0)
    )


def _finer_forms(some: Iterable[str], said: Iterable[str], vocabulary: Vocabulary) -> bool:
    """Whether the forms of some pieces are at least two, shut each other out, and are all narrower than whatever is said."""
    forms = list(some)
    finer = all(v in vocabulary.ancestors(form) for form in forms for v in said)
    return finer and len(forms) > 1 and not any(compatible(a, b, vocabulary) for a in forms for b in forms if a != b)


def _decide_many(
    subject: str, feature: str, statements: list[Statement], vocabulary: Vocabulary, weighing: Weighing
) -> Decision:
    is_, some, not_ = (_by_value(statements, mode) for mode in ("is", "some", "not"))
    values, also, denied = [], [], []
    for value, group in is_.items():
        against = weighing.votes(not_.get(value, ()))
        if value in not_ and against >= weighing.votes(group):
            also.append(value)
        else:
            values.append(value)
    for value, group in not_.items():
        if value not in values and not (value in is_ and weighing.votes(group) == weighing.votes(is_[value])):
            denied.append(value)
    varies = [v for v in some if v not in is_]
    return Decision(
        subject,
        feature,
        tuple(sorted(values)),
        tuple(sorted(varies)),
        tuple(sorted(denied)),
        tuple(sorted(also)),
        weight=min((weighing.votes(is_[v]) for v in values), default=0.0),
        contested=tuple(sorted(v for v in values if v in not_)),
    )


def _by_value(statements: list[Statement], mode: str) -> dict[str, list[Statement]]:
    out: dict[str, list[Statement]] = defaultdict(list)
    for s in statements:
        if s.mode == mode:
            out[s.value].append(s)
    return out


def compatible(a: str, b: str, vocabulary: Vocabulary) -> bool:
    """Both can be true of one piece: equal, or one broader than the other."""
    return a == b or a in vocabulary.ancestors(b) or b in vocabulary.ancestors(a)


def common_broader(values: list[str], vocabulary: Vocabulary) -> str:
    """The nearest value that is broader than (or equal to) all; empty if there is none."""
    lines = [(v, *vocabulary.ancestors(v)) for v in values]
    for candidate in lines[0]:
        if all(candidate in line for line in lines[1:]):
            return candidate
    return ""
