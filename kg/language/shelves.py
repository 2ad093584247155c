"""The phrases of the lexicon, on shelves by their first word.

A process that asks one question needs few of some thousand phrases, so a phrase is folded and placed only when its
shelf is opened. What a shelf holds does not depend on which others are open.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property

from kg.language.entries import CONTENT, DERIVED, LABEL, SYNONYM, Entry
from kg.language.words import Folder, Words, expand

Key = tuple[str, ...]


class Placing:
    """Phrases in trees by their words, each shelf opened when it is first asked for; how, a subclass says."""

    def __init__(self, folder: Folder) -> None:
        self._folder = folder
        self._root: dict[str, dict] = {}
        self._split: dict[str, Key] = {}
        self._order: dict[str, list[tuple[Key, Entry]]] = {}

    def everything(self) -> Iterator[tuple[Key, Entry]]:
        """Every (key, entry), in a fixed order; opens all shelves."""
        raise NotImplementedError

    def _open(self, first: str) -> None:
        """Places all phrases of a shelf."""
        raise NotImplementedError

    def _find_split(self, word: str) -> Key:
        raise NotImplementedError

    # --- asking ----------------------------------------------------------------------------------------------------
    def shelf(self, first: str) -> dict | None:
        """The tree of phrases that begin with a word: next word -> subtree, None -> entries. None if there are none."""
        node = self._root.get(first)
        if node is None:
            if first not in self._order:
                self._open(first)
            node = self._root.get(first)
        return node

    def at(self, key: Sequence[str]) -> tuple[Entry, ...]:
        """The entries of exactly this key."""
        node = self.shelf(key[0]) if key else None
        for word in key[1:]:
            node = node.get(word) if node else None
        return node.get(None, ()) if node else ()

    def key(self, text: str) -> Key:
        """The key of a phrase, joined words split."""
        return tuple(part for word in self._folder.phrase(text) for part in self.split(word))

    def split(self, word: str) -> Key:
        """ "crisscross" -> criss, cross, if a name begins so written in two words; else the word alone"""
        found = self._split.get(word)
        if found is None:
            found = self._split[word] = self._find_split(word)
        return found

    def _place(self, key: Key, entry: Entry) -> None:
        tree: dict = self._root
        for word in key:
            node = tree.get(word)
            if node is None:
                node = tree[word] = {}
            tree = node
        entries: tuple[Entry, ...] = tree.get(None, ())
        if not entries:
            tree[None] = (entry,)
            self._order[key[0]].append((key, entry))
            return
        named = any(e.kind != "concept" for e in entries)  # a word that is only explained may still stand for a family
        if (entry.rank == DERIVED and named) or (entry.kind == "group" and any(e.kind == "category" for e in entries)):
            return
        for old in entries:
            if old.kind == entry.kind and old.term == entry.term:
                if entry.rank >= old.rank:
                    return
                entries = tuple(e for e in entries if e is not old)
        tree[None] = (*entries, entry)
        self._order[key[0]].append((key, entry))


class Shelves(Placing):
    """Phrases by first word. Fill with ``put`` and ``put_all``, then ask; asking opens what it needs."""

    def __init__(self, words: Words, folder: Folder) -> None:
        super().__init__(folder)
        self._words = words
        self._raw: dict[str, list[Entry]] = {}
        self._plain_heads: dict[str, str] = {}
        self._second: dict[str, frozenset[str]] = {}

    # --- filling ---------------------------------------------------------------------------------------------------
    def put(self, entry: Entry) -> None:
        """Adds a phrase without alternatives."""
        word = entry.text.partition(" ")[0]
        head = self._plain_heads.get(word)
        if head is None:
            head = self._head(word.lower(), entry)
        shelf = self._raw.get(head)
        if shelf is None:
            self._raw[head] = [entry]
        else:
            shelf.append(entry)

    def put_all(self, kind: str, term: str, phrases: Iterable[str]) -> None:
        """Adds phrases that may have alternatives; the first is the one that is said."""
        for rank, phrase in enumerate(phrases):
            for text in expand(phrase):
                self.put(Entry(kind, term, text, LABEL if rank == 0 else SYNONYM))

    def _head(self, word: str, entry: Entry) -> str:
        """The key of the first word of a phrase; kept for words that stand for themselves wherever they come first."""
        words = self._words
        if word.isascii() and word.isalpha() and word not in words.articles and word not in words.short:
            key = self._folder.key(word)
            if key not in self._presence:
                self._plain_heads[entry.text.partition(" ")[0]] = key
                return key
        keys = self._folder.phrase(entry.text)
        return keys[1] if len(keys) > 1 and keys[0] in self._presence and self._strips(entry) else keys[0]

    @staticmethod
    def _strips(entry: Entry) -> bool:
        """True for a synonym such as "with teeth", which is the thing without its "with"."""
        return entry.kind in ("value", "part") and entry.rank != LABEL

    def _find_split(self, word: str) -> Key:
        if word.isalpha() and all(e.kind in CONTENT or " " in e.text for e in self._raw.get(word, ())):
            for cut in range(2, len(word) - 1):
                if word[:cut] in self._raw and word[cut:] in self._seconds(word[:cut]):
                    return word[:cut], word[cut:]
        return (word,)

    def _seconds(self, first: str) -> frozenset[str]:
        found = self._second.get(first)
        if found is None:
            keys = (self._folder.phrase(e.text) for e in self._raw.get(first, ()) if e.kind in CONTENT)
            found = self._second[first] = frozenset(k[1] for k in keys if len(k) > 1 and k[0] == first)
        return found

    def joined(self) -> list[tuple[str, int]]:
        """Every word that stands for two, with the place where it is cut, in order."""
        found = {first + second for first in self._raw for second in self._seconds(first)}
        return [(word, len(cut[0])) for word in sorted(found) if len(cut := self.split(word)) > 1]

    def everything(self) -> Iterator[tuple[Key, Entry]]:
        for first in sorted(self._raw):
            self.shelf(first)
        for first in sorted(self._order):
            yield from self._order[first]

    # --- opening ---------------------------------------------------------------------------------------------------
    def _open(self, first: str) -> None:
        self._order[first] = []
        longer, at = [], bisect_right(self._heads, first)
        while at < len(self._heads) and self._heads[at].startswith(first):
            longer.append(self._heads[at])
            at += 1
        joined = [w for w in longer if self.split(w)[0] == first]
        raw = [e for w in (first, *sorted(joined)) for e in self._raw.get(w, ()) if self.split(w)[0] == first]
        # Everyday words and short names come last: they only stand where nothing else has the name.
        last = [e for e in raw if e.kind == "group" or e.rank == DERIVED]
        for entry in (*(e for e in raw if e not in last), *last):
            key = self.key(entry.text)
            if len(key) > 1 and key[0] in self._presence and self._strips(entry):
                key, entry = key[1:], entry._replace(text=entry.text.split(maxsplit=1)[1])
            self._place(key, self._flagged(key, entry))

    @cached_property
    def _heads(self) -> list[str]:
        """All first words in order, so that those that begin alike stand together."""
        return sorted(self._raw)

    def _flagged(self, key: Key, entry: Entry) -> Entry:
        if len(key) > 1 and entry.kind != "pattern" and entry.kind in _FLAGGED:
            if key[0] in self._absence:
                said = any(e.kind in ("value", "part") for e in self.at(key[1:]))
                return entry._replace(negated=said, composed=not said)
            if entry.kind == "category" and not {*key[1:]}.isdisjoint(self._absence | self._presence):
                return entry._replace(composed=True)
        return entry

    @cached_property
    def _absence(self) -> frozenset[str]:
        """First words of phrases that say that something is not there."""
        return self._first_words("no", "without", "not") - self._words.prefix

    @cached_property
    def _presence(self) -> frozenset[str]:
        return self._first_words("with")

    def _first_words(self, *kinds: str) -> frozenset[str]:
        phrases = [t for kind in kinds for t in self._words.keywords.get(kind, ()) if " " not in t]
        return frozenset(self._folder.phrase(t)[0] for t in phrases)


_FLAGGED = frozenset({"category", "kind", "value", "part", "feature", "concept"})
