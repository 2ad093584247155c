"""Text on a drawing: cleaned, measured, broken into lines. Widths are those of common sans-serif faces, rather too wide."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from functools import lru_cache

# What XML 1.0 (section 2.2) does not admit, what steers a terminal, and marks of direction or no width.
_UNSAFE = re.compile(
    "[\x00-\x1f\x7f-\x9f\u00ad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\uffff\ud800-\udfff]"
    "|[\U000e0000-\U000e0fff]"
)
_NARROW, _WIDE = frozenset("iljft.,:;'|!()[] /-I"), frozenset("mwMWABCDGHKNOQRUVXY%@&")


def clean(text: str) -> str:
    """The text on one line, with every character replaced that XML, a terminal or a reader could stumble over."""
    return _UNSAFE.sub("\ufffd", " ".join(text.split()))


def escape(text: str) -> str:
    """Clean text for XML, as content or within double quotes."""
    found = clean(text)
    for char, name in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ('"', "&quot;"), ("'", "&#39;")):
        found = found.replace(char, name)
    return found


@lru_cache(maxsize=4096)
def width(text: str, size: float) -> float:
    """How wide a text is at a size, in the same unit; combining marks take no room, wide letters two."""
    return sum(map(_share, text)) * size


@lru_cache(maxsize=4096)
def _share(char: str) -> float:
    """How wide a letter is at size 1."""
    if char in _NARROW:
        return 0.36
    if char in _WIDE:
        return 0.82
    if char.isascii():
        return 0.6
    if unicodedata.combining(char):
        return 0.0
    return 1.05 if unicodedata.east_asian_width(char) in "WF" else 0.7


def wrap(text: str, room: float, size: float, most: int = 99) -> list[str]:
    """Lines of at most ``room``; a longer word is cut; what is beyond ``most`` lines ends in an ellipsis."""
    lines: list[str] = []
    current = ""
    for word in clean(text).split(" "):
        for piece in _pieces(word, room, size):
            trial = f"{current} {piece}".strip()
            if current and width(trial, size) > room:
                lines.append(current)
                current = piece
            else:
                current = trial
    if current:
        lines.append(current)
    if len(lines) > most:
        lines = [*lines[: most - 1], _cut(lines[most - 1], room, size)]
    return lines


def _pieces(word: str, room: float, size: float) -> Sequence[str]:
    """A word cut into pieces of at most ``room``, each of one letter at least; one piece if it fits."""
    out, used, start = [], 0.0, 0
    for n, char in enumerate(word):
        wide = _share(char) * size
        if used + wide > room and n > start:
            out.append(word[start:n])
            used, start = 0.0, n
        used += wide
    return [*out, word[start:]]


def _cut(line: str, room: float, size: float) -> str:
    while line and width(f"{line}…", size) > room:
        line = line[:-1]
    return f"{line}…"
