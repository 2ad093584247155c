"""Words that set one instrument against another by degree: "lighter than a Kelly", "which is gentler, Babcock or Allis?".

The file of plain talk says which words they are, and by which recorded values, in which order, they are measured.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from kg.language.lexicon import Lexicon
from kg.language.parse import parser_for

if TYPE_CHECKING:
    from kg.language.talk import Talk

Key = tuple[str, ...]
LONGEST = 5
MOST_BETWEEN = 4
"""So many words at most stand between the words of a degree and "than"."""


class Scale(NamedTuple):
    """A feature and its values from little to much, those of one rank together."""

    feature: str
    order: tuple[tuple[str, ...], ...]


class Degree(NamedTuple):
    """Words for more and for less of something, and the scales by which it is judged, the first that tells first; ``length``:
    it is judged by the length."""

    more: frozenset[Key]
    less: frozenset[Key]
    scales: tuple[Scale, ...]
    length: bool = False


class Said(NamedTuple):
    """What a text says: the degree, whether more of it, the words for it, and what stands before them and behind "than" (empty
    if there is none)."""

    degree: Degree
    more: bool
    words: str
    before: str
    than: str


def read_degrees(tables: Iterable[Mapping[str, Any]], keys: Callable[[Iterable[str]], list[Key]]) -> tuple[Degree, ...]:
    """The degrees of the file of plain talk."""

    def phrases(table: Mapping[str, Any], name: str) -> frozenset[Key]:
        each = [*table[name], *(f"{word} {of}" for word in table[name] for of in table.get("about", ()))]
        return frozenset(keys(each))

    return tuple(
        Degree(
            phrases(t, "more"),
            phrases(t, "less"),
            tuple(Scale(s["feature"], tuple(tuple(rank) for rank in s["order"])) for s in t.get("scale", ())),
            bool(t.get("length")),
        )
        for t in tables
    )


def said(text: str, lexicon: Lexicon, talk: Talk) -> Said | None:
    """The one comparison by degree that a text makes; None if it makes none or several."""
    parser = parser_for(text, lexicon)
    tokens = lexicon.keyed(parser.tokens)
    found = [(at, end, d, up) for at in range(len(tokens)) for end, d, up in _at(tokens, at, talk)]
    found = [f for f in found if not any(g[0] <= f[0] and f[1] <= g[1] and g[:2] != f[:2] for g in found)]
    if len(found) != 1:
        return None
    at, end, degree, up = found[0]
    than = next((i for i in range(end, min(len(tokens), end + MOST_BETWEEN + 1)) if tokens[i].key in talk.than), None)
    if than is None and any(t.key in talk.than for t in tokens):
        return None
    ahead = text[tokens[end - 1].end :].strip(" ?.!,;:")
    between = text[tokens[end - 1].end : tokens[than].start] if than is not None else ahead
    if between.strip() and _says(between, lexicon):
        return None  # "which has the finer teeth", "which is gentler on the bowel"
    behind = text[tokens[than].end :].strip(" ?.!") if than is not None else ""
    words = text[tokens[at].start : tokens[end - 1].end]
    return Said(degree, up, words, text[: tokens[at].start].strip(" ,:;"), behind)


def without_family(text: str, lexicon: Lexicon, talk: Talk) -> Iterator[str]:
    """ "Which eye scissors are finer, Westcott or Vannas?" without the family of which both are; nothing where no degree is
    asked."""
    parser = parser_for(text, lexicon)
    asked = said(text, lexicon, talk) if "kw.which" in parser.kinds(0) else None
    if asked is None or asked.than or not asked.before:
        return
    first = parser.tokens[0].end
    verb = next((t for i, t in enumerate(parser.tokens) if i > 1 and "kw.be" in parser.kinds(i)), None)
    family = text[first : verb.start].strip() if verb is not None else ""
    if verb is None or not family:
        return
    rest = parser_for(family, lexicon)
    if rest.description() is not None and rest.ended():
        yield f"{text[:first]} {lexicon.words.keywords['be'][0]}{text[verb.end :]}"


def _says(text: str, lexicon: Lexicon) -> bool:
    """Whether words say more of instruments than their names."""
    parser, at = parser_for(text, lexicon), 0
    while at < len(parser.tokens):
        end, entries = next(iter(parser.phrases(at)), (at + 1, ()))
        kinds = {e.kind for e in entries}
        if kinds & {"part", "value", "wide", "feature", "unit"} and not kinds & {"pattern", "category"}:
            return True
        at = end
    return False


def _at(tokens: Sequence[Any], at: int, talk: Talk) -> list[tuple[int, Degree, bool]]:
    out = []
    for degree in talk.degrees:
        for up, phrases in ((True, degree.more), (False, degree.less)):
            for size in range(LONGEST, 0, -1):
                if at + size <= len(tokens) and tuple(t.key for t in tokens[at : at + size]) in phrases:
                    out.append((at + size, degree, up))
                    break
    return out


__all__ = ["Degree", "Said", "Scale", "read_degrees", "said", "without_family"]
