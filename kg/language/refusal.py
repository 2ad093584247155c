"""A refusal that helps: at the first word that weighs, with what could be answered of the question."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language.halved import halved
from kg.language.islands import readable
from kg.language.lexicon import Lexicon
from kg.language.lighter import refused
from kg.language.parse import parser_for
from kg.language.say import say

if TYPE_CHECKING:
    from kg.language.talk import Talk


def helpful(error: QuestionError, text: str, lexicon: Lexicon, talk: Talk) -> QuestionError:
    """The refusal at the first word that weighs, not at one of no weight, and with what could be read without such words."""
    parser = parser_for(text, lexicon)
    if error.code in ("BL-Q02", "BL-Q03") and (joined := halved(parser)) is not None:
        return joined
    if error.code in ("BL-Q02", "BL-Q03") and (missing := parser.unknown_name()) is not None:
        return missing
    if error.code == "BL-Q02" and talk.says_nothing(lexicon.folder.key(text[slice(*error.span)].casefold())):
        error = parser.unknown(talk.says_nothing) or refused(parser, talk) or error
    if error.code not in ("BL-Q02", "BL-Q03") or error.hint:
        return error
    found = readable(parser, talk)
    if found is None:
        return error
    offer = say(found, lexicon)
    hint = f'What could be answered of this: "{offer}".'
    return QuestionError(
        error.code,
        error.message,
        question=text,
        span=error.span,
        expected=error.expected,
        near=error.near,
        readings=error.readings,
        hint=hint,
        offer=offer,
    )
