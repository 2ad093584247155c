"""A question put indirectly or as a statement, put directly: "tell me whether the Babcock has a ratchet", "I'd like to know how
many clamps there are", "the Kelly isn't a clamp, is it?".

The words that lead to such a clause, the verbs that trade places with what is spoken of and the words of a tag stand in the
file of plain talk. Nothing but the order of the words changes, except that a statement with "not" and a tag asks for what is
stated: yes or no is then told of that, as the reading says.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from kg.language.lexicon import Lexicon
from kg.language.parse import parser_for
from kg.language.tokens import COMMA, fold

if TYPE_CHECKING:
    from kg.language.talk import Indirect, Talk

LEAST = 3
"""A clause of fewer words asks nothing by itself."""


_PARTS = frozenset({COMMA, ";", ":", "-"})
"""Marks that may part a tag from what is stated."""


class Unit(NamedTuple):
    """A word as typed, folded, and as the key of what is known by it."""

    typed: str
    word: str
    key: str


def direct(text: str, lexicon: Lexicon, talk: Talk) -> Iterator[str]:
    """The direct questions that an indirect one or a statement with a tag may stand for, the likelier first; none if it is
    neither."""
    said = talk.indirect
    parser = parser_for(text, lexicon)
    places = [i for i, t in enumerate(parser.tokens) if not i or t.start > parser.tokens[i - 1].start]
    typed = [text[parser.tokens[i].start : parser.tokens[i].end] for i in places]
    words = [fold(w) for w in typed]
    tagged = _tag(words, said)
    hinge = _hinge(words[:tagged], said)
    if hinge is None and tagged == len(words):
        if words and (denied := said.verbs.get(words[0], ("", False)))[1]:
            yield f"{denied[0]}{text[parser.tokens[places[0]].end :]}"  # "aren't some of them curved?" asks whether some are
        return
    if hinge is None:
        hinge = _told(words[:tagged], said)
    at = hinge or 0
    ends = [parser.tokens[i].end for i in places]
    marks = {text[ends[i] : parser.tokens[places[i + 1]].start].strip()[-1:] for i in range(at, tagged - 1)}
    if tagged - at < LEAST or marks & set("?!.;:"):
        return  # nothing is said, or another sentence begins
    units = [
        u
        for w, word, i in zip(typed[at:tagged], words[at:tagged], places[at:tagged], strict=True)
        for u in _apart(Unit(w, word, parser.tokens[i].key), said)
    ]
    named = {fold(parser.quote(i)) for i in places if any(e.kind == "pattern" for _, es in parser.phrases(i) for e in es)}
    if hinge is not None and units[0].word in said.asking:
        yield from _asked(units, named, said)
    else:
        yield from _stated(units[units[0].word in said.hinges :], named, said, denied=tagged < len(words))


def _tag(words: Sequence[str], said: Indirect) -> int:
    """Where a tag begins that ends the text ("doesn't it?", "right?"); the number of words if there is none."""
    for at in range(max(2, len(words) - said.longest_tag), len(words)):
        rest = tuple(words[at:])
        if words[at - 1] in said.asking:
            continue  # "..., what is it?"
        if rest in said.tags or (len(rest) == 2 and rest[0] in said.verbs and rest[1] in said.pronouns):
            return at - 1 if words[at - 1] in _PARTS else at
    return len(words)


def _hinge(words: Sequence[str], said: Indirect) -> int | None:
    """The word with which an indirect clause begins, behind words that only lead to it; None if there is none."""
    telling = False
    for at, word in enumerate(words):
        if telling and (word in said.hinges or word in said.asking):
            return at
        if word not in said.leads and word != COMMA:
            return None
        telling = telling or word in said.telling
    return None


def _told(words: Sequence[str], said: Indirect) -> int | None:
    """Where a clause begins that somebody says, with no word that leads to it ("a friend says the Kelly is"); else None."""
    for at, word in enumerate(words):
        if at and words[at - 1] in said.telling and word in said.subjects:
            return at
        if word not in said.leads:
            return None
    return None


def _begins(units: Sequence[Unit], at: int, named: Collection[str], said: Indirect) -> bool:
    """Whether what a clause speaks of can begin at a word: an article, a pronoun, or a name without one before
    it; not behind "of"."""
    if at and units[at - 1].word in said.inside:
        return False
    if units[at].word in said.subjects:
        return True
    return units[at].word in named and (not at or units[at - 1].word not in said.subjects)


def _text(*words: str | Sequence[Unit]) -> str:
    pieces = (piece if isinstance(piece, str) else " ".join(u.typed for u in piece) for piece in words)
    return " ".join(filter(None, pieces)).replace(" ,", ",")


def _stated(units: Sequence[Unit], named: Collection[str], said: Indirect, *, denied: bool) -> Iterator[str]:
    """The yes-or-no questions that ask for what a clause states. ``denied``: a tag follows, so that "not" asks for the same."""
    if units and units[0].word in said.asking:
        return  # "what is a stylet, and which needles have one?" states nothing
    for at in range(1, len(units)):
        verb, negated = said.verbs.get(units[at].word, ("", False))
        if not verb:
            continue
        subject, rest = units[:at], units[at + 1 :]
        if rest and rest[0].word in said.nots:
            rest, negated = rest[1:], True
        turn = said.nots[0] if negated and not denied else ""
        if rest and verb in said.having and not _participle(rest[0].word, said):
            yield _text(said.having[verb], subject, turn, said.having_plain, rest)
        yield _text(verb, subject, turn, rest)
        return
    yield from _with_do(units, named, said)


def _asked(units: Sequence[Unit], named: Collection[str], said: Indirect) -> Iterator[str]:
    """The questions that a clause behind a question word asks, its verb moved before what it speaks of."""
    if len(units) > 1 and units[1].word in said.verbs:
        yield _text(units)
        return
    start = next((i for i in range(1, len(units)) if _begins(units, i, named, said)), len(units))
    asked = units[:start]
    if start > 1 and units[0].word not in said.widening:
        yield _text(units)  # "where lies the shank"
        return
    for at in range(start + 1, len(units)):
        verb, negated = said.verbs.get(units[at].word, ("", False))
        if not verb:
            continue
        subject, rest = units[start:at], units[at + 1 :]
        turn = said.nots[0] if negated else ""
        if verb in said.having and not (rest and _participle(rest[0].word, said)):
            yield _text(asked, said.having[verb], subject, turn, said.having_plain, rest)
        elif not rest and verb in said.acting:
            yield _text(asked, verb, subject, turn, said.acting_plain)
        yield _text(asked, verb, subject, turn, rest)
        break
    else:
        for more in _with_do(units[start:], named, said):
            yield _text(asked, more)
    yield _text(units)


def _with_do(units: Sequence[Unit], named: Collection[str], said: Indirect) -> Iterator[str]:
    """A statement without a verb that can trade places, as a question: "the Babcock crushes tissue", "bowel clamps exist"."""
    if units and _begins(units, 0, named, said):
        for at in range(1, len(units)):
            word, key = units[at].word, units[at].key
            spoken_of = units[0].word in said.pronouns or any(u.word in named for u in units[:at])
            if spoken_of and word in (f"{key}s", f"{key}es"):
                yield _text(said.doing[0], units[:at], key, units[at + 1 :])
    if len(units) > 1:
        yield _text(said.doing[1], units)


def _apart(unit: Unit, said: Indirect) -> list[Unit]:
    """A word, or the two that it stands for ("there's")."""
    if unit.word not in said.short:
        return [unit]
    return [Unit(w, w, w) for w in said.short[unit.word].split()]


def _participle(key: str, said: Indirect) -> bool:
    return key in said.participles or key.endswith(said.participle_ends)


def left_out(text: str, said: str, lexicon: Lexicon, talk: Talk) -> tuple[str, ...]:
    """The words of the place and the people ("my students") that are not in what is asked."""
    kept = {t.key for t in parser_for(said, lexicon).tokens}
    parser = parser_for(text, lexicon)
    return tuple(parser.quote(i) for i, t in enumerate(parser.tokens) if t.key in talk.passed and t.key not in kept)


__all__ = ["direct", "left_out"]
