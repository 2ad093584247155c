"""Questions about a part, a sign or a word of the trade, in any words: "gold rings on a needle holder, what do they signify?"

Read only where the grammar and the cues of plain talk do not do. A term of the trade stands in the question, and a phrase that
asks what it means ("signify", "definition of"), or one that may ask so and stands next to the term ("the ratchet's job"). The
answer is the definition with its source. A family beside it only says where it is seen. Words that are not read are told; with
more than few of them, or with one that turns or counts, the question is left unread.
"""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

from kg.language import nodes
from kg.language.entries import Entry, spoken_of
from kg.language.lexicon import Lexicon
from kg.language.loose import cue_at, uses_of
from kg.language.nodes import Question
from kg.language.otherwise import said_otherwise
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.talk import Talk
from kg.language.tokens import NUMBER, SYMBOL, WORD
from kg.language.upkeep import asks_for_instruments

MOST_TERMS, MOST_WORDS = 3, 5
MOST_UNREAD, MOST_BESIDE = 3, 1
"""So many words may be left unread where a meaning is asked for, and where a phrase beside the term only may ask for it."""
_TERMS = ("part", "value", "concept", "feature")
FAMILIES = ("category", "group", "kind")
_ASKS, _MAY, _STOP, _NOTHING, _NARROW = "asks", "may", "stop", "nothing", "narrow"


class Meant(NamedTuple):
    """The question, the words passed over, and those that were not read."""

    question: Question
    passed: tuple[str, ...]
    unread: tuple[str, ...]


class _Item(NamedTuple):
    """What stands at a place and counts: terms, a phrase that asks or may ask, or a word that parts the two."""

    kind: str
    terms: tuple[str, ...] = ()


def meaning_asked(text: str, lexicon: Lexicon, talk: Talk, *, described: bool, surely: bool) -> Meant | None:
    """As ``meaning``, for a text, with its phrases written otherwise. ``surely``: only where a phrase asks for a meaning and no
    list is asked for. ``described``: the text ends like a description of an instrument, so only a part, something that an
    instrument is said to be "with", or a word of the glossary is asked about: none of these alone describes an instrument."""
    found = None
    for said in dict.fromkeys((text, said_otherwise(text, lexicon, talk) or text)):
        found = found or meaning(parser_for(said, lexicon), talk, one=described, only=surely)
    term = lexicon.vocabulary.terms.get(getattr(found.question, "term", "")) if found else None
    if described and not (term and (term.role in ("part", "concept") or lexicon.feature(term.feature).form == "with")):
        return None
    return found


def meaning(parser: FormParser, talk: Talk, *, one: bool = False, only: bool = False) -> Meant | None:
    """The question as one for the meaning of at most ``MOST_TERMS`` terms; None if it is none. ``one``: only if one term alone
    is named, as in a text that ends like a description of an instrument. ``only``: only where a phrase asks for a meaning."""
    tokens, at = parser.tokens, 0
    items: list[_Item] = []
    passed: list[str] = []
    unread: list[int] = []
    families: list[str] = []
    families_at: set[int] = set()
    compared = False
    while at < len(tokens):
        token = tokens[at]
        if token.kind == SYMBOL or token.key in parser.lexicon.words.articles:
            at += 1
            continue
        size, kind = _asks_at(parser, at, talk)
        end, entries = named_at(parser, at)
        if end - at > size:
            kinds = {e.kind for e in entries}
            if "pattern" in kinds and not kinds & {*_TERMS, *FAMILIES}:
                return None
            terms = _best(parser, entries)
            if terms and _part_of_more(parser, at, unread[-1] if unread else -1, families_at):
                return None
            if terms or not kinds & set(FAMILIES):
                # "Cup forceps" are instruments, though "cup" is a word of the trade.
                kind = _NARROW if terms and _of_family(parser, end) else "term" if terms else _STOP
                items.append(_Item(kind, tuple(terms)))
            else:
                families += [e.term for e in entries if e.kind == "category"][:1]
                families_at.update(range(at, end))
            at = end
            continue
        if size:
            items += [_Item(kind)] if kind != _NOTHING else []
            at += size
            continue
        if token.key in talk.strong:
            return None
        if token.key in talk.passed:
            passed.append(parser.quote(at))
        elif "compare" in cue_at(tokens, at, talk)[1] or token.key in talk.than:
            compared = True
            items.append(_Item(_STOP))
        elif cue_at(tokens, at, talk)[0] or "kw.it" in parser.kinds(at):
            items.append(_Item(_STOP))
        elif token.kind == NUMBER and at and tokens[at - 1].key in parser.lexicon.words.articles:
            return None  # "the 11 on a blade"
        elif not (token.kind == NUMBER or _says_nothing(parser, at, talk)):
            if token.kind == WORD and parser.capital_inside(at):
                return None  # the name of something that the catalogue does not hold
            items.append(_Item(_STOP))
            unread.append(at)
        at += 1
    last = next((i for i in range(len(tokens) - 1, -1, -1) if tokens[i].kind != SYMBOL), 0)
    if tokens and "kw.do" in parser.kinds(last):
        items.append(_Item(_MAY))  # "what the ratchet does"
    surely = any(i.kind == _ASKS for i in items)
    terms = _asked(items, not unread)
    if not surely and any(parser.lexicon.vocabulary.terms[t].role == "feature" for t in terms):
        return None  # "by function or speciality" asks for groups
    if any(parser.lexicon.vocabulary.terms[t].role == "feature" for t in terms) and _lists_as_well(parser):
        return None  # "what does LSCS stand for, and which forceps are used for it?"
    listed = asks_for_instruments(tokens, parser.lexicon)
    if compared and not surely:
        return None
    if one and (not surely or len({t for i in items for t in i.terms}) > 1):
        return None
    if not terms or len(terms) > MOST_TERMS or (listed and not surely) or (only and (listed or not surely)):
        return None
    known = [i for i in unread if parser.lexicon.is_known(tokens[i].key)]
    if len(unread) > (MOST_UNREAD if surely else MOST_BESIDE) or len(known) > MOST_BESIDE:
        return None
    if len(terms) > 1:  # one of several that are asked about: "obturator, cannula and trocar"
        terms = list(dict.fromkeys([*terms, *families]))[:MOST_TERMS]
    question = nodes.Define(terms[0]) if len(terms) == 1 else nodes.DefineAll(tuple(terms))
    words = dict.fromkeys(parser.quote(i) for i in unread)
    return Meant(question, tuple(dict.fromkeys(passed)), tuple(words))


def _lists_as_well(parser: FormParser) -> bool:
    """Whether a list is asked for behind what is asked first."""
    return any("kw.which" in parser.kinds(at) and "kw.and" in parser.kinds(at - 1) for at in range(1, len(parser.tokens)))


def _asked(items: list[_Item], whole: bool) -> list[str]:
    """The terms that are asked about: all of them where a phrase asks for a meaning; else those next to one that may ask, with
    the rest if all words are read (``whole``)."""
    every = list(dict.fromkeys(t for i in items for t in i.terms))
    if any(i.kind == _ASKS for i in items):
        return every
    beside = [b if a.kind == _MAY else a for a, b in pairwise(items) if {a.kind, b.kind} == {_MAY, "term"}]
    near = list(dict.fromkeys(t for i in beside for t in i.terms))
    return every if near and whole and not any(i.kind == _STOP for i in items) else near


def _asks_at(parser: FormParser, at: int, talk: Talk) -> tuple[int, str]:
    """The number of words of the longest phrase here that asks for a meaning, or may ask for it; (0, "") for none."""
    keys = [t.key for t in parser.tokens[at : at + MOST_WORDS]]
    for size in range(len(keys), 0, -1):
        kind = talk.meaning.get(tuple(keys[:size]))
        if kind:
            return size, kind
    return 0, ""


def named_at(parser: FormParser, at: int, terms: tuple[str, ...] = _TERMS) -> tuple[int, tuple[Entry, ...]]:
    """The longest phrase here that names a term (of the kinds ``terms``), a family or an instrument; (at, ()) if none does."""
    for end, entries in parser.phrases(at):
        fit = tuple(e for e in spoken_of(entries) if e.kind in (*terms, *FAMILIES, "pattern"))
        if fit:
            return end, fit
    return at, ()


def _best(parser: FormParser, entries: tuple[Entry, ...]) -> list[str]:
    """The terms that a phrase names, best first; several where only the person could tell, for each of them is then told. What
    an instrument is for or used on is no word to be explained here."""
    uses = uses_of(parser)
    known = parser.lexicon.vocabulary.terms
    fit = [
        e for e in entries if e.kind in _TERMS and not e.negated and not (e.kind == "value" and known[e.term].feature in uses)
    ]
    parts = [e for e in fit if e.kind == "part"]
    return [e.term for e in parser.lexicon.resolve(parts or fit)]


def _of_family(parser: FormParser, end: int) -> bool:
    """Whether a family stands just behind a term, with nothing between."""
    return end < len(parser.tokens) and bool(parser.kinds(end) & {"category", "group"}) and not parser.kinds(end) & set(_TERMS)


def _says_nothing(parser: FormParser, at: int, talk: Talk) -> bool:
    key = parser.tokens[at].key
    return (
        talk.says_nothing(key)
        or key in talk.beside
        or any(k.startswith(("kw.", "filler", "connector", "ask")) for k in parser.kinds(at))
    )


def _part_of_more(parser: FormParser, at: int, unread: int, families: set[int]) -> bool:
    """Whether a word that was not read belongs to a term: it stands just before it ("blue handles"), or with a word of place
    between, and perhaps a family ("the hole in the handle", "the knurling on a clamp's handle")."""
    articles = parser.lexicon.words.articles
    between = [i for i in range(unread + 1, at) if parser.tokens[i].key not in articles and i not in families]
    if unread < 0 or len(between) > 1:
        return False
    return not between or bool(parser.kinds(between[0]) & {"kw.of", "kw.cycle_in", "kw.place", "connector"})
