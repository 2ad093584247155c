"""Other names of the patterns of a list, so that a person who knows one by another name finds it there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.records import replace

if TYPE_CHECKING:
    from kg.model import Answer, Match
    from kg.vocabulary import Terms

MOST = 1000
"""Of so many matches the other names are told; a longer list is not read by a person, and looking them up takes time."""


def with_other_names(terms: Terms, answer: Answer) -> Answer:
    """The answer with what its matches are also called (``skos:altLabel``): of the first ``MOST``; as it is without matches."""
    if not answer.matches:
        return answer
    told = tuple(_called(terms, m) for m in answer.matches[:MOST])
    return replace(answer, matches=(*told, *answer.matches[MOST:]))


def _called(terms: Terms, match: Match) -> Match:
    found = terms.get(match.name)
    return replace(match, also_called=found.alt) if found is not None and found.alt else match
