"""Questions about care in general, in any words: "do I close the ratchet before autoclaving?", "can it go in the ultrasonic?"

What is asked is read from the phrases of the topics of care (``ontology/care.toml``): things, agents, steps. A question is
read like this only if a word of a step or an agent stands in it beside a thing or a word for instruments, or one that by itself
shows that care is asked for. The answer tells what sources say and decides nothing, and the words that were not read are told.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import takewhile
from typing import Any, NamedTuple

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.before import Before
from kg.language.lexicon import Lexicon
from kg.language.loose import SUBJECTS, named, term_at
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.talk import Talk
from kg.language.tokens import SYMBOL, WORD, Token
from kg.language.topic_words import Key, key_of, phrases_of, stands, topic_at

MOST_UNREAD = 6
"""With more words that are not understood the question is too little understood."""
MOST_BETWEEN = 8
"""So many words may narrow the instruments that are asked for."""


class Notes(NamedTuple):
    """The question, the words passed over as saying nothing, and those that say something and were not read."""

    question: nodes.CareNotes
    passed: tuple[str, ...]
    unread: tuple[str, ...]


@dataclass
class _Found:
    topics: list[str] = field(default_factory=list)
    sure: bool = False
    strong: bool = False
    weak: set[str] = field(default_factory=set)
    surely: set[str] = field(default_factory=set)
    families: bool = False
    bearers: list[tuple[int, int]] = field(default_factory=list)
    instrument: bool = False
    it: bool = False
    passed: list[str] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)
    name: bool = False  # a name that the catalogue does not hold


def care_notes(
    parser: FormParser, talk: Talk, before: Before | None = None, *, described: bool = False, advised: bool = False
) -> Notes | None:
    """The question as one for notes on care; None if it is none. ``described``: an instrument is described that is to be
    named, so that only what is surely about care is read. ``advised``: it asks for advice, so nothing else reads it. Raises
    QuestionError (BL-Q05) for a name of several instruments."""
    care, topics = parser.lexicon.words.care_words, parser.lexicon.words.care
    tokens = [t for t in parser.tokens if t.key not in parser.lexicon.words.articles]
    if not topics or not tokens or _barred(tokens, care, parser.lexicon):
        return None
    found = _walk(parser, talk)
    found.topics = [t for t in found.topics if t in found.surely or topics[t].get("needs", t) in found.topics]
    kinds = {topics[t]["kind"] for t in found.topics}
    things = "thing" in kinds
    together = len(found.weak) > 1 and any(topics[t].get("half") for t in found.weak)
    if not (found.sure or ((found.strong or together) and (things or found.bearers or found.instrument or found.it))):
        return None
    if described and not found.sure:
        return None
    if asks_for_instruments(tokens, parser.lexicon) and not _told_apart(found, topics, _bounded(tokens, parser.lexicon)):
        return None
    subject = ""
    if found.bearers:
        subjects = list(dict.fromkeys(named(parser, found.bearers)))
        if len(subjects) != 1:
            return None
        subject = subjects[0]
    elif found.it and not things and before is not None:
        meant = before.subjects(parser.lexicon)
        if len(meant) == 1 and parser.lexicon.vocabulary.terms[meant[0]].role == "pattern":
            subject = meant[0]
    also = any(topics[t]["kind"] == "step" and (topics[t].get("also") or not topics[t].get("own")) for t in found.topics)
    if found.families and not things and not found.bearers and not kinds & {"agent", "state"} and not also:
        return None  # what the lines of its members tell
    if found.it and not (things or subject or "agent" in kinds):
        return None
    if subject and not advised and all(topics[t].get("own") for t in found.topics):
        return None  # what its own lines tell
    if not (things or subject or found.instrument) and (
        len(found.unread) > (found.sure and len(set(found.topics)) > 1) or (found.it and not found.sure)
    ):
        return None  # "how do you sterilise milk?"
    if found.name or len(found.unread) > MOST_UNREAD or not found.topics:
        return None
    unread = tuple(dict.fromkeys(found.unread))
    return Notes(nodes.CareNotes(tuple(dict.fromkeys(found.topics)), subject), tuple(dict.fromkeys(found.passed)), unread)


def notes_asked(
    text: str,
    lexicon: Lexicon,
    talk: Talk,
    before: Before | None,
    refused: QuestionError | None = None,
    *,
    described: bool = False,
) -> Notes | None:
    """As ``care_notes``, for a text. ``refused``: the error of one that asks for advice ("is it safe to"); it stands, and None
    is returned, if the advice is for a person, or if a name means several instruments."""
    if refused is not None:
        advice = {key_of(p, lexicon) for p in lexicon.words.care_words.get("advice", ())}
        if refused.code != "BL-Q06" or key_of(text[slice(*refused.span)], lexicon) not in advice:
            return None
    with suppress(QuestionError):
        return care_notes(parser_for(text, lexicon), talk, before, described=described, advised=refused is not None)
    return None


def in_a_state(parser: FormParser, talk: Callable[[], Talk]) -> bool:
    """Whether something is cleaned or sterilised with a part left in a state ("autoclaved with the ratchet locked"), or is
    asked of anyone with what it is fitted with ("can I autoclave scissors with carbide inserts?")."""
    if not parser.lexicon.words.care or not parser.says("kw.with"):
        return False
    topics, found = parser.lexicon.words.care, _walk(parser, talk())
    kinds = {topics[t]["kind"] for t in found.topics}
    keys = tuple(t.key for t in parser.tokens)
    anyone = (key_of(p, parser.lexicon) for p in parser.lexicon.words.care_words.get("anyone", ()))
    state = set() if any(keys[: len(k)] == k for k in anyone) else {"state"}
    return {"thing", "step", *state} <= kinds and found.sure


def asked_besides(text: str, before: Before, lexicon: Lexicon, talk: Talk) -> nodes.CareNotes | None:
    """One more thing asked of the care asked about before ("for how long?", "and how are they dried?"): its things and, where
    no step is named, its steps; None if it is no such question, or names instruments of its own."""
    topics, care = lexicon.words.care, lexicon.words.care_words
    parser, earlier = parser_for(text, lexicon), parser_for(before.text, lexicon)
    tokens = [[t for t in p.tokens if t.key not in lexicon.words.articles] for p in (parser, earlier)]
    if isinstance(before.question, nodes.Filter | nodes.Count | nodes.Compare):
        return None
    if not topics or any(_barred(each, care, lexicon) for each in tokens):
        return None
    new, old = _walk(parser, talk), _walk(earlier, talk)
    if isinstance(before.question, nodes.CareNotes):
        old.topics = list(before.question.topics)
    if not new.topics or new.unread or new.name or new.bearers or new.families or not old.topics:
        return None

    def those(found: _Found, *kinds: str) -> list[str]:
        return [t for t in found.topics if topics[t]["kind"] in kinds]

    if not those(old, "step", "agent") or not those(new, "step", "agent", "state"):
        return None
    asked = [*(those(new, "thing") or those(old, "thing")), *(those(new, "step") or those(old, "step"))]
    asked += [*those(new, "agent"), *(those(new, "state") or (those(old, "state") if those(new, "step") else []))]
    whole = isinstance(before.question, nodes.Reprocessing) and not those(old, "agent")
    if whole or any(topics[t].get("any") for t in those(old, "step")):  # "at what temperature?" after reprocessing in general
        asked += [str(topics[t]["needs"]) for t in asked if topics[t].get("needs")]
    asked = [t for t in asked if topics[t].get("needs", t) in asked]
    subjects = before.subjects(lexicon)
    subject = subjects[0] if len(subjects) == 1 and lexicon.vocabulary.terms[subjects[0]].role == "pattern" else ""
    if isinstance(before.question, nodes.CareNotes):
        subject = before.question.subject
    if not set(asked) & set(those(new, "step", "agent", "state")):
        return None
    return nodes.CareNotes(tuple(dict.fromkeys(asked)), subject)


def _walk(parser: FormParser, talk: Talk) -> _Found:
    topics = parser.lexicon.words.care
    phrases, longest = phrases_of(topics, parser.lexicon, __name__)
    articles = parser.lexicon.words.articles
    light = {k for phrase in parser.lexicon.words.care_words.get("light", ()) for k in key_of(phrase, parser.lexicon)}
    heads = _heads(parser.lexicon)
    out, tokens, at = _Found(), parser.tokens, 0
    while at < len(tokens):
        token = tokens[at]
        if token.kind == SYMBOL or token.key in articles:
            at += 1
            continue
        end, meant = topic_at(tokens, at, phrases, longest, articles)
        term = term_at(parser, at)
        if term and term[0] >= end and any(e.kind in SUBJECTS for e in term[1]) and (term[0] > end or not meant):
            out.instrument = out.families = True
            if any(e.kind == "pattern" for e in term[1]) and not any(e.kind == "category" for e in term[1]):
                out.bearers.append((at, term[0]))
            while at < term[0]:
                end, inside = topic_at(tokens[: term[0]], at, phrases, longest, articles)
                out.topics += [name for name, _ in inside if topics[name]["kind"] == "thing"]
                at = max(end, at + 1)
            continue
        if meant:
            inside = {k for i in range(at, end) for k in parser.kinds(i)}
            out.instrument = out.instrument or not inside.isdisjoint(("kw.instrument", *SUBJECTS))
            for name, sure in meant:
                topic = topics[name]
                out.topics.append(name)
                out.sure = out.sure or sure
                if sure:
                    out.surely.add(name)
                if topic["kind"] in ("agent", "step"):
                    out.strong = out.strong or sure or not topic.get("weak")
                    out.weak.add(name)
                else:
                    out.instrument = out.instrument or topic["kind"] == "thing"
            at = end
            continue
        kinds = parser.kinds(at)
        if "kw.instrument" in kinds or token.key in heads:
            out.instrument = True
        elif "kw.it" in kinds:
            out.it = True
        elif token.key in talk.passed:
            out.passed.append(parser.quote(at))
        elif not (
            talk.says_nothing(token.key)
            or token.key in light
            or token.key in talk.beside
            or token.key in talk.grouping
            or any(k.startswith(("kw.", "filler", "op.", "connector", "ask")) for k in kinds)
        ):
            out.unread.append(parser.quote(at))
            out.name = out.name or (token.kind == WORD and parser.capital_inside(at))
        at += 1
    return out


def _heads(lexicon: Lexicon) -> frozenset[str]:
    """The words for all instruments of one last name ("forceps"). Made once for a lexicon."""
    if (known := lexicon.beside.get(f"{__name__}.heads")) is None:
        known = lexicon.beside[f"{__name__}.heads"] = frozenset(lexicon.heads())
    return known  # type: ignore[return-value]


def _barred(tokens: Sequence[Token], care: Mapping[str, Any], lexicon: Lexicon) -> bool:
    """Whether a word stands in the question with which it is never one about care."""
    keys = [t.key for t in tokens]
    for phrase in care.get("aside", ()):
        keys = _without(keys, key_of(phrase, lexicon))
    return any(stands(keys, key_of(phrase, lexicon)) for phrase in care.get("never", ()))


def asks_for_instruments(tokens: Sequence[Token], lexicon: Lexicon) -> bool:
    """Whether a question begins as one for a list does: "which of the instruments", "any items that"; or asks where something
    is missing: "no reprocessing information"."""
    care = lexicon.words.care_words
    keys = [t.key for t in tokens]
    if all(any(stands(keys, key_of(word, lexicon)) for word in care.get(name, ())) for name in ("lacking", "written")):
        return True
    stops = {k for stop in care.get("stops", ()) for k in key_of(stop, lexicon)}
    for phrase in care.get("begins", ()):
        key = key_of(phrase, lexicon)
        if tuple(keys[: len(key)]) == key:
            near = list(takewhile(lambda k: k not in stops, keys[len(key) : len(key) + MOST_BETWEEN]))
            if near and near[0] in _heads(lexicon):
                return True
            if any(stands(near, key_of(word, lexicon)) for word in care.get("asked", ())):
                return True
    return False


def _told_apart(found: _Found, topics: Mapping[str, Mapping[str, Any]], bounded: bool) -> bool:
    """Whether an agent is asked about of which no list is kept, or of all instruments a state in which a part is left, so that
    notes answer ("which go in the ultrasonic?", "which instruments are sterilised with the ratchet open?")."""
    agent = any(topics[t]["kind"] == "agent" and not topics[t].get("listed") for t in found.topics)
    in_a_state = found.sure and {"thing", "state", "step"} <= {topics[t]["kind"] for t in found.topics}
    return agent or (in_a_state and not bounded)


def _bounded(tokens: Sequence[Token], lexicon: Lexicon) -> bool:
    """Whether something stands between the word for instruments and what is asked of them ("items on the laparotomy set")."""
    care, keys = lexicon.words.care_words, [t.key for t in tokens]
    places = [len(k) for k in (key_of(p, lexicon) for p in care.get("begins", ())) if tuple(keys[: len(k)]) == k]
    at = max(places, default=0)
    asked = [key_of(word, lexicon) for word in care.get("asked", ())]
    end = next((at + len(k) for k in asked if tuple(keys[at : at + len(k)]) == k), 0)
    words = [*care.get("verbs", ()), *(p for word in ("be", "do", "can", "have") for p in lexicon.words.keywords[word])]
    verbs = {key[0] for key in (key_of(word, lexicon) for word in words) if len(key) == 1}
    return not end or end >= len(keys) or keys[end] not in verbs


def _without(keys: list[str], phrase: Key) -> list[str]:
    for i in range(len(keys) - len(phrase) + 1):
        if tuple(keys[i : i + len(phrase)]) == phrase:
            return _without(keys[:i] + keys[i + len(phrase) :], phrase)
    return keys
