"""What stands in brackets behind a name or inside one, put where the grammar reads it: "needle holder (ophthalmic)" as
"ophthalmic needle holder", "Rochester-Ochsner (Kocher) forceps" without the second name of the same instrument.

Brackets of the grammar ("clamps (curved or straight)") are read by the grammar, before this is asked. Nothing in brackets is
passed over but another name of what it stands beside, and words that only say that all of a family are meant ("group").
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from kg.language.lexicon import Lexicon
from kg.language.parse import parser_for

if TYPE_CHECKING:
    from kg.language.talk import Talk

_ASIDE = re.compile(r"\(([^()]*)\)")
MOST_WORDS = 5
"""So many words may stand in one pair of brackets."""
_NAMES = frozenset({"pattern", "category", "kind", "group"})


def without_brackets(text: str, lexicon: Lexicon, talk: Talk) -> Iterator[str]:
    """The questions that one with an aside in brackets may stand for, the likelier first; none if there is no aside, or more
    than one."""
    found = list(_ASIDE.finditer(text))
    if len(found) != 1 or text.count("(") != 1:
        return
    inside = found[0].group(1).strip()
    before, after = text[: found[0].start()].rstrip(), text[found[0].end() :]
    if not inside or not before or len(inside.split()) > MOST_WORDS:
        return
    if inside.casefold() in talk.general:
        yield before + after
        return
    start = _name_before(before, lexicon)
    if start < len(before) and _same(before[start:], inside, after, lexicon):
        yield before + after
        return
    yield f"{before} {inside}{after}"
    yield f"{before[:start]}{inside} {before[start:]}{after}"


def _name_before(text: str, lexicon: Lexicon) -> int:
    """Where the longest name begins that ends a text, else its last word; the text's length if there is neither."""
    parser = parser_for(text, lexicon)
    tokens = parser.tokens
    for at in range(len(tokens)):
        if any(end == len(tokens) and any(e.kind in _NAMES for e in es) for end, es in parser.phrases(at)):
            return tokens[at].start
    return tokens[-1].start if tokens else len(text)


def _same(name: str, inside: str, after: str, lexicon: Lexicon) -> bool:
    """Whether what stands in brackets is another name of the instrument that the words around it name."""
    last = after.split()[:1]
    around = {*lexicon.bearing(name)} or {*lexicon.bearing(" ".join((name, *last)).strip(" ?.!,"))}
    other = {*lexicon.bearing(inside), *lexicon.bearing(" ".join((inside, *last)).strip(" ?.!,"))}
    return bool(around) and around <= other
