"""What a question that was refused leaves behind for the next: the one instrument or family that it names is "it" then, or the
two are "they", and not what was spoken of before."""

from __future__ import annotations

from contextlib import suppress

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.before import Before
from kg.language.lexicon import Lexicon
from kg.language.loose import SUBJECTS, named, term_at
from kg.language.parse import parser_for


def left_by(text: str, lexicon: Lexicon) -> Before | None:
    """What went before a question that follows on a refused one: the instrument or the family that it names; nothing to speak
    of where it names more than two, or one that only the person can tell. None if it names none."""
    if not text:
        return None
    parser = parser_for(text, lexicon)
    places: list[tuple[int, int]] = []
    at = 0
    while at < len(parser.tokens):
        phrase = term_at(parser, at)
        if phrase is not None and any(e.kind in SUBJECTS for e in phrase[1]):
            places.append((at, phrase[0]))
        at = max(phrase[0] if phrase is not None else 0, at + 1)
    if not places:
        return None
    with suppress(QuestionError):
        subjects = tuple(dict.fromkeys(named(parser, places)))
        if len(subjects) == 1:
            return Before(nodes.Define(subjects[0]), subjects, shown=subjects)
        if len(subjects) == 2 and all(lexicon.vocabulary.terms[s].role == "pattern" for s in subjects):
            return Before(nodes.Compare(subjects), subjects, shown=subjects)
    return Before()


__all__ = ["left_by"]
