"""The steps of a station: what a full answer says (``kg.rehearse``), with a mark for what is well witnessed.

What rests on memory or common practice, or is disputed, or was only inferred, is listed and accepted, on either side of a
dispute, but earns no mark: no mark rests on it. A step in which nothing else is left cannot be examined.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cached_property

from kg import names
from kg.answer import Context
from kg.answer.describe import the
from kg.answer.reprocess import CAUTION
from kg.course.blueprint import Marking
from kg.course.stationed import MarkedStep, Point
from kg.evidence_levels import UNPUBLISHED
from kg.rehearse.facts import Subject
from kg.rehearse.records import Fact, Item
from kg.rehearse.settings import Settings
from kg.rehearse.tasks import Tasks
from kg.sparql.terms import prologue, values
from kg.vocabulary import slot_of
from kg.wording import listing

INFERRED = "inferred"
"""Of a fact that follows from others, so that no source can be named beside it."""
UNMARKED = ("memory", "common practice", "disputed", INFERRED)
"""What is so flagged earns no mark."""
LETTERS = ("A", "B")


class Steps:
    """Makes the steps of a task for a pattern, or for two of them that are to be told apart."""

    def __init__(self, ctx: Context, settings: Settings, marking: Marking) -> None:
        self.ctx = ctx
        self.marking = marking
        self.tasks = Tasks(ctx, settings)
        self._items: dict[tuple[str, ...], Item | None] = {}

    @cached_property
    def _unpublished(self) -> dict[str, str]:
        """Citation -> what rests on it, for the sources that stand for having none."""
        body = f"SELECT ?s ?text WHERE {{ {values('s', sorted(UNPUBLISHED))} GRAPH graph:terms {{ ?s rdfs:label ?text }} }}\n"
        return {r["text"].value: UNPUBLISHED[r["s"].short] for r in self.ctx.store.select(prologue(body) + body)}

    def carries(self, task: str, patterns: Sequence[str]) -> bool:
        """Whether enough is recorded, by sources that bear a mark, for every step of the task."""
        steps = self.of(task, patterns)
        return bool(steps) and all(step.marks for step in steps)

    def of(self, task: str, patterns: Sequence[str]) -> tuple[MarkedStep, ...]:
        """The steps in the order in which they are marked; none if the record does not carry one of them."""
        made = [self._step(step, task, patterns) for step in self.marking.steps[task]]
        return tuple(s for s in made if s is not None) if all(made) else ()

    def notes(self, task: str, patterns: Sequence[str]) -> tuple[str, ...]:
        """What is disputed in what is asked, pattern by pattern, and the cautions that belong to it."""
        out = []
        for name in patterns:
            asked = [f for step in self.marking.steps[task] if step != "name" for f in self._facts(step, patterns)]
            slots = {slot for f in asked if f.subject == name for slot in _slots(f)} & self.tasks.subject(name).disputed
            if slots:
                labels = listing(sorted(self.ctx.label(slot) for slot in slots))
                said = "either side is accepted, and no mark rests on it"
                out.append(f"The sources disagree on the {labels} of {the(self.ctx.label(name))}: {said}.")
        return (*out, CAUTION) if "reprocess" in self.marking.steps[task] else tuple(out)

    def _step(self, step: str, task: str, patterns: Sequence[str]) -> MarkedStep | None:
        if step == "name":
            return self._name(patterns, told=task == "identify")
        item = self._item(step, patterns)
        if item is None:
            return None
        if step == "tell apart":
            return self._apart(item)
        most = self.marking.signs if step == "signs" else self.marking.most
        points = self._marked([self._point(f) for f in self._facts(step, patterns)], most)
        if step == "reprocess" and not any(p.marks and f.literals for p, f in zip(points, item.facts, strict=True)):
            return None  # rules that hold for every instrument make no station
        answer = " ".join(f"It {p.text}." for p in points if p.marks) if step == "signs" else item.answer
        return MarkedStep(step, answer, points)

    def _facts(self, step: str, patterns: Sequence[str]) -> tuple[Fact, ...]:
        """The facts of a step; as signs those that tell the pattern from its look-alikes, if there are any, and none that only
        says what is absent and would earn no mark."""
        item = self._item(step, patterns)
        if item is None or step != "signs":
            return item.facts if item else ()
        telling = self.tasks.subject(patterns[0]).telling
        found = [f for f in item.facts if _slots(f) & telling] or list(item.facts)
        return tuple(f for f in found if self._point(f).marks or not any(p == names.LACKS_PART for p, _ in f.literals))

    def _item(self, step: str, patterns: Sequence[str]) -> Item | None:
        key = (step, *patterns)
        if key not in self._items:
            task = "describe" if step == "signs" else step
            self._items[key] = self.tasks.item(task, patterns[0], patterns[1] if len(patterns) > 1 else "", hidden=True)
        return self._items[key]

    # --- points ---------------------------------------------------------------------------------------------------------
    def _name(self, patterns: Sequence[str], *, told: bool) -> MarkedStep | None:
        """``told``: to be named by sight alone, which asks for a pattern that few are recorded alike."""
        if told and self.tasks.item("name", patterns[0]) is None:
            return None
        points = []
        for letter, name in zip(LETTERS if len(patterns) > 1 else ("",), patterns, strict=False):
            also = self.ctx.vocabulary.terms[name].alt
            text = f"{letter} is {the(self.ctx.label(name))}" if letter else f"is {the(self.ctx.label(name))}"
            marks = self.marking.name if not letter else max(1, self.marking.name // 2)
            points.append(Point(text, "name", marks, also))
        said = [f"{p.text[0].upper()}{p.text[1:]}." if len(patterns) > 1 else f"It {p.text}." for p in points]
        return MarkedStep("name", " ".join(said), tuple(points))

    def _point(self, fact: Fact) -> Point:
        weak = [self._unpublished.get(source, "") for source in fact.sources]
        basis = fact.basis or (max(weak) if weak and all(weak) else "")  # what differs between pieces has no basis of its own
        flag = "disputed" if fact.status == "disputed" or self._is_disputed(fact) else basis
        if not fact.sources and flag not in UNMARKED:
            flag = INFERRED  # what follows from a maker's page has no witness of its own to be named
        marks = self.marking.fact if fact.required and flag not in UNMARKED else 0
        return Point(fact.text, fact.about, marks, self._other_sides(fact), flag, fact.sources)

    def _is_disputed(self, fact: Fact) -> bool:
        """Also a fact with several values, or with a length, on which another witness says otherwise."""
        if not fact.subject:
            return False
        return bool(_slots(fact) & self.tasks.subject(fact.subject).disputed)

    def _other_sides(self, fact: Fact) -> tuple[str, ...]:
        """What the other witnesses of a disputed fact say."""
        if fact.every or len(fact.literals) < 2 or fact.status != "disputed":
            return ()
        first, *others = fact.literals
        return tuple(self.ctx.value_label(slot_of(x), x[0] if x[0] in names.PARTS else x[1]) for x in others if x != first)

    def _apart(self, item: Item) -> MarkedStep | None:
        """One point for each difference, for both sides of it have to be said."""
        subjects: dict[str, Subject] = {n: self.tasks.subject(n) for n in item.subjects}
        slots: dict[str, list[Fact]] = {}
        for fact in item.facts:
            slots.setdefault(slot_of(fact.literals[0]) if fact.literals else names.LENGTH, []).append(fact)
        points, said = [], []
        for facts in slots.values():
            sides = [[f for f in facts if f.subject == name] for name in subjects]
            texts = [f"{x} {listing(f.text for f in side)}" for x, side in zip(LETTERS, sides, strict=True) if side]
            both = [self._point(f) for f in facts]
            strong = all(p.marks for p in both) and len(texts) == len(LETTERS)
            flag = next((p.flag for p in both if not p.marks and p.flag), next((p.flag for p in both if p.flag), ""))
            also = tuple(dict.fromkeys(x for p in both for x in p.also))
            sources = tuple(dict.fromkeys(s for p in both for s in p.sources))
            points.append(Point("; ".join(texts), facts[0].about, self.marking.fact if strong else 0, also, flag, sources))
            said.append(f"{'; '.join(texts)}.")
        marked = self._marked(points, self.marking.most)
        return MarkedStep("tell apart", " ".join(t for t, p in zip(said, marked, strict=True) if p.marks), marked)

    @staticmethod
    def _marked(points: Iterable[Point], most: int) -> tuple[Point, ...]:
        """Of the points with marks the first ``most`` keep them."""
        out, given = [], 0
        for point in points:
            given += bool(point.marks)
            out.append(point if given <= most or not point.marks else replace(point, marks=0))
        return tuple(out)


def _slots(fact: Fact) -> frozenset[str]:
    """What a fact speaks of: features, parts, or the length."""
    return frozenset(slot_of(literal) for literal in fact.literals) or frozenset([names.LENGTH] if fact.span else ())
