"""A reply that is no more than another place of the body or another operation: the question before as it was typed, with that
in the place of the one it names ("what dilates the urethra?", "and the cervix?").

Only where the typed question asks by itself what was answered, and names one such place.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.tokens import SYMBOL

if TYPE_CHECKING:
    from kg.language.before import Before
    from kg.language.lexicon import Lexicon
    from kg.language.readings import Understood

_LEADS = frozenset(("kw.and", "kw.and_what_of", "kw.place", "kw.on", "kw.in", "kw.for", "kw.at", "connector", "filler"))
SHORT = 5
"""A longer reply says more than another place."""
_LISTS = (nodes.Filter, nodes.Count)


def retyped(text: str, lexicon: Lexicon, before: Before, ask: Callable[[str, None], Understood]) -> Understood | None:
    """What the question before asks with the place that a reply names in it; None if that is not what the reply is."""
    question = before.question
    if not isinstance(question, _LISTS) or not before.text:
        return None
    with suppress(QuestionError):
        if not (said := with_the_place(text, before.text, lexicon)) or not _same(ask(before.text, None), question):
            return None
        found = ask(said, None)
        return found if found.whole and isinstance(found.question, type(question)) else None
    return None


def with_the_place(text: str, typed_before: str, lexicon: Lexicon) -> str:
    """The question before as it was typed, with the place that a reply names in it; empty if that is not what the reply is."""
    parser = parser_for(text, lexicon)
    if not parser.tokens or len(parser.tokens) > SHORT or not parser.kinds(0) & {"kw.and", "kw.and_what_of"}:
        return ""
    new = _places(parser, lexicon)
    last = len(parser.tokens) - (parser.tokens[-1].kind == SYMBOL)
    if len(new) != 1 or new[0][1] < last or any(not parser.kinds(at) & _LEADS for at in range(new[0][0])):
        return ""
    typed = parser_for(typed_before, lexicon)
    old = [p for p in _places(typed, lexicon) if p[2] & new[0][2]]
    if len(old) != 1:
        return ""
    start, end = typed.tokens[old[0][0]].start, typed.tokens[old[0][1] - 1].end
    return f"{typed_before[:start]}{parser.quote(new[0][0], new[0][1])}{typed_before[end:]}"


def place_named(before: Before, lexicon: Lexicon) -> str:
    """The one place of the body or operation that a list before was asked for, in its words; empty if there are several."""
    if not isinstance(before.question, _LISTS) or not before.text:
        return ""
    typed = parser_for(before.text, lexicon)
    found = _places(typed, lexicon)
    return typed.quote(found[0][0], found[0][1]) if len(found) == 1 else ""


def place_as_typed(before: Before, lexicon: Lexicon) -> str:
    """The same with the word before it ("in thyroid surgery"); empty if that is no such word."""
    name = place_named(before, lexicon)
    typed = parser_for(before.text, lexicon) if name else None
    for at in range(1, len(typed.tokens) if typed is not None else 0):
        if typed is not None and before.text.startswith(name, typed.tokens[at].start):
            back = at - 1 - (typed.tokens[at - 1].key in lexicon.words.articles)
            leads = back >= 0 and any(k.startswith("kw.") for k in typed.kinds(back))
            return before.text[typed.tokens[back].start : typed.tokens[at].start] + name if leads else ""
    return ""


def _same(found: Understood, question: nodes.Question) -> bool:
    return found.unread is None and found.doubtful is None and found.question == question


def _places(parser: FormParser, lexicon: Lexicon) -> list[tuple[int, int, frozenset[str]]]:
    """Where places and operations are named, the longest name at each word, with their features."""
    features, terms = lexicon.words.set_features | lexicon.words.set_places, lexicon.vocabulary.terms
    found: list[tuple[int, int, frozenset[str]]] = []
    for at in range(len(parser.tokens)):
        for end, entries in sorted(parser.phrases(at), key=lambda p: -p[0]):
            of = frozenset(terms[e.term].feature for e in entries if e.kind == "value") & features
            if of and not (found and found[-1][1] > at and found[-1][2] & of):
                found.append((at, end, of))
                break
    return found


__all__ = ["place_as_typed", "place_named", "retyped", "with_the_place"]
