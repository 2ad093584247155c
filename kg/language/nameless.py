"""An instrument that is described and not named, in any words: "no idea what it's called: flat strip, you bend it", "loop wire
for taking off a polyp, name?", "which thing holds the tongue out of the way".

What asks for the name is taken off both ends, as often as it stands there; what is left is the description, which
``kg.identify`` reads. Whether it says enough is for the identification to judge.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from kg.language.entries import FAMILIES
from kg.language.figures import written_out
from kg.language.lexicon import Lexicon
from kg.language.nodes import seen_text
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.tokens import SYMBOL, Token, scan

if TYPE_CHECKING:
    from kg.language.framing import Key
    from kg.language.talk import Talk

_TOLD = frozenset({"category", "kind", "group", "value", "part", "wide"})
LEAST_WORDS = 2
"""A description has more words than this."""
MANY_WORDS = 7
"""So many words that ask nothing describe a thing, if they begin with one."""
_THINGS = frozenset({"category", "kind", "group", "part", "value"})
_QUESTION = frozenset({"kw.which", "kw.do", "kw.be", "kw.can", "kw.whatis", "kw.list", "kw.count", "kw.exist"})
_BOUNDS = frozenset({"op.<", "op.<=", "op.>", "op.>="})
OPENING = 6
"""The thing that is described stands among so many words at the beginning."""
OTHER = frozenset(
    f"kw.{word}"
    for word in (
        *("count", "compare", "group", "why", "how", "differ", "differ_from", "compared", "share_of", "longest", "shortest"),
        *("range", "define", "describe", "disputed", "what_makes", "tells", "alike_word", "category_word", "source_word"),
        *("reprocessed", "most_of", "fewest_of", "all", "true_of", "same", "unstated", "named_after", "may_use", "except"),
    )
)
"""Words that ask for something else than the name of one instrument."""
_OF_ONE = frozenset({"kw.all", "kw.same", "kw.alike_word", "kw.how"})
"""Those of them that stand in descriptions too: "one prong on each side", "shaped like a spoon"."""


_WORDS = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)?")


class Described(NamedTuple):
    """``seen``: what is said of the instrument; ``asked``: whether words ask for its name; ``told``: or one thing is told of at
    length, which asks for it."""

    seen: str
    asked: bool
    told: bool = False


_WHOSE = frozenset({"kw.of", "kw.place", "kw.part_place"})
"""Words between a part and the instrument that it belongs to."""


def described(text: str, lexicon: Lexicon, talk: Talk) -> Described | None:
    """The description of one instrument, without the words round it; None if too little is left, or if the text asks for
    something else."""
    if _of_a_part(text, lexicon, talk):
        return None
    text = use_last(text, lexicon, talk)
    parser = parser_for(text, lexicon)
    tokens = lexicon.keyed(parser.tokens)
    words = [t for t in tokens if t.key[:1].isalnum()]
    if asks_elsewhere(text, lexicon, talk) or _asks_of_it(parser):
        return None
    first, last, asked = inner(words, talk.nameless)
    if last - first <= LEAST_WORDS:
        return None
    told = _tells_of_one(parser, words[first:last], talk)
    if not asked and not told and (_yes_or_no(words, talk) or not _speaks_of_one(parser, talk)):
        return None
    seen = seen_text(text[words[first].start : words[last - 1].end])
    asked = asked or told or (last - first >= MANY_WORDS and _says_what_it_is(text, seen, lexicon))
    return Described(written_out(seen, lexicon), asked, told) if seen else None


def tells_of_one(text: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether a text that asks nothing says at length what one thing is, in the singular: "a twisted wire with loops at both
    ends", "retractor with finger rings, a ratchet and three by four prongs". Told so, it asks for the name."""
    parser = parser_for(text, lexicon)
    words = [t for t in lexicon.keyed(parser.tokens) if t.key[:1].isalnum()]
    first, last, _ = inner(words, talk.nameless)
    return _tells_of_one(parser, words[first:last], talk)


def _tells_of_one(parser: FormParser, words: Sequence[Token], talk: Talk) -> bool:
    """The same of a text that is taken apart; ``words``: those of the description."""
    text, articles = parser.text, parser.lexicon.words.articles
    if text.rstrip().endswith("?") or len(words) < MANY_WORDS or not parser.kinds(0).isdisjoint(_QUESTION):
        return False
    for at in range(len(parser.tokens)):
        if any(not (OTHER - _OF_ONE).isdisjoint(e.kind for e in es) for _, es in parser.phrases(at)[:1]):
            return False
        if parser.kinds(at) & _BOUNDS:
            return False  # "toothless forceps longer than 20 cm" is a list
    opens = text[: words[0].end].casefold().split()
    article = not articles.isdisjoint(opens[-2:])
    plural = _family_is_plural(parser)
    head = [w.key for w in words[:OPENING]]
    said = plural is None and not parser.kinds(0).isdisjoint(("value", "wide", "part"))  # "long springy jaws with ..."
    if plural or (plural is None and not article and not said) or not talk.several.isdisjoint(head[: 2 + article]):
        return False
    return not names_one(parser)


def _family_is_plural(parser: FormParser) -> bool | None:
    """Whether the family that a text names first, near its beginning, stands in the plural; None if it names none there.
    "Forceps" and "scissors" are one thing."""
    for at in range(min(OPENING, len(parser.tokens))):
        for end, entries in parser.phrases(at)[:1]:
            if any(e.kind in FAMILIES or e.kind == "kw.instrument" for e in entries):
                last = parser.tokens[end - 1]
                return last.key != parser.text[last.start : last.end].casefold()
    return None


def asks_at_its_end(text: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether the name of what a text describes is asked for behind the description ("a curved clamp, what is it?")."""
    words = [t for t in lexicon.keyed(scan(text)) if t.key[:1].isalnum()]
    first, last, asked = inner(words, talk.nameless)
    return asked and first < last < len(words)


def says_a_family(text: str, lexicon: Lexicon) -> bool:
    """Whether a family of instruments is named near the beginning of a description."""
    return _family_is_plural(parser_for(text, lexicon)) is not None


def _asks_of_it(parser: FormParser) -> bool:
    """Whether one clause asks something of what was said before ("which other animals is it used on?"): a verb before "it"."""
    kinds = [parser.kinds(at) for at in range(len(parser.tokens))]
    if any(t.kind == SYMBOL and t.key not in "?." for t in parser.tokens) or not any("kw.which" in k for k in kinds):
        return False
    return any(one & {"kw.be", "kw.do", "kw.can"} and "kw.it" in two for one, two in pairwise(kinds))


def _says_what_it_is(text: str, seen: str, lexicon: Lexicon) -> bool:
    """Whether a text that asks nothing is the description of a thing from its first word on: "a flat ribbon of bendable metal".
    Told so, it asks for the name."""
    parser = parser_for(seen, lexicon)
    if text.rstrip().endswith("?") or not parser.tokens:
        return False
    if any(not OTHER.isdisjoint(e.kind for _, es in parser.phrases(at)[:1] for e in es) for at in range(len(parser.tokens))):
        return False
    opens = text.lstrip().casefold()
    if opens.split()[0] not in lexicon.words.articles and not opens.startswith(seen.casefold()):
        return False  # "which scissors have ..." asks for a list
    return opens.split()[0] in lexicon.words.articles or not parser.kinds(0).isdisjoint(_THINGS)


def use_last(text: str, lexicon: Lexicon, talk: Talk) -> str:
    """A text that asks what a described thing is for round its description ("what is the long rod with a bulb for?"), with that
    question behind it; any other text as it is."""
    words = [t for t in lexicon.keyed(parser_for(text, lexicon).tokens) if t.key[:1].isalnum()]
    keys = tuple(w.key for w in words)
    first = next((n for n in (4, 3, 2) if keys[:n] in talk.use_before), 0)
    last = next((n for n in (2, 1) if keys[-n:] in talk.use_last), 0)
    if not first or not last or len(keys) - first - last < MANY_WORDS - LEAST_WORDS or not talk.for_what:
        return text
    asked = " ".join(min(talk.for_what, key=lambda k: (len(k), k)))
    return f"{text[words[first].start : words[-last].start].strip()}. {asked}?"


def _of_a_part(text: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether a text asks what a part of a named instrument or family is for: "what are the holes in a sponge forceps for?" """
    parser = parser_for(text, lexicon)
    keys = tuple(t.key for t in lexicon.keyed(parser.tokens) if t.key[:1].isalnum())
    if not any(keys[:n] in talk.use_before for n in (2, 3, 4)) or not any(keys[-n:] in talk.use_last for n in (1, 2)):
        return False
    for at in range(1, len(parser.tokens) - 1):
        if parser.kinds(at) & _WHOSE:
            to = at + 1 + (parser.tokens[at + 1].key in lexicon.words.articles)
            if to < len(parser.tokens) and any(
                e.kind in FAMILIES or e.kind == "pattern" for _, es in parser.phrases(to) for e in es
            ):
                return True
    return False


def use_asked(text: str, lexicon: Lexicon, talk: Talk) -> str:
    """The words at the end of a description by which its use is asked ("... What for?"); empty if it is not."""
    text = use_last(text, lexicon, talk)
    parser = parser_for(text, lexicon)
    words = [t for t in lexicon.keyed(parser.tokens) if t.key[:1].isalnum()]
    keys = tuple(w.key for w in words)
    longest = max(map(len, talk.for_what), default=0)
    size = next((n for n in range(min(longest, len(keys) - 1), 0, -1) if keys[-n:] in talk.for_what), 0)
    return text[words[-size].start :] if size else ""


def told_for_its_use(text: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether a text describes a thing from its first word on and asks what it is for: "forceps with a ratchet and triangular
    jaws. What are they for?"; not "we spoke of the box lock. What is it for?"."""
    text = use_last(text, lexicon, talk)
    if not (end := use_asked(text, lexicon, talk)):
        return False
    parser = parser_for(text[: -len(end)], lexicon)
    at = int(bool(parser.tokens) and parser.tokens[0].key in lexicon.words.articles)
    said: list[set[str]] = []
    first = at
    while at < len(parser.tokens):
        stop, entries = next(iter(parser.phrases(at)), (at + 1, ()))
        kinds = {e.kind for e in entries}
        if at == first and kinds.isdisjoint(_TOLD):
            return False
        said += [kinds] if not kinds.isdisjoint(_TOLD) else []
        at = stop
    return len(said) > 1


def asks_elsewhere(text: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether a phrase stands in a text by which it asks for something else than the name of one instrument."""
    text = use_last(text, lexicon, talk)
    if end := use_asked(text, lexicon, talk):  # "... What for?" at the end asks for the use of what is described
        text = text[: -len(end)]
    keys = tuple(t.key for t in lexicon.keyed(parser_for(text, lexicon).tokens))
    return any(keys[at : at + n] in talk.elsewhere for at in range(len(keys)) for n in (1, 2, 3, 4))


def asks_more(text: str, lexicon: Lexicon) -> bool:
    """Whether a text asks why or how, and so is no one more thing that is seen."""
    parser = parser_for(text, lexicon)
    return any(parser.kinds(at) & {"kw.why", "kw.how"} for at in range(len(parser.tokens)))


def inner(words: Sequence[Token], phrases: Mapping[Key, tuple[bool, bool]]) -> tuple[int, int, bool]:
    """Where the description begins and ends among the words, and whether its name is asked for."""
    keys = tuple(w.key for w in words)
    longest = max(map(len, phrases), default=0)
    first, last, asked = 0, len(keys), False
    while first < last:
        size = next((n for n in range(min(longest, last - first), 0, -1) if keys[first : first + n] in phrases), 0)
        if not size:
            break
        asked = asked or phrases[keys[first : first + size]][0]
        first += size
    while first < last:
        size = next((n for n in range(min(longest, last - first), 0, -1) if keys[last - n : last] in phrases), 0)
        if not size or not (phrases[keys[last - size : last]][1] or size > 1 or asked):
            break
        asked = asked or phrases[keys[last - size : last]][1]
        last -= size
    return first, last, asked


def _speaks_of_one(parser: FormParser, talk: Talk) -> bool:
    """Whether a text may describe one instrument: nothing in it asks for several, a count, a comparison, a reason or a named
    instrument."""
    if not talk.several.isdisjoint(_WORDS.findall(parser.text.casefold())):
        return False
    for at in range(len(parser.tokens)):
        if at and parser.tokens[at - 1].kind == SYMBOL and _asks_for_a_family(parser, at):
            return False
        if any(not OTHER.isdisjoint(e.kind for e in entries) for _, entries in parser.phrases(at)[:1]):
            return False
    return not names_one(parser)


def asks_whether(text: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether a text asks for yes or no ("are burr holes made by hand?"), and for no thing ("can you pass me ...")."""
    return _yes_or_no([t for t in lexicon.keyed(parser_for(text, lexicon).tokens) if t.key[:1].isalnum()], talk)


def _yes_or_no(words: Sequence[Token], talk: Talk) -> bool:
    if not words or words[0].key not in talk.whether:
        return False
    keys = tuple(w.key for w in words[1:3])
    return keys[:1] not in talk.handing and keys not in talk.handing


def _asks_for_a_family(parser: FormParser, at: int) -> bool:
    """Whether a clause that begins at a token asks which of a family ("...; which forceps are curved?")."""
    asked = [end for end, es in parser.phrases(at) for e in es if e.kind == "kw.which"]
    return any(end < len(parser.tokens) and parser.kinds(end) & {"category", "kind", "group"} for end in asked)


def names_one(parser: FormParser) -> bool:
    """Whether an instrument is named in a text: "Gigli" names one, "wire saw" says what it looks like, as "ribbon" does."""
    text, lexicon = parser.text, parser.lexicon
    phrase = lexicon.folder.phrase
    for at in range(len(parser.tokens)):
        for end, entries in parser.phrases(at)[:1]:
            said = phrase(text[parser.tokens[at].start : parser.tokens[end - 1].end])
            for entry in (e for e in entries if e.kind == "pattern"):
                term = lexicon.vocabulary.terms[entry.term]
                if not any(n.islower() and set(said) <= set(phrase(n)) for n in (term.label, *term.alt)):
                    return True
    return False


def weighty(words: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether words that are not understood in a description may say something of the instrument."""
    keys = [t.key for t in lexicon.keyed(scan(words))]
    return not all(talk.says_nothing(k) or k in talk.beside for k in keys)
