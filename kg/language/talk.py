"""How people talk round a question: the words of ``plain.toml``, read when the grammar alone does not do."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from kg.datafiles import data_file, read_data
from kg.errors import CODES
from kg.language.degrees import Degree, read_degrees
from kg.language.framing import Key, Pattern, pattern_of

if TYPE_CHECKING:
    from kg.language.lexicon import Lexicon
    from kg.language.tokens import Token

FILE = "plain.toml"
Change = tuple[Pattern, tuple[str, ...]]
"""A phrase, and the words that it stands for."""


class Topic(NamedTuple):
    """Phrases of a question that has no answer here, with the code and words of the refusal. ``last``: only if every word is
    known."""

    phrases: frozenset[Key]
    code: str
    message: str
    hint: str
    last: bool
    partly: bool = False
    """What is recorded of the instruments that are named is told all the same."""
    frames: tuple[Pattern, ...] = ()
    """Whole questions with a place for a name, which are taken before any other reading: they speak of a person."""
    early: bool = False
    """Before any reading in plain talk, where instruments are named: words that none may pass over. "#" is a number."""


class Gist(NamedTuple):
    """One thing that can be asked of a description: ``name``; the questions that may ask for it, with ``{}`` where the
    description stands (``asks``); ``groups`` of phrases, of each of which one stands in it; ``words`` that may stand with them;
    ``unless``: phrases that turn it into something else; ``after``: it is asked of what went before; ``term``: the kinds of
    entry of which one stands in the place of the description, if it is a term; ``named``: an instrument stands there."""

    name: str
    asks: tuple[str, ...]
    groups: tuple[tuple[Key, ...], ...]
    words: frozenset[str]
    unless: tuple[Key, ...]
    after: bool
    term: tuple[str, ...]
    named: bool


class Indirect(NamedTuple):
    """How questions are put indirectly. ``leads``: words that lead to a clause, of which one is ``telling``; ``hinges`` and
    ``asking``: words with which the clause begins, ``widening`` those of them that others may follow ("what kind of tip"),
    ``bounding`` those that may only bound what went before ("and which have teeth");
    ``subjects``: words with which it can name what it speaks of, unless one of
    ``inside`` stands before. ``verbs``: word -> the verb that it is in a question, and whether it denies; ``having`` and
    ``acting``: verbs that need another before them in a question -> that one, with their plain form; ``doing``: the same for
    all others, of one and of several. ``short``: word -> the words that it stands for. ``tags``: words behind a statement that
    ask whether it is so; a verb and one of ``pronouns`` do the same."""

    leads: frozenset[str] = frozenset()
    telling: frozenset[str] = frozenset()
    hinges: frozenset[str] = frozenset()
    asking: frozenset[str] = frozenset()
    widening: frozenset[str] = frozenset()
    bounding: frozenset[str] = frozenset()
    subjects: frozenset[str] = frozenset()
    inside: frozenset[str] = frozenset()
    pronouns: frozenset[str] = frozenset()
    tags: frozenset[Key] = frozenset()
    longest_tag: int = 2
    nots: tuple[str, ...] = ()
    verbs: Mapping[str, tuple[str, bool]] = {}
    having: Mapping[str, str] = {}
    acting: Mapping[str, str] = {}
    short: Mapping[str, str] = {}
    doing: tuple[str, ...] = ()
    having_plain: str = ""
    acting_plain: str = ""
    participles: frozenset[str] = frozenset()
    participle_ends: str = ""


class Ask(NamedTuple):
    """What may be asked of ``names`` instruments that are named (``{x}``, ``{y}``): the question (several with ``||`` between),
    the phrases that ask for it, those that may stand beside them, and those that must not stand in it (a single word: unless
    it is part of one of the others), by the words that they can begin with."""

    question: str
    names: int
    asks: Mapping[str, Sequence[Pattern]]
    beside: Mapping[str, Sequence[Pattern]]
    never: Mapping[str, Sequence[Pattern]]


@dataclass(frozen=True)
class Talk:
    """``how_done``: words that say how a thing is done, passed over only where no frame takes them up ("gently").

    ``silent`` and ``passed``: words that say nothing of an instrument; of the latter an answer tells that they were passed
    over. ``light``: words that neither bound nor turn a question, wherever they stand; ``owners`` and ``leading``: words that
    may lead to one of these ("for our module"); ``measuring``: words behind which such a word measures ("most lovely");
    ``everyday``: words that are names only with a capital. ``closely``: words that say how far, beside a verb of ``closing``
    ("completely occlude").
    ``opening`` and ``addressed``: verbs that ask for a list at the beginning, and what may follow them ("gather for me").
    ``strong``: words that forbid reading by cues. ``cues``: phrase -> what the question is after.

    ``between`` and ``beside``: words that may stand between the pieces of a question for instruments, without and with
    being told. ``vague``: words that are no short name of a value, and ``doing``: those that are none in a list. ``instead``:
    the words that a phrase can begin with -> (phrase, the words that it stands for). ``frames``: (words and ``{places}`` of a
    whole question, the question that it stands for, or several with ``||`` between). ``apart`` and ``against``: words
    anywhere, or just before a name, that ask for other instruments than those named;
    ``telling``: words with which a clause begins that asks nothing. ``than``: between two that are measured against each
    other; ``degrees``: words such as "lighter", and what they are measured by.
    ``asking``, ``being``, ``means`` and ``manner``: the words of a question in the passive, ``active`` the same in
    the active. ``bidding``: words before those that ask for something to be made ("can you draw"). ``grouping``: words that
    ask for groups. ``examples``: phrases behind which only an example stands; ``general``: what says in brackets that all of a
    family is meant; ``opposite``: what says in a second question that the first is not so.
    ``meaning``: phrases that ask what a part or
    a word of the trade means, to "asks"; those that ask so next to such a word, to "may"; those that part the two, to "stop".
    ``nameless``: phrases round the description of an instrument -> whether they ask for its name where they stand first, and
    where they stand last; ``several``: words that ask for more than one, as typed; ``elsewhere``: phrases that ask for
    something else whatever stands beside them; ``whether``: words that ask for yes or no where they stand first, but not before
    those of ``handing``; ``handed``: phrases before what is in the hand; ``unlisted``: those that ask for no list; ``placing``:
    words that ask for a place, a time or a person where a clause begins with them. ``placed``: words for a place in a list ->
    which, from 0, or from -1 backwards; ``placing_number``: words before its number; ``placing_behind``: phrases behind it;
    ``placing_alone``: those that name a place whatever follows;
    ``laying``: words of a clause that lays instruments out. ``made`` and ``within``: what people make or do with an answer,
    and the words that lead to it; ``people``: who asks; ``back``: words that point back; ``possessive``: those of what went
    before ("its"); ``choosing``: words that ask which of several by name; ``leading_names``: words that only lead to these
    names, or stand beside the word that asks ("which of the two"); ``fitting``: words between two that fit each other.
    ``ages``, ``on_whom``, ``no_age``: words for somebody of an age, those before them, and what is told without them;
    ``animals``, ``of_animals``: words for an animal, and those that say of which kind something is ("equine"), ``vets`` what
    is asked in their place; ``usage``: words for the country of a name, and ``no_usage`` what is told without them;
    ``aside``: what is told where a description of a named instrument is left aside;
    ``patient``, ``patients``: words for a patient who is only where something is, or whose it is.
    ``best``: words that ask which is best, and ``no_best`` what is told then; ``needs``: how it is asked what is needed for an
    operation, and ``no_need`` what is told; ``safe`` and ``no_word_on_safety`` so of what is safe; ``each``: what is asked of
    each of a family. ``tags``: words of a tag
    behind a statement ("right?", "true or false").
    """

    aspects: Mapping[Key, str] = field(default_factory=dict)
    """What may be asked of an instrument together with other things: phrase -> which of them."""
    aspect_leads: frozenset[str] = frozenset()
    """Words that may stand round such phrases."""
    gists: tuple[Gist, ...] = ()
    gist_words: frozenset[str] = frozenset()
    gist_back: frozenset[str] = frozenset()
    gist_lists: tuple[Key, ...] = ()
    """Words that may stand with all of these, and with those that are asked of what went before; phrases for the list
    before."""
    indirect: Indirect = field(default_factory=Indirect)
    silent: frozenset[str] = frozenset()
    how_done: frozenset[str] = frozenset()
    passed: frozenset[str] = frozenset()
    light: frozenset[str] = frozenset()
    owners: frozenset[str] = frozenset()
    leading: frozenset[str] = frozenset()
    opening: frozenset[str] = frozenset()
    addressed: frozenset[str] = frozenset()
    measuring: frozenset[str] = frozenset()
    closely: frozenset[str] = frozenset()
    everyday: frozenset[str] = frozenset()
    closing: frozenset[str] = frozenset()
    strong: frozenset[str] = frozenset()
    cues: Mapping[Key, frozenset[str]] = field(default_factory=dict)
    topics: tuple[Topic, ...] = ()
    between: frozenset[str] = frozenset()
    beside: frozenset[str] = frozenset()
    vague: frozenset[str] = frozenset()
    doing: frozenset[str] = frozenset()
    apart: frozenset[str] = frozenset()
    against: frozenset[str] = frozenset()
    than: frozenset[str] = frozenset()
    degrees: tuple[Degree, ...] = ()
    made: frozenset[str] = frozenset()
    within: frozenset[str] = frozenset()
    people: frozenset[str] = frozenset()
    back: frozenset[str] = frozenset()
    possessive: frozenset[str] = frozenset()
    such: frozenset[str] = frozenset()  # words before the noun of what was explained ("such jaws")
    such_a: frozenset[str] = frozenset()  # nouns that stand for any part or sign ("that part")
    others: frozenset[str] = frozenset()  # words that ask for others than what went before
    courtesy: frozenset[str] = frozenset()  # what is said first about the answer before
    its: str = ""
    helpers: frozenset[str] = frozenset()
    the_other: tuple[Key, ...] = ()
    joins: frozenset[str] = frozenset()  # words that join a question to what went before
    one: frozenset[str] = frozenset()  # a word for the thing that went before
    definite: frozenset[str] = frozenset()  # words with which a part of it is meant
    telling: frozenset[str] = frozenset()
    asking: frozenset[str] = frozenset()
    being: frozenset[str] = frozenset()
    means: frozenset[str] = frozenset()
    manner: frozenset[str] = frozenset()
    active: str = ""
    bidding: frozenset[str] = frozenset()
    grouping: frozenset[str] = frozenset()
    examples: tuple[Key, ...] = ()
    general: frozenset[str] = frozenset()
    aims: frozenset[tuple[str, ...]] = frozenset()
    aims_last: frozenset[tuple[str, ...]] = frozenset()
    aims_never: frozenset[str] = frozenset()
    aims_while: frozenset[str] = frozenset()
    aims_done: frozenset[str] = frozenset()
    no_aim: str = ""
    restating: frozenset[tuple[str, ...]] = frozenset()
    restated: str = ""
    opposite: frozenset[Key] = frozenset()
    instead: Mapping[str, Sequence[Change]] = field(default_factory=dict)
    frames: tuple[tuple[Pattern, str], ...] = ()
    replies: tuple[tuple[Pattern, str], ...] = ()
    replies_last: tuple[tuple[Pattern, str], ...] = ()
    """Patterns of whole replies, and what each asks for; the latter where nothing else does."""
    read_asks: Callable[[], tuple[Ask, ...]] = tuple
    """Gives ``asks``; called once it is needed."""
    meaning: Mapping[Key, str] = field(default_factory=dict)
    nameless: Mapping[Key, tuple[bool, bool]] = field(default_factory=dict)
    for_what: frozenset[Key] = frozenset()
    use_before: frozenset[Key] = frozenset()
    use_last: frozenset[Key] = frozenset()
    several: frozenset[str] = frozenset()
    elsewhere: frozenset[Key] = frozenset()
    whether: frozenset[str] = frozenset()
    handing: frozenset[Key] = frozenset()
    unlisted: frozenset[Key] = frozenset()
    handed: tuple[Key, ...] = ()
    placing: frozenset[str] = frozenset()
    fitting: frozenset[str] = frozenset()
    choosing: frozenset[str] = frozenset()
    leading_names: frozenset[str] = frozenset()
    best: frozenset[str] = frozenset()
    tags: frozenset[str] = frozenset()
    patient: tuple[Key, ...] = ()
    patients: tuple[Key, ...] = ()
    ages: frozenset[str] = frozenset()
    on_whom: frozenset[str] = frozenset()
    no_age: str = ""
    animals: frozenset[str] = frozenset()
    of_animals: frozenset[str] = frozenset()
    no_animal: str = ""
    vets: tuple[str, ...] = ()
    usage: frozenset[str] = frozenset()
    no_usage: str = ""
    aside: str = ""
    no_best: str = ""
    needs: tuple[tuple[Pattern, str], ...] = ()
    no_need: str = ""
    safe: tuple[tuple[Pattern, str], ...] = ()
    each: tuple[tuple[Pattern, str], ...] = ()
    no_word_on_safety: str = ""
    one_thing: str = ""
    """What is said where two names are asked about that mean the same."""
    placed: Mapping[str, int] = field(default_factory=dict)
    placing_number: frozenset[str] = frozenset()
    placing_alone: frozenset[str] = frozenset()
    laying: frozenset[str] = frozenset()
    placing_behind: tuple[Key, ...] = ()

    def says_nothing(self, key: str) -> bool:
        """Whether a word says nothing of an instrument by itself."""
        return key in self.silent or key in self.passed or key in self.between

    def names_nobody(self, key: str) -> bool:
        """Whether a word is a name only where it stands with a capital."""
        return key in self.everyday or self.says_nothing(key)

    def says_how_far(self, key: str, tokens: Iterable[Token]) -> bool:
        """Whether a word that says nothing by itself bounds a question: "completely", where something is closed."""
        return key in self.closely and any(t.key in self.closing for t in tokens)

    @cached_property
    def asks(self) -> tuple[Ask, ...]:
        """What is asked of instruments that are named, in any order of the words; the first that fits is meant."""
        return self.read_asks()

    @cached_property
    def unseen(self) -> frozenset[str]:
        """Words by which nothing is seen: they name no value by themselves, or say nothing of an instrument."""
        return self.vague | self.silent | self.passed | self.between

    @cached_property
    def needed(self) -> tuple[tuple[frozenset[str], ...], ...]:
        """For each frame the words of which one must stand in a text that fills it, for each of its pieces that asks for some:
        most frames are known not to fit by these alone."""
        return tuple(
            tuple(
                frozenset((piece,)) if isinstance(piece, str) else frozenset(option[0] for option in piece)
                for piece in frame
                if (not piece.startswith("{") if isinstance(piece, str) else all(piece))
            )
            for frame, _ in self.frames
        )

    @property
    def longest(self) -> int:
        """Words of the longest cue."""
        return max(map(len, self.cues), default=0)


def read_talk(root: Path, lexicon: Lexicon) -> Talk:
    """The words of an ontology folder, folded as the lexicon folds words; none if it has no such file. Raises CatalogueError
    (BL-C04) if the file cannot be used."""

    def keys(phrases: Iterable[str]) -> list[Key]:
        return [lexicon.keys(p) for p in phrases]

    if not (root / FILE).exists():
        return Talk()
    with data_file(FILE):
        raw = read_data(root, FILE)
        framing, listing = raw["framing"], raw["listing"]
        cues: dict[Key, set[str]] = {}
        for name, phrases in raw["cues"].items():
            for key in keys(phrases):
                cues.setdefault(key, set()).add(name)
        topics = tuple(
            Topic(
                frozenset(keys(t["phrases"])),
                str(t["code"]),
                str(t["message"]),
                str(t["hint"]),
                bool(t.get("last")),
                bool(t.get("partly")),
                tuple(pattern_of(frame, keys) for frame in t.get("frames", ())),
                bool(t.get("early")),
            )
            for t in raw["topic"]
        )
        if wrong := [t.code for t in topics if t.code not in CODES]:
            raise ValueError(f"{wrong[0]!r} is no code of an error")
        return Talk(
            silent=_words(keys(framing["silent"])),
            how_done=_words(keys(framing["how_done"])),
            passed=_words(keys([*framing["passed"], *framing["light"]])),
            light=_words(keys(framing["light"])) - _words(keys(framing["strong"])),
            owners=_words(keys(framing["owners"])),
            **{
                n: _words(keys(framing[n]))
                for n in ("leading", "opening", "addressed", "measuring", "closely", "closing", "everyday")
            },
            strong=_words(keys(framing["strong"])),
            courtesy=frozenset(framing.get("courtesy", ())),
            its=framing.get("its", ""),
            helpers=_words(keys(framing.get("helpers", ()))),
            the_other=tuple(keys(raw.get("placed", {}).get("other", ()))),
            cues={key: frozenset(names) for key, names in cues.items()},
            topics=topics,
            between=_words(keys(listing["between"])) - _words(keys(framing["strong"])),
            beside=_words(keys([*listing["beside"], *framing["light"]])) - _words(keys(framing["strong"])),
            vague=_words(keys([*listing["vague"], *framing["strong"]])),
            doing=_words(keys([*listing["vague"], *listing["doing"], *framing["strong"]])),
            apart=_words(keys(raw["naming"]["apart"])),
            against=_words(keys(raw["naming"]["against"])),
            than=_words(keys(raw["naming"]["than"])),
            degrees=read_degrees(raw.get("degree", ()), keys),
            telling=_words(keys(framing["telling"])),
            made=_words(keys(framing["made"])),
            within=_words(keys(framing["within"])),
            people=_words(keys(framing["people"])),
            back=_words(keys(framing["back"])),
            **{n: _words(keys(framing[n])) for n in ("possessive", "joins", "one", "such", "such_a", "others", "definite")},
            **{name: frozenset(raw["passive"][name]) for name in ("asking", "being", "means", "manner")},
            active=str(raw["passive"]["active"]),
            examples=tuple(sorted(keys(listing["examples"]), key=len, reverse=True)),
            general=frozenset(listing["general"]),
            opposite=frozenset(keys(listing["opposite"])),
            aims=frozenset(keys(raw["aims"]["leading"])),
            aims_last=frozenset(keys(raw["aims"].get("last", ()))),
            aims_never=_words(keys(raw["aims"]["never"])),
            aims_while=_words(keys(raw["aims"].get("meanwhile", ()))),
            aims_done=_words(keys(raw["aims"].get("done", ()))),
            no_aim=str(raw["aims"]["message"]),
            restating=frozenset(keys(raw["aims"].get("again", ()))),
            restated=str(raw["aims"].get("again_message", "")),
            grouping=_words(keys(listing["grouping"])),
            bidding=frozenset(listing["bidding"]),
            nameless=_nameless(raw.get("nameless", {}), keys),
            for_what=frozenset(keys(raw.get("nameless", {}).get("for_what", ()))),
            use_before=frozenset(keys(raw.get("nameless", {}).get("use_before", ()))),
            use_last=frozenset(keys(raw.get("nameless", {}).get("use_last", ()))),
            several=frozenset(raw.get("nameless", {}).get("several", ())),
            elsewhere=frozenset(keys(raw.get("nameless", {}).get("elsewhere", ()))),
            whether=frozenset(raw.get("nameless", {}).get("whether", ())),
            handing=frozenset(keys(raw.get("nameless", {}).get("handing", ()))),
            unlisted=frozenset(keys(raw.get("nameless", {}).get("unlisted", ()))),
            handed=tuple(keys(raw.get("nameless", {}).get("handed", ()))),
            placing=frozenset(raw.get("nameless", {}).get("placing", ())),
            choosing=_words(keys(raw["choosing"]["asks"])),
            fitting=_words(keys(raw["choosing"]["fitting"])),
            leading_names=_words(keys(raw["choosing"]["leading"])),
            best=_words(keys(raw["choosing"]["best"])),
            tags=_words(keys(raw["choosing"]["tags"])),
            patient=tuple(keys(raw["choosing"]["patient"])),
            patients=tuple(keys(raw["choosing"]["patients"])),
            ages=_words(keys(raw["choosing"]["ages"])),
            on_whom=_words(keys(raw["choosing"]["on_whom"])),
            no_age=raw["choosing"]["no_age"],
            animals=frozenset(raw["choosing"]["animals"]) | _words(keys(raw["choosing"]["animals"])),
            of_animals=frozenset(raw["choosing"]["of_animals"]),
            no_animal=raw["choosing"]["no_animal"],
            vets=tuple(raw["choosing"]["vets"]),
            usage=frozenset(raw["choosing"]["usage"]),
            no_usage=raw["choosing"]["no_usage"],
            aside=raw["choosing"]["aside"],
            no_best=str(raw["choosing"]["no_best"]),
            needs=tuple((pattern_of(old, keys), new) for old, new in raw["choosing"].get("needs", {}).items()),
            no_need=str(raw["choosing"].get("no_need", "")),
            safe=tuple((pattern_of(old, keys), new) for old, new in raw["choosing"].get("safe", {}).items()),
            each=tuple((pattern_of(old, keys), new) for old, new in raw.get("each", {}).items()),
            no_word_on_safety=str(raw["choosing"].get("no_word_on_safety", "")),
            one_thing=str(raw["choosing"]["one_thing"]),
            placed={key[0]: place for word, place in raw["placed"]["places"].items() for key in keys([word])},
            placing_number=_words(keys(raw["placed"]["number"])),
            placing_alone=_words(keys(raw["placed"]["alone"])),
            laying=_words(keys(raw["placed"]["laying"])),
            placing_behind=tuple(sorted(keys(raw["placed"]["behind"]), key=len, reverse=True)),
            instead=_changes(raw["instead"], keys),
            frames=tuple((pattern_of(old, keys), new) for old, new in raw["frames"].items()),
            replies=tuple((pattern_of(old, keys), new) for old, new in raw.get("replies", {}).get("first", {}).items()),
            replies_last=tuple((pattern_of(old, keys), new) for old, new in raw.get("replies", {}).get("last", {}).items()),
            gists=_gists(raw.get("gist", {})),
            gist_words=frozenset(raw.get("gist", {}).get("words", ())),
            gist_back=frozenset(raw.get("gist", {}).get("back", ())),
            gist_lists=tuple(tuple(phrase.split()) for phrase in raw.get("gist", {}).get("lists", ())),
            indirect=_indirect(raw.get("indirect")),
            read_asks=lambda: tuple(_asks(raw.get("asked", ()), raw.get("asking", {}), keys)),
            aspects={k: n for n, ps in raw.get("aspects", {}).items() if n != "between" for k in keys(ps)},
            aspect_leads=_words(keys(raw.get("aspects", {}).get("between", ()))),
            meaning={key: kind for kind in ("nothing", "stop", "may", "asks") for key in keys(raw["meaning"][kind])},
        )


def _gists(tables: Mapping[str, Any]) -> tuple[Gist, ...]:
    def phrases(group: Iterable[str]) -> tuple[Key, ...]:
        return tuple(tuple(phrase.split()) for phrase in group)

    return tuple(
        Gist(
            name,
            (table["asks"],) if isinstance(table["asks"], str) else tuple(table["asks"]),
            tuple(phrases(group) for group in table["groups"]),
            frozenset(table["words"]),
            phrases((*table.get("unless", ()), *tables["unless"])),
            bool(table.get("after")),
            tuple(table.get("term", ())),
            bool(table.get("named")),
        )
        for name, table in tables.items()
        if isinstance(table, dict)
    )


def _indirect(table: Mapping[str, Any] | None) -> Indirect:
    """The words of a table, as typed but folded: here "crushes" is not "crush"."""
    if table is None:
        return Indirect()
    tags = frozenset(tuple(tag.split()) for tag in table["tags"])
    verbs = {word: (str(said).split()[0], len(str(said).split()) > 1) for word, said in table["verbs"].items()}
    return Indirect(
        **{
            n: frozenset(table[n])
            for n in (
                "leads",
                "telling",
                "hinges",
                "asking",
                "widening",
                "bounding",
                "subjects",
                "inside",
                "pronouns",
                "participles",
            )
        },
        tags=tags,
        longest_tag=max(2, *map(len, tags)),
        nots=tuple(table["nots"]),
        doing=tuple(table["doing"]),
        verbs=verbs,
        **{n: dict(table[n]) for n in ("having", "acting", "short")},
        **{n: str(table[n]) for n in ("having_plain", "acting_plain", "participle_ends")},
    )


def _nameless(table: Mapping[str, Iterable[str]], keys: Callable[[Iterable[str]], list[Key]]) -> dict[Key, tuple[bool, bool]]:
    out = dict.fromkeys(keys(table.get("comes", ())), (False, False))
    out |= dict.fromkeys(keys((*table.get("asks_last", ()), *table.get("for_what", ()))), (False, True))
    return out | dict.fromkeys(keys(table.get("asks", ())), (True, True))


def _changes(table: Mapping[str, str], keys: Callable[[Iterable[str]], list[Key]]) -> dict[str, list[Change]]:
    """Phrases and what stands for each, by the words that they can begin with."""
    out: dict[str, list[Change]] = {}
    for old, new in table.items():
        phrase = pattern_of(old, keys)
        for first in _firsts(phrase):
            out.setdefault(first, []).append((phrase, tuple(new.split())))
    return out


def _asks(table: Iterable[Mapping], common: Mapping, keys: Callable[[Iterable[str]], list[Key]]) -> Iterable[Ask]:
    shared = {name: [pattern_of(p, keys) for p in common.get(name, ())] for name in ("beside", "whether")}
    for ask in table:
        beside = [pattern_of(p, keys) for p in ask.get("beside", ())] + shared["beside"]
        beside += shared["whether"] if ask.get("whether") else []
        never = [*ask.get("never", ()), *common.get("never", ()), *(common.get("what", ()) if ask.get("whether") else ())]
        asks = _by_first(pattern_of(p, keys) for p in ask["asks"])
        yield Ask(
            str(ask["question"]),
            1 + ("{y}" in ask["question"]),
            asks,
            _by_first(beside),
            _by_first(pattern_of(p, keys) for p in never),
        )


def _by_first(patterns: Iterable[Pattern]) -> dict[str, list[Pattern]]:
    out: dict[str, list[Pattern]] = {}
    for pattern in patterns:
        for first in _firsts(pattern):
            out.setdefault(first, []).append(pattern)
    return out


def _firsts(pattern: Pattern) -> frozenset[str]:
    """The words that a phrase can begin with."""
    out: set[str] = set()
    for piece in pattern:
        if isinstance(piece, str):
            return frozenset(out | {piece})
        out |= {option[0] for option in piece if option}
        if all(piece):
            break
    return frozenset(out)


def _words(keys: Iterable[Key]) -> frozenset[str]:
    return frozenset(word for key in keys for word in key)
