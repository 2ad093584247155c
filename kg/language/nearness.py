"""Known words that look like an unknown one."""

from __future__ import annotations

import itertools
from collections.abc import Iterable

from kg.language.tokens import fold

_LONGEST = 40


class Near:
    """An index of words by length and letters; made once, on the first unknown word."""

    def __init__(self, phrases: Iterable[str]) -> None:
        shown: dict[str, str] = {}
        for phrase in phrases:
            words = phrase.replace("-", " ").split()
            for word in words:
                folded = fold(word).strip("'\"(),.;:/")
                if len(folded) > 2 and folded.isalpha():
                    # A name is shown as the catalogue writes it: the capital wins over a small letter.
                    kept = shown.get(folded)
                    if kept is None or (kept.islower() and not word.islower()):
                        shown[folded] = word.strip("'\"(),.;:/")
            if len(words) == 2 and all(w.isalpha() for w in words):
                shown.setdefault(fold("".join(words)), phrase)
        self._by_length: dict[int, list[tuple[str, int, str]]] = {}
        self._by_sound: dict[str, list[tuple[str, str]]] = {}
        for folded, word in sorted(shown.items()):
            self._by_length.setdefault(len(folded), []).append((folded, _letters(folded), word))
            if word[:1].isupper():  # names are written as they are heard; common words are not
                self._by_sound.setdefault(sound(folded), []).append((folded, word))

    def find(self, word: str, limit: int = 5) -> tuple[str, ...]:
        """At most ``limit`` words within two changes (one for short words), closest first, ties in alphabetical
        order; then names that sound the same ("Hager" for Hegar)."""
        folded = fold(word)
        if not 3 <= len(folded) <= _LONGEST:
            return ()
        # One change in a short word already makes many other words.
        bound = 1 if len(folded) < 6 else 2 if len(folded) < 9 else 3
        letters = _letters(folded)
        found: list[tuple[int, bool, str, str]] = []
        for length in range(len(folded) - bound, len(folded) + bound + 1):
            for known, mask, shown in self._by_length.get(length, ()):
                if (letters ^ mask).bit_count() <= 2 * bound:
                    distance = changes(folded, known, bound)
                    if distance <= bound:
                        found.append((distance, known[0] != folded[0], known, shown))
        heard = sound(folded)
        same = [s for k, s in self._by_sound.get(heard, ()) if abs(len(k) - len(folded)) <= 2] if len(heard) > 2 else []
        one = [shown for distance, *_, shown in sorted(found) if distance < 2]
        return tuple(dict.fromkeys([*one, *same, *(shown for *_, shown in sorted(found))]))[:limit]


_SOUNDS = (("ph", "f"), ("ck", "k"), ("ce", "se"), ("ci", "si"), ("cy", "si"), ("x", "ks"), ("c", "k"), ("q", "k"), ("z", "s"))


def sound(word: str) -> str:
    """The consonants of a word as they are heard, each once; a vowel that it begins with is kept as one of any kind."""
    for written, heard in _SOUNDS:
        word = word.replace(written, heard)
    out = "a" if word[:1] in "aeiouy" else word[:1]
    for before, char in itertools.pairwise(word):
        if char not in "aeiouyh" and char != before:
            out += char
    return out


def _letters(word: str) -> int:
    mask = 0
    for char in word:
        mask |= 1 << (ord(char) % 61)
    return mask


def changes(one: str, two: str, bound: int) -> int:
    """Letters to add, drop, change or swap with a neighbour to turn ``one`` into ``two``; ``bound`` + 1 if more than
    ``bound``."""
    if abs(len(one) - len(two)) > bound:
        return bound + 1
    before: list[int] = []
    last = list(range(len(two) + 1))
    for i, a in enumerate(one, 1):
        row = [i]
        for j, b in enumerate(two, 1):
            cost = min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (a != b))
            if i > 1 and j > 1 and a == two[j - 2] and one[i - 2] == b:
                cost = min(cost, before[j - 2] + 1)
            row.append(cost)
        if min(row) > bound:
            return bound + 1
        before, last = last, row
    return min(last[-1], bound + 1)
