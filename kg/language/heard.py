"""A question for instruments that no rule of the language reads, as far as other wordings of what is recorded explain it:
"name the retractor that holds the bladder out of the way", "which needle holders combine scissors with the jaws?"

Only a text that asks for instruments is one: nothing in it asks for a count, a reason, a meaning or a comparison, names an
instrument or points back. What each word means is for ``kg.identify`` to say; this module judges whether that says enough.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from kg.language import nodes
from kg.language.entries import CONTENT
from kg.language.lexicon import Lexicon
from kg.language.nameless import OTHER, inner, names_one, weighty
from kg.language.nodes import Expr
from kg.language.parse import parser_for
from kg.language.tokens import NUMBER, SYMBOL

if TYPE_CHECKING:
    from kg.language.parse_forms import FormParser
    from kg.language.talk import Talk

ASKING = frozenset(("kw.which", "kw.exist", "kw.instrument", "kw.ones", "kw.any", "kw.whatis"))
QUESTIONS = frozenset(("kw.which", "kw.whatis", "kw.how"))
VERB_FIRST = frozenset(("kw.be", "kw.do", "kw.have", "kw.can"))
ELSEWHERE = OTHER - {"kw.category_word"}
TURNING = frozenset(("kw.or", "kw.without", "kw.no", "kw.neither", "kw.nor", "kw.not", "kw.only"))
"""Words that turn or bound what stands beside them: only a rule of the language says what."""
LEAST_WORDS, MOST_WORDS = 2, 30
MOST_STRANGE = 3
"""With more words that stand in no phrase of the catalogue a text is in other words altogether; looking for all takes long."""
MANY_COMMAS = 2


def list_asked(text: str, lexicon: Lexicon, talk: Talk, *, alone: bool) -> str | None:
    """What is said of the instruments that a text asks for, or of one that it tells of; None if it asks for something
    else. ``alone``: nothing went before, so that "it" points to nothing but what the text itself names."""
    parser = parser_for(text, lexicon)
    tokens = lexicon.keyed(parser.tokens)
    keys = tuple(t.key for t in tokens)
    if any(keys[at : at + n] in talk.unlisted for at in range(len(keys)) for n in (1, 2, 3, 4)):
        return None
    kinds = _kinds(parser)
    if any(not ELSEWHERE.isdisjoint(ks) or (not alone and _points(ks)) for _, ks in kinds):
        return None
    if names_one(parser) or parser.those_before() or not _asks(parser, kinds, talk):
        return None
    words = [t for t in tokens if t.key[:1].isalnum()]
    strange = sum(not lexicon.is_known(t.key) and not talk.says_nothing(t.key) for t in words)
    if len(words) > MOST_WORDS or strange > MOST_STRANGE:
        return None
    first, last, _ = inner(words, talk.nameless)
    if last - first < LEAST_WORDS:
        return None
    return nodes.seen_text(text[words[first].start : words[last - 1].end])


def left_over(said: str, heard: Sequence[str], lexicon: Lexicon, talk: Talk) -> bool:
    """Whether a word stands outside all the stretches of ``said`` that were ``heard`` that turns or bounds a question, or that
    may say something: what is passed over in the description of one thing ("held in one hand") may be asked for in a list."""
    covered: set[int] = set()
    for stretch in heard:
        at = said.find(stretch)
        covered.update(range(at, at + len(stretch)))
    parser = parser_for(said, lexicon)
    for at, kinds in _kinds(parser):
        if "kw.only" in kinds and kinds.isdisjoint(CONTENT) and not _says_no_more(parser, at + 1):
            return True  # passed over wherever it stands in a description
        if parser.tokens[at].start in covered:
            continue
        if (not TURNING.isdisjoint(kinds) and "kw.with" not in kinds) or "connector" in kinds:
            return True
        if at and parser.tokens[at].key in lexicon.words.parted:
            return True  # "to hold the flaps apart": a deed of which only the place was heard
        counts = parser.tokens[at].key in lexicon.words.numbers or parser.tokens[at].kind == NUMBER
        if counts and covered and parser.tokens[at].start > min(covered):
            return True  # "forceps with three rings", but "three forceps with rings"
        if not any(k.startswith("kw.") or k == "filler" for k in kinds) and weighty(parser.quote(at), lexicon, talk):
            return True
    return False


def _says_no_more(parser: FormParser, at: int) -> bool:
    """Whether "only" before this place shuts nothing out: before a word for a part of something ("over only part of the jaw"),
    or a value of which a piece has just one ("only longitudinal serration")."""
    if at >= len(parser.tokens):
        return False
    if parser.tokens[at].key in parser.lexicon.words.partly:
        return True
    known, deeds = parser.lexicon.vocabulary, parser.lexicon.words.besides
    values = [known.terms[e.term] for _, es in parser.phrases(at)[:1] for e in es if e.kind == "value"]
    found = [known.features.get(v.feature) for v in values]
    return bool(found) and all(f is not None and f.single and f.name not in deeds for f in found)


def _points(kinds: set[str]) -> bool:
    return bool(kinds & {"kw.it", "kw.them"}) and kinds.isdisjoint({"kw.that", "kw.instrument", "kw.count"})


def _kinds(parser: FormParser) -> list[tuple[int, set[str]]]:
    """The kinds of the longest phrase at each place, phrase by phrase, with the place."""
    out: list[tuple[int, set[str]]] = []
    at = 0
    while at < len(parser.tokens):
        end, entries = next(iter(parser.phrases(at)), (at + 1, ()))
        out.append((at, {e.kind for e in entries}))
        at = end
    return out


def _asks(parser: FormParser, kinds: Sequence[tuple[int, set[str]]], talk: Talk) -> bool:
    """Whether a text asks once for instruments, by a word that asks for a list or by a family at its beginning, or tells of one
    with commas between."""
    tokens = parser.tokens
    if any("kw.and" in one and (two & QUESTIONS or tokens[at].key in talk.placing) for (_, one), (at, two) in pairwise(kinds)):
        return False  # "mallets, and what do they strike"
    asides = [at for at, _ in kinds if not at or tokens[at - 1].kind == SYMBOL]
    if any(tokens[at].key in talk.placing for at in asides):
        return False
    first = next((ks for at, ks in kinds if tokens[at].key not in talk.silent), set())
    asked = [at for at, ks in kinds if ks & QUESTIONS and not ks & CONTENT]
    if len(asked) > 1:
        return False
    if first & VERB_FIRST and not any("kw.any" in ks for _, ks in kinds):
        return False
    if tokens[0].key in talk.opening or first & {"category", "kind", "group"}:
        return True
    commas = sum(t.key == "," for t in tokens)
    return (commas >= MANY_COMMAS and not asked) or any(ks & ASKING for _, ks in kinds)


def says_enough(exprs: Sequence[Expr]) -> bool:
    """Whether conditions say something of instruments that is more than a family, and none of them holds of all or denies."""
    return bool(exprs) and any(not isinstance(e, nodes.IsA) for e in exprs) and all(map(_plain, exprs))


def _plain(expr: Expr) -> bool:
    match expr:
        case nodes.Has() | nodes.HasPart() | nodes.IsA() | nodes.Length():
            return True
        case nodes.Not(inner):
            return _plain(inner)
        case nodes.Or(items) | nodes.And(items):
            return all(map(_plain, items))
    return False


__all__ = ["left_over", "list_asked", "says_enough"]
