"""Small English: articles, plurals, lists, and facts as sentences. Knows grammar, no instrument.

Labels come from the vocabulary; the clause of a feature from its ``phrase`` annotation.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from kg import names
from kg.vocabulary import Condition, Vocabulary

CAUTION = "For study: local policy, makers' instructions and licensed practice decide."
"""Stands once under every answer, on the first screen and on every drawing."""

_INVARIABLE = ("forceps", "scissors", "tongs", "pliers", "shears", "practice", "teeth")
# Letters that sound like a vowel or not against their spelling: "a uniform", "a one-piece", "an hourglass".
_AN = re.compile(r"(?!uni|use|usu|eu|one|u\b)[aeiou]|hour|honest|(?!u)[aefhilmnorsx]\b", re.IGNORECASE)
_ENDINGS = (("ss", "sses"), ("sh", "shes"), ("ch", "ches"), ("x", "xes"), ("fe", "ves"))


def plural(label: str, given: str = "") -> str:
    """The plural of a label: the given one if there is one; forceps and scissors do not change."""
    if given:
        return given
    if label.endswith(_INVARIABLE):
        return label
    for end, new in _ENDINGS:
        if label.endswith(end):
            return label[: -len(end)] + new
    if label.endswith("y") and label[-2:-1] not in "aeiou":
        return label[:-1] + "ies"
    return label if label.endswith("s") else label + "s"


def is_plural(label: str) -> bool:
    """True for labels that stand without an article: finger rings, jaws, teeth, serrations."""
    last = label.split()[-1] if label else ""
    return last in ("teeth",) or (last.endswith("s") and not last.endswith(("ss", "us", "is", "forceps")))


def article(label: str) -> str:
    """``a box lock``, ``an Allis tissue forceps``; plurals stand alone."""
    if not label or is_plural(label):
        return label
    return f"{'an' if _AN.match(label) else 'a'} {label}"


def fill(phrase: str, label: str) -> str:
    """A feature's phrase with a value in it: ``{value}`` bare, ``{a value}`` with its article."""
    return phrase.replace("{a value}", article(label)).replace("{value}", label)


def listing(items: Iterable[str], last: str = "and") -> str:
    """``a, b and c``."""
    texts = list(items)
    if len(texts) < 2:
        return "".join(texts)
    return f"{', '.join(texts[:-1])} {last} {texts[-1]}"


def clause(literal: Condition, vocabulary: Vocabulary) -> str:
    """A fact without its subject: ``has a ratchet``, ``is an artery forceps``, ``has the joint: box lock``."""
    prop, value = literal
    label = vocabulary.label(value)
    if prop == names.TYPE:
        return f"is {article(label)}"
    if prop == names.HAS_PART:
        return f"has {article(label)}"
    if prop == names.LACKS_PART:
        return f"has no {label}"
    feature = vocabulary.features.get(prop)
    if feature and feature.phrase:
        return fill(feature.phrase, label)
    return f"has the {vocabulary.label(prop)}: {label}"


def sentence(subject: str, literal: Condition, vocabulary: Vocabulary) -> str:
    """A fact as a sentence: ``The Kelly forceps has a ratchet.``, ``The Mayo scissors have a joint.``"""
    label, says = vocabulary.label(subject), clause(literal, vocabulary)
    return f"The {label} {of_many(says) if is_plural(label) else says}."


def of_many(clause: str) -> str:
    """A clause for a plural subject: ``has a joint`` -> ``have a joint``, ``counts as x`` -> ``count as x``."""
    verb, _, rest = clause.partition(" ")
    if verb in ("is", "has"):
        verb = {"is": "are", "has": "have"}[verb]
    elif verb.endswith("s") and not verb.endswith("ss"):
        verb = verb[:-1]
    return f"{verb} {rest}".strip()


def capital(text: str) -> str:
    """The first letter upper case, the rest as it is."""
    return text[:1].upper() + text[1:]


def some_of(items: Sequence[str], shown: int) -> str:
    """The first items and how many more there are: "a, b and 3 more"; a single one too many is still said."""
    if len(items) <= shown + 1:
        return listing(items)
    return f"{', '.join(items[:shown])} and {len(items) - shown} more"
