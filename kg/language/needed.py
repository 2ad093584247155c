"""What is needed for an operation, or is safe on a tissue, which no catalogue can say: what is recorded for it, or what it does
to tissue, is told instead, and the answer says so.

The wordings stand in ``[choosing.needs]`` and ``[choosing.safe]`` of the file of plain talk. Where a patient is spoken of, or
one is to be chosen, the question stays refused; a patient who only has the mouth or the skin that is spoken of is no such one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from contextvars import ContextVar
from functools import partial
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.lexicon import Lexicon
from kg.language.otherwise import EITHER, filled
from kg.language.parse import parser_for
from kg.language.readings import Understood, read

if TYPE_CHECKING:
    from kg.language.before import Before
    from kg.language.talk import Talk
    from kg.language.tokens import Token

_ASKED_SO: ContextVar[bool] = ContextVar("asked of anyone", default=False)
_WHETHER = frozenset({"kw.be", "kw.do", "kw.can", "kw.have", "kw.and"})
MOST_SAID = 2
"""Of so many ages and animals, and of so many countries, a question speaks at most: each is left out in turn."""
MOST_BETWEEN = 4
"""So far behind "on" or "in" at most stands who it is ("in a very small child")."""


def told_all_the_same(
    text: str, lexicon: Lexicon, talk: Talk, ask: Callable[..., Understood], before: Before | None
) -> Understood | None:
    """What can be told of a question that sounds like one for advice and is none, asked by ``ask`` where it is put otherwise;
    else None."""
    if (needed := needed_for(text, lexicon, talk)) is not None:
        return needed
    less = without_patient(text, lexicon, talk)
    with suppress(QuestionError):
        return ask(less, lexicon, lambda: talk, before) if less else None
    return None


def needed_for(text: str, lexicon: Lexicon, talk: Talk) -> Understood | None:
    """The list of what is recorded for an operation or a deed, where it is asked what is needed for it; what an instrument does
    to tissue, where it is asked whether it is safe there; else None."""
    told = nodes.Filter | nodes.Holds | nodes.Quantified | nodes.Compare
    several: QuestionError | None = None
    for table, wanted, untold in ((talk.needs, nodes.Filter, talk.no_need), (talk.safe, told, talk.no_word_on_safety)):
        for new, words in filled(table, text, lexicon):
            for said in new.split(EITHER):
                try:
                    question = read(said.strip().format(**words), lexicon)
                    if isinstance(question, wanted):
                        return Understood(question, untold=untold)
                except QuestionError as error:
                    several = several or (error if error.code == "BL-Q05" else None)
    if several is not None:
        raise several
    return None


def without_patient(text: str, lexicon: Lexicon, talk: Talk) -> str | None:
    """A question without a patient who is only where something is ("the patient's mouth", "left in the patient"); None if
    there is none, or if it asks for advice by another word too."""
    tokens = parser_for(text, lexicon).tokens
    keys = tuple(t.key for t in tokens)
    for put, phrases in (("the", talk.patients), ("", talk.patient)):
        for phrase in sorted(phrases, key=len, reverse=True):
            at = next((i for i in range(len(keys)) if keys[i : i + len(phrase)] == phrase), -1)
            last = tokens[at + len(phrase) - 1] if at >= 0 else None
            if last is not None and (put != "") == any(mark in text[last.start : last.end] for mark in "'\u2019"):
                less = " ".join(f"{text[: tokens[at].start]} {put} {text[last.end :]}".split())
                with suppress(QuestionError):
                    parser_for(less, lexicon).refuse_advice()
                    return less
    return None


def on_occasion(
    text: str, lexicon: Lexicon, talk: Talk, before: Before | None, understand: Callable[..., Understood]
) -> Understood | None:
    """What is asked without what it is asked for ("for our syllabus"), if ``understand`` reads that whole; else None."""
    from kg.language.scene import without_occasion

    ask = partial(understand, lexicon=lexicon, talk=lambda: talk, whole=True, hand=False)
    return whoever(text, lexicon, talk, ask) or without_occasion(text, lexicon, talk, partial(ask, before=before))


def whoever(text: str, lexicon: Lexicon, talk: Talk, ask: Callable[[str], Understood]) -> Understood | None:
    """What is asked of a child, an adult or an animal, asked of anyone by ``ask``, with a note on it; else None. Where only the
    animal bounds the question ("can it be used on dogs?"), it is asked of veterinary surgery. So also what is asked of an
    American or a British name, of the name."""
    if _ASKED_SO.get():
        return None
    inside = _ASKED_SO.set(True)  # what is left is asked once, and nothing more is left out of it
    try:
        return _whoever(text, lexicon, talk, ask)
    finally:
        _ASKED_SO.reset(inside)


def _whoever(text: str, lexicon: Lexicon, talk: Talk, ask: Callable[[str], Understood]) -> Understood | None:
    parser = parser_for(text, lexicon)
    tokens = parser.tokens
    # Yes or no is asked of veterinary surgery; "in cows only" is more than in veterinary surgery only.
    whether = bool(tokens) and not parser.kinds(0).isdisjoint(_WHETHER) and not parser.says("kw.only")
    spoken_of = [i for i, t in enumerate(tokens) if t.key in talk.ages | talk.animals | talk.of_animals]
    for at in spoken_of if len(spoken_of) <= MOST_SAID else ():
        if any(t.start == tokens[at].start for t in (*tokens[max(at - 1, 0) : at], *tokens[at + 1 : at + 2])):
            continue  # "cowhorn" is one word
        vets = talk.vets if tokens[at].key in talk.animals and whether else ()
        for put in ("", *vets):
            if (less := _without(text, tokens, at, talk, put)) is None:
                continue
            with suppress(QuestionError):
                found = ask(less)
                if tokens[at].key not in talk.ages and isinstance(found.question, nodes.Value):
                    continue  # "which retractors are used on cats?"
                if put and not isinstance(found.question, nodes.Holds | nodes.Quantified):
                    continue
                if isinstance(getattr(found.question, "expr", None), nodes.Everything):
                    continue  # "instruments for children" asks for nothing else
                if found.doubtful is None and found.unread is None and not found.in_hand:
                    return found._replace(untold=talk.no_age if tokens[at].key in talk.ages else talk.no_animal)
    said = [t for t in tokens if t.key in talk.usage]
    with suppress(QuestionError):
        found = ask(_less(text, said)) if 0 < len(said) <= MOST_SAID else None
        if found is not None and isinstance(found.question, nodes.Define | nodes.DefineAll) and found.unread is None:
            return found._replace(untold=talk.no_usage)
    return None


def _less(text: str, tokens: Sequence[Token]) -> str:
    """A text without some of its words."""
    for token in reversed(tokens):
        text = f"{text[: token.start]}{text[token.end :].lstrip()}"
    return text


def _without(text: str, tokens: Sequence[Token], at: int, talk: Talk, put: str = "") -> str | None:
    """A text without whom the word at ``at`` speaks of: the word alone where it says of which animal something is ("equine",
    "a horse's hoof"), else all from the word before it that says on whom, with ``put`` in its place; None if there is none."""
    told = tokens[at]
    owner = told.key in talk.animals and any(mark in text[told.start : told.end] for mark in "'\u2019")
    if owner or told.key in talk.of_animals:
        if put:
            return None
        return f"{text[: told.start]}{text[told.end :].lstrip()}"
    start = next((i for i in range(at - 1, max(at - MOST_BETWEEN, 0), -1) if tokens[i].key in talk.on_whom), 0)
    return f"{text[: tokens[start].start].rstrip()} {put}".rstrip() + text[told.end :] if start else None
