"""A part of the one instrument that went before, asked about with "the": "does a Weitlaner have prongs?", "are the prongs
sharp?"; its prongs are meant, and not those of all instruments."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.language import nodes
from kg.language.parse import parser_for

if TYPE_CHECKING:
    from kg.language.before import Before
    from kg.language.lexicon import Lexicon
    from kg.language.talk import Talk

_ASKING = frozenset(("kw.be", "kw.do", "kw.have"))
_NAMES = frozenset(("pattern",))
_SAID = frozenset(("value", "part", "wide"))
_BEFORE = (nodes.Holds, nodes.Why, nodes.Value, nodes.Describe, nodes.Define, nodes.PartOf)


def with_its(text: str, lexicon: Lexicon, talk: Talk, before: Before) -> tuple[tuple[str, ...], str]:
    """The text with "its" for "the" or the other way round ("does it have longitudinal serrations?"), and the instrument
    that is meant; nothing where no part of one is spoken of."""
    subjects, terms = before.subjects(lexicon), lexicon.vocabulary.terms
    if len(subjects) != 1 or not isinstance(before.question, _BEFORE) or terms[subjects[0]].role != "pattern":
        return (), ""
    parser = parser_for(text, lexicon)
    tokens, at = parser.tokens, 0
    while at < len(tokens) - 1 and tokens[at].key in talk.joins:
        at += 1
    if at + 3 >= len(tokens) or not parser.kinds(at) & _ASKING or tokens[at + 1].key not in talk.definite:
        return (), ""
    ends = [end for end, es in parser.phrases(at + 2) if any(e.kind in ("part", "value") for e in es)]
    if not ends or parser.says("kw.it", "kw.them"):
        return (), ""
    behind = [parser.kinds(i) for i in range(max(ends), len(tokens))]
    if not behind or any("kw.of" in k or (k & _NAMES and not k & _SAID) for k in behind):
        return (), ""  # "are the jaws of a Kelly curved?"
    the, last = tokens[at + 1], tokens[max(ends) - 1]
    ways = [f"{text[: the.start]}{talk.its}{text[the.end :]}"]
    if "kw.be" in parser.kinds(at):
        noun, rest = text[tokens[at + 2].start : last.end], text[last.end :].strip(" ?.!")
        ways.append(f"{lexicon.word('do')} {lexicon.word('it')} {lexicon.word('have')} {rest} {noun}?")
    return tuple(ways), subjects[0]


def is_of(question: nodes.Question, one: str) -> bool:
    """Whether a question is about that instrument."""
    if not isinstance(question, nodes.Holds | nodes.Value | nodes.Describe | nodes.PartOf):
        return False
    return one in (getattr(question, "pattern", ""), getattr(question, "subject", ""))


__all__ = ["is_of", "with_its"]
