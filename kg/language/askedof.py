"""What is asked of one instrument that is named, or of two, in any order of the words: "is there a ratchet on the Babcock?".

The file of plain talk lists, for each thing that may be asked, the phrases that ask for it and those that may stand beside it.
Every word must be the name, belong to such a phrase or say nothing of an instrument; a word of the trade, a number and a word
that turns a question must stand in a phrase. So no condition is ever dropped, and the grammar reads the question that is meant.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.entries import Entry
from kg.language.framing import Key, Pattern
from kg.language.lexicon import Lexicon
from kg.language.listed import mixes_names, speaks_of_one
from kg.language.loose import of_another_family
from kg.language.nodes import Question
from kg.language.otherwise import DASH, EITHER
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.readings import Understood, read
from kg.language.talk import Ask, Talk
from kg.language.tokens import NUMBER, SYMBOL

MOST = 40
"""A longer text tells a story."""
_NAMES = ("{x}", "{y}")
_PLACES = {
    "{v}": ("value", "part"),
    "{w}": ("value", "part"),
    "{p}": ("part",),
    "{f}": ("feature", "part", "concept"),
    "{c}": ("category", "kind", "group"),
    "{k}": ("category", "kind", "group"),
    "{l}": ("category", "kind", "group"),
}
"""Places of a phrase besides the names -> what may stand there."""
_FAMILIES = ("{c}", "{k}", "{l}")
_WEIGHS = frozenset({"pattern", "category", "kind", "value", "part", "feature", "group", "wide"})
_OTHERS = frozenset({"sources", "disputes", "reprocess", "lookalikes", "length", "gaps"})
"""What a word may ask for that is passed over elsewhere."""
_Spans = dict[str, tuple[int, int]]


def asked_of_named(text: str, lexicon: Lexicon, talk: Talk) -> Understood | None:
    """The question, with the words passed over that are worth telling; None if it is none of those listed, if not every word is
    accounted for, or if another number of instruments is named. Raises nothing."""
    text = DASH.sub(", ", text)
    parser = parser_for(text, lexicon)
    if not 0 < len(parser.tokens) <= MOST:
        return None
    named = _named(parser, talk)
    if named is None:
        return None
    for ask in talk.asks:
        if ask.names != len(named):
            continue
        found = _covered(parser, ask, named, talk)
        if found is None:
            continue
        spans, left = found
        words = {place[1:-1]: parser.quote(start, end) for place, (start, end) in spans.items()}
        belongs = _of_that_part(parser, spans)
        for said in ask.question.split(EITHER):
            if not belongs and "{p}" not in said:
                continue
            with suppress(QuestionError, KeyError):
                question = read(said.strip().format(**words), lexicon)
                if _answers(question, len(named)) and (belongs or _one_value(question)):
                    return Understood(question, tuple(dict.fromkeys(left)), sure=True)
    return None


def more_exactly(text: str, strict: Question, lexicon: Lexicon, talk: Talk) -> Understood | None:
    """What is asked of an instrument that the grammar only lists, describes or tells a part of; else None."""
    named = asked_of_named(text, lexicon, talk)
    return named if named is not None and _more_exact(strict, named) else None


def _more_exact(strict: Question, named: Understood) -> bool:
    """Whether it answers what is asked where the grammar tells of a part, or all there is to be told of an instrument."""
    if isinstance(strict, nodes.PartOf | nodes.Value):
        return isinstance(named.question, nodes.Holds)
    return isinstance(named.question, nodes.Filed | nodes.Holds) or not isinstance(strict, nodes.Describe)


def _answers(question: Question, named: int) -> bool:
    """Whether it is no list of what is named."""
    if named > 1 or not isinstance(question, nodes.Filter):
        return True
    return not (mixes_names(question) or speaks_of_one(question.expr) or isinstance(question.expr, nodes.Named))


def _named(parser: FormParser, talk: Talk) -> _Spans | None:
    """Where one or two instruments are named; None if none is, more are, one is named twice, or a name is of several."""
    out: list[tuple[int, int]] = []
    meant: set[str] = set()
    label = parser.lexicon.vocabulary.label
    at = 0
    while at < len(parser.tokens):
        end, entries = next(
            (
                (end, es)
                for end, es in parser.phrases(at)
                if any(e.kind in ("pattern", "value", "part") for e in es) and not _half_of_a_choice(parser, at, end)
            ),
            (0, ()),
        )
        fit = tuple(e for e in entries if e.kind == "pattern")
        if not fit or (end == at + 1 and parser.text[parser.tokens[at].start].islower() and len(fit) < len(entries)):
            at = end or at + 1
            continue
        best = parser.lexicon.resolve(fit)
        if len(best) != 1 or of_another_family(parser, at, end, talk):
            return None
        meant.add(best[0].term)
        if end < len(parser.tokens) and parser.tokens[end].key == parser.lexicon.keys(label(best[0].term))[-1]:
            end += 1  # "the No. 4 handle"
        out.append((at, end))
        at = end
    if not 0 < len(out) < 3 or len(meant) != len(out):
        return None
    return dict(zip(_NAMES, out, strict=False))


def _half_of_a_choice(parser: FormParser, at: int, end: int) -> bool:
    """Whether a name runs on over a comma into one of two things that are asked ("Mayo scissors, curved or straight?")."""
    comma = any(t.kind == SYMBOL and t.key == "," for t in parser.tokens[at:end])
    return comma and end < len(parser.tokens) and "kw.or" in parser.kinds(end)


def _covered(parser: FormParser, ask: Ask, named: _Spans, talk: Talk) -> tuple[_Spans, list[str]] | None:
    """The places of an ask, and the words passed over; None if it does not account for every word, or does not ask."""
    spans, left, asks, at = dict(named), [], False, 0
    starts = dict(named.values())
    articles = parser.lexicon.words.articles
    while at < len(parser.tokens):
        token = parser.tokens[at]
        end, found = _longest(ask.asks, parser, at, spans, talk)
        barred, _ = _longest(ask.never, parser, at, spans, talk)
        if barred > at + 1:
            return None
        other, beside = _longest(ask.beside, parser, at, spans, talk)
        if end and end >= other:
            asks, spans, at = True, found, end
        elif other:
            asks = asks or any(0 < _longest(ask.asks, parser, i, spans, talk)[0] <= other for i in range(at, other))
            spans, at = beside, other
        elif at in starts:
            at = starts[at]
        elif token.kind == SYMBOL or token.key in articles:
            at += 1
        elif (
            token.kind == NUMBER
            or parser.lexicon.words.numbers.get(token.key, "1") != "1"
            or token.key in talk.strong
            or barred
            or _weighs(parser, at, talk)
            or talk.says_how_far(token.key, parser.tokens)
        ):
            return None
        elif token.key in talk.silent:
            at += 1
        elif token.key in talk.passed and not talk.cues.get((token.key,), frozenset()) & _OTHERS:
            left.append(parser.quote(at))
            at += 1
        else:
            return None
    return (spans, left) if asks else None


def _one_value(question: Question) -> bool:
    """Whether it asks of one value, the part and what is said of it being its name ("blades", "fenestrated")."""
    return isinstance(question, nodes.Holds) and isinstance(question.expr, nodes.Has)


def _of_that_part(parser: FormParser, spans: _Spans) -> bool:
    """Whether what is asked of a part is said of that part, or of the whole ("are its jaws crushing?")."""
    if "{p}" not in spans or "{v}" not in spans:
        return True
    said, part = (next(es for end, es in parser.phrases(start) if end == stop) for start, stop in (spans["{v}"], spans["{p}"]))
    vocabulary = parser.lexicon.vocabulary
    parts = {"", *(e.term for e in part if e.kind == "part")}
    return any(e.kind == "value" and vocabulary.features[vocabulary.terms[e.term].feature].part in parts for e in said)


def _weighs(parser: FormParser, at: int, talk: Talk) -> bool:
    """Whether a word of the trade stands here, so that passing over it would drop what it says; a little word that only leads
    to one ("can be autoclaved") says nothing by itself."""
    alone = parser.tokens[at].key in talk.silent
    return any(e.kind in _WEIGHS for end, es in parser.phrases(at) if end == at + 1 or not alone for e in es)


def _longest(
    patterns: Mapping[str, Sequence[Pattern]], parser: FormParser, at: int, spans: _Spans, talk: Talk
) -> tuple[int, _Spans]:
    """Where the longest of the patterns ends that stand at ``at``, with its places; (0, {}) if none does."""
    best, found = 0, {}
    firsts = [parser.tokens[at].key, *(place for place in (*_NAMES, *_PLACES) if place in patterns)]
    for first in firsts:
        for pattern in patterns.get(first, ()):
            for end, places in _ends(pattern, parser, at, spans, talk):
                if end > max(best, at) and not _cuts(parser, at, end, talk):
                    best, found = end, places
    return best, found


def _cuts(parser: FormParser, at: int, end: int, talk: Talk) -> bool:
    """Whether a word of the trade begins in these words and runs on behind them ("clip latch" behind "clip")."""
    return any(
        stop > end and any(e.kind in ("value", "part", "feature") for e in es)
        for start in range(at, end)
        if parser.tokens[start].key not in talk.silent
        for stop, es in parser.phrases(start)
    )


def _ends(pattern: Pattern, parser: FormParser, at: int, spans: _Spans, talk: Talk) -> Iterator[tuple[int, _Spans]]:
    """(where a pattern can end that begins at ``at``, its places)."""
    if not pattern:
        yield at, spans
        return
    first, rest = pattern[0], pattern[1:]
    tokens = parser.tokens
    if not isinstance(first, str) or not first.startswith("{"):
        for option in ((first,),) if isinstance(first, str) else first:
            if (end := _behind(option, parser, at)) >= 0:
                yield from _ends(rest, parser, end, spans, talk)
        return
    at = _past_articles(parser, at)
    if first in _NAMES:
        for start, end in (spans[n] for n in _NAMES if n in spans):
            if start == at:
                yield from _ends(rest, parser, end, spans, talk)
        return
    if first in spans and spans[first][0] != at:
        return
    for end, entries in parser.phrases(at) if at < len(tokens) else ():
        if _fits(first, entries) and (end > at + 1 or tokens[at].key not in talk.silent):
            yield from _ends(rest, parser, end, {**spans, first: (at, end)}, talk)


def _fits(place: str, entries: Sequence[Entry]) -> bool:
    """Whether a phrase may stand in a place: a family only if it is no word for a part or a value too ("the handle of")."""
    kinds = {e.kind for e in entries if not e.negated}
    return bool(kinds & set(_PLACES[place])) and not (place in _FAMILIES and kinds & {"part", "value", "feature"})


def _behind(words: Key, parser: FormParser, at: int) -> int:
    """Behind these words at ``at``, before each of which an article may stand; -1 if they do not stand there."""
    for word in words:
        if at < len(parser.tokens) and parser.tokens[at].key != word:
            at = _past_articles(parser, at)
        if at >= len(parser.tokens) or parser.tokens[at].key != word:
            return -1
        at += 1
    return at


def _past_articles(parser: FormParser, at: int) -> int:
    while at < len(parser.tokens) and parser.tokens[at].key in parser.lexicon.words.articles:
        at += 1
    return at
