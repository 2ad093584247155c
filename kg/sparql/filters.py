"""A question's normal form -> one SPARQL query with a three-valued column.

``SELECT ?p ?m WHERE { ?p a bl:Pattern MINUS { F } OPTIONAL { T } }``: T are the patterns of which the description is true, F
those of which it is false; what is in neither is unknown. Both are written from the same form (``kg.truth``), T and F of each
atom side by side.

T and F are written as joins, unions and differences of look-ups, never as a test of each pattern (``EXISTS``): a store
answers these from its indexes, several times faster.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import count
from typing import NamedTuple

from kg import names
from kg.sparql.terms import decimal, prologue, term, values
from kg.truth import (
    INAPPLICABLE,
    All,
    AnyOf,
    Constant,
    Elsewhere,
    Form,
    Includes,
    Is,
    Lengths,
    Member,
    OneOf,
    Stated,
    Told,
    domain,
    elsewhere,
    opened,
)
from kg.vocabulary import Vocabulary

HOLDS = "graph:holds"
VARIES = "graph:varies"
DENIED = "graph:denied"
OPEN = "graph:open"
REMEMBERED = 4_096
"""So many sets of values are remembered."""
_PATTERN = f"GRAPH {HOLDS} {{ ?p a {names.PATTERN} }}"


def filter_query(form: Form, vocabulary: Vocabulary) -> str:
    """Rows ``?p ?m``: all patterns of which the form is not false; ``?m`` true where it is true.

    The rows come in no order: a store that compares the texts of terms takes longer to sort them than to find them.
    """
    writer = _Writer(vocabulary)
    lines = [_PATTERN, *_without(writer.false(opened(form))), *_marked(writer.true(form))]
    body = "SELECT ?p ?m WHERE {\n  " + "\n  ".join(lines) + "\n}\n"
    return prologue(body) + body


class _Set(NamedTuple):
    """A set of patterns: the union of ``blocks``, each the inside of a group that binds ``?p``; or all patterns but these."""

    blocks: tuple[str, ...]
    rest: bool = False

    @property
    def empty(self) -> bool:
        return not self.blocks and not self.rest

    @property
    def whole(self) -> bool:
        return not self.blocks and self.rest


_NONE = _Set(())
_WHOLE = _Set((), True)


def _but(sets: _Set) -> _Set:
    """All other patterns."""
    return _Set(sets.blocks, not sets.rest)


def _union(sets: Iterable[_Set]) -> _Set:
    blocks: list[str] = []
    for part in sets:
        if part.whole:
            return _WHOLE
        blocks += [f"{_PATTERN} MINUS {_group(part.blocks)}"] if part.rest else part.blocks
    return _Set(tuple(dict.fromkeys(blocks)))


def _common(sets: Iterable[_Set]) -> _Set:
    """What is in all of the sets."""
    inside: list[tuple[str, ...]] = []
    outside: list[str] = []
    for part in sets:
        if part.empty:
            return _NONE
        if part.rest:
            outside += part.blocks
        else:
            inside.append(part.blocks)
    outside = list(dict.fromkeys(outside))
    if not inside:
        return _Set(tuple(outside), True)
    if len(inside) == 1 and not outside:
        return _Set(inside[0])
    # One look-up after the other multiplies the rows of a pattern that several alternatives find: then each only once.
    parts = [b[0] if len(b) == 1 and _plain(b[0]) else _once(b) for b in dict.fromkeys(inside)]
    return _Set((" ".join(parts) + (f" MINUS {_group(outside)}" if outside else ""),))


def _plain(block: str) -> bool:
    """A single look-up, which may stand beside others without braces of its own."""
    return block.startswith("GRAPH") and block.count("{") == 1


def _group(blocks: Iterable[str]) -> str:
    """The union as one group."""
    found = [f"{{ {b} }}" for b in blocks]
    return found[0] if len(found) == 1 else "{ " + "\n    UNION ".join(found) + " }"


def _once(blocks: tuple[str, ...]) -> str:
    """The union as one group, with each pattern once."""
    return f"{{ SELECT DISTINCT ?p WHERE {_group(blocks)} }}"


def _without(false: _Set) -> list[str]:
    """The lines that leave out what is false."""
    if false.whole:
        return ["FILTER(false)"]
    if false.rest:
        return [_once(false.blocks)]
    # The longest first: it leaves out most.
    return [f"MINUS {{ {block} }}" for block in sorted(false.blocks, key=len, reverse=True)]


def _marked(true: _Set) -> list[str]:
    """The lines that bind ``?m`` to what is true."""
    if not true.blocks:
        return [f"BIND({'true' if true.rest else 'false'} AS ?m)"]
    mark = "!BOUND(?in)" if true.rest else "BOUND(?in)"
    return [f"OPTIONAL {{ SELECT DISTINCT ?p (true AS ?in) WHERE {_group(true.blocks)} }}", f"BIND({mark} AS ?m)"]


class _Writer:
    """Writes T and F of every atom; keeps the numbering of variables."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self._numbers = count(1)

    def true(self, form: Form) -> _Set:
        match form:
            case All(items):
                return _common(self.true(i) for i in items)
            case AnyOf(items):
                return _union(self.true(i) for i in items)
            case Member(category, _):
                return self._held(names.TYPE, [category])
            case OneOf(slot, allowed):
                return self._one_of(slot, allowed)
            case Includes(feature, value, positive):
                return self._held(feature, [value]) if positive else self._missing(feature, value)
            case Is() | Constant() | Stated() | Elsewhere() | Told():
                return self._known(form)
            case Lengths(intervals):
                return self._lengths(form) if intervals else _NONE
        raise TypeError(f"no SPARQL for {form!r}")

    def false(self, form: Form) -> _Set:
        match form:
            case All(items):
                return _union(self.false(i) for i in items)
            case AnyOf(items):
                return _common(self.false(i) for i in items)
            case OneOf(slot, allowed):
                return self._one_of(slot, domain(slot, self.vocabulary) - allowed)
            case Includes(feature, value, positive):
                return self._missing(feature, value) if positive else self._held(feature, [value])
            case Is() | Constant() | Stated() | Elsewhere() | Told():
                return _but(self._known(form))
            case Lengths(intervals):
                return self._outside(form) if intervals else _WHOLE
        raise TypeError(f"no SPARQL for {form!r}")

    # --- atoms ---------------------------------------------------------------------------------------------------
    def _one_of(self, slot: str, allowed: frozenset[str]) -> _Set:
        """Every value still possible for the slot is among ``allowed``."""
        whole = domain(slot, self.vocabulary)
        if allowed >= whole:
            return _WHOLE
        if not allowed:
            return _NONE
        if slot not in self.vocabulary.features:
            return self._held(min(allowed), [slot])
        inside, top = self._inside(allowed)
        parts = [self._held(slot, top)] if top else []
        if inside and len(self.vocabulary.values_of(slot)) > 1:
            parts.append(self._varies_within(slot, inside))
        if INAPPLICABLE in allowed:
            parts.append(self._held(names.INAPPLICABLE, [slot]))
        return _union([*parts, self._only_rest_denied(slot, allowed)])

    def _inside(self, allowed: frozenset[str]) -> tuple[list[str], list[str]]:
        """The values with all that is narrower among ``allowed``, and the broadest of them; remembered with the vocabulary."""
        memory = self.vocabulary.insides
        if allowed not in memory:
            if len(memory) > REMEMBERED:
                memory.clear()
            terms = self.vocabulary.terms
            inside = sorted(v for v in allowed if v in terms and self.vocabulary.subtree(v) <= allowed)
            within = frozenset(inside)
            memory[allowed] = inside, [v for v in inside if self.vocabulary.broader_of(v) not in within]
        return memory[allowed]

    def _found(self, graph: str, prop: str, wanted: list[str]) -> _Set:
        """What has one of some values in a graph."""
        predicate = "a" if prop == names.TYPE else term(prop)
        if len(wanted) == 1:
            return _Set((f"GRAPH {graph} {{ ?p {predicate} {term(wanted[0])} }}",))
        v = f"v{next(self._numbers)}"
        return _Set((f"{values(v, wanted)} GRAPH {graph} {{ ?p {predicate} ?{v} }}",))

    def _held(self, prop: str, wanted: list[str]) -> _Set:
        return self._found(HOLDS, prop, wanted)

    def _varies_within(self, slot: str, inside: list[str]) -> _Set:
        """Two or more values vary between pieces, and all of them are among ``inside``."""
        if len(inside) < 2:
            return _NONE
        v = f"v{next(self._numbers)}"
        outside = sorted(set(self.vocabulary.values_of(slot)) - set(inside))
        listed = ", ".join(term(x) for x in min(inside, outside, key=len))
        one, other = (0, 1) if len(inside) <= len(outside) else (1, 0)
        none_outside = f" && SUM(IF(?{v} IN ({listed}), {one}, {other})) = 0" if outside else ""
        found = f"SELECT ?p WHERE {{ GRAPH {VARIES} {{ ?p {term(slot)} ?{v} }} }} GROUP BY ?p"
        return _Set((f"{found} HAVING (COUNT(?{v}) > 1{none_outside})",))

    def _only_rest_denied(self, slot: str, allowed: frozenset[str]) -> _Set:
        """All that is not allowed is expressly denied: "no groove" excludes every groove."""
        outside = domain(slot, self.vocabulary) - allowed
        if not outside or not all(v in self.vocabulary.terms for v in outside):
            return _NONE
        top = sorted(v for v in outside if self.vocabulary.broader_of(v) not in outside)
        return _common(self._denied(slot, v) for v in top)

    def _denied(self, feature: str, value: str) -> _Set:
        denied = self._found(DENIED, feature, sorted([value, *self.vocabulary.ancestors(value)]))
        entry = self.vocabulary.features.get(feature)
        if entry is not None and entry.applies and not entry.single:
            return _union((denied, self._held(names.INAPPLICABLE, [feature])))
        return denied

    def _missing(self, feature: str, value: str) -> _Set:
        """A value of a feature with many values is denied; what is said outright stands ("not viscera, but the cervix")."""
        return _common((self._denied(feature, value), _but(self._held(feature, [value]))))

    def _known(self, form: Is | Constant | Stated | Elsewhere | Told) -> _Set:
        """What is always known."""
        match form:
            case Constant(value):
                return _WHOLE if value > 0 else _NONE
            case Stated(slot, positive):
                found = self._stated(slot)
            case Elsewhere(slot, wanted, positive):
                others = sorted(elsewhere(slot, wanted, self.vocabulary))
                found = _union((self._held(slot, others), self._found(VARIES, slot, others))) if others else _NONE
            case Told(slot, value, positive):
                some = sorted(self.vocabulary.subtree(value))
                found = _union((self._held(slot, [value]), self._found(VARIES, slot, some)))
            case Is(pattern, positive):
                own = values("p", [pattern])
                found = _union((_Set((own,)), self._held(names.VARIANT_OF, [pattern])))
        return found if positive else _but(found)

    def _stated(self, slot: str) -> _Set:
        """Something is recorded of the slot: a value, several that vary, a denial, a tie, or that it does not apply."""
        if slot == names.LENGTH:
            return _Set((f"GRAPH {HOLDS} {{ ?p {term(names.LENGTH_MIN)} ?low{next(self._numbers)} }}",))
        v, g = (f"v{next(self._numbers)}" for _ in range(2))
        graphs = values(g, [HOLDS, VARIES, DENIED])
        if slot in self.vocabulary.features:
            said = f"{graphs} GRAPH ?{g} {{ ?p {term(slot)} ?{v} }}"
        else:
            said = f"{graphs} {values(v, list(names.PARTS))} GRAPH ?{g} {{ ?p ?{v} {term(slot)} }}"
        open_slot = self._found(OPEN, names.UNDECIDED, [slot])
        return _union((_Set((said,)), self._held(names.INAPPLICABLE, [slot]), open_slot))

    def _lengths(self, form: Lengths) -> _Set:
        """All sizes made lie in one of the intervals."""
        low, high = self._ends()
        tests = []
        for shortest, low_in, longest, high_in in form.intervals:
            sides = [f"{low} {'>=' if low_in else '>'} {decimal(shortest)}"]
            if longest != float("inf"):
                sides.append(f"{high} {'<=' if high_in else '<'} {decimal(longest)}")
            tests.append("(" + " && ".join(sides) + ")")
        return self._span(low, high, " || ".join(tests))

    def _outside(self, form: Lengths) -> _Set:
        """No size made lies in any of the intervals."""
        low, high = self._ends()
        tests = []
        for shortest, low_in, longest, high_in in form.intervals:
            sides = [f"{high} {'<' if low_in else '<='} {decimal(shortest)}"] if shortest > 0 else []
            if longest != float("inf"):
                sides.append(f"{low} {'>' if high_in else '>='} {decimal(longest)}")
            tests.append("(" + (" || ".join(sides) or "false") + ")")
        return self._span(low, high, " && ".join(tests))

    def _ends(self) -> tuple[str, str]:
        number = next(self._numbers)
        return f"?low{number}", f"?high{number}"

    @staticmethod
    def _span(low: str, high: str, test: str) -> _Set:
        found = f"GRAPH {HOLDS} {{ ?p {term(names.LENGTH_MIN)} {low} ; {term(names.LENGTH_MAX)} {high} }}"
        return _Set((f"{found} FILTER({test})",))
