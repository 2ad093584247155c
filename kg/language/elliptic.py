"""What a few words of a reply say of instruments, read by themselves or with a noun of the list before: "run across" after
serrations that run lengthwise, "with two blunt ones" after two sharp points.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.entries import Entry
from kg.language.joining import conj, family_in
from kg.language.lexicon import Lexicon
from kg.language.listed import nothing_at_all
from kg.language.nodes import Expr
from kg.language.parse import parser_for
from kg.language.say import say_expr
from kg.wording import plural

if TYPE_CHECKING:
    from kg.language.readings import Understood

Asked = Callable[[str], "Understood"]
_TURNING = tuple(f"kw.{k}" for k in ("not", "no", "without", "neither", "nor", "except", "only", "but", "or", "and"))
_LEADS = frozenset(("connector", *(f"kw.{k}" for k in ("be", "have", "do", "can", "that", "which", "place", "with", "of"))))
MOST_NOUNS = 6
"""So many nouns of a value are tried."""


def condition(said: str, items: Sequence[Expr], lexicon: Lexicon, ask: Asked, *, within: bool = True) -> Expr | None:
    """What some words say of instruments, beside the family of a list with these conditions; None if they are not understood,
    or name a family or an instrument. ``within``: whether nouns of the list may stand in for what was left out."""
    said = _plural(said, lexicon)
    ones = bool(_ones(said, lexicon))
    parser = parser_for(said, lexicon)
    if not any(_weighs(parser.kinds(i)) for i in range(len(parser.tokens))):
        return None  # "in both"
    if within and ones:
        for typed, item in _with_nouns(said, items, lexicon):
            if (found := _of_the_feature(_read(typed, lexicon, ask), item, lexicon)) is not None:
                return found
    families = [i for i in items if isinstance(i, nodes.IsA)]
    which, have = lexicon.word("which"), lexicon.word("have")
    with_it = said.removeprefix(f"{have} ")
    ways = (
        ["", f"{lexicon.word('be')} ", f"{have} ", f"{lexicon.word('with')} "]
        if with_it == said
        else ["", f"{lexicon.word('with')} "]
    )
    for head in _heads(items, lexicon):
        for way in ways:
            found = _read(f"{which} {head} {way}{with_it if way and with_it != said else said}", lexicon, ask)
            if found is not None and (own := _own(found, families)) is not None:
                return own
    if within and not ones:
        for typed, item in _joined_on(said, items, lexicon):
            if (found := _of_the_feature(_read(typed, lexicon, ask), item, lexicon)) is not None:
                return found
        for typed, item in _with_nouns(said, items, lexicon):
            if (found := _of_the_feature(_read(typed, lexicon, ask), item, lexicon)) is not None:
                return found
    return None


def _plural(said: str, lexicon: Lexicon) -> str:
    """The words with a verb as it stands behind several: "doesn't have a ratchet" as "do not have" """
    parser, words = parser_for(said, lexicon), lexicon.words.keywords
    several = {words["be"][0]: words["be"][1], words["do"][0]: words["do"][1], words["have"][1]: words["have"][0]}
    first = parser.tokens[0] if parser.tokens else None
    if first is None or first.key not in several:
        return said
    denied = len(parser.tokens) > 1 and "kw.not" in parser.kinds(1)
    rest = said[(parser.tokens[1] if denied else first).end :]
    return f"{several[first.key]}{' ' + lexicon.word('not') if denied else ''}{rest}"


def _ones(said: str, lexicon: Lexicon) -> list[tuple[int, int]]:
    """Where a word such as "ones" stands in for a noun, in characters."""
    parser = parser_for(said, lexicon)
    at = [i for i in range(len(parser.tokens)) if any(end == i + 1 for end, es in parser.phrases(i) if _one(es))]
    return [parser.span(i) for i in at]


def _one(entries: Sequence[Entry]) -> bool:
    return any(e.kind == "kw.ones" for e in entries)


def _heads(items: Sequence[Expr], lexicon: Lexicon) -> list[str]:
    """What the words are said of: instruments, or those of the family of the list."""
    families = [i for i in items if isinstance(i, nodes.IsA)]
    return [plural(lexicon.word("instrument")), *(say_expr(i, lexicon) for i in families[:1])]


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


def _joined_on(said: str, items: Sequence[Expr], lexicon: Lexicon) -> Iterator[tuple[str, nodes.Has]]:
    """The words behind the beginning of a value before, from the word with which they begin: "over the whole length" after
    "serrated over part of the length"."""
    head, first = f"{lexicon.word('which')} {_heads(items, lexicon)[0]} {lexicon.word('be')}", said.split()[0].casefold()
    for item in reversed(items):
        if isinstance(item, nodes.Has) and item.feature in lexicon.vocabulary.features:
            words = lexicon.vocabulary.label(item.value).split()
            if first in words[1:]:
                yield f"{head} {' '.join(words[: words.index(first, 1)])} {said}", item


def _with_nouns(said: str, items: Sequence[Expr], lexicon: Lexicon) -> Iterator[tuple[str, nodes.Has]]:
    """The words with a noun of the last value before: in the place of "ones", or in front ("serrations that run across")."""
    have = lexicon.word("have")
    head = f"{lexicon.word('which')} {_heads(items, lexicon)[-1]}"
    ones = _ones(said, lexicon)
    for item in reversed(items):
        if not isinstance(item, nodes.Has) or item.feature not in lexicon.vocabulary.features:
            continue
        for noun in _nouns(item.value, lexicon):
            if ones:
                with_noun = said
                for start, end in reversed(ones):
                    with_noun = f"{with_noun[:start]}{noun}{with_noun[end:]}"
                yield f"{head} {with_noun}", item
                yield f"{head} {have} {with_noun}", item
            else:
                yield f"{head} {have} {noun} {lexicon.word('that')} {said}", item


def _nouns(value: str, lexicon: Lexicon) -> list[str]:
    """The nouns with which the names of a value end, in their plural first."""
    last = [name.split()[-1] for name in _names(value, lexicon) if " " in name]
    many = [w for w in dict.fromkeys(last) if w.endswith("s")]
    return [*many, *(w for w in dict.fromkeys(last) if w not in many)][:MOST_NOUNS]


def _of_the_feature(expr: Expr | None, item: nodes.Has, lexicon: Lexicon) -> Expr | None:
    """The one other value of the same feature that a description says, which is no broader one; else None."""
    said = (expr.items if isinstance(expr, nodes.And) else (expr,)) if expr is not None else ()
    items = [i for i in said if not isinstance(i, nodes.IsA)]
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


def of_a_sibling(said: str, items: Sequence[Expr], lexicon: Lexicon) -> Expr | None:
    """The one other value of a feature of the list that has all words of weight of a reply in one of its names ("and which run
    across?" after lengthwise); None if there is none, or if several have."""
    parser = parser_for(said, lexicon)
    every = {t.key for t in parser.tokens if t.key not in lexicon.words.articles}
    weighty = {t.key for i, t in enumerate(parser.tokens) if _weighs(parser.kinds(i)) or not parser.kinds(i) & _LEADS} & every
    if not weighty or parser.says(*_TURNING):
        return None
    return _sibling(every, items, lexicon) or _sibling(weighty, items, lexicon)


def _weighs(kinds: frozenset[str]) -> bool:
    """Whether a word says something of an instrument by itself."""
    return not kinds or any(not k.startswith(("kw.", "filler", "connector", "askend")) for k in kinds)


def _sibling(wanted: set[str], items: Sequence[Expr], lexicon: Lexicon) -> Expr | None:
    values_of = lexicon.vocabulary.values_of
    for item in reversed(items):
        if not isinstance(item, nodes.Has) or item.feature not in lexicon.vocabulary.features:
            continue
        fit = [
            v
            for v in values_of(item.feature)
            if v != item.value and any(wanted <= set(lexicon.keys(n)) for n in _names(v, lexicon))
        ]
        if len(fit) == 1:
            return nodes.Has(item.feature, fit[0])
        if fit:
            return None
    return None


def _names(value: str, lexicon: Lexicon) -> tuple[str, ...]:
    term = lexicon.vocabulary.terms[value]
    return (term.label, *term.alt, *term.hidden)


__all__ = ["Asked", "condition", "of_a_sibling"]
