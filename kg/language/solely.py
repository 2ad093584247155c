""" "Only" at the end of a question that asks what is done to something ("which instruments grasp bowel only?"): it bounds the
last thing that is said, where that is a feature of which a pattern can have several values. The grammar reads it behind "used
on"; here it is read behind a verb, which says what something is made for and what it is used on at once."""

from __future__ import annotations

from kg.language import nodes
from kg.language.joining import conj
from kg.language.lexicon import Lexicon
from kg.language.nodes import Question
from kg.language.parse import parser_for
from kg.language.sense import in_its_family

_FAMILY = ("category", "kind", "group", "kw.instrument")


def says_only(text: str, lexicon: Lexicon) -> bool:
    """Whether a text ends in "only", or says it behind a family ("which forceps only grasp skin?"), and does not itself say
    behind it what is not done ("which clamps only hold bowel and never crush it?")."""
    parser = parser_for(text, lexicon)
    words = [at for at, token in enumerate(parser.tokens) if token.kind == "word"]
    said = [at for at in words if any(e.kind == "kw.only" for _, es in parser.phrases(at) for e in es)]
    if any("kw.not" in parser.kinds(at) for at in words if said and at > said[0]):
        return False
    families = {end for at in words for end, es in parser.phrases(at) for e in es if e.kind in _FAMILY}
    return any(at == words[-1] or at in families for at in said)


def bounded(text: str, question: Question, lexicon: Lexicon) -> Question:
    """A question with its words as they are meant in its family, and its last feature of several values bounded to the value
    that is said, if it ends in "only"."""
    question = in_its_family(question, lexicon)
    if not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(question.expr, nodes.And | nodes.Has):
        return question
    items = question.expr.items if isinstance(question.expr, nodes.And) else (question.expr,)
    features = lexicon.vocabulary.features
    several = [
        at
        for at, item in enumerate(items)
        if isinstance(item, nodes.Has) and item.feature in features and not features[item.feature].single
    ]
    if not several or any(isinstance(i, nodes.Solely) for i in items) or not says_only(text, lexicon):
        return question
    last = items[several[-1]]
    sole = nodes.Solely(last.feature, (last.value,), last.span)
    return type(question)(conj([*items[: several[-1]], sole, *items[several[-1] + 1 :]]))
