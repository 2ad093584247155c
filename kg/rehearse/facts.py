"""What a full answer says of a pattern: the facts of its description as things that can be marked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from kg import names
from kg.answer.context import Context
from kg.answer.describe import answer_describe
from kg.answer.lookalikes import telling_slots
from kg.answer.spoken import varying_clause
from kg.answer.values import disputed_slots
from kg.answer.visible import table
from kg.facts import PatternFacts
from kg.model import Description, Spoken
from kg.rehearse.records import Fact
from kg.rehearse.settings import Settings
from kg.vocabulary import Condition, slot_of
from kg.wording import article, listing

MEMORY = "memory"
EVERYWHERE, OFTEN = 20, 10
"""A part is nothing to remark on if one pattern in ten has it, and of twenty that have it less than one lacks it."""
USUAL = 0.75
"""Nor is a value that so large a share of those has of which the feature is recorded."""
NOT_RECORDED = "not recorded"


@dataclass
class Subject:
    """One pattern with all that is recorded of it, read once."""

    ctx: Context
    name: str
    settings: Settings

    @cached_property
    def label(self) -> str:
        return self.ctx.label(self.name)

    @cached_property
    def description(self) -> Description:
        found = answer_describe(self.ctx, self.name).description
        assert found is not None
        return found

    @cached_property
    def facts(self) -> PatternFacts:
        return self.ctx.reader.facts([self.name])[self.name]

    @cached_property
    def look_alikes(self) -> tuple[str, ...]:
        """The patterns that look like it, the likest first, without its own family."""
        from kg.answer.lookalikes import answer_look_alikes

        return tuple(a.name for a in answer_look_alikes(self.ctx, self.name).look_alikes or ())

    # --- facts ----------------------------------------------------------------------------------------------------------
    @cached_property
    def appearance(self) -> tuple[Fact, ...]:
        """Parts and what can be seen on them, in the order of a spoken description; what is not recorded is left out."""
        found = self.facts_of(self.description.parts)
        kept = [f for f in found if not self._goes_without_saying(f, found)]
        return tuple(f if self._worth_asking(f) else replace(f, required=False) for f in kept)

    @cached_property
    def use(self) -> tuple[Fact, ...]:
        """What it is for and what it does to tissue; of what it is used on, and of further uses, one is enough to be said."""
        found = self._by_feature(self.facts_of(self.description.use))
        features = self.ctx.vocabulary.features
        single = {slot for slot in map(_slot, found) if features[slot].single}
        purpose = any(f.required and _slot(f) in single for f in found)
        wanted = single - self.settings.never_asked | (
            {self._where} if purpose else set(map(_slot, found)) - self.settings.never_asked
        )
        return tuple(f if _slot(f) in wanted else replace(f, required=False) for f in found)

    def _by_feature(self, facts: Iterable[Fact]) -> tuple[Fact, ...]:
        """Facts on one feature with many values as one fact, in the same order; values that are disputed are left out."""
        features = self.ctx.vocabulary.features
        several: dict[str, list[Fact]] = {}
        for fact in facts:
            if features[_slot(fact)].single or fact.every:
                several[f"{_slot(fact)} {fact.text}"] = [fact]
            elif fact.status != "disputed":
                several.setdefault(_slot(fact), []).append(fact)
        return tuple(_joined(found) for found in several.values())

    @cached_property
    def _where(self) -> str:
        """The feature that says on what an instrument is used: the one that another feature denies."""
        return next((f.denies for f in self.ctx.vocabulary.features.values() if f.denies), "")

    @cached_property
    def not_used_on(self) -> tuple[Fact, ...]:
        return self.facts_of(self.description.not_used_on)

    @cached_property
    def reprocessing(self) -> tuple[Fact, ...]:
        return self._by_feature(self.facts_of(self.description.reprocessing))

    def facts_of(self, said: Iterable[Spoken]) -> tuple[Fact, ...]:
        out: dict[str, Fact] = {}
        for spoken in said:
            slot = slot_of(spoken.literal)
            if spoken.status == NOT_RECORDED or not slot:
                continue
            if spoken.status == "made with":
                varying = out.get(slot)
                literals = (*(varying.literals if varying else ()), spoken.literal)
                sources = (*(varying.sources if varying else ()), *spoken.sources)
                told = replace(spoken, text=self._varying(slot, literals), sources=tuple(dict.fromkeys(sources)))
                if spoken.literal[0] in names.PARTS:  # "with or without" names the part, whichever is said
                    literals = tuple((prop, slot) for prop in names.PARTS)
                many = len(literals) > 1 and spoken.literal[0] not in names.PARTS
                fact = replace(self._fact(told, literals, every=many), status="made with")
                wordings = (
                    dict.fromkeys((self._bare(slot), *self._phrases(slot))) if slot not in self.ctx.vocabulary.features else ()
                )
                out[slot] = replace(fact, phrases=tuple(wordings)) if wordings else fact
            else:
                out[f"{slot} {spoken.literal[1]}"] = self._fact(spoken, (spoken.literal, *self._other_sides(slot)))
        return tuple(out.values())

    def _varying(self, slot: str, literals: Sequence[Condition]) -> str:
        """What differs between pieces, as a clause: "is made curved or straight"."""
        feature = self.ctx.vocabulary.features.get(slot)
        if feature is not None:
            return str(varying_clause(feature, [v for _, v in literals], self.ctx.vocabulary))
        return f"is {'made with or without' if len(literals) > 1 else 'sometimes made with'} {article(self.ctx.label(slot))}"

    def _bare(self, part: str) -> str:
        return self.ctx.label(part)

    def _fact(self, spoken: Spoken, literals: Sequence[Condition], *, every: bool = False) -> Fact:
        prop, value = spoken.literal
        length = prop == names.LENGTH
        basis = self.facts.basis.get((names.LENGTH_MIN, "") if length else spoken.literal, "")
        status = "disputed" if len(literals) > 1 and not every else spoken.status
        # A value that memory alone gives is welcome in an answer and no mark.
        return Fact(
            spoken.text,
            spoken.about,
            self.name,
            () if length else tuple(dict.fromkeys(literals)),
            every,
            phrases=() if length else self._phrases(value),
            span=self.facts.known.length if length else None,
            required=basis != MEMORY and not length,
            status=status,
            basis=basis,
            sources=spoken.sources,
        )

    def _other_sides(self, slot: str) -> tuple[Condition, ...]:
        """What a witness says that was not adopted: an answer that says so is not wrong."""
        feature = self.ctx.vocabulary.features.get(slot)
        if feature is not None and not feature.single:
            return ()
        return tuple(lit for lit in self.facts.disputed if slot_of(lit) == slot)

    def _phrases(self, value: str) -> tuple[str, ...]:
        """Every wording of a value, for those who say it in other words."""
        term = self.ctx.vocabulary.terms.get(value)
        if term is None:
            return ()
        own = () if term.role == "part" else (term.label, term.spoken, *term.alt, *term.hidden)
        return tuple(dict.fromkeys(t for t in (*own, *self.settings.heard.get(value, ())) if t))

    def _goes_without_saying(self, fact: Fact, all_: Sequence[Fact]) -> bool:
        """A part that another fact of the description names anyway: a box-lock joint is a joint."""
        if len(fact.literals) != 1 or fact.literals[0][0] != names.HAS_PART:
            return False
        part = fact.literals[0][1]
        features = self.ctx.vocabulary.features
        for other in all_:
            for prop, _ in other.literals:
                if prop in features and features[prop].part == part:
                    return True
        return any(
            fact.literals[0] in self.ctx.engine.types_only([literal])
            for other in all_
            if other is not fact and not other.every
            for literal in other.literals[:1]
            if literal[0] != names.HAS_PART
        )

    def _worth_asking(self, fact: Fact) -> bool:
        """What tells it from a look-alike is asked for; else nothing that is absent or that nearly all others share.

        An absent part tells something only within its kind: that a retractor has no jaws is not worth saying.
        """
        if not fact.required or len(fact.literals) != 1:
            return fact.required
        prop, value = fact.literals[0]
        if prop == names.LACKS_PART:
            return value in self._telling_in_kind
        if _slot(fact) in self.telling:
            return True
        seen = table(self.ctx)
        if prop == names.HAS_PART:
            having, lacking = (seen.holds.get((p, value), 0).bit_count() for p in names.PARTS)
            return lacking * EVERYWHERE >= having or having * OFTEN < len(seen.patterns)
        column = next((c for c in seen.columns if c.slot == prop), None)
        if column is None:
            return True
        same = column.members[column.of[seen.index[self.name]]] & column.there
        return same.bit_count() < USUAL * column.there.bit_count() or column.there.bit_count() * OFTEN < len(seen.patterns)

    @cached_property
    def telling(self) -> frozenset[str]:
        """The visible slots on which it differs from one of its likest look-alikes."""
        return frozenset(slot for other in self.look_alikes[:8] for slot in telling_slots(self.ctx, self.name, other))

    @cached_property
    def _telling_in_kind(self) -> frozenset[str]:
        """The visible slots on which it differs from any other pattern of its narrowest kind."""
        kinds = [v for f, v in self.facts.known.holds if f == names.OF_KIND]
        if not kinds:
            return frozenset()
        seen = table(self.ctx)
        members = seen.holds.get((names.OF_KIND, self.ctx.vocabulary.narrowest(kinds)), 0)
        at = seen.index[self.name]
        return frozenset(c.slot for c in seen.columns if c.recorded >> at & 1 and c.apart[c.of[at]] & c.recorded & members)

    # --- naming ---------------------------------------------------------------------------------------------------------
    @cached_property
    def same_by_sight(self) -> tuple[str, ...]:
        """Patterns that nothing recorded tells from this one, of which at least half of what is recorded agrees."""
        from kg.answer.lookalikes import answer_look_alikes

        found = answer_look_alikes(self.ctx, self.name, differences=0).look_alikes or ()
        return tuple(a.name for a in found)

    @cached_property
    def family(self) -> tuple[str, ...]:
        """Its parent and its variants."""
        seen = table(self.ctx)
        bits = seen.family[seen.index[self.name]]
        return tuple(p for p in seen.names(bits) if p != self.name)

    def all_with(self, literals: Iterable[Condition]) -> tuple[str, ...]:
        """The patterns of which all these facts hold, variants folded under a parent that is among them."""
        seen = table(self.ctx)
        bits = (1 << len(seen.patterns)) - 1
        for literal in literals:
            bits &= seen.holds.get(literal, 0)
        found = set(seen.names(bits))
        return tuple(p for p in sorted(found) if not found & set(self.ctx.vocabulary.ancestors(p)))

    @cached_property
    def disputed(self) -> frozenset[str]:
        return frozenset(disputed_slots(self.facts))


def _slot(fact: Fact) -> str:
    return slot_of(fact.literals[0])


def _joined(facts: Sequence[Fact]) -> Fact:
    """Facts on one feature with many values as one, of which any value earns the mark."""
    first, *rest = facts
    lead = _shared_start([f.text for f in facts]) if rest else ""
    text = listing([first.text, *(f.text.removeprefix(lead) for f in rest)], "or")
    basis = "" if any(not f.basis for f in facts) else first.basis
    return replace(
        first,
        text=text,
        literals=tuple(lit for f in facts for lit in f.literals),
        phrases=tuple(dict.fromkeys(p for f in facts for p in f.phrases)),
        basis=basis,
        sources=tuple(dict.fromkeys(s for f in facts for s in f.sources)),
    )


def _shared_start(texts: Sequence[str]) -> str:
    """The words with which all texts begin, with the space after them."""
    words = [t.split() for t in texts]
    same = 0
    while all(len(w) > same + 1 and w[same] == words[0][same] for w in words):
        same += 1
    return " ".join(words[0][:same]) + " " if same else ""
