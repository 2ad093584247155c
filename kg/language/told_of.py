"""Replies about an answer that is no list of instruments: those of the value that a ranking names first, the group in which an
instrument is filed, the sources that were told and whether they disagree, the facts that rest on memory.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.language import nodes
from kg.language.before import Before
from kg.language.joined import called
from kg.language.joining import conj, disj
from kg.language.lexicon import LENGTH, Lexicon
from kg.language.nodes import Expr, Question
from kg.language.parse import parser_for
from kg.records import replace

if TYPE_CHECKING:
    from kg.language.replies import Reply

MOST_FIRST = 6
"""So many values of equal rank at most are "it" after a ranking."""


def of_the_first(before: Before, lexicon: Lexicon) -> Question | None:
    """ "List its instruments" after "which speciality has the fewest?": those of the value, or of the category, that a ranking
    names first; of a ranking of instruments these."""
    question = before.question
    if not isinstance(question, nodes.Tally) or not 0 < len(before.values) <= MOST_FIRST:
        return None
    found = [e for e in (_ranked(label, question.by, lexicon) for label in before.values) if e is not None]
    if len(found) != len(before.values):
        return None
    bounded = [] if isinstance(question.scope, nodes.Everything) else [question.scope]
    return nodes.Filter(conj([*bounded, disj(found)]))


def _ranked(label: str, by: str, lexicon: Lexicon) -> Expr | None:
    terms = lexicon.vocabulary.terms
    for entry in lexicon.entries(label):
        if entry.kind == "pattern" and (by == "alike" or by.startswith(nodes.EACH)):
            return nodes.Named(entry.term)
        if entry.kind == "category" and by == "category":
            return nodes.IsA(entry.term)
        if entry.kind == "value" and terms[entry.term].feature == by:
            return nodes.Has(by, entry.term)
    return None


def ranked(said: str, reply: Reply) -> Question | None:
    """ "Which of those has the fewest?" after a list in groups: the group that has"""
    question = reply.before.question
    if isinstance(question, nodes.Tally):
        return replace(question, pick=said)
    if not isinstance(question, nodes.Group) or question.feature == LENGTH:
        return None
    return nodes.Tally(question.feature, said, question.expr)


def bound(said: str, reply: Reply) -> Question | None:
    """ "And which have only one?" after those with at least two sources: another number in its place"""
    question = reply.before.question
    if not isinstance(question, nodes.Tally) or not question.by.startswith(nodes.EACH):
        return None
    found = so_many(said, reply.lexicon, behind=1)
    return replace(question, pick=found[0], number=found[1]) if found is not None else None


def named(said: str, reply: Reply, *roles: str) -> str:
    """The term that a text names, if it has one of these roles; else empty. Raises QuestionError if it is not understood."""
    found = reply.alone(f"{reply.lexicon.word('whatis')} {said}").question
    term = found.term if isinstance(found, nodes.Define) else ""
    return term if term and reply.lexicon.vocabulary.terms[term].role in roles else ""


def so_many(said: str, lexicon: Lexicon, *, behind: int = 0) -> tuple[str, int] | None:
    """[ comparison ] [ "only" ] number, as (comparison, number); None if a text says anything else, or more than so many words
    ``behind`` it."""
    parser = parser_for(said, lexicon)
    match = parser.take("op.<", "op.<=", "op.>", "op.>=", "op.=", quiet=True)
    parser.take("kw.only", quiet=True)
    if parser.at >= len(parser.tokens) or len(parser.tokens) - parser.at - 1 > behind:
        return None
    key = parser.tokens[parser.at].key
    number = str(lexicon.words.numbers.get(key, key))
    return (match.entry.kind.removeprefix("op.") if match else "=", int(number)) if number.isdigit() else None


def commonest(said: str, reply: Reply) -> Question | None:
    """ "Which kind is the commonest among the artery forceps?" after its kinds: the value that most of them have"""
    pick, _, said = said.partition(" ")
    question, terms = reply.before.question, reply.lexicon.vocabulary.terms
    if isinstance(question, nodes.Define):
        feature = question.term if terms[question.term].role == "feature" else ""
    else:
        feature = question.feature if isinstance(question, nodes.Group) else getattr(question, "by", "")
    parser = parser_for(said, reply.lexicon)
    scope = parser.description() if feature in reply.lexicon.vocabulary.features else None
    return nodes.Tally(feature, pick, scope) if scope is not None and parser.ended() else None


def its_group(said: str, reply: Reply) -> Question | None:
    """ "What else is in that group?" after an instrument: the others of the family that was told, or that
    it is called by"""
    before, lexicon = reply.before, reply.lexicon
    subjects = before.subjects(lexicon)
    if len(subjects) != 1 or isinstance(before.question, nodes.Filter | nodes.Count | nodes.Identify):
        return None
    terms = lexicon.vocabulary.terms
    if terms[subjects[0]].role != "pattern":
        return nodes.Filter(nodes.IsA(subjects[0])) if terms[subjects[0]].role == "category" else None
    filed = [e.term for label in before.values for e in lexicon.entries(label) if e.kind == "category"]
    if isinstance(before.question, nodes.Holds) and isinstance(before.question.expr, nodes.IsA):
        filed = [before.question.expr.category]
    family = nodes.IsA(filed[0]) if len(set(filed)) == 1 else next(iter(called(nodes.Named(subjects[0]), lexicon)), None)
    return nodes.Filter(conj([family, nodes.Not(nodes.Named(subjects[0]))])) if family is not None else None


def facts_about(said: str, reply: Reply) -> Question | None:
    """ "How many of those are about needle holders?" after the facts that rest on memory, or the disputes: those of a family"""
    question, parser = reply.before.question, parser_for(said, reply.lexicon)
    if not isinstance(question, nodes.Weak | nodes.Disputes) or (subjects := parser.subjects()) is None:
        return None
    if len(subjects) != 1 or not parser.ended():
        return None
    pattern = reply.lexicon.vocabulary.terms[subjects[0]].role == "pattern"
    return replace(question, expr=nodes.Named(subjects[0]) if pattern else nodes.IsA(subjects[0]))


def same_sources(said: str, reply: Reply) -> Question | None:
    """ "Is that a textbook?" after sources: the same once more, since they say what they are"""
    question = reply.before.question
    if isinstance(question, nodes.Disputes) and isinstance(question.expr, nodes.Named):
        return nodes.Sources(question.expr.pattern, question.features)
    return reply.before.question if isinstance(reply.before.question, nodes.Sources) else None


def disagreeing(said: str, reply: Reply) -> Question | None:
    """ "Does anybody disagree?" after what one instrument has and who says so: the disputes about that"""
    question, terms = reply.before.question, reply.lexicon.vocabulary.terms
    if isinstance(question, nodes.Holds):
        return nodes.Disputes(nodes.Named(question.pattern), parser_for(reply.text, reply.lexicon).features_of(question.expr))
    one = question.subject if isinstance(question, nodes.Sources | nodes.Value) else ""
    if not one or terms[one].role != "pattern":
        return None
    return nodes.Disputes(nodes.Named(one), question.features)  # type: ignore[union-attr]


def why_not_used(said: str, reply: Reply) -> Question | None:
    """ "Why not?" after whether one instrument may be used on something that is named: why it is not"""
    question, lexicon = reply.before.question, reply.lexicon
    if not isinstance(question, nodes.Value) or lexicon.vocabulary.terms[question.subject].role != "pattern":
        return None
    parser = parser_for(reply.before.text, lexicon)
    found = {
        (lexicon.vocabulary.terms[e.term].feature, e.term)
        for at in range(len(parser.tokens))
        for _, entries in parser.phrases(at)
        for e in entries
        if e.kind == "value" and lexicon.vocabulary.terms[e.term].feature in question.features
    }
    if len(found) != 1 or "kw.can" not in parser.kinds(0):
        return None
    return nodes.Why(question.subject, nodes.Has(*found.pop()), True)


def telling(_: str, reply: Reply) -> Question | None:
    """What tells an instrument from its look-alikes, where these went before and are too many to be set side by side."""
    from kg.language.replies import FEW

    one = reply.before.subjects(reply.lexicon)
    many = isinstance(reply.before.question, nodes.LookAlikes) and len(reply.before.names) > FEW
    return nodes.Telling(one[0]) if many and len(one) == 1 else None


def some_of_each(_: str, reply: Reply) -> Question | None:
    """ "Name two members of each" after the kinds of a family or a list in groups: the same again, whose lines name some"""
    question = reply.before.question
    if isinstance(question, nodes.Filter) and isinstance(question.expr, nodes.IsA):
        return nodes.Classify(question.expr.category)
    return question if isinstance(question, nodes.Group) else None


__all__ = [
    "bound",
    "commonest",
    "disagreeing",
    "facts_about",
    "its_group",
    "named",
    "of_the_first",
    "ranked",
    "same_sources",
    "so_many",
    "some_of_each",
    "telling",
    "why_not_used",
]
