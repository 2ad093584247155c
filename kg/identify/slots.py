"""What an observation speaks of: the features and parts of its form."""

from __future__ import annotations

from kg import names
from kg.truth import All, AnyOf, Form, Includes, Lengths, Member, OneOf
from kg.vocabulary import Vocabulary


def slots_of(form: Form, vocabulary: Vocabulary) -> tuple[str, ...]:
    """The features and parts that an observation speaks of; of a family only what it is called."""
    match form:
        case OneOf(slot, _):
            return (slot,)
        case Includes(feature, _, _):
            return (feature,)
        case Lengths():
            return (names.LENGTH,)
        case All(items) | AnyOf(items):
            return tuple(dict.fromkeys(s for i in items for s in slots_of(i, vocabulary)))
        case Member(category, conditions):
            own = [c for c in vocabulary.definitions[category] if c != (names.TYPE, names.PATTERN)]
            return slots_of(conditions, vocabulary) if len(own) == 1 else ()
    return ()
