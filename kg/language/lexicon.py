"""The lexicon: every phrase of the vocabulary and of the word file, looked up longest first.

An entry says what a phrase is. ``kind`` is the role of a term (pattern, category, kind, value, part, feature, concept), or ``group`` (an everyday word for
several categories), or one of the function words: ``kw.NAME``, ``filler``, ``op.OPERATOR``, ``unit.NAME``, ``connector``, ``ask.N``, ``askend.N``,
``role.ROLE``, ``advice``. One phrase may have several entries: then the place in the sentence, or the person, decides.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from kg import names
from kg.language.nearness import Near
from kg.language.tokens import WORD, Token
from kg.language.words import Advice, Asking, Connector, FeatureWords, Folder, Unit, Words, expand
from kg.vocabulary import Term, Vocabulary
from kg.wording import plural

CONTENT = frozenset({"pattern", "category", "kind", "value", "part", "group"})
_ROLES = CONTENT - {"group"} | {"feature", "concept"}

# How well a phrase names a term: the preferred label, a synonym, a form only recognised, a short form made here.
LABEL, SYNONYM, HIDDEN, DERIVED = range(4)


@dataclass(frozen=True, slots=True)
class Entry:
    """What a phrase is. ``term`` is a short name (or the name of the function word), ``text`` the phrase as written.

    ``negated``: the phrase begins with a word of absence ("no teeth at the tip"); ``composed``: it holds a "with" or "without"
    ("needle holder with a cutter"). Both can be said by grammar too, which must win where more words follow.
    """

    kind: str
    term: str
    text: str
    rank: int = SYNONYM
    negated: bool = False
    composed: bool = False
    terms: tuple[str, ...] = ()


class Lexicon:
    """All phrases. Made by ``build``; never changes afterwards."""

    def __init__(self, vocabulary: Vocabulary, words: Words) -> None:
        self.vocabulary = vocabulary
        self.words = words
        self.folder = Folder(words)
        self._root: dict = {}
        self._known: set[str] = set()
        self._joined: dict[str, tuple[str, ...]] = {}
        self._phrases: list[tuple[tuple[str, ...], Entry]] = []

    @classmethod
    def build(cls, vocabulary: Vocabulary, words: Mapping) -> Lexicon:
        """``words`` is the parsed word file. Terms that it names and the vocabulary lacks are left out."""
        lexicon = cls(vocabulary, Words.read(words))
        lexicon._add_function_words()
        lexicon._add_terms()
        lexicon._add_groups()
        lexicon._add_short_names()
        lexicon._split_joined()
        return lexicon

    # --- looking up ------------------------------------------------------------------------------------------------
    def keyed(self, tokens: Iterable[Token]) -> list[Token]:
        """Tokens with keys instead of folded text: short forms and joined words are split, keeping their span."""
        out: list[Token] = []
        for token in tokens:
            keys = self.folder.split(token)
            if len(keys) == 1 and token.kind == WORD:
                keys = self._joined.get(keys[0], keys)
            out.extend(Token(key, token.start, token.end, token.kind) for key in keys)
        return out

    def matches(self, tokens: Sequence[Token], at: int) -> list[tuple[int, tuple[Entry, ...]]]:
        """Phrases that begin at token ``at``: (end, entries), longest first. Loose words inside a phrase are passed over."""
        found: list[tuple[int, tuple[Entry, ...]]] = []
        node, i = self._root, at
        loose = self.words.loose
        while i < len(tokens):
            key = tokens[i].key
            step = node.get(key)
            if step is None:
                if i == at or key not in loose:
                    break
            else:
                node = step
                if entries := node.get(None):
                    found.append((i + 1, entries))
            i += 1
        found.reverse()
        return found

    def entries(self, text: str) -> tuple[Entry, ...]:
        """The entries of exactly this phrase; empty if there is none."""
        key = self.folder.phrase(text)
        return self._root_at(tuple(part for word in key for part in self._joined.get(word, (word,))))

    def _root_at(self, key: Sequence[str]) -> tuple[Entry, ...]:
        node = self._root
        for word in key:
            node = node.get(word)
            if node is None:
                return ()
        return node.get(None, ())

    def resolve(self, entries: Iterable[Entry]) -> tuple[Entry, ...]:
        """The best entries of one phrase: preferred label before synonym, category before kind, broader before narrower.

        One entry per term; more than one means that only the person can tell.
        """
        best: list[Entry] = []
        for entry in entries:
            if best and entry.rank > best[0].rank:
                continue
            if best and entry.rank < best[0].rank:
                best = []
            if all(b.term != entry.term for b in best):
                best.append(entry)
        if len(best) > 1 and any(e.kind in ("category", "group") for e in best):
            best = [e for e in best if e.kind != "kind"]
        if len(best) > 1:
            for entry in best:
                below = self.vocabulary.subtree(entry.term)
                if all(other.term in below for other in best):
                    return (entry,)
        return tuple(best)

    def is_known(self, key: str) -> bool:
        """True if some phrase contains this word."""
        return key in self._known

    def near(self, word: str) -> tuple[str, ...]:
        """Known words that look like ``word``, closest first, at most five."""
        return self._near.find(word)

    @cached_property
    def _near(self) -> Near:
        return Near(e.text for _, e in self._phrases if e.kind != "advice" and e.rank != HIDDEN)

    def phrases(self) -> Sequence[tuple[tuple[str, ...], Entry]]:
        """Every (key, entry) in the order added."""
        return self._phrases

    # --- words for terms and function words --------------------------------------------------------------------------
    def word(self, kind: str) -> str:
        """The first phrase of a function word, for reading back; ``kind`` as in the word file, e.g. ``with``."""
        return self.words.keywords[kind][0]

    def name(self, term: str, *, many: bool = False) -> str:
        """The label of a term, or a synonym if the label cannot stand in a sentence as it is; ``many`` for the plural."""
        record = self.vocabulary.terms.get(term)
        if record is None:
            extra = self.feature(term).phrases
            return extra[0] if extra else self.vocabulary.label(term)
        text = self._names.get(term)
        if text is None:
            text = self._names[term] = self._find_name(record)
        if not many:
            return text
        return plural(text, record.plural if text == record.label else "")

    @cached_property
    def _names(self) -> dict[str, str]:
        return {}

    def _find_name(self, term: Term) -> str:
        # A feature is asked for by the first of its phrases, if it has any: labels such as "used on" make no noun.
        first = self.feature(term.name).phrases[:1] if term.role == "feature" else ()
        instead = self.words.names.get(term.name, "")
        for text in (*first, term.label, *((instead,) if instead in term.alt else ()), *term.alt):
            entries = self.entries(text)
            best = self.resolve(e for e in entries if e.kind in _ROLES)
            if len(best) == 1 and best[0].term == term.name and not (best[0].negated or best[0].composed):
                return text
        return term.label

    def feature(self, name: str) -> FeatureWords:
        """How a feature is spoken of; defaults if the word file does not say."""
        return self.words.features.get(name, FeatureWords())

    def values_feature(self, feature: str) -> str:
        """The feature under which the values of ``feature`` are listed: itself unless it shares another's."""
        return self.feature(feature).values_of or feature

    def connector(self, entry: Entry) -> Connector:
        return self.words.connectors[int(entry.term)]

    def asking(self, entry: Entry) -> Asking:
        return self.words.askings[int(entry.term)]

    def unit(self, entry: Entry) -> Unit:
        return self.words.units[entry.term]

    def advice(self, entry: Entry) -> Advice:
        return self.words.advice[int(entry.term)]

    def exists(self, name: str) -> bool:
        """True for a term of the vocabulary or a relation of the framework that the word file gives words to."""
        return name in self.vocabulary.terms or name in (names.HAS_PART, LENGTH)

    def _split_joined(self) -> None:
        """Makes "crisscross" and "criss-cross" one: where both are written, the two words stand for both."""
        function = {w for k, e in self._phrases if e.kind not in _ROLES for w in k}
        self._joined = {w: pair for w, pair in self._joined.items() if w not in function}
        for key, entry in list(self._phrases):
            split = tuple(part for word in key for part in self._joined.get(word, (word,)))
            if split != key:
                self._add_key(split, entry)

    # --- building --------------------------------------------------------------------------------------------------
    def _add(self, text: str, entry: Entry) -> None:
        self._add_key(self.folder.phrase(text), entry)

    def _add_key(self, key: tuple[str, ...], entry: Entry) -> None:
        node = self._root
        for word in key:
            node = node.setdefault(word, {})
        entries = node.get(None, ())
        for old in entries:
            if old.kind == entry.kind and old.term == entry.term:
                if entry.rank >= old.rank:
                    return
                entries = tuple(e for e in entries if e is not old)
        node[None] = (*entries, entry)
        self._known.update(key)
        self._phrases.append((key, entry))
        if entry.kind in CONTENT:
            for one, two in zip(key, key[1:], strict=False):
                if one.isalpha() and two.isalpha():
                    self._joined.setdefault(one + two, (one, two))

    def _add_all(self, kind: str, term: str, phrases: Iterable[str]) -> None:
        for rank, phrase in enumerate(phrases):
            for text in expand(phrase):
                self._add(text, Entry(kind, term, text, LABEL if rank == 0 else SYNONYM))

    def _add_function_words(self) -> None:
        words = self.words
        for text in words.filler:
            self._add(text, Entry("filler", text, text))
        for name, phrases in words.keywords.items():
            self._add_all(f"kw.{name}", name, phrases)
        for op, phrases in words.lengths.items():
            self._add_all(f"op.{op}", op, phrases)
        for name, unit in words.units.items():
            self._add_all("unit", name, unit.phrases)
        for role, word in words.roles.items():
            self._add_all(f"role.{role}", role, (word,))
        for index, connector in enumerate(words.connectors):
            self._add_all("connector", str(index), connector.phrases)
        for index, asking in enumerate(words.askings):
            self._add_all("ask", str(index), asking.before)
            self._add_all(f"askend.{index}", str(index), asking.after)
        for index, advice in enumerate(words.advice):
            self._add_all("advice", str(index), advice.phrases)

    @cached_property
    def _absence(self) -> frozenset[str]:
        """First words of phrases that say that something is not there."""
        kinds = ("no", "without", "not")
        heads = {self.folder.phrase(t)[0] for k in kinds for t in self.words.keywords.get(k, ()) if " " not in t}
        return frozenset(heads - self.words.prefix)

    @cached_property
    def _presence(self) -> frozenset[str]:
        return frozenset(self.folder.phrase(t)[0] for t in self.words.keywords.get("with", ()) if " " not in t)

    def _add_terms(self) -> None:
        terms = self.vocabulary.terms
        late: list[tuple[Term, str, int]] = []
        for name in sorted(terms):
            term = terms[name]
            if term.role not in _ROLES:
                continue
            for text, rank in self._texts(term):
                # "no teeth" is read when "teeth" is known, so that its flags can be set.
                if self.folder.key(text.split(maxsplit=1)[0].lower()) in self._absence:
                    late.append((term, text, rank))
                else:
                    self._add_term(term, text, rank)
        for term, text, rank in late:
            self._add_term(term, text, rank)
        for name, feature in self.words.features.items():
            if self.exists(name):
                for rank, text in enumerate(feature.phrases):
                    given = name in terms
                    self._add(text, Entry("feature", name, text, SYNONYM if given or rank else LABEL))

    def _texts(self, term: Term) -> Iterable[tuple[str, int]]:
        yield term.label, LABEL
        if term.plural:
            yield term.plural, LABEL
        yield from ((text, SYNONYM) for text in term.alt)
        for phrase in self.words.phrases.get(term.name, ()):
            yield from ((text, SYNONYM) for text in expand(phrase))
        yield from ((text, HIDDEN) for text in term.hidden)

    def _add_term(self, term: Term, text: str, rank: int) -> None:
        # "kind" is a role of its own, though a kind is listed among the values of what a pattern is called.
        kind = "kind" if term.feature == names.OF_KIND else term.role
        entry = Entry(kind, term.name, text, rank)
        key = self.folder.phrase(text)
        if len(key) > 1 and kind in ("value", "part"):
            if key[0] in self._presence and rank != LABEL:
                key, entry = key[1:], replace(entry, text=text.split(maxsplit=1)[1])
                text = entry.text
        if len(key) > 1 and key[0] in self._absence and kind != "pattern":
            rest = self._root_at(key[1:])
            said = any(e.kind in ("value", "part") for e in rest)
            entry = replace(entry, negated=said, composed=not said)
        elif kind == "category" and not {*key[1:]}.isdisjoint(self._absence | self._presence):
            entry = replace(entry, composed=True)
        self._add(text, entry)

    def _add_groups(self) -> None:
        for word, terms in self.words.groups.items():
            known = tuple(t for t in terms if t in self.vocabulary.terms)
            if known and not any(e.kind == "category" for e in self.entries(word)):
                self._add(word, Entry("group", word, word, LABEL, terms=known))

    def _add_short_names(self) -> None:
        """A pattern may be called by its label without the words for its family, if nothing else has that name."""
        families = {k for k, e in self._phrases if e.kind in ("category", "kind", "group")}
        families |= {(k[-1],) for k in families}
        taken = {k for k, _ in self._phrases}
        short: list[tuple[str, Entry]] = []
        for term in self.vocabulary.by_role("pattern"):
            key = self.folder.phrase(term.label)
            for cut in range(1, len(key)):
                if key[cut:] in families:
                    text = " ".join(term.label.replace("-", " ").split()[:cut])
                    if key[:cut] not in taken and self.folder.phrase(text) == key[:cut]:
                        short.append((text, Entry("pattern", term.name, text, DERIVED)))
                    break
        for text, entry in short:
            self._add(text, entry)


LENGTH = "bl:length"
