"""The ear of the examiner: the words of one catalogue, as they are looked for in a written answer.

Nothing is refused here. Every phrase of the vocabulary can be a mention; words are compared by their stems, with rows of words
that stand for each other, and a slip of the pen is read as the word that it was meant to be.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property, lru_cache

from kg import names
from kg.errors import QuestionError
from kg.identify.observe import Speech
from kg.language import Lexicon, nodes, parse
from kg.language.entries import Entry
from kg.language.nearness import changes
from kg.language.tokens import SYMBOL, WORD, Token, scan
from kg.rehearse.settings import Settings

_LONGEST_SHORT_WAY = 10


class Ear:
    """Reads answers with the words of one catalogue. ``means``: short ways of speaking -> words of the question language."""

    def __init__(self, lexicon: Lexicon, settings: Settings, means: Mapping[str, str]) -> None:
        self.lexicon = lexicon
        self.settings = settings
        self._speech = Speech(lexicon, means=means)
        self._stems_of: dict[str, frozenset[str]] = {}
        self._own: dict[tuple[str, tuple[str, ...]], frozenset[str]] = {}
        self._denying: dict[str, bool] = {}
        self._meant: dict[str, tuple[nodes.Expr, ...]] = {}
        hearing = settings.hearing
        self._dull = frozenset(hearing["dull"])
        words = lexicon.words.keywords
        denials = [*words["no"], *words["not"], *words["without"], *words["neither"], *words["nor"], *hearing["absent_before"]]
        self.denials = self._phrases(denials)
        self.absent = self._phrases(hearing["absent_after"])
        self.contrast = self._phrases(hearing["contrast"])
        self.onward = self._phrases(hearing["onward"])
        self.first, self.second = self._phrases(hearing["first"]), self._phrases(hearing["second"])
        self.both = self._phrases(hearing["both"])
        self._pointing = {k for phrase in (*self.first, *self.second, *self.both) for k in phrase}
        self.longer, self.shorter = self._phrases(hearing["longer"]), self._phrases(hearing["shorter"])
        self.or_words = self._phrases(w for w in (*words["or"], *words["nor"]) if w[0].isalpha())

    def _keys(self, text: str) -> tuple[str, ...]:
        return tuple(t.key for t in self.lexicon.keyed(scan(text)))

    def _phrases(self, texts: Iterable[str]) -> tuple[tuple[str, ...], ...]:
        return tuple(sorted({k for t in texts if (k := self._keys(t))}, key=lambda k: (-len(k), k)))

    # --- stems ----------------------------------------------------------------------------------------------------------
    @cached_property
    def _stem_row(self) -> dict[str, str]:
        """The stem of a word that others may stand for -> the stem of the first of its row."""
        out: dict[str, str] = {}
        for row in self.settings.same:
            stems = [self._stemmed(key) for word in row for key in self._keys(word)]
            for stem in stems:
                out.setdefault(stem, stems[0])
        return out

    @staticmethod
    @lru_cache(maxsize=20_000)
    def _stemmed(key: str) -> str:
        import snowballstemmer  # only answers need it

        return snowballstemmer.stemmer("english").stemWord(key)

    def stems(self, keys: Iterable[str]) -> frozenset[str]:
        """The stems of words that say something."""
        found = (self._stemmed(k) for k in keys if k not in self._dull and (k.isalpha() or k.isalnum()))
        return frozenset(self._stem_row.get(s, s) for s in found)

    def bare_keys(self, text: str) -> tuple[str, ...]:
        """The words of a text in order, as stems, without dull ones."""
        return tuple(self._stem_row.get(s, s) for k in self._keys(text) if k not in self._dull for s in [self._stemmed(k)])

    def name_stems(self, name: str) -> frozenset[str]:
        """The stems of a name without the words for its family; all of them if it has no others."""
        stems = self.phrase_stems(name)
        return (stems - self._families) or stems

    @cached_property
    def _families(self) -> frozenset[str]:
        """The stems of everyday words for families ("forceps" of "tonsil artery forceps"), and of the words of categories."""
        labels = (t.label for role in ("category", "kind") for t in self.lexicon.vocabulary.by_role(role))
        everyday = (text.split()[-1] for text in self.lexicon.words.groups)
        return frozenset(s for text in (*everyday, *labels) for s in self.phrase_stems(text))

    def denies(self, phrase: str) -> bool:
        """True if a phrase has a word of absence in it ("an opening that cannot be set"). Remembered."""
        if phrase not in self._denying:
            keys = self._keys(phrase)
            self._denying[phrase] = any(keys[i : i + len(d)] == d for i in range(len(keys)) for d in self.denials)
        return self._denying[phrase]

    def denied_stems(self, phrase: str) -> frozenset[str]:
        """The stems of a phrase without its words of absence: what "doesn't crush" denies. Empty if others stand before."""
        keys = self._keys(phrase)
        for i in range(len(keys)):
            gone = next((len(d) for d in self.denials if keys[i : i + len(d)] == d), 0)
            if gone:
                return self.stems(keys[i + gone :]) if not self.stems(keys[:i]) else frozenset()
        return frozenset()

    def phrase_stems(self, phrase: str) -> frozenset[str]:
        """The stems of a phrase; of one that has dull words only, those. Remembered."""
        found = self._stems_of.get(phrase)
        if found is None:
            found = self._stems_of[phrase] = self._phrase_stems(phrase)
        return found

    def _phrase_stems(self, phrase: str) -> frozenset[str]:
        keys = self._keys(phrase)
        return self.stems(keys) or frozenset(self._stemmed(k) for k in keys)

    # --- words ----------------------------------------------------------------------------------------------------------
    def corrected(self, tokens: Sequence[Token], text: str, read_as: list[tuple[str, str]]) -> list[Token]:
        """Words that are not known, but differ from a known one by a slip, are read as that one, which is noted."""
        out = []
        for token in tokens:
            key = token.key
            said = self.lexicon.is_known(key) or key in self._dull or key in self._pointing
            if token.kind == WORD and len(key) > 4 and not said:
                best = self._slip(text[token.start : token.end].casefold())
                if best:
                    read_as.append((text[token.start : token.end], best))
                    token = token._replace(key=self._keys(best)[0])
            out.append(token)
        return out

    @lru_cache(maxsize=5_000)  # noqa: B019  (one ear for a catalogue, and it lives as long)
    def _slip(self, key: str) -> str:
        """The known word that a word was meant to be; empty if it may be a word of its own."""
        bound = 1 if len(key) < 9 else 2
        if {self._stemmed(key), *map(self._stemmed, self._keys(key))} & self._known_stems:
            return ""  # another form of a known word
        near = [w for w in self.lexicon.near(key) if w[:1].casefold() == key[:1] and changes(key, w.casefold(), bound) <= bound]
        return near[0] if near else ""

    @cached_property
    def _known_stems(self) -> frozenset[str]:
        return frozenset(self._stemmed(w) for key, _ in self.lexicon.phrases() for w in key) | frozenset(self._stem_row)

    def short_way(self, tokens: Sequence[Token], at: int) -> tuple[int, tuple[nodes.Expr, ...]]:
        """A short way of speaking that begins here: where it ends, and what it means; (at, ()) if there is none."""
        dull, means = self._speech.dull, self._speech.means
        if tokens[at].key in dull:
            return at, ()
        keys: list[str] = []
        best: tuple[int, tuple[nodes.Expr, ...]] = (at, ())
        for end in range(at, min(len(tokens), at + _LONGEST_SHORT_WAY)):
            if tokens[end].kind == SYMBOL:
                break
            if tokens[end].key not in dull:
                keys.append(tokens[end].key)
                full = means.get(tuple(keys))
                if full is not None:
                    best = (end + 1, self._meaning(full))
        return best

    def own_words(self, subject: str, among: Sequence[str]) -> frozenset[str]:
        """The words of a pattern's names that are in no name of the others: "the bandage scissors", "the rib one"."""
        key = (subject, tuple(among))
        if key not in self._own:
            found = {s: self._name_words(s) for s in among}
            others = frozenset().union(*(words for s, words in found.items() if s != subject))
            self._own[key] = frozenset(w for w in found[subject] - others - self._dull if len(w) > 2 and w.isalpha())
        return self._own[key]

    def _name_words(self, pattern: str) -> frozenset[str]:
        term = self.lexicon.vocabulary.terms[pattern]
        return frozenset(k for text in (term.label, *term.alt) for k in self._keys(text))

    def _meaning(self, text: str) -> tuple[nodes.Expr, ...]:
        if text not in self._meant:
            found: tuple[nodes.Expr, ...] = ()
            for frame in (self.lexicon.word("with") + " ", ""):
                try:
                    question = parse(frame + text, self.lexicon)
                except QuestionError:
                    continue
                if isinstance(question, nodes.Filter):
                    found = (question.expr,)
                    break
            self._meant[text] = found
        return self._meant[text]

    def meaning_of(self, entry: Entry) -> tuple[nodes.Expr, ...]:
        """What a phrase of the vocabulary says of an instrument; empty for a name and for function words."""
        terms = self.lexicon.vocabulary.terms
        match entry.kind:
            case "value":
                return (nodes.Has(terms[entry.term].feature, entry.term),)
            case "part":
                part = nodes.HasPart(entry.term)
                return (nodes.Not(part) if entry.negated else part,)
            case "kind":
                return (nodes.Has(names.OF_KIND, entry.term),)
            case "category":
                return (nodes.IsA(entry.term),)
            case "group":
                return tuple(nodes.IsA(t) for t in entry.terms if terms[t].role == "category")
        return ()
