"""What is asked of several instruments by name at once: "do the Allis and the Babcock both have a ratchet?", "Allis, Babcock,
Duval: who has teeth?". The answer lists those of them of which it is true.

Only where the names stand together and all that is said beside them is one condition that the grammar reads; and lists of two
kinds, or of two values that nothing has at once, that "and" joins ("straight and curved scissors").
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from itertools import pairwise
from typing import TYPE_CHECKING

from kg import names
from kg.errors import QuestionError
from kg.language import nodes
from kg.language.entries import Entry
from kg.language.joining import conj, disj
from kg.language.lexicon import Lexicon
from kg.language.listed import names_beside, nothing_at_all, read_back
from kg.language.nodes import Question
from kg.language.parse import parse, parser_for
from kg.language.parse_forms import FormParser
from kg.language.scope import in_full
from kg.language.tokens import SYMBOL, WORD, Token

if TYPE_CHECKING:
    from kg.language.talk import Talk

_JOINED = frozenset({"kw.and", "kw.or", "kw.nor", "kw.vs"})
_ROW = 3
_MEANINGS = 3
_TAGGED = frozenset(",-:;.\u2013\u2014")
_MARKS = frozenset(",/;&")
_VERBS = ("kw.be", "kw.have", "kw.do")
_TURNING = ("kw.not", "kw.no", "kw.without", "kw.neither", "kw.nor", "kw.except")


_COMPARING = frozenset({"kw.compare", "kw.whatis", "kw.how", "kw.tells", "kw.differ"})


def of_several(question: Question, text: str, lexicon: Lexicon) -> bool:
    """Whether a question that the grammar reads may speak of several by name: a comparison, or "neither X nor Y has teeth"."""
    if isinstance(question, nodes.Filter):
        return "kw.neither" in parser_for(text, lexicon).kinds(0)
    if not isinstance(question, nodes.Compare):
        return False
    parser = parser_for(text, lexicon)
    return not parser.kinds(0) & _COMPARING and parser.says("kw.which", "kw.have", "kw.do", "kw.with", "kw.can", "kw.neither")


def true_of_several(text: str, lexicon: Lexicon, talk: Talk) -> Question | None:
    """Those of several instruments of which it is true; None if it is no such question."""
    text = in_full(text, lexicon)
    parser = parser_for(text, lexicon)
    places = _places(parser)
    if len(places) < 2 or parser.says("kw.longer", "kw.shorter", "kw.longest", "kw.shortest"):
        return None
    tokens = parser.tokens
    first, last = places[0][0], places[-1][1]
    if not all(_joins(parser, one[1], two[0]) for one, two in pairwise(places)):
        return None
    before, asked = _asks(parser, _trimmed(tokens, 0, first, talk), talk)
    stop = _untagged(text, tokens, last, talk)
    behind, also = _asks(parser, _trimmed(tokens, last, stop, talk), talk)
    if behind and not (before or asked or also) and (stop < len(tokens) or text.rstrip().endswith("?")):
        also = "which" if _states(parser, tokens.index(behind[0])) else ""  # "Allis and Kocher both have teeth, true?"
    if not (before or behind) or (asked and also) or not (asked or also) or (behind and before and also):
        return None
    if asked == "which" and not before and behind and "kw.that" in parser.kinds(tokens.index(behind[0])):
        behind = behind[1:]
    said = " ".join(text[run[0].start : run[-1].end] for run in (before, behind) if run)
    word = lexicon.word
    verb = {"be": lexicon.words.keywords["be"][1], "have": word("have")}.get(asked or also, "")
    said = f"{word('which')} {word('instrument')}{'s' if verb else ''} {verb} {said}"
    with suppress(QuestionError):
        from kg.language.loose import named  # only where several are named

        patterns = tuple(dict.fromkeys(named(parser, places)))
        found = _condition(said, lexicon, talk)
        if len(patterns) < 2 or found is None:
            return None
        if isinstance(found, nodes.HasPart) and before and "kw.be" in parser.kinds(tokens.index(before[0])):
            return None  # "what is the tip of the Kelly and the Crile?" asks what it is like
        several = nodes.Or(tuple(nodes.Named(p) for p in patterns), (tokens[first].start, tokens[last - 1].end))
        question = nodes.Filter(conj([several, found]))
        return question if read_back(question, lexicon) else None
    return None


def is_so_of_several(found: nodes.Filter, text: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether a list is of those of several instruments by name of which it is true, so that "none" is a good answer; not what
    they are used for, since each is made for one thing and may serve for more."""
    items = found.expr.items if isinstance(found.expr, nodes.And) else ()
    uses = {f for c in lexicon.words.connectors for f in c.ask}
    if not items or any(isinstance(i, nodes.Has) and i.feature in uses for i in items):
        return False
    return true_of_several(text, lexicon, talk) == found


def _condition(said: str, lexicon: Lexicon, talk: Talk) -> nodes.Expr | None:
    from kg.language.otherwise import said_otherwise

    for text in (said, said_otherwise(said, lexicon, talk)):
        with suppress(QuestionError):
            found = parse(text, lexicon) if text else None
            if not isinstance(found, nodes.Filter) or nothing_at_all(found):
                continue
            expr = found.expr
            if not isinstance(expr, nodes.Everything | nodes.Named) and not names_beside(expr):
                return expr
    return None


def _places(parser: FormParser) -> list[tuple[int, int]]:
    """Where instruments are named: tokens [start, end)."""
    out, at = [], 0
    while at < len(parser.tokens):
        end = next((end for end, es in parser.phrases(at) if any(e.kind == "pattern" and not e.negated for e in es)), 0)
        longer = max((stop for stop, _ in parser.phrases(at)), default=0)
        if end and end >= longer:
            out.append((at, end))
        at = max(end, longer, at + 1)
    return out


def _joins(parser: FormParser, start: int, end: int) -> bool:
    """Whether only "and", "or" and commas stand between two names."""
    found, at = False, start
    while at < end:
        token = parser.tokens[at]
        stop = max((stop for stop, es in parser.phrases(at) for e in es if e.kind in _JOINED and stop <= end), default=0)
        if stop or (token.kind == SYMBOL and token.key in _MARKS):
            found, at = True, stop or at + 1
        elif token.key in parser.lexicon.words.articles:
            at += 1
        else:
            return False
    return found


def _trimmed(tokens: Sequence[Token], start: int, end: int, talk: Talk) -> list[Token]:
    """Tokens [start, end) without marks at both ends and without words that only lead to the names ("which of the two")."""
    run = list(tokens[start:end])
    while run and (run[-1].kind == SYMBOL or (not start and run[-1].key in talk.leading_names)):
        run.pop()
    while run and (run[0].kind == SYMBOL or (start and run[0].key in talk.leading_names)):
        del run[0]
    return run if all(t.kind == WORD or t.key == "-" for t in run) else []


def _untagged(text: str, tokens: Sequence[Token], start: int, talk: Talk) -> int:
    """The end of a statement, without a mark and a tag behind it ("right?")."""
    tag = len(tokens)
    while tag > start + 1 and (tokens[tag - 1].key in talk.tags or tokens[tag - 1].kind == SYMBOL):
        tag -= 1
    if tag < len(tokens) and (tokens[tag].kind == SYMBOL or _TAGGED & set(text[tokens[tag - 1].end : tokens[tag].start])):
        return tag
    return len(tokens)


def _states(parser: FormParser, at: int) -> bool:
    """Whether a verb stands there that says something of what is named before ("have", "are")."""
    return any(e.kind in ("kw.have", "kw.be") for end, es in parser.phrases(at) for e in es if end == at + 1)


def _asks(parser: FormParser, run: list[Token], talk: Talk) -> tuple[list[Token], str]:
    """What is said, without the word that asks; and that word: "be", "have", "do" or "which"; empty if none does."""
    if not run:
        return run, ""
    if len(run) > 1 and run[0] == parser.tokens[0] and {"kw.and", "kw.but"} & parser.kinds(0):
        run = run[1:]
    if run[0].key in talk.choosing:
        at = 1
        while at < len(run) and run[at].key in talk.leading_names:
            at += 1
        return run[at:], "which"
    at = parser.tokens.index(run[0])
    if at == 0 and len(run) == 2 and "kw.be" in parser.kinds(0) and "kw.it" in parser.kinds(1):
        return [], "which"  # "is it the Kelly or the Crile that ..."
    kinds = {e.kind for end, es in parser.phrases(at) for e in es if end == at + 1}
    verb = next((k for k in _VERBS if k in kinds), "")
    return (run[1:], verb.removeprefix("kw.")) if verb and at == 0 else (run, "")


def which_family(question: Question) -> Question:
    """ "Is the Backhaus a clamp or a forceps?" asks where it is filed, not whether it is one of them."""
    expr = question.expr if isinstance(question, nodes.Holds) else None
    if isinstance(expr, nodes.Or) and all(_family(i) for i in expr.items) and len({i.span for i in expr.items}) > 1:
        return nodes.Filed(question.pattern)
    return question


def _family(expr: nodes.Expr) -> bool:
    if isinstance(expr, nodes.Or):
        return all(_family(i) for i in expr.items)
    return isinstance(expr, nodes.IsA) or (isinstance(expr, nodes.Has) and expr.feature == names.OF_KIND)


_SAID_OF = frozenset({"kw.with", "kw.that", "kw.be", "kw.have", "kw.whose", "connector", "kw.place", "kw.by"})
"""Words behind which something is said of instruments, so that "and" joins what is said, not the instruments."""


def without_best(text: str, lexicon: Lexicon, talk: Talk) -> str | None:
    """A question that asks which is best or better without these words, since what is recorded can be told all the same; None
    if it has none of them, or asks for advice by another word too."""
    parser = parser_for(text, lexicon)
    best = [t for t in parser.tokens if t.key in talk.best]
    if len(best) != 1:
        return None
    less = " ".join(f"{text[: best[0].start]} {text[best[0].end :]}".split())
    with suppress(QuestionError):
        parser_for(less, lexicon).refuse_advice()
        return less
    return None


def any_of_a_row(text: str, question: Question, lexicon: Lexicon) -> Question:
    """ "Instruments to dilate: cervix, urethra, trachea" are for any of them: values of one feature with only commas between"""
    items = question.expr.items if isinstance(question, nodes.Filter) and isinstance(question.expr, nodes.And) else ()
    rows: dict[str, list[nodes.Expr]] = {}
    for item in items:
        if isinstance(item, nodes.Has):
            rows.setdefault(item.feature, []).append(item)
    row = max(rows.values(), key=len, default=[])
    if len(row) < _ROW or text.count(",") < len(row) - 1 or parser_for(text, lexicon).says("kw.and", "kw.but", "kw.or"):
        return question
    changed = nodes.Filter(conj([*(i for i in items if i not in row), disj(row)]))
    return changed if read_back(changed, lexicon) else question


def each_kind(error: QuestionError, lexicon: Lexicon) -> Question | None:
    """The list of both where "and" joins two kinds ("list clamps and scissors") or two values that nothing has at once
    ("straight and curved scissors"); None where it could mean anything else."""
    text = error.question or ""
    if error.code != "BL-Q05" or not error.readings or not error.span:
        return None
    parser = parser_for(text, lexicon)
    joined = [i for i, t in enumerate(parser.tokens) if error.span[0] <= t.start < error.span[1]]
    ands = {",", *(k for phrase in lexicon.words.keywords["and"] for k in lexicon.folder.phrase(phrase))}
    if not joined or not {parser.tokens[i].key for i in joined} <= ands or parser.says(*_TURNING):
        return None
    with suppress(QuestionError):
        found = parse(error.readings[0], lexicon)
        if not isinstance(found, nodes.Filter) or names_beside(found.expr) or nothing_at_all(found):
            return None
        if _verbs(found.expr, lexicon):
            return None
        kinds = isinstance(found.expr, nodes.Or)
        said = range(len(parser.tokens)) if kinds else range(joined[0])
        if any(_SAID_OF & {e.kind for end, es in parser.phrases(i) for e in es if not _asks_there(es)} for i in said):
            return None
        return found if read_back(found, lexicon) else None
    return None


def each_meaning(error: QuestionError, lexicon: Lexicon) -> Question | None:
    """The list for any of the few things that a word can mean, where these are all of what instruments are, have or are used
    for ("cutting plaster": bandages or a cast); None for names, and for anything else than a list."""
    if error.code != "BL-Q05" or not 1 < len(error.readings) <= _MEANINGS:
        return None
    with suppress(QuestionError):
        found = [parse(r, lexicon) for r in error.readings]
        if not all(isinstance(f, nodes.Filter) for f in found):
            return None
        sets = [f.expr.items if isinstance(f.expr, nodes.And) else (f.expr,) for f in found if isinstance(f, nodes.Filter)]
        own = [[i for i in items if any(i not in other for other in sets)] for items in sets]
        if not all(len(o) == 1 and isinstance(o[0], nodes.Has) for o in own):
            return None
        shared = [i for i in sets[0] if i not in own[0]]
        question = nodes.Filter(conj([*shared, disj([o[0] for o in own])]))
        return question if read_back(question, lexicon) else None
    return None


def _verbs(expr: nodes.Expr, lexicon: Lexicon) -> bool:
    """Whether it says what is done with instruments, where "and" may well mean both ("cut and hold")."""
    uses = {f for c in lexicon.words.connectors for f in c.ask}
    items = expr.items if isinstance(expr, nodes.And | nodes.Or) else ()
    return any(_verbs(i, lexicon) or (isinstance(i, nodes.Has) and i.feature in uses) for i in items)


def _asks_there(entries: Sequence[Entry]) -> bool:
    """Whether a phrase asks for a list ("which are the")."""
    return any(e.kind in ("kw.which", "kw.exist", "kw.count") for e in entries)
