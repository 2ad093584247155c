"""Replies about the one that an answer singled out, or about the other one: "why that one?", "why not the other one?", "why has
it none?"; what a thing is for that an instrument was asked about ("has it teeth?", "what are they for?"); and those for another
use ("and the ones for rotation?").
"""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.before import Before
from kg.language.elliptic import condition
from kg.language.joined import features_of, parted
from kg.language.joining import conj
from kg.language.lexicon import LENGTH, Lexicon
from kg.language.nodes import Expr, Question
from kg.language.parse import parser_for
from kg.language.say import say_expr
from kg.records import replace

if TYPE_CHECKING:
    from kg.language.replies import Reply

PLACE = "@"
"""Stands in a pattern for the name of the instrument that went before."""
_NONE_SINGLED = "The answer before did not single out one instrument"
_NO_OTHER = "The answer before was not about two instruments, so there is no other one"


def why_that(_: str, reply: Reply) -> Question | None:
    """ "Why that one?" after the only one of a list, after a yes or no, or after the longest. Raises QuestionError (BL-Q02)
    where none was singled out."""
    before, lexicon = reply.before, reply.lexicon
    question = before.question
    if isinstance(question, nodes.Identify) and before.alike < 2 and before.names:
        return replace(question, claim=before.names[0])
    if isinstance(question, nodes.Why | nodes.Contrast | nodes.ReasonNotes | nodes.CareNotes | nodes.Define):
        return None
    if (longest := _of_the_longest(before)) is not None:
        return longest
    if isinstance(question, nodes.Holds):
        return why_so(question.pattern, question.expr)
    if (found := _singled(before, lexicon)) is None:
        if isinstance(question, nodes.Filter | nodes.Compare | nodes.Group | nodes.Quantified | nodes.Identify):
            raise QuestionError("BL-Q02", f"{_NONE_SINGLED}.")
        return None
    return why_so(*found)


def why_other(said: str, reply: Reply) -> Question | None:
    """ "Why not the other one?" after one of two: why that is not so; with "yes" why it is ("and why does the other?"). Raises
    QuestionError (BL-Q02) where there were no two."""
    before, lexicon = reply.before, reply.lexicon
    question = before.question
    if (longest := _of_the_longest(before)) is not None:
        return longest
    if isinstance(question, nodes.Holds | nodes.Why):
        pair = before.others[-1:] or tuple(n for n in before.listed if n != question.pattern)
        if len(pair) != 1:
            raise QuestionError("BL-Q02", f"{_NO_OTHER}.")
        return why_so(pair[0], question.expr, other=said != "yes")
    if not isinstance(question, nodes.Filter):
        return None
    found = _singled(before, lexicon)
    others = [n for n in _named(question.expr) if found is not None and n != found[0]]
    if found is None or len(others) != 1:
        raise QuestionError("BL-Q02", f"{_NO_OTHER}.")
    return why_so(others[0], found[1], other=said != "yes")


def why_none(_: str, reply: Reply) -> Question | None:
    """ "Why has it none?" of the one instrument that lacks what was asked for"""
    before, question = reply.before, reply.before.question
    if isinstance(question, nodes.Holds):
        return why_so(question.pattern, question.expr, other=not isinstance(question.expr, nodes.Not))
    found = _singled(before, reply.lexicon)
    if found is None:
        return None
    lacks = [i for i in _items(found[1]) if isinstance(i, nodes.Not)]
    return why_so(found[0], lacks[-1]) if lacks else None


def what_for(_: str, reply: Reply) -> Question | None:
    """ "What are they for?" after "does a Kocher have teeth?": what the teeth are for; nothing after what is said by an
    adjective, or of one thing, where the instrument may be meant"""
    question, lexicon = reply.before.question, reply.lexicon
    if not isinstance(question, nodes.Holds) or not parser_for(reply.before.text, lexicon).says("kw.have"):
        return None
    term = getattr(question.expr, "part", "") or getattr(question.expr, "value", "")
    said = say_expr(question.expr, lexicon).split()
    having = {lexicon.word("with"), lexicon.word("have")} & {*said}
    had = said[said.index(having.pop()) + 1 :] if len(having) == 1 else []
    if not term or not had or had[0] in lexicon.words.articles:
        return None
    return nodes.PartOf(term, question.pattern)


def part_for(said: str, reply: Reply) -> Question | None:
    """ "What are the teeth for?" after whether an instrument has them, and after its description: what they are for in it"""
    question, terms = reply.before.question, reply.lexicon.vocabulary.terms
    kinds = nodes.Holds | nodes.Why | nodes.Describe | nodes.PartOf
    one = getattr(question, "pattern", "") or getattr(question, "subject", "")
    if parser_for(reply.text, reply.lexicon).says("kw.ones"):
        return None  # "what is the toothed one for?"
    if not isinstance(question, kinds) or not one or terms[one].role != "pattern":
        return None
    name = say_expr(nodes.Named(one), reply.lexicon)
    with suppress(QuestionError):
        found = reply.alone(said.replace(PLACE, name)).question
        if isinstance(found, nodes.PartOf) and found.subject == one:
            return found
    return None


def for_another(said: str, reply: Reply) -> Question | None:
    """ "And the ones for rotation?" after those for another use: this use in its place, and not both"""
    question, lexicon = reply.before.question, reply.lexicon
    if not isinstance(question, nodes.Filter | nodes.Count):
        return None
    items = [part for i in _items(question.expr) for part in parted(i, lexicon)]
    uses = lexicon.words.set_features | lexicon.words.set_places | set(parser_for(said, lexicon)._uses())
    kept = [i for i in items if not (features_of(i) and features_of(i) <= uses)]
    if len(kept) == len(items) or (new := condition(said, [], lexicon, reply.alone)) is None:
        return None
    return replace(question, expr=conj([*kept, new]))


def _items(expr: Expr) -> list[Expr]:
    return list(expr.items) if isinstance(expr, nodes.And) else [expr]


def why_so(pattern: str, expr: Expr, *, other: bool = False) -> nodes.Why:
    """Why it is so, and of the ``other`` one why it is not."""
    denied = isinstance(expr, nodes.Not)
    return nodes.Why(pattern, expr.expr if isinstance(expr, nodes.Not) else expr, denied != other)


def _named(expr: Expr) -> tuple[str, ...]:
    """Those of which one was asked for by name; none where no two were named."""
    from kg.language.before import names_several

    several = [i for i in _items(expr) if names_several(i)]
    return tuple(i.pattern for i in several[0].items) if len(several) == 1 else ()  # type: ignore[union-attr]


def _singled(before: Before, lexicon: Lexicon) -> tuple[str, Expr] | None:
    """The one instrument of a list, and what was asked of it; None if it is none or several."""
    from kg.language.replies import said_of

    question = before.question
    if not isinstance(question, nodes.Filter) or len(before.shown) != 1:
        return None
    if _named(question.expr):
        said = [i for i in _items(question.expr) if not isinstance(i, nodes.Or) or not _named(i)]
        return (before.shown[0], conj(said)) if said else None
    found = said_of(before, lexicon)
    return (before.shown[0], conj(found[1])) if found is not None else None


def _of_the_longest(before: Before) -> Question | None:
    """The lengths of those of which the longest was asked for."""
    question = before.question
    return nodes.Group(question.expr, LENGTH) if isinstance(question, nodes.Extreme) and question.number < 2 else None


__all__ = ["for_another", "part_for", "what_for", "why_none", "why_other", "why_that"]
