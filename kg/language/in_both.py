"""Replies about two at once: what is made in both of two forms ("do any of those come straight as well as curved?"), and two
numbers side by side ("is it more or fewer than the hand-held ones?").
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.language import nodes
from kg.language.nodes import Question
from kg.language.say import say_expr

if TYPE_CHECKING:
    from kg.language.replies import Reply

_LISTS = (nodes.Filter, nodes.Count, nodes.Group)


def both_made(said: str, reply: Reply) -> Question | None:
    """ "Do any of those come straight as well as curved?": those of the list before that are made in both"""
    lexicon, question = reply.lexicon, reply.before.question
    if not isinstance(question, _LISTS):
        return None
    old = question.expr
    found = reply.alone(f"{lexicon.word('which')} {say_expr(old, lexicon)} {said}").question
    return found if isinstance(found, nodes.Tally) and found.scope == old else None


def more_than(said: str, reply: Reply) -> Question | None:
    """ "Is it more or fewer than the hand-held ones?" after a number: both numbers"""
    from kg.language.replies import changed

    question = reply.before.question
    if not isinstance(question, nodes.Count | nodes.Filter):
        return None
    other = changed(said, reply, anew=True)
    new = other.expr if isinstance(other, nodes.Filter) else None
    return nodes.Counts((question.expr, new)) if new is not None and new != question.expr else None


__all__ = ["both_made", "more_than"]
