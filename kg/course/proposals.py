"""A question proposed for an objective in prose: the longest stretches of its words that the language understands.

Nothing is guessed beyond that: each stretch is read by the grammar itself and has to name a kind of instrument, or an
instrument. What is found is joined by "or", and stays a proposal until somebody confirms it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from kg.errors import QuestionError
from kg.language import Lexicon, nodes, parse, say
from kg.language.tokens import WORD, Token, scan

LONGEST = 9
"""Words of one stretch."""
MOST_WORDS = 120
"""Words of a text that are looked at; an objective is a sentence, not a page."""
_BEGINNINGS = frozenset({"category", "group", "kind", "pattern", "value"})
_CLAUSES = re.compile(r"[.;:()\[\]/\n!?]|,(?=\s)")


@dataclass(frozen=True)
class Proposal:
    """``question``: in canonical words; ``words``: the stretches of the text that it was made of, in order."""

    expr: nodes.Expr
    question: str
    words: tuple[str, ...]


def propose(text: str, lexicon: Lexicon) -> Proposal | None:
    """The proposal for a text, None if no stretch of it names an instrument or a kind of instrument."""
    found: list[tuple[nodes.Expr, str]] = []
    left = MOST_WORDS
    for clause in _CLAUSES.split(text):
        if left <= 0:
            break
        tokens = lexicon.keyed(scan(clause)[:left])
        left -= len(tokens)
        found += _stretches(clause, tokens, lexicon)
    kinds = [kind for expr, _ in found for kind in (expr.items if isinstance(expr, nodes.Or) else (expr,))]
    exprs = tuple(dict.fromkeys(kinds))
    if not exprs:
        return None
    expr = exprs[0] if len(exprs) == 1 else nodes.Or(exprs)
    words: dict[str, str] = {}
    for _, stretch in found:
        words.setdefault(stretch.casefold(), stretch)
    return Proposal(expr, say(nodes.Filter(expr), lexicon), tuple(words.values()))


def _stretches(clause: str, tokens: list[Token], lexicon: Lexicon) -> Iterator[tuple[nodes.Expr, str]]:
    at = 1 if _is_verb(clause, tokens, lexicon) else 0
    while at < len(tokens):
        end, expr = _longest(clause, tokens, at, lexicon)
        if expr is None:
            at += 1
            continue
        yield expr, clause[tokens[at].start : tokens[end - 1].end]
        at = end


def _is_verb(clause: str, tokens: list[Token], lexicon: Lexicon) -> bool:
    """Whether a clause begins with what is to be done, not with what it is done with: "handle needle holders".

    So a word is taken that is a kind of instrument by itself and begins no longer name, right before another stretch.
    """
    if len(tokens) < 2 or tokens[0].kind != WORD or _read(clause[tokens[0].start : tokens[0].end], lexicon) is None:
        return False
    named = lexicon.matches(tokens, 0)
    return bool(named) and named[0][0] == 1 and _longest(clause, tokens, 1, lexicon)[1] is not None


def _longest(clause: str, tokens: list[Token], at: int, lexicon: Lexicon) -> tuple[int, nodes.Expr | None]:
    """(end, description) of the longest stretch from a token that names instruments; None if there is none."""
    if at >= len(tokens) or tokens[at].kind != WORD or not _begins(tokens, at, lexicon):
        return at, None
    end = at
    while end < min(len(tokens), at + LONGEST) and lexicon.is_known(tokens[end].key):
        end += 1
    while end > at:
        if not _cuts(tokens, at, end, lexicon):
            expr = _read(clause[tokens[at].start : tokens[end - 1].end], lexicon)
            if expr is not None:
                return end, expr
        end -= 1
    return at, None


def _begins(tokens: list[Token], at: int, lexicon: Lexicon) -> bool:
    """Whether a name, or a word for what an instrument is like, begins at a token: cheap to see, and most words begin none."""
    return any(entry.kind in _BEGINNINGS for _, entries in lexicon.matches(tokens, at) for entry in entries)


def _cuts(tokens: list[Token], at: int, end: int, lexicon: Lexicon) -> bool:
    """Whether a stretch ends in the middle of a longer name: "retractors and towel" of "retractors and towel clips"."""
    return any(reach[0] > end for i in range(at + 1, end) for reach in lexicon.matches(tokens, i)[:1])


def _read(text: str, lexicon: Lexicon) -> nodes.Expr | None:
    try:
        question = parse(text, lexicon)
    except QuestionError:
        return None
    match question:
        case nodes.Filter(expr) if _names_instruments(expr):
            return _by_name(expr, text)
        case nodes.Value(subject, ()) if lexicon.vocabulary.terms[subject].role == "category":
            return nodes.IsA(subject)
        case nodes.Value(subject, ()):
            return _by_name(nodes.Named(subject), text)
    return None


def _by_name(expr: nodes.Expr, text: str) -> nodes.Expr | None:
    """A name of one small word is none in prose: "key points" are no Key elevator."""
    return None if isinstance(expr, nodes.Named) and " " not in text.strip() and text.islower() else expr


def _names_instruments(expr: nodes.Expr) -> bool:
    """Whether a description says what kind of instrument it is about, and not only what that is like."""
    match expr:
        case nodes.IsA() | nodes.Named():
            return True
        case nodes.And(items):
            return any(_names_instruments(i) for i in items)
        case nodes.Or(items):
            return all(_names_instruments(i) for i in items)
    return False
