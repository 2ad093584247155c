"""The lexicon: every phrase of the vocabulary and of the word file, looked up longest first.

An entry says what a phrase is. ``kind`` is the role of a term (pattern, category, kind, value, part, feature, concept), or
``group`` (an everyday word for several categories), ``wide`` (an adjective of several features), or one of the function
words: ``kw.NAME``, ``filler``, ``op.OPERATOR``, ``unit``, ``load``, ``steriliser``, ``degree``, ``connector``, ``ask``,
``askend.N``, ``role.ROLE``, ``advice``. One phrase may have several entries: then the place in the sentence, or the person,
decides.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from functools import cached_property

from kg import names
from kg.errors import QuestionError
from kg.language.entries import CONTENT, DERIVED, HEADS, HIDDEN, LABEL, ROLES, SYNONYM, Entry
from kg.language.kept import KeptShelves, kept_text
from kg.language.nodes import Question
from kg.language.shelves import Placing, Shelves
from kg.language.tokens import WORD, Token, scan
from kg.language.words import Advice, Asking, Connector, FeatureWords, Folder, Unit, Words, expand
from kg.vocabulary import Term, Vocabulary
from kg.wording import plural

LENGTH = "bl:length"
REMEMBERED = 1_024
"""So many unknown words are remembered with those that look like them."""


class Lexicon:
    """All phrases. Made by ``build``; never changes afterwards."""

    def __init__(self, vocabulary: Vocabulary, words: Words, kept: bytes | None = None) -> None:
        self.vocabulary = vocabulary
        self.words = words
        self.folder = Folder(words)
        self._shelves: Placing = Shelves(words, self.folder) if kept is None else KeptShelves(kept, self.folder)
        self.said: dict[Question, str] = {}
        """Question -> the sentence it is read back with, as ``kg.language.say`` remembers it."""
        self._nearest: dict[str, tuple[str, ...]] = {}
        self._longer: dict[str, tuple[str, ...]] = {}
        self.parsed: dict[str, Question] = {}
        self.refused: dict[str, QuestionError] = {}
        """Sentence -> question, and what is no sentence -> its refusal, as ``kg.language.parse`` remembers them."""
        self._keys_of: dict[str, tuple[str, ...]] = {}
        self.beside: dict[str, object] = {}
        """What other modules make once of its words, by their names."""

    @classmethod
    def build(cls, vocabulary: Vocabulary, words: Mapping, kept: bytes | None = None) -> Lexicon:
        """``words`` is the parsed word file. Terms that it names and the vocabulary lacks are left out. ``kept``: the phrases
        as ``phrases_text`` wrote them for the same two, which saves the work of placing them; placed anew if they are in
        another form."""
        read = Words.read(words)
        if kept is not None:
            with suppress(ValueError):
                return cls(vocabulary, read, kept)
        lexicon = cls(vocabulary, read)
        lexicon._add_function_words()
        lexicon._add_terms()
        lexicon._add_groups()
        lexicon._add_short_names()
        lexicon._add_heads()
        return lexicon

    def phrases_text(self) -> str:
        """Every phrase as ``kept`` for ``build``. Only of a lexicon that was not itself made so."""
        return kept_text(self.phrases(), self._filled.joined())

    # --- looking up ------------------------------------------------------------------------------------------------
    def keyed(self, tokens: Iterable[Token]) -> list[Token]:
        """Tokens with keys instead of folded text: short forms and joined words are split, keeping their span."""
        out: list[Token] = []
        for token in tokens:
            keys = self.folder.split(token)
            if len(keys) == 1 and token.kind == WORD:
                keys = self._shelves.split(keys[0])
            out.extend(Token(key, token.start, token.end, token.kind) for key in keys)
        return out

    def keys(self, phrase: str) -> tuple[str, ...]:
        """The keys of the words of a phrase, as ``keyed`` gives them; those of plain words are remembered."""
        if not (phrase.isascii() and phrase.replace(" ", "").isalpha()):
            return tuple([t.key for t in self.keyed(scan(phrase))])
        out: list[str] = []
        for word in phrase.split():
            known = self._keys_of.get(word)
            if known is None:
                known = self._keys_of[word] = tuple([t.key for t in self.keyed(scan(word))])
            out += known
        return tuple(out)

    def matches(self, tokens: Sequence[Token], at: int) -> list[tuple[int, tuple[Entry, ...]]]:
        """Phrases that begin at token ``at``: (end, entries), longest first. Loose words inside a phrase are passed
        over."""
        found: list[tuple[int, tuple[Entry, ...]]] = []
        node = self._shelves.shelf(tokens[at].key) if at < len(tokens) else None
        loose = self.words.loose
        i = at
        while node is not None:
            if entries := node.get(None):
                found.append((i + 1, entries))
            i += 1
            while i < len(tokens) and tokens[i].key not in node and tokens[i].key in loose:
                i += 1
            node = node.get(tokens[i].key) if i < len(tokens) else None
        found.reverse()
        return found

    def of_whole(self, entry: Entry) -> bool:
        """Whether an entry is an adjective that is said of a whole instrument only ("small")."""
        return entry.kind == "value" and self.vocabulary.terms[entry.term].feature in self.words.of_whole

    def of_a_thing(self, tokens: Sequence[Token], at: int) -> bool:
        """Whether an adjective of the whole instrument says at a place how a part or a tissue is: "small teeth", "large
        stones", "teeth small"; not "small curved scissors", "small bone forceps"."""
        said, place = False, at + 1
        while place < len(tokens):
            found = self.matches(tokens, place)
            thing = next(((end, es) for end, es in found if any(e.kind in CONTENT for e in es)), None)
            heads = any(e.kind in HEADS for _, entries in found for e in entries)
            if heads and not (thing and any(e.kind == "part" for e in thing[1])):  # a "handle" is a part
                return False
            if said or thing is None:
                break
            place, said = thing[0], not any(map(self._says_how, thing[1]))
        before = self.matches(tokens, at - 1) if at else []
        return said or any(
            end == at and any(e.kind in ("value", "part") for e in es) and not any(map(self._says_how, es))
            for end, es in before
        )

    def _says_how(self, entry: Entry) -> bool:
        term = self.vocabulary.terms[entry.term] if entry.kind == "value" else None
        return term is not None and self.feature(term.feature).form == "adjective"

    def entries(self, text: str) -> tuple[Entry, ...]:
        """The entries of exactly this phrase; empty if there is none."""
        return self._shelves.at(self._shelves.key(text))

    def resolve(self, entries: Iterable[Entry]) -> tuple[Entry, ...]:
        """The best entries of one phrase: preferred label before synonym, category before kind, broader before
        narrower.

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

    def usual(self, text: str) -> str:
        """The pattern that is usually meant by a name which several bear; empty if the word file tells of none."""
        term = self._usual.get(self._shelves.key(text), "")
        return term if term in self.vocabulary.terms else ""

    def bearing(self, text: str) -> tuple[str, ...]:
        """The patterns that a phrase can name, in a fixed order."""
        return tuple(dict.fromkeys(e.term for e in self.entries(text) if e.kind == "pattern"))

    def name_keys(self, pattern: str) -> frozenset[str]:
        """The keys of the words in the label and the synonyms of a pattern."""
        term = self.vocabulary.terms[pattern]
        return frozenset(key for text in (term.label, *term.alt) for key in self.folder.phrase(text))

    @cached_property
    def _usual(self) -> dict[tuple[str, ...], str]:
        return {self._shelves.key(name): term for name, term in self.words.usual.items()}

    def open_all(self) -> None:
        """Places every phrase now, which else is done when its first word is met."""
        for _ in self._shelves.everything():
            pass

    def is_known(self, key: str) -> bool:
        """True if some phrase contains this word."""
        return key in self._known

    @cached_property
    def _known(self) -> frozenset[str]:
        return frozenset(word for key, _ in self.phrases() for word in key)

    def near(self, word: str) -> tuple[str, ...]:
        """Known words that look like ``word``, closest first, at most five; remembered: a description is read in pieces."""
        known = self._nearest.get(word)
        if known is None:
            if len(self._nearest) >= REMEMBERED:
                self._nearest.clear()
            known = self._nearest[word] = self._near.find(word)
        return known

    def longer(self, key: str) -> tuple[str, ...]:
        """Phrases of content that contain a word, shortest first; remembered, since a text is read in many ways."""
        known = self._longer.get(key)
        if known is None:
            if not self.is_known(key):
                return ()
            texts = {
                e.text
                for k, e in self.phrases()
                if key in k and e.rank != HIDDEN and e.text.islower() and (e.kind in CONTENT or e.kind == "feature")
            }
            known = tuple(sorted(texts, key=lambda t: (len(t), t)))
            self._longer[key] = known
        return known

    @cached_property
    def _near(self):  # type: ignore[no-untyped-def]
        # Only a question that fails needs it.
        from kg.language.nearness import Near

        return Near(e.text for _, e in self.phrases() if e.kind != "advice" and e.rank != HIDDEN)

    def phrases(self) -> Sequence[tuple[tuple[str, ...], Entry]]:
        """Every (key, entry), in a fixed order. Folds the whole vocabulary on first use."""
        return self._everything

    @cached_property
    def _everything(self) -> tuple[tuple[tuple[str, ...], Entry], ...]:
        return tuple(self._shelves.everything())

    # --- words for terms and function words --------------------------------------------------------------------------
    def word(self, kind: str) -> str:
        """The first phrase of a function word, for reading back; ``kind`` as in the word file, e.g. ``with``."""
        return self.words.keywords[kind][0]

    def name(self, term: str, *, many: bool = False) -> str:
        """The label of a term, or a synonym if the label cannot stand in a sentence as it is; ``many`` for the
        plural."""
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
            best = self.resolve(e for e in entries if e.kind in ROLES)
            if len(best) == 1 and best[0].term == term.name and not (best[0].negated or best[0].composed):
                return text
        return term.label

    def linked(self, feature: str) -> bool:
        """Whether an instrument can have several values of a feature that stand behind a word of their own ("used on")."""
        known = self.vocabulary.features.get(feature)
        if known is None or known.single or self.feature(feature).patterns:
            return False
        return any(feature in c.features for c in self.words.connectors)

    def feature(self, name: str) -> FeatureWords:
        """How a feature is spoken of; defaults if the word file does not say."""
        return self.words.features.get(name, FeatureWords())

    @cached_property
    def owned_features(self) -> frozenset[str]:
        """Features whose values an instrument has or is; not those that need words of their own ("used on")."""
        framed = {f for c in self.words.connectors for f in c.features}
        return frozenset(f for f in self.vocabulary.features if f not in framed or self.feature(f).form)

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

    @property
    def _filled(self) -> Shelves:
        assert isinstance(self._shelves, Shelves)
        return self._shelves

    # --- building --------------------------------------------------------------------------------------------------
    def _add_function_words(self) -> None:
        words, put = self.words, self._filled.put_all
        for text in words.filler:
            put("filler", text, (text,))
        for name, phrases in words.keywords.items():
            put(f"kw.{name}", name, phrases)
        for op, phrases in words.lengths.items():
            put(f"op.{op}", op, phrases)
        for name, unit in words.units.items():
            put("unit", name, unit.phrases)
        for role, word in words.roles.items():
            put(f"role.{role}", role, (word,))
        for index, connector in enumerate(words.connectors):
            put("connector", str(index), connector.phrases)
            put("connector", str(index), tuple(_with_only(connector.phrases, words.keywords.get("only", ())[:1])))
        for index, asking in enumerate(words.askings):
            put("ask", str(index), asking.before)
            put(f"askend.{index}", str(index), asking.after)
        for kind, table in (("load", words.loads), ("steriliser", words.sterilisers), ("degree", words.degrees)):
            for name, phrases in table.items():
                put(kind, name, phrases)
        for index, advice in enumerate(words.advice):
            put("advice", str(index), advice.phrases)

    def _add_terms(self) -> None:
        terms, put = self.vocabulary.terms, self._filled.put
        for name in sorted(terms):
            term = terms[name]
            if term.role in ROLES:
                # "kind" is a role of its own, though a kind is listed among the values of what a pattern is called.
                kind = "kind" if term.feature == names.OF_KIND else term.role
                for text, rank in self._texts(term):
                    put(Entry(kind, name, text, rank))
        for name, feature in self.words.features.items():
            if self.exists(name):
                for rank, text in enumerate(feature.phrases):
                    put(Entry("feature", name, text, SYNONYM if name in terms or rank else LABEL))

    def _texts(self, term: Term) -> Iterator[tuple[str, int]]:
        yield term.label, LABEL
        if term.plural:
            yield term.plural, LABEL
        for text in term.alt:
            yield text, SYNONYM
        for phrase in self.words.phrases.get(term.name, ()):
            for text in expand(phrase):
                yield text, SYNONYM
        for text in (*term.hidden, *(t for p in self.words.whole.get(term.name, ()) for t in expand(p))):
            yield text, HIDDEN
        if term.feature in self.words.besides:
            for text in (*term.alt, *self.words.phrases.get(term.name, ()), *term.hidden):
                first, _, rest = text.partition(" ")
                rest, _, last = rest.rpartition(" ")
                if rest and last in self.words.parted:
                    yield f"{first} {last} {rest}", HIDDEN  # "hold open the mouth"

    def _add_groups(self) -> None:
        for word, terms in self.words.groups.items():
            known = tuple(t for t in terms if t in self.vocabulary.terms)
            if known:
                self._filled.put(Entry("group", word, word, LABEL, terms=known))

        for kind, table in (("wide", self.words.wide), ("wide", self.words.both), ("place", self.words.places)):
            for word, terms in table.items():
                known = tuple(t for t in terms if t in self.vocabulary.terms)
                if known:
                    self._filled.put(Entry(kind, word, word, LABEL, terms=known))

    def _add_short_names(self) -> None:
        """A pattern may be called by its label without the words for its family, if nothing else has that name."""
        families = {self.folder.phrase(w) for w in self.words.groups}
        for role in ("category", "kind"):
            for term in self.vocabulary.by_role(role):
                families.update(self.folder.phrase(text) for text in (term.label, *term.alt))
        families |= {key[-1:] for key in families}
        for term in self.vocabulary.by_role("pattern"):
            words = term.label.replace("-", " ").split()
            key = self.folder.phrase(term.label)
            cut = next((cut for cut in range(1, len(key)) if key[cut:] in families), 0)
            # Only a name can stand alone: a "blunt" by itself is no instrument.
            if cut and len(words) == len(key) and words[0][:1].isupper():
                self._filled.put(Entry("pattern", term.name, " ".join(words[:cut]), DERIVED))

    def _add_heads(self) -> None:
        """The last word of several labels is a word for all of these patterns, if it is no phrase yet: "saws"."""
        for head, patterns in self.heads().items():
            self._filled.put(Entry("group", head, head, DERIVED, terms=patterns))  # gives way to any other entry

    def heads(self) -> dict[str, tuple[str, ...]]:
        """The last word of at least two labels of patterns -> these patterns, sorted; variants are left to their parents, and a
        word that always has the same word before it is but half a name ("needle holder")."""
        found: dict[str, list[str]] = {}
        before: dict[str, set[str]] = {}
        for term in self.vocabulary.by_role("pattern"):
            key = self.folder.phrase(term.label)
            if len(key) > 1 and not self.vocabulary.ancestors(term.name):
                found.setdefault(key[-1], []).append(term.name)
                before.setdefault(key[-1], set()).add(key[-2])
        return {head: tuple(sorted(names)) for head, names in sorted(found.items()) if len(names) > 1 < len(before[head])}


def _with_only(phrases: Iterable[str], only: Iterable[str]) -> Iterable[str]:
    """ "used only on" for "used on": the word behind the first of a phrase."""
    for phrase in phrases:
        first, _, rest = phrase.partition(" ")
        if rest:
            yield from (f"{first} {word} {rest}" for word in only)
