"""Which patterns a description is true of, and of which it is open: all patterns at once, as bits.

The meaning is ``kg.truth`` and nothing else: each atom is judged once for every pattern, by ``truth.judge``, and kept; "and"
and "or" then join sets of patterns. A thousand questions share their atoms, so they cost little more than the first few.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from kg import names
from kg.answer.context import Context
from kg.answer.filters import used_literals
from kg.answer.visible import Table, table
from kg.facts import PatternFacts
from kg.language import nodes
from kg.truth import All, AnyOf, Atom, Constant, Form, Known, Member, OneOf, judge, normalise, opened, possible


@dataclass(frozen=True)
class Found:
    """Patterns as bits by their place in the table: ``true`` of them, ``open`` neither true nor false of them.

    ``never``: the description contradicts itself, whatever is recorded.
    """

    true: int
    open: int
    never: bool = False


class Matcher:
    """All patterns of an open catalogue, ready to be asked about. Reads every fact once, when it is made."""

    def __init__(self, ctx: Context) -> None:
        self.ctx = ctx
        self.table: Table = table(ctx)
        facts = ctx.reader.facts(self.table.patterns)
        self._facts: list[PatternFacts] = [facts[p] for p in self.table.patterns]
        self._judged: dict[Atom, tuple[int, int]] = {}
        self._groups: dict[str, tuple[tuple[Known, int], ...]] = {}
        self._reasoned: dict[Atom, int] = {}
        self._found: dict[nodes.Expr, Found] = {}

    @property
    def everything(self) -> int:
        """All patterns."""
        return (1 << len(self.table.patterns)) - 1

    def find(self, expr: nodes.Expr) -> Found:
        """The patterns of a description; remembered."""
        if expr not in self._found:
            form = normalise(expr, self.ctx.vocabulary)
            whole = opened(form)
            true = self._where(form, 1)
            false = self._where(whole, -1) & ~true
            self._found[expr] = Found(true, self.everything & ~true & ~false, whole == Constant(-1) or _empty(whole))
        return self._found[expr]

    def known(self, pattern: str) -> Known:
        """What is known of one pattern."""
        return self._facts[self.table.index[pattern]].known

    def inferred(self, expr: nodes.Expr, patterns: int) -> int:
        """Those of some patterns, as bits, of which a description that is true of them holds only by reasoning."""
        return self._by_reasoning(normalise(expr, self.ctx.vocabulary), patterns & self.find(expr).true)

    def _by_reasoning(self, form: Form, patterns: int) -> int:
        """As ``inferred``, for a form that is true of the patterns: of alternatives the first true one counts."""
        match form:
            case All(items):
                out = 0
                for item in items:
                    out |= self._by_reasoning(item, patterns)
                return out
            case AnyOf(items):
                out = 0
                for item in items:
                    here = patterns & self._where(item, 1)
                    out |= self._by_reasoning(item, here)
                    patterns &= ~here
                return out
        if form not in self._reasoned:
            found = 0
            for name in self.table.names(self._where(form, 1)):
                place = self.table.index[name]
                facts = self._facts[place]
                used = used_literals(self.ctx, form, facts)
                found |= any(facts.levels.get(literal) == "inferred" for literal in used) << place
            self._reasoned[form] = found
        return self._reasoned[form] & patterns

    def _where(self, form: Form, value: int) -> int:
        """The patterns of which a form has this value, 1 or -1."""
        match form:
            case All(items) | AnyOf(items):
                every = isinstance(form, All) is (value == 1)
                out = self.everything if every else 0
                for item in items:
                    out = out & self._where(item, value) if every else out | self._where(item, value)
                return out
        return self._atom(form)[value < 0]

    def _atom(self, atom: Atom) -> tuple[int, int]:
        """(patterns that an atom is true of, patterns that it is false of); remembered."""
        if atom not in self._judged:
            self._judged[atom] = self._member(atom) if isinstance(atom, Member) else self._each(atom)
        return self._judged[atom]

    def _member(self, atom: Member) -> tuple[int, int]:
        """As ``truth.judge`` has it: inferred to be a member, or else by the definition."""
        true = self.table.holds.get((names.TYPE, atom.category), 0) | self._where(atom.conditions, 1)
        return true, self._where(opened(atom.conditions), -1) & ~true

    def _each(self, atom: Atom) -> tuple[int, int]:
        true = false = 0
        for known, alike in self._alike(atom):
            value = judge(atom, known, self.ctx.vocabulary)
            true |= alike if value > 0 else 0
            false |= alike if value < 0 else 0
        return true, false

    def _alike(self, atom: Atom) -> Iterable[tuple[Known, int]]:
        """Patterns about which the atom must say the same, one of them standing for all: (what is known of it, their bits).

        An atom on one slot depends on the values still possible for it, and on nothing else; others are judged one by one.
        """
        if not isinstance(atom, OneOf):
            return ((facts.known, 1 << place) for place, facts in enumerate(self._facts))
        if atom.slot not in self._groups:
            groups: dict[frozenset[str], tuple[Known, int]] = {}
            for place, facts in enumerate(self._facts):
                left = possible(atom.slot, facts.known, self.ctx.vocabulary)
                first, bits = groups.get(left, (facts.known, 0))
                groups[left] = first, bits | 1 << place
            self._groups[atom.slot] = tuple(groups.values())
        return self._groups[atom.slot]


def _empty(form: Form) -> bool:
    """Whether an opened form can be true of nothing: no value is left for a slot on which it rests."""
    match form:
        case All(items):
            return any(_empty(i) for i in items)
        case AnyOf(items):
            return all(_empty(i) for i in items)
        case Constant(value):
            return value < 0
        case Member(_, conditions):
            return _empty(conditions)
    return hasattr(form, "allowed") and not form.allowed
