"""How many of a part one instrument of a family has: "how many joints does a needle holder have?"

The grammar reads "how many" as a count of instruments, so that the part before the family would only narrow them. Numbers of
parts are recorded of few (teeth, prongs, blades, pieces): what a frame says of these is asked, the rest is refused with the
reason.
"""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.parse import parser_for

if TYPE_CHECKING:
    from kg.language.lexicon import Lexicon
    from kg.language.nodes import Question
    from kg.language.talk import Talk

_FAMILY = frozenset(("category", "kind", "group", "pattern"))
_VERBS = frozenset(("kw.do", "kw.have"))


def part_counted(text: str, question: Question, lexicon: Lexicon) -> bool:
    """Whether a count of instruments was read where a part is counted: it stands behind "how many", with the verb behind it,
    and the family behind that."""
    if not isinstance(question, nodes.Count):
        return False
    parser = parser_for(text, lexicon)
    tokens = parser.tokens
    at = next((end for end, entries in parser.phrases(0) if any(e.kind == "kw.count" for e in entries)), 0)
    if not at or at >= len(tokens) or parser.kinds(at) & {"category", "kind"}:
        return False
    ends = [end for end, entries in parser.phrases(at) if any(e.kind in ("part", "value") for e in entries)]
    if not ends:
        return False
    verb = ends[0]
    if verb + 1 >= len(tokens) or parser.kinds(verb).isdisjoint(_VERBS):
        return False
    if tokens[verb + 1].key in lexicon.words.articles and "kw.have" in parser.kinds(verb):
        return True  # "how many teeth has a rake?"
    return any(parser.kinds(i) & _FAMILY for i in range(verb + 1, len(tokens)))


def of_counted_parts(text: str, lexicon: Lexicon, talk: Talk) -> Question:
    """What a frame says is asked. Raises QuestionError if none does, as a topic does where one is known."""
    from kg.language.otherwise import framed
    from kg.language.readings import read
    from kg.language.topics import topic

    for same in framed(text, lexicon, talk):
        with suppress(QuestionError):
            return read(same, lexicon)
    raise topic(text, lexicon, talk, None) or parser_for(text, lexicon).failure()
