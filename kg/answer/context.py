"""What an answer is made with: the catalogue's vocabulary, store and rules, and small helpers on them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from kg import names
from kg.facts import FactReader, PatternFacts, Witness
from kg.model import Disputed, Quote
from kg.sparql.terms import prologue
from kg.store import Store
from kg.truth import All, AnyOf, Form, Includes, Member, OneOf, atoms
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
    _adopted: dict[str, PatternFacts] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self.reader = FactReader(self.store, self.vocabulary)

    @cached_property
    def engine(self) -> Engine:
        """The in-process rules; compiled on first use, since most questions need none."""
        from kg.reason.horn import Engine

        return Engine(self.vocabulary.rules)

    @cached_property
    def alternatives(self) -> tuple[tuple[str, Condition], ...]:
        """(pattern, literal) of every value that has a witness but was not adopted, sorted."""
        body = "SELECT ?p ?f ?v WHERE { GRAPH graph:disputed { ?p ?f ?v } }\nORDER BY ?p ?f ?v\n"
        rows = self.store.select(prologue(body) + body)
        return tuple((r["p"].short, (r["f"].short, r["v"].short)) for r in rows)

    def adopted(self, patterns: Iterable[str]) -> dict[str, PatternFacts]:
        """Adopted facts of patterns, remembered: disputes are looked at in nearly every question."""
        wanted = list(patterns)
        missing = [p for p in wanted if p not in self._adopted]
        self._adopted |= self.reader.facts(missing, adopted_only=True)
        return {p: self._adopted[p] for p in wanted}

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
                if w.mode != "not" and said in also:
                    also[said].append(w.text)
                elif w.mode == "not" and (slot, w.value) in literals:
                    denials.setdefault(f"not {self.label(w.value)}", []).append(w.text)
                elif w.mode != "not" and any(self._agrees(w.value, lit) for lit in held):
                    adopted.append(w.text)
            break
        sides = list(denials) or [self._side(lit) for lit in held]
        if not denials and not adopted and any(v in self.vocabulary.subtree(h[1]) for h in held for _, v in literals):
            sides = [f"{side}, which all sides share" for side in sides]
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
    """The properties a form asks about, definitions opened up; parts as hasPart and lacksPart."""
    out: set[str] = {names.OF_KIND}
    for atom in atoms(form):
        match atom:
            case OneOf(slot, allowed):
                out |= set(_PART) if allowed <= set(_PART) else {slot}
            case Includes(feature, _, _):
                out.add(feature)
    return out


def literals(form: Form, vocabulary: Vocabulary) -> set[Condition]:
    """The (property, value) pairs that can make the form true: what has to be read to say what a match rests on."""
    out: set[Condition] = set()
    for atom in _own_atoms(form):
        match atom:
            case OneOf(slot, allowed) if slot in vocabulary.features:
                out |= {(slot, v) for v in allowed if v in vocabulary.terms}
            case OneOf(slot, allowed):
                out |= {(prop, slot) for prop in allowed}
            case Includes(feature, value, True):
                out.add((feature, value))
            case Member(category, _):
                out.add((names.TYPE, category))
    return out


def _own_atoms(form: Form) -> list[Form]:
    if isinstance(form, All | AnyOf):
        return [a for item in form.items for a in _own_atoms(item)]
    return [form]
