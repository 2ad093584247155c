"""What a question for a reason, a danger or a grip speaks of: "why are needle holder handles gold?", "the danger of a Kocher on
bowel", "how is a thumb forceps held?"

Read from the phrases of the file of reasons and from the names of the ontology. Every word has to be accounted for: it asks, it
denies, it is named, or it says nothing. Which notes speak of what is named is decided with the facts, by ``kg.grounds``.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from kg import names
from kg.language import nodes
from kg.language.before import Before
from kg.language.entries import Entry, spoken_of
from kg.language.lexicon import Lexicon
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.tokens import NUMBER, SYMBOL
from kg.language.topic_words import key_of, phrases_of, stands, topic_at

if TYPE_CHECKING:
    from kg.language.talk import Talk

_NAMED = ("pattern", "category", "kind", "group", "value", "part", "concept", "feature", "wide")
_DENIES = frozenset(("kw.not", "kw.no", "kw.without", "kw.nothing"))
_SAYS_NOTHING = ("kw.", "filler", "connector", "ask", "op.")
AGAINST, GRIP, DANGER = "against", "grip", "danger"
"""The kinds of phrases that ask for a reason why not, how something is held, and what harm it may do."""


class Span(NamedTuple):
    """One stretch of words: the ``topics`` of the file that its words are phrases of, and the ``terms`` that it names;
    ``patterns``: those of them that are instruments, of which one is meant; ``family``: the category that it names."""

    topics: frozenset[str]
    terms: frozenset[str]
    patterns: tuple[str, ...]
    family: str = ""


class Heard(NamedTuple):
    """What is asked for (``kinds``), whether it is denied, and what is named; ``before``: what the question before was about,
    where this one names no instrument and no family ("why is the tip blunt?")."""

    kinds: frozenset[str]
    denied: bool
    spans: tuple[Span, ...]
    before: tuple[Span, ...] = ()

    @property
    def subject(self) -> str:
        """The one instrument or family that is spoken of; empty if it is none, or one of several."""
        for found in ({p for s in self.spans for p in s.patterns}, {s.family for s in self.spans if s.family}):
            if found:
                return next(iter(found)) if len(found) == 1 else ""
        return ""


def heard(text: str, lexicon: Lexicon, talk: Talk, before: Before | None) -> Heard | None:
    """What a question for a reason speaks of; None if it asks for none, or if a word of it is not accounted for."""
    words = lexicon.words.reasons
    if not words:
        return None
    parser = parser_for(text, lexicon)
    asks, longest_ask = phrases_of(_asks(words), lexicon, f"{__name__}.asks")
    tokens, articles = parser.tokens, lexicon.words.articles
    if not any(topic_at(tokens, at, asks, longest_ask, lexicon.words.articles)[1] for at in range(len(tokens))):
        return None
    if _any(words, "never", [t.key for t in tokens], lexicon):
        return None
    topics, longest = phrases_of(words.get("topic", {}), lexicon, f"{__name__}.topics")
    light, longest_light = phrases_of({"light": {"words": words.get("light", ())}}, lexicon, f"{__name__}.light")
    denying, longest_denying = phrases_of({"denying": {"words": words.get("denying", ())}}, lexicon, f"{__name__}.denying")
    features = {term for topic in words.get("topic", {}).values() for term in topic.get("terms", ())}
    kinds: set[str] = set()
    spans: list[Span] = []
    families: list[tuple[int, int]] = []
    denied = pointed = False
    at = 0
    while at < len(tokens):
        if tokens[at].kind == SYMBOL or tokens[at].key in articles:
            at += 1
            continue
        asked_to, asked = topic_at(tokens, at, asks, longest_ask, articles)
        topic_to, found = topic_at(tokens, at, topics, longest, articles)
        if found and _cuts_a_name(parser, at, topic_to):
            topic_to, found = at, ()
        denied_to, denies = topic_at(tokens, at, denying, longest_denying, articles)
        light_to, says_nothing = topic_at(tokens, at, light, longest_light, articles)
        named_to, entries = _named_at(parser, at, features)
        end = max(asked_to, topic_to, denied_to, light_to, named_to)
        if end == at:
            kind_of = parser.kinds(at)
            if kind_of & _DENIES:
                denied = True
            elif "kw.it" in kind_of or "kw.them" in kind_of or tokens[at].key in talk.back:
                pointed = True
            elif tokens[at].key in words.get("pointing", ()):
                pointed = pointed or at + 1 == len(tokens) or tokens[at + 1].kind == SYMBOL
            elif not _says_nothing(parser, at, talk):
                return None
            at += 1
        elif asked and asked_to == end:
            if denied and "why" in kinds and topic_to == end and {kind for kind, _ in asked} == {DANGER}:
                spans.append(Span(frozenset(name for name, _ in found), frozenset(), ()))  # "why does it not hurt the bowel?"
            else:
                kinds.update(kind for kind, _ in asked)
            at = end
        elif denies and denied_to == end:
            denied = True
            at = end
        elif says_nothing and light_to == end and topic_to < end:
            at = end
        else:
            meant = frozenset(name for name, _ in found) if topic_to == end else frozenset[str]()
            spans.append(_span(parser, at, end, meant, entries if named_to == end else (), lexicon))
            families += [(at, end)] if spans[-1].family and end > at + 1 else []  # "needle" in "needle holder"
            at = end
    keys = [t.key for t in tokens if t.key not in articles]
    bare = [t.key for i, t in enumerate(tokens) if t.key not in articles and not any(a <= i < b for a, b in families)]
    if GRIP in kinds and (not _any(words, "manner", keys, lexicon) or _any(words, "shutting", bare, lexicon) or _lists(parser)):
        kinds.discard(GRIP)
    if AGAINST in kinds:
        denied, kinds = True, kinds - {AGAINST} | {"why"}
    of_before: list[Span] = []
    if before is not None and not any(s.patterns or s.family for s in spans):
        of_before = [_subject(m, lexicon) for m in before.subjects(lexicon)]
    if before is not None and (pointed or not any(s.patterns or s.terms for s in spans)):
        meant = [_subject(m, lexicon) for m in before.subjects(lexicon)]
        if said := _listed_by(before, lexicon):  # "which have a sliding lock?", "why are they made so?"
            own = any(s.topics or s.terms for s in spans)
            of_before += said if own else ()
            meant = [] if own and len(meant) != 1 else [*meant, *(() if own else said)]
            if own and not meant:
                return Heard(frozenset(kinds), denied, tuple(spans), tuple(of_before)) if kinds else None
        of_care = isinstance(before.question, nodes.CareNotes) and any(s.topics for s in spans)
        if not meant and pointed and not of_care:
            return None
        spans, of_before = [*spans, *meant], []
    return Heard(frozenset(kinds), denied, tuple(spans), tuple(of_before)) if kinds and spans else None


def _lists(parser: FormParser) -> bool:
    """Whether a list is asked for, and not how something is held: "which forceps grip without teeth?" """
    family = {"category", "kind", "group"} & {e.kind for _, es in parser.phrases(1) for e in es} if parser.tokens[1:] else ()
    return "kw.which" in parser.kinds(0) and bool(family)


def _subject(term: str, lexicon: Lexicon) -> Span:
    """What went before, as if it were named."""
    pattern = _is_pattern(term, lexicon)
    return Span(frozenset(), frozenset([term]), (term,) if pattern else (), "" if pattern else term)


def _listed_by(before: Before, lexicon: Lexicon) -> list[Span]:
    """What the list before was asked by, as if it were named: its features and parts, and not its family."""
    question = before.question
    if isinstance(question, nodes.Value) and len(before.values) == 1:
        told = {e.term for e in lexicon.entries(before.values[0]) if e.kind == "value"}
        return [Span(frozenset(), frozenset(wider(lexicon, told)), ())] if told else []
    if not isinstance(question, nodes.Filter | nodes.Count | nodes.Group):
        return []
    items = question.expr.items if isinstance(question.expr, nodes.And) else (question.expr,)
    earlier = getattr(before.wider[-1], "expr", None) if before.wider else None
    added = [i for i in items if i not in getattr(earlier, "items", (earlier,))]  # by which it was narrowed last
    items = [i.expr if isinstance(i, nodes.Not) else i for i in added or items]
    terms = [getattr(i, "value", "") or getattr(i, "part", "") for i in items]
    return [Span(frozenset(), frozenset(wider(lexicon, {term})), ()) for term in terms if term]


def that_named(text: str, lexicon: Lexicon, talk: Talk, before: Before) -> str:
    """A question for a reason with the name of the value that went before for "that kind of lock"; as it is if it has none."""
    if before.question is None:
        return text
    terms = [t for span in _listed_by(before, lexicon) for t in span.terms]
    if isinstance(before.question, nodes.Value) and len(before.values) == 1:
        terms = [e.term for e in lexicon.entries(before.values[0]) if e.kind == "value"]
    parser = parser_for(text, lexicon)
    keys = [t.key for t in parser.tokens]
    kinds = (*lexicon.words.reasons.get("kinds", ()), *lexicon.words.articles)
    for at, key in enumerate(keys):
        to = at + 1
        while to < len(keys) and keys[to] in kinds:
            to += 1
        if key not in talk.such or to >= len(keys):
            continue
        for term in terms:
            name = lexicon.name(term)
            if len(last := lexicon.keys(name)) > 1 and last[-1] == keys[to]:
                return f"{text[: parser.tokens[at].start]}{name}{text[parser.tokens[to].end :]}"
    return text


def put_plainly(text: str, lexicon: Lexicon, table_of: str = "put") -> Iterator[str]:
    """The questions for a reason that a whole text stands for, by the frames of the file ("what does a satin finish do?");
    ``table_of``: "put", or "beside" for those that ask what a part of something is for."""
    from kg.language.framing import pattern
    from kg.language.otherwise import filled

    name = f"{__name__}.{table_of}"
    if (table := lexicon.beside.get(name)) is None:
        put = lexicon.words.reasons.get(table_of, {})
        table = lexicon.beside[name] = [(pattern(old, lexicon), new) for old, new in put.items()]
    for new, words in filled(table, text, lexicon):  # type: ignore[arg-type]
        yield new.format(**words)


def _any(words: Mapping[str, Any], name: str, keys: Sequence[str], lexicon: Lexicon) -> bool:
    """Whether one of the phrases of a list of the file stands among these words."""
    return any(stands(keys, key_of(phrase, lexicon)) for phrase in words.get(name, ()))


def _asks(words: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    return {kind: {"words": phrases} for kind, phrases in words.get("asks", {}).items()}


def _named_at(parser: FormParser, at: int, features: Container[str]) -> tuple[int, tuple[Entry, ...]]:
    """The longest phrase here that names something of the ontology, or one of these ``features``; (at, ()) if none does."""
    for end, entries in parser.phrases(at):
        fit = tuple(e for e in spoken_of(entries) if e.kind in _NAMED and (e.kind != "feature" or e.term in features))
        if fit and not _cuts_a_name(parser, at, end):
            return end, fit
    return at, ()


def _cuts_a_name(parser: FormParser, at: int, end: int) -> bool:
    """Whether a phrase ends inside the name of a family or an instrument: "holding a needle" before "holder"."""
    return any(
        beyond > end and any(e.kind in ("category", "pattern") for e in entries)
        for inside in range(at + 1, end)
        for beyond, entries in parser.phrases(inside)
    )


def _span(parser: FormParser, at: int, end: int, topics: frozenset[str], entries: tuple[Entry, ...], lexicon: Lexicon) -> Span:
    usual = lexicon.usual(parser.quote(at, end)) if entries else ""
    patterns = tuple(e.term for e in entries if e.kind == "pattern")
    terms = {t for e in entries for t in ((e.term, *e.terms) if e.kind not in ("pattern", "group") else ())}
    for group in (e for e in entries if e.kind == "group" and e.terms):  # "forceps" are not all what some of them are
        terms |= set.intersection(*(wider(lexicon, {t}) for t in group.terms))
    chosen = (usual,) if usual in patterns else patterns
    family = next((e.term for e in entries if e.kind == "category"), "")
    if len(chosen) == 1:  # "a curved mosquito" names what is curved
        terms |= {chosen[0], *(e.term for stop, es in parser.phrases(at) if stop < end for e in es if e.kind == "value")}
    return Span(topics, frozenset(wider(lexicon, terms)), chosen, family)


def wider(lexicon: Lexicon, terms: set[str]) -> set[str]:
    """The terms with what is broader and with what defines them: "curved artery forceps" are curved, and artery forceps."""
    known, out, left = lexicon.vocabulary, set[str](), [*terms]
    while left:
        term = left.pop()
        if not term or term in out:
            continue
        out.add(term)
        left.append(known.broader_of(term))
        left += [value for prop, value in known.definitions.get(term, ()) if prop not in (names.LACKS_PART,)]
    return out


def _is_pattern(term: str, lexicon: Lexicon) -> bool:
    return lexicon.vocabulary.terms[term].role == "pattern"


def _says_nothing(parser: FormParser, at: int, talk: Talk) -> bool:
    token = parser.tokens[at]
    return (
        token.kind == NUMBER
        or talk.says_nothing(token.key)
        or token.key in talk.beside
        or any(k.startswith(_SAYS_NOTHING) for k in parser.kinds(at))
    )


def second_half(text: str, lexicon: Lexicon) -> str:
    """A question without the words behind it that ask why as well ("..., and why?"); empty if there are none."""
    words = lexicon.words.reasons
    parser = parser_for(text, lexicon)
    tokens = [t for t in parser.tokens if t.kind != SYMBOL]
    keys = tuple(t.key for t in tokens)
    for phrase in words.get("besides", ()):
        key = key_of(phrase, lexicon)
        if len(keys) > len(key) and keys[-len(key) :] == key:
            return text[: tokens[-len(key)].start].rstrip(" ,;:-") + "?"
    return ""
