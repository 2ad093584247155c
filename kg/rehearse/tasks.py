"""One function for each task: a pattern (and a look-alike) -> a question with its facts and model answer, or None.

A task is left out where the record does not carry it: nothing is asked to which the answer is not recorded.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import replace

from kg import names
from kg.answer.context import Context
from kg.answer.describe import appearance_without, the
from kg.answer.lookalikes import telling_slots
from kg.answer.reprocess import answer_reprocessing
from kg.answer.spoken import value_clause
from kg.model import Care, Disputed
from kg.rehearse.facts import MEMORY, Subject
from kg.rehearse.records import THE_POINT, Fact, Item
from kg.rehearse.settings import Settings
from kg.vocabulary import slot_of
from kg.wording import capital, is_plural, listing, of_many

ALL_SHARE = "which all sides share"
BASES = {"veterinary": "veterinary witnesses", "maker's page": "makers' pages"}
CARE_NOTE = "Local policy and the maker's instructions decide."


class Tasks:
    """Makes questions. ``number`` and ``chain`` of an item are set by the schedule."""

    def __init__(self, ctx: Context, settings: Settings) -> None:
        self.ctx = ctx
        self.settings = settings
        self._subjects: dict[str, Subject] = {}
        self._rng = random.Random(0)
        self._makers: dict[str, Callable[[Subject, bool], Item | None]] = {
            "describe": self._describe,
            "name": self._name,
            "name from use": self._name_from_use,
            "left out": self._left_out,
            "use": self._use,
            "where never": self._where_never,
            "reprocess": self._reprocess,
            "disputed": self._disputed,
        }

    def subject(self, pattern: str) -> Subject:
        """The pattern's record, read once."""
        return self._subjects.setdefault(pattern, Subject(self.ctx, pattern, self.settings))

    def item(
        self, task: str, pattern: str, other: str = "", *, hidden: bool = False, rng: random.Random | None = None
    ) -> Item | None:
        """The question of a task on a pattern; ``other`` is the look-alike of "tell apart". ``hidden``: a question before it
        asked for the name, so this one does not say it; ``rng`` chooses what is left out. None if the record does not carry
        the task."""
        self._rng = rng or random.Random(0)
        if task == "tell apart":
            return self._tell_apart(self.subject(pattern), self.subject(other)) if other else None
        return self._makers[task](self.subject(pattern), hidden)

    def _item(
        self,
        task: str,
        subjects: Sequence[Subject],
        answer: str,
        facts: Sequence[Fact],
        notes: Sequence[str] = (),
        *,
        hidden: bool = False,
        **places: str,
    ) -> Item:
        names_ = [the(s.label) for s in subjects]
        it = self.settings.ask["it"] if hidden else names_[0]
        many = not hidden and is_plural(subjects[0].label)
        places |= {"the": names_[0], "it": it, "It": capital(it), "other": names_[-1]}
        places |= {"is": "are" if many else "is", "has": "have" if many else "has"}
        text = self.settings.ask[task]
        for name, words in places.items():
            text = text.replace("{" + name + "}", words)
        labels = tuple(s.label for s in subjects)
        weak = sorted({f.basis for f in facts if f.required and f.basis})
        if weak:
            notes = (*notes, f"Some of this rests on {listing(BASES.get(b, b) for b in weak)} alone.")
        return Item(0, 0, task, tuple(s.name for s in subjects), labels, text, answer, tuple(facts), tuple(notes))

    # --- openings -------------------------------------------------------------------------------------------------------
    def _describe(self, subject: Subject, _: bool) -> Item | None:
        facts = subject.appearance
        if sum(f.required for f in facts) < self.settings.least_described:
            return None
        notes = _disputes(subject, {slot_of(f.literals[0]) for f in facts if f.literals})
        return self._item("describe", [subject], subject.description.passage("appearance"), facts, notes)

    def _name(self, subject: Subject, _: bool) -> Item | None:
        said = sum(f.required for f in subject.appearance)
        same = subject.same_by_sight
        if said < self.settings.least_described or len(same) >= self.settings.most_named:
            return None
        description = subject.description.passage("appearance")
        return self._item("name", [subject], *self._named(subject, same), description=description)

    def _named(self, subject: Subject, also: Sequence[str]) -> tuple[str, tuple[Fact, ...]]:
        """(model answer, its one fact) for a question after a name; ``also`` are as right."""
        alt = self.ctx.vocabulary.terms[subject.name].alt
        called = f", also called {listing(alt)}" if alt else ""
        answer = f"This is {the(subject.label)}{called}."
        if also:
            answer += f" {capital(listing(the(self.ctx.label(p)) for p in also))} would fit as well."
        names_ = (subject.name, *also)
        near = tuple(p for p in subject.family if p not in names_)
        wordings = tuple(
            dict.fromkeys(w for n in names_ for t in [self.ctx.vocabulary.terms[n]] for w in (t.label, *t.alt, *t.hidden))
        )
        fact = Fact(f"is {the(subject.label)}", "name", subject.name, names=names_, near=near, phrases=wordings)
        return answer, (fact,)

    def _name_from_use(self, subject: Subject, _: bool) -> Item | None:
        said = subject.facts_of(subject.description.use)
        purpose = [f for f in said if f.required and len(f.literals) == 1 and f.status in ("adopted", "inferred")]
        for many in range(1, min(4, len(purpose)) + 1):
            chosen = purpose[:many]
            found = subject.all_with(f.literals[0] for f in chosen)
            if 0 < len(found) <= self.settings.most_used:
                also = [p for p in found if p not in (subject.name, *subject.family)]
                answer, facts = self._named(subject, also)
                facts = (replace(facts[0], sources=tuple(dict.fromkeys(s for f in chosen for s in f.sources))),)
                return self._item("name from use", [subject], answer, facts, uses=listing(f.text for f in chosen))
        return None

    def _left_out(self, subject: Subject, _: bool) -> Item | None:
        """What is left out is one of the things that tell it from its look-alikes, if there are any."""
        told = [f for f in subject.appearance if f.required and f.literals]
        if len(told) <= self.settings.least_described:
            return None
        telling = [f for f in told if slot_of(f.literals[0]) in subject.telling]
        published = [f for f in telling if not f.basis]
        best = published or telling or told
        for chosen in self._rng.sample(best, len(best)):
            slot = slot_of(chosen.literals[0])
            brought = {v for f, v in self.ctx.engine.types_only(chosen.literals[:1]) if f == names.HAS_PART}
            text = appearance_without(self.ctx, subject.name, self._all_about(slot) | brought)
            if self.ctx.label(chosen.literals[0][1]).casefold() in f"{subject.label} {text}".casefold():
                continue  # something else that is said gives it away
            facts = tuple(f for f in told if slot_of(f.literals[0]) == slot)
            answer, notes = self._sentences(subject, facts), _disputes(subject, {slot})
            return self._item("left out", [subject], answer, facts, notes, description=text)
        return None

    def _all_about(self, slot: str) -> set[str]:
        """A slot, and those that say something of it: an extent gives away that there is a surface."""
        part = self.ctx.vocabulary.features[slot].part if slot in self.ctx.vocabulary.features else slot
        if slot in self.ctx.vocabulary.features:
            return {slot}
        return {slot, *(f for f, feature in self.ctx.vocabulary.features.items() if feature.part == part)}

    # --- what follows ---------------------------------------------------------------------------------------------------
    def _use(self, subject: Subject, hidden: bool) -> Item | None:
        if not any(f.required for f in subject.use):
            return None
        notes = _disputes(subject, {slot_of(f.literals[0]) for f in subject.use if f.literals})
        return self._item("use", [subject], subject.description.passage("use"), subject.use, notes, hidden=hidden)

    def _where_never(self, subject: Subject, hidden: bool) -> Item | None:
        facts = subject.not_used_on
        if not any(f.required for f in facts):
            return None
        notes = ("What is not listed is not thereby safe.", *_disputes(subject, {slot_of(f.literals[0]) for f in facts}))
        return self._item("where never", [subject], self._sentences(subject, facts), facts, notes, hidden=hidden)

    def _sentences(self, subject: Subject, facts: Sequence[Fact]) -> str:
        first, *rest = [f.text for f in facts]
        more = (f"They {of_many(text)}." if is_plural(subject.label) else f"It {text}." for text in rest)
        return " ".join([f"{capital(_says(subject, first))}.", *more])

    def _reprocess(self, subject: Subject, hidden: bool) -> Item | None:
        care = [c for c in answer_reprocessing(self.ctx, subject.name).care or () if c.status != "not recorded"]
        facts = [*subject.reprocessing, *(f for c in care if (f := self._care(c, subject)))]
        if not subject.reprocessing or not any(f.required for f in facts):
            return None
        said = [f.text for f in facts if f.required and not f.literals]
        answer = " ".join([self._sentences(subject, subject.reprocessing), *dict.fromkeys(said), CARE_NOTE])
        notes = _disputes(subject, {slot_of(f.literals[0]) for f in subject.reprocessing if f.literals})
        return self._item("reprocess", [subject], answer, facts, (*notes, CARE_NOTE), hidden=hidden)

    def _care(self, line: Care, subject: Subject) -> Fact | None:
        """A line of the rules; one that only repeats the risk category is welcome and no mark of its own."""
        rule = next((rule for rule in self.settings.lines if line.text.startswith(rule.starts)), None)
        if rule is None:
            return None
        category = any(set(line.fact_sources) == set(f.sources) and line.because for f in subject.reprocessing)
        sources = tuple(dict.fromkeys((*line.sources, *line.fact_sources)))
        asked = not (category or rule.welcome)
        parts = (rule.heard, rule.also) if rule.also else ()
        return Fact(line.text, line.step, subject.name, phrases=rule.heard, parts=parts, required=asked, sources=sources)

    def _tell_apart(self, subject: Subject, other: Subject) -> Item | None:
        slots = telling_slots(self.ctx, subject.name, other.name)
        pairs = [(self._on(subject, slot), self._on(other, slot)) for slot in slots]
        pairs = [(a, b) for a, b in pairs if a and b]
        wanted = [p for p in pairs if all(f.basis != MEMORY for f in (*p[0], *p[1]))][: self.settings.most_told_apart]
        if not wanted:
            return None
        facts, sentences = [], []
        for a, b in pairs:
            facts += [replace(f, required=(a, b) in wanted) for f in (*a, *b)]
            if (a, b) in wanted:
                left, right = listing(f.text for f in a), listing(f.text for f in b)
                sentences.append(f"{capital(_says(subject, left))}; {_says(other, right)}.")
        notes = (*_disputes(subject, set(slots)), *_disputes(other, set(slots)))
        return self._item("tell apart", [subject, other], " ".join(sentences), facts, notes)

    def _on(self, subject: Subject, slot: str) -> tuple[Fact, ...]:
        """What is said of a pattern on one slot, absent parts included."""
        if slot == names.LENGTH:
            return tuple(replace(f, required=True) for f in subject.appearance if f.span)
        found = subject.facts_of(s for s in subject.description.parts if slot_of(s.literal) == slot)
        return tuple(replace(f, required=True) for f in found)

    def _disputed(self, subject: Subject, _: bool) -> Item | None:
        """The first dispute in which two sides can be named: two values, or one that is said and denied."""
        for dispute in subject.description.disputes:
            sides = [s for s in (dispute.adopted, *dispute.also_said) if s.value and ALL_SHARE not in s.value]
            if any(s.value.startswith("not ") for s in sides):
                return self._said_and_denied(subject, dispute)
            if len(sides) > 1:
                shared = set.intersection(*(set(s.value.split()) for s in sides))
                said = []
                for side in sides:
                    own = " ".join(w for w in side.value.split() if w not in shared)
                    phrases = tuple(p for p in (*self._wordings(side.value), own) if p)
                    said.append(
                        Fact(f"said: {side.value}", dispute.feature, subject.name, phrases=phrases, sources=side.sources)
                    )
                words, both = self._wordings(dispute.feature), tuple(f.phrases for f in said[:2])
                point = Fact(f"the {dispute.feature}", THE_POINT, subject.name, phrases=words, parts=both)
                return self._item("disputed", [subject], _both_sides(dispute), [point, *said])
        return None

    def _said_and_denied(self, subject: Subject, dispute: Disputed) -> Item | None:
        """Of a feature with many values: a value that some witnesses state and others deny."""
        slot = next(s for s in subject.disputed if self.ctx.label(s) == dispute.feature)
        found = sorted({v for f, v in (*subject.facts.contested, *subject.facts.disputed) if f == slot}, key=self.ctx.label)
        text = f"whether it {value_clause(self.ctx.vocabulary.features[slot], found, self.ctx.vocabulary)}"
        sources = tuple(dict.fromkeys(s for q in (dispute.adopted, *dispute.also_said) for s in q.sources))
        phrases = tuple(dict.fromkeys(w for v in found for w in self._wordings(self.ctx.label(v))))
        fact = Fact(text, dispute.feature, subject.name, tuple((slot, v) for v in found), phrases=phrases, sources=sources)
        answer = f"They disagree on {text}: some say so, and others deny it."
        return self._item("disputed", [subject], answer, [fact])

    def _wordings(self, label: str) -> tuple[str, ...]:
        """All wordings of the term with this label; of several joined by "; " each, so that one is enough."""
        out: list[str] = []
        for piece in label.split("; "):
            bare = piece.removeprefix("has ").removeprefix("no ").removeprefix("not ")
            terms = [
                t for t in self.ctx.vocabulary.terms.values() if t.label == bare and t.role in ("value", "feature", "part")
            ]
            out += [piece, *(text for t in terms for text in (*t.alt, *t.hidden, *self.settings.heard.get(t.name, ())))]
        return tuple(dict.fromkeys(out))


def _says(subject: Subject, text: str) -> str:
    """The name and what is said of it; scissors have, forceps has."""
    return f"{the(subject.label)} {of_many(text) if is_plural(subject.label) else text}"


def _disputes(subject: Subject, slots: set[str] | None = None) -> tuple[str, ...]:
    """Remarks on disputes, of these slots or of all: an answer on either side earns the mark."""
    found = subject.disputed if slots is None else subject.disputed & slots
    labels = sorted({subject.ctx.label(s) for s in found})
    return (
        (f"The sources disagree on the {listing(labels)} of {the(subject.label)}; either side earns the mark.",)
        if labels
        else ()
    )


def _both_sides(dispute: Disputed) -> str:
    also = listing(dict.fromkeys(q.value for q in dispute.also_said))
    adopted = f"Adopted: {dispute.adopted.value}. " if dispute.adopted.value else "Nothing is adopted. "
    return f"They disagree on the {dispute.feature}. {adopted}Also said: {also}."
