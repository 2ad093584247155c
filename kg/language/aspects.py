"""Several things asked of one instrument at once: "Kelly: parts, use and reprocessing", "uses and look-alikes of the Babcock".

What features say is asked together; where more is wanted the instrument is described, which tells its parts, names, use,
categories and reprocessing with their witnesses, and its look-alikes or the steps of its reprocessing are added.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from kg import names
from kg.language import nodes
from kg.language.lexicon import LENGTH, Lexicon
from kg.language.nodes import Question
from kg.language.parse import parse, parser_for
from kg.language.parse_forms import FormParser

if TYPE_CHECKING:
    from kg.language.talk import Talk

LEAST = 2
"""So many things have to be asked for."""
_ADDED = ("lookalikes", "reprocessing")
"""What a description does not tell, or not in full; the keywords of the questions for it."""
_JOINING = ("kw.and", "kw.be", "kw.of", "kw.it", "kw.instrument", "kw.its", "filler")


class Asked(NamedTuple):
    """The question, and another one (empty if there is none) whose answer is added."""

    question: Question
    other: str


def aspects_asked(text: str, lexicon: Lexicon, talk: Talk) -> Asked | None:
    """The question for several things about the one instrument that is named; None if anything else stands in the text, if
    fewer things are asked for, or if another number of instruments is named."""
    parser = parser_for(text, lexicon)
    patterns: set[str] = set()
    wanted: list[str] = []
    at = 0
    while at < len(parser.tokens):
        found = piece_at(parser, at, talk)
        if found is None:
            return None
        at, pattern, aspect = found
        patterns.update((pattern,) if pattern else ())
        wanted += [aspect] if aspect and aspect not in wanted else []
    if len(patterns) != 1 or len(wanted) < LEAST:
        return None
    return _question(parser, patterns.pop(), wanted)


def piece_at(parser: FormParser, at: int, talk: Talk) -> tuple[int, str, str] | None:
    """(where the longest piece ends that stands here, the pattern that it names, what it asks for); None if it is neither of
    these nor a word between them."""
    tokens = parser.tokens
    for end, entries in parser.phrases(at):
        if all(e.kind == "pattern" for e in entries):
            best = parser.lexicon.resolve(entries)
            return (end, best[0].term, "") if len(best) == 1 else None
    for end in range(min(len(tokens), at + 6), at, -1):
        if aspect := talk.aspects.get(tuple(t.key for t in tokens[at:end]), ""):
            return end, "", aspect
    for end, entries in parser.phrases(at):
        named = {e.term for e in entries if e.kind in ("feature", "part")}
        if named and all(e.kind in ("feature", "part") for e in entries):
            features = {e.term for e in entries if e.kind == "feature"}
            return end, "", min(features or named)
    if tokens[at].key in talk.aspect_leads or not tokens[at].key.isalnum():
        return at + 1, "", ""
    joining = (end for end, entries in parser.phrases(at) if any(e.kind in _JOINING for e in entries))
    return next(((end, "", "") for end in joining), None)


def _question(parser: FormParser, pattern: str, wanted: list[str]) -> Asked:
    lexicon = parser.lexicon
    name = lexicon.vocabulary.label(pattern)
    others = [f"{lexicon.word(kind)} {name}" for kind in _ADDED if kind in wanted]
    rest = [w for w in wanted if w not in _ADDED]
    features = tuple(dict.fromkeys(_features(parser, rest)))
    if rest and all(w == "use" or ":" in w for w in rest):
        return Asked(nodes.Value(pattern, features), "; ".join(others))
    if not rest:
        return Asked(parse(others[0], lexicon), "; ".join(others[1:]))
    return Asked(nodes.Describe(pattern), "; ".join(others))


def _features(parser: FormParser, wanted: list[str]) -> Iterator[str]:
    """The features asked for by name, by the part that they describe, or as what it is used for."""
    known = parser.lexicon.vocabulary.features
    for aspect in wanted:
        if aspect == "use":
            yield from parser._uses()
        elif aspect in known or aspect in (LENGTH, names.HAS_PART):
            yield aspect
        elif ":" in aspect:
            yield from [f.name for f in known.values() if f.part == aspect] or [names.HAS_PART]
