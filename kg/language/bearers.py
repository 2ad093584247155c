"""Instruments called by one word of a longer name: "the Lorna" for the Lorna towel clamp.

Looked at only where the grammar finds a word that no phrase explains. A word that one instrument alone bears stands for its
full name, with which the question is then read back; if several bear it, the person is asked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from kg.errors import QuestionError
from kg.language.cursor import names_a_family
from kg.language.entries import HIDDEN
from kg.language.lexicon import Lexicon
from kg.language.nearness import changes
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.tokens import WORD, fold

MOST = 8
"""A word that more instruments bear is no name."""


def full_names(text: str, lexicon: Lexicon, dull: Callable[[str], bool] = lambda _: False) -> str | None:
    """The question with every single word that is the name of one instrument written out; None if there is none.

    ``dull``: tells everyday words, which are names only with a capital. Raises QuestionError (BL-Q05) for a word that several
    instruments bear, with one reading for each.
    """
    parser = parser_for(text, lexicon)
    changes: list[tuple[int, int, str]] = []
    at = 0
    while at < len(parser.tokens):
        found = parser.phrases(at)
        token = parser.tokens[at]
        if found or token.kind != WORD or (dull(token.key) and not text[token.start].isupper()):
            at = found[0][0] if found else at + 1
            continue
        borne = bearers(token.key, lexicon)
        patterns = _narrowed(parser, at, borne)
        if 0 < len(borne) <= MOST and not patterns:
            raise _of_no_such_family(parser, at, borne)
        if len(patterns) == 1:
            changes.append((*parser.span(at, _with_family(parser, at)), lexicon.vocabulary.label(patterns[0])))
        elif 1 < len(patterns) <= MOST:
            names = [lexicon.vocabulary.label(p) for p in patterns]
            raise QuestionError(
                "BL-Q05",
                f'"{parser.quote(at)}" can mean {len(names)} things: {", ".join(names)}.',
                question=text,
                span=parser.span(at),
                readings=tuple(parser.replaced(at, _with_family(parser, at), name) for name in names),
                hint="Ask with the full name.",
            )
        at += 1
    if not changes:
        return None
    for start, end, name in reversed(changes):
        text = text[:start] + name + text[end:]
    return " ".join(text.split())


def bearers(key: str, lexicon: Lexicon) -> tuple[str, ...]:
    """The patterns that a word can stand for, variants folded under their parents, sorted by label."""
    found = set(_index(lexicon).get(key, ()))
    kept = [p for p in found if found.isdisjoint(lexicon.vocabulary.ancestors(p))]
    return tuple(sorted(kept, key=lambda p: lexicon.vocabulary.label(p).casefold()))


def _with_family(parser: FormParser, at: int) -> int:
    """Where a name ends: behind the family that is named right after it, if any is."""
    after = parser.phrases(at + 1)[:1] if at + 1 < len(parser.tokens) else []
    return after[0][0] if after and names_a_family(after[0][1]) else at + 1


def _narrowed(parser: FormParser, at: int, patterns: tuple[str, ...]) -> tuple[str, ...]:
    """Those of the family that is named right after the word, if any is."""
    if (end := _with_family(parser, at)) > at + 1:
        last = parser.tokens[end - 1].key
        return tuple(p for p in patterns if last in parser.lexicon.name_keys(p))
    return patterns


def _of_no_such_family(parser: FormParser, at: int, patterns: tuple[str, ...]) -> QuestionError:
    """The refusal of a name with a family of which none bears it ("babcok clamp"): those who bear the name are offered."""
    end = _with_family(parser, at)
    labels = tuple(parser.lexicon.vocabulary.label(p) for p in patterns)
    return parser.no_such_name(at, end, labels)


_INDEXES: dict[int, tuple[Lexicon, dict[str, set[str]]]] = {}


def _index(lexicon: Lexicon) -> dict[str, set[str]]:
    """Key of a word -> the patterns of which it is a name: a word with a capital in a label or synonym, or the first word of
    a misspelling that stands in no other phrase."""
    kept = _INDEXES.get(id(lexicon))
    if kept is not None and kept[0] is lexicon:
        return kept[1]
    spelt = {word for key, e in lexicon.phrases() if e.rank != HIDDEN for word in key}
    out: dict[str, set[str]] = {}
    misspelt: dict[str, set[str]] = {}
    for term in lexicon.vocabulary.by_role("pattern"):
        for word in _named_words((term.label, *term.alt)):
            out.setdefault(lexicon.folder.key(fold(word)), set()).add(term.name)
        for text in term.hidden:
            first = lexicon.folder.key(fold(text.replace("-", " ").split()[0]))
            if first not in spelt and len(first) > 2:
                misspelt.setdefault(first, set()).update(_named_words((term.label, *term.alt)))
                out.setdefault(first, set()).add(term.name)
    for first, names in misspelt.items():  # "coker" for one Kocher may be any
        meant = sorted((changes(first, fold(name).casefold(), 3), name) for name in names)
        if meant and meant[0][0] <= 3 and lexicon.usual(meant[0][1]) not in out[first]:
            out[first].update(lexicon.bearing(meant[0][1]))
    _INDEXES.clear()
    _INDEXES[id(lexicon)] = (lexicon, out)
    return out


def _named_words(texts: Iterable[str]) -> set[str]:
    return {w for text in texts for w in text.replace("-", " ").replace("/", " ").split() if w[:1].isupper() and len(w) > 2}
