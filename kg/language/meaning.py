"""Questions about a part, a sign or a word of the trade, in any words: "gold rings on a needle holder, what do they signify?"

Read only where the grammar and the cues of plain talk do not do. A term of the trade stands in the question and a phrase that
asks what it means, is or does ("what the ratchet does"); the answer is its definition with the source. A family beside it only
says where it is seen. Words that are not read are told; a word that turns or counts leaves the question unread.
"""

from __future__ import annotations

from typing import NamedTuple

from kg.language import nodes
from kg.language.entries import Entry
from kg.language.loose import asked_for, cue_at
from kg.language.nodes import Question
from kg.language.parse_forms import FormParser
from kg.language.talk import Talk
from kg.language.tokens import NUMBER, SYMBOL

MOST_TERMS, MOST_UNREAD, MOST_WORDS = 3, 6, 5
_TERMS = ("part", "value", "concept", "feature")
_FAMILIES = ("category", "group", "kind")


class Meant(NamedTuple):
    """The question, the words passed over, and those that were not read."""

    question: Question
    passed: tuple[str, ...]
    unread: tuple[str, ...]


def meaning(parser: FormParser, talk: Talk, *, one: bool = False) -> Meant | None:
    """The question as one for the meaning of at most ``MOST_TERMS`` terms; None if it is none. ``one``: only if one term alone
    is named, as in a text that ends like a description of an instrument."""
    tokens, at = parser.tokens, 0
    asked, terms, passed, unread = False, [], [], []
    open_at = -1  # the last word that was not read
    while at < len(tokens):
        token = tokens[at]
        if token.kind == SYMBOL or token.key in parser.lexicon.words.articles:
            at += 1
            continue
        size = _asks_at(parser, at, talk)
        found = [(end, es) for end, es in parser.phrases(at) if any(e.kind in (*_TERMS, *_FAMILIES, "pattern") for e in es)]
        end, entries = found[0] if found else (at, ())
        if end - at > size:
            kinds = {e.kind for e in entries}
            if kinds & {"category", "group"} and asked_for(parser, at, entries):
                return None
            if "pattern" in kinds and not kinds & {*_TERMS, *_FAMILIES}:
                return None
            if kinds & set(_TERMS):
                if _part_of_more(parser, at, open_at):
                    return None
                terms += _best(parser, entries)
            at = end
            continue
        if size:
            asked = True
            at += size
            continue
        if token.key in talk.strong:
            return None
        if token.key in talk.passed:
            passed.append(parser.quote(at))
        elif not (
            token.kind == NUMBER
            or cue_at(tokens, at, talk)[0]
            or talk.says_nothing(token.key)
            or token.key in talk.beside
            or any(k.startswith(("kw.", "filler", "connector", "ask")) for k in parser.kinds(at))
        ):
            unread.append(parser.quote(at))
            open_at = at
        at += 1
    last = next((i for i in range(len(tokens) - 1, -1, -1) if tokens[i].kind != SYMBOL), 0)
    asked = asked or "kw.do" in parser.kinds(last)  # "tell the class what the ratchet does"
    terms = list(dict.fromkeys(terms))
    if not asked or not terms or len(terms) > (1 if one else MOST_TERMS) or len(unread) > MOST_UNREAD:
        return None
    question = nodes.Define(terms[0]) if len(terms) == 1 else nodes.DefineAll(tuple(terms))
    return Meant(question, tuple(dict.fromkeys(passed)), tuple(dict.fromkeys(unread)))


def _asks_at(parser: FormParser, at: int, talk: Talk) -> int:
    """The number of words of the longest phrase here that asks for a meaning; 0 for none."""
    keys = [t.key for t in parser.tokens[at : at + MOST_WORDS]]
    return next((n for n in range(len(keys), 0, -1) if tuple(keys[:n]) in talk.meaning), 0)


def _best(parser: FormParser, entries: tuple[Entry, ...]) -> list[str]:
    """The terms that a phrase names, best first; several where only the person could tell, for each of them is then told."""
    uses = {f for c in parser.lexicon.words.connectors for f in c.features}
    known = parser.lexicon.vocabulary.terms
    fit = [
        e for e in entries if e.kind in _TERMS and not e.negated and not (e.kind == "value" and known[e.term].feature in uses)
    ]
    parts = [e for e in fit if e.kind == "part"]
    return [e.term for e in parser.lexicon.resolve(parts or fit)]


def _part_of_more(parser: FormParser, at: int, unread: int) -> bool:
    """Whether a word that was not read stands just before a term with a word of place between ("the hole in the handle")."""
    between = [i for i in range(unread + 1, at) if parser.tokens[i].key not in parser.lexicon.words.articles]
    return (
        unread >= 0 and len(between) == 1 and bool(parser.kinds(between[0]) & {"kw.of", "kw.cycle_in", "kw.place", "connector"})
    )
