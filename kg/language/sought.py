"""The name of a part that is told by its place or its work: "which part lies between the rings and the joint?", "what do you
call the bit your fingers go through?".

The words of each part stand in the word file, under ``[sought]``. Every word of the question has to be accounted for: it asks
for a name, it tells something of parts, it names the instrument that they are parts of, or it says nothing.
"""

from __future__ import annotations

from kg.language import nodes
from kg.language.lexicon import Lexicon
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.tokens import SYMBOL
from kg.language.topic_words import phrases_of, topic_at

_FAMILIES = frozenset({"category", "kind", "group", "pattern", "kw.instrument"})
_SAYS_NOTHING = ("filler", "kw.of", "kw.be", "kw.do", "kw.have", "kw.that", "kw.place", "kw.with", "kw.it", "kw.link", "kw.can")
MOST = 24
"""A longer question tells more than a part."""


def part_sought(text: str, lexicon: Lexicon) -> nodes.Define | None:
    """The part that all that is told of it fits, to be defined; None if the question asks for no part, if a word is not
    accounted for, or if what is told fits none or several."""
    words = lexicon.words.sought
    parser = parser_for(text, lexicon)
    tokens, articles = parser.tokens, lexicon.words.articles
    if not words or len(tokens) > MOST:
        return None
    asking = {kind: {"words": words.get(kind, ())} for kind in ("opens", "calls", "names", "ends")}
    asks, longest_ask = phrases_of(asking, lexicon, f"{__name__}.asks")
    opened, found = topic_at(tokens, 0, asks, longest_ask, articles)
    kinds = {name for name, _ in found} - {"ends"}
    if not kinds:
        return None
    clues, longest = phrases_of({t: {"words": p} for t, p in words.get("part", {}).items()}, lexicon, f"{__name__}.clues")
    light, longest_light = phrases_of({"light": {"words": words.get("light", ())}}, lexicon, f"{__name__}.light")
    fit: set[str] | None = None
    ended, at, first = False, opened, True
    while at < len(tokens):
        told_to, told = topic_at(tokens, at, clues, longest, articles)
        light_to, _ = topic_at(tokens, at, light, longest_light, articles)
        end_to, ends = topic_at(tokens, at, asks, longest_ask, articles)
        if told and told_to >= light_to:
            parts = {name for name, _ in told}
            fit, at = parts if fit is None else fit & parts, told_to
        elif ("ends", False) in ends and end_to > at:
            ended, at = True, end_to
        elif light_to > at:
            at = light_to
        elif (passed := _passed(parser, at, first and kinds.isdisjoint(("opens",)))) > at:
            first, at = first and tokens[at].key in articles, passed
        else:
            return None
    if fit is None or len(fit) != 1 or (kinds == {"names"} and not ended):
        return None
    return nodes.Define(fit.pop())


def _passed(parser: FormParser, at: int, heads: bool) -> int:
    """The end of what says nothing of a part here: small words, and the instrument that it is a part of, unless this stands
    first and so is what the name is asked of; ``at`` if something else stands here."""
    token = parser.tokens[at]
    if token.kind == SYMBOL or token.key in parser.lexicon.words.articles:
        return at + 1
    for end, entries in parser.phrases(at):
        named = {e.kind for e in entries}
        if named & _FAMILIES:
            return at if heads else end
        if any(k.startswith(_SAYS_NOTHING) for k in named):
            return end
    return at


__all__ = ["part_sought"]
