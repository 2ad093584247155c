"""The last resort: a question of which only the instruments, and the terms of the trade beside them, are understood.

Nothing is decided then: no list, no number, no yes or no. The answer is what is recorded of the instruments that are named, on
the counts that are named, and it says first which words were not read. A word that might be part of a name, or that sets
other instruments against those named ("than", "except"), leaves the question unread.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from kg import names
from kg.errors import QuestionError
from kg.language import nodes
from kg.language.before import Before
from kg.language.entries import Entry
from kg.language.lexicon import LENGTH, Lexicon
from kg.language.listed import read_back
from kg.language.loose import asked_for, cue_at, features_of, named, of_another_family, term_at
from kg.language.nearness import changes
from kg.language.nodes import Question
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.readings import Understood
from kg.language.talk import Talk
from kg.language.tokens import NUMBER, SYMBOL, WORD, fold

MOST_SUBJECTS = 6
MOST_UNREAD = 12
MOST_BESIDE = 5
"""So many words may say in what the one is more than the other, where a reason is asked for."""
CUES = {
    "kw.sources": "sources",
    "kw.disputes": "disputes",
    "kw.reprocessing": "reprocess",
    "kw.lookalikes": "lookalikes",
    "kw.compare": "compare",
    "kw.describe": "describe",
}
"""What whole phrases of the grammar ask for, where the rest of their question is not read."""
OPENING = frozenset({"kw.which", "kw.whatis", "kw.how", "kw.count"})
_TURNING = """or and not no without neither nor but except only hindered from_being any all why can whether longer shorter
longest shortest most_of fewest_of same like differ disputed unstated gaps weak named_after share"""
TURNING = frozenset(f"kw.{kind}" for kind in _TURNING.split())
"""How an open question begins, and the function words beside which more is asked than what is named."""
MOST_FEATURES = 5
"""Where more is asked about, all that is recorded is told."""
LEAST_LETTERS = 6
"""A shorter word with another letter is a word of its own too often."""


class About(NamedTuple):
    """What can be answered, and the words that were not read, as typed."""

    question: Question
    unread: tuple[str, ...]
    sure: bool = False  # nothing else can be asked: no word is left, one thing is named, and no yes, no or choice is wanted


@dataclass
class _Found:
    places: list[tuple[int, int]] = field(default_factory=list)
    families: list[tuple[int, int]] = field(default_factory=list)
    terms: list[Entry] = field(default_factory=list)
    cues: set[str] = field(default_factory=set)
    unread: list[str] = field(default_factory=list)
    back: bool = False  # a word that leans on what went before
    head: bool = False  # a word that is not read stands before "of" and the name: a part of it that is not known
    it: bool = False
    asked: bool = False  # a family is asked for ("which clamps"), so the answer is a list of it
    said: set[str] = field(default_factory=set)  # what its function words are
    counted: bool = False  # a number stands in it


def named_only(
    text: str, lexicon: Lexicon, talk: Talk, before: Before | None, topic: QuestionError | None
) -> Understood | None:
    """What is recorded of the instruments that are named, if no more is understood; not where a topic without an answer is, and
    not where a word is misspelt."""
    from kg.language.halved import halved
    from kg.language.hand import describes
    from kg.language.otherwise import said_otherwise
    from kg.language.slips import corrected
    from kg.language.topics import in_passing

    if text.split()[0].casefold() in lexicon.words.articles and "?" not in text and describes(text, lexicon):
        return None  # an instrument in the hand; a name in it only says what it looks like
    partly = topic is not None and any(t.partly and t.message == topic.message for t in talk.topics)
    if (topic is not None and not partly and not in_passing(text, topic, talk)) or corrected(text, lexicon) is not None:
        return None
    found = about(parser_for(said_otherwise(text, lexicon, talk) or text, lexicon), talk, before)
    if found is None or not read_back(found.question, lexicon) or halved(parser_for(text, lexicon)) is not None:
        return None
    if topic is None or not partly:
        return Understood(found.question, unread=None if found.sure else found.unread)
    question = found.question
    if isinstance(question, nodes.Value):
        asked = tuple(f for f in question.features if f in lexicon.vocabulary.features)
        question = nodes.Value(question.subject, tuple(dict.fromkeys((*asked, *lexicon.words.bearing))))
    return Understood(question, unread=found.unread, untold=topic.message)


def about(parser: FormParser, talk: Talk, before: Before | None = None) -> About | None:
    """What is recorded of the instruments that a question names; None if that would not be an answer. Raises QuestionError
    (BL-Q05) for a name that several instruments have."""
    if (two := _set_side_by_side(parser, talk)) is not None:
        return two
    found = _walk(parser, talk, before is not None)
    if found is None:
        return None
    words = frozenset(parser.tokens[end - 1].key for start, end in found.families)
    words = words if len(words) == 1 else frozenset()  # "is it forceps or a retractor" decides nothing
    subjects = list(dict.fromkeys(named(parser, found.places, words)))
    if isinstance(getattr(before, "question", None), nodes.Identify):
        return None  # one more thing seen on the instrument in the hand
    if not subjects and before is not None and found.back:
        subjects = list(before.subjects(parser.lexicon))
    elif (
        len(subjects) == 1
        and before is not None
        and (found.it or "compare" in found.cues)
        and len(meant := before.subjects(parser.lexicon)) == 1
    ):
        subjects = list(dict.fromkeys((*meant, *subjects)))  # "is that so of a Kelly too?" sets the two side by side
    if not subjects or len(subjects) > MOST_SUBJECTS or len(found.unread) > MOST_UNREAD:
        return None
    if len(subjects) == 1 and "compare" in found.cues and found.unread:
        return None  # what it is to be compared with is not understood
    question = _question(parser, found, subjects)
    sure = question is not None and _sure(parser, found, question, subjects)
    return None if question is None else About(question, tuple(dict.fromkeys(found.unread)), sure)


def _sure(parser: FormParser, found: _Found, question: Question, subjects: list[str]) -> bool:
    """Whether an open question ("how many pieces is a Veress needle?") names one feature, or reprocessing, of one instrument,
    and every word is accounted for by words that turn nothing round."""
    starts = [0, *(i + 1 for i, t in enumerate(parser.tokens[:-1]) if t.kind == SYMBOL)]
    opens = {e.kind for at in starts for end, es in parser.phrases(at) for e in es} & OPENING
    if found.unread or found.counted or found.head or len(subjects) > 1 or not opens or found.said & TURNING:
        return False
    if isinstance(question, nodes.Reprocessing):
        return found.cues == {"reprocess"} and all(e.kind == "value" for e in found.terms)
    one = len({e.term for e in found.terms}) == 1 and all(e.kind == "feature" for e in found.terms)
    return isinstance(question, nodes.Value) and one and not found.cues and len(set(question.features)) == 1


def _set_side_by_side(parser: FormParser, talk: Talk) -> About | None:
    """Two instruments (families too where a reason is asked for) of which it is asked whether, or why, one is more than
    the other in some way that is not understood ("is a Metzenbaum sturdier than a Mayo?"): both are told."""
    tokens = parser.tokens
    than = next((i for i, t in enumerate(tokens) if t.key in talk.than), 0)
    parser.at = 0
    why = bool(parser.take("kw.why", quiet=True))
    if not than or not parser.take("kw.be", "kw.do", *(("kw.have",) if why else ()), quiet=True):
        return None
    kinds = ("pattern", "category") if why else ("pattern",)
    one = parser.subject(*kinds, closed=False)
    left = [i for i in range(parser.at, than) if tokens[i].key not in parser.lexicon.words.articles]
    parser.at = than + 1
    two = parser.subject(*kinds, closed=False) if one else None
    if one is None or two is None or one.term == two.term or one.kind != two.kind or not parser.ended():
        return None
    if not left or len(left) > (MOST_BESIDE if why else 2):
        return None
    unread = tuple(parser.quote(i) for i in left if not (why and talk.says_nothing(tokens[i].key)))
    return About(nodes.Compare((one.term, two.term)), unread)


def _walk(parser: FormParser, talk: Talk, leaning: bool) -> _Found | None:
    out = _Found()
    tokens, at = parser.tokens, 0
    while at < len(tokens):
        token = tokens[at]
        if token.kind == SYMBOL:
            at += 1
            continue
        key, cue = cue_at(tokens, at, talk)
        phrase = term_at(parser, at)
        function = [(end, e.kind) for end, es in parser.phrases(at) for e in es if e.kind.startswith(("kw.", "filler", "op."))]
        kinds = {kind for _, kind in function}
        out.said |= {kind for kind in kinds if kind.startswith("kw.")}
        out.counted = out.counted or token.kind == NUMBER
        out.cues |= {CUES[kind] for kind in kinds & CUES.keys()}
        if (
            "kw.which" in kinds
            and not leaning
            and any(_those_after(parser, end) for end, kind in function if kind == "kw.which")
        ):
            return None  # "which of these", of which nothing was said
        if phrase and phrase[0] - at >= len(key):
            end, entries = phrase
            if end == at + 1 and not parser.text[token.start].isupper() and _is(parser, at, "kw.without"):
                at = end  # "lack" is a verb, unless it is written as a name
                continue
            if {e.kind for e in entries} & {"pattern", "category"} and not _verb(parser, at, end):
                if _part_of_a_name(parser, at, end, talk) or set_against(parser, at, talk):
                    return None
                out.places.append((at, end))
                out.head = out.head or _of_something(parser, at, out.unread)
                out.asked = out.asked or asked_for(parser, at, entries)
                if not any(e.kind == "pattern" for e in entries):
                    out.families.append((at, end))
            else:
                out.terms.append(next((e for e in entries if e.kind == "feature"), entries[0]))
            if end - at == len(key):
                out.cues |= cue
            at = end
            continue
        if key:
            out.cues |= cue
            at += len(key)
            continue
        out.it = out.it or "kw.it" in kinds
        out.back = out.back or bool(kinds & {"kw.it", "kw.them", "kw.and_what_of"})
        if token.key in talk.apart:
            return None
        if token.key in talk.strong:
            out.unread.append(parser.quote(at))  # it may turn the question round, which the answer does not
            at += 1
            continue
        if token.kind == NUMBER or talk.says_nothing(token.key) or function:
            end = max((end for end, _ in function), default=at + 1)
            out.unread += [parser.quote(i) for i in range(at, end) if tokens[i].key in talk.strong]
            at = end
            continue
        if token.kind == WORD and parser.capital_inside(at):
            return None  # the name of an instrument that the catalogue does not hold
        groups = [end for end, es in parser.phrases(at) for e in es if e.kind in ("group", "kind")]
        if groups:
            out.families.append((at, groups[0]))
            at = groups[0]
            continue
        if len(out.unread) > MOST_UNREAD or misspelt(parser, at):
            return None
        out.unread.append(parser.quote(at))
        at += 1
    return out


def _verb(parser: FormParser, at: int, end: int) -> bool:
    """Whether an everyday word that is also a name stands where a verb does ("does it pierce tissue")."""
    if end > at + 1 or not at or parser.text[parser.tokens[at].start].isupper():
        return False
    return any(_is(parser, at - 1, kind) for kind in ("kw.it", "kw.can", "kw.them"))


def _of_something(parser: FormParser, at: int, unread: list[str]) -> bool:
    """Whether "of" or "on" stands before a name, and before that a word that is not read ("the little knobs on a Roeder")."""
    articles = parser.lexicon.words.articles
    before = [i for i in range(at) if parser.tokens[i].key not in articles][-2:]
    return len(before) == 2 and _is(parser, before[1], "kw.part_place") and parser.quote(before[0]) in unread


def _those_after(parser: FormParser, at: int) -> bool:
    """Whether "those" stands here, alone or behind "of"."""
    if at < len(parser.tokens) and _is(parser, at, "kw.of"):
        at += 1
    return at < len(parser.tokens) and _is(parser, at, "kw.them")


def misspelt(parser: FormParser, at: int) -> bool:
    """Whether a word is nearly one of a name or a term, and so more likely misspelt than of no weight."""
    word = parser.tokens[at].key
    if len(word) < LEAST_LETTERS or parser.lexicon.is_known(word):
        return False
    near = [fold(n) for n in parser.lexicon.near(word)[:1]]
    return any(changes(word, n, 1) <= 1 and n[0] == word[0] and not n.startswith(word) and not word.startswith(n) for n in near)


def _part_of_a_name(parser: FormParser, at: int, end: int, talk: Talk) -> bool:
    """Whether a word belongs to the name without being known as part of it: joined to it by a hyphen ("Judd-Allis"), or between
    it and a family that is not its own ("Hartmann aural forceps")."""
    tokens = parser.tokens
    if at and not parser.phrases(at - 1) and parser.text[tokens[at - 1].end : tokens[at].start] == "-":
        return True
    return of_another_family(parser, at, end, talk)


def set_against(parser: FormParser, at: int, talk: Talk) -> bool:
    """Whether the words before a name set other instruments against it ("longer than a Kelly", "anything like the Allis"), or
    offer it as the name of something described ("is it a Kelly?")."""
    articles = parser.lexicon.words.articles
    at -= 1
    while at >= 0 and parser.tokens[at].key in articles:
        at -= 1
    if at < 0:
        return False
    claimed = at > 0 and _is(parser, at, "kw.it") and _is(parser, at - 1, "kw.be")
    return parser.tokens[at].key in talk.against or claimed


def _is(parser: FormParser, at: int, kind: str) -> bool:
    return any(e.kind == kind for end, es in parser.phrases(at) for e in es if end == at + 1)


def _question(parser: FormParser, found: _Found, subjects: list[str]) -> Question | None:
    terms = parser.lexicon.vocabulary.terms
    patterns = [s for s in subjects if terms[s].role == "pattern"]
    if len(subjects) > 1:
        compared = bool(found.cues & {"compare", "lookalikes"})
        if found.asked and not compared:
            return None
        if len(patterns) == 1 and not compared:
            return _of_one(parser, found, patterns[0], True)
        if not patterns and (not compared or (found.unread and not _side_by_side(parser, found.places))):
            return None
        return nodes.Compare(tuple(patterns if len(patterns) > 1 else subjects))
    return _of_one(parser, found, subjects[0], bool(patterns))


def _side_by_side(parser: FormParser, places: list[tuple[int, int]]) -> bool:
    """Whether two families are named with nothing but a word of comparison between them ("a needle holder from a clamp")."""
    if len(places) != 2:
        return False
    between = [i for i in range(places[0][1], places[1][0]) if parser.tokens[i].key not in parser.lexicon.words.articles]
    return len(between) == 1 and _is(parser, between[0], "kw.versus")


def _of_one(parser: FormParser, found: _Found, subject: str, pattern: bool) -> Question | None:
    cues = found.cues & {"reprocess", "sources", "disputes", "lookalikes", "describe", "use", "length", "parts"}
    if not pattern:
        if found.cues & {"reprocess"} and not found.terms:
            return nodes.Reprocessing(subject)
        return None
    features = _features(parser, found)
    if found.head and not features and cues <= {"use"}:
        return nodes.Value(subject, (names.HAS_PART,))  # "what are the knobs on a Roeder for?": its parts are told
    if "define" in found.cues and not cues - {"use"} and not found.terms:
        return nodes.Define(subject)
    if "length" in cues:
        features.append(LENGTH)
    if "disputes" in cues:  # "do the sources disagree about whether it has a ratchet?"
        return nodes.Disputes(nodes.Named(subject), tuple(dict.fromkeys(features)))
    if "sources" in cues:
        return nodes.Sources(subject, tuple(dict.fromkeys(features)))
    if cues == {"lookalikes"} and not features:
        return nodes.LookAlikes(subject)
    if "reprocess" in cues:
        return nodes.Reprocessing(subject)
    if cues & {"use"}:
        features += parser._uses()
    if "parts" in cues:
        features.append(names.HAS_PART)
    if (
        cues - {"use", "length", "parts"}
        or not features
        or len(set(features)) > MOST_FEATURES
        or any(e.kind == "concept" for e in found.terms)
    ):
        return nodes.Describe(subject)
    return nodes.Value(subject, tuple(dict.fromkeys(features)))


def _features(parser: FormParser, found: _Found) -> list[str]:
    """The features that the terms speak of; a word of the trade that is no feature adds none."""
    known = (*parser.lexicon.vocabulary.features, names.HAS_PART, LENGTH)
    spoken = features_of(parser, [e for e in found.terms if e.kind in ("feature", "value", "part")])
    return [f for f in spoken or () if f in known]
