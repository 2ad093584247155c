"""What fits an instrument that is but one part of a whole: "15 blade handle", "blade 22 - which handle?", "handle 3 blades".

The word of a part ("handle") is also a word for instruments. Where it stands beside the name of one of the same kind,
with nothing else that weighs, the instruments that fit this one are asked for, and no part of it.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.lexicon import Lexicon
from kg.language.parse import parse, parser_for
from kg.language.tokens import SYMBOL

if TYPE_CHECKING:
    from kg.language.talk import Talk

_BESIDE = frozenset({"kw.which", "kw.whatis", "kw.of", "kw.be", "kw.number_word", "filler"})
TRIED = 2
"""So many phrases for "fit" are tried: "blade fitting" is itself a name."""
MOST, MOST_WITH_VERBS = 8, 12
"""A longer question asks more than this; with verbs between the two."""


def what_fits(text: str, lexicon: Lexicon, talk: Callable[[], Talk]) -> nodes.Filter | None:
    """The list of what fits the one instrument that is named, of the one family that is; None for any other question. Verbs may
    stand between them where it is asked which ("which handle do I need for a 15 blade?")."""
    parser = parser_for(text, lexicon)
    tokens = parser.tokens
    if not tokens or len(tokens) > MOST_WITH_VERBS or "kw.be" in parser.kinds(0):
        return None  # "is there a blade on the No. 4 handle?"
    if not any("pattern" in parser.kinds(i) for i in range(len(tokens))):
        return None
    names: list[str] = []
    families: list[str] = []
    verbs: list[str] = []
    at = 0
    while at < len(tokens):
        found = parser.phrases(at)
        end, entries = found[0] if found else (at + 1, ())
        kinds = {e.kind for e in entries}
        if "pattern" in kinds and len(borne := {e.term for e in entries if e.kind == "pattern"}) == 1:
            names += borne
        elif "group" in kinds:
            families.append(parser.quote(at, end))
        elif not (kinds & _BESIDE or tokens[at].key in lexicon.words.articles or tokens[at].kind == SYMBOL):
            verbs += [t.key for t in tokens[at:end]]
        at = end
    if len(names) != 1 or len(families) != 1:
        return None
    if len(tokens) > MOST and not verbs:
        return None
    if verbs and not ("kw.which" in parser.kinds(0) and talk().fitting.issuperset(verbs)):
        return None
    label = lexicon.vocabulary.label(names[0])
    connectors = [c for c in lexicon.words.connectors if len(c.features) == 1 and lexicon.feature(c.features[0]).patterns]
    for phrase in (phrase for c in connectors for phrase in c.phrases[:TRIED]):
        with suppress(QuestionError):
            found = _fitting(parse(f"{families[0]} {phrase} {label}", lexicon), names[0], lexicon)
            if found is not None:
                return found
    return None


def _fitting(question: nodes.Question, name: str, lexicon: Lexicon) -> nodes.Filter | None:
    """The question, if it asks for a family that fits the instrument and shares a word with it ("scalpel")."""
    expr = getattr(question, "expr", None)
    if not isinstance(question, nodes.Filter) or not isinstance(expr, nodes.And) or len(expr.items) != 2:
        return None
    family, fits = expr.items
    if not isinstance(family, nodes.IsA) or not isinstance(fits, nodes.Has) or fits.value != name:
        return None
    label = lexicon.vocabulary.label
    shared = set(lexicon.folder.phrase(label(family.category))) & set(lexicon.folder.phrase(label(name)))
    return question if shared else None


__all__ = ["what_fits"]
