"""What an answer is made with: the catalogue's vocabulary, store and rules, and small helpers on them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from functools import cached_property
from typing import TYPE_CHECKING

from kg import names
from kg.columns import Columns
from kg.facts import FactReader, PatternFacts, Witness
from kg.model import Disputed, Quote
from kg.records import replace
from kg.sparql.terms import prologue
from kg.store import Store
from kg.truth import All, AnyOf, Elsewhere, Form, Includes, Known, Member, OneOf, Stated, Told, atoms
from kg.vocabulary import Condition, Vocabulary, slot_of
from kg.wording import clause

if TYPE_CHECKING:
    from kg.answer.judging import ColumnSets
    from kg.answer.sets import PatternSets
    from kg.answer.visible import Table
    from kg.language import Lexicon
    from kg.reason.horn import Engine

PAGE = 20
LARGE = 5000
"""Up to so many patterns one query for a whole question is as quick as sets of patterns."""


class Context:
    """One open catalogue on the asking side.

    ``columns``: the facts as the closure keeps them, or None; what they say the store says too.

    ``usual`` (kind -> its size, and how often each slot is recorded) and ``implied`` (category -> broader categories) and
    ``visible`` (the table of what can be seen) are remembered by what asks for them.
    """

    def __init__(
        self,
        vocabulary: Vocabulary,
        store: Store,
        lexicon: Lexicon,
        verified_by: str,
        tables: Mapping | None = None,
        columns: Columns | None = None,
    ) -> None:
        """``tables``: the data files beside the graph, as parsed: cycles and rules of reprocessing. Empty if there are none.
        ``columns``: the facts of the store as the closure keeps them beside it; None: the store is asked for all."""
        self.vocabulary = vocabulary
        self.store = store
        self.lexicon = lexicon
        self.verified_by = verified_by
        self.tables: Mapping = tables or {}
        self.reader = FactReader(store, vocabulary, columns)
        self.columns = columns
        self.usual: dict[str, tuple[int, dict[str, int]]] = {}
        self.implied: dict[str, frozenset[str]] = {}
        self.visible: Table | None = None
        self._adopted: dict[str, PatternFacts] = {}
        self._recorded: dict[str, Known] = {}
        self._supposed: dict[tuple[str, Condition], Known] = {}

    @cached_property
    def engine(self) -> Engine:
        """The in-process rules; compiled on first use, since most questions need none."""
        from kg.reason.horn import Engine

        return Engine(self.vocabulary.rules)

    def use(self, store: Store) -> None:
        """Goes over to another store with the same quads."""
        self.store = self.reader.store = store
        if "sets" in self.__dict__:
            self.sets.store = store

    @property
    def large(self) -> bool:
        """Whether the catalogue has so many patterns that each look-up is asked by itself, and nothing is read as a whole."""
        return self._pattern_count > LARGE

    @cached_property
    def _pattern_count(self) -> int:
        return self.vocabulary.column("role").count("pattern")

    @cached_property
    def sets(self) -> PatternSets:
        """Sets of patterns, for a catalogue of very many and for answers in pages."""
        from kg.answer.kept_sets import FILE
        from kg.answer.sets import PatternSets

        folder = getattr(self.store, "kept", None)
        return PatternSets(self.store, self.vocabulary, folder / FILE if folder else None)

    @cached_property
    def column_sets(self) -> ColumnSets | None:
        """Sets of patterns from the closure's columns; None if there are none."""
        if self.columns is None:
            return None
        from kg.answer.judging import ColumnSets

        return ColumnSets(self.vocabulary, self.columns)

    @cached_property
    def alternatives(self) -> tuple[tuple[str, Condition], ...]:
        """(pattern, literal) of every value that has a witness but was not adopted, sorted."""
        body = "SELECT ?p ?f ?v WHERE { GRAPH graph:disputed { ?p ?f ?v } }\n"
        rows = self.store.texts(prologue(body) + body)
        return tuple((names.shown(p), (names.shown(f), names.shown(v))) for p, f, v in sorted(rows))

    def alternatives_on(self, props: Collection[str]) -> Iterable[tuple[str, Condition]]:
        """``alternatives`` whose property is one of some, in the same order."""
        if self.columns is None:
            return ((p, lit) for p, lit in self.alternatives if lit[0] in props)
        patterns = self.columns.patterns
        said = (fact for prop in props for fact in self.columns.facts(prop) if fact[0][0] == "graph:disputed")
        return sorted((patterns[i], row[1:]) for row, places in said for i in places)

    def adopted(self, patterns: Iterable[str]) -> dict[str, PatternFacts]:
        """Adopted facts of patterns, remembered: disputes are looked at in nearly every question."""
        wanted = list(patterns)
        missing = [p for p in wanted if p not in self._adopted]
        self._adopted |= self.reader.facts(missing, adopted_only=True)
        return {p: self._adopted[p] for p in wanted}

    def recorded(self, pattern: str, facts: PatternFacts) -> Known:
        """What is known of a pattern by its adopted facts alone, without what follows from them; remembered."""
        if pattern not in self._recorded:
            adopted = frozenset(lit for lit, level in facts.levels.items() if level != "inferred")
            self._recorded[pattern] = replace(facts.known, holds=adopted)
        return self._recorded[pattern]

    def supposed(self, pattern: str, literal: Condition, facts: PatternFacts) -> Known:
        """What would be known of a pattern if a literal were adopted in place of what stands on its slot; remembered, since no
        question changes it."""
        key = pattern, literal
        if key not in self._supposed:
            prop, slot = literal[0], slot_of(literal)
            single = prop in names.PARTS or self.vocabulary.features[prop].single
            adopted = (lit for lit, level in facts.levels.items() if level != "inferred")
            kept = [lit for lit in adopted if not (single and slot_of(lit) == slot)]
            self._supposed[key] = replace(
                facts.known,
                holds=frozenset(self.engine.types_only([(names.TYPE, names.PATTERN), *kept, literal])),
                varies={s: v for s, v in facts.known.varies.items() if s != slot},
                denied={s: v for s, v in facts.known.denied.items() if s != slot},
            )
        return self._supposed[key]

    def label(self, name: str) -> str:
        return self.vocabulary.label(name)

    def cite(self, witnesses: Iterable[Witness]) -> tuple[str, ...]:
        """Citations without doubles, in order."""
        return tuple(dict.fromkeys(w.text for w in witnesses))

    def part_label(self, slot: str) -> str:
        """The part that a slot is about, for people: of a feature its part, of a part itself, else the whole instrument."""
        feature = self.vocabulary.features.get(slot)
        part = feature.part if feature else "" if slot == names.LENGTH else slot
        return self.label(part) if part else "whole instrument"

    def above(self, category: str) -> frozenset[str]:
        """The categories that follow from this one, remembered."""
        if category not in self.implied:
            found = self.engine.types_only([(names.TYPE, category)])
            self.implied[category] = frozenset(v for f, v in found if f == names.TYPE and v != category)
        return self.implied[category]

    def value_label(self, slot: str, value: str) -> str:
        """The label of a slot's value; for a part "there" or "absent"."""
        if value == names.HAS_PART:
            return f"{self.label(slot)}: there"
        if value == names.LACKS_PART:
            return f"{self.label(slot)}: absent"
        return self.label(value)

    def dispute(self, pattern: str, slot: str, facts: PatternFacts) -> Disputed | None:
        """The dispute of one pattern on one slot with both sides' witnesses; None if there is none."""
        feature = self.vocabulary.features.get(slot)
        sides = self._for_and_against if feature is not None and not feature.single else self._rivals
        found = sides(pattern, slot, facts)
        if found is None:
            return None
        adopted, also = found
        return Disputed(pattern, self.label(pattern), self.label(slot), adopted, also)

    def disputes(self, pattern: str, slots: Iterable[str], facts: PatternFacts) -> list[Disputed]:
        """The disputes of one pattern on some slots, in their order; empty if there are none."""
        found = (self.dispute(pattern, slot, facts) for slot in slots)
        return [d for d in found if d is not None]

    def _for_and_against(self, pattern: str, slot: str, facts: PatternFacts) -> tuple[Quote, tuple[Quote, ...]] | None:
        """Of a feature with many values: each value that some witness states and another denies."""
        adopted = [v for f, v in facts.contested if f == slot]
        refused = [v for f, v in facts.disputed if f == slot]
        if not adopted and not refused:
            return None
        line = self.reader.line(pattern, facts)
        self.reader.expect(line)
        said = [w for subject in line for w in self.reader.witnesses(subject, slot)]

        def texts(value: str, denial: bool) -> tuple[str, ...]:
            wanted = {value, *self.vocabulary.ancestors(value)}
            return tuple(dict.fromkeys(w.text for w in said if w.value in wanted and (w.mode == "not") is denial))

        kept = [self.label(v) for v in adopted] + [f"not {self.label(v)}" for v in refused]
        backers = [t for v in adopted for t in texts(v, False)] + [t for v in refused for t in texts(v, True)]
        against = [Quote(f"not {self.label(v)}", texts(v, True)) for v in adopted]
        against += [Quote(self.label(v), texts(v, False)) for v in refused]
        return Quote("; ".join(kept), tuple(dict.fromkeys(backers))), tuple(against)

    def _rivals(self, pattern: str, slot: str, facts: PatternFacts) -> tuple[Quote, tuple[Quote, ...]] | None:
        """Of a part or a feature with one value: the adopted value and its rivals."""
        literals = [lit for lit in facts.disputed if slot_of(lit) == slot]
        if not literals:
            return None
        held = [lit for lit in facts.levels if slot_of(lit) == slot and facts.levels[lit] != "inferred"]
        also: dict[str, list[str]] = {self._side(lit): [] for lit in literals}
        adopted: list[str] = []
        for prop, witness in self._first_witnesses(pattern, slot, facts):
            side = self._side((prop, witness.value))
            if witness.mode != "not" and side in also:
                also[side].append(witness.text)
            elif witness.mode != "not" and any(self._agrees(witness.value, lit) for lit in held):
                adopted.append(witness.text)
        sides = [self._side(lit) for lit in held]
        if not adopted and any(v in self.vocabulary.subtree(h[1]) for h in held for _, v in literals):
            sides = [f"{side}, which all sides share" for side in sides]
        rivals = tuple(Quote(value, tuple(dict.fromkeys(texts))) for value, texts in also.items())
        return Quote("; ".join(sides), tuple(dict.fromkeys(adopted))), rivals

    def _first_witnesses(self, pattern: str, slot: str, facts: PatternFacts) -> list[tuple[str, Witness]]:
        """(property, witness) of the nearest of pattern, parents and kinds on which anything is said of the slot."""
        line = self.reader.line(pattern, facts)
        self.reader.expect(line)
        for subject in line:
            if slot in self.vocabulary.features:
                found = [(slot, w) for w in self.reader.witnesses(subject, slot)]
            else:
                found = [(prop, w) for prop in names.PARTS for w in self.reader.witnesses(subject, prop) if w.value == slot]
            if found:
                return found
        return []

    def _side(self, literal: Condition) -> str:
        prop, value = literal
        if prop in names.PARTS:
            return ("has " if prop == names.HAS_PART else "no ") + self.label(value)
        return self.label(value)

    def _agrees(self, value: str, literal: Condition) -> bool:
        return value == literal[1] or value in self.vocabulary.ancestors(literal[1])

    def clause(self, literal: Condition) -> str:
        return clause(literal, self.vocabulary)


def properties(form: Form) -> set[str]:
    """The properties a form asks about, definitions opened up; parts as hasPart and lacksPart."""
    out: set[str] = {names.OF_KIND}
    for atom in atoms(form):
        match atom:
            case OneOf(slot, allowed):
                out |= set(names.PARTS) if allowed <= set(names.PARTS) else {slot}
            case Includes(feature, _, _):
                out.add(feature)
            case Elsewhere(slot) | Told(slot):
                out.add(slot)
            case Stated(slot):
                out |= {slot, *names.PARTS}
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
