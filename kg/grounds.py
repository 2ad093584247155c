"""Questions for a reason, a danger or a grip that a note with its source answers: which notes speak of what is named.

A note speaks of a question only if all that it is about is named there, and nothing is named besides that it does not allow for;
what the ontology records of a named instrument counts as named with it. So a note never stands for a question about something
else; without a note the question is answered as any other.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from kg import names
from kg.errors import QuestionError
from kg.language import nodes
from kg.language.reasoned import Heard, Span, heard, second_half, wider
from kg.records import replace

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.language.before import Before
    from kg.model import Answer

ARGUED = ("why", "contrast", "holds")
"""Kinds of answers that argue a question and leave room for the reason beside."""


def notes_for(catalogue: Catalogue, text: str, before: Before | None) -> tuple[str, ...]:
    """The names of the notes that speak of what a question asks the reason, the danger or the grip of; empty if none does."""
    found = heard(text, catalogue.lexicon, catalogue.talk, before)
    if found is None:
        return ()
    table = catalogue.lexicon.words.reasons
    topics: Mapping[str, Mapping[str, Any]] = table.get("topic", {})
    said = [_topics(catalogue, span, topics) for span in found.spans]
    if not all(said):
        return ()
    fit = {name: note for name, note in table.get("note", {}).items() if _speaks(note, found, said)}
    most = max((len(note["about"]) for note in fit.values()), default=0)
    return tuple(name for name, note in fit.items() if len(note["about"]) == most)


def told(catalogue: Catalogue, text: str, limit: int, after: Answer | None, before: Before | None) -> Answer | None:
    """The answer with what the notes say: beside the argument where the question is argued too, behind the answer to the first
    half of a question that asks why as well, else alone. None if no note speaks of it."""
    notes = notes_for(catalogue, text, before)
    if not notes:
        return None
    reason = catalogue.answer(nodes.ReasonNotes(notes), text, limit=limit)
    half = second_half(text, catalogue.lexicon)
    with suppress(QuestionError):
        first = _ordinary(catalogue, half or text, limit, after)
        if first.unread is None and (half or first.kind in ARGUED):
            return replace(first, question=text, also=reason)
    return reason


def _ordinary(catalogue: Catalogue, text: str, limit: int, after: Answer | None) -> Answer:
    from kg.asking import ask

    return ask(catalogue, text, limit=limit, after=after, page=None, reasons=False)


def _topics(catalogue: Catalogue, span: Span, topics: Mapping[str, Mapping[str, Any]]) -> frozenset[str]:
    """The topics that a span stands for: by its words, by what it names, or by what is recorded of the instrument it names;
    of several instruments that may be meant, only what all of them are."""
    out = set(span.topics)
    out.update(name for name, t in topics.items() if not span.terms.isdisjoint(t.get("terms", ())))
    if span.patterns:
        each = []
        for facts in catalogue.context.reader.facts(list(span.patterns)).values():
            kinds = wider(catalogue.lexicon, {v for p, v in facts.known.holds if p == names.TYPE})
            is_it = kinds.union(facts.known.line)
            has = {v for _, v in facts.known.holds}
            each.append(
                {n for n, t in topics.items() if not (is_it.isdisjoint(t.get("terms", ())) and has.isdisjoint(t.get("holds", ())))}
            )
        out |= set.intersection(*each) if each else set()
    return frozenset(out)


def _speaks(note: Mapping[str, Any], found: Heard, said: list[frozenset[str]]) -> bool:
    """Whether a note speaks of what is asked: the kind, what is denied, all that it is about, and nothing else."""
    if found.kinds.isdisjoint(note.get("asks", ("why",))):
        return False
    if not note.get("either") and "why" in found.kinds and found.denied != bool(note.get("no")):
        return False
    groups = [frozenset(group.split("|")) for group in note["about"]]
    allowed = frozenset(note.get("also", ())).union(*groups)
    if any(topics.isdisjoint(allowed) for topics in said):
        return False
    if any(all(topics.isdisjoint(group) for topics in said) for group in groups):
        return False
    first = note.get("first")
    return not first or first in said[0]
