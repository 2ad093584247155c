"""Questions for a reason that nobody recorded, of parts, signs and families and not of one instrument: "how come eye scissors
have spring handles?"

Read last of all. The answer is what the words mean that are named, with the note that the reason is not on record and with the
words that were not read. It decides nothing, so a word that turns a question round is only told. A list that is asked for, a
word that might be the name of an instrument, or a misspelt one leave the question unread; so do families alone beside more
words than one that are not read.
"""

from __future__ import annotations

from typing import NamedTuple

from kg.language import nodes
from kg.language.about import misspelt
from kg.language.entries import Entry
from kg.language.framing import Key
from kg.language.lexicon import Lexicon
from kg.language.loose import asked_for, uses_of
from kg.language.meaning import FAMILIES, named_at
from kg.language.nodes import Question
from kg.language.otherwise import said_otherwise
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.talk import Talk
from kg.language.tokens import NUMBER, SYMBOL, WORD

MOST_TERMS, MOST_UNREAD = 4, 4
_TERMS = ("part", "value", "concept")


class Reason(NamedTuple):
    """The question for what the words mean, the words that were not read, and why no reason is told."""

    question: Question
    unread: tuple[str, ...]
    untold: str


def reason_asked(text: str, lexicon: Lexicon, talk: Talk) -> Reason | None:
    """The question as one for a reason, to be answered with what its words mean; None if it is none."""
    for said in dict.fromkeys((said_otherwise(text, lexicon, talk) or text, text)):
        parser = parser_for(said, lexicon)
        keys = tuple(t.key for t in parser.tokens)
        for topic in talk.topics:
            asked = [k for k in topic.phrases if topic.partly and _within(k, keys)]
            if asked and (found := _named(parser, talk, asked)) is not None:
                terms, unread = found
                question = nodes.Define(terms[0]) if len(terms) == 1 else nodes.DefineAll(terms)
                return Reason(question, unread, topic.message)
    return None


def _within(phrase: Key, keys: Key) -> bool:
    return any(keys[at : at + len(phrase)] == phrase for at in range(len(keys)))


def _named(parser: FormParser, talk: Talk, asked: list[Key]) -> tuple[tuple[str, ...], tuple[str, ...]] | None:
    """The terms that a question names, parts and signs first, and the words that are not read; None if that is no answer."""
    tokens, at = parser.tokens, 0
    keys = tuple(t.key for t in tokens)
    terms: dict[str, None] = {}
    families: dict[str, None] = {}
    used_last = False  # what it is used on comes last: "never be closed on a ureter"
    unread: dict[str, None] = {}
    groups: dict[str, None] = {}
    back = False  # a word that speaks of what went before
    while at < len(tokens):
        phrase = max((len(k) for k in asked if keys[at : at + len(k)] == k), default=0)
        end, entries = named_at(parser, at, _TERMS)
        if phrase or tokens[at].kind == SYMBOL:
            at += phrase or 1
            continue
        if entries:
            kinds = {e.kind for e in entries}
            if not kinds & {*_TERMS, *FAMILIES}:
                return None  # an instrument
            if parser.says("kw.which") and kinds & set(FAMILIES) and asked_for(parser, at, entries):
                return None
            best = _best(parser, entries)
            if best:
                known = parser.lexicon.vocabulary.terms
                used_last = all(known[t].feature in uses_of(parser) for t in best)
                terms.update({} if used_last else dict.fromkeys(best))
            else:
                used_last = False
                found = [e.term for e in entries if e.kind == "category"][:1]
                families.update(dict.fromkeys(found))
                groups.update({} if found else {parser.quote(at, end): None})
            at = end
            continue
        if tokens[at].kind == WORD and parser.capital_inside(at):
            return None
        back = back or (tokens[at].key in talk.back and "kw.it" in parser.kinds(at) and not terms)
        if not _says_nothing(parser, at, talk):
            if misspelt(parser, at) or not (terms or families or parser.lexicon.is_known(tokens[at].key)):
                return None  # what it is asked of may be an instrument that the catalogue does not hold
            unread[parser.quote(at)] = None
        at += 1
    unread.update({} if terms else groups)
    turning = [w for w in unread if parser.lexicon.folder.key(w.casefold()) in talk.strong]
    if len(unread) > MOST_UNREAD or (not terms and (not families or len(unread) - len(turning) > 1)):
        return None
    if (back and not families) or (used_last and turning):
        return None
    return tuple(dict.fromkeys((*terms, *families)))[:MOST_TERMS], tuple(unread)


def _best(parser: FormParser, entries: tuple[Entry, ...]) -> list[str]:
    """The parts that a phrase names, or else the values and words of the trade."""
    fit = [e for e in entries if e.kind in _TERMS]
    parts = [e for e in fit if e.kind == "part"]
    return [e.term for e in parser.lexicon.resolve(parts or fit)][:1]


def _says_nothing(parser: FormParser, at: int, talk: Talk) -> bool:
    token = parser.tokens[at]
    if token.key in talk.strong:
        return False
    return (
        token.kind == NUMBER
        or talk.says_nothing(token.key)
        or token.key in talk.beside
        or any(k.startswith(("kw.", "filler", "connector", "ask", "op.")) for k in parser.kinds(at))
    )
