"""A question in other words for the same, tried where the grammar does not read it as it stands: examples left out, what is
excepted or spoken of put in its place, shared ends said twice, phrases and whole frames written otherwise.

The phrases and frames stand in the file of plain talk. Each change keeps all that bounds a question; what comes out is read by
the grammar, and the answer begins with that reading.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import suppress
from itertools import islice
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.entries import Entry
from kg.language.lexicon import Lexicon
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.tokens import SYMBOL, WORD, Token

if TYPE_CHECKING:
    from kg.language.framing import Pattern
    from kg.language.talk import Talk

DASH = re.compile(r"\s[-\u2013\u2014]\s")
_AFTER_TOPIC = re.compile(r"\s*(?:[:;,?]|\.+|\s[-\u2013\u2014])\s")
_BOTH = re.compile(r"\band\b")
MOST_TRIED = 16
"""So many ways of filling frames are tried with one question."""
MOST_FILLED = 8
"""A place of a frame holds at most so many words."""
ONE = "1}"
"""So ends a place that holds one word ("{v1}")."""

EITHER = "||"
"""Between the questions that a frame may stand for, of which the first that the grammar reads is meant."""

_ENDS = re.compile(r"[\s,;:-]+([?.!]*)$")
"""Marks that are left over where the end of a question said nothing."""


def said_otherwise(text: str, lexicon: Lexicon, talk: Talk) -> str | None:
    """The question with the phrases of ``Talk.instead`` written otherwise, and with shared ends written out; None if there is
    nothing of either."""
    original = text
    for change in (topic_for_it, _excepted_last, named_last, _shared_ends):
        text = change(_without_examples(text, lexicon, talk), lexicon)
    tokens = lexicon.keyed(parser_for(text, lexicon).tokens)
    keys = tuple(t.key for t in tokens)
    out: list[str] = []
    at = last = 0
    while at < len(keys):
        end, new = at, ()
        for phrase, words in talk.instead.get(keys[at], ()):
            longest = max(_ends(phrase, keys, at), default=0)
            if longest > end and not _stands_already(words, keys, at, longest, lexicon):
                end, new = longest, words
        if end == at:
            at += 1
            continue
        out += [text[last : tokens[at].start], *new]
        last = tokens[end - 1].end
        at = end
    new = " ".join(" ".join([*out, text[last:]]).split()).replace(", ,", "").replace(" ,", ",")
    new = _ENDS.sub(r"\1", new).lstrip(" .,;:-")
    return new if out or text != original else None


def _stands_already(words: Sequence[str], keys: Sequence[str], at: int, end: int, lexicon: Lexicon) -> bool:
    """Whether the words that a phrase from ``at`` to ``end`` would be written as stand there already, the phrase among them:
    written again they would grow with every reading."""
    new = tuple(key for word in words for key in lexicon.keys(word))
    size = end - at
    return size < len(new) and any(
        new[i : i + size] == keys[at:end] and keys[at - i : at - i + len(new)] == new
        for i in range(min(at, len(new) - size) + 1)
    )


def framed(text: str, lexicon: Lexicon, talk: Talk) -> Iterator[str]:
    """The questions that whole frames of ``Talk.frames`` stand for ("for which {x} is no {f} recorded"), with the words in
    their places as they were typed; at most ``MOST_TRIED``, none if no frame fits."""
    ways = []
    for typed in dict.fromkeys((text, DASH.sub(" : ", text))):  # a dash parts as a colon does
        bare = typed.rstrip(" ?.!")
        tokens = lexicon.keyed(parser_for(bare, lexicon).tokens) if bare else []
        keys = tuple(t.key for t in tokens)
        there = frozenset(keys)
        for (frame, new), needed in zip(talk.frames, talk.needed, strict=True):
            if any(words.isdisjoint(there) for words in needed):
                continue
            whole = (ends for ends in _fill(frame, tokens, keys) if not _parted(typed, tokens, ends))
            ways += [(new, ends, typed, tokens) for ends in islice(whole, MOST_TRIED)]
    ways.sort(key=lambda way: sum(b - a for a, b in way[1].values()))  # the frame that says most first
    tried: set[str] = set()
    for new, filled, typed, tokens in ways:
        words = {name: typed[tokens[a].start : tokens[b - 1].end] for name, (a, b) in filled.items()}
        for one in new.split(EITHER):
            said = one.strip().format(**words)
            if said in tried or _asks_twice(one, words, lexicon):
                continue
            if len(tried) == MOST_TRIED:
                return
            tried.add(said)
            yield said
            if (again := said_otherwise(said, lexicon, talk)) is not None:
                yield again


def _asks_twice(new: str, words: dict[str, str], lexicon: Lexicon) -> bool:
    """Whether a question that begins with "which" would have a place filled with words that do: "which hands are used for two
    which retractors"."""
    asking = lexicon.word("which")
    return new.strip().casefold().startswith(asking) and any(w.casefold().startswith(f"{asking} ") for w in words.values())


def _parted(text: str, tokens: Sequence[Token], places: dict[str, tuple[int, int]]) -> bool:
    """Whether a place begins or ends inside words that a hyphen joins ("hand-held")."""
    edges = {edge for ends in places.values() for edge in ends if 0 < edge < len(tokens)}
    return any(text[tokens[at - 1].end : tokens[at].start] == "-" for at in edges)


def filled(table: Sequence[tuple[Pattern, str]], text: str, lexicon: Lexicon) -> Iterator[tuple[str, dict[str, str]]]:
    """What stands beside each pattern of a table that a whole text fills, with the words in its places, as they were typed."""
    bare = text.rstrip(" ?.!")
    tokens = lexicon.keyed(parser_for(bare, lexicon).tokens) if bare else []
    keys = tuple(t.key for t in tokens)
    for pattern, new in table:
        for places in islice(_fill(pattern, tokens, keys), MOST_TRIED):
            yield new, {name: bare[tokens[a].start : tokens[b - 1].end] for name, (a, b) in places.items()}


def _ends(phrase: Pattern, keys: Sequence[str], at: int) -> Iterator[int]:
    """Where a phrase without places can end that begins at ``at``."""
    if not phrase:
        yield at
    elif isinstance(first := phrase[0], str):
        if at < len(keys) and keys[at] == first:
            yield from _ends(phrase[1:], keys, at + 1)
    else:
        for option in first:
            if keys[at : at + len(option)] == option:
                yield from _ends(phrase[1:], keys, at + len(option))


def _fill(frame: Pattern, tokens: Sequence[Token], keys: tuple[str, ...], at: int = 0) -> Iterator[dict[str, tuple[int, int]]]:
    """The ways in which tokens from ``at`` to the end fill a frame, shortest places first: name -> tokens [start, end)."""
    if not frame:
        if at == len(tokens):
            yield {}
        return
    first, rest = frame[0], frame[1:]
    if not isinstance(first, str):
        for option in first:
            if keys[at : at + len(option)] == option:
                yield from _fill(rest, tokens, keys, at + len(option))
        return
    if not first.startswith("{"):
        if at < len(keys) and keys[at] == first:
            yield from _fill(rest, tokens, keys, at + 1)
        return
    most = 1 if first.endswith(ONE) else MOST_FILLED
    for end in range(at + 1, min(len(tokens), at + most) + 1):
        if tokens[end - 1].kind == SYMBOL and tokens[end - 1].key != "-":
            return
        for more in _fill(rest, tokens, keys, end):
            yield {first[1:-1]: (at, end), **more}


def _without_examples(text: str, lexicon: Lexicon, talk: Talk) -> str:
    """The question without what stands behind "e.g." up to the end of the sentence: an example bounds nothing."""
    tokens = parser_for(text, lexicon).tokens
    keys = tuple(t.key for t in tokens)
    for key in talk.examples:
        for at in range(1, len(keys) - len(key)):
            if keys[at : at + len(key)] == key:
                end = min(
                    (i for i in (text.find(c, tokens[at + len(key) - 1].end) for c in "?;!") if i >= 0), default=len(text)
                )
                return text[: tokens[at].start].rstrip(" ,(-") + text[end:]
    return text


def topic_for_it(text: str, lexicon: Lexicon) -> str:
    """The question with what it is about in the place of "it" or "they": "mallet - is it needed?", "towel clips: do they
    pierce?" Only where one such word stands behind a family or an instrument by itself."""
    marks = [m for m in _AFTER_TOPIC.finditer(text) if text[: m.start()].strip() and text[m.end() :].strip(" ?.!")]
    if not marks:
        return text
    parser = parser_for(text, lexicon)
    meant, at = [], 0
    while at < len(parser.tokens):
        found = parser.phrases(at)
        named = next((end for end, es in found if any(e.kind == "pattern" for e in es)), 0)  # "Balfour" ends as "the four" does
        end = next((end for end, es in found if {e.kind for e in es} & {"kw.it", "kw.them"}), 0)
        if end and parser.tokens[end - 1].key in lexicon.words.numbers:  # "one prong or three?", but "the three"
            end = end if {t.key for t in parser.tokens[max(at - 1, 0) : end]} & set(lexicon.words.articles) else 0
        meant += [(parser.tokens[at].start, parser.tokens[end - 1].end)] if end > named else []
        at = end or named or at + 1
    if len(meant) != 1 or marks[0].start() > meant[0][0]:
        return text
    mark = [m for m in marks if m.end() <= meant[0][0]][-1]  # behind all that is named before
    topic = text[: mark.start()].strip()
    if not _names_something(topic, lexicon):
        return text
    start, stop = meant[0]
    return f"{text[mark.end() : start]}{topic}{text[stop:]}"


def _names_something(text: str, lexicon: Lexicon) -> bool:
    """Whether a text is a description of instruments with a family or a name in it, and no more."""
    parser = parser_for(text, lexicon)
    if not parser.tokens or not any(parser.kinds(at) & {"pattern", "category", "kind"} for at in range(len(parser.tokens))):
        return False
    with suppress(QuestionError):
        return isinstance(parser.question(), nodes.Filter | nodes.Define | nodes.Describe | nodes.Value)
    return False


def _excepted_last(text: str, lexicon: Lexicon) -> str:
    """The question with what is excepted first behind the rest: "apart from Kelly, which clamps are curved?" """
    parser = parser_for(text, lexicon)
    first = next((end for end, es in parser.phrases(0) for e in es if e.kind == "kw.except"), 0) if parser.tokens else 0
    comma = next((t for t in parser.tokens[first:] if t.key == ","), None)
    if not first or comma is None or not text[comma.end :].strip(" ?.!"):
        return text
    tokens = [t for t in parser.tokens if t.kind != SYMBOL or t.start <= comma.start]
    asked = next(
        (
            tokens[at].start
            for at in range(tokens.index(comma) + 2, len(tokens))
            for end, es in parser.phrases(at)
            if tokens[end - 1 :] == tokens[-1:] and any(e.kind == "kw.exist" for e in es)
        ),
        len(text),
    )
    return f"{text[comma.end : asked].strip().rstrip(' ?.!')} {text[: comma.start].strip()}"


def named_last(text: str, lexicon: Lexicon) -> str:
    """The question with what it is about in its place: "of the retractors, which is longest?", "orthopaedics: which saws?" """
    typed, text = text, DASH.sub(", ", text)
    parser = parser_for(text, lexicon)
    tokens = parser.tokens
    mark = next((i for i, t in enumerate(tokens) if t.kind == SYMBOL and t.key in ",:-"), 0)
    if not mark or mark + 1 >= len(tokens):
        return typed
    rest, first = text[tokens[mark].end :].strip(), 0
    if any(e.kind in ("kw.of", "kw.among") for _, es in parser.phrases(0) for e in es):
        first = min(end for end, es in parser.phrases(0) for e in es if e.kind in ("kw.of", "kw.among"))
        asked = max((end for end, es in parser.phrases(mark + 1) for e in es if e.kind in ("kw.which", "kw.ones")), default=0)
        most = any(e.kind in ("kw.longest", "kw.shortest") for _, es in parser.phrases(mark + 1) for e in es)
        if most and first < mark:
            # "out of all scissors, the longest?"
            return f"{rest.rstrip(' ?.!')} {text[tokens[first].start : tokens[mark - 1].end]}"
        if not asked or first >= mark:
            return typed
        there = next(
            (at for at in range(first + 1, mark) for end, es in parser.phrases(at) if end == mark and _there(es)), mark
        )
        about, rest = text[tokens[first].start : tokens[there - 1].end], text[tokens[asked - 1].end :].strip()
        if asked < len(tokens) and (more := _pointing(parser, asked)) > asked:
            rest = text[tokens[more - 1].end :].strip()
        if _BOTH.search(about):
            word = lexicon.word
            about = _BOTH.sub(word("or"), about)
            if not parser.says("kw.longest", "kw.shortest"):  # what is said of them holds for all of them
                about = f"{word('instrument')}s {word('that')} are ({about})"
        return f"{lexicon.word('which')} {about} {rest}"
    connectors = {f: c for c in reversed(lexicon.words.connectors) for f in c.features}
    first = max((end for end, es in parser.phrases(0) for e in es if e.kind in ("connector", "kw.place")), default=0)
    while first < mark and tokens[first].key in lexicon.words.articles:
        first += 1
    fit = [(end, e) for end, es in parser.phrases(first) for e in es if e.kind == "value"]
    wanted = lexicon.words.set_features | lexicon.words.set_places
    for end, entry in fit:
        parser.at = end
        parser.take("kw.tray", quiet=True)
        last = max((i for i, t in enumerate(tokens) if t.kind == WORD), default=0)
        if last > mark and any(e.kind == "kw.only" for _, es in parser.phrases(last) for e in es):
            rest = text[tokens[mark].end : tokens[last].start].strip()  # "eye tray, specula only"
        if parser.at == mark and (feature := parser.feature_of(entry)) in wanted and feature in connectors:
            last = len(rest.rstrip(" ?.!"))
            about = text[tokens[first].start : tokens[end - 1].end]
            return f"{rest[:last]} {connectors[feature].phrases[0]} {about}{rest[last:]}"
    return typed


def _pointing(parser: FormParser, at: int) -> int:
    """Behind words at ``at`` that point back ("of them"), or ``at`` itself."""
    return max((end for end, es in parser.phrases(at) for e in es if e.kind == "kw.them"), default=at)


def _there(entries: Sequence[Entry]) -> bool:
    return any(e.kind == "kw.exist" for e in entries)


def _shared_ends(text: str, lexicon: Lexicon) -> str:
    """The question with what two words share said twice, where only that is known: "single or double action"; always where it
    makes a name: "plain and toothed dissecting forceps"."""
    parser = parser_for(text, lexicon)
    tokens, changes = parser.tokens, []
    for i in range(1, len(tokens) - 2):
        if tokens[i - 1].kind != WORD or not any(e.kind in ("kw.or", "kw.and") for _, es in parser.phrases(i) for e in es):
            continue
        if tokens[i - 1].key == tokens[i + 1].key:
            continue  # "Adson and Adson-Brown"
        named = any(e.kind == "pattern" for _, es in parser.phrases(i + 1) for e in es)
        shared = ("pattern",) if named else ("value", "part", "category")
        if not named and any(e.kind in shared for _, es in parser.phrases(i - 1) for e in es):
            continue
        for end, entries in parser.phrases(i + 1):
            if end - i < 3 or not any(e.kind in shared for e in entries):
                continue
            tails = (at for at in range(i + 2, end) if text[tokens[at - 1].end : tokens[at].start].isspace())
            known = next((at for at in tails if _is_one([tokens[i - 1], *tokens[at:end]], shared, lexicon)), None)
            if known is not None:
                changes.append((tokens[i - 1].end, " " + text[tokens[known].start : tokens[end - 1].end]))
                break
    for at, more in reversed(changes):
        text = text[:at] + more + text[at:]
    return text


def _is_one(words: Sequence[Token], kinds: Sequence[str], lexicon: Lexicon) -> bool:
    """Whether words together are one known phrase of some kind."""
    return any(e.kind in kinds for stop, es in lexicon.matches(words, 0) if stop == len(words) for e in es)
