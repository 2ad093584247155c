"""What went before in a conversation, and what "it", "those" and "the whole of them" mean after it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kg.language import nodes
from kg.language.joining import disj
from kg.language.nodes import Expr, Question
from kg.records import Record, record, replace

if TYPE_CHECKING:
    from kg.language.lexicon import Lexicon

MOST = 60
"""So many instruments of an answer can be meant by "those" where no description stands for them."""
MOST_SEEN = 12
"""So many candidates of an identification."""
LISTS = (nodes.Filter, nodes.Count, nodes.Group, nodes.Extreme, nodes.Quantified, nodes.Gaps, nodes.Differences)
SEVERAL = (nodes.Compare, nodes.Contrast, nodes.LookAlikes)
_OF_A_SET = (nodes.Filter, nodes.Count, nodes.Group, nodes.Extreme, nodes.Disputes, nodes.Weak, nodes.Gaps, nodes.Differences)
ASKED_ANEW = (*(kind for kind in _OF_A_SET if kind is not nodes.Gaps), nodes.Quantified)
SUBJECT = ("subject", "pattern", "category", "term")


@record
class Before(Record):
    """What went before: the question, the instruments of its answer (short names, best first), the readings of a question that
    was refused as ambiguous, and the instruments that stand in the answer by themselves, not behind their parents.

    ``text``: the question as typed. ``wider``: the questions for the lists that this one was narrowed from, the widest first.
    ``alike``: how many candidates of an identification are about as likely, if none stands out and so none of them is "it".
    ``others``: the instruments of which the same was asked just before; of notes on a reason, what they were asked of.
    ``listed``: those of the list from which the one instrument was taken. ``values``: the recorded values that the answer told.
    """

    question: Question | None = None
    names: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    shown: tuple[str, ...] = ()
    text: str = ""
    wider: tuple[Any, ...] = ()
    alike: int = 0
    others: tuple[str, ...] = ()
    listed: tuple[str, ...] = ()
    values: tuple[str, ...] = ()

    def of(self, question: Question) -> Before:
        """The same answer, as one to another question."""
        return replace(self, question=question, wider=(), others=())

    def subjects(self, lexicon: Lexicon) -> tuple[str, ...]:
        """The patterns and categories that the question was about, in order."""
        question, terms = self.question, lexicon.vocabulary.terms
        if isinstance(question, nodes.Compare):
            return tuple(dict.fromkeys(question.subjects))  # "is a Lahey the same as a Mixter?"
        if isinstance(question, nodes.Contrast):
            return (question.pattern, question.other)
        if isinstance(question, nodes.Identify):
            return () if self.alike > 1 else self.names[:1]
        if isinstance(question, nodes.Disputes | nodes.Weak | nodes.Gaps) and isinstance(question.expr, nodes.Named):
            return (question.expr.pattern,)
        if isinstance(question, nodes.Filter | nodes.Count | nodes.Extreme) and len(self.names) == 1:
            return self.names
        if isinstance(question, nodes.Filter) and isinstance(question.expr, nodes.And):
            for several in filter(names_several, question.expr.items):
                return tuple(i.pattern for i in several.items)
        if isinstance(question, nodes.Filter) and len(self.shown) == 1 and isinstance(question.expr, nodes.And):
            return self.shown  # a pattern with its variants is one
        if isinstance(question, nodes.ReasonNotes):
            return self.others[-1:]
        for name in SUBJECT:
            found = getattr(question, name, "")
            if isinstance(found, str) and found in terms and terms[found].role in ("pattern", "category"):
                return (found,)
        return ()

    def expr(self, lexicon: Lexicon) -> Expr | None:
        """The set that the question was about; None if it was about none."""
        if isinstance(self.question, nodes.Quantified):
            return self.question.scope
        found = getattr(self.question, "expr", None)
        if isinstance(self.question, _OF_A_SET):
            return found
        if isinstance(self.question, nodes.Identify | nodes.LookAlikes):
            subjects = self.names[: MOST_SEEN if isinstance(self.question, nodes.Identify) else MOST]
        else:
            subjects = self.subjects(lexicon)
        terms = lexicon.vocabulary.terms
        each = [nodes.Named(s) if terms[s].role == "pattern" else nodes.IsA(s) for s in subjects]
        return disj(each) if each else None


def the_whole(before: Before, lexicon: Lexicon) -> Before:
    """What "which of them" means after the longest was asked for: the set it is the longest of, or the several that were; after
    a comparison, or a question which of several is so, all of these."""
    if isinstance(before.question, SEVERAL) and (compared := before.expr(lexicon)) is not None:
        return replace(before, question=nodes.Filter(compared))
    if isinstance(before.question, nodes.Differences):
        return replace(before, question=nodes.Filter(before.question.expr))
    if isinstance(before.question, nodes.Group) and names_several(before.question.expr):
        return replace(before, question=nodes.Filter(before.question.expr))
    if isinstance(before.question, nodes.Filter) and isinstance(before.question.expr, nodes.And):
        either = [i for i in before.question.expr.items if names_several(i)]
        return replace(before, question=nodes.Filter(either[0])) if len(either) == 1 else before
    if not isinstance(before.question, nodes.Extreme):
        return before
    several = before.question.number > 1 and before.names[:MOST]
    expr = disj([nodes.Named(n) for n in before.names[:MOST]]) if several else before.question.expr
    return replace(before, question=nodes.Filter(expr))


def names_several(expr: Expr) -> bool:
    """Whether several instruments are named one by one, and not all in one word, the name of a family ("elevators")."""
    if not isinstance(expr, nodes.Or) or len(expr.items) < 2 or not all(isinstance(i, nodes.Named) for i in expr.items):
        return False
    spans = {i.span for i in expr.items}
    return len(spans) > 1 or (0, 0) in spans


def set_of(question: Question) -> str:
    return "scope" if isinstance(question, nodes.Quantified) else "expr"


__all__ = ["ASKED_ANEW", "LISTS", "MOST", "SEVERAL", "SUBJECT", "Before", "names_several", "set_of", "the_whole"]
