"""Questions about instruments that are named, in any words: what is asked is read from cues ("mix up", "wash").

Every word must be the name of an instrument, a term, a cue, or one that the file of plain talk lists as saying nothing; after
a word that turns or bounds a question ("not", "except") nothing is read like this. So no condition is ever dropped: such a
question asks for all that is known of its subjects on one count, and the answer reads back what it took the question to be.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from kg import names
from kg.language import nodes
from kg.language.entries import Entry, spoken_of
from kg.language.lexicon import LENGTH
from kg.language.nodes import Question
from kg.language.parse_forms import FormParser
from kg.language.talk import Talk
from kg.language.tokens import NUMBER, SYMBOL, WORD

SUBJECTS = ("pattern", "category")
TERMS = ("part", "feature", "value", "concept")
_MARKS = frozenset(",/&:()")
ORDER = ("reprocess", "disputes", "sources", "lookalikes", "length", "parts", "kinds", "gaps", "describe", "use", "define")


@dataclass
class Found:
    """What stands in a question: subjects and terms in order, what it is after, and words passed over worth telling."""

    subjects: list[str] = field(default_factory=list)
    terms: list[Entry] = field(default_factory=list)
    cues: set[str] = field(default_factory=set)
    passed: list[str] = field(default_factory=list)
    asked: bool = False  # one of them stands behind "which"
    twice: bool = False  # one instrument under two names, and no other


def loose(parser: FormParser, talk: Talk) -> tuple[Question, tuple[str, ...]] | None:
    """The question, and the words passed over; None if it cannot be read like this. Raises QuestionError (BL-Q05) for a name
    that several instruments have."""
    found = _walk(parser, talk)
    if found is None or not (found.subjects or found.terms or "disputes" in found.cues):
        return None
    named_again = found.cues <= {"compare", "lookalikes", "define"} if found.cues else _is_it(parser)
    if found.twice and named_again and not found.terms:
        question: Question | None = nodes.Define(found.subjects[0])  # both names are names of one instrument
    elif len(found.subjects) > 1:
        question = _of_several(parser, found)
    else:
        question = _of_one(parser, found)
    return None if question is None else (question, tuple(dict.fromkeys(found.passed)))


def _is_it(parser: FormParser) -> bool:
    """Whether it begins with "is" or "are": "is a Kocher an Ochsner?"."""
    return any(e.kind == "kw.be" for _, entries in parser.phrases(0) for e in entries)


def _walk(parser: FormParser, talk: Talk) -> Found | None:
    found = Found()
    names_at: list[tuple[int, int]] = []
    tokens, at = parser.tokens, 0
    while at < len(tokens):
        token = tokens[at]
        if token.kind == SYMBOL:
            if token.key not in _MARKS:
                return None
            at += 1
            continue
        key, cue = cue_at(tokens, at, talk)
        phrase = term_at(parser, at)
        if phrase and phrase[0] - at >= len(key):
            end, entries = phrase
            kinds = {e.kind for e in entries}
            if kinds & {"pattern", "category"}:
                if of_another_family(parser, at, end, talk):
                    return None
                names_at.append((at, end))
                found.asked = found.asked or asked_for(parser, at, entries)
            elif end - at > len(key):
                found.terms.append(next((e for e in entries if e.kind == "feature"), entries[0]))
            if end - at == len(key):
                found.cues |= cue
            at = end
        elif key:
            found.cues |= cue
            at += len(key)
        elif token.key in talk.strong or token.kind == NUMBER or talk.says_how_far(token.key, parser.tokens):
            return None
        elif token.key in talk.silent:
            at += 1
        elif token.key in talk.passed:
            found.passed.append(parser.quote(at))
            at += 1
        else:
            return None
        if any(t.key in talk.strong for t in tokens[at : at + 1]) and not cue_at(tokens, at, talk)[0]:
            return None
    subjects = named(parser, names_at)
    found.subjects = list(dict.fromkeys(subjects))
    found.twice = len(subjects) > 1 and len(found.subjects) == 1
    return found


def cue_at(tokens: Sequence, at: int, talk: Talk) -> tuple[tuple[str, ...], frozenset[str]]:
    for end in range(min(len(tokens), at + talk.longest), at, -1):
        key = tuple(t.key for t in tokens[at:end])
        if key in talk.cues:
            return key, talk.cues[key]
    return (), frozenset()


def term_at(parser: FormParser, at: int) -> tuple[int, tuple[Entry, ...]] | None:
    """The longest phrase here that names a pattern, a category or a term."""
    for end, entries in parser.phrases(at):
        fit = tuple(e for e in spoken_of(entries) if e.kind in (*SUBJECTS, *TERMS) and not e.negated)
        if fit:
            return end, fit
    return None


def named(parser: FormParser, places: Sequence[tuple[int, int]], families: frozenset[str] = frozenset()) -> list[str]:
    """The subjects at these places. A name that several have means the one of the family that is named after it in the same
    list ("Langenbeck, Czerny and Morris retractors"), or beside it with another name ("Cusco and Sims", both a speculum), or by
    one of the words ``families``. Raises QuestionError (BL-Q05) if only the person can tell."""
    lexicon = parser.lexicon

    def ending(term: str) -> str:
        return lexicon.folder.phrase(lexicon.vocabulary.label(term))[-1]

    def two(term: str) -> tuple[str, ...]:
        return lexicon.folder.phrase(lexicon.vocabulary.label(term))[-2:]

    def endings(term: str) -> set[str]:
        record = lexicon.vocabulary.terms[term]
        return {lexicon.folder.phrase(text)[-1] for text in (record.label, *record.alt)}

    found: list[tuple[tuple[int, int], tuple[Entry, ...], str]] = []
    last = ""
    for start, end in reversed(places):
        entries = next(es for stop, es in parser.phrases(start) if stop == end)
        best = lexicon.resolve(parser._family_first(tuple(e for e in entries if e.kind in SUBJECTS)))
        found.append(((start, end), best, last))
        if end - start > 1:
            last = parser.tokens[end - 1].key
    sure = {ending(best[0].term) for _, best, _ in found if len(best) == 1 and best[0].kind == "pattern"}
    out: list[str] = []
    pairs = {two(best[0].term) for _, best, _ in found if len(best) == 1 and best[0].kind == "pattern"}
    for (start, end), best, after in found:
        paired = tuple(e for e in best if two(e.term) in pairs)
        if len(best) > 1 and len(paired) == 1:
            best = paired  # "Allis and Lane's": both are tissue forceps
        for words in ({after}, sure, families):
            alike = tuple(e for e in best if ending(e.term) in words)
            if len(best) > 1 and words and (usual := lexicon.usual(parser.quote(start, end))) and endings(usual) & set(words):
                alike = tuple(e for e in best if e.term == usual)
            if len(best) > 1 and len(alike) == 1:
                best = alike
        if len(best) > 1:
            from kg.language.cursor import Match

            raise parser.ambiguous(Match(start, end, best), best)
        out.append(best[0].term)
    return out[::-1]


def of_another_family(parser: FormParser, at: int, end: int, talk: Talk) -> bool:
    """Whether a family follows the name of an instrument, alone or behind one word, that is none of its label ("Lister sinus
    forceps" is no name of bandage scissors)."""
    label = parser.lexicon.vocabulary.label
    entries = next(es for stop, es in parser.phrases(at) if stop == end)
    labels = {
        k for e in entries if e.kind == "pattern" for k in parser.lexicon.folder.phrase(parser.lexicon.vocabulary.label(e.term))
    }
    if not labels:
        return False
    for start in (end, end + 1):
        if start > end and (start >= len(parser.tokens) or parser.tokens[end].kind != WORD or not weighs(parser, end, talk)):
            return False
        if start < len(parser.tokens):
            if any(e.kind == "part" for _, es in parser.phrases(start) for e in es):
                return False  # "the Balfour's blades"
            for stop, es in parser.phrases(start):
                generic = start == end and any(e.kind == "pattern" and label(e.term).islower() for e in es)
                if generic or any(e.kind in ("category", "group", "kind") for e in es):
                    between = start > end and parser.tokens[end].key not in labels
                    return between or parser.tokens[stop - 1].key not in labels
    return False


def weighs(parser: FormParser, at: int, talk: Talk) -> bool:
    """Whether a word says something of an instrument, or may."""
    found = [e.kind for _, es in parser.phrases(at) for e in es]
    return any(k in ("value", "part", "wide") for k in found) or not (found or talk.says_nothing(parser.tokens[at].key))


def asked_for(parser: FormParser, at: int, entries: Sequence[Entry]) -> bool:
    """Whether a family stands behind "which" or "any", with nothing but what narrows it between ("which vascular clamps")."""
    if not any(e.kind == "category" for e in entries) and parser.text[parser.tokens[at].start].isupper():
        return False
    reached = {at}
    for start in range(at - 1, -1, -1):
        if parser.tokens[start].key in parser.lexicon.words.articles and start + 1 in reached:
            reached.add(start)
        for end, es in parser.phrases(start):
            if end not in reached:
                continue
            if any(e.kind in ("kw.which", "kw.any", "kw.count") for e in es):
                return True
            if any(e.kind in ("value", "part", "wide", "filler") for e in es):
                reached.add(start)
    return False


def _of_several(parser: FormParser, found: Found) -> Question | None:
    """Subjects side by side, whatever else is asked about them; not with terms, which would bound the question."""
    allowed = {"compare", "lookalikes", "define", "describe", "use", "kinds", "identify", "identify_last", "nothing"}
    if any(e.kind not in ("feature", "part") for e in found.terms) or not found.cues <= allowed:
        return None
    if found.terms and not found.cues & {"compare", "lookalikes"}:
        return None
    patterns = [s for s in found.subjects if parser.lexicon.vocabulary.terms[s].role == "pattern"]
    # A family beside two names only says what they are; with one name it would be the other side of a comparison.
    subjects = patterns if len(patterns) > 1 else found.subjects
    if (len(patterns) < 2 or found.asked) and not found.cues & {"compare", "lookalikes"}:
        return None
    return nodes.Compare(tuple(subjects))


def _of_one(parser: FormParser, found: Found) -> Question | None:
    asked = next((c for c in ORDER if c in found.cues), "")
    if not found.subjects:
        return _of_terms(parser, found, asked)
    subject = found.subjects[0]
    pattern = parser.lexicon.vocabulary.terms[subject].role == "pattern"
    if found.asked and not pattern and asked == "use" and not parser.lexicon.words.asking_use & {t.key for t in parser.tokens}:
        return None  # "which retractors need two hands?" asks for those that do
    if found.cues & {"compare"} and "lookalikes" not in found.cues:
        return None
    if asked in ("sources", "disputes"):
        if not pattern:
            return nodes.Disputes(nodes.IsA(subject)) if asked == "disputes" and not found.terms else None
        features = features_of(parser, found.terms)
        if features is None:
            return None
        if "length" in found.cues:
            features = (*features, LENGTH)
        features = tuple(dict.fromkeys(features))
        return nodes.Sources(subject, features) if asked == "sources" else nodes.Disputes(nodes.Named(subject), features)
    method = parser.lexicon.words.cycle_feature
    told = all(
        e.kind == "part" or parser.lexicon.vocabulary.terms[e.term].feature == method
        for e in found.terms
        if e.kind != "feature"
    )
    if found.terms and not (asked == "reprocess" and told and all(e.kind in ("part", "value") for e in found.terms)):
        return None
    return _plain(parser, subject, pattern, asked)


def _plain(parser: FormParser, subject: str, pattern: bool, asked: str) -> Question | None:
    match asked:
        case "reprocess":
            return nodes.Reprocessing(subject)
        case "lookalikes" if pattern:
            return nodes.LookAlikes(subject)
        case "length":
            return nodes.Value(subject, (LENGTH,))
        case "parts":
            return nodes.Value(subject, (names.HAS_PART,))
        case "kinds":
            return nodes.Define(subject) if pattern else nodes.Classify(subject)
        case "describe":
            return nodes.Describe(subject) if pattern else nodes.Define(subject)
        case "gaps" if pattern:
            return nodes.Gaps(nodes.Named(subject))
        case "use":
            return nodes.Value(subject, parser._uses())
        case "define":
            return nodes.Define(subject)
    return None


def _of_terms(parser: FormParser, found: Found, asked: str) -> Question | None:
    """Words of the trade without an instrument: what they mean, what kinds there are, or what is disputed of them."""
    if asked == "disputes":
        features = features_of(parser, found.terms)
        return None if features is None else nodes.Disputes(nodes.Everything(), tuple(dict.fromkeys(features)))
    plain = {"define", "use", "describe", "kinds", "identify", "identify_last", "nothing"}
    feature = len(found.terms) == 1 and found.terms[0].kind == "feature"
    if found.cues - plain or not (asked in ("define", "use", "describe", "kinds") or (feature and found.cues)):
        return None
    if asked == "use" and "define" not in found.cues and all(e.kind in ("value", "feature") for e in found.terms):
        return None  # "and number 4?" asks for no meaning, nor does "is he fit for it?"
    terms = list(dict.fromkeys(e.term for e in found.terms))
    if _asks_for_a_list(parser):
        return None
    if any(e.kind == "value" and parser.lexicon.vocabulary.terms[e.term].feature in uses_of(parser) for e in found.terms):
        return None
    return nodes.Define(terms[0]) if len(terms) == 1 else nodes.DefineAll(tuple(terms))


def _asks_for_a_list(parser: FormParser) -> bool:
    """Whether instruments are asked for by what is said of them ("some instruments with hooks"), not what a word means."""
    for at in range(len(parser.tokens)):
        ends = [end for end, es in parser.phrases(at) if any(e.kind == "kw.instrument" for e in es)]
        if any(parser.kinds(end) & {"kw.with", "kw.that", "connector"} for end in ends if end < len(parser.tokens)):
            return not parser.article_before(at)
    return False


def uses_of(parser: FormParser) -> frozenset[str]:
    """Features that say what an instrument is for or used on: alone in a question their values ask which instruments."""
    return frozenset(f for c in parser.lexicon.words.connectors for f in c.features)


def features_of(parser: FormParser, terms: Sequence[Entry]) -> tuple[str, ...] | None:
    """The features that terms speak of, in order, repeats kept; None if one of them speaks of none."""
    out: list[str] = []
    for entry in terms:
        if entry.kind == "feature":
            out.append(entry.term)
        elif entry.kind == "value":
            out.append(parser.lexicon.vocabulary.terms[entry.term].feature)
        elif entry.kind == "part":
            described = [f.name for f in parser.lexicon.vocabulary.features.values() if f.part == entry.term]
            out += described or [names.HAS_PART]
        else:
            return None
    return tuple(out)
