"""SPARQL text -> plain text and tokens, in one pass each, without recursion.

``normalise`` writes the query so that every SPARQL reader sees the same thing: codepoint escapes
(``\\u0053``) are decoded, comments are blanked, strings keep only the escapes they need. Readers differ in
all three (some decode escapes before they look for strings and comments, others after), and a difference is a
place to hide a word. ``tokens`` then cuts the plain text into tokens. Both refuse what could be read in two
ways instead of choosing.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise

from kg.errors import QueryError

# Character classes of the SPARQL 1.1 grammar, section 19.8; Python's \w has other members.
_BASE = (
    "A-Za-z\u00c0-\u00d6\u00d8-\u00f6\u00f8-\u02ff\u0370-\u037d\u037f-\u1fff\u200c\u200d\u2070-\u218f\u2c00-\u2fef"
    "\u3001-\ud7ff\uf900-\ufdcf\ufdf0-\ufffd\U00010000-\U000effff"
)
_START = _BASE + "_"
_CHAR = _START + "0-9\u00b7\u0300-\u036f\u203f\u2040\\-"
_LOCAL_ESCAPE = r"\\[_~.\-!$&'()*+,;=/?#@%]"
_LOCAL_PART = rf"(?:%[0-9A-Fa-f]{{2}}|{_LOCAL_ESCAPE})"
_CODEPOINT = r"\\u[0-9A-Fa-f]{4}|\\U[0-9A-Fa-f]{8}"
# Three quotation marks always open a long string: an unclosed one must not pass as an empty short string.
_STRING = (
    r"\"\"\"(?:\"{0,2}(?:[^\"\\]|\\.))*\"\"\"|'''(?:'{0,2}(?:[^'\\]|\\.))*'''"
    r"|\"(?!\"\")(?:[^\"\\\n\r]|\\.)*\"|'(?!'')(?:[^'\\\n\r]|\\.)*'"
)

_PIECES = re.compile(
    rf"""(?P<comment>\#[^\n\r]*)
       |(?P<string>{_STRING})
       |(?P<iri><(?:[^<>"{{}}|^`\\\x00-\x20]|{_CODEPOINT})*>)
       |(?P<codepoint>{_CODEPOINT})
       |(?P<open>["'])
       |(?P<plain>{_LOCAL_ESCAPE}|.)""",
    re.VERBOSE | re.DOTALL,
)
_STRING_PART = re.compile(rf"(?P<codepoint>{_CODEPOINT})|(?P<escape>\\[tbnrf\"'\\])|(?P<bad>\\)", re.DOTALL)
_CODEPOINTS = re.compile(_CODEPOINT)
_NAME_CHAR = re.compile(f"[{_CHAR}:]")
_ESCAPED = {
    "\\": "\\\\",
    '"': '\\"',
    "'": "\\'",
    "\n": "\\n",
    "\r": "\\r",
    "\t": "\\t",
    "\b": "\\b",
    "\f": "\\f",
}

# ``?a<b:x&&c>d`` is a comparison to one reader and an IRI to another. With ``//`` after the scheme the first
# reading cannot be meant, and with these characters alone it can hide no bracket, comment or word.
_IRI_SURE = re.compile(r"<[A-Za-z][A-Za-z0-9+.-]*:(?://.*|[A-Za-z0-9._~%:/@\-\u00a1-\U0010ffff]*)>", re.DOTALL)
# ``?a<?b&&?c>?d`` is a comparison to a person; a space after the sign makes it one to every reader.
_COMPARED = re.compile(r"<[?$0-9(+\-!:]")

# A prefix has at most 100 characters, so that a text of dots and letters does not take quadratic time.
_TOKEN = re.compile(
    rf"""(?P<space>[\ \t\r\n]+)
       |(?P<iri><[^<>"{{}}|^`\\\x00-\x20]*>)
       |(?P<string>{_STRING})
       |(?P<var>[?$][{_START}0-9][{_CHAR.replace(chr(92) + "-", "")}]*)
       |(?P<lang>@[A-Za-z]+(?:-+[A-Za-z0-9]+)*)
       |(?P<blank>_:[{_START}0-9](?:[{_CHAR}.]*[{_CHAR}])?)
       |(?P<name>(?:[{_BASE}](?:[{_CHAR}.]{{0,98}}[{_CHAR}])?)?:
                 (?:(?:[{_START}:0-9]|{_LOCAL_PART})(?:(?:[{_CHAR}.:]|{_LOCAL_PART})*(?:[{_CHAR}:]|{_LOCAL_PART}))?)?)
       |(?P<number>[0-9]+(?:\.[0-9]*)?(?:[eE][+-]?[0-9]+)?|\.[0-9]+(?:[eE][+-]?[0-9]+)?)
       |(?P<word>[A-Za-z_][A-Za-z0-9_]*)
       |(?P<punct>[{{}}()\[\].,;*/|^!=<>+\-&?@~])""",
    re.VERBOSE | re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Token:
    """``kind``: iri, string, var, lang, blank, name, number, word or punct. ``start``: place in the text."""

    kind: str
    text: str
    start: int


@dataclass(frozen=True, slots=True)
class Plain:
    """A normalised query. ``origin`` maps places in ``text`` back to the query as it was typed.

    ``marks`` are pairs (place in ``text``, place in ``source``) in rising order where a piece begins.
    """

    source: str
    text: str
    marks: tuple[tuple[int, int], ...]

    def origin(self, place: int) -> int:
        """The place in the typed query of a place in ``text``; never beyond the piece it belongs to."""
        at = bisect_right(self.marks, (place, len(self.source) + 1)) - 1
        here, there = self.marks[at]
        end = self.marks[at + 1][1] if at + 1 < len(self.marks) else len(self.source)
        return min(there + place - here, end)

    def fault(self, code: str, message: str, place: int, *, hint: str = "") -> QueryError:
        """An error at a place of ``text``, told as line and column of the typed query."""
        return fault(code, message, self.source, self.origin(place), hint=hint)


def fault(code: str, message: str, source: str, place: int, *, hint: str = "") -> QueryError:
    """A QueryError whose message ends in "(line L, column C)", both counted from 1."""
    line, column = line_column(source, place)
    return QueryError(code, f"{message} (line {line}, column {column})", hint=hint)


def line_column(source: str, place: int) -> tuple[int, int]:
    """Line and column, both from 1, of a character of ``source``; only a line feed ends a line."""
    start = source.rfind("\n", 0, place) + 1
    return source.count("\n", 0, place) + 1, place - start + 1


def normalise(source: str) -> Plain:
    """Decode, blank and rewrite as said above. Raises QueryError BL-S01 for what can be read in two ways."""
    parts: list[str] = []
    marks: list[tuple[int, int]] = [(0, 0)]
    length = place = 0
    while match := _PIECES.match(source, place):
        kind, piece, start, place = match.lastgroup, match[0], match.start(), match.end()
        if kind == "plain":
            parts.append(piece)
            length += len(piece)
            continue
        if kind == "open":
            raise fault("BL-S01", "this quotation mark is never closed", source, start)
        if kind == "comment":
            piece = " " * len(piece)
        elif kind == "string":
            piece = _string(piece, source, start)
        elif kind == "iri" and _COMPARED.match(piece):
            piece, place = "< ", start + 1
        elif kind == "iri":
            piece = _iri(piece, source, start)
        else:
            piece = _codepoint(piece, source, start)
            if not _NAME_CHAR.fullmatch(piece):
                raise fault("BL-S01", f"{match[0]} may not stand here, only inside a string", source, start)
        marks.append((length, start))
        parts.append(piece)
        length += len(piece)
        marks.append((length, place))
    return Plain(source, "".join(parts), tuple(marks))


def tokens(plain: Plain) -> list[Token]:
    """All tokens, without white space. Raises QueryError BL-S01 at a character that cannot stand there."""
    found: list[Token] = []
    place, text = 0, plain.text
    while place < len(text):
        match = _TOKEN.match(text, place)
        if match is None:
            raise plain.fault("BL-S01", f"the character {text[place]!r} cannot stand here", place, hint=_odd(text[place]))
        if match.lastgroup != "space":
            found.append(Token(match.lastgroup or "", match[0], place))
        place = match.end()
    for first, second in pairwise(found):
        # Quoted triples are not SPARQL 1.1, and "<<" before a name is also a comparison with an IRI.
        if first.text == second.text == "<" and first.start + 1 == second.start:
            raise plain.fault("BL-S01", "<< is not SPARQL 1.1", first.start, hint="Write a space after the first <.")
    return found


def _codepoint(escape: str, source: str, start: int) -> str:
    number = int(escape[2:], 16)
    if number == 0 or 0xD800 <= number <= 0xDFFF or number > 0x10FFFF:
        raise fault("BL-S01", f"{escape} is not a character", source, start)
    return chr(number)


def _string(piece: str, source: str, start: int) -> str:
    def rewrite(match: re.Match[str]) -> str:
        if match.lastgroup == "escape":
            return match[0]
        if match.lastgroup == "bad":
            shown = piece[match.start() : match.start() + 2]
            hint = "In a string a backslash is written twice."
            raise fault("BL-S01", f"{shown} is not an escape of SPARQL", source, start + match.start(), hint=hint)
        char = _codepoint(match[0], source, start + match.start())
        return _ESCAPED.get(char, char)

    return _STRING_PART.sub(rewrite, piece)


def _iri(piece: str, source: str, start: int) -> str:
    decoded = _CODEPOINTS.sub(lambda m: _codepoint(m[0], source, start + m.start()), piece)
    if re.search(r"[<>\"{}|^`\\\x00-\x20]", decoded[1:-1]):
        raise fault("BL-S01", "an IRI holds a character that no IRI may hold", source, start)
    if not _IRI_SURE.fullmatch(decoded):
        hint = "Write an IRI in full, with its scheme; or, to compare, write a space after <."
        raise fault("BL-S01", "this can be read as an IRI or as a comparison", source, start, hint=hint)
    return decoded


def _odd(char: str) -> str:
    if char in "“”„‘’‚«»":
        return "Use straight quotation marks."
    if char == "\\":
        return "A backslash belongs in a string, or in the name after a prefix."
    return "White space is a space, a tab or a new line." if char.isspace() or char == "\ufeff" else ""
