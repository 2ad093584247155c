"""What an answer is made with: the catalogue's vocabulary, store and rules, and small helpers on them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from kg import names
from kg.facts import FactReader, PatternFacts, Witness
from kg.model import Disputed, Quote
from kg.store import Store
from kg.truth import Form, Includes, Is, Member, OneOf, atoms
from kg.vocabulary import Condition, Vocabulary
from kg.wording import clause

if TYPE_CHECKING:
    from kg.language import Lexicon
    from kg.reason.horn import Engine

PAGE = 20


@dataclass
class Context:
    """One open catalogue on the asking side."""

    vocabulary: Vocabulary
    store: Store
    lexicon: Lexicon
    verified_by: str
    reader: FactReader = field(init=False)

    def __post_init__(self) -> None:
        self.reader = FactReader(self.store, self.vocabulary)

    @cached_property
    def engine(self) -> Engine:
        """The in-process rules; compiled on first use, since most questions need none."""
        from kg.reason.horn import Engine

        return Engine(self.vocabulary.rules)

    def label(self, name: str) -> str:
        return self.vocabulary.label(name)

    def cite(self, witnesses: Iterable[Witness]) -> tuple[str, ...]:
        """Citations without doubles, in order."""
        return tuple(dict.fromkeys(w.text for w in witnesses))

    def slot_label(self, slot: str) -> str:
        return self.label(slot)

    def value_label(self, slot: str, value: str) -> str:
        """The label of a slot's value; for a part "there" or "absent"."""
        if value == names.HAS_PART:
            return f"{self.label(slot)}: there"
        if value == names.LACKS_PART:
            return f"{self.label(slot)}: absent"
        return self.label(value)

    def dispute(self, pattern: str, slot: str, facts: PatternFacts) -> Disputed | None:
        """The dispute of one pattern on one slot with both sides' witnesses; None if there is none."""
        literals = [lit for lit in facts.disputed if slot in (lit[0], lit[1] if lit[0] in _PART else "")]
        if not literals:
            return None
        held = [lit for lit in facts.levels if _slot(lit) == slot and facts.levels[lit] != "inferred"]
        prop = slot if slot in self.vocabulary.features else names.HAS_PART
        also: dict[str, list[str]] = {self._side(lit): [] for lit in literals}
        adopted: list[str] = []
        denials: dict[str, list[str]] = {}
        for subject in self.reader.line(pattern, facts):
            found = [(prop, w) for w in self.reader.witnesses(subject, prop)]
            if prop == names.HAS_PART:
                found += [(names.LACKS_PART, w) for w in self.reader.witnesses(subject, names.LACKS_PART)]
                found = [(p, w) for p, w in found if w.value == slot]
            if not found:
                continue
            for p, w in found:
                said = self._side((p, w.value))
                if w.mode == "is" and said in also:
                    also[said].append(w.text)
                elif w.mode == "not" and (slot, w.value) in literals:
                    denials.setdefault(f"not {self.label(w.value)}", []).append(w.text)
                elif w.mode != "not" and any(self._agrees(w.value, lit) for lit in held):
                    adopted.append(w.text)
            break
        sides = list(denials) or [self._side(lit) for lit in held]
        backers = [t for texts in denials.values() for t in texts] or adopted
        return Disputed(
            pattern,
            self.label(pattern),
            self.label(slot),
            Quote("; ".join(sides), tuple(dict.fromkeys(backers))),
            tuple(Quote(value, tuple(dict.fromkeys(texts))) for value, texts in also.items()),
        )

    def _side(self, literal: Condition) -> str:
        prop, value = literal
        if prop in _PART:
            return ("has " if prop == names.HAS_PART else "no ") + self.label(value)
        return self.label(value)

    def _agrees(self, value: str, literal: Condition) -> bool:
        return value == literal[1] or value in self.vocabulary.ancestors(literal[1])

    def clause(self, literal: Condition) -> str:
        return clause(literal, self.vocabulary)


_PART = (names.HAS_PART, names.LACKS_PART)


def _slot(literal: Condition) -> str:
    return literal[1] if literal[0] in _PART else literal[0]


def properties(form: Form) -> set[str]:
    """The properties a form asks about, with memberships; parts as hasPart and lacksPart."""
    out: set[str] = {names.OF_KIND}
    for atom in atoms(form):
        match atom:
            case OneOf(slot, allowed):
                out |= set(_PART) if allowed <= set(_PART) else {slot}
            case Includes(feature, _, _):
                out.add(feature)
            case Member():
                out.add(names.TYPE)
            case Is():
                pass
    return out
