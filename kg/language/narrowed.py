"""Replies that narrow the list before in plain talk: "only those with a pronged end", "leave out the ones for children".

What the list is narrowed by is asked for by itself, of all instruments; so it is read as any other question is.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.before import LISTS, SEVERAL, Before, set_of, the_whole
from kg.language.gist import speaks_of_the_list
from kg.language.joined import features_of, joined
from kg.language.joining import conj, names_family
from kg.language.lexicon import Lexicon
from kg.language.nodes import Question
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.records import replace

if TYPE_CHECKING:
    from kg.language.readings import Understood
    from kg.language.talk import Talk


def narrowed(text: str, lexicon: Lexicon, before: Before, ask: Callable[[str], Understood]) -> Understood | None:
    """The list before, narrowed or lessened; None if the text does neither. ``ask`` reads a question by itself."""
    texts, without = narrowing(text, lexicon, before) or ((), False)
    for asked in texts:
        with suppress(QuestionError):
            found = ask(asked)
            if found.in_hand or found.doubtful is not None:
                continue
            if (less := narrowed_to(found.question, without, lexicon, before)) is not None:
                return found._replace(question=less)
    return None


def narrowing(text: str, lexicon: Lexicon, before: Before) -> tuple[tuple[str, ...], bool] | None:
    """What a reply narrows the list before to, as questions for all that are so ("only those with a pronged end"), or what it
    leaves out (then True); None if it does neither."""
    if not isinstance(before.question, (*LISTS, *SEVERAL)):
        return None
    parser = parser_for(text, lexicon)
    without = bool(parser.take("kw.leave_out", "kw.except"))
    if not without and not parser.take("kw.only"):
        return None
    while parser.take("kw.them", "kw.ones", "kw.any", "kw.that", quiet=True):
        pass
    if parser.at >= len(parser.tokens):
        return None
    rest = text[parser.tokens[parser.at].start :]
    which = f"{lexicon.word('which')} {lexicon.word('instrument')}s"
    return (f"{which} {lexicon.word('be')} {rest}", f"{which} {lexicon.word('have')} {rest}", f"{which} {rest}"), without


def narrowed_to(question: Question, without: bool, lexicon: Lexicon, before: Before) -> Question | None:
    """The list before with a new condition or without those that are so; None for a question of a family of its own."""
    before = the_whole(before, lexicon)
    old = before.expr(lexicon)
    if not isinstance(question, nodes.Filter) or old is None:
        return None
    if names_family(question.expr):
        return None
    return nodes.Filter(conj([old, nodes.Not(question.expr)]) if without else joined(old, question.expr, True, lexicon))


def of_the_list_before(text: str, question: Question, lexicon: Lexicon, talk: Talk, before: Before) -> Question | None:
    """ "The straight ones?", "which are for eyes?", "any with teeth?", "how many are curved?" after a list: that list with the
    new condition, where no family is named and no instruments are asked for, or where the list itself is spoken of ("which
    forceps in that list have teeth?"); None for a question of its own."""
    if not isinstance(before.question, nodes.Extreme):
        before = the_whole(before, lexicon)
    old = before.expr(lexicon)
    parser = parser_for(text, lexicon)
    if not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(before.question, LISTS) or old is None:
        return None
    if isinstance(question.expr, nodes.Everything | nodes.Named | nodes.CalledAfter):
        return None
    if speaks_of_the_list(text, lexicon, talk):
        return type(question)(conj([old, question.expr]))
    named = names_family(question.expr)
    if not parser.tokens or (named and not _says_what_they_are(parser)):
        return None
    if named:
        return nodes.Filter(conj([old, question.expr]))
    ones = [at for at in range(len(parser.tokens)) if "kw.instrument" in parser.kinds(at)]
    asked = _asks_of_them(parser, lexicon)
    if any("kw.ones" not in parser.kinds(at) for at in ones) or not (ones or asked):
        return None
    ended = _only_ends(parser, asked)
    narrower = (asked and not ended and not _in_its_place(parser, old, question.expr)) or parser.says("kw.only")
    new = joined(old, question.expr, narrower, lexicon)
    if isinstance(question, nodes.Count):
        return nodes.Count(new)
    return nodes.Filter(new) if asked else replace(before.question, **{set_of(before.question): new})


def _says_what_they_are(parser: FormParser) -> bool:
    """Whether a text begins with "which are": a family behind it is what some of the list are, and none of its own."""
    parser.at = 0
    parser.take("kw.and", quiet=True)
    at, tokens = parser.at, parser.tokens
    if any(t.key in parser.lexicon.words.articles for t in tokens[at + 2 : at + 3]):
        return False  # "which are the scissors for sutures?"
    return at + 1 < len(tokens) and "kw.which" in parser.kinds(at) and "kw.be" in parser.kinds(at + 1)


_VERBS = frozenset(("kw.be", "kw.have", "kw.do", "kw.can"))
_BARE = frozenset(("connector", "kw.with", "kw.without", "kw.no"))
SHORT = 4
"""A reply of so many words that begins as an end of a question does ("for the liver?", "curved?") narrows the list before."""


def _only_ends(parser: FormParser, asked: bool) -> bool:
    """Whether a reply only ends as a question does ("and for the ear?", "in the nose?"): another place takes that of the one
    before. ``asked``: it asks of the list before."""
    parser.at = 0
    parser.take("kw.and", quiet=True)
    first = parser.kinds(parser.at) if parser.at < len(parser.tokens) else frozenset()
    short = asked and len(parser.tokens) <= SHORT and "kw.place" in first and not first & _VERBS
    return bool(first & _BARE) or short


def _in_its_place(parser: FormParser, old: nodes.Expr, new: nodes.Expr) -> bool:
    """Whether a reply that goes on ("and broad ones?") says another value of a feature of which the list before has one."""
    said = {f for i in getattr(old, "items", (old,)) for f in features_of(i)}
    return bool(parser.kinds(0) & {"kw.and", "kw.and_what_of"}) and bool(features_of(new) & said)


def _asks_of_them(parser: FormParser, lexicon: Lexicon) -> bool:
    """Whether a text asks of a list that it does not name: "which are ...", "how many have ...", "any with teeth?" """
    tokens = parser.tokens
    parser.at = 0
    parser.take("kw.and", quiet=True)
    start = parser.at
    if start >= len(tokens) or tokens[start].key == lexicon.word("which"):
        return start < len(tokens)
    if parser.take("kw.count", quiet=True):
        few = len(tokens) - parser.at <= SHORT and parser.text.rstrip().endswith("?")  # "how many blunt-blunt?"
        return parser.at < len(tokens) and (few or bool(parser.kinds(parser.at) & _VERBS))
    parser.take(*_VERBS, quiet=True)
    if parser.take("kw.any", quiet=True) and parser.at < len(tokens):
        return True
    begins = parser.kinds(start) & (
        _BARE | {"value", "wide", "part", "kw.all"} if parser.text.rstrip().endswith("?") else _BARE
    )
    return len(tokens) <= SHORT and (bool(begins) or any(k.startswith("op.") for k in parser.kinds(start)))


__all__ = ["narrowed", "of_the_list_before"]
