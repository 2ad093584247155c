"""What stands in brackets behind a name or inside one, put where the grammar reads it: "needle holder (ophthalmic)" as
"ophthalmic needle holder", "Rochester-Ochsner (Kocher) forceps" without the second name of the same instrument.

Brackets of the grammar ("clamps (curved or straight)") are read by the grammar, before this is asked. Nothing in brackets is
passed over but another name of what it stands beside, and words that only say that all of a family are meant ("group").
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
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
    if _said_before(before + after, inside, lexicon):
        yield before + after
        return
    start = _name_before(before, lexicon)
    if start < len(before) and _same(before[start:], inside, after, lexicon):
        yield before + after
        return
    yield f"{before} {inside}{after}"
    yield f"{before[:start]}{inside} {before[start:]}{after}"


def _said_before(rest: str, inside: str, lexicon: Lexicon) -> bool:
    """Whether what stands in brackets is said of a value that the rest of the question names: "to put in a coil (IUD)"."""
    keys = frozenset(t.key for t in parser_for(inside, lexicon).tokens)
    with suppress(QuestionError):
        expr = getattr(parser_for(rest, lexicon).question(), "expr", None)
        said = expr.items if isinstance(expr, nodes.And | nodes.Or) else (expr,)
        return any(keys <= lexicon.name_keys(e.value) for e in said if isinstance(e, nodes.Has))
    return False


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
