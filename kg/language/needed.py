"""What is needed for an operation, which no catalogue can say: what is recorded for it is told instead, and the answer says so.

The wordings stand in ``[choosing.needs]`` of the file of plain talk. Where a patient is spoken of, or one is to be chosen, the
question stays refused.
"""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.lexicon import Lexicon
from kg.language.otherwise import EITHER, filled
from kg.language.readings import Understood, read

if TYPE_CHECKING:
    from kg.language.talk import Talk


def needed_for(text: str, lexicon: Lexicon, talk: Talk) -> Understood | None:
    """The list of what is recorded for an operation or a deed, where it is asked what is needed for it; else None."""
    for new, words in filled(talk.needs, text, lexicon):
        for said in new.split(EITHER):
            with suppress(QuestionError):
                question = read(said.strip().format(**words), lexicon)
                if isinstance(question, nodes.Filter):
                    return Understood(question, untold=talk.no_need)
    return None
