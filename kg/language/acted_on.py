"""A word for a part of an instrument right behind a deed names what the deed is done to: "which instruments hold a tooth?" asks
for no teeth at the tip, and "the edge of the peritoneum" is no cutting edge.

Which words are so, and what they mean there, stands in the word file, under ``[acted_on]``.
"""

from __future__ import annotations

from kg.language import nodes
from kg.language.joining import conj
from kg.language.lexicon import Lexicon
from kg.language.nodes import Expr, Question
from kg.language.parse import parser_for


def acted_on(text: str, question: Question, lexicon: Lexicon) -> Question:
    """A list or count with what is done to something as it is meant; any other question as it is."""
    meant = lexicon.words.acted_on
    if not meant or not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(question.expr, nodes.And):
        return question
    items = question.expr.items
    deeds = [i for i in items if isinstance(i, nodes.Has) and i.feature in lexicon.words.besides]
    out: list[Expr] = []
    for item in items:
        term = item.value if isinstance(item, nodes.Has) else item.part if isinstance(item, nodes.HasPart) else ""
        if term in meant and any(_right_behind(text, d, item, lexicon) for d in deeds):
            values = [lexicon.vocabulary.terms[v] for v in meant[term] if lexicon.exists(v)]
            out += [nodes.Has(v.feature, v.name, item.span) for v in values]
        else:
            out.append(item)
    return type(question)(conj(out))


def _right_behind(text: str, deed: Expr, item: Expr, lexicon: Lexicon) -> bool:
    """Whether nothing but an article stands between a deed and a word."""
    if not deed.span or not item.span or not deed.span[1] <= item.span[0]:
        return False
    if " " in text[slice(*item.span)].strip():
        return False  # "for grasping, teeth at the tip"
    between = text[deed.span[1] : item.span[0]].strip()
    return all(t.key in lexicon.words.articles for t in parser_for(between, lexicon).tokens) if between else True


__all__ = ["acted_on"]
