"""One question for each of a family ("for every clamp, which tissue is it meant to hold?"): the family in groups.

The wordings stand in ``[each]`` of the file of plain talk. They are looked at before the words behind the comma are taken for
what bounds the family.
"""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.otherwise import filled
from kg.language.readings import read

if TYPE_CHECKING:
    from kg.language.lexicon import Lexicon
    from kg.language.talk import Talk


def of_each(text: str, lexicon: Lexicon, talk: Talk) -> nodes.Group | nodes.Tally | None:
    """The groups, or how many are in each, that are asked for; None if nothing is asked of each of a family."""
    for new, words in filled(talk.each, text, lexicon):
        with suppress(QuestionError):
            question = read(new.format(**words), lexicon)
            if isinstance(question, nodes.Group | nodes.Tally):
                return question
    return None
