"""What can follow at the cursor: pure, in memory, never raises."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from kg.errors import QuestionError
from kg.language.cursor import END_KIND, NUMBER_KIND
from kg.language.lexicon import HIDDEN, Entry, Lexicon
from kg.language.parse_forms import FormParser
from kg.language.tokens import CLOSE, OPEN, SYMBOL, Token, fold, scan

LIMIT = 40
_WORDS = 6  # of a phrase half typed
_LONGEST = 2000


@dataclass(frozen=True)
class Suggestion:
    """``text`` to put in place of the characters from ``start`` to the cursor; ``kind`` is a role, "word" or "unit"; ``note`` says more."""

    text: str
    start: int
    kind: str
    note: str = ""


def suggest(text: str, cursor: int, lexicon: Lexicon) -> list[Suggestion]:
    """At most 40 phrases that continue ``text`` at ``cursor`` (in characters), the longest match with what is typed first, then by kind and alphabet.

    Empty where nothing fits, where the part before the cursor is not understood and no known phrase begins as typed, and above the limits of a question.
    """
    try:
        return _suggest(text, max(0, min(cursor, len(text))), lexicon)
    except (QuestionError, RecursionError):
        return []


def _suggest(text: str, cursor: int, lexicon: Lexicon) -> list[Suggestion]:
    if cursor > _LONGEST:
        return []
    typed = text[:cursor]
    tokens = scan(typed)
    partial = bool(tokens) and tokens[-1].end == cursor and tokens[-1].kind != SYMBOL
    table = _table(lexicon)
    found: dict[str, Suggestion] = {}
    for count in range(min(_WORDS, len(tokens)) if partial else 0, 0 if partial else -1, -1):
        before, last = tokens[: len(tokens) - count], tokens[len(tokens) - count :]
        if any(t.kind == SYMBOL for t in last):
            continue
        start = last[0].start if last else cursor
        prefix = " ".join(fold(t.key) for t in last)
        kinds = _kinds_at_end(typed, before, lexicon)
        fit = [e for e in table.starting(prefix) if e.kind in kinds]
        for entry in sorted(fit, key=_order):
            if entry.text not in found and len(found) < LIMIT:
                found[entry.text] = Suggestion(entry.text, start, _kind(entry), _note(entry, lexicon))
        if len(found) >= LIMIT:
            break
    return list(found.values())


def _kinds_at_end(text: str, tokens: list[Token], lexicon: Lexicon) -> frozenset[str]:
    """The kinds of phrase that the grammar looks for after these tokens."""
    keyed = lexicon.keyed(tokens)
    opened = sum((t.key == OPEN) - (t.key == CLOSE) for t in keyed if t.kind == SYMBOL)
    if opened > 30:
        return frozenset()
    parser = FormParser(text, keyed, lexicon)
    try:
        parser.question()
    except QuestionError:
        # A bracket still open, or a name not yet complete: what was looked for until then is what counts.
        pass
    kinds = parser.tried.get(len(keyed), set()) - {NUMBER_KIND, END_KIND}
    return frozenset(kinds)


def _kind(entry: Entry) -> str:
    return "word" if entry.kind.startswith(("kw.", "op.", "ask", "connector", "role")) else entry.kind


def _note(entry: Entry, lexicon: Lexicon) -> str:
    terms = lexicon.vocabulary.terms
    term = terms.get(entry.term)
    if term is None:
        return ""
    if term.label != entry.text:
        return f"= {term.label}"
    return lexicon.vocabulary.label(term.feature) if term.feature else ""


def _order(entry: Entry) -> tuple[int, int, str]:
    return (_KINDS.get(_kind(entry), 9), entry.rank, entry.text.lower())


_KINDS = {"word": 0, "unit": 0, "category": 1, "group": 1, "pattern": 2, "value": 3, "part": 4, "feature": 5, "concept": 6}


class _Table:
    """Phrases in alphabetical order of their folded text."""

    def __init__(self, entries: Iterable[Entry]) -> None:
        rows = {(" ".join(t.key for t in scan(e.text)), e) for e in entries}
        self._rows = sorted(rows, key=lambda row: (row[0], row[1].kind, row[1].term))
        self._texts = [text for text, _ in self._rows]

    def starting(self, prefix: str) -> list[Entry]:
        first = bisect_left(self._texts, prefix)
        last = bisect_left(self._texts, prefix + "\U0010ffff")
        return [entry for _, entry in self._rows[first:last]]


@lru_cache(maxsize=4)
def _table(lexicon: Lexicon) -> _Table:
    return _Table(e for _, e in lexicon.phrases() if e.rank != HIDDEN and e.kind not in ("filler", "advice"))
