"""Questions for instruments in any words: what the grammar can read piece by piece, with words between that say nothing.

The pieces are read by the grammar's own rules, so a "not" or an "or" inside a piece means what it means there. Between two
pieces only such words may stand as the file of plain talk lists for this; a word of any other kind, a word that turns or bounds
("than", "before", "if"), or a second family leaves the question unread. So no condition is ever dropped. What was read is
read back, and a question that is not read stays refused.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field

from kg import names
from kg.errors import QuestionError
from kg.language import nodes
from kg.language.entries import CONTENT
from kg.language.joining import conj, disj, named_in
from kg.language.listed import denies_all
from kg.language.loose import cue_at
from kg.language.nodes import Expr, Question
from kg.language.parse_forms import FormParser
from kg.language.partial import partial
from kg.language.talk import Talk
from kg.language.tokens import SYMBOL, WORD

COMMANDS = {"kw.count": "count", "kw.longest": "longest", "kw.shortest": "shortest", "kw.share_of": "share"}
ASKED_OTHERWISE = frozenset({"sources", "disputes", "compare", "lookalikes", "reprocess"})
_MARKS = frozenset(",:;-")
MOST_UNREAD = 6
_TURNING = frozenset(
    f"kw.{k}"
    for k in (
        *(
            "not",
            "no",
            "without",
            "but",
            "neither",
            "nor",
            "except",
            "only",
            "or",
            "why",
            "how",
            "compare",
            "differ",
            "differ_from",
        ),
        *("lookalikes", "sources", "disputes", "it", "them", "leave_out", "same", "longer", "shorter", "most_of", "fewest_of"),
    )
)
"""Kinds of words that are never left away: without them a question asks for something else."""


@dataclass
class Pieces:
    """What was read: conditions in order, features asked for, what is wanted of the set, words passed over worth telling, and
    whether the question begins with a verb ("is", "has")."""

    exprs: list[Expr] = field(default_factory=list)
    features: list[str] = field(default_factory=list)
    wanted: str = ""
    passed: list[str] = field(default_factory=list)
    verb_first: bool = False
    which: bool = False
    sorted_: bool = False  # a word that asks for groups stood between the pieces ("across", "sort")
    those: bool = False  # "those", which only names in the same question can be
    unread: int = 0  # words left away, where that is allowed
    first: int = 0  # where the first feature stands
    short: bool = False  # one word stood for the names of values


def islands(parser: FormParser, talk: Talk, *, short: bool = True) -> tuple[Question, tuple[str, ...]] | None:
    """The question, and the words passed over; None if it cannot be read like this. ``short``: whether one word may stand for
    the names of values that it is part of. Raises QuestionError (BL-Q05) for a name
    or an "and" that only the person can decide."""
    if not talk.between or _asks_what_it_does(parser) or _asks_last(parser):
        return None
    pieces = _walk(parser, talk, False)
    if pieces is not None and pieces.short and not short:
        return None
    found = _question(parser, pieces) if pieces is not None else None
    return None if found is None or pieces is None else (found, tuple(dict.fromkeys(pieces.passed)))


def _asks_what_it_does(parser: FormParser) -> bool:
    """ "What does the guard on a dermatome do?", "how does a double-action joint help?" """
    first = parser.kinds(0)
    if "kw.how" in first and not first & COMMANDS.keys():
        return True
    last = len(parser.tokens) - 1
    while last > 0 and parser.tokens[last].kind == SYMBOL:
        last -= 1
    return "kw.do" in parser.kinds(last) and parser.says("kw.which", "kw.whatis")


def _asks_last(parser: FormParser) -> bool:
    """ "A periosteal elevator lifts what?" """
    last = len(parser.tokens) - 1
    while last > 0 and parser.tokens[last].kind == SYMBOL:
        last -= 1
    return last > 1 and "kw.which" in parser.kinds(last)


def readable(parser: FormParser, talk: Talk) -> Question | None:
    """What could be read of a question if the words that are not understood were left away: worth offering, never an answer."""
    with suppress(QuestionError):
        pieces = _walk(parser, talk, True)
        if pieces is not None and pieces.unread <= MOST_UNREAD:
            return _question(parser, pieces)
    return None


def _passable(parser: FormParser, at: int, talk: Talk) -> bool:
    """Whether a word that is not understood can be left away, if that is told: it is no name and turns or bounds nothing."""
    token = parser.tokens[at]
    if token.kind != WORD or {token.key} & (talk.strong | talk.apart | talk.against):
        return False
    if at and parser.text[token.start].isupper():
        return False
    return not any(
        e.kind.startswith("op.") or e.kind in _TURNING for end, es in parser.phrases(at) for e in es if e.kind not in CONTENT
    )


def _walk(parser: FormParser, talk: Talk, lenient: bool) -> Pieces | None:
    out = Pieces()
    at, unsure = 0, None
    tokens = parser.tokens
    while at < len(tokens):
        token = tokens[at]
        pronouns = {e.kind for end, es in parser.phrases(at) for e in es if end == at + 1}
        out.those = out.those or ("kw.them" in pronouns and parser.points_back(at))
        if "kw.it" in pronouns and "kw.that" not in pronouns:
            return None  # it speaks of one instrument, which no piece of the question names
        if token.kind == SYMBOL and token.key in _MARKS:
            at += 1
            continue
        if ASKED_OTHERWISE & cue_at(tokens, at, talk)[1]:
            return None
        command = next(((end, e.kind) for end, es in parser.phrases(at) for e in es if e.kind in COMMANDS), None)
        if command is not None and command[1] in ("kw.longest", "kw.shortest") and parser.names_a_part(command[0]):
            return None  # "the longest jaws": no length of a part is recorded
        if command is not None and not out.wanted:
            at, out.wanted = command[0], COMMANDS[command[1]]
            continue
        if not at and parser.look("kw.be", "kw.do", "kw.have", "kw.can", quiet=True):
            out.verb_first = True
        asked, kind = _lead(parser, at)
        if asked > at:
            out.which = out.which or (not out.exprs and kind != "kw.whatis")
            at = asked
            continue
        if token.key in parser.lexicon.words.numbers and out.which and not out.exprs and not out.features:
            at += 1  # "give me four retractors"
            continue
        end, expr, error = _piece(parser, at)
        unsure = unsure or error
        if expr is not None:
            out.exprs.append(expr)
            at = end
            continue
        feature = next(((end, e.term) for end, es in parser.phrases(at) for e in es if e.kind == "feature"), None)
        if feature is not None:
            out.first = out.first if out.features else token.start
            at = feature[0]
            out.features.append(feature[1])
            continue
        if talk.says_how_far(token.key, tokens):
            return None
        if token.key in talk.between or token.key in talk.grouping:
            out.sorted_ = out.sorted_ or token.key in talk.grouping
            at += 1
        elif token.key in talk.beside:
            out.passed.append(parser.quote(at))
            at += 1
        else:
            found = partial(token, parser.lexicon, talk.doing | talk.animals)
            if lenient and (found is None or out.short) and _passable(parser, at, talk):
                out.unread += 1
                at += 1
                continue
            if found is None or out.short:
                if unsure is not None:
                    raise unsure
                return None
            out.exprs.append(found)
            at, out.short = at + 1, True
    return out


def _lead(parser: FormParser, at: int) -> tuple[int, str]:
    """Behind words that ask for a list ("which", "do we have"), with their kind; or ``at`` itself."""
    parser.at = at
    match = parser.look("kw.which", "kw.exist", "kw.whatis", quiet=True)
    return (match.end, match.entry.kind) if match and match.start == at else (at, "")


def _piece(parser: FormParser, at: int) -> tuple[int, Expr | None, QuestionError | None]:
    """The longest piece that begins here, with where it ends; and the error of a choice that only the person can make."""
    best: tuple[int, Expr | None] = (at, None)
    unsure: QuestionError | None = None
    for rule in (parser.description, parser.after, parser.thing):
        parser.at, parser.whole_phrases, parser.cutting, parser.families = at, True, False, ()
        try:
            expr = rule()
        except QuestionError as error:
            unsure = error if error.code == "BL-Q05" else unsure
            continue
        if expr is not None and parser.at > best[0]:
            best = parser.at, expr
    return (*best, unsure)


def _question(parser: FormParser, pieces: Pieces) -> Question | None:
    if not pieces.exprs:
        return None
    items = [i for e in pieces.exprs for i in (e.items if isinstance(e, nodes.And) else (e,))]
    named = list(dict.fromkeys(i for i in items if isinstance(i, nodes.Named)))
    rest = [i for i in items if not isinstance(i, nodes.Named)]
    if len(named) == 1:
        return _of_one(parser, pieces, named[0], [i for i in rest if not isinstance(i, nodes.Everything)])
    if len(named) > 1 and pieces.which and not pieces.features and not pieces.wanted:
        return _of_these(named, rest, pieces.those)
    if named or pieces.those or any(named_in(i) for i in rest if not _family(i)):
        return None
    families = [i for i in rest if _family(i)]
    if (grouped := _grouped(parser, pieces, rest, families)) is not None:
        return grouped
    if pieces.features or pieces.sorted_:
        return None
    conditions = [i for i in rest if not _family(i) and not isinstance(i, nodes.Everything)]
    if any(
        denies_all(i) or nodes.Not(i) in [nodes.Not(d.expr) for d in conditions if isinstance(d, nodes.Not)] for i in conditions
    ):
        return None  # nothing is both
    if len(families) > 1 or not (conditions or (families and pieces.wanted)):
        return None
    if pieces.verb_first and not pieces.which:
        return None
    if not families and not pieces.which and not pieces.wanted and not any(isinstance(i, nodes.Everything) for i in rest):
        return None
    expr = conj(rest)
    match pieces.wanted:
        case "share":
            scope = families or [i for i in rest if isinstance(i, nodes.Everything)][:1] or [nodes.Everything()]
            return nodes.Quantified(scope[0], conj(conditions)) if conditions else None
        case "count":
            return nodes.Count(expr)
        case "longest" | "shortest":
            return nodes.Extreme(expr, pieces.wanted == "longest")
    return nodes.Filter(expr)


def _of_these(named: list[nodes.Named], rest: list[Expr], those: bool) -> Question | None:
    """ "Which of these is self-retaining: Gelpi, Deaver, Travers?" A family is a condition only behind "of these"."""
    conditions = [i for i in rest if not isinstance(i, nodes.Everything)]
    if not conditions or any((_family(i) and not those) or named_in(i) for i in conditions):
        return None
    return nodes.Filter(conj([disj(named), *conditions]))


def _grouped(parser: FormParser, pieces: Pieces, rest: list[Expr], families: list[Expr]) -> Question | None:
    """A family by a feature that is named with it ("handle types across needle holders"), or by the feature of which values are
    set against each other ("sort the blades into straight and curved")."""
    features = [f for f in dict.fromkeys(pieces.features) if f in parser.lexicon.vocabulary.features]
    if len(families) != 1 or pieces.verb_first or pieces.wanted or len(features) > 1:
        return None
    others = [i for i in rest if i not in families and not isinstance(i, nodes.Everything)]
    if features and features == list(dict.fromkeys(pieces.features)) and not others:
        return nodes.Group(families[0], features[0])
    spoken = {
        i.feature
        for e in others
        for i in (e.items if isinstance(e, nodes.Or | nodes.And) else (e,))
        if isinstance(i, nodes.Has)
    }
    values = {i for e in others for i in (e.items if isinstance(e, nodes.Or | nodes.And) else (e,))}
    if pieces.sorted_ and not features and len(spoken) == 1 < len(values) and all(_plain_value(e) for e in others):
        return nodes.Group(families[0], min(spoken))
    return None


def _plain_value(expr: Expr) -> bool:
    match expr:
        case nodes.Has():
            return True
        case nodes.Or(items):
            return all(_plain_value(i) for i in items)
    return False


def _of_one(parser: FormParser, pieces: Pieces, named: nodes.Named, conditions: list[Expr]) -> Question | None:
    """One instrument: what is asked of it, or whether something is so."""
    if pieces.wanted:
        return None
    families = [i for i in conditions if _family(i)]
    conditions = [i for i in conditions if i not in families] if pieces.features else conditions
    if pieces.features and not conditions and not pieces.verb_first and pieces.first < named.span[0]:
        known = tuple(f for f in dict.fromkeys(pieces.features) if f in parser.lexicon.vocabulary.features or f == "length")
        if (uses := parser._uses()) and set(known) <= set(uses):
            known = uses  # "what would I use it for?" asks for all of them
        return nodes.Value(named.pattern, known) if known else None
    beside = [e for e in pieces.exprs if e != named and not isinstance(e, nodes.Everything)]
    behind = all(e.span[1] > named.span[1] for e in beside)
    if (
        pieces.verb_first
        and not pieces.features
        and conditions
        and len(beside) == len(conditions) == 1
        and behind
        and not any(named_in(i) for i in conditions)
    ):
        return nodes.Holds(named.pattern, conj(conditions))
    parts = [i.part for i in conditions if isinstance(i, nodes.HasPart)]
    if pieces.which and len(parts) == len(conditions) == 1 and not pieces.features:
        features = [f.name for f in parser.lexicon.vocabulary.features.values() if f.part == parts[0]]
        return nodes.Value(named.pattern, tuple(features)) if features else None
    return None


def _family(expr: Expr) -> bool:
    match expr:
        case nodes.IsA():
            return True
        case nodes.Has(feature, _):
            return feature == names.OF_KIND
        case nodes.Or(items):
            one_word = len({i.span for i in items}) == 1 and all(isinstance(i, nodes.Named) for i in items)
            return one_word or all(_family(i) for i in items)
    return False


__all__ = ["islands"]
