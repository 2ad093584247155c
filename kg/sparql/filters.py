"""A question's normal form -> one SPARQL query with a three-valued column.

``SELECT ?p ?m WHERE { ?p a bl:Pattern FILTER(!F) BIND(T AS ?m) }``: T says that the description is true of ``?p``, F that it
is false; what is neither is unknown. Both are written from the same form (``kg.truth``), T and F of each atom side by side.
"""

from __future__ import annotations

from itertools import count

from kg import names
from kg.sparql.terms import decimal, prologue, term
from kg.truth import INAPPLICABLE, All, AnyOf, Constant, Form, Includes, Is, Lengths, Member, OneOf, Stated, domain, opened
from kg.vocabulary import Vocabulary

HOLDS = "graph:holds"
VARIES = "graph:varies"
DENIED = "graph:denied"
OPEN = "graph:open"


def filter_query(form: Form, vocabulary: Vocabulary) -> str:
    """Rows ``?p ?m``: all patterns of which the form is not false; ``?m`` true where it is true. Ordered by ``?m``, ``?p``."""
    writer = _Writer(vocabulary)
    body = (
        "SELECT ?p ?m WHERE {\n"
        f"  GRAPH {HOLDS} {{ ?p a bl:Pattern }}\n"
        f"  FILTER(!({writer.false(opened(form))}))\n"
        f"  BIND(({writer.true(form)}) AS ?m)\n"
        "}\nORDER BY DESC(?m) ?p\n"
    )
    return prologue(body) + body


class _Writer:
    """Writes T and F of every atom; keeps the numbering of variables."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self._numbers = count(1)

    def true(self, form: Form) -> str:
        match form:
            case All(items):
                return "(" + "\n    && ".join(self.true(i) for i in items) + ")"
            case AnyOf(items):
                return "(" + "\n    || ".join(self.true(i) for i in items) + ")"
            case Member(category, _):
                return self._held(names.TYPE, [category])
            case OneOf(slot, allowed):
                return self._one_of(slot, allowed)
            case Includes(feature, value, positive):
                return self._held(feature, [value]) if positive else self._missing(feature, value)
            case Is() | Constant():
                return self._known(form)
            case Stated(slot, positive):
                return self._stated(slot) if positive else f"!{self._stated(slot)}"
            case Lengths(intervals):
                return self._lengths(form) if intervals else "false"
        raise TypeError(f"no SPARQL for {form!r}")

    def false(self, form: Form) -> str:
        match form:
            case All(items):
                return "(" + "\n    || ".join(self.false(i) for i in items) + ")"
            case AnyOf(items):
                return "(" + "\n    && ".join(self.false(i) for i in items) + ")"
            case OneOf(slot, allowed):
                return self._one_of(slot, domain(slot, self.vocabulary) - allowed)
            case Includes(feature, value, positive):
                return self._missing(feature, value) if positive else self._held(feature, [value])
            case Is() | Constant():
                return f"!({self._known(form)})"
            case Stated(slot, positive):
                return f"!{self._stated(slot)}" if positive else self._stated(slot)
            case Lengths(intervals):
                return self._outside(form) if intervals else "true"
        raise TypeError(f"no SPARQL for {form!r}")

    # --- atoms ---------------------------------------------------------------------------------------------------
    def _one_of(self, slot: str, allowed: frozenset[str]) -> str:
        """Every value still possible for the slot is among ``allowed``."""
        whole = domain(slot, self.vocabulary)
        if allowed >= whole:
            return "true"
        if not allowed:
            return "false"
        if slot not in self.vocabulary.features:
            return self._held(min(allowed), [slot])
        values = sorted(v for v in allowed if v in self.vocabulary.terms)
        inside = [v for v in values if self.vocabulary.subtree(v) <= allowed]
        top = [v for v in inside if self.vocabulary.terms[v].broader not in inside]
        parts = [self._held(slot, top)] if top else []
        if inside and self._may_vary(slot):
            parts.append(self._varies_within(slot, inside))
        if INAPPLICABLE in allowed:
            parts.append(f"EXISTS {{ GRAPH {HOLDS} {{ ?p {term(names.INAPPLICABLE)} {term(slot)} }} }}")
        rest = self._only_rest_denied(slot, allowed)
        if rest:
            parts.append(rest)
        return "(" + " || ".join(parts) + ")" if parts else "false"

    def _may_vary(self, slot: str) -> bool:
        return len(self.vocabulary.values_of(slot)) > 1

    def _held(self, prop: str, values: list[str]) -> str:
        predicate = "a" if prop == names.TYPE else term(prop)
        if len(values) == 1:
            return f"EXISTS {{ GRAPH {HOLDS} {{ ?p {predicate} {term(values[0])} }} }}"
        v = f"v{next(self._numbers)}"
        inside = ", ".join(term(x) for x in values)
        return f"EXISTS {{ GRAPH {HOLDS} {{ ?p {predicate} ?{v} }} FILTER(?{v} IN ({inside})) }}"

    def _varies_within(self, slot: str, values: list[str]) -> str:
        """Two or more values vary between pieces, and all of them are among ``values``."""
        a, b, c = (f"v{next(self._numbers)}" for _ in range(3))
        inside = ", ".join(term(x) for x in values)
        predicate = term(slot)
        return (
            f"(EXISTS {{ GRAPH {VARIES} {{ ?p {predicate} ?{a}, ?{b} }} FILTER(?{a} != ?{b}) }}"
            f" && NOT EXISTS {{ GRAPH {VARIES} {{ ?p {predicate} ?{c} }} FILTER(?{c} NOT IN ({inside})) }})"
        )

    def _only_rest_denied(self, slot: str, allowed: frozenset[str]) -> str:
        """All that is not allowed is expressly denied: "no groove" excludes every groove."""
        outside = domain(slot, self.vocabulary) - allowed
        if not outside or not all(v in self.vocabulary.terms for v in outside):
            return ""
        top = sorted(v for v in outside if self.vocabulary.terms[v].broader not in outside)
        return "(" + " && ".join(self._denied(slot, v) for v in top) + ")"

    def _denied(self, feature: str, value: str) -> str:
        line = [value, *self.vocabulary.ancestors(value)]
        v = f"v{next(self._numbers)}"
        inside = ", ".join(term(x) for x in line)
        denied = f"EXISTS {{ GRAPH {DENIED} {{ ?p {term(feature)} ?{v} }} FILTER(?{v} IN ({inside})) }}"
        entry = self.vocabulary.features.get(feature)
        if entry is not None and entry.applies and not entry.single:
            gone = f"EXISTS {{ GRAPH {HOLDS} {{ ?p {term(names.INAPPLICABLE)} {term(feature)} }} }}"
            return f"({denied} || {gone})"
        return denied

    def _missing(self, feature: str, value: str) -> str:
        """A value of a feature with many values is denied; what is said outright stands ("not viscera, but the cervix")."""
        return f"({self._denied(feature, value)} && !{self._held(feature, [value])})"

    def _known(self, form: Is | Constant) -> str:
        if isinstance(form, Constant):
            return "true" if form.value > 0 else "false"
        own = term(form.pattern)
        line = f"(?p = {own} || EXISTS {{ GRAPH {HOLDS} {{ ?p {term(names.VARIANT_OF)} {own} }} }})"
        return line if form.positive else f"!{line}"

    def _stated(self, slot: str) -> str:
        """Something is recorded of the slot: a value, several that vary, a denial, a tie, or that it does not apply."""
        if slot == names.LENGTH:
            return f"EXISTS {{ GRAPH {HOLDS} {{ ?p {term(names.LENGTH_MIN)} ?low }} }}"
        v, g = (f"v{next(self._numbers)}" for _ in range(2))
        graphs = ", ".join((HOLDS, VARIES, DENIED))
        if slot in self.vocabulary.features:
            said = f"?p {term(slot)} ?{v}"
        else:
            said = f"?p ?{v} {term(slot)} . FILTER(?{v} IN ({term(names.HAS_PART)}, {term(names.LACKS_PART)}))"
        return (
            f"(EXISTS {{ GRAPH ?{g} {{ {said} }} FILTER(?{g} IN ({graphs})) }}"
            f" || EXISTS {{ GRAPH {HOLDS} {{ ?p {term(names.INAPPLICABLE)} {term(slot)} }} }}"
            f" || EXISTS {{ GRAPH {OPEN} {{ ?p {term(names.UNDECIDED)} {term(slot)} }} }})"
        )

    def _lengths(self, form: Lengths) -> str:
        """All sizes made lie in one of the intervals."""
        return self._span(" || ".join(self._within(i) for i in form.intervals))

    def _outside(self, form: Lengths) -> str:
        """No size made lies in any of the intervals."""
        tests = []
        for low, low_in, high, high_in in form.intervals:
            sides = [f"?high {'<' if low_in else '<='} {decimal(low)}"] if low > 0 else []
            if high != float("inf"):
                sides.append(f"?low {'>' if high_in else '>='} {decimal(high)}")
            tests.append("(" + (" || ".join(sides) or "false") + ")")
        return self._span(" && ".join(tests))

    @staticmethod
    def _within(interval: tuple[float, bool, float, bool]) -> str:
        low, low_in, high, high_in = interval
        tests = [f"?low {'>=' if low_in else '>'} {decimal(low)}"]
        if high != float("inf"):
            tests.append(f"?high {'<=' if high_in else '<'} {decimal(high)}")
        return "(" + " && ".join(tests) + ")"

    @staticmethod
    def _span(test: str) -> str:
        return (
            f"EXISTS {{ GRAPH {HOLDS} {{ ?p {term(names.LENGTH_MIN)} ?low ; {term(names.LENGTH_MAX)} ?high }} FILTER({test}) }}"
        )
