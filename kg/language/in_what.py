"""In what two are compared, and what is left aside where they are: "compare Mayo and Metzenbaum scissors on blade and length",
"apart from the teeth, how does a Kocher differ from a Kelly?"

The comparison is read without these words, if each of them names something that can be compared; which lines of it are told
first, and which are left out, ``kg.yesno`` and ``kg.set_apart`` find out.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from kg.language.aspects import piece_at
from kg.language.lexicon import Lexicon
from kg.language.parse import parser_for
from kg.language.tokens import COMMA, SYMBOL

if TYPE_CHECKING:
    from kg.language.parse_forms import FormParser
    from kg.language.talk import Talk

_COMPARES = frozenset({"kw.compare", "kw.differ", "kw.differ_from", "kw.tells", "kw.vs", "kw.apart"})
_JOINS = frozenset({"kw.and", "kw.or", "kw.its", "kw.them", "filler", "connector", "op.and"})
_NAMES = frozenset({"feature", "part", "value", "place"})
_SUBJECTS = frozenset({"pattern", "category", "kind", "group"})
_PARTS = frozenset({COMMA, ":", ";", "-"})


def without_aspects(text: str, lexicon: Lexicon, talk: Talk) -> Iterator[str]:
    """A comparison without the words at an end of it that say in what, or what is left aside; none if they say more."""
    parser = parser_for(text.rstrip(" ?.!"), lexicon)
    tokens = parser.tokens
    if not any(parser.kinds(at) & _COMPARES for at in range(len(tokens))):
        return
    start, end = 0, len(tokens)
    if opened := _said(parser, 0, "aside"):
        start = max((to for to in range(opened + 1, end) if _all_aspects(parser, opened, to, talk)), default=0)
        while 0 < start < end and tokens[start].key in _PARTS:
            start += 1
    tails = (
        at
        for at in range(start + 3, end)
        if (
            after := _said(parser, at, "in_what")
            or _said(parser, at, "aside")
            or _mark(parser, at)
            or _behind_a_name(parser, at)
        )
        and _all_aspects(parser, after, end, talk)
    )
    end = next(tails, end)
    if start or end < len(tokens):
        if _subjects(parser, start, end) < 2 or tokens[0].key == lexicon.keys("which")[0]:
            return  # one family, whose members are compared
        said = text[tokens[start].start : tokens[end - 1].end].rstrip(" ,;:-") + "?"
        yield said
        yield from (usual for usual in (_with_usual_names(said, lexicon),) if usual != said)


def _with_usual_names(text: str, lexicon: Lexicon) -> str:
    """A text with the full names of the instruments usually meant by names that several bear."""
    parser = parser_for(text, lexicon)
    out, at, last = "", 0, 0
    while at < len(parser.tokens):
        to, entries = next(iter(parser.phrases(at)), (at + 1, ()))
        usual = lexicon.usual(parser.quote(at, to)) if len([e for e in entries if e.kind == "pattern"]) > 1 else ""
        if usual:
            out += text[last : parser.tokens[at].start] + lexicon.name(usual)
            last = parser.tokens[to - 1].end
        at = max(to, at + 1)
    return out + text[last:]


def left_aside(text: str, lexicon: Lexicon, talk: Talk) -> str:
    """The words of a comparison for what is left aside in it; empty if there are none."""
    parser = parser_for(text.rstrip(" ?.!"), lexicon)
    for at in range(len(parser.tokens)):
        if after := _said(parser, at, "aside"):
            last = max(
                (to for to in range(after + 1, len(parser.tokens) + 1) if _all_aspects(parser, after, to, talk)), default=0
            )
            return parser.quote(after, last) if last else ""
    return ""


def _subjects(parser: FormParser, at: int, end: int) -> int:
    """How many instruments and families are named from ``at`` to ``end``."""
    found = 0
    while at < end:
        to, entries = next(iter(parser.phrases(at)), (at + 1, ()))
        named = any(e.kind in _SUBJECTS for e in entries)
        found += named
        at = max(to, at + 1) if named else at + 1
    return found


def _said(parser: FormParser, at: int, name: str) -> int:
    """Where the longest phrase of a list of the word file ends that stands here; 0 if none does."""
    keys = tuple(t.key for t in parser.tokens)
    phrases = (parser.lexicon.keys(p) for p in parser.lexicon.words.yesno.get(name, ()))
    return max((at + len(key) for key in phrases if key and keys[at : at + len(key)] == key), default=0)


def _mark(parser: FormParser, at: int) -> int:
    return at + 1 if parser.tokens[at].kind == SYMBOL and parser.tokens[at].key in _PARTS - {COMMA} else 0


def _behind_a_name(parser: FormParser, at: int) -> int:
    """``at`` where the name of an instrument ends there, in what begins with "compare" ("compare Kocher and Allis teeth")."""
    named = any(
        end == at and any(e.kind == "pattern" for e in entries)
        for start in range(max(0, at - 4), at)
        for end, entries in parser.phrases(start)
    )
    return at if named and "kw.compare" in parser.kinds(0) else 0


def _all_aspects(parser: FormParser, at: int, end: int, talk: Talk) -> bool:
    """Whether all words from here to ``end`` name something to compare, or join such names; the last is no word between."""
    named = False
    while at < end:
        named_to = [to for to, es in parser.phrases(at) if to <= end and any(e.kind in _NAMES for e in es)]
        found = piece_at(parser, at, talk)
        if found is not None and (found[1] or found[0] > end):
            return False
        if named_to and (found is None or max(named_to) >= found[0]):
            to, named = max(named_to), True
        elif found is not None:
            to, named = found[0], bool(found[2])
        else:
            to = at + 1 if parser.kinds(at) & _JOINS else at
        if to == at:
            return False
        at = to
    return named
