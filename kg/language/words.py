"""The word file of one language (``ontology/lexicon/en.toml``) as records, and how words are folded to keys.

No word of any language is spelt here; the names of the tables are.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from kg.language.tokens import WORD, Token, scan
from kg.records import Record, field, record


class Connector(NamedTuple):
    """Words before a value that say which feature it belongs to; ``ask``: the features they ask for after an
    instrument."""

    phrases: tuple[str, ...]
    features: tuple[str, ...]
    ask: tuple[str, ...]


class Asking(NamedTuple):
    """Words before and after the name of an instrument that ask for ``features``; empty ``after``: nothing need
    follow."""

    before: tuple[str, ...]
    after: tuple[str, ...]
    features: tuple[str, ...]


class Advice(NamedTuple):
    """Words of a question that is refused, with what is said then."""

    phrases: tuple[str, ...]
    message: str
    hint: str


class FeatureWords(NamedTuple):
    """How a feature is asked for and spoken of; ``form`` is adjective, with, after, length or empty."""

    phrases: tuple[str, ...] = ()
    form: str = ""
    values_of: str = ""
    patterns: bool = False


class Unit(NamedTuple):
    """A unit of length; ``millimetres`` as a decimal number in text."""

    phrases: tuple[str, ...]
    millimetres: str


@record
class Words(Record):
    """The word file, read. Phrases are as written there, alternatives not yet expanded."""

    articles: frozenset[str] = frozenset()
    partly: frozenset[str] = frozenset()
    members: tuple[str, ...] = ()
    loose: frozenset[str] = frozenset()
    last: frozenset[str] = frozenset()
    no_person: tuple[str, ...] = ()
    prefix: frozenset[str] = frozenset()
    filler: tuple[str, ...] = ()
    together: frozenset[str] = frozenset()
    as_well: frozenset[str] = frozenset()
    ones: frozenset[str] = frozenset()
    invariable: frozenset[str] = frozenset()
    singular: Mapping[str, str] = field(default_factory=dict)
    spelling: Mapping[str, str] = field(default_factory=dict)
    short: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    keywords: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    lengths: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    units: Mapping[str, Unit] = field(default_factory=dict)
    numbers: Mapping[str, str] = field(default_factory=dict)
    figures: Mapping[str, str] = field(default_factory=dict)
    connectors: tuple[Connector, ...] = ()
    askings: tuple[Asking, ...] = ()
    features: Mapping[str, FeatureWords] = field(default_factory=dict)
    phrases: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    whole: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    groups: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    wide: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    places: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    for_place: str = ""
    usual: Mapping[str, str] = field(default_factory=dict)
    set_features: frozenset[str] = frozenset()
    set_places: frozenset[str] = frozenset()
    of_whole: frozenset[str] = frozenset()
    set_who: frozenset[str] = frozenset()
    doers: frozenset[str] = frozenset()
    choosing: tuple[str, ...] = ()
    holding: tuple[str, ...] = ()
    effects: frozenset[str] = frozenset()
    besides: Mapping[str, str] = field(default_factory=dict)
    put_there: frozenset[str] = frozenset()
    interrogative: frozenset[str] = frozenset()
    parted: frozenset[str] = frozenset()
    """Words at the end of what is done to something that may stand right behind the deed too ("hold the mouth open")."""
    told_too: str = ""
    sought: Mapping = field(default_factory=dict)
    common_names: frozenset[str] = frozenset()
    """The words by which parts are told: what asks for a name, and for each part what is told of it."""
    trays: frozenset[str] = frozenset()
    offered: frozenset[str] = frozenset()
    relative: Mapping = field(default_factory=dict)
    yesno: Mapping = field(default_factory=dict)
    bearing: tuple[str, ...] = ()
    both: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    kin: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    acted_on: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """A part or value -> what its word means where it stands right behind a deed; nothing if it says nothing there."""
    so_too: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """An adjective of several features -> values and parts of which nobody would deny it ("sharp": what cuts)."""
    asking_use: frozenset[str] = frozenset()
    likened: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    likened_measures: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    built: frozenset[str] = frozenset()
    sense: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    elsewhere: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    by_feature: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    needing: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    on_which: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    nouns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    ends: frozenset[str] = frozenset()
    each_end: frozenset[str] = frozenset()
    at_end: frozenset[str] = frozenset()
    end_said: frozenset[str] = frozenset()
    roles: Mapping[str, str] = field(default_factory=dict)
    advice: tuple[Advice, ...] = ()
    cycle_feature: str = ""
    loads: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    sterilisers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    degrees: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    expected: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    names: Mapping[str, str] = field(default_factory=dict)
    counting: Mapping[str, str] = field(default_factory=dict)
    mass: tuple[str, ...] = ()
    offer: tuple[str, ...] = ()
    care_words: Mapping = field(default_factory=dict)
    """The words of care as they stand in the data file; its ``topic``: name -> how it is read back, its kind and phrases."""
    reasons: Mapping = field(default_factory=dict)
    """The words of reasons as they stand in the data file: ``asks``, ``topic`` and ``note``, each by name."""

    @classmethod
    def read(cls, raw: Mapping) -> Words:
        """The parsed word file -> records. Missing tables are empty; raises KeyError or TypeError for a wrong form."""
        words = raw.get("words", {})
        cycles = raw.get("cycles", {})
        return cls(
            articles=frozenset(words.get("articles", ())),
            partly=frozenset(words.get("partly", ())),
            members=tuple(words.get("members", ())),
            last=frozenset(words.get("last", ())),
            no_person=tuple(words.get("no_person", ())),
            loose=frozenset(words.get("loose", ())) | frozenset(words.get("articles", ())),
            prefix=frozenset(words.get("prefix", ())),
            filler=tuple(words.get("filler", ())),
            together=frozenset(words.get("together", ())),
            as_well=frozenset(words.get("as_well", ())),
            ones=frozenset(words.get("ones", ())),
            invariable=frozenset(words.get("invariable", ())),
            singular=dict(words.get("singular", {})),
            spelling={**words.get("spelling", {}), **words.get("verbs", {})},
            short={k: tuple(v.split()) for k, v in words.get("short", {}).items()},
            keywords=_tuples(raw.get("keywords", {})),
            lengths=_tuples(raw.get("lengths", {})),
            units={k: Unit(tuple(v["phrases"]), v["millimetres"]) for k, v in raw.get("units", {}).items()},
            numbers=dict(raw.get("numbers", {})),
            figures=dict(words.get("figures", {})),
            connectors=tuple(
                Connector(tuple(c["phrases"]), tuple(c["features"]), tuple(c.get("ask", c["features"])))
                for c in raw.get("connector", ())
            ),
            askings=tuple(Asking(tuple(a["before"]), tuple(a["after"]), tuple(a["features"])) for a in raw.get("asking", ())),
            features={
                name: FeatureWords(
                    tuple(f.get("phrases", ())), f.get("form", ""), f.get("values_of", ""), f.get("patterns", False)
                )
                for name, f in raw.get("features", {}).items()
            },
            phrases=_tuples(raw.get("phrases", {})),
            whole=_tuples(raw.get("whole", {})),
            groups=_tuples(raw.get("groups", {})),
            wide=_tuples(raw.get("wide", {})),
            places=_tuples(raw.get("places", {})),
            usual=dict(raw.get("usual", {})),
            set_features=frozenset(raw.get("sets", {}).get("features", ())),
            of_whole=frozenset(raw.get("sets", {}).get("of_whole", ())),
            set_places=frozenset(raw.get("sets", {}).get("places", ())),
            set_who=frozenset(raw.get("sets", {}).get("who", ())),
            doers=frozenset(raw.get("sets", {}).get("doers", ())),
            choosing=tuple(raw.get("sets", {}).get("choosing", ())),
            holding=tuple(raw.get("sets", {}).get("holding", ())),
            effects=frozenset(raw.get("sets", {}).get("effects", ())),
            for_place=str(raw.get("sets", {}).get("for_place", "")),
            besides=dict(raw.get("sets", {}).get("besides", {})),
            put_there=frozenset(raw.get("sets", {}).get("put_there", ())),
            told_too=raw.get("sets", {}).get("told_too", ""),
            sought=dict(raw.get("sought", {})),
            interrogative=frozenset(words.get("interrogative", ())),
            parted=frozenset(words.get("parted", ())),
            common_names=frozenset(raw.get("sought", {}).get("common_names", ())),
            trays=frozenset(raw.get("sets", {}).get("trays", ())),
            offered=frozenset(raw.get("sets", {}).get("offered", ())),
            relative=dict(raw.get("relative", {})),
            yesno=dict(raw.get("yesno", {})),
            bearing=tuple(raw.get("sets", {}).get("bearing", ())),
            both=_tuples(raw.get("both", {})),
            kin=_tuples(raw.get("kin", {})),
            acted_on=_tuples(raw.get("acted_on", {})),
            so_too=_tuples(raw.get("so_too", {})),
            asking_use=frozenset(raw.get("sets", {}).get("asking_use", ())),
            likened=_tuples(raw.get("likened", {})),
            likened_measures=_tuples(raw.get("likened_measures", {})),
            built=frozenset(raw.get("sets", {}).get("built", ())),
            sense=_tuples(raw.get("sense", {})),
            elsewhere=_tuples(raw.get("elsewhere", {})),
            by_feature=_tuples(raw.get("by_feature", {})),
            needing=_tuples(raw.get("needing", {})),
            on_which=_tuples(raw.get("on_which", {})),
            nouns=_tuples(raw.get("nouns", {})),
            ends=frozenset(raw.get("at_end", {}).get("ends", ())),
            each_end=frozenset(raw.get("at_end", {}).get("each", ())),
            at_end=frozenset(raw.get("at_end", {}).get("forms", ())),
            end_said=frozenset(raw.get("at_end", {}).get("said", ())),
            roles=dict(raw.get("roles", {})),
            advice=tuple(Advice(tuple(a["phrases"]), a["message"], a["hint"]) for a in raw.get("advice", ())),
            cycle_feature=cycles.get("feature", ""),
            loads=_tuples(cycles.get("loads", {})),
            sterilisers=_tuples(cycles.get("sterilisers", {})),
            degrees=_tuples(cycles.get("degrees", {})),
            expected=_tuples(raw.get("expected", {})),
            names=dict(raw.get("names", {})),
            counting=dict(raw.get("say", {}).get("counting", {})),
            mass=tuple(raw.get("say", {}).get("mass", ())),
            offer=tuple(raw.get("say", {}).get("offer", ())),
            care_words=raw.get("care", {}),
            reasons=raw.get("reasons", {}),
        )

    @property
    def care(self) -> Mapping[str, Mapping]:
        """The topics of care; empty without the data file."""
        return self.care_words.get("topic", {})

    def terms(self) -> frozenset[str]:
        """Every term that the word file names; a test holds it against the ontology."""
        named: set[str] = set(self.features) | set(self.phrases) | set(self.names)
        for terms in (*self.groups.values(), *self.wide.values(), *self.places.values()):
            named.update(terms)
        for framed in (*self.connectors, *self.askings):
            named.update(framed.features)
        return frozenset(named)


def _tuples(table: Mapping[str, Iterable[str]]) -> dict[str, tuple[str, ...]]:
    return {key: tuple(value) for key, value in table.items()}


MOST_READINGS = 2_000
"""A phrase with more readings is a slip: two groups too many make it slow to read."""


def expand(phrase: str) -> list[str]:
    """All readings of a phrase with alternatives ``(a|b)`` and parts that may be left out ``[a|b]``; no nesting. Raises
    ValueError for more than ``MOST_READINGS``."""
    texts = [""]
    for piece, options in pieces(phrase):
        if len(texts) * max(len(options), 1) > MOST_READINGS:
            raise ValueError(f"{phrase[:60]!r} has too many readings: split it")
        if options:
            texts = [f"{text} {option}" for text in texts for option in options]
        else:
            texts = [f"{text} {piece}" for text in texts]
    return [" ".join(text.split()) for text in texts]


def pieces(phrase: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    """The pieces of a phrase in order: (text, none) or (empty, alternatives)."""
    rest = phrase
    while rest:
        starts = [at for at in (rest.find("("), rest.find("[")) if at >= 0]
        if not starts:
            yield rest, ()
            return
        start = min(starts)
        if start:
            yield rest[:start], ()
        optional = rest[start] == "["
        end = rest.index("]" if optional else ")", start)
        options = tuple(rest[start + 1 : end].split("|"))
        yield "", (*options, "") if optional else options
        rest = rest[end + 1 :]


class Folder:
    """Words -> keys: lower case, no accents, singular, one spelling. Equal keys mean "the same word"."""

    def __init__(self, words: Words) -> None:
        self._invariable = words.invariable
        self._singular = words.singular
        self._spelling = words.spelling
        self._short = words.short
        self._articles = words.articles
        self._cache: dict[str, str] = {}

    def key(self, word: str) -> str:
        """The key of one folded word (see ``tokens.fold``)."""
        found = self._cache.get(word)
        if found is None:
            found = self._cache[word] = self._key(word)
        return found

    def _key(self, word: str) -> str:
        if word.endswith("'s"):
            word = word[:-2]
        word = word.replace("'", "")
        if word not in self._invariable:
            word = self._singular.get(word) or singular(word)
        return self._spelling.get(word, word)

    def split(self, token: Token) -> tuple[str, ...]:
        """The keys of a token: one, or several for a short form ("isn't")."""
        if token.kind != WORD:
            return (token.key,)
        longer = self._short.get(token.key)
        return longer if longer else (self.key(token.key),)

    def phrase(self, text: str) -> tuple[str, ...]:
        """The key of a phrase without its articles; the phrase's own words if it has nothing else."""
        folded = text.lower()
        if text.isascii() and folded.replace(" ", "").isalpha():
            # The common case, and this runs for every phrase of the vocabulary at start.
            keys = tuple(map(self.key, folded.split()))
        else:
            keys = tuple(k for token in scan(text) for k in self.split(token))
        return tuple(k for k in keys if k not in self._articles) or keys or (text,)


def singular(word: str) -> str:
    """A regular English plural ending taken off; the same for both sides of a comparison, so it need not be a word."""
    if len(word) < 4 or not word.endswith("s") or word.endswith(("ss", "us", "is")):
        return word
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith(("ches", "shes", "xes", "sses", "zes")):
        return word[:-2]
    return word[:-1]
