"""Questions that are understood well enough to say why they have no answer here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language.lexicon import Lexicon
from kg.language.parse import parser_for

if TYPE_CHECKING:
    from kg.language.talk import Talk


def topic(text: str, lexicon: Lexicon, talk: Talk, error: QuestionError) -> QuestionError | None:
    """The refusal of a question that is understood well enough to say why it has no answer here; None if it is not."""
    tokens = parser_for(text, lexicon).tokens
    keys = tuple(t.key for t in tokens)
    for entry in talk.topics:
        if entry.last and error.code in ("BL-Q02", "BL-Q05"):
            continue
        for size in sorted({len(k) for k in entry.phrases}, reverse=True):
            for at in range(len(keys) - size + 1):
                if keys[at : at + size] in entry.phrases:
                    span = (tokens[at].start, tokens[at + size - 1].end)
                    return QuestionError(entry.code, entry.message, question=text, span=span, hint=entry.hint)
    return None


def in_passing(text: str, topic: QuestionError, talk: Talk) -> bool:
    """Whether words that ask for something to be made ("draw", "station") stand inside a question about something else."""
    before = text[: topic.span[0]].casefold().split()
    return topic.code == "BL-Q12" and not talk.bidding.issuperset(before)
