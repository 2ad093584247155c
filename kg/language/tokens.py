"""Text -> tokens with spans. Knows characters and limits, no words.

A token's ``key`` is its folded text: lower case, without accents and apostrophes. Hyphens, full stops, question
marks and
quotation marks separate words and are no tokens themselves, so that "criss-cross" and "criss cross" give the same
keys. A double quote
straight after a number is the sign for inches; a dash between two numbers is kept, for "12-18 cm".
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import NamedTuple

from kg.errors import QuestionError
from kg.language.nodes import Span

MAX_CHARACTERS = 2000
MAX_NESTING = 30

WORD, NUMBER, SYMBOL = "word", "number", "symbol"
OPEN, CLOSE, COMMA, INCH = "(", ")", ",", '"'

_LETTER = r"[^\W\d_]"
_TOKEN = re.compile(
    rf"""
    (?P<space>  \s+ )
  | (?P<code>   [0-9]+ [A-Za-z] (?![^\W_]) )                       # 10a: a number with a letter is one word
  | (?P<number> [0-9]+ (?: \.[0-9]+ )? (?: /[0-9]+ )? | [½¼¾⅛⅜⅝⅞] )
  | (?P<word>   {_LETTER} (?: {_LETTER} | [\u0300-\u036f] | ['’ʼ] (?={_LETTER}) )* )
  | (?P<times>  × )
  | (?P<dash>   [-‐‑–—] )
  | (?P<open>   [(\[{{] )
  | (?P<close>  [)\]}}] )
  | (?P<comma>  [,;] )
  | (?P<quote>  ["“”″] | '' )
  | (?P<ignore> [.?!'‘’…] | [#№] (?=\ ?[0-9]) )                  # "#12" is number 12
  | (?P<symbol> [<>]=? | [^\s] )
    """,
    re.VERBOSE,
)
_FORBIDDEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})


class Token(NamedTuple):
    """One token: ``key`` folded text, [``start``, ``end``) in characters of the question, ``kind`` word, number or
    symbol."""

    key: str
    start: int
    end: int
    kind: str


_JOINED = {"æ": "ae", "œ": "oe", "ø": "o", "ł": "l"}
"""Letters that no accent makes, as people write them without them ("hæmostat", "cœliac")."""


@lru_cache(maxsize=20_000)
def fold(word: str) -> str:
    """Lower case, no accents, joined letters apart; typographic apostrophes become plain ones. Never raises."""
    if word.isascii():
        return word.lower()
    text = unicodedata.normalize("NFKD", word.replace("’", "'").replace("ʼ", "'")).casefold()
    return "".join(_JOINED.get(c, c) for c in text if not unicodedata.combining(c))


def scan(text: str) -> list[Token]:
    """Tokens of any text, in order, without limits or checks; characters that mean nothing become symbols. Linear."""
    tokens: list[Token] = []
    for found in _TOKEN.finditer(text):
        kind, start, end = found.lastgroup, found.start(), found.end()
        if kind in ("space", "ignore"):
            continue
        if kind in ("word", "code"):
            tokens.append(Token(fold(found.group()), start, end, WORD))
        elif kind == "number":
            tokens.append(Token(found.group(), start, end, NUMBER))
        elif kind == "times":
            tokens.append(Token("x", start, end, WORD))
        elif kind == "dash":
            # Only between numbers does a dash say something ("12-18 cm").
            if tokens and tokens[-1].kind == NUMBER and tokens[-1].end == start and text[end : end + 1].isdigit():
                tokens.append(Token("-", start, end, SYMBOL))
        elif kind == "quote":
            if tokens and tokens[-1].kind == NUMBER and tokens[-1].end == start:
                tokens.append(Token(INCH, start, end, SYMBOL))
        elif kind == "open":
            tokens.append(Token(OPEN, start, end, SYMBOL))
        elif kind == "close":
            tokens.append(Token(CLOSE, start, end, SYMBOL))
        elif kind == "comma":
            tokens.append(Token(COMMA, start, end, SYMBOL))
        else:
            tokens.append(Token(found.group(), start, end, SYMBOL))
    return tokens


def tokenise(text: str) -> list[Token]:
    """Tokens of a question, at least one.

    Raises QuestionError: BL-Q01 if there is nothing to read, BL-Q07 above ``MAX_CHARACTERS`` or ``MAX_NESTING``
    brackets,
    BL-Q08 at the first character that cannot be part of a question, BL-Q04 for a bracket without its partner.
    """
    if not text or text.isspace():
        raise QuestionError(
            "BL-Q01", "The question is empty.", question=text, hint="Ask, for example, for a kind of instrument."
        )
    if len(text) > MAX_CHARACTERS:
        raise QuestionError(
            "BL-Q07",
            f"The question has {len(text):,} characters; at most {MAX_CHARACTERS:,} can be read.",
            question=text,
            span=(MAX_CHARACTERS, len(text)),
            hint="Ask a shorter question, or several.",
        )
    for at, char in enumerate(text):
        if char not in "\t\n\r" and unicodedata.category(char) in _FORBIDDEN:
            raise _bad_character(text, (at, at + 1))
    tokens = scan(text)
    if not tokens:
        raise QuestionError("BL-Q01", "The question has no words.", question=text, span=(0, len(text)))
    _check_brackets(text, tokens)
    return tokens


def bad_symbol(text: str, span: Span) -> QuestionError:
    """The error for a sign that no sentence uses."""
    return _bad_character(text, span)


def _bad_character(text: str, span: Span) -> QuestionError:
    char = text[span[0] : span[1]]
    shown = f'"{char}"' if char.isprintable() else " ".join(f"U+{ord(c):04X}" for c in char)
    return QuestionError(
        "BL-Q08",
        f"The character {shown} cannot be part of a question.",
        question=text,
        span=span,
        hint="Use words, numbers, commas and round brackets.",
    )


def _check_brackets(text: str, tokens: list[Token]) -> None:
    opened: list[Token] = []
    for token in tokens:
        if token.kind != SYMBOL:
            continue
        if token.key == OPEN:
            opened.append(token)
            if len(opened) > MAX_NESTING:
                raise too_deep(text, (token.start, token.end))
        elif token.key == CLOSE:
            if not opened:
                raise QuestionError(
                    "BL-Q04",
                    "This bracket closes nothing.",
                    question=text,
                    span=(token.start, token.end),
                    hint="Take it out, or open a bracket before it.",
                )
            opened.pop()
    if opened:
        raise QuestionError(
            "BL-Q04",
            "This bracket is never closed.",
            question=text,
            span=(opened[-1].start, opened[-1].end),
            hint='Add a ")" where its part of the question ends.',
        )


def too_deep(text: str, span: Span) -> QuestionError:
    """The error for a question nested beyond ``MAX_NESTING``."""
    return QuestionError(
        "BL-Q07",
        f"The question is nested more than {MAX_NESTING} deep.",
        question=text,
        span=span,
        hint="Ask it in simpler parts.",
    )
