"""One of the instruments of the answer before, meant by its place there ("the second one", "number 4", "the former", "the first
two"), or a variant of the one before ("and the curved ones?").

The words for places stand in the file of plain talk. The name of the instrument is put in their stead, so that what is asked of
it is read as any other question; a place that the list does not have names nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.before import names_several
from kg.language.entries import CONTENT
from kg.language.lexicon import Lexicon
from kg.language.parse import parser_for
from kg.language.say import say_expr
from kg.language.tokens import NUMBER, SYMBOL

if TYPE_CHECKING:
    from kg.language.before import Before
    from kg.language.parse_forms import FormParser
    from kg.language.talk import Talk

_BEHIND = frozenset(("kw.be", "kw.have", "kw.do", "kw.can", "kw.place", "kw.with", "kw.and", "kw.or", "kw.differ"))
_COUNTED = (nodes.Counts, nodes.Group, nodes.Tally)
_ORDINAL = frozenset(("st", "nd", "rd", "th"))
MOST = 6
"""So many at most are meant by "the first three", or compared by name."""
MOST_NAMED = 24
"""So many at most are compared that no description stands for."""


def one_meant(text: str, lexicon: Lexicon, talk: Talk, before: Before) -> tuple[str, bool]:
    """The question with the name of what is meant by a place or as a variant, and whether it then stands by itself."""
    if (placed := by_place(text, lexicon, talk, before)) is not None:
        return placed, True
    if (several := all_of_them(text, lexicon, before)) is not None:
        return several, True
    return by_variant(text, lexicon, talk, before) or (text, False)


def all_of_them(text: str, lexicon: Lexicon, before: Before) -> str | None:
    """ "Compare them", "how do they differ?" after a list of a few, with their names; None for anything else, and for a longer
    list that a description stands for. Raises QuestionError (BL-Q03) for too many that none stands for."""
    parser = parser_for(text, lexicon)
    names = before.shown if isinstance(before.question, nodes.Filter | nodes.LookAlikes | nodes.Extreme) else ()
    described = isinstance(before.question, nodes.Filter) and len(names) > MOST
    described = described or getattr(before.question, "number", 0) > len(names)  # "the ten longest"
    if len(names) < 2 or described or not parser.says("kw.compare", "kw.differ"):
        return None
    found = [(at, end) for at in range(len(parser.tokens)) for end, es in parser.phrases(at) for e in es if e.kind == "kw.them"]
    if len({at for at, _ in found}) != 1:
        return None
    at, end = max(found, key=lambda place: place[1])
    each = f" {lexicon.word('and')} ".join(lexicon.vocabulary.label(n) for n in names)
    if len(names) > MOST_NAMED:
        raise QuestionError(
            "BL-Q03",
            f"{len(names)} instruments by name are too many to compare.",
            question=text,
            span=(parser.tokens[at].start, parser.tokens[end - 1].end),
            hint="Ask to compare some of them by name, or a family.",
        )
    if len(names) > MOST:
        each = f"({say_expr(nodes.Or(tuple(nodes.Named(n) for n in names)), lexicon)})"
    return f"{text[: parser.tokens[at].start]}{each}{text[parser.tokens[end - 1].end :]}"


def by_variant(text: str, lexicon: Lexicon, talk: Talk, before: Before) -> tuple[str, bool] | None:
    """ "And the curved ones?" after a question about Mayo scissors, with the name of the curved ones; whether more is asked of
    them than of those before. None if there is no variant of that name."""
    subjects = before.subjects(lexicon)
    terms = lexicon.vocabulary.terms
    if isinstance(before.question, nodes.Filter | nodes.Count) or len(subjects) != 1 or terms[subjects[0]].role != "pattern":
        return None
    parser = parser_for(text, lexicon)
    words = terms[subjects[0]].label.split()
    for at in range(len(parser.tokens) - 1):
        ends = [end for end, es in parser.phrases(at + 1) for e in es if e.kind in ("kw.ones", "kw.instrument")]
        ends += [at + 2] if (parser.tokens[at + 1].key,) in talk.placing_behind else []
        if not ends or not any(e.kind == "value" for _, es in parser.phrases(at) for e in es):
            continue
        said = parser.tokens[at].key
        for label in (" ".join((said, *words)), " ".join((said, *words[1:]))):
            if any(e.kind == "pattern" and terms[e.term].label == label for e in lexicon.entries(label)):
                first = at - 1 if at and parser.tokens[at - 1].key in lexicon.words.articles else at
                rest = text[parser.tokens[max(ends) - 1].end :]
                alone = bool(rest.strip(" ?.!")) or not _only_leads(parser, first)
                return f"{text[: parser.tokens[first].start]}{label}{rest}", alone
    return None


def by_place(text: str, lexicon: Lexicon, talk: Talk, before: Before) -> str | None:
    """The question with names for the places; None if it speaks of none. Raises QuestionError (BL-Q02) for a reply that is no
    more than a place that the answer before does not have."""
    names = _in_order(before)
    parser = parser_for(text, lexicon)
    tokens = parser.tokens
    out: list[str] = []
    last, at, rest = 0, 0, 0
    while at < len(tokens):
        end, places = _places(parser, at, talk)
        if not places:
            rest += not out
            at += 1
            continue
        if tokens[end - 1].kind == NUMBER and (figured := _figured(names, tokens[end - 1].key, lexicon)):
            places = figured
        only = len(names) == 1 and len(places) == 1  # "the first one" of a list of one
        if (len(names) < 2 and not only) or any(not -len(names) <= place < len(names) for place in places):
            alone = _only_leads(parser, rest) and not text[tokens[end - 1].end :].strip(" ?.!")
            row = len(places) > 1 and len(names) != 1  # "the first two"
            row = row or (end - at > 2 and tokens[end - 1].kind != NUMBER)  # "the second one"
            if not row and (tokens[end - 1].kind == NUMBER or not alone):
                return None
            raise QuestionError(
                "BL-Q02",
                f'The answer before lists nothing that "{parser.quote(at, end)}" could be.',
                question=text,
                span=parser.span(at, end),
                hint="Ask with the name of the instrument.",
            )
        name = f" {lexicon.word('and')} ".join(lexicon.vocabulary.label(names[place]) for place in places)
        out += [text[last : tokens[at].start], name]
        last, at = tokens[end - 1].end, end
    if not out:
        return None
    if len(out) == 2 and not text[last:].strip(" ?.!") and _only_leads(parser, rest):
        return f"{lexicon.word('whatis')} {out[1]}?"
    return "".join([*out, text[last:]])


def _only_leads(parser: FormParser, end: int) -> bool:
    """Whether the first words only lead to what is asked about ("and", "what about")."""
    leads = {e.kind for stop, es in parser.phrases(0) if stop == end for e in es} if end else set()
    return not end or "kw.and_what_of" in leads


def _figured(names: tuple[str, ...], figure: str, lexicon: Lexicon) -> tuple[int, ...]:
    """The place of the one that bears a number itself ("No. 4 scalpel handle")."""
    found = [i for i, n in enumerate(names) if figure in lexicon.name_keys(n)]
    return (found[0],) if len(found) == 1 else ()


def _in_order(before: Before) -> tuple[str, ...]:
    """The instruments of the answer before as a person counts them."""
    if isinstance(before.question, nodes.Compare) and not before.listed:
        return before.question.subjects
    if isinstance(before.question, nodes.Contrast):
        return (before.question.pattern, before.question.other)
    scope = before.question.scope if isinstance(before.question, nodes.Quantified) else None
    if scope is not None and names_several(scope):
        return tuple(i.pattern for i in scope.items)
    if isinstance(before.question, _COUNTED) or (isinstance(before.question, nodes.Value) and not before.listed):
        return ()  # what was told is no list of instruments ("name the parts of artery forceps")
    if isinstance(before.question, nodes.Compare) and before.listed:
        return before.listed  # one of the look-alikes was set beside what they look like
    return before.listed if before.listed and len(before.shown) < 2 else before.shown


def _places(parser: FormParser, at: int, talk: Talk) -> tuple[int, tuple[int, ...]]:
    """Behind words at ``at`` that name places in a list, and which, counted from 0 (from -1 backwards); (at, none) if none."""
    tokens, words = parser.tokens, parser.lexicon.words
    start = at + 1 if tokens[at].key in words.articles or tokens[at].key in talk.owners else at
    if start >= len(tokens):
        return at, ()
    if start + 1 < len(tokens) and tokens[start].key in talk.placing_number and tokens[start + 1].kind == NUMBER:
        named = any(e.kind in CONTENT for i in (at, start) for end, es in parser.phrases(i) if end > start + 1 for e in es)
        figure = tokens[start + 1].key
        if named or not figure.isdigit() or not int(figure) or not _stops(parser, start + 2):
            return at, ()
        return start + 2, (int(figure) - 1,)
    place = talk.placed.get(tokens[start].key)
    if place is None or start == at or any(e.kind in CONTENT for _, es in parser.phrases(start) for e in es):
        return at, ()
    end, places = start + 1, (place,)
    if tokens[start].kind == NUMBER:  # "the 4th", but "a 4"
        if end >= len(tokens) or tokens[end].key not in _ORDINAL or tokens[start].end != tokens[end].start:
            return at, ()
        end += 1
    many = int(words.numbers.get(tokens[end].key, 0)) if end < len(tokens) else 0
    if place in (0, -1) and 1 < many <= MOST:
        end, places = end + 1, tuple(range(many)) if not place else tuple(range(-many, 0))
    for phrase in talk.placing_behind:
        if tuple(t.key for t in tokens[end : end + len(phrase)]) == phrase:
            return end + len(phrase), places
    free = tokens[start].key in talk.placing_alone or bool(at and parser.kinds(0) & _BEHIND)
    return (end, places) if free or len(places) > 1 or _stops(parser, end) else (at, ())


def _stops(parser: FormParser, at: int) -> bool:
    """Whether nothing follows that the word for a place could belong to."""
    return at >= len(parser.tokens) or parser.tokens[at].kind == SYMBOL or bool(parser.kinds(at) & _BEHIND)


__all__ = ["one_meant"]
