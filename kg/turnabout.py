"""A list that was narrowed by a follow-up and then is empty: what was said takes the place of what it rules out ("which specula
are for the eye?", "and in the nose?"; "which blades fit a No. 3 handle?", "which go on the No. 4?").

"Which of those ..." and "... as well" only narrow, and none is the answer then.
"""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.joined import features_of, joined, of_those_too
from kg.language.joining import conj, family_in, names_family
from kg.language.parse import parser_for
from kg.language.say import say_expr
from kg.records import replace

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.model import Answer

_LEADS = frozenset(("kw.and", "kw.and_what_of"))


def in_its_place(
    catalogue: Catalogue, empty: Answer, text: str, after: Answer | QuestionError | None, limit: int
) -> Answer | None:
    """The list with what was said in the place of another value of its feature, or of all but the family where a reply goes on
    with "and"; None if the list was not narrowed so, or if that is empty too."""
    old, tree = _listed(after), empty.tree
    parser = parser_for(text, catalogue.lexicon)
    if old is not None and (anew := _typed_anew(catalogue, text, after, limit)) is not None:
        return anew
    if old is None or not isinstance(tree, nodes.Filter | nodes.Count) or not parser.tokens:
        return None
    before, said = _items(old), _items(tree.expr)
    new = [i for i in said if i not in before]
    spoken = {f for i in new for f in features_of(i)}
    effects = catalogue.lexicon.words.effects
    goes_on = bool(parser.kinds(0) & _LEADS) and not parser.says("kw.them")  # "which are gentle?", "and which would crush it?"
    if spoken and spoken <= effects and goes_on and any(features_of(i) & effects for i in before):
        spoken |= effects
    elif of_those_too(parser):
        return _in_a_row(catalogue, empty, text, after, limit, new)
    kept = [i for i in before if not features_of(i) & spoken]
    led = bool(parser.kinds(0) & _LEADS) or "kw.and_what_of" in parser.kinds(1 if len(parser.tokens) > 1 else 0)
    tries = [conj([*kept, *new])] if new and (kept or led) and len(kept) < len(before) else []
    tries += _of_the_family_typed(catalogue, after, new or said)
    family = [i for i in before if names_family(i)]
    if new and led and (wider := _listed_wider(after)) is not None:
        tries.insert(0, conj([*_items(wider), *new]))  # "which of them are hooks?", "and dilators?"
    if new and led and family and not parser.says("kw.ones"):
        tries.append(conj([*family, *new]))
    for expr in dict.fromkeys(tries):
        with suppress(QuestionError):
            found = catalogue.answer(type(tree)(expr), text, limit=limit)
            if found.matches or found.match_count:
                return found
    return _asked_whole(catalogue, family, text, limit) if led and family else None


def _in_a_row(
    catalogue: Catalogue, empty: Answer, text: str, after: Answer | QuestionError | None, limit: int, new: list[nodes.Expr]
) -> Answer | None:
    """ "Which of these cut?", "which of these hold the mouth open?": of the list that both were asked of, where the list before
    was narrowed by the same feature, so that nothing can be both; else None."""
    wider, before = _listed_wider(after), _listed(after)
    if wider is None or before is None or empty.possible_count or not isinstance(empty.tree, nodes.Filter | nodes.Count):
        return None
    said = {f for i in new for f in features_of(i)}
    added = {f for i in _items(before) if i not in _items(wider) for f in features_of(i)}
    if not said & added:
        return None
    found = catalogue.answer(type(empty.tree)(conj([*_items(wider), *new])), text, limit=limit)
    return found if found.matches or found.match_count else None


def narrows(catalogue: Catalogue, empty: Answer, text: str, after: Answer | QuestionError | None) -> tuple[nodes.Expr, ...]:
    """The conditions of the list before, where a text speaks of those of it and the list at hand is a part of it; else none."""
    old, new = _listed(after), _listed(empty)
    if old is None or new is None or not of_those_too(parser_for(text, catalogue.lexicon)):
        return ()
    return tuple(_items(old)) if set(_items(old)) <= set(_items(new)) else ()


def _typed_anew(catalogue: Catalogue, text: str, after: Answer | QuestionError | None, limit: int) -> Answer | None:
    """The question before as it was typed, with the place that the reply names in it, asked by itself."""
    from kg.language.retyped import with_the_place

    if after is None or isinstance(after, QuestionError):
        return None
    said = with_the_place(text, after.question, catalogue.lexicon)
    if not said:
        return None
    with suppress(QuestionError):
        found = catalogue.ask(said, limit=limit)
        if isinstance(found.tree, nodes.Filter | nodes.Count) and found.unread is None and found.matches:
            return replace(found, question=text)
    return None


def _of_the_family_typed(catalogue: Catalogue, after: Answer | QuestionError | None, new: list[nodes.Expr]) -> list[nodes.Expr]:
    """The family as it was typed, where a few of its name stood for it in the answer before, with the new conditions."""
    if not new or not after or isinstance(after, QuestionError):
        return []
    with suppress(QuestionError):
        old, typed = _listed(after), _listed(catalogue.understand(after.question))
        named = old is not None and any(isinstance(i, nodes.Or) and isinstance(i.items[0], nodes.Named) for i in _items(old))
        if named and typed is not None and any(isinstance(i, nodes.IsA) for i in _items(typed)):
            return [joined(typed, conj([i for i in new if not family_in(i)] or new), False, catalogue.lexicon)]
    return []


def _asked_whole(catalogue: Catalogue, family: list[nodes.Expr], text: str, limit: int) -> Answer | None:
    """The reply asked of the family by itself ("and the pointed one used for a stab?": the pointed blades used for it)."""
    lexicon, parser = catalogue.lexicon, parser_for(text, catalogue.lexicon)
    at = 0
    while at < len(parser.tokens) and (
        parser.kinds(at) & (_LEADS | {"kw.which", "kw.ones"}) or parser.tokens[at].key in lexicon.words.articles
    ):
        at += 1
    ones = [
        i for i in range(at, len(parser.tokens)) if "kw.ones" in parser.kinds(i) or parser.tokens[i].key in catalogue.talk.one
    ]
    if not ones:
        return None
    name = say_expr(family[0], lexicon)
    start, end = parser.tokens[at].start, parser.tokens[ones[0]]
    with suppress(QuestionError):
        found = catalogue.understand(f"{lexicon.word('which')} {text[start : end.start]}{name}{text[end.end :]}", whole=True)
        if found.unread is None and found.doubtful is None and isinstance(found.question, nodes.Filter):
            told = catalogue.answer(found.question, text, limit=limit)
            return told if told.matches or told.match_count else None
    return None


def _listed_wider(after: object) -> nodes.Expr | None:
    """What the list was asked by from which the one before was narrowed; None if it was not."""
    wider = getattr(after, "wider", ())
    return getattr(wider[-1], "expr", None) if wider else None


def _listed(answer: object) -> nodes.Expr | None:
    question = getattr(answer, "tree", None) or getattr(answer, "question", None)
    return question.expr if isinstance(question, nodes.Filter | nodes.Count | nodes.Group) else None


def _items(expr: nodes.Expr) -> list[nodes.Expr]:
    return list(expr.items) if isinstance(expr, nodes.And) else [expr]


__all__ = ["in_its_place", "narrows"]
