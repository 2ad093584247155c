"""Other wordings of what is recorded: labels of values and parts, and the phrases of ``heard.toml``, found by their stems.

"Crushes stones" is "crushing a stone", "nibbles bone away" is "nibble away bone": a wording is said where all its words stand,
in any order, dull words left out. One that several values share means any of them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from kg.language import Lexicon, nodes
from kg.language.joining import disj
from kg.language.tokens import NUMBER, SYMBOL, Token

MOST = 9
"""A wording of more values than this says too little."""
LONGEST = 12
"""So many words at most make one wording."""
LEAST_LETTERS = 3
MOST_APART = 8
"""The words of a wording stand in a stretch of so many at most."""

Stems = frozenset[str]


class Wordings:
    """The wordings of one catalogue. ``heard``: term -> phrases (after "~" less exact ones); ``dull``: words left out."""

    def __init__(self, lexicon: Lexicon, heard: Mapping[str, Sequence[str]], dull: Iterable[str]) -> None:
        import snowballstemmer  # only descriptions need it

        self._lexicon = lexicon
        self._stemmer = snowballstemmer.stemmer("english")
        self._stem_of: dict[str, str] = {}
        self._dull = frozenset(dull)
        denials = lexicon.words.keywords
        self._denials = {self._key(w) for k in ("no", "not", "without") for w in denials[k] if " " not in w}
        self._numbers = {self.stem(self._key(w)) for w in lexicon.words.numbers if w.isalpha()}
        self._terms: dict[Stems, set[str]] = {}
        self._of_word: dict[str, set[Stems]] = {}
        self._collect(heard)

    def _key(self, word: str) -> str:
        return self._lexicon.folder.key(word.casefold())

    def _collect(self, heard: Mapping[str, Sequence[str]]) -> None:
        terms = self._lexicon.vocabulary.terms
        exact: dict[Stems, set[str]] = {}
        for key, entry in self._lexicon.phrases():
            if entry.kind in ("value", "part") and not entry.negated and len(key) > 1:
                self._add(exact, key, entry.term)
        for name, phrases in heard.items():
            if name in terms and self._meaning(name) is not None:
                for phrase in phrases:
                    self._add(exact, self._lexicon.keys(phrase.lstrip("~")), name)
        self._terms = {stems: names for stems, names in exact.items() if len(names) <= MOST}
        for stems in self._terms:
            for stem in stems:
                self._of_word.setdefault(stem, set()).add(stems)

    def _add(self, table: dict[Stems, set[str]], keys: Sequence[str], name: str) -> None:
        stems = self.stems(keys)
        if stems and self._denials.isdisjoint(keys):
            table.setdefault(stems, set()).add(name)

    def _meaning(self, name: str) -> nodes.Expr | None:
        term = self._lexicon.vocabulary.terms[name]
        if term.role == "part":
            return nodes.HasPart(name)
        return nodes.Has(term.feature, name) if term.role == "value" else None

    def stem(self, key: str) -> str:
        """The stem of a word; remembered."""
        found = self._stem_of.get(key)
        if found is None:
            found = self._stem_of[key] = self._stemmer.stemWord(key)
        return found

    def stems(self, keys: Iterable[str]) -> Stems:
        """The stems of the words that say something."""
        return frozenset(self.stem(k) for k in keys if k not in self._dull and k[:1].isalnum())

    def longest(self, tokens: Sequence[Token], at: int) -> tuple[nodes.Expr, int] | None:
        """The longest stretch from here whose words are those of a wording, and where it ends; None if there is none."""
        if tokens[at].key in self._dull:
            return None
        found: set[str] = set()
        best: tuple[nodes.Expr, int] | None = None
        for end in range(at, min(len(tokens), at + LONGEST)):
            token = tokens[end]
            if token.kind in (SYMBOL, NUMBER) or token.key in self._denials:
                break
            if token.key in self._dull:
                continue
            found.add(self.stem(token.key))
            names = self._terms.get(frozenset(found))
            if names and (expr := self._any(names)) is not None:
                best = (expr, end + 1)
        return best

    def scattered(self, tokens: Sequence[Token], missing: Collection[int]) -> list[tuple[nodes.Expr, tuple[int, ...]]]:
        """Wordings whose words all stand somewhere in a piece, with at least one of them at a place that is ``missing`` from
        what is understood; with the places of their words. The one of most words first; no missing place serves two of them."""
        if any(t.key in self._denials for t in tokens):
            return []
        places: dict[str, list[int]] = {}
        for i, token in enumerate(tokens):
            if token.kind not in (SYMBOL, NUMBER) and token.key not in self._dull:
                places.setdefault(self.stem(token.key), []).append(i)
        left = set(missing)
        out: list[tuple[nodes.Expr, tuple[int, ...]]] = []
        while left:
            open_stems = {self.stem(tokens[i].key) for i in left} & places.keys()
            fitting = {s for stem in open_stems for s in self._of_word.get(stem, ()) if len(s) > 1 and self._near(s, places)}
            if not fitting:
                break
            most = max(len(s) for s in fitting)
            best = [s for s in fitting if len(s) == most]
            names = set().union(*(self._terms[s] for s in best))
            words = frozenset().union(*best)
            at = tuple(i for stem in words for i in places[stem])
            left -= set(at)
            if len(names) <= MOST and (expr := self._any(names)) is not None:
                out.append((expr, at))
        return out

    def _near(self, stems: Stems, places: Mapping[str, Sequence[int]]) -> bool:
        """Whether all these stems stand in one short stretch, and a number beside another of them, or but for one word."""
        if not _near(stems, places):
            return False
        others = {i for s in stems for i in places[s]}
        return all(any({i - 1, i + 1, i + 2} & others for i in places[s]) for s in stems if s in self._numbers)

    def _any(self, names: Iterable[str]) -> nodes.Expr | None:
        above = self._lexicon.vocabulary.ancestors
        all_of = set(names)
        kept = sorted(n for n in all_of if all_of.isdisjoint(above(n)))
        return disj([e for n in kept if (e := self._meaning(n)) is not None]) if kept else None


def _near(stems: Stems, places: Mapping[str, Sequence[int]]) -> bool:
    """Whether all these stems stand in one short stretch."""
    if not stems <= places.keys():
        return False
    return any(all(any(at <= i < at + MOST_APART for i in places[s]) for s in stems) for stem in stems for at in places[stem])
