"""What is recorded of one pattern, as settings of a model: known, made in several ways, disputed, not recorded, absent."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from kg import names
from kg.draw.table import Body, Table
from kg.facts import PatternFacts
from kg.vocabulary import Vocabulary, slot_of
from kg.wording import listing

KNOWN, VARIES, DISPUTED, UNKNOWN, ABSENT = "known", "varies", "disputed", "not recorded", "absent"


@dataclass(frozen=True)
class Choice:
    """One setting of a model and where it comes from.

    ``slot`` is the feature or part; ``values`` what is recorded (several if they add up, or if it is made in several ways);
    ``tokens`` what they stand for in the model, the one to draw first; empty if there is nothing to draw. ``text`` says it.
    """

    parameter: str
    slot: str = ""
    values: tuple[str, ...] = ()
    tokens: tuple[str, ...] = ()
    status: str = ABSENT
    text: str = ""
    part: bool = False
    bare: bool = False
    """Whether what is recorded is that nothing is there, or nothing special."""

    @property
    def token(self) -> str:
        return self.tokens[0] if self.tokens else ""

    @property
    def recorded(self) -> bool:
        return self.status in (KNOWN, VARIES, DISPUTED)

    def __bool__(self) -> bool:
        return bool(self.tokens)

    def __contains__(self, token: str) -> bool:
        """Whether a setting is true of every piece (all adopted values of a feature with many), or is the one that is drawn."""
        return token in self.tokens[: 1 if self.status == VARIES else None]

    def said(self, vocabulary: Vocabulary) -> str:
        """What is recorded, for setting it beside another pattern; empty if nothing is recorded or it does not apply."""
        if not self.part:
            return self.text if self.recorded else ""
        if self.status == VARIES:
            return "on some"
        return "" if not self.values else "there" if names.HAS_PART in self.values else "absent"

    def way(self, number: int) -> Choice:
        """Another of the ways in which it is made, by its place among ``tokens``."""
        return replace(self, values=self.values[number : number + 1], tokens=self.tokens[number : number + 1])

    def drawn_values(self) -> tuple[str, ...]:
        """What of ``values`` the first drawing shows."""
        return self.values[:1] if self.status == VARIES else self.values


class Choices:
    """The settings of one pattern for one body. What a model asked for is remembered in ``asked``."""

    def __init__(self, table: Table, body: Body, facts: PatternFacts, vocabulary: Vocabulary) -> None:
        self.table, self.body, self.facts, self.vocabulary = table, body, facts, vocabulary
        self.settings: Mapping[str, Any] = body.settings
        self.asked: dict[str, Choice] = {}
        self._found: dict[str, Choice] = {}
        self._held: dict[str, list[str]] = {}
        for prop, value in sorted(facts.known.holds):
            self._held.setdefault(prop, []).append(value)
        self._by_parameter: dict[str, list[str]] = {}
        for name, row in (*table.features.items(), *table.parts.items()):
            self._by_parameter.setdefault(row.parameter, []).append(name)
        self.disputed = frozenset(slot_of(literal) for literal in facts.disputed) | facts.known.open_slots

    def choice(self, parameter: str, *, quiet: bool = False, knows: Collection[str] | None = None) -> Choice:
        """The setting of a parameter. ``quiet``: if nothing is recorded, that is not worth a remark.

        ``knows``: the settings that the model can show; any other is left to a picture of its own, as if it had not been asked.
        """
        found = [self._of(slot, parameter) for slot in self._by_parameter.get(parameter, ())]
        if knows is not None:
            found = [c for c in found if not c.recorded or not c.tokens or c.token in knows]
        best = max(found, key=lambda c: (c.recorded and bool(c), c.recorded, bool(c)), default=Choice(parameter))
        for one in found:
            if one.recorded:
                self.asked[one.slot] = one
        if not best.recorded and best.slot and not quiet and best.status == UNKNOWN:
            self.asked[best.slot] = best
        return best

    @cached_property
    def empty(self) -> bool:
        """Whether nothing is recorded that could be drawn."""
        every = map(self.of_slot, (*self.table.features, *self.table.parts))
        return not any(c.recorded and c.tokens and not c.bare for c in every)

    def of_slot(self, slot: str) -> Choice:
        """What is recorded of one feature or part, whatever parameter it decides."""
        row = self.table.features.get(slot) or self.table.parts.get(slot)
        return self._of(slot, row.parameter if row else "")

    def unasked(self) -> list[Choice]:
        """What is recorded and in the table, and no model has asked for; in the order of a spoken description."""
        slots = [*self.table.features, *self.table.parts]
        out = [self.of_slot(s) for s in slots if s not in self.asked]
        return sorted((c for c in out if c.recorded and c.tokens), key=lambda c: self.place(c.slot))

    def place(self, slot: str) -> tuple[int, str]:
        feature = self.vocabulary.features.get(slot)
        return (feature.order if feature else self.vocabulary.terms[slot].order, slot)

    def _of(self, slot: str, parameter: str) -> Choice:
        if slot not in self._found:
            read = self._part if slot in self.table.parts else self._feature
            self._found[slot] = read(slot, parameter)
        return self._found[slot]

    def _part(self, part: str, parameter: str) -> Choice:
        known, label = self.facts.known, self.vocabulary.label(part)
        there = ("there",)
        if (names.HAS_PART, part) in known.holds:
            status = DISPUTED if part in self.disputed else KNOWN
            return Choice(parameter, part, (names.HAS_PART,), there, status, label, part=True)
        if names.HAS_PART in known.varies.get(part, ()):
            return Choice(parameter, part, (names.HAS_PART,), there, VARIES, f"{label} on some", part=True)
        if (names.LACKS_PART, part) in known.holds:
            return Choice(parameter, part, (names.LACKS_PART,), text=label, part=True)
        if parameter in self.body.assume:
            return Choice(parameter, part, tokens=there, status=UNKNOWN, text=label, part=True)
        return Choice(parameter, part, text=label, part=True)

    def _feature(self, slot: str, parameter: str) -> Choice:
        row, known = self.table.features[slot], self.facts.known
        feature = self.vocabulary.features[slot]
        lacked = feature.applies and (names.LACKS_PART, feature.applies) in known.holds
        if slot in known.inapplicable or lacked:
            return Choice(parameter, slot)
        varying = [v for v in known.varies.get(slot, ()) if v in row.tokens]
        held = self._narrowest(v for v in self._held.get(slot, ()) if v in row.tokens)
        if len(varying) > 1 or (varying and not held):
            order = sorted(varying, key=lambda v: list(row.tokens).index(v))
            order.sort(key=lambda v: not row.tokens[v])
            text = listing((self.vocabulary.label(v) for v in order), "or")
            return self._made(parameter, slot, order, VARIES, text if len(order) > 1 else f"{text} on some")
        if held:
            order = sorted(held, key=lambda v: list(row.tokens).index(v))
            text = listing(self.vocabulary.label(v) for v in order)
            return self._made(parameter, slot, order, DISPUTED if slot in self.disputed else KNOWN, text)
        tokens = (row.unknown,) if row.unknown else ()
        return Choice(parameter, slot, tokens=tokens, status=UNKNOWN, text=self.vocabulary.label(slot))

    def _made(self, parameter: str, slot: str, values: list[str], status: str, text: str) -> Choice:
        tokens = tuple(t for t in (self.table.features[slot].tokens[v] for v in values) if t)
        bare = bool(tokens) and status != VARIES and tokens[0] == self.table.features[slot].bare
        return Choice(parameter, slot, tuple(values), tokens, status, text, bare=bare)

    def _narrowest(self, held: Iterable[str]) -> list[str]:
        found = set(held)
        above = {a for v in found for a in self.vocabulary.ancestors(v)}
        return sorted(found - above)


def body_of(table: Table, facts: PatternFacts, vocabulary: Vocabulary) -> Body:
    """The first body whose conditions all hold of the pattern; of each list one is enough, of ``has`` all are needed."""
    known = facts.known
    values = {v for _, v in known.holds} | {v for vs in known.varies.values() for v in vs}
    kinds = {v for f, v in known.holds if f == names.OF_KIND}
    for body in table.bodies:
        if body.kinds and not kinds & set(body.kinds):
            continue
        if body.values and not values & set(body.values):
            continue
        if all((names.HAS_PART, part) in known.holds for part in body.has):
            return body
    return table.bodies[-1]
