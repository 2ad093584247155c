"""The name of the other one of two in a question of its own ("which of the two has teeth?", "so what is the other one used
for?")."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from kg.language import nodes
from kg.language.before import names_several
from kg.language.entries import CONTENT
from kg.language.parse import parser_for
from kg.language.tokens import SYMBOL

if TYPE_CHECKING:
    from kg.language.before import Before
    from kg.language.lexicon import Lexicon
    from kg.language.talk import Talk


def with_the_other(text: str, lexicon: Lexicon, talk: Callable[[], Talk], before: Before) -> str:
    """The text with the name of the other one, where the answer before singled out one of two and more is asked of it;
    else the text as it is."""
    other = _other(before)
    parser = parser_for(text, lexicon) if other else None
    if parser is None or parser.says("kw.why", "kw.differ", "kw.compare"):
        return text
    tokens = parser.tokens
    for at in range(len(tokens)):
        ends = [at + len(p) for p in talk().the_other if tuple(t.key for t in tokens[at : at + len(p)]) == p]
        if not ends:
            continue
        end = max(ends)
        if end < len(tokens) and any(e.kind in CONTENT for _, es in parser.phrases(end) for e in es):
            return text  # "the other scissors"
        around = [parser.kinds(i) for i in (*range(at), *range(end, len(tokens))) if tokens[i].kind != SYMBOL]
        if all(k & {"kw.and", "kw.and_what_of", "filler"} for k in around):
            return text  # "and the other one?"
        return f"{text[: tokens[at].start]}{lexicon.vocabulary.label(other)}{text[tokens[end - 1].end :]}"
    return text


def _other(before: Before) -> str:
    question = before.question
    if isinstance(question, nodes.Holds | nodes.Value):
        one = question.pattern if isinstance(question, nodes.Holds) else question.subject
        pair = before.others[-1:] or tuple(n for n in before.listed if n != one)
        return pair[0] if len(pair) == 1 else ""
    items = getattr(getattr(question, "expr", None), "items", ()) if isinstance(question, nodes.Filter) else ()
    two = [i for i in items if names_several(i)]
    if len(two) != 1 or len(two[0].items) != 2 or len(before.shown) != 1:
        return ""
    others = [i.pattern for i in two[0].items if i.pattern != before.shown[0]]
    return others[0] if len(others) == 1 else ""


__all__ = ["with_the_other"]
