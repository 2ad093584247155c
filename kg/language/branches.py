"""Several branches of surgery or places of the body said as adjectives of one family: "the obstetric and gynaecological
instruments", "vascular and cardiac clamps".

As adjectives they name the family of each of them together, as "doctors and nurses" are no people who are both; behind a verb
("used in obstetrics and gynaecology") both are asked of one instrument.
"""

from __future__ import annotations

from kg.language import nodes
from kg.language.joining import conj, disj
from kg.language.lexicon import Lexicon
from kg.language.nodes import Expr, Question
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser

_FAMILY = frozenset({"category", "kind", "group", "kw.instrument"})
_JOINS = frozenset({"kw.and", ","})


def of_either(text: str, question: Question, lexicon: Lexicon) -> Question:
    """The question with such adjectives as alternatives; as it was where "and" does not stand between them, where no family
    follows, or where a word says that both are meant of one."""
    if not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(question.expr, nodes.And):
        return question
    items = question.expr.items
    places = lexicon.words.set_features | lexicon.words.set_places
    said = {span: i for i in items if (span := _place(i, places)) is not None}
    if len(said) < 2:
        return question
    parser = parser_for(text, lexicon)
    if not lexicon.words.together.isdisjoint(t.key for t in lexicon.keyed(parser.tokens)):
        return question
    starts = {t.start: at for at, t in enumerate(parser.tokens)}
    ends = {t.end: at + 1 for at, t in enumerate(parser.tokens)}
    row: list[tuple[int, int]] = []
    for span in sorted(said):
        joined = row and _joined(parser, ends.get(row[-1][1], -1), starts.get(span[0], -1))
        row = [*row, span] if joined else [span]
        behind = ends.get(span[1], len(parser.tokens))
        if len(row) < 2 or behind >= len(parser.tokens) or parser.kinds(behind).isdisjoint(_FAMILY):
            continue
        several = [said[s] for s in row]
        rest = [i for i in items if i not in several]
        return type(question)(conj([*rest, disj(several)]))
    return question


def _place(expr: Expr, places: frozenset[str]) -> tuple[int, int] | None:
    """The words that say a branch of surgery or a place, whatever else they may mean beside it; None if none does."""
    each = [i for i in (expr.items if isinstance(expr, nodes.Or) else (expr,)) if isinstance(i, nodes.Has)]
    if len(each) != (len(expr.items) if isinstance(expr, nodes.Or) else 1) or not any(i.feature in places for i in each):
        return None
    return each[0].span if len({i.span for i in each}) == 1 else None


def _joined(parser: FormParser, end: int, start: int) -> bool:
    """Whether nothing but "and" or a comma stands between two places of a text."""
    between = range(end, start)
    return (
        end >= 0
        and len(between) in (1, 2)
        and all(parser.tokens[at].key == "," or not parser.kinds(at).isdisjoint(_JOINS) for at in between)
    )
