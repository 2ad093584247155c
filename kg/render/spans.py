"""Styled text without a terminal: spans, lines, their width in columns, and wrapping.

A span is (style, text); a line is a list of spans without a line end. Styles are names of roles, never colours:
``""``, ``heading``, ``name``, ``source``, ``remark``, ``dispute``, ``caution``, ``error``, ``code``, ``mark``,
``number``, ``query``. Whoever shows the lines decides what they look like; ``plain`` drops the styles.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

Span = tuple[str, str]
Line = list[Span]

MIN_WIDTH = 20
"""The narrowest width that anything is laid out for, in columns."""

MOST_MARKS = 30
"""Marks on one letter that are shown; no language needs nearly as many (UAX #15, stream-safe text format)."""

_UNSAFE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u00ad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb\ud800-\udfff]"
)
_BLANK = re.compile(r"[\t\n\r ]")
# Letters of one column each: everything up to the combining marks, and the usual dashes, quotation marks and dots.
_SINGLE = re.compile("[\x20-\x7e\xa0-\u02ff\u2010-\u2027\ufffd]*")


def clean(text: str) -> str:
    """The text with every character that could steer a terminal or reorder the line replaced, one for one.

    Line ends and tabs become blanks; control characters, escapes, invisible and direction marks become U+FFFD.
    """
    return _BLANK.sub(" ", _UNSAFE.sub("\ufffd", text))


def width_of(text: str) -> int:
    """Columns that a clean text takes; wide letters take two, combining marks none."""
    if _SINGLE.fullmatch(text):
        return len(text)
    from unicodedata import category

    from wcwidth import wcwidth  # only for unusual letters: the tables take a while to load

    # Signs that follow a letter and take room of their own count as one column, whatever they are joined to.
    return sum(max(wcwidth(c), category(c) == "Mc") for c in text)


def take(text: str, columns: int) -> str:
    """The longest beginning of a clean text that fits, at least one character; what combines with it comes along."""
    start = text[: max(columns, 1)]
    if _SINGLE.fullmatch(start) and _SINGLE.fullmatch(text[len(start) : len(start) + 1]):
        return start
    used = 0
    for i, char in enumerate(text):
        used += width_of(char)
        if (used > columns and i) or i >= MOST_MARKS * max(columns, 1):
            return text[:i]
    return text


def plain(lines: Iterable[Sequence[Span]]) -> str:
    """The text of the lines, one a line; no line ends with blanks. No lines give the empty text."""
    return "".join("".join(text for _, text in line).rstrip() + "\n" for line in lines)


def line_width(line: Sequence[Span]) -> int:
    return sum(width_of(text) for _, text in line)


def wrap(spans: Iterable[Span], width: int, *, first: int = 0, rest: int = 0) -> list[Line]:
    """Breaks spans into lines of at most ``width`` columns, between words; a longer word is cut.

    ``first`` and ``rest`` are the indents of the first and the other lines, in columns. No word gives no line.
    """
    lines: list[Line] = []
    current: Line = []
    used = 0

    def room() -> int:
        return max(width - (rest if lines else first), 1)

    def flush() -> None:
        nonlocal current, used
        lines.append(_indented(current, rest if lines else first))
        current, used = [], 0

    for word in _words(spans):
        size = line_width(word)
        if current and used + 1 + size > room():
            flush()
        if current:
            _append(current, word[0][0], " ")
            used += 1
        for style, text in word:
            piece = text
            while piece:  # once, unless the word must be cut
                left = room() - used
                head = take(piece, left)
                if current and width_of(head) > left:
                    head = ""
                _append(current, style, head)
                used += width_of(head)
                piece = piece[len(head) :]
                if piece:
                    flush()
    if current:
        flush()
    return lines


def _words(spans: Iterable[Span]) -> list[Line]:
    """The words over all spans; a word whose parts have different styles stays one word."""
    out: list[Line] = []
    open_word = False
    for style, text in spans:
        for i, piece in enumerate(clean(text).split(" ")):
            if i:
                open_word = False
            if not piece:
                continue
            if open_word:
                out[-1].append((style, piece))
            else:
                out.append([(style, piece)])
            open_word = True
    return out


def _append(line: Line, style: str, text: str) -> None:
    if line and line[-1][0] == style:
        line[-1] = (style, line[-1][1] + text)
    elif text:
        line.append((style, text))


def _indented(line: Line, indent: int) -> Line:
    return [("", " " * indent), *line] if indent else line


def pad(line: Sequence[Span], width: int) -> Line:
    """The line filled with blanks to ``width`` columns."""
    missing = width - line_width(line)
    return [*line, ("", " " * missing)] if missing > 0 else list(line)
