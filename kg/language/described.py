"""A name of an instrument that also says what such an instrument is for: "is the Green-Armytage a hysterectomy clamp?" asks
whether it is a clamp for hysterectomy, and not whether it is the one that sources call so.
"""

from __future__ import annotations

from contextlib import suppress

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.lexicon import Lexicon
from kg.language.nodes import Question
from kg.language.parse import parse, parser_for

FAMILIES = frozenset({"category", "kind", "group"})


def as_described(text: str, lexicon: Lexicon, error: QuestionError) -> Question | None:
    """What a yes or no asks where the last name in it (the place of ``error``), in small letters, is a word for an operation
    or a place of the body with a family behind it; None if it is none. Raises nothing."""
    start, end = error.span
    name = text[start:end]
    if not name.strip() or name != name.lower():
        return None
    parser = parser_for(name, lexicon)
    connectors = {f: c.phrases[0] for c in reversed(lexicon.words.connectors) for f in c.features}
    wanted = lexicon.words.set_features | lexicon.words.set_places
    for at, entries in parser.phrases(0):
        family = max((stop for stop, es in parser.phrases(at) if any(e.kind in FAMILIES for e in es)), default=0)
        features = [parser.feature_of(e) for e in entries if e.kind == "value" and parser.feature_of(e) in wanted]
        if family < len(parser.tokens) or not features:
            continue
        what, kind = name[: parser.tokens[at - 1].end], name[parser.tokens[at].start :]
        with suppress(QuestionError):
            found = parse(f"{text[:start]}{kind} {connectors[features[0]]} {what}{text[end:]}", lexicon)
            if isinstance(found, nodes.Holds):
                return found
    return None


__all__ = ["as_described"]
