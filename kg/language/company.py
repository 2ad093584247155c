"""Which bearer of a name that several instruments have is meant, told by the company in which it is named; and all of them,
where nothing tells.

"Urethral sounds: Lister versus Clutton" speaks of no scissors, "Heaney and Zeppelin" of no needle holder. What is chosen stands
in the reading with its full name.
"""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.bearers import MOST, bearers
from kg.language.entries import Entry
from kg.language.joining import disj
from kg.language.lexicon import Lexicon
from kg.language.loose import of_another_family
from kg.language.nodes import Question
from kg.language.parse import parse, parser_for
from kg.language.parse_forms import FormParser
from kg.language.readings import Understood
from kg.language.talk import Talk
from kg.language.tokens import WORD, fold

if TYPE_CHECKING:
    from kg.language.before import Before

_FAMILIES = ("category", "group", "kind")
_SHORT = 3
"""A word of no more letters names no place of the body."""


class _Name(NamedTuple):
    """A name of several in a question: its tokens [start, end) and its bearers."""

    parser: FormParser
    start: int
    end: int
    patterns: tuple[str, ...]


def by_company(error: QuestionError, lexicon: Lexicon, talk: Talk, typed: str = "") -> str | None:
    """The question with the one bearer written out that belongs with what else is named; None if that does not decide.
    ``typed``: the question as it was typed, of which less may stand in the words that were put for it."""
    found = _by_company(error, lexicon, talk)
    name = (error.question or "")[slice(*error.span)] if error.question != typed else ""
    if found is None and name and (at := typed.find(name)) >= 0:
        span = (at, at + len(name))
        found = _by_company(QuestionError(error.code, "", question=typed, span=span, readings=error.readings), lexicon, talk)
    return found


def _by_company(error: QuestionError, lexicon: Lexicon, talk: Talk) -> str | None:
    name = _name(error, lexicon, talk)
    if name is None:
        return None
    families, sure, unsure = _company(name, lexicon)
    kinds = _families_in_full(name, lexicon)
    if {"kw.be", "kw.do", "kw.can"} & name.parser.kinds(0) and name.start <= 2:
        families, kinds = set(), []  # "is a tenaculum a forceps, a hook, or both?"
    found = _of_a_family(name, kinds, lexicon) or _belonging(name, families, sure, lexicon)
    found = found or _beside_another(name, unsure, lexicon) or _of_a_place(name, lexicon)
    if found is None:
        return None
    parser, before = name.parser, _name_before(name)
    if before and not parser.quote(name.start, name.end)[:1].isupper():
        return parser.replaced(name.start, name.end, "")  # "Clutton's bougie" is the Clutton
    return parser.replaced(name.start, name.end, lexicon.vocabulary.label(found))


def of_what_went_before(error: QuestionError, before: Before, lexicon: Lexicon, talk: Talk) -> str | None:
    """The question with the one bearer written out whose names end as those of the one instrument that went before ("does the
    Payr crush?", "and the Doyen?": the clamp), or that stands in the list before ("leave out the Doyen"); None if that does
    not decide."""
    name, subjects = _name(error, lexicon, talk), before.subjects(lexicon)
    there = [p for p in (name.patterns if name is not None else ()) if p in before.shown]
    if name is not None and len(there) == 1 and len(before.shown) > 1:
        return name.parser.replaced(name.start, name.end, lexicon.vocabulary.label(there[0]))
    if name is None or len(subjects) != 1 or lexicon.vocabulary.terms[subjects[0]].role != "pattern":
        return None
    if lexicon.usual(name.parser.quote(name.start, name.end)):
        return None
    families, _, _ = _company(name, lexicon)
    found = None if families else _belonging(name, set(), list(subjects), lexicon) or _called_alike(name, subjects[0], lexicon)
    return name.parser.replaced(name.start, name.end, lexicon.vocabulary.label(found)) if found else None


def all_bearers(error: QuestionError, lexicon: Lexicon, talk: Talk) -> tuple[Question, tuple[str, ...]] | None:
    """The list of all bearers of the name, and the words that then are not read; None where something else could be meant."""
    name = _name(error, lexicon, talk)
    if name is None or len(name.patterns) > MOST:
        return None
    parser, label = name.parser, lexicon.vocabulary.label
    capital = all(label(p)[:1].isupper() for p in name.patterns)
    others = tuple(p for p in _company(name, lexicon)[1] if p not in name.patterns)
    if _another_of_several(name, lexicon) or (others and not capital):
        return None
    others = tuple(p for p in others if not label(p).islower())
    question: Question = nodes.Filter(disj([nodes.Named(p) for p in (*name.patterns, *others)]))
    if not others and capital:
        with suppress(QuestionError):
            after = parse(f"instruments named after {parser.quote(name.start, name.end)}", lexicon)
            question = after if isinstance(after, nodes.Filter) and isinstance(after.expr, nodes.CalledAfter) else question
    named = {k for p in others for k in lexicon.name_keys(p)}
    unread = [
        parser.quote(at)
        for at, token in enumerate(parser.tokens)
        if not name.start <= at < name.end
        and token.kind == WORD
        and token.key not in named
        and not talk.says_nothing(token.key)
        and not any(e.kind.startswith(("kw.", "filler", "op.", "ask")) for _, es in parser.phrases(at) for e in es)
    ]
    return question, tuple(dict.fromkeys(unread))


def kinds_of_bearers(error: QuestionError, lexicon: Lexicon, talk: Talk) -> tuple[Question, tuple[str, ...]] | None:
    """All bearers of a name of which it is asked what they are or are for, one thing or another ("is Doyen a retractor or a
    clamp?"): the name alone has no one answer. As ``all_bearers``; None where nothing is to be chosen."""
    name = _name(error, lexicon, talk)
    if name is None or lexicon.usual(name.parser.quote(name.start, name.end)):
        return None
    parser = name.parser
    chosen = any("kw.or" in parser.kinds(at) for at in range(name.end, len(parser.tokens)))
    asked = name.start <= 2 and (parser.kinds(0) & {"kw.be"} or parser.kinds(name.end) & {"kw.be", "kw.it"} or name.start == 0)
    return all_bearers(error, lexicon, talk) if chosen and asked else None


def of_the_one_told(error: QuestionError, told: Understood, lexicon: Lexicon, talk: Talk) -> Understood | None:
    """The whole question of the one bearer of a name of which only a part would be told, if that is understood; else None."""
    from kg.language.understand import alone

    with suppress(QuestionError):
        found = alone(written_out(error, told.question, lexicon), lexicon, lambda: talk)
        return found if found.doubtful is None and found.unread is None else None
    return None


def written_out(error: QuestionError, told: Question, lexicon: Lexicon) -> str:
    """The reading of an ambiguous question with the full name of the one instrument of which something is told; empty if it is
    no such instrument."""
    name = getattr(told, "subject", "") or getattr(told, "pattern", "")
    label = lexicon.vocabulary.label(name).casefold() if name in lexicon.vocabulary.terms else ""
    return next((r for r in error.readings if label and label in r.casefold()), "")


def usually_meant(error: QuestionError, lexicon: Lexicon) -> str:
    """The question with the bearer that is usually meant; empty if none is, or if another bearer is hinted at."""
    name = error.question[slice(*error.span)] if error.question else ""
    usual = lexicon.usual(name) if name else ""
    if not usual:
        return ""
    own = lexicon.name_keys(usual).union(lexicon.folder.phrase(name))
    said = keys_that_hint(error.question, error.span[1], lexicon)
    if any((lexicon.name_keys(p) - own) & said for p in lexicon.bearing(name) if p != usual):
        return ""
    label = lexicon.vocabulary.label(usual).casefold()
    return next((r for r in error.readings if label in r.casefold()), "")


def keys_that_hint(text: str, name_end: int, lexicon: Lexicon) -> set[str]:
    """The words of a text that may hint at one of several bearers of a name that ends at ``name_end``: all but the family that
    it is asked to be."""
    parser = parser_for(text, lexicon)
    return {t.key for t in parser.tokens[: _asked_to_be(parser, name_end)]}


def _asked_to_be(parser: FormParser, name_end: int) -> int:
    """The token behind a name at which a family begins that it is asked to be ("is the Kocher a clamp?"), which tells of no
    bearer; the number of tokens if none is, or if there is a choice ("a forceps or a retractor?")."""
    tokens = parser.tokens
    at = next((i for i, t in enumerate(tokens) if t.start >= name_end), len(tokens))
    asked = bool(tokens) and "kw.be" in parser.kinds(0) and at < len(tokens) and tokens[at].key in ("a", "an")
    return at if asked and not any("kw.or" in parser.kinds(i) for i in range(at, len(tokens))) else len(tokens)


def asked_what_it_is(error: QuestionError, lexicon: Lexicon) -> bool:
    """Whether it is asked of a name of several whether it is one of a family, so that the answer differs with the bearer."""
    parser = parser_for(error.question, lexicon)
    if len(error.readings) < 2 or _asked_to_be(parser, error.span[1]) == len(parser.tokens):
        return False
    with suppress(QuestionError):
        return all(isinstance(parse(reading, lexicon), nodes.Holds) for reading in error.readings)
    return False


def read_with_the_usual(error: QuestionError, lexicon: Lexicon) -> bool:
    """Whether a question of several readings is read by the grammar with the bearer of the name that is usually meant."""
    usual = lexicon.usual(error.question[slice(*error.span)]) if error.code == "BL-Q05" and error.question else ""
    if usual:
        label = lexicon.vocabulary.label(usual).casefold()
        for reading in error.readings:
            with suppress(QuestionError):
                if label in reading.casefold() and parse(reading, lexicon):
                    return True
    return False


def _another_of_several(name: _Name, lexicon: Lexicon) -> bool:
    """Whether another name of several instruments stands beside it ("Stille or Liston")."""
    for at in range(len(name.parser.tokens)):
        if name.start <= at < name.end:
            continue
        for _, entries in name.parser.phrases(at)[:1]:
            best = lexicon.resolve(e for e in entries if e.kind in ("pattern", *_FAMILIES))
            if len(best) > 1 and not {e.term for e in best} <= set(name.patterns):
                return True
    return False


def _name(error: QuestionError, lexicon: Lexicon, talk: Talk) -> _Name | None:
    """The name of several that a refusal is about; None for anything else, or if it is only part of another name."""
    if error.code != "BL-Q05" or not error.question or len(error.readings) < 2:
        return None
    said = error.question[slice(*error.span)]
    patterns = lexicon.bearing(said) or bearers(lexicon.folder.key(fold(said).removesuffix("'s").casefold()), lexicon)
    parser = parser_for(error.question, lexicon)
    places = [i for i in range(len(parser.tokens)) if error.span[0] <= parser.span(i)[0] and parser.span(i)[1] <= error.span[1]]
    if len(patterns) < 2 or not places:
        return None
    name = _Name(parser, places[0], places[-1] + 1, patterns)
    return None if _part_of_another(name, error.question, talk) else name


def _part_of_another(name: _Name, text: str, talk: Talk) -> bool:
    """Whether a hyphen, an unknown word before it or a family behind it makes another name of it ("Jansen-Middleton", "Bard
    Parker", "Barraquer needle holder")."""
    parser = name.parser
    start, stop = parser.tokens[name.start].start, parser.tokens[name.end - 1].end
    if text[start - 1 : start] == "-" or text[stop : stop + 1] == "-":
        return True
    if name.start:
        before = parser.tokens[name.start - 1]
        together = text[before.end : start].isspace()
        if together and before.kind == WORD and not parser.phrases(name.start - 1) and not talk.says_nothing(before.key):
            return True
    known = any(stop == name.end for stop, _ in parser.phrases(name.start))
    return known and of_another_family(parser, name.start, name.end, talk)


def _name_before(name: _Name) -> bool:
    """Whether the name of an instrument stands right before it."""
    return any(
        end == name.start and any(e.kind == "pattern" for e in entries)
        for at in range(name.start)
        for end, entries in name.parser.phrases(at)
    )


def _company(name: _Name, lexicon: Lexicon) -> tuple[set[str], list[str], list[tuple[str, ...]]]:
    """The last words of the families that are named beside it, the instruments that are sure, and the bearers of each other
    name of several."""
    parser, at = name.parser, 0
    families: set[str] = set()
    sure: list[str] = []
    unsure: list[tuple[str, ...]] = []
    while at < len(parser.tokens):
        if name.start <= at < name.end:
            at = name.end
            continue
        found = [(end, es) for end, es in parser.phrases(at) if end <= name.start or at >= name.end]
        best = next(((end, es) for end, es in found if any(e.kind in ("pattern", *_FAMILIES) for e in es)), None)
        if best is None:
            at += 1
            continue
        end, entries = best
        patterns: tuple[Entry, ...] = lexicon.resolve(e for e in entries if e.kind in ("pattern", *_FAMILIES))
        if any(e.kind in _FAMILIES for e in patterns):
            families.add(parser.tokens[end - 1].key)
        elif len(patterns) == 1:
            sure.append(patterns[0].term)
            if lexicon.vocabulary.label(patterns[0].term).islower():
                families.add(parser.tokens[end - 1].key)
        elif patterns:
            unsure.append(tuple(e.term for e in patterns))
        at = end
    return families, sure, unsure


def _families_in_full(name: _Name, lexicon: Lexicon) -> list[str]:
    """The families with a name of several words that stand before it ("the intestinal clamps except the Doyen")."""
    ahead = (es for at in range(name.start) for end, es in name.parser.phrases(at)[:1] if at + 1 < end <= name.start)
    return [e.term for entries in ahead for e in entries if e.kind == "category"]


def _of_a_family(name: _Name, kinds: list[str], lexicon: Lexicon) -> str | None:
    """The one bearer whose names say in full the family that is named before it."""
    said = [set(lexicon.folder.phrase(n)) for kind in kinds for n in _names(kind, lexicon)]
    fit = [p for p in name.patterns if any(len(words) > 1 and words <= _plain_words(p, lexicon) for words in said)]
    return fit[0] if len(fit) == 1 else None


def _belonging(name: _Name, families: set[str], sure: list[str], lexicon: Lexicon) -> str | None:
    """The bearer of a family that is named, of the family of another that is named, or with most words of its names."""
    usual = lexicon.usual(name.parser.quote(name.start, name.end))
    beside = {w for p in sure for w in _endings(p, lexicon)}
    shared = {w for p in sure for w in _plain_words(p, lexicon)}
    if sum(any(w in _endings(p, lexicon) for p in name.patterns) for w in families) > 1:
        return None  # "Adson, is it a forceps or a retractor?"
    for words in (families, beside):
        fit = [p for p in name.patterns if words & _endings(p, lexicon)]
        if len(fit) == 1:
            return fit[0]
        if usual in fit:
            return usual
    counts = {p: len(shared & _plain_words(p, lexicon)) for p in name.patterns}
    most = max(counts.values(), default=0)
    fit = [p for p, n in counts.items() if n == most]
    return fit[0] if most and len(fit) == 1 else None


def _called_alike(name: _Name, one: str, lexicon: Lexicon) -> str | None:
    """The one bearer whose name ends in two or more words as that of ``one`` ("Babcock tissue forceps", "and Lane's?")."""
    ending = lexicon.vocabulary.label(one).split()[-2:]
    fit = [p for p in name.patterns if lexicon.vocabulary.label(p).split()[-2:] == ending]
    return fit[0] if len(fit) == 1 and len(ending) == 2 and all(w.islower() for w in ending) else None


def _beside_another(name: _Name, unsure: list[tuple[str, ...]], lexicon: Lexicon) -> str | None:
    """The one bearer that shares words with a bearer of another name of several ("bougie or sound", both urethral)."""
    if len(unsure) != 1 or set(unsure[0]) & set(name.patterns):
        return None
    if not all(lexicon.vocabulary.label(p).islower() for p in (*name.patterns, *unsure[0])):
        return None  # of two surgeons' names nothing is told by a word that they share
    own = {k for p in (*name.patterns, *unsure[0]) for k in _ending_of(p, lexicon)}
    counts = {
        p: max(len((_plain_words(p, lexicon) & _plain_words(other, lexicon)) - own) for other in unsure[0])
        for p in name.patterns
    }
    fit = [p for p, n in counts.items() if n and n == max(counts.values())]
    return fit[0] if len(fit) == 1 else None


def _of_a_place(name: _Name, lexicon: Lexicon) -> str | None:
    """The one bearer whose names say a place of the body that is named beside it ("is a Doyen used on the colon?": the bowel
    clamp); None for a name of which one bearer is usually meant."""
    parser, vocabulary, places = name.parser, lexicon.vocabulary, lexicon.words.set_places
    if lexicon.usual(parser.quote(name.start, name.end)):
        return None
    beside = (
        es for at in range(len(parser.tokens)) for end, es in parser.phrases(at)[:1] if end <= name.start or at >= name.end
    )
    values = {e.term for es in beside for e in es if e.kind == "value" and vocabulary.terms[e.term].feature in places}
    within = {b for v in values for b in (v, *vocabulary.ancestors(v)) if b == v or len(vocabulary.ancestors(b)) > 1}
    said = {w for place in within for n in _names(place, lexicon) for w in n.split()}
    keys = {k for w in said if len(w) > _SHORT for k in lexicon.folder.phrase(w)}
    fit = [p for p in name.patterns if keys & _plain_words(p, lexicon)]
    return fit[0] if len(fit) == 1 else None


def _ending_of(pattern: str, lexicon: Lexicon) -> tuple[str, ...]:
    """The last word of its label."""
    return lexicon.folder.phrase(lexicon.vocabulary.label(pattern))[-1:]


def _names(pattern: str, lexicon: Lexicon) -> tuple[str, ...]:
    term = lexicon.vocabulary.terms[pattern]
    return (term.label, *term.alt)


def _endings(pattern: str, lexicon: Lexicon) -> set[str]:
    """The last words of its names, if these are no names of people."""
    return {lexicon.folder.phrase(n)[-1] for n in _names(pattern, lexicon) if n.split()[-1].islower()}


def _plain_words(pattern: str, lexicon: Lexicon) -> set[str]:
    return {
        k
        for n in _names(pattern, lexicon)
        for w in n.replace("-", " ").split()
        if w.islower()
        for k in lexicon.folder.phrase(w)
    }
