"""What can follow at the cursor: pure, in memory, never raises."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from kg.errors import QuestionError
from kg.language.entries import HIDDEN, LABEL, Entry
from kg.language.lexicon import Lexicon
from kg.language.nodes import Count, Everything, Expr, Filter
from kg.language.parse_forms import FormParser
from kg.language.tokens import CLOSE, MAX_CHARACTERS, MAX_NESTING, OPEN, SYMBOL, Token, scan

LIMIT = 40
_MEANT = 5  # letters typed
_WORDS = 6  # of a phrase half typed
# Of the forty, where nothing is typed yet.
_SHARES = {"word": 12, "category": 8, "pattern": 6, "value": 6, "part": 20}


class Suggestion(NamedTuple):
    """``text`` to put in place of the characters from ``start`` to the cursor.

    ``kind`` is the role of a term, "group", "unit" or "word"; ``note`` says more: the label of a synonym, the
    feature of a value. ``term`` is the short name of a term, else empty; ``count``, filled in by a catalogue, says how many
    instruments the question would leave with it, None where that is not known.
    """

    text: str
    start: int
    kind: str
    note: str = ""
    term: str = ""
    count: int | None = None


def suggest(text: str, cursor: int, lexicon: Lexicon, *, limit: int = LIMIT) -> list[Suggestion]:
    """At most ``limit`` phrases that continue ``text`` at ``cursor`` (in characters): those that match most of what is
    typed come first, then by kind and alphabet.

    Empty where nothing fits, and above the limits of a question. What stands after the cursor plays no part.
    """
    try:
        return _suggest(text, max(0, min(cursor, len(text))), lexicon, limit)
    except (QuestionError, RecursionError):
        return []


def _suggest(text: str, cursor: int, lexicon: Lexicon, limit: int) -> list[Suggestion]:
    if cursor > MAX_CHARACTERS:
        return []
    typed = text[:cursor]
    tokens = scan(typed)
    partial = bool(tokens) and tokens[-1].end == cursor and tokens[-1].kind != SYMBOL
    table = _table(lexicon)
    found: dict[str, Suggestion] = {}
    counts = range(min(_WORDS, len(tokens)), 0, -1) if partial else range(1)
    for count in counts:
        before, last = tokens[: len(tokens) - count], tokens[len(tokens) - count :]
        if any(t.kind == SYMBOL for t in last):
            continue
        kinds = _kinds_at_end(typed, before, lexicon)
        start = last[0].start if last else cursor
        one = bool(before) and before[-1].key in lexicon.words.articles
        for entry in _fitting(table, last, kinds, lexicon):
            shown = entry.text if one else _plural(entry, lexicon)
            if shown not in found and len(found) < limit:
                found[shown] = Suggestion(shown, start, _kind(entry), _note(entry, lexicon), _term(entry, lexicon))
    return list(found.values())


def before_cursor(text: str, start: int, lexicon: Lexicon) -> tuple[Expr | None, bool, bool]:
    """What a question says up to ``start``, where a word is being chosen: (its description so far, whether the next word is
    said to be absent, whether alternatives are being listed). The description is None if it is no question for a list."""
    tokens = lexicon.keyed(scan(text[:start]))
    absent = alternatives = False
    for cut in range(len(tokens), max(-1, len(tokens) - 4), -1):
        for end, entries in lexicon.matches(tokens, cut) if cut < len(tokens) else ():
            kinds = {e.kind for e in entries}
            absent = absent or (
                end == len(tokens) and bool(kinds & {"kw.no", "kw.without", "kw.not", "kw.except", "kw.neither", "kw.nor"})
            )
            alternatives = alternatives or "kw.or" in kinds
        if not cut:
            return Everything(), absent, alternatives
        for rule in ("count", "filter"):
            parser = FormParser(text[: tokens[cut - 1].end], list(tokens[:cut]), lexicon)
            try:
                question = getattr(parser, rule)()
            except (QuestionError, RecursionError):
                continue
            if isinstance(question, Filter | Count) and parser.ended():
                return question.expr, absent, alternatives
    return None, absent, alternatives


def _fitting(table: _Table, last: list[Token], kinds: frozenset[str], lexicon: Lexicon) -> list[Entry]:
    articles = lexicon.words.articles
    words = [t.key for t in last[:-1] if t.key not in articles] + [t.key for t in last[-1:]]
    if not words:
        # Nothing typed: only the plainest wording of each thing, and not the whole grammar.
        plain = [e for e in table.plain if _fits(e, kinds, lexicon)]
        offer = [f"kw.{name}" for name in lexicon.words.offer]
        function = [e for e in plain if _kind(e) == "word"]
        function.sort(key=lambda e: offer.index(e.kind) if e.kind in offer else len(offer))
        return _mixed([*function, *(e for e in plain if _kind(e) != "word")])
    typed = " ".join(words)
    fit = (e for e in table.starting(typed) if _fits(e, kinds, lexicon))
    # Other wordings of a function word are offered only once so much is typed that one of them is meant.
    return sorted((e for e in fit if len(typed) >= _MEANT or e.rank == LABEL or _kind(e) != "word"), key=_order)


def _mixed(entries: list[Entry]) -> list[Entry]:
    """Some of every kind first, so that none crowds out the rest; then what is left."""
    first: list[Entry] = []
    rest: list[Entry] = []
    counts: dict[str, int] = {}
    for entry in entries:
        kind = _kind(entry)
        counts[kind] = counts.get(kind, 0) + 1
        (first if counts[kind] <= _SHARES.get(kind, 4) else rest).append(entry)
    return first + rest


def _fits(entry: Entry, kinds: frozenset[str], lexicon: Lexicon) -> bool:
    if entry.kind in kinds:
        return True
    term = lexicon.vocabulary.terms.get(entry.term)
    if term is None or not term.feature:
        return False
    return f"value:{term.feature}" in kinds or ("owned" in kinds and term.feature in lexicon.owned_features)


def _kinds_at_end(text: str, tokens: list[Token], lexicon: Lexicon) -> frozenset[str]:
    """The kinds of phrase that the grammar looks for after these tokens; a bracket may still be open."""
    keyed = lexicon.keyed(tokens)
    if sum((t.key == OPEN) - (t.key == CLOSE) for t in keyed if t.kind == SYMBOL) > MAX_NESTING:
        return frozenset()
    parser = FormParser(text, keyed, lexicon)
    parser.explore()
    return frozenset(parser.tried.get(len(keyed), ()))


def _kind(entry: Entry) -> str:
    if entry.kind == "wide":
        return "value"
    return "word" if entry.kind.startswith(("kw.", "op.", "ask", "connector", "role")) else entry.kind


def _plural(entry: Entry, lexicon: Lexicon) -> str:
    """Categories are asked for in the plural."""
    if entry.kind == "category" and entry.rank == LABEL:
        record = lexicon.vocabulary.terms[entry.term]
        return record.plural or lexicon.name(entry.term, many=True)
    return entry.text


def _term(entry: Entry, lexicon: Lexicon) -> str:
    return entry.term if entry.term in lexicon.vocabulary.terms else ""


def _note(entry: Entry, lexicon: Lexicon) -> str:
    term = lexicon.vocabulary.terms.get(entry.term)
    if term is None:
        return ""
    if entry.text not in (term.label, term.plural):
        return f"= {term.label}"
    return lexicon.vocabulary.label(term.feature) if term.feature else ""


def _order(entry: Entry) -> tuple[int, int, str]:
    kind = _kind(entry)
    return (_KINDS.index(kind) if kind in _KINDS else len(_KINDS), entry.rank, entry.text.lower())


_KINDS = ("word", "unit", "category", "group", "pattern", "value", "part", "feature", "kind", "concept")


class _Table:
    """Phrases in alphabetical order of their words, articles left out."""

    def __init__(self, entries: Iterable[Entry], articles: frozenset[str]) -> None:
        rows = {(" ".join(t.key for t in scan(e.text) if t.key not in articles), e) for e in entries}
        self._rows = sorted(rows, key=lambda row: (row[0], row[1].kind, row[1].term, row[1].text))
        self._texts = [text for text, _ in self._rows]
        self.plain = sorted((e for _, e in self._rows if e.rank == LABEL), key=_order)
        """The plainest wording of everything, in the order in which it is offered."""

    def starting(self, prefix: str) -> list[Entry]:
        first = bisect_left(self._texts, prefix)
        last = bisect_left(self._texts, prefix + "\U0010ffff")
        return [entry for _, entry in self._rows[first:last]]


@lru_cache(maxsize=4)
def _table(lexicon: Lexicon) -> _Table:
    entries = (e for _, e in lexicon.phrases() if e.rank != HIDDEN and e.kind not in ("filler", "advice"))
    # Signs such as "&" are understood but not worth offering.
    return _Table((e for e in entries if not set(e.text) & set("&/<>=+≤≥:")), lexicon.words.articles)
