"""One word of longer names of values: "oval" for an oval tip, oval jaws or oval rings; "perineal" for perineal surgery.

Looked at only where nothing else explains a word. It then means any of the values whose names it stands in, as long as these
are few and of the kinds of features that can be seen or that say what an instrument is used for; the answer names them all.
"""

from __future__ import annotations

from collections.abc import Container

from kg.language import nodes
from kg.language.entries import HIDDEN
from kg.language.joining import disj
from kg.language.lexicon import Lexicon
from kg.language.nodes import Expr
from kg.language.tokens import WORD, Token

MOST = 9
"""A word in the names of more values says too little by itself."""
LEAST_LETTERS = 3
_INDEXES: dict[int, tuple[Lexicon, dict[str, tuple[str, ...]]]] = {}


def partial(token: Token, lexicon: Lexicon, vague: Container[str]) -> Expr | None:
    """Any of the values in whose names a word stands; None if there are none or too many, or for one of the ``vague`` words."""
    if token.kind != WORD or len(token.key) < LEAST_LETTERS or token.key in vague:
        return None
    if any(map(lexicon.of_whole, lexicon.entries(token.key))):
        return None  # "long" is said of an instrument, or says how something else is
    values = _index(lexicon).get(token.key, ())
    if not values or len(values) > MOST:
        return None
    terms = lexicon.vocabulary.terms
    return disj([nodes.Has(terms[v].feature, v, (token.start, token.end)) for v in values])


def _index(lexicon: Lexicon) -> dict[str, tuple[str, ...]]:
    kept = _INDEXES.get(id(lexicon))
    if kept is not None and kept[0] is lexicon:
        return kept[1]
    found: dict[str, set[str]] = {}
    terms = lexicon.vocabulary.terms
    for key, entry in lexicon.phrases():
        if entry.kind != "value" or entry.rank == HIDDEN or entry.negated or len(key) < 2 or len(key) > 5:
            continue
        if terms[entry.term].feature in lexicon.vocabulary.features:
            for word in key:
                found.setdefault(word, set()).add(entry.term)
    out = {}
    for word, values in found.items():
        # Of a value and a narrower one the broader stands for both.
        out[word] = tuple(sorted(v for v in values if values.isdisjoint(lexicon.vocabulary.ancestors(v))))
    _INDEXES.clear()
    _INDEXES[id(lexicon)] = (lexicon, out)
    return out
