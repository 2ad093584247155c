"""Replies that set another instrument beside what went before, or what went before side by side: "and from a Pean?", "why not a
Kocher?", "could it be an Allis?", "which is gentler?"
"""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.joining import conj
from kg.language.nodes import Question
from kg.records import replace

if TYPE_CHECKING:
    from kg.language.before import Before
    from kg.language.lexicon import Lexicon
    from kg.language.replies import Reply
    from kg.language.talk import Talk

_BY_NAME = "Ask with the full name."
MOST_BESIDE = 4
"""So many instruments of a list at most are set beside one by name."""
CANDIDATES = 3
"""So many of those that an instrument in the hand may be are set beside another."""
_TRIED = (nodes.Holds, nodes.Filter, nodes.Count)


def beside(said: str, reply: Reply) -> Question | None:
    """ "And from a Pean?" after two were compared: the first of them with that one; "how do I tell it from a Crile?" after a
    list of a few, or of an instrument in the hand: all of these with it, or the likeliest"""
    from kg.language.replies import meant, of_all_named

    other = named(said, reply)
    whole = of_all_named(reply.before, reply.lexicon)
    each = meant(whole, reply.lexicon)
    if isinstance(reply.before.question, nodes.Compare | nodes.Contrast):
        each = each[:1]
    elif len(subjects := reply.before.subjects(reply.lexicon)) == 1:
        each = subjects
    elif isinstance(reply.before.question, nodes.Identify):
        each = reply.before.names[:CANDIDATES]
    each = tuple(n for n in each if n != other)
    return nodes.Compare((*each, other)) if other and 0 < len(each) <= MOST_BESIDE else None


def with_all(said: str, reply: Reply) -> Question | None:
    """ "Compared with an Adson?": that one beside all that were compared, or beside the one that went before"""
    from kg.language.replies import meant, of_all_named

    other = named(said, reply)
    one = reply.before.subjects(reply.lexicon)
    each = one if len(one) == 1 else meant(of_all_named(reply.before, reply.lexicon), reply.lexicon)
    each = tuple(n for n in each if n != other)
    return nodes.Compare((*each, other)) if other and 0 < len(each) <= MOST_BESIDE else None


def why_not(said: str, reply: Reply) -> Question | None:
    """ "Why not a Kocher?" after "which clamps are used on bowel?" or a yes or no: why that one is not so; after an instrument
    in the hand: what speaks for and against it"""
    from kg.language.replies import said_of

    question = reply.before.question
    if isinstance(question, nodes.Identify):
        return claimed(said, reply)
    other = named(said, reply)
    if not other or not isinstance(question, _TRIED):
        return None
    if isinstance(question, nodes.Holds):
        asked = question.expr
    elif (found := said_of(reply.before, reply.lexicon)) is not None:
        asked = conj(found[1])
    else:
        return None
    denied = isinstance(asked, nodes.Not)
    return nodes.Why(other, asked.expr if isinstance(asked, nodes.Not) else asked, not denied)


def claimed(said: str, reply: Reply) -> Question | None:
    """ "Could it be an Allis?" of an instrument in the hand: what speaks for and against that name"""
    question = reply.before.question
    other = named(said, reply) if isinstance(question, nodes.Identify) else ""
    return replace(question, claim=other) if other else None


def weighed(text: str, lexicon: Lexicon, talk: Talk, before: Before) -> Question | None:
    """ "Which is gentler?" after two that were named, in whatever way: both compared, by which the degree is told"""
    from kg.language.degrees import said as degree_said
    from kg.language.parse import parser_for

    two, parser = both(before, lexicon), parser_for(text, lexicon)
    led = 1 if "kw.and" in parser.kinds(0) else 0  # "and which is gentler?"
    if len(two) != 2 or "kw.which" not in parser.kinds(led) or _names_one(text, lexicon):
        return None
    found = degree_said(text, lexicon, talk)
    if found is None or found.than or found.degree.length:
        return None
    return nodes.Compare(two)


def both(before: Before, lexicon: Lexicon) -> tuple[str, ...]:
    """The two patterns that a conversation is about: set side by side, or of which the same was asked one after the other; none
    where it is about more, or about families."""
    from kg.language.replies import meant, of_all_named

    one = before.subjects(lexicon) if before.others else ()
    each = tuple(dict.fromkeys((*before.others, *one))) if len(one) == 1 else meant(of_all_named(before, lexicon), lexicon)
    terms = lexicon.vocabulary.terms
    return each if len(each) == 2 and all(terms[e].role == "pattern" for e in each) else ()


def named(said: str, reply: Reply) -> str:
    """The one instrument that a few words name and say nothing more of, of several the one that is usually meant; empty if
    there is none. Raises QuestionError (BL-Q05) for a name of several of which none is."""
    from kg.language.company import usually_meant

    def asked(question: str) -> str:
        found = reply.alone(question).question
        if isinstance(found, nodes.Filter) and isinstance(found.expr, nodes.Named):
            return found.expr.pattern
        one = isinstance(found, nodes.Define) and reply.lexicon.vocabulary.terms[found.term].role == "pattern"
        return found.term if one else ""  # type: ignore[union-attr]

    try:
        return asked(f"{reply.lexicon.word('whatis')} {said}")
    except QuestionError as error:
        if error.code != "BL-Q05":
            return ""
        with suppress(QuestionError):
            if usual := usually_meant(error, reply.lexicon):
                return asked(usual)
        raise QuestionError(error.code, error.message, question=reply.text, hint=_BY_NAME) from None


def _names_one(text: str, lexicon: Lexicon) -> bool:
    from kg.language.parse import parser_for

    return parser_for(text, lexicon).says("pattern", "category")


__all__ = ["beside", "both", "claimed", "named", "weighed", "why_not", "with_all"]
