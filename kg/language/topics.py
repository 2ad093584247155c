"""Questions that are understood well enough to say why they have no answer here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language.lexicon import Lexicon
from kg.language.otherwise import filled
from kg.language.parse import parser_for
from kg.language.tokens import NUMBER

if TYPE_CHECKING:
    from kg.language.parse_forms import FormParser
    from kg.language.talk import Talk


MOST_BEFORE = 4
"""So many words of a name stand before the one that is looked at."""
ANY_NUMBER = "#"
_NAMED = frozenset({"pattern", "category", "kind", "group", "kw.instrument"})
_SAID = frozenset({"pattern", "category", "kind", "value", "feature"})


def topic(text: str, lexicon: Lexicon, talk: Talk, error: QuestionError | None) -> QuestionError | None:
    """The refusal of a question that is understood well enough to say why it has no answer here; None if it is not. ``error``:
    what is raised else, before which some topics come last; None where only what the question is about is asked."""
    parser = parser_for(text, lexicon)
    tokens = parser.tokens
    keys = tuple(t.key for t in tokens)
    for entry in talk.topics:
        if entry.last and error is not None and error.code in ("BL-Q02", "BL-Q05"):
            continue
        for size in sorted({len(k) for k in entry.phrases}, reverse=True):
            for at in range(len(keys) - size + 1):
                if keys[at : at + size] in entry.phrases and not _part_of_a_name_at(parser, at, size):
                    span = (tokens[at].start, tokens[at + size - 1].end)
                    return QuestionError(entry.code, entry.message, question=text, span=span, hint=entry.hint)
    return None


def measure(text: str, lexicon: Lexicon, talk: Talk) -> QuestionError | None:
    """The refusal of what is asked of instruments with words that no reading in plain talk may pass over ("10 Fr", "5 mm in
    diameter"); None if there are none."""
    parser = parser_for(text, lexicon)
    tokens = parser.tokens
    if not any(parser.kinds(at) & _NAMED for at in range(len(tokens))):
        return None
    keys = tuple(ANY_NUMBER if t.kind == NUMBER else t.key for t in tokens)
    for entry in (t for t in talk.topics if t.early):
        for phrase in entry.phrases:
            for at in range(len(keys) - len(phrase) + 1):
                if keys[at : at + len(phrase)] == phrase and not _part_of_a_name_at(parser, at, len(phrase), _SAID):
                    span = (tokens[at].start, tokens[at + len(phrase) - 1].end)
                    return QuestionError(entry.code, entry.message, question=text, span=span, hint=entry.hint)
    return None


def no_length(text: str, talk: Talk) -> QuestionError:
    """The refusal of a measure that can be no length of an instrument ("10 mm trocars")."""
    entry = next(t for t in talk.topics if t.early)
    return QuestionError(entry.code, entry.message, question=text, span=(0, len(text.rstrip())), hint=entry.hint)


def _part_of_a_name_at(parser: FormParser, at: int, size: int, kinds: frozenset[str] = frozenset({"pattern"})) -> bool:
    """Whether words stand inside the longer name of an instrument ("cow" in "cow horn forceps"), or of another kind."""
    return any(
        end >= at + size and end - start > size and any(e.kind in kinds for e in entries)
        for start in range(max(0, at - MOST_BEFORE), at + 1)
        for end, entries in parser.phrases(start)
    )


def of_a_person(text: str, lexicon: Lexicon, talk: Talk) -> QuestionError | None:
    """The refusal of a question about somebody after whom an instrument is named ("how old was Halsted when he died?"), which
    no reading of the name as an instrument answers, or of how many of a family a set holds; None if it is none."""
    for entry in talk.topics:
        for _, words in filled([(f, "") for f in entry.frames], text, lexicon):
            if words and _is_name(next(iter(words.values())), lexicon, families="c" in words):
                return QuestionError(entry.code, entry.message, question=text, span=(0, len(text)), hint=entry.hint)
    return None


def _is_name(text: str, lexicon: Lexicon, *, families: bool) -> bool:
    """Whether a stretch is a name of instruments, or one of ``families`` of them, and no more."""
    parser = parser_for(text, lexicon)
    kinds = {"pattern", "category", "group", "kind"} if families else {"pattern"}
    return any(end == len(parser.tokens) and any(e.kind in kinds for e in es) for end, es in parser.phrases(0))


def in_passing(text: str, topic: QuestionError, talk: Talk) -> bool:
    """Whether words that ask for something to be made ("draw", "station") stand inside a question about something else."""
    before = text[: topic.span[0]].casefold().split()
    return topic.code == "BL-Q12" and not talk.bidding.issuperset(before)
