"""What a list is asked for with the reason for it, or said twice: "scissors with a blunt tip, so that nothing beneath is cut",
"which are single use, i.e. thrown away?"

A clause that says what something is good for bounds nothing that is recorded, nor does one that says the same again. It is set
aside where all that stands before it is read, and says more than a family; the answer names the words that were not read.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.lexicon import Lexicon
from kg.language.nodes import Question
from kg.language.parse import parser_for
from kg.language.tokens import SYMBOL

if TYPE_CHECKING:
    from kg.language.readings import Understood
    from kg.language.talk import Talk

FEWEST = 2
"""A clause of so many words at least says why."""
MOST_MEANWHILE = 4
"""What is done meanwhile is said in so many words, on each side of its verb."""


def without_aim(text: str, lexicon: Lexicon, talk: Talk) -> Understood | None:
    """A list without the clause that says why it is wanted so, if all the rest is understood; else None."""
    from kg.language.otherwise import said_otherwise
    from kg.language.understand import alone, in_other_words

    parted = [
        p for said in dict.fromkeys((said_otherwise(text, lexicon, talk) or text, text)) for p in _parted(said, lexicon, talk)
    ]
    with suppress(QuestionError):
        more = in_other_words(text, lexicon, talk, short=True) if parted else None
        if more is not None and not isinstance(more, QuestionError):
            return more
    for rest, clause, told in parted:
        with suppress(QuestionError):
            found = alone(rest, lexicon, lambda: talk)
            if found.doubtful is None and not found.in_hand and not found.untold and _bounded(rest, found.question, lexicon):
                return found._replace(untold=told.format(words=clause))
    return None


def _parted(text: str, lexicon: Lexicon, talk: Talk) -> Iterator[tuple[str, str, str]]:
    """(the question before the clause, the clause as typed, what is told of it), for each place where such a clause may begin,
    the first last."""
    tokens = parser_for(text, lexicon).tokens
    keys = [t.key for t in tokens]
    for at in range(len(tokens) - 1, FEWEST, -1):
        if _while_done(keys, at, talk) and not set(keys[at + 1 :]) & talk.aims_never:
            yield text[: tokens[at].start].rstrip(" ,;:-") + "?", text[tokens[at].start :].strip(" ?.!"), talk.no_aim
            continue
        for words in (*talk.aims, *talk.aims_last, *talk.restating):
            more = any(t.kind != SYMBOL for t in tokens[at + len(words) :])  # "when suturing", not "when suturing the eye"
            if (
                tuple(keys[at : at + len(words)]) == words
                and len(tokens) - at >= FEWEST
                and not (words in talk.aims_last and more)
            ):
                clause = text[tokens[at].start :].strip(" ?.!")
                if "," not in clause and not set(keys[at + len(words) :]) & talk.aims_never:
                    told = talk.restated if words in talk.restating else talk.no_aim
                    yield text[: tokens[at].start].rstrip(" ,;:-") + "?", clause, told
                break


def _while_done(keys: list[str], at: int, talk: Talk) -> bool:
    """Whether a clause at ``at`` only says when: something is done meanwhile, to "it" or to a thing of few words ("while it is
    being plated", "while a graft is sewn in")."""
    behind = keys[at + 1 :]
    verbs = [i for i, key in enumerate(behind) if key in talk.aims_done]
    if keys[at] not in talk.aims_while or not verbs or not 0 < verbs[0] <= MOST_MEANWHILE:
        return False
    return verbs[0] < len(behind) - 1 and len(behind) - verbs[0] <= MOST_MEANWHILE and "not" not in behind


def _bounded(rest: str, question: Question, lexicon: Lexicon) -> bool:
    """Whether a list is asked for by more than a family, or how one instrument is reprocessed."""
    if isinstance(question, nodes.Reprocessing):
        return True
    parser = parser_for(rest, lexicon)
    said = any(parser.kinds(at) & {"value", "part", "wide"} for at in range(len(parser.tokens)))
    return said and isinstance(question, nodes.Filter) and not isinstance(question.expr, nodes.Named)
