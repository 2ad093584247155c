"""Words that reach over more of a question than the grammar sees: "not saws, drills or chisels" is none of them, and "the
artery ones" left out of forceps are artery forceps."""

from __future__ import annotations

import re

from kg.language.entries import CONTENT
from kg.language.lexicon import Lexicon
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.tokens import WORD

_FAMILY = frozenset({"category", "kw.instrument"})
_LEFT_OUT = frozenset({"kw.except", "kw.but", "kw.not", "kw.no", "kw.without"})
_SAID = ("adjective", "with")
_DENIED = re.compile(r"(?:\bnot|n['\u2019]t)\s.*\sor\s", re.IGNORECASE | re.DOTALL)
_LAST = re.compile(r"[\s,]+(\w+)(?=\s*[?.!]*\s*$)")
_EQUALS = re.compile(r"(?<=\w)\s*=\s*(\?*)\s*$")
MOST = 3
"""A name of a family has at most so many words before its last."""


def in_full(text: str, lexicon: Lexicon, ending: str = "") -> str:
    """The question with its short forms in full ("that's"), or only those that end so ("isn't")."""
    full = text.replace("\u2019", "'")
    for short, long in lexicon.words.short.items():
        if len(long) > 1 and short in full.casefold() and (not ending or long[-1] == lexicon.word(ending)):
            full = re.sub(rf"\b{re.escape(short)}(?=[\s?.,]|$)", " ".join(long), full, flags=re.IGNORECASE)
    return full


def without_last(text: str, lexicon: Lexicon) -> str:
    """The question without a word such as "too" at its end; before an adjective it says more ("too delicate for fascia"). A
    sign of equality at the end asks for what stands before it ("wire speculum = ?")."""
    text = _EQUALS.sub(r"\1", text)
    found = _LAST.search(text)
    return text[: found.start()] + text[found.end() :] if found and found[1].casefold() in lexicon.words.last else text


def none_of_them(text: str, lexicon: Lexicon) -> str:
    """The question with "neither ... nor" for "not ... or"; ``text`` itself if it has none."""
    if "(" in text or not _DENIED.search(text):
        return text
    full = in_full(text, lexicon, ending="not")
    parser = parser_for(full, lexicon)
    word = lexicon.words.keywords
    for at in range(1, len(parser.tokens)):
        first = _behind(parser, at, "kw.not")
        if 0 < first < len(parser.tokens) and "filler" in parser.kinds(first):
            first += parser.tokens[first].key not in lexicon.words.articles  # "not either Kelly or Crile"
        if not first or not _may_be_denied(parser, at):
            continue
        seps, end = _list(parser, first)
        if not seps or not any(_is(parser, *sep, "kw.or") for sep in seps[-1:]) or not _closed(parser, end):
            continue
        head = full[: parser.tokens[at].start] + word["neither"][0] + " "
        body, last = "", parser.tokens[first].start
        for start, stop in seps:
            body += full[last : parser.tokens[start].start].rstrip() + f" {word['nor'][0]} "
            last = parser.tokens[stop].start
        return head + body + full[last:]
    return text


def _behind(parser: FormParser, at: int, kind: str) -> int:
    """Behind a phrase of this kind, or 0."""
    return max((end for end, es in parser.phrases(at) if any(e.kind == kind for e in es)), default=0)


def _is(parser: FormParser, start: int, stop: int, kind: str) -> bool:
    return any(_behind(parser, i, kind) for i in range(start, stop))


def _may_be_denied(parser: FormParser, at: int) -> bool:
    """Whether "not" stands behind "are", "but", a comma or a family, where it denies what instruments are."""
    before = parser.tokens[at - 1]
    if any(stop == at and _FAMILY & {e.kind for e in es} for i in range(at) for stop, es in parser.phrases(i)):
        return True
    return (
        before.key == "," or bool({"kw.be", "kw.but", "kw.that"} & parser.kinds(at - 1)) or _behind(parser, at, "kw.but") > at
    )


def _list(parser: FormParser, at: int) -> tuple[list[tuple[int, int]], int]:
    """What stands between things of the trade in a row ("," and "or"), and where the row ends."""
    seps: list[tuple[int, int]] = []
    end = _item(parser, at)
    while end > at:
        stop = end + 1 if end < len(parser.tokens) and parser.tokens[end].key == "," else end
        stop = (_behind(parser, stop, "kw.or") or stop) if stop < len(parser.tokens) else stop
        more = _item(parser, stop) if stop > end else stop
        if more <= stop:
            break
        seps.append((end, stop))
        at, end = stop, more
    return seps, end


def _item(parser: FormParser, at: int) -> int:
    """Behind one thing with what describes it, or ``at``."""
    start = at
    while at < len(parser.tokens):
        if parser.tokens[at].key in parser.lexicon.words.articles and at == start:
            at += 1
            continue
        end = next((end for end, es in parser.phrases(at) if any(e.kind in CONTENT and not e.negated for e in es)), 0)
        if not end or _is(parser, at, at + 1, "kw.or"):
            break
        at = end
    last = at > start and parser.tokens[at - 1].key in parser.lexicon.words.articles
    return start if last else at


def _closed(parser: FormParser, at: int) -> bool:
    """Whether the row ends there: nothing follows, a mark, or a word of the grammar."""
    if at >= len(parser.tokens) or parser.tokens[at].kind != WORD:
        return True
    return any(k.startswith(("kw.", "connector")) for k in parser.kinds(at)) and not _behind(parser, at, "kw.and")


def with_family(text: str, lexicon: Lexicon) -> str:
    """The question with the family for "ones" where it leaves out a part of it, or "for the" before a place in front of "ones"
    at the end; ``text`` itself if it has none."""
    if re.search(r"\b(?:no|without)\b", text, re.IGNORECASE):
        return _without_its_kind(text, lexicon)
    if not re.search(r"\bones\b", text, re.IGNORECASE):
        return text
    parser = parser_for(text, lexicon)
    if (placed := _of_a_place(parser)) is not None:
        return placed
    tokens = parser.tokens
    head, left_out = "", False
    for at in range(len(tokens)):
        left_out = left_out or bool(_LEFT_OUT & parser.kinds(at))
        if tokens[at].key == lexicon.folder.key("ones") and head and left_out:
            first = next((i for i in range(max(0, at - MOST), at) if _names(parser, i, at, head)), -1)
            if first >= 0:
                return text[: tokens[at].start] + head + text[tokens[at].end :]
        family = next((end for end, es in parser.phrases(at) if any(e.kind in ("category", "group") for e in es)), 0)
        head = text[tokens[family - 1].start : tokens[family - 1].end] if family else head
    return text


def _without_its_kind(text: str, lexicon: Lexicon) -> str:
    """ "Needle holders with no scissors" are those that are no needle holders with scissors: of a family that is known with
    another, "without" that other denies the narrower family; ``text`` itself if it says nothing of the kind."""
    parser = parser_for(text, lexicon)
    tokens = parser.tokens
    for at in range(len(tokens)):
        family = _behind(parser, at, "category")
        start = _behind_none(parser, family) if family else 0
        other = _behind(parser, start, "category") if start else 0
        if not other:
            continue
        both = f"{text[tokens[at].start : tokens[family - 1].end]} with {text[tokens[start].start : tokens[other - 1].end]}"
        found = {e.term for e in lexicon.entries(both) if e.kind == "category"}
        if len(found) == 1:
            kind = lexicon.name(found.pop(), many=True)
            return f"{text[: tokens[family - 1].end]} that are not {kind}{text[tokens[other - 1].end :]}"
    return text


def _behind_none(parser: FormParser, at: int) -> int:
    """Behind "without", "with no" or "that have no", or 0."""
    at = _behind(parser, at, "kw.that") or at
    if start := _behind(parser, at, "kw.without") or _behind(parser, at, "kw.no"):
        return start
    having = _behind(parser, at, "kw.with") or _behind(parser, at, "kw.have")
    return _behind(parser, having, "kw.no") if having else 0


def _of_a_place(parser: FormParser) -> str | None:
    """ "stone forceps, gall bladder ones": those for the gall bladder; None for any other text"""
    tokens, lexicon = [t for t in parser.tokens if t.key not in "?.!"], parser.lexicon
    commas = [i for i, t in enumerate(tokens) if t.key == ","]
    if len(commas) != 1 or tokens[-1].key != lexicon.folder.key("ones"):
        return None
    at = commas[0] + 1
    at += at < len(tokens) and tokens[at].key in lexicon.words.articles
    if not any(end == len(tokens) - 1 and any(e.kind == "place" for e in es) for end, es in parser.phrases(at)):
        return None
    place = parser.text[tokens[at].start : tokens[-2].end]
    return f"{parser.text[: tokens[commas[0]].start].rstrip()} {lexicon.words.for_place} {place}"


def _names(parser: FormParser, start: int, end: int, head: str) -> bool:
    """Whether these words and the family's last word name a narrower family, and the words alone do not describe one."""
    if start >= end or any(parser.tokens[i].kind != WORD for i in range(start, end)):
        return False
    said = parser.text[parser.tokens[start].start : parser.tokens[end - 1].end]
    lexicon = parser.lexicon
    other = parser_for(f"{said} {head}", lexicon)
    whole = [e for stop, es in other.phrases(0) for e in es if stop == len(other.tokens)]
    alone = [e for stop, es in parser.phrases(start) for e in es if stop == end and e.kind == "value"]
    described = any(lexicon.feature(parser.feature_of(e)).form in _SAID for e in alone)
    return not described and any(e.kind == "category" and not e.composed for e in whole)
