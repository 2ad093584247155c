"""Whether what was read is of another kind than what is asked: a meaning or one instrument where a list is asked for, a list
where a yes or no is; a condition made of a word that says none here ("the scalp edges", "catch a specimen")."""

from __future__ import annotations

from collections.abc import Iterator

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.entries import FAMILIES
from kg.language.joining import terms_in
from kg.language.lexicon import Lexicon
from kg.language.nodes import Question
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.tokens import SYMBOL

_NOT_MEANT = "Some words of this can only be read as they are hardly meant here."
_OTHERWISE = "Ask in other words, or for fewer things at once."
NEAR_THE_BEGINNING = 6
"""The family of which a list is asked for stands among so many words at the beginning."""
BEHIND = 3
"""So many words behind "without" stands what is lacking."""
_LISTED = frozenset({"kw.which", "kw.whatis", "kw.list", "kw.exist"})
_WHETHER = frozenset({"kw.be", "kw.do", "kw.can"})
_MOST = frozenset({"kw.longest", "kw.shortest", "kw.most_of", "kw.fewest_of"})
_MEANING = frozenset({"kw.define", "kw.mean", "kw.describe", "kw.whatis", "kw.why", "kw.like", "kw.look_like", "kw.classify"})


def asks_for_several(text: str, lexicon: Lexicon) -> bool:
    """Whether a text asks for a list: it begins with a word that asks for one, and a family in the plural stands behind it
    ("which retractors does ...", "list the suckers ..."). "Forceps" and "scissors" are several where no singular verb stands
    behind them, nor that they have one of something ("which scissors have one tiny hook")."""
    parser = parser_for(text, lexicon)
    first = parser.kinds(0) if parser.tokens else frozenset[str]()
    if (first.isdisjoint(_LISTED) and not _opens(text, "lists", lexicon)) or _opens(text, "names_one", lexicon):
        return False
    asks = "kw.which" in first or "kw.whatis" in first
    for at in range(min(NEAR_THE_BEGINNING, len(parser.tokens))):
        if at and (parser.tokens[at].kind == SYMBOL or (asks and at > 1 and not _leads_up(parser, at - 1))):
            return False
        for end, entries in parser.phrases(at)[:1]:
            if any(e.kind in FAMILIES or e.kind in ("kw.instrument", "group") for e in entries):
                last = parser.tokens[end - 1]
                if last.key != text[last.start : last.end].casefold():
                    return True
                return last.key.endswith("s") and not _singular(parser, end) and not _contains(text, "has_one", lexicon)
    return False


def _leads_up(parser: FormParser, at: int) -> bool:
    """Whether a word may stand between "which" and the family ("which of the laparoscopic graspers")."""
    if parser.tokens[at].key in parser.lexicon.words.articles:
        return True
    inside = {e.kind for start in range(1, at + 1) for end, es in parser.phrases(start) if end > at for e in es}
    return bool(inside & {"value", "wide", "place", "part", "kw.of", "filler"}) or not parser.kinds(at)


def lists_with_an_aim(text: str, lexicon: Lexicon) -> bool:
    """Whether a list is asked for, and a clause only says what for ("which hooks are blunt so that ..."), not a reason."""
    parser = parser_for(text, lexicon)
    lists = bool(parser.tokens) and "kw.which" in parser.kinds(0) and parser.tokens[0].key != "what"
    return lists and not parser.says("kw.why") and _contains(text, "aims", lexicon)


def asks_no_name(text: str, lexicon: Lexicon) -> bool:
    """Whether a text asks for no name of one instrument: for a list, by whom or when something was done, what a part of a named
    family is so for."""
    if _opens(text, "no_name", lexicon):
        return True
    parser = parser_for(text.rstrip(" ?.!"), lexicon)
    if len(parser.tokens) > 1 and "kw.which" in parser.kinds(0) and "part" in parser.kinds(1):
        hooks = parser.tokens[1]
        if text[hooks.start : hooks.end].casefold() != hooks.key:
            return True  # "which hooks are used to turn an eyelid over?"
    return asks_for_several(text, lexicon) or _asks_of_a_part(parser_for(text.rstrip(" ?.!"), lexicon))


def _asks_of_a_part(parser: FormParser) -> bool:
    """ "What is the blade of an obstetric forceps curved for?": a part "of" a family near the beginning, "for" at the end."""
    tokens, articles = parser.tokens, parser.lexicon.words.articles
    if len(tokens) < NEAR_THE_BEGINNING or "kw.whatis" not in parser.kinds(0) or tokens[-1].key != "for":
        return False
    for at in range(1, NEAR_THE_BEGINNING):
        if "part" in parser.kinds(at) and "kw.of" in parser.kinds(at + 1):
            behind = at + 2 + (at + 2 < len(tokens) and tokens[at + 2].key in articles)
            return behind < len(tokens) and bool(parser.kinds(behind) & {"category", "pattern", "kind"})
    return False


def _singular(parser: FormParser, at: int) -> bool:
    """Whether a verb in the singular stands at ``at`` ("which forceps has teeth", "which forceps holds the lid")."""
    if at >= len(parser.tokens):
        return True
    token = parser.tokens[at]
    said = parser.text[token.start : token.end].casefold()
    return said in parser.lexicon.words.sought.get("singular", ()) or (said != token.key and said.endswith("s"))


def as_not_meant(text: str) -> QuestionError:
    """The refusal of a question of which some words were read as they are not meant."""
    return QuestionError("BL-Q03", _NOT_MEANT, question=text, span=(0, len(text.rstrip())), hint=_OTHERWISE)


def amiss(text: str, question: Question, lexicon: Lexicon) -> bool:
    """Whether a question was read as something that it does not ask."""
    parser = parser_for(text, lexicon)
    if not parser.tokens:
        return False
    match question:
        case nodes.Define() | nodes.DefineAll():
            return _no_meaning_asked(text, question, parser)
        case nodes.Compare():
            return parser.says("kw.except") and asks_for_several(text, lexicon)
        case nodes.Quantified():
            return _of_another(parser, question)
        case nodes.Tally():
            return question.by == "category" and _contains(text, "uncounted", lexicon)
        case nodes.Filter() | nodes.Count():
            return (
                _only_of_a_name(parser, question)
                or any(_is_a_place(parser, i) or _no_condition(parser, i) for i in _said(question.expr))
                or _lacks_a_place(parser, question)
                or any(_either_for_both(text, i, lexicon) for i in _said(question.expr))
                or _at_odds_at_a_part(parser, question)
                or _of_no_teeth(question, lexicon)
                or _says_none_here(text, question, lexicon)
                or _contains(text, "in_order", lexicon)
                or (_opens(text, "held_first", lexicon) and _ends(text, "held_last", lexicon))
            )
        case nodes.Value():
            uses = set(question.features) & set(lexicon.words.besides)
            return bool(uses) and (_opens(text, "part_of", lexicon) or _opens(text, "counted", lexicon))
        case nodes.Holds():
            return _says_none_here(text, question, lexicon)
        case nodes.Gaps():
            return _contains(text, "no_gaps", lexicon)
    return False


def _opens(text: str, kind: str, lexicon: Lexicon) -> bool:
    opens = text.casefold().lstrip()
    return any(opens.startswith(f"{w} ") for w in lexicon.words.sought.get(kind, ()))


def _ends(text: str, kind: str, lexicon: Lexicon) -> bool:
    said = text.casefold().rstrip(" ?.!")
    return any(said.endswith(f" {w}") for w in lexicon.words.sought.get(kind, ()))


def _contains(text: str, kind: str, lexicon: Lexicon) -> bool:
    said = f" {text.casefold().rstrip(' ?.!')} "
    return any(f" {w} " in said for w in lexicon.words.sought.get(kind, ()))


def _no_meaning_asked(text: str, question: nodes.Define | nodes.DefineAll, parser: FormParser) -> bool:
    """Whether a list, the first of a list or how something is done is asked for, and words would be explained."""
    lexicon = parser.lexicon
    terms = (question.term,) if isinstance(question, nodes.Define) else question.terms
    roles = {lexicon.vocabulary.terms[t].role for t in terms if t in lexicon.vocabulary.terms}
    if "pattern" in roles or parser.says("kw.define", "kw.mean"):
        return False
    first = parser.kinds(0)
    whole = "of_parts" if first.isdisjoint(_WHETHER) else ""
    named = any(e.kind == "pattern" for at in range(len(parser.tokens)) for _, es in parser.phrases(at)[:1] for e in es)
    if named and (not whole or _opens(text, whole, lexicon)):
        return True  # "is the tip of an Adson wide or narrow?"
    if "kw.which" in first and asks_for_several(text, lexicon) and not parser.says(*_MEANING):
        return True
    if _opens(text, "doing", lexicon):
        return True
    if "category" in roles and _opens(text, "singled", lexicon):
        return True
    most = [at for at in range(min(NEAR_THE_BEGINNING, len(parser.tokens))) if parser.kinds(at) & _MOST]
    families = (e.kind for at in most for _, es in parser.phrases(at + 1)[:1] for e in es) if most else ()
    return any(kind in FAMILIES for kind in families)


def _of_another(parser: FormParser, question: nodes.Quantified) -> bool:
    """Whether a yes or no of one instrument, named behind the first verb, was read as one of something else."""
    if parser.kinds(0).isdisjoint(_WHETHER):
        return False
    at = 1
    while at < len(parser.tokens) and parser.tokens[at].key in parser.lexicon.words.articles:
        at += 1
    named = (
        {e.term for _, es in parser.phrases(at)[:1] for e in es if e.kind == "pattern"} if at < len(parser.tokens) else set()
    )
    return bool(named) and named.isdisjoint(terms_in(question.scope))


def _only_of_a_name(parser: FormParser, question: nodes.Filter | nodes.Count) -> bool:
    """Whether it is asked if something is so of no other ("is it true that only Kocher forceps have teeth?"), and the forms of
    that one would be listed."""
    named = [i for i in _said(question.expr) if isinstance(i, nodes.Named)]
    if not named or parser.kinds(0).isdisjoint(_WHETHER):
        return False
    starts = {at for at, t in enumerate(parser.tokens) for n in named if t.start == n.span[0]}
    return any(at and "kw.only" in parser.kinds(at - 1) for at in starts)


def _said(expr: nodes.Expr) -> Iterator[nodes.Expr]:
    yield from expr.items if isinstance(expr, nodes.And) else (expr,)


def _denied(expr: nodes.Expr) -> Iterator[nodes.Expr]:
    for item in _said(expr):
        if isinstance(item, nodes.Not):
            yield from _said(item.expr)


def _token(parser: FormParser, expr: nodes.Expr) -> int:
    """The token at which a condition begins; -1 if it stands in no one place."""
    span = getattr(expr, "span", None) or (0, 0)
    return next((at for at, t in enumerate(parser.tokens) if span[1] and t.start == span[0]), -1)


def _is_a_place(parser: FormParser, expr: nodes.Expr) -> bool:
    """Whether an instrument would be used on what it is said to be ("which saw is a wire?")."""
    if not isinstance(expr, nodes.Has) or expr.feature not in parser.lexicon.words.set_places:
        return False
    at, copulas = _token(parser, expr), parser.lexicon.words.sought.get("copulas", ())
    if at > 0 and parser.tokens[at - 1].key in copulas:  # "which are wire?", but "which are vascular?"
        return parser.quote(at, at + 1).casefold() == parser.lexicon.vocabulary.label(expr.value)
    return at > 1 and parser.article_before(at) and parser.tokens[at - 2].key in copulas


def _no_condition(parser: FormParser, expr: nodes.Expr) -> bool:
    """Whether an instrument would have a part that is no part of it: "the scalp edges" are those of a place, and in "which
    instruments catch a specimen" the word is a verb."""
    if not isinstance(expr, nodes.HasPart):
        return False
    at, tokens = _token(parser, expr), parser.tokens
    if at < 1:
        return False
    end = next((e for e, es in parser.phrases(at) if any(x.kind == "part" for x in es)), at + 1)
    before = {e.term for start in range(max(0, at - 2), at) for e_, es in parser.phrases(start) if e_ == at for e in es}
    vocabulary, words = parser.lexicon.vocabulary, parser.lexicon.words
    listed = "kw.with" not in parser.kinds(0)  # "with what are bleeding scalp edges held?" is turned round by others
    if listed and any(vocabulary.terms[t].feature in words.set_places for t in before if t in vocabulary.terms):
        return tokens[at].key == tokens[end - 1].key and end == at + 1
    verb = end == at + 1 and end < len(tokens) and tokens[end].key in words.articles
    return verb and bool(parser.kinds(at - 1) & {"kw.instrument", "category", "kind", "group"})


def _either_for_both(text: str, expr: nodes.Expr, lexicon: Lexicon) -> bool:
    """Whether either of two forms would do where both are asked for ("long handles and short blades")."""
    items = expr.items if isinstance(expr, nodes.Or) else ()
    uses = {*lexicon.words.set_places, *lexicon.words.set_features, *lexicon.words.besides, *lexicon.words.besides.values()}
    if len(items) != 2 or any(not isinstance(i, nodes.Has) or not i.span or i.feature in uses for i in items):
        return False
    one, two = sorted((i for i in items if isinstance(i, nodes.Has)), key=lambda i: i.span)
    return one.span[1] < two.span[0] and one.feature != two.feature and text[one.span[1] : two.span[0]].split()[-1:] == ["and"]


def _at_odds_at_a_part(parser: FormParser, question: nodes.Filter | nodes.Count) -> bool:
    """Whether two values that exclude each other are said, one of them right before a part whose own it is ("serrations running
    lengthwise with a cross-hatched tip")."""
    uses = parser.lexicon.words.besides
    said = [i for i in _said(question.expr) if isinstance(i, nodes.Has) and i.span and i.feature not in uses]
    parts = [i.span[0] for i in _said(question.expr) if isinstance(i, nodes.HasPart) and i.span]
    exclude, text = parser.lexicon.vocabulary.exclude, parser.text
    return any(
        any(not text[i.span[1] : start].strip() and i.span[1] <= start for start in parts)
        and any(j.feature == i.feature and exclude(i.feature, i.value, j.value) for j in said if j is not i)
        for i in said
    )


def _of_no_teeth(question: nodes.Filter | nodes.Count, lexicon: Lexicon) -> bool:
    """Whether teeth at the tip would be denied of what has teeth elsewhere ("saws with no teeth")."""
    said, words = list(_said(question.expr)), lexicon.words.sought
    families = {i.category for i in said if isinstance(i, nodes.IsA)}
    if families.isdisjoint(words.get("teeth_elsewhere", ())):
        return False
    lacking = [*_denied(question.expr), *(i for i in said if isinstance(i, nodes.Has) and i.value in words.get("no_teeth", ()))]
    return any(not terms_in(i).isdisjoint(words.get("tip_teeth", ())) for i in lacking)


def _says_none_here(text: str, question: nodes.Filter | nodes.Count | nodes.Holds, lexicon: Lexicon) -> bool:
    """Whether words that say how an instrument is held were taken for a place or an operation ("by either hand")."""
    values = lexicon.words.sought.get("not_meant", {})
    said = f" {text.casefold().rstrip(' ?.!')} "
    return any(
        any(f" {phrase} " in said for phrase in phrases) and value in terms_in(question.expr)
        for value, phrases in values.items()
    )


def _lacks_a_place(parser: FormParser, question: nodes.Filter | nodes.Count) -> bool:
    """Whether a part of the body would be denied that stands behind "without": "look inside without an open wound"."""
    places = parser.lexicon.words.set_places
    terms = parser.lexicon.vocabulary.terms
    found = ((i, e.term) for i in range(len(parser.tokens)) for _, es in parser.phrases(i)[:1] for e in es)
    at = next((i for i, t in found if t in terms and terms[t].feature in places), 0)
    near = range(max(0, at - BEHIND), at)
    said = any("kw.without" in parser.kinds(i) for i in near)
    joined = any(e.kind == "connector" for i in near for _, es in parser.phrases(i) for e in es)
    denied = [*_denied(question.expr), *(i for i in _said(question.expr) if isinstance(i, nodes.Untold))]
    return said and not joined and any(not terms_in(i).isdisjoint(places) for i in denied)


__all__ = ["amiss", "as_not_meant", "asks_for_several", "asks_no_name", "lists_with_an_aim"]
