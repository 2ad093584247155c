"""Whether a text describes an instrument in the hand, and what of it is the description."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING

from kg.language import nodes
from kg.language.lexicon import Lexicon
from kg.language.nameless import LEAST_WORDS, inner, names_one
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.tokens import scan

if TYPE_CHECKING:
    from kg.language.talk import Talk

ASKING = {"kw.which", "kw.how", "kw.do", "kw.can", "kw.exist"}
"""Words inside a text that ends with a question mark, which then asks for more than a name."""
MOST_SAID = 6
"""The family of one thing that is asked for stands among so many words."""
_TELLS = frozenset({"kw.with", "kw.that", "kw.for", "kw.like", "connector"})


def in_the_hand(text: str, lexicon: Lexicon, talk: Talk) -> str | None:
    """What is said of an instrument that is to be named, without the words that ask for its name; None if none is asked for."""
    tokens = lexicon.keyed(parser_for(text, lexicon).tokens)
    keys = tuple(t.key for t in tokens)
    asked = sorted((k for k, names in talk.cues.items() if names <= {"identify", "identify_last"}), key=len, reverse=True)
    for key in asked:
        last = len(key) < 2 or talk.cues[key] == {"identify_last"}
        for at in (0, len(keys) - len(key))[last:]:
            if at >= 0 and keys[at : at + len(key)] == key and not _part_of_a_topic(keys, at, at + len(key), talk):
                start, end = tokens[at].start, tokens[at + len(key) - 1].end
                if any(w.endswith("s") for w in talk.several & set(text[start:end].casefold().split())):
                    continue  # "the skull must be opened; which instruments?"
                rest = text[end:] if at == 0 else text[:start]
                said = nodes.seen_text(rest)
                rest = _led_off(said, lexicon, talk)
                if _is_handed(keys, talk) and _is_a_name(rest, lexicon, talk):
                    return None  # "I was handed a Kocher. What is it?"
                if len(rest.split()) > LEAST_WORDS - (rest != said) and not _sets_names_apart(rest, lexicon):
                    return rest
    return _handed(text, lexicon, talk)


def _is_handed(keys: tuple[str, ...], talk: Talk) -> bool:
    """Whether a text begins with what is said of a thing in the hand ("I was handed")."""
    return any(keys[: len(k)] == k for k in talk.handed)


def _is_a_name(text: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether a text is the name of an instrument and nothing else, but for the words that lead up to it."""
    words = [t for t in lexicon.keyed(scan(text)) if t.key[:1].isalnum()]
    first, last, _ = inner(words, talk.nameless)
    parser = parser_for(text[words[first].start :] if first < last else text, lexicon)
    at = int(bool(parser.tokens) and parser.tokens[0].key in lexicon.words.articles)
    return any(end == len(parser.tokens) and e.kind == "pattern" for end, es in parser.phrases(at) for e in es)


def _handed(text: str, lexicon: Lexicon, talk: Talk) -> str | None:
    """What is told of a thing that was handed over, where it is asked at the end what it is ("I was given long scissors with
    angled blades. What are they?"); None if it is not, or if an instrument is named."""
    words = [t for t in lexicon.keyed(scan(text)) if t.key[:1].isalnum()]
    keys = tuple(w.key for w in words)
    if not _is_handed(keys, talk):
        return None
    first, last, asked = inner(words, talk.nameless)
    if not (asked and first and last < len(words) and last - first > LEAST_WORDS):
        return None
    seen = nodes.seen_text(text[words[first].start : words[last - 1].end])
    return None if names_one(parser_for(seen, lexicon)) else seen


def _led_off(text: str, lexicon: Lexicon, talk: Talk) -> str:
    """A description without the words that lead up to it ("I was handed"); as it is if nothing else is there."""
    words = [t for t in lexicon.keyed(scan(text)) if t.key[:1].isalnum()]
    first, last, _ = inner(words, talk.nameless)
    return text[words[first].start :] if first > 0 and last - first >= LEAST_WORDS else text


def _part_of_a_topic(keys: tuple[str, ...], start: int, end: int, talk: Talk) -> bool:
    """Whether words that ask for a name stand inside a longer phrase that asks for something else ("clashes with its name",
    "which is which")."""
    return any(
        keys[at : at + len(phrase)] == phrase
        for phrase in chain(
            *(topic.phrases for topic in talk.topics), (k for k, names in talk.cues.items() if "compare" in names)
        )
        if len(phrase) > end - start
        for at in range(max(0, end - len(phrase)), start + 1)
    )


def _sets_names_apart(text: str, lexicon: Lexicon) -> bool:
    """Whether two instruments are named: one of them is asked for, and nothing is in the hand."""
    parser = parser_for(text, lexicon)
    named = {
        e.text for at in range(len(parser.tokens)) for _, es in parser.phrases(at)[:1] for e in es[:1] if e.kind == "pattern"
    }
    return len(named) > 1 and parser.says("kw.or")


def one_with(text: str, lexicon: Lexicon) -> str | None:
    """What is said of one thing of a family that is asked for by what follows the family ("what is the curved blade with
    a point like a sickle?"); None if a text asks for something else."""
    parser = parser_for(text, lexicon)
    articles = lexicon.words.articles
    at = next((end for end, es in parser.phrases(0) if any(e.kind == "kw.whatis" for e in es)), 0)
    if not at or at >= len(parser.tokens) or parser.tokens[at].key not in articles:
        return None
    start = at = at + 1
    while at < min(start + MOST_SAID, len(parser.tokens)):
        end, entries = next(iter(parser.phrases(at)), (at + 1, ()))
        kinds = {e.kind for e in entries}
        if kinds & {"category", "kind", "group", "kw.instrument"} and end < len(parser.tokens):
            return nodes.seen_text(text[parser.tokens[start].start :]) if parser.kinds(end) & _TELLS else None
        if kinds & {"feature", "pattern", "concept"}:
            return None
        at = end
    return None


def describes(text: str, lexicon: Lexicon) -> bool:
    """Whether a text that no rule reads looks like a description: it begins with no question word and lists or is long."""
    parser = parser_for(text, lexicon)
    tokens = parser.tokens
    first = {e.kind for _, es in lexicon.matches(tokens, 0) for e in es}
    if any(
        (k == "ask" or k.startswith(("kw.", "op.")))
        for k in first
        - {"kw.have", "kw.with", "kw.without", "kw.no", "kw.it", "kw.lookalikes", "kw.instrument"}
        - {"kw.tally_verb", "kw.like", "kw.look_like", "kw.number_word"}
        - ({"kw.them"} if not parser.points_back(0) else set())
    ):
        return False
    if any(
        e.kind == "kw.them" and parser.points_back(i) for i in range(len(tokens)) for _, es in parser.phrases(i) for e in es
    ):
        return False
    inside = {e.kind for i in range(1, len(tokens) - 3) for _, es in parser.phrases(i) for e in es}
    if any(t.key == "," and _asks_at(parser, i + 1) for i, t in enumerate(tokens)):
        return False
    if inside & (
        {"kw.whatis", "kw.count", "kw.compare", "kw.group", "kw.why"} | (ASKING if text.rstrip().endswith("?") else set())
    ):
        return False  # a question of its own inside
    commas = sum(t.key == "," for t in tokens)
    if not commas and any(t.key in lexicon.words.ones for t in lexicon.keyed(tokens)):
        return False  # "and single-ended ones used in the chest" speaks of a list
    told = commas > 0 or text.split()[0].casefold() in lexicon.words.articles or not text.rstrip().endswith("?")
    return commas > 1 or (len(tokens) > 6 and told)


def _asks_at(parser: FormParser, at: int) -> bool:
    """Whether a clause that begins at a token asks something ("diathermy forceps, what to check")."""
    return at + 2 < len(parser.tokens) and not parser.kinds(at).isdisjoint(("kw.how", "kw.which"))
