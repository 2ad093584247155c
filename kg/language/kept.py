"""The shelves of the lexicon as the closure keeps them: opened when the closure was made, each read when its word is met.

The file is JSON with a line for each first word, so that a process that asks one question reads few of them:

- ``heads``: all first words in order, as one list;
- ``joined``: the words that stand for two, such as "crisscross", each with the place where it is cut ("crisscross:5"), in one
  text with a blank before and after each;
- ``shelves``: for each first word its phrases, each as the rest of its key, then the fields of its entry; flags as one number,
  and nothing where that and the terms are empty.
"""

from __future__ import annotations

import json
from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator

from kg.language.entries import Entry
from kg.language.shelves import Key, Placing
from kg.language.words import Folder

LARGE = 100
"""A shelf of so many phrases is placed by second word."""
START = b'{\n"heads": '
_JOINED, _SHELVES = b',\n"joined": ', b',\n"shelves": [\n'


def kept_text(everything: Iterable[tuple[Key, Entry]], joined: Iterable[tuple[str, int]]) -> str:
    """What ``KeptShelves`` reads, for all phrases in the order of ``everything``."""
    shelves: dict[str, list[list]] = {}
    for key, entry in everything:
        shelves.setdefault(key[0], []).append(_row(key, entry))
    cuts = "".join(f" {word}:{cut}" for word, cut in joined) + " "
    lines = ",\n".join(_json(shelves[head]) for head in sorted(shelves))
    return f'{{\n"heads": {_json(sorted(shelves))},\n"joined": {_json(cuts)},\n"shelves": [\n{lines}\n]\n}}\n'


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def _row(key: Key, entry: Entry) -> list:
    row: list = [" ".join(key[1:]), entry.kind, entry.term, entry.text, entry.rank]
    flags = entry.negated + 2 * entry.composed
    if flags or entry.terms:
        row += [flags, list(entry.terms)]
    return row


class KeptShelves(Placing):
    """Phrases by first word, as ``Shelves`` gives them. Raises ValueError where the data are in no such form."""

    def __init__(self, data: bytes, folder: Folder) -> None:
        super().__init__(folder)
        joined, shelves = data.find(_JOINED), data.find(_SHELVES)
        if not data.startswith(START) or not 0 < joined < shelves:
            raise ValueError("these are no phrases as they are kept")
        self._heads: list[str] = json.loads(data[len(START) : joined])
        self._joined: str = json.loads(data[joined + len(_JOINED) : shelves])
        self._waiting: dict[str, list[list]] = {}
        self._lines = data[shelves + len(_SHELVES) :].split(b"\n")

    def _open(self, first: str) -> None:
        self._order[first] = []
        at = bisect_left(self._heads, first)
        if at == len(self._heads) or self._heads[at] != first:
            return
        rows = json.loads(self._lines[at].rstrip(b","))
        if len(rows) < LARGE:
            self._place_all(first, rows)
            return
        waiting: dict[str, list[list]] = {}
        for row in rows:
            waiting.setdefault(row[0].partition(" ")[0], []).append(row)
        self._waiting[first] = rows
        self._root[first] = _Branches(first, waiting, self._place_all)
        self._place_all(first, waiting.pop("", []))

    def _place_all(self, first: str, rows: list[list]) -> None:
        for row in rows:
            if len(row) == 5:  # nearly all
                rest, kind, term, text, rank = row
                entry = Entry(kind, term, text, rank)
            else:
                rest, kind, term, text, rank, flags, terms = row
                entry = Entry(kind, term, text, rank, bool(flags & 1), bool(flags & 2), tuple(terms))
            self._place((first, *rest.split(" ")) if rest else (first,), entry)

    def _find_split(self, word: str) -> Key:
        at = self._joined.find(f" {word}:")
        if at < 0:
            return (word,)
        cut = int(self._joined[at + len(word) + 2 : self._joined.index(" ", at + 1)])
        return word[:cut], word[cut:]

    def everything(self) -> Iterator[tuple[Key, Entry]]:
        for first in self._heads:
            self.shelf(first)
            if (rows := self._waiting.pop(first, None)) is not None:  # all of it now, in its order
                del self._root[first], self._order[first][:]
                self._place_all(first, rows)
            yield from self._order[first]


class _Branches(dict):
    """The tree of a large shelf, in which the phrases with a second word are placed when that word is met."""

    def __init__(self, first: str, waiting: dict[str, list[list]], place: Callable[[str, list[list]], None]) -> None:
        super().__init__()
        self._first, self._waiting, self._put = first, waiting, place

    def get(self, word, default=None):  # type: ignore[no-untyped-def]
        rows = self._waiting.pop(word, None)
        if rows is not None:
            self._put(self._first, rows)
        return super().get(word, default)

    def __contains__(self, word: object) -> bool:
        return word in self._waiting or super().__contains__(word)
