"""Says conditions and rules as short English sentences, from the labels and the phrases in the graph.

Labels are taken as they are written; where a term has none its local name is split into words, so that a sentence never
shows a raw identifier. A feature with a phrase ("is made for {value}") is said by it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from kg.names import HAS_PART, LACKS_PART, TYPE
from kg.vocabulary import Condition
from kg.wording import article, fill, is_plural, listing, of_many

_HUMPS = re.compile(r"(?<=[a-z0-9])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])|[_-]+")


class Wording:
    """Sentences over fixed tables: short name -> label, and feature -> phrase (may be empty)."""

    def __init__(self, labels: Mapping[str, str], phrases: Mapping[str, str] | None = None) -> None:
        self._labels = labels
        self._phrases = phrases or {}

    def label(self, name: str) -> str:
        """The label of a term; the words of its local name if it has none."""
        return self._labels.get(name) or _HUMPS.sub(" ", name.split(":", 1)[-1]).lower()

    def predicate(self, condition: Condition) -> str:
        """What a condition says of "it": "is an x", "has a y", "has no z"; a feature reads "has f v"."""
        prop, value = condition
        if prop == TYPE:
            return f"is {article(self.label(value))}"
        if prop == HAS_PART:
            return f"has {article(self.label(value))}"
        if prop == LACKS_PART:
            return f"has no {self.label(value)}"
        if prop in self._phrases:
            return fill(self._phrases[prop], self.label(value))
        return f"has {self.label(prop)} {self.label(value)}"

    def clause(self, condition: Condition) -> str:
        """A condition as a relative clause: "whose curvature is straight", "that has finger rings"."""
        prop, value = condition
        if prop in (HAS_PART, LACKS_PART, TYPE) or prop in self._phrases:
            return f"that {self.predicate(condition)}"
        return f"whose {self._is(prop)} {self.label(value)}"

    def _is(self, prop: str) -> str:
        """A feature with its verb: "curvature is", "blade tips are"."""
        return f"{self.label(prop)} {_be(self.label(prop))}"

    def noun(self, conditions: Sequence[Condition]) -> str:
        """A conjunction as a noun phrase: "a pattern whose purpose is p and that has no q"."""
        types = [c for c in conditions if c[0] == TYPE]
        rest = [c for c in conditions if c[0] != TYPE]
        head = article(self.label(types[0][1])) if types else "a pattern"
        clauses = [f"that is also {article(self.label(value))}" for _, value in types[1:]]
        clauses += [self.clause(c) for c in rest]
        if types and is_plural(self.label(types[0][1])):
            clauses = [f"that {of_many(c[5:])}" if c.startswith("that ") else c for c in clauses]
        if len(clauses) > 1 and all(c.startswith("that ") for c in clauses):
            clauses = [clauses[0], *(c[5:] for c in clauses[1:])]  # one "that" holds for all
        return f"{head} {listing(clauses)}" if clauses else head

    def definition(self, name: str, conditions: Sequence[Condition]) -> str:
        """The definition as a sentence: "An x is a pattern whose f is v."."""
        label = self.label(name)
        if not is_plural(label):
            return sentence(f"{article(label)} is {self.noun(conditions)}")
        # A name in the plural is defined in the plural: "Scissors are patterns that have ...".
        if any(c[0] == TYPE for c in conditions):
            return sentence(f"{label} are {self.noun(conditions)}")
        clauses = [c[5:] for c in map(self.clause, conditions) if c.startswith("that ")]
        if len(clauses) < len(conditions):
            return sentence(f"{label} are each {self.noun(conditions)}")
        return sentence(f"{label} are patterns that {listing(map(of_many, clauses))}")

    def implication(self, body: Sequence[Condition], head: Condition) -> str:
        """One step: "Every x has no y." or "A pattern whose f is v is an x."."""
        whole = head[0] in (HAS_PART, LACKS_PART, TYPE) or head[0] in self._phrases
        if len(body) == 1 and body[0][0] == TYPE:
            many = is_plural(self.label(body[0][1]))
            subject = f"{'all' if many else 'every'} {self.label(body[0][1])}"
            if whole:
                return sentence(f"{subject} {of_many(self.predicate(head)) if many else self.predicate(head)}")
            name = self.label(head[0])
            return sentence(f"the {name} of {subject} {_be(name)} {self.label(head[1])}")
        if len(body) == 1 and body[0][0] == head[0] and not whole:
            return sentence(f"{self.label(body[0][1])} counts as {self.label(head[1])} ({self.label(head[0])})")
        if len(body) == 1 and body[0][0] == head[0] and whole:  # a narrower value and a broader one
            return sentence(f"what {self.predicate(body[0])} {self.predicate(head)}")
        if whole:
            return sentence(f"{self.noun(body)} {self.predicate(head)}")
        return sentence(f"if something is {self.noun(body)}, its {self._is(head[0])} {self.label(head[1])}")

    def stands_for(self, condition: Condition) -> str:
        """The class of a value: said by the value alone."""
        return sentence(f"it is {self.noun([condition])}")

    def exclusion(self, conditions: Sequence[Condition]) -> str:
        """Two categories, or two values of one feature, exclude each other."""
        features = {prop for prop, _ in conditions}
        if len(conditions) == 1:
            return sentence(f"nothing is {self.noun(conditions)}")
        if len(features) == 1:
            (feature,) = features
            tail = "" if feature == TYPE else f" ({self.label(feature)})"
            names = listing(self.label(value) for _, value in conditions)
        else:
            tail, names = "", listing(self.noun([c]) for c in conditions)
        return sentence(f"{names} exclude each other{tail}")

    def either(self, left: str, right: str, value: str) -> str:
        """Two properties cannot hold with one value."""
        if {left, right} == {HAS_PART, LACKS_PART}:
            return sentence(f"a pattern cannot both have and lack {self.label(value)}")
        both = listing([self.label(left), self.label(right)])
        return sentence(f"{both} exclude each other for {self.label(value)}")


def _be(noun: str) -> str:
    return "are" if is_plural(noun) else "is"


def sentence(text: str) -> str:
    """With a capital at the beginning and one full stop at the end."""
    return f"{text[:1].upper()}{text[1:]}".rstrip(".") + "."
