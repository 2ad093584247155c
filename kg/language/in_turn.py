"""Replies that go through what an answer told: "and the next one?" of the list from which one was taken, "what is that?" of the
one value that was recorded, "which others have it?"
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.before import SUBJECT
from kg.language.joining import family_in
from kg.language.nodes import Question
from kg.records import replace

if TYPE_CHECKING:
    from kg.language.replies import Reply

_BY_NAME = "Ask with the name of the instrument."


def another_in_turn(said: str, reply: Reply) -> Question | None:
    """The same of the next instrument of the list, or of the one before ("-1"). Raises QuestionError (BL-Q02) where the list
    ends."""
    before = reply.before
    field = next((f for f in SUBJECT if getattr(before.question, f, "") in before.listed), "")
    if not before.listed or not field:
        return None
    at = before.listed.index(getattr(before.question, field)) + int(said)
    if not 0 <= at < len(before.listed):
        raise QuestionError(
            "BL-Q02",
            "The list that went before ends there.",
            question=reply.text,
            span=(0, len(reply.text.rstrip())),
            hint=_BY_NAME,
        )
    return replace(before.question, **{field: before.listed[at]})  # type: ignore[type-var]


def of_the_value(said: str, reply: Reply) -> Question | None:
    """What the one value means that the answer before told; with "which" the instruments that have it."""
    question, terms = reply.before.question, reply.lexicon.vocabulary.terms
    features = question.features if isinstance(question, nodes.Value) else ()
    if isinstance(question, nodes.Filter) and said != "which" and isinstance(question.expr, nodes.And):
        items = [i for i in question.expr.items if not family_in(i)]  # "which forceps have a box lock?", "what is that?"
        one = items[0] if len(items) == 1 and len(question.expr.items) == 2 else None
        term = getattr(one, "value", "") or getattr(one, "part", "")
        return nodes.Define(term) if term else None
    if len(reply.before.values) != 1 or len(features) != 1:
        return None
    entries = [e for e in reply.lexicon.entries(reply.before.values[0]) if e.kind == "value"]
    found = [e.term for e in entries if terms[e.term].feature == features[0]]
    if len(found) != 1:
        return None
    return nodes.Filter(nodes.Has(features[0], found[0])) if said == "which" else nodes.Define(found[0])


def again(said: str, reply: Reply) -> Question | None:
    """ "In inches?": the same length once more, which is told in every unit"""
    from kg.language.lexicon import LENGTH

    question = reply.before.question
    long = isinstance(question, nodes.Value) and LENGTH in question.features
    long = long or (isinstance(question, nodes.Group) and question.feature == LENGTH) or isinstance(question, nodes.Extreme)
    return question if long else None


def how_long(said: str, reply: Reply) -> Question | None:
    """ "How long are they?" after a list: in groups by their length"""
    from kg.language.lexicon import LENGTH

    if isinstance(question := reply.before.question, nodes.Value) and LENGTH in question.features:
        return question  # "give it in inches"
    expr = reply.before.expr(reply.lexicon)
    several = isinstance(reply.before.question, nodes.Filter | nodes.Count | nodes.Group) and expr is not None
    return nodes.Group(expr, LENGTH) if several and expr is not None else None


def all_the_care(said: str, reply: Reply) -> Question | None:
    """ "And before that?" after a question about care of one instrument or family: all of its reprocessing, step by step"""
    question, subjects = reply.before.question, reply.before.subjects(reply.lexicon)
    features = reply.lexicon.vocabulary.features
    told = question.features if isinstance(question, nodes.Value) else ()
    steps = isinstance(question, nodes.Reprocessing | nodes.CareNotes)
    steps = steps or any(f in features and features[f].section == "reprocessing" for f in told)
    return nodes.Reprocessing(subjects[0]) if steps and len(subjects) == 1 else None


__all__ = ["again", "all_the_care", "another_in_turn", "how_long", "of_the_value"]
