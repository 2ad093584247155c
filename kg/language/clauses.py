"""The part of a text that asks, without what is said round it: "Quick one. Which clamps are curved? Thanks."

A clause before the first or after the last that says anything of instruments is left out, if no word of it could bound or turn
the question. What was left out is told.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from kg.language.degrees import said
from kg.language.entries import CONTENT, Entry
from kg.language.lexicon import Lexicon
from kg.language.loose import cue_at
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.talk import Talk
from kg.language.tokens import WORD

_CUT = re.compile(r"[.?!;:,]+(?=\s|$)(?!(?<=\.)\s+\d)|\s[-\u2013\u2014]+\s")
_JOINED = re.compile(r"[,;]?\s+(?:so|because|since)\s+")
_SECOND = re.compile(r"[?;]\s+|\.\s+(?!\d)|,?\s+(?:and|but)\s+|\s[-\u2013\u2014]\s")
MOST = 12
"""A text of more clauses is no question."""
MOST_BEFORE = 4
"""So many words at most stand between "for" and what is made ("for our second-year syllabus")."""


class Core(NamedTuple):
    """``text``: the clauses in the middle, as typed; ``left``: the words left out that say something to people."""

    text: str
    left: tuple[str, ...]


def core(text: str, lexicon: Lexicon, talk: Talk) -> Core | None:
    """The clauses that say something of instruments, from the first to the last; None if these are all of them, or none."""
    spans = list(_spans(text))
    if not 1 < len(spans) <= MOST:
        return None
    weights = [_weighs(text[a:b], lexicon, talk) for a, b in spans]
    if not any(weights) or all(weights):
        return None
    first = weights.index(True)
    last = len(weights) - 1 - weights[::-1].index(True)
    if first == 0 and last == len(spans) - 1:
        return None
    start, end = spans[first][0], spans[last + 1][0] if last + 1 < len(spans) else len(text)
    left = [w for i, (a, b) in enumerate(spans) if not first <= i <= last for w in _told(text[a:b], lexicon, talk)]
    kept = text[start:end].strip(" ,;:-\u2013\u2014")
    return None if left and _asks_which_of_them(kept, lexicon) else Core(kept, tuple(dict.fromkeys(left)))


def bare(text: str, lexicon: Lexicon, talk: Talk) -> Iterator[Core]:
    """The question without the clauses before or after it that name nothing of the trade, longest first: "we have small
    boxes, so which scissors are short?" Whoever takes one of these must be able to read all of it by the grammar alone."""
    cuts = [*_CUT.finditer(text), *_JOINED.finditer(text)]
    for at in sorted({c.start() for c in cuts if _light(text[: c.start()], lexicon, talk)}):
        cut = max((c for c in cuts if c.start() == at), key=_end)
        rest, left = text[cut.end() :].strip(" ,;:-"), tuple(_told(text[:at], lexicon, talk))
        if not (left and _asks_which_of_them(rest, lexicon)):
            yield Core(rest, left)
    for cut in sorted(cuts, key=_end, reverse=True):
        if text[cut.end() :].strip(" ?.!") and _light(text[cut.end() :], lexicon, talk):
            yield Core(text[: cut.start()].strip(" ,;:-"), tuple(_told(text[cut.end() :], lexicon, talk)))


def occasion(text: str, lexicon: Lexicon, talk: Talk) -> Iterator[Core]:
    """The question without what it is asked for: a clause before it or an end of it that speaks of something people make or do
    ("I am writing a quiz on joints; ...", "for our syllabus we need ...", "... for my handout"). What such a clause says is
    told and bounds nothing, so whoever takes one of these must be able to read the rest."""
    parser = _parser(text, lexicon)
    tokens = parser.tokens if parser is not None else []
    made = [i for i, t in enumerate(tokens) if t.key in talk.made]
    people = [t.end for t in tokens if t.key in talk.people]
    if made and (tokens[0].key in talk.telling or tokens[0].key in talk.within):
        people.append(tokens[made[0]].end)
    for cut in sorted([*_CUT.finditer(text), *_JOINED.finditer(text)], key=_end):
        rest = text[cut.end() :].strip(" ,;:-")
        before = text[: cut.start()].strip()
        if _bounds(before, lexicon):
            continue
        if rest.strip("?.!") and people and cut.start() >= min(people) and speaks_for_itself(before, rest, lexicon, talk):
            yield Core(rest, (before,))
    if made and tokens[0].key in talk.within and made[0] <= MOST_BEFORE and made[0] + 2 < len(tokens):
        end = tokens[made[0]].end
        yield Core(text[end:].strip(" ,;:-"), (text[:end],))
    for i in reversed(made):
        at = max((j for j in range(i) if tokens[j].key in talk.within), default=0)
        if (
            at > 1
            and i - at <= MOST_BEFORE
            and all(_light_at(parser, j, talk) for j in range(at, len(tokens)) if j not in made)
        ):
            yield Core(text[: tokens[at].start].strip(" ,;:-"), (text[tokens[at].start :].strip(" ?.!"),))


def _bounds(clause: str, lexicon: Lexicon) -> bool:
    """Whether a clause that begins with "if" says what is wanted: "if I do not want a crushing one, which clamps ..." """
    parser = _parser(clause, lexicon)
    if parser is None or not parser.tokens or "kw.whether" not in parser.kinds(0):
        return False
    return any(parser.kinds(at) & {"value", "part", "wide", "unit"} for at in range(len(parser.tokens)))


def _asks_which_of_them(rest: str, lexicon: Lexicon) -> bool:
    """Whether a question asks which of what was named before it ("which is curved?"), and names nothing itself."""
    parser = _parser(rest, lexicon)
    if parser is None or len(parser.tokens) < 2 or parser.tokens[0].key != lexicon.word("which"):
        return False
    named = any(parser.kinds(at) & (_SPOKEN_OF | {"kw.instrument"}) for at in range(len(parser.tokens)))
    return not named and bool(parser.kinds(1) & {"kw.be", "kw.have", "kw.do", "kw.can"})


_HEADED = frozenset(("category", "kind", "group", "kw.instrument", "pattern", "part", "concept", "feature"))


def speaks_for_itself(before: str, rest: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether the rest of a text names what it asks about and points back to nothing, and what stands before it names none of
    that, and nothing of the trade if the rest begins no question: not "I have a Kelly here; which one is curved?" """
    parser = _parser(rest, lexicon)
    tokens = parser.tokens if parser is not None else []
    if parser is None or any(t.key in talk.back for t in tokens):
        return False
    if not any(parser.kinds(at) & _SAYING for at in range(len(tokens))):
        return False
    if "kw.which" in parser.kinds(0) and not any(parser.kinds(at) & _HEADED for at in range(len(tokens))):
        return False  # "and which cut?" asks of those before
    spoken = {e.term for at in range(len(tokens)) for e in _spoken(parser, at)}
    other = _parser(before, lexicon)
    if other is not None and not asks(rest, lexicon) and not all(_light_at(other, at, talk) for at in range(len(other.tokens))):
        return False  # "I need jaws, shanks and rings": it goes on
    return other is None or all(e.term in spoken for at in range(len(other.tokens)) for e in _spoken(other, at))


def _spoken(parser: FormParser, at: int) -> list[Entry]:
    return [e for _, entries in parser.phrases(at) for e in entries if e.kind in _SPOKEN_OF]


def _light_at(parser: FormParser, at: int, talk: Talk) -> bool:
    found = parser.kinds(at)
    return parser.tokens[at].key not in talk.strong and not found & (CONTENT | _WEIGHTY)


def two(text: str) -> Iterator[tuple[str, str]]:
    """A text of two questions as (the first, the other), wherever it may be cut: "what is it for, and who says so?" """
    for cut in sorted([*_SECOND.finditer(text)], key=_end):
        first, other = text[: cut.start()].strip(" ,;:-"), text[cut.end() :].strip(" ,;:-")
        if len(first.split()) > 1 and len(other.split()) > 1:
            yield first, other


def asks(clause: str, lexicon: Lexicon) -> bool:
    """Whether a clause begins as a question does ("what", "is", "how many", "why")."""
    parser = _parser(clause, lexicon)
    return parser is not None and bool(parser.tokens) and not parser.kinds(0).isdisjoint(_BEGINS)


NEAR = 5
"""Among so many words the thing stands that a question beginning with a verb speaks of ("are all of the curved clamps ...")."""


def goes_on(clause: str, lexicon: Lexicon) -> bool:
    """Whether a clause begins with a verb and names nothing of which it could be said ("are curved at the same time", "are
    meant to hold it": "it" is what a question speaks of only where it stands behind the verb)."""
    parser = _parser(clause, lexicon)
    if parser is None or not parser.tokens or parser.kinds(0).isdisjoint(("kw.be", "kw.have", "kw.do", "kw.can")):
        return False
    named = ("category", "kind", "group", "pattern", "kw.instrument")
    near = range(min(len(parser.tokens), NEAR))
    meant = any(
        parser.kinds(at) & {"kw.it", "kw.them"} and (at <= 1 or "kw.of" in parser.kinds(at - 1) or "kw.it" in parser.kinds(1))
        for at in near
    )
    return not meant and all(parser.kinds(at).isdisjoint(named) for at in near)


def of_a_family(text: str, lexicon: Lexicon) -> bool:
    """Whether the first "which" of a text stands behind a family, of which it says something ("clamps which have ...")."""
    parser = parser_for(text, lexicon)
    first = next((at for at in range(len(parser.tokens)) if "kw.that" in parser.kinds(at)), 0)
    return any(
        end == first and e.kind in ("category", "group", "kw.instrument")
        for at in range(max(0, first - 3), first)
        for end, es in parser.phrases(at)
        for e in es
    )


def _end(cut: re.Match[str]) -> int:
    return cut.end()


def _parser(clause: str, lexicon: Lexicon) -> FormParser | None:
    return parser_for(clause, lexicon) if clause.strip(" ,;:-?.!") else None


def _light(clause: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether a clause names nothing of the trade, denies nothing and bounds nothing."""
    parser = _parser(clause, lexicon)
    if parser is None or len(parser.tokens) < 2:
        return False
    if parser.kinds(0) & {"kw.and", "kw.or", "kw.but"}:
        return False  # it asks for one thing more
    told = parser.tokens[0].key in talk.telling
    for at, token in enumerate(parser.tokens):
        found = parser.kinds(at)
        if token.kind != WORD or token.key in talk.strong or token.key in talk.apart or found & _WEIGHTY or found & CONTENT:
            return False
        if not told and (found & _ASKING or cue_at(parser.tokens, at, talk)[0]):
            return False
        if at and clause[token.start].isupper() and not found and not talk.says_nothing(token.key) and len(token.key) > 1:
            return False
    return True


def _spans(text: str):  # type: ignore[no-untyped-def]
    start = 0
    for cut in [*_CUT.finditer(text), None]:
        end = cut.start() if cut else len(text)
        if text[start:end].strip():
            yield start, end
        start = cut.end() if cut else end


def _weighs(clause: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether a clause says anything of an instrument, asks for anything, or could turn a question round."""
    if not clause.strip():
        return False
    parser = parser_for(clause, lexicon)
    tokens = parser.tokens
    if len(tokens) > MOST_BEFORE and any("kw.which" in parser.kinds(at) for at in range(len(tokens))):
        return True  # "which entry is done open?"
    if any(e.kind == "kw.which" for at in range(len(tokens)) for _, es in parser.phrases(at) for e in es) and _told(
        clause, lexicon, talk
    ):
        return True  # "which goes deeper?"
    if tokens and "kw.which" in parser.kinds(0) and said(clause, lexicon, talk) is not None:
        return True  # "which is bigger?"
    for at, token in enumerate(tokens):
        if token.kind != WORD or token.key in talk.strong or token.key in talk.apart:
            return True
        for _, entries in parser.phrases(at):
            if any(e.kind in CONTENT or e.kind in ("feature", "concept", "advice") or e.kind in _ASKS for e in entries):
                return True
        for end in range(at + 1, min(len(tokens), at + talk.longest) + 1):
            if talk.cues.get(tuple(t.key for t in tokens[at:end]), _NOTHING) - {
                "identify",
                "identify_last",
                "nothing",
            }:
                return True
        if lexicon.is_known(token.key) and not talk.says_nothing(token.key) and not parser.phrases(at):
            return True  # part of some term
        if at and clause[token.start].isupper() and not parser.phrases(at):
            return True  # a name that is not known
        if len(tokens) == 1 and not talk.says_nothing(token.key) and not parser.phrases(at):
            return True  # it may be the name that all the rest is about
    return False


_NOTHING: frozenset[str] = frozenset()
_ASKING = frozenset(
    (
        "ask",
        "kw.which",
        "kw.which_is",
        "kw.ones",
        "kw.whatis",
        "kw.how",
        "kw.do",
        "kw.be",
        "kw.can",
        "kw.why",
        "kw.it",
        "kw.them",
    )
)
"""Words with which a clause may ask something itself, unless it begins as one that tells ("if", "we")."""
_BEGINS = frozenset(
    (
        "ask",
        *(f"kw.{k}" for k in ("which", "whatis", "how", "why", "be", "do", "have", "can", "count", "compare", "describe")),
        *(
            f"kw.{k}"
            for k in ("define", "classify", "sources", "lookalikes", "longest", "shortest", "reprocessing", "which_is")
        ),
    )
)
_WEIGHTY = frozenset(
    (
        "advice",
        "feature",
        *(
            f"kw.{k}"
            for k in ("no", "not", "without", "except", "only", "longest", "shortest", "count", "compare", "lookalikes")
        ),
        *(
            f"kw.{k}"
            for k in ("sources", "disputes", "reprocessing", "most_of", "fewest_of", "leave_out", "named_after", "like")
        ),
    )
)
_SPOKEN_OF = frozenset(("pattern", "category", "group", "kind"))
_SAYING = CONTENT | {"concept", "kw.instrument"}
_ASKS = frozenset(
    f"kw.{k}"
    for k in (
        *("count", "longest", "shortest", "it", "them", "no", "not", "without", "except", "why", "only"),
        *("whatis", "how", "do"),  # a question of its own
    )
)


def _told(clause: str, lexicon: Lexicon, talk: Talk) -> list[str]:
    parser = parser_for(clause, lexicon)
    return [
        clause[t.start : t.end]
        for i, t in enumerate(parser.tokens)
        if t.kind == WORD and not talk.says_nothing(t.key) and not parser.phrases(i)
    ]
