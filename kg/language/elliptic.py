"""What a few words of a reply say of instruments, read by themselves or with a noun of the list before: "run across" after
serrations that run lengthwise, "with two blunt ones" after two sharp points.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.joining import conj
from kg.language.lexicon import Lexicon
from kg.language.listed import family_in, nothing_at_all
from kg.language.nodes import Expr
from kg.language.say import say_expr

if TYPE_CHECKING:
    from kg.language.readings import Understood

Asked = Callable[[str], "Understood"]
_ONES = re.compile(r"\bones?\b", re.IGNORECASE)
MOST_NOUNS = 6
"""So many nouns of a value are tried."""


def condition(said: str, items: Sequence[Expr], lexicon: Lexicon, ask: Asked, *, within: bool = True) -> Expr | None:
    """What some words say of instruments, beside the family of a list with these conditions; None if they are not understood,
    or name a family or an instrument. ``within``: whether nouns of the list may stand in for what was left out."""
    ones = bool(_ONES.search(said))
    if within and ones:
        for typed, item in _with_nouns(said, items, lexicon):
            if (found := _of_the_feature(_read(typed, lexicon, ask), item, lexicon)) is not None:
                return found
    families = [i for i in items if isinstance(i, nodes.IsA)]
    heads = [f"{lexicon.word('instrument')}s", *(say_expr(i, lexicon) for i in families[:1])]
    for head in heads:
        for verb in ("", f"{lexicon.word('be')} ", f"{lexicon.word('have')} "):
            found = _read(f"{lexicon.word('which')} {head} {verb}{said}", lexicon, ask)
            if found is not None and (own := _own(found, families)) is not None:
                return own
    if within and not ones:
        for typed, item in _with_nouns(said, items, lexicon):
            if (found := _of_the_feature(_read(typed, lexicon, ask), item, lexicon)) is not None:
                return found
    return None


def _read(typed: str, lexicon: Lexicon, ask: Asked) -> Expr | None:
    with suppress(QuestionError):
        found = ask(typed)
        if found.doubtful is None and found.unread is None and not (found.in_hand or found.other or found.untold):
            question = found.question
            if isinstance(question, nodes.Filter) and not nothing_at_all(question):
                return question.expr
    return None


def _own(expr: Expr, families: Sequence[Expr]) -> Expr | None:
    """A description without the family that it was asked of; None if it names another, or nothing more."""
    items = [i for i in (expr.items if isinstance(expr, nodes.And) else (expr,)) if i not in families[:1]]
    if not items or any(family_in(i) or isinstance(i, nodes.Everything | nodes.CalledAfter) for i in items):
        return None
    return conj(items)


def _with_nouns(said: str, items: Sequence[Expr], lexicon: Lexicon) -> Iterator[tuple[str, nodes.Has]]:
    """The words with a noun of the last value before: in the place of "ones", or in front ("serrations that run across")."""
    which, have = lexicon.word("which"), lexicon.word("have")
    head = f"{which} {lexicon.word('instrument')}s"
    for item in reversed(items):
        if not isinstance(item, nodes.Has) or item.feature not in lexicon.vocabulary.features:
            continue
        for noun in _nouns(item.value, lexicon):
            if _ONES.search(said):
                with_noun = _ONES.sub(noun, said)
                yield f"{head} {with_noun}", item
                yield f"{head} {have} {with_noun}", item
            else:
                yield f"{head} {have} {noun} {lexicon.word('that')} {said}", item


def _nouns(value: str, lexicon: Lexicon) -> list[str]:
    """The nouns with which the names of a value end, in their plural first."""
    term = lexicon.vocabulary.terms[value]
    last = [name.split()[-1] for name in (term.label, *term.alt, *term.hidden) if " " in name]
    plural = [w for w in dict.fromkeys(last) if w.endswith("s")]
    return [*plural, *(w for w in dict.fromkeys(last) if w not in plural)][:MOST_NOUNS]


def _of_the_feature(expr: Expr | None, item: nodes.Has, lexicon: Lexicon) -> Expr | None:
    """The one other value of the same feature that a description says, which is no broader one; else None."""
    items = (expr.items if isinstance(expr, nodes.And) else (expr,)) if expr is not None else ()
    if any(not isinstance(i, nodes.Has) or i.feature != item.feature for i in items):
        return None
    terms = lexicon.vocabulary.terms
    above = set()
    value = item.value
    while value:
        above.add(value)
        value = terms[value].broader if value in terms else ""
    other = [i for i in items if i.value not in above]  # type: ignore[union-attr]
    return other[0] if len(other) == 1 else None


__all__ = ["Asked", "condition"]
