"""Replies about others of the kind that went before: "is there a towel clip that isn't?" after whether one is so, "which
instruments have the oblique kind?" and "which of those are on needle holders?" after the kinds of something were asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.joined import called
from kg.language.joining import conj, disj, names_family
from kg.language.nodes import Expr, Question
from kg.language.parse import parser_for
from kg.language.told_of import named

if TYPE_CHECKING:
    from kg.language.before import Before
    from kg.language.lexicon import Lexicon
    from kg.language.replies import Reply

MOST = 12
"""The nouns of so many instruments of a list are tried."""


def variant_that(said: str, reply: Reply) -> Question | None:
    """ "Is there a version that isn't?" after "is the Adson toothed?": its variants that are not, or else one of its family"""
    return one_that(said, reply, of_its_own=True)


def one_that(said: str, reply: Reply, *, of_its_own: bool = False) -> Question | None:
    """ "Is there one that isn't?" after "is the Backhaus perforating?": the towel clips that are not; with the name of a family
    the ones of that"""
    question, lexicon = reply.before.question, reply.lexicon
    asked, _, family = said.partition(" ")
    if not isinstance(question, nodes.Holds) or isinstance(question.expr, nodes.Named):
        return None
    if isinstance(question.expr, nodes.IsA) and not family:
        raise QuestionError("BL-Q02", "Nearly everything is no such instrument, so a family of instruments has to be named.")
    scope = _family(family, lexicon) if family else _its_own(question.pattern, lexicon, of_its_own)
    if scope is None:
        return None
    denied = isinstance(question.expr, nodes.Not)
    so = question.expr.expr if isinstance(question.expr, nodes.Not) else question.expr
    return nodes.Filter(conj([scope, so if denied == (asked == "not") else nodes.Not(so)]))


def _family(said: str, lexicon: Lexicon) -> Expr | None:
    parser = parser_for(said, lexicon)
    scope = parser.description()
    return scope if scope is not None and parser.ended() and names_family(scope) else None


def _its_own(pattern: str, lexicon: Lexicon, variants: bool) -> Expr | None:
    """What "one" means beside an instrument: the family by whose noun it is called, or its variants, where it has some."""
    one = nodes.Named(pattern)
    terms = lexicon.vocabulary.terms
    if variants and any(terms[t].role == "pattern" for t in lexicon.vocabulary.children.get(pattern, ())):
        return one
    found = called(one, lexicon)
    return found[0] if found else None


def having_the_kind(said: str, reply: Reply) -> Question | None:
    """ "Which clamps have the oblique kind?" after what a feature is or one of its values: those that have this value"""
    kind, _, family = said.partition(" | ")
    lexicon = reply.lexicon
    if not (feature := _feature_of(reply.before, lexicon)):
        return None
    scope = parser_for(family, lexicon).description() if family else None
    found = _values(kind, feature, lexicon)
    if len(found) != 1 or (family and scope is None):
        raise QuestionError("BL-Q02", f'"{kind}" is none of those that were asked about, as far as is recorded.')
    has = nodes.Has(feature, found.pop())
    return nodes.Filter(conj([scope, has]) if scope is not None and names_family(scope) else has)


def _values(kind: str, feature: str, lexicon: Lexicon) -> set[str]:
    """The values of a feature that a word names, alone or before the noun that others of them end with ("lap": lap joint)."""
    terms = lexicon.vocabulary.terms
    nouns = {t.label.split()[-1] for t in terms.values() if t.role == "value" and t.feature == feature}
    for said in ((kind,), tuple(f"{kind} {noun}" for noun in sorted(nouns))):
        found = {e.term for s in said for e in lexicon.entries(s) if e.kind == "value" and terms[e.term].feature == feature}
        if found:
            return found
    return set()


def found_on(said: str, reply: Reply) -> Question | None:
    """ "Which of those are found on needle holders?" after the kinds of something: which of them these have"""
    feature = _feature_of(reply.before, reply.lexicon)
    term = named(said, reply, "pattern", "category") if feature else ""
    return nodes.Value(term, (feature,)) if term else None


def the_one(said: str, reply: Reply) -> Question | None:
    """ "And the wire one, what holds it open?" after a list: the same of the one of these that is called so. Raises
    QuestionError (BL-Q02) where none is."""
    word, _, asked = said.partition(" | ")
    if word.split()[0].casefold() in reply.lexicon.words.articles or word.casefold().startswith("the "):
        return None
    before, lexicon = reply.before, reply.lexicon
    if not isinstance(before.question, nodes.Filter | nodes.Count) or not before.names:
        return None
    items = getattr(before.question.expr, "items", (before.question.expr,))
    nouns = [lexicon.name(i.category) for i in items if isinstance(i, nodes.IsA)]
    nouns += [
        " ".join(w[at:]) for n in before.names[:MOST] for w in [lexicon.vocabulary.label(n).split()] for at in range(1, len(w))
    ]
    for noun in dict.fromkeys(nouns):
        meant = {e.term for e in lexicon.entries(f"{word} {noun}") if e.kind == "pattern"}
        if len(meant) == 1:
            return reply.again(asked, before.of(nodes.Describe(meant.pop()))).question
    raise QuestionError("BL-Q02", f'None of the list before is called "{word}", as far as is recorded.')


def of_the_named(said: str, reply: Reply) -> Question | None:
    """ "And the Babcock, what is it for?" after another: this of the one that is named"""
    name, _, asked = said.partition(" | ")
    if parser_for(asked, reply.lexicon).says("kw.differ", "kw.compare") or not parser_for(asked, reply.lexicon).says("kw.it"):
        return None
    if not (pattern := named(name, reply, "pattern")):
        return None
    found = reply.again(asked, reply.before.of(nodes.Describe(pattern)))
    whole = found.unread is None and found.doubtful is None
    told = getattr(found.question, "subject", "") or getattr(found.question, "pattern", "")
    return found.question if whole and told == pattern else None


def numbered(said: str, reply: Reply) -> Question | None:
    """ "And which one takes a 15?" after another number: that number in its place"""
    return reply.again(f"{reply.lexicon.word('and')} {said}", reply.before).question if said.isdigit() else None


def _feature_of(before: Before, lexicon: Lexicon) -> str:
    """The feature that was explained, or of which a value was; empty if none was."""
    term = before.question.term if isinstance(before.question, nodes.Define) else ""
    if term in lexicon.vocabulary.features:
        return term
    return (lexicon.vocabulary.terms[term].feature or "") if term and lexicon.vocabulary.terms[term].role == "value" else ""


def meaning(_: str, reply: Reply) -> Question | None:
    """ "What does that mean?" after "which rongeurs are double action?": what the words mean by which the list was bound, or
    what was asked of one instrument"""
    from kg.language.replies import said_of

    question = reply.before.question
    if isinstance(question, nodes.Holds):
        asked: list[Expr] = [question.expr]
    elif (found := said_of(reply.before, reply.lexicon)) is not None:
        asked = found[1]
    else:
        return None
    each = _plain(disj(asked))
    terms = tuple(dict.fromkeys(getattr(i, "value", "") or getattr(i, "part", "") for i in each))
    if not all(terms):
        return None
    return nodes.Define(terms[0]) if len(terms) == 1 else nodes.DefineAll(terms)


def where_it_is(said: str, reply: Reply) -> Question | None:
    """ "Where is it?" after whether an instrument has a part: what that part is"""
    question, features = reply.before.question, reply.lexicon.vocabulary.features
    expr = question.expr if isinstance(question, nodes.Holds) else None
    of_part = isinstance(expr, nodes.HasPart) or (
        isinstance(expr, nodes.Has) and expr.feature in features and bool(features[expr.feature].part)
    )
    return meaning(said, reply) if of_part else None


def _plain(expr: Expr) -> list[Expr]:
    """The single conditions of a description, without what is denied of them."""
    if isinstance(expr, nodes.Not):
        return _plain(expr.expr)
    if isinstance(expr, nodes.And | nodes.Or):
        return [one for i in expr.items for one in _plain(i)]
    return [expr]


__all__ = ["found_on", "having_the_kind", "meaning", "numbered", "of_the_named", "one_that", "the_one", "variant_that"]
