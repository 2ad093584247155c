""" "Only" at the end of a question that asks what is done to something ("which instruments grasp bowel only?"): it bounds the
last thing that is said, where that is a feature of which a pattern can have several values. The grammar reads it behind "used
on"; here it is read behind a verb, which says what something is made for and what it is used on at once."""

from __future__ import annotations

from kg.language import nodes
from kg.language.joining import conj
from kg.language.lexicon import Lexicon
from kg.language.nodes import Question
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.sense import in_its_family

_FAMILY = ("category", "kind", "group", "kw.instrument")


def says_only(text: str, lexicon: Lexicon) -> bool:
    """Whether a text ends in "only", or says it behind a family ("which forceps only grasp skin?"), and does not itself say
    behind it what is not done ("which clamps only hold bowel and never crush it?")."""
    parser = parser_for(text, lexicon)
    words = [at for at, token in enumerate(parser.tokens) if token.kind == "word"]
    said = [at for at in words if any(e.kind == "kw.only" for _, es in parser.phrases(at) for e in es)]
    said = [at for at in said if not _lists_only(parser, at)]
    if any("kw.not" in parser.kinds(at) for at in words if said and at > said[0]):
        return False
    families = {end for at in words for end, es in parser.phrases(at) for e in es if e.kind in _FAMILY}
    families |= {at + 1 for at in families if "kw.that" in parser.kinds(at)}  # "anything that only vets use"
    return any(at == words[-1] or at in families for at in said)


def bounded(text: str, question: Question, lexicon: Lexicon) -> Question:
    """A question with its words as they are meant in its family, and its last feature of several values bounded to the value
    that is said, if it ends in "only"."""
    question = in_its_family(question, lexicon)
    if not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(question.expr, nodes.And | nodes.Has):
        return question
    items = question.expr.items if isinstance(question.expr, nodes.And) else (question.expr,)
    features = lexicon.vocabulary.features
    several = [
        at
        for at, item in enumerate(items)
        if isinstance(item, nodes.Has) and item.feature in features and not features[item.feature].single
    ]
    if not several or any(isinstance(i, nodes.Solely) for i in items):
        return question
    if says_only(text, lexicon):
        at = several[-1]
    elif (before := _before_a_value(text, [items[i] for i in several], lexicon)) is not None:
        at = several[before]
    else:
        return question
    sole = nodes.Solely(items[at].feature, (items[at].value,), items[at].span)
    return type(question)(conj([*items[:at], sole, *items[at + 1 :]]))


def _before_a_value(text: str, said: list[nodes.Has], lexicon: Lexicon) -> int | None:
    """Which value has "only" right before its words, an article between them or none ("which clamps crush only the bowel?")."""
    parser = parser_for(text, lexicon)
    places = lexicon.words.set_places | lexicon.words.set_features
    denied = [at for at in range(len(parser.tokens)) if "kw.not" in parser.kinds(at)]
    for at, one in enumerate(said):
        if one.feature not in places:
            continue  # "clamps that close only part of the vessel"
        behind = next((n for n, t in enumerate(parser.tokens) if one.span and t.end > one.span[0]), 0)
        while behind > 0 and (t := parser.kinds(behind)) and "kw.only" not in t and (not t.isdisjoint(("filler", "value"))):
            behind -= 1
        if _lists_only(parser, behind):
            continue
        if behind > 0 and "kw.only" in parser.kinds(behind) and not any(n > behind or n == behind - 1 for n in denied):
            return at
    return None


def only_so(text: str, question: Question, lexicon: Lexicon) -> bool:
    """Whether a list is asked for of what is only so in a feature of which a pattern has one value or is made in several forms
    ("which scissors only come curved?"): "only" stands behind the family and before the value, and is no part of its name."""
    if not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(question.expr, nodes.And):
        return False
    items, features = question.expr.items, lexicon.vocabulary.features
    single = [i for i in items if isinstance(i, nodes.Has) and i.feature in features and features[i.feature].single]
    single = [i for i in single if i.feature not in lexicon.words.besides]
    if len(single) != 1 or any(isinstance(i, nodes.Solely | nodes.Length) for i in items):
        return False
    family = max((i.span[1] for i in items if isinstance(i, nodes.IsA) and i.span), default=0)
    said = text[family : single[0].span[1]] if single[0].span else ""
    return _only(said, lexicon) and not _only(lexicon.name(single[0].value), lexicon)


def only_before(text: str, lexicon: Lexicon) -> bool:
    """Whether "only" bounds what something is made for: what is said first behind it is a deed or what it is done to,
    or the text ends in "only" or says it behind the family; "not only" bounds nothing."""
    parser, words = parser_for(text, lexicon), lexicon.words
    told = {*words.besides, *words.besides.values(), *words.set_places}
    ends = [
        (at, end)
        for at in range(len(parser.tokens))
        for end, es in parser.phrases(at)
        if any(e.kind == "kw.only" for e in es) and not _lists_only(parser, at)
    ]
    for at, end in ends:
        if at and "kw.not" in parser.kinds(at - 1):
            return False
        for n in range(end, len(parser.tokens)):
            terms = {
                t for _, es in parser.phrases(n) for e in es if e.kind in ("value", "wide") for t in (e.terms or (e.term,))
            }
            if terms:
                if any(lexicon.vocabulary.terms[t].feature in told for t in terms):
                    return True
                break
            if parser.kinds(n).isdisjoint(_LEADING):
                break
    return bool(ends) and says_only(text, lexicon)


def _lists_only(parser: FormParser, at: int) -> bool:
    """Whether "only" says that no more is to be listed, and bounds nothing: "give me only the eye instruments that ...", "only
    the toothed forceps"; not behind "which"."""
    asking = parser.tokens[0].key if parser.tokens else ""
    before = (parser.kinds(n) for n in range(at))
    return asking not in parser.lexicon.words.interrogative and all("kw.which" in k or "filler" in k for k in before)


_LEADING = frozenset({"filler", "connector", "kw.be", "kw.can", "kw.do", "kw.link", "kw.place"})


def _only(text: str, lexicon: Lexicon) -> bool:
    """Whether a text says "only" anywhere, "not only" aside."""
    if not text.strip():
        return False
    parser = parser_for(text, lexicon)
    kinds = [parser.kinds(at) for at in range(len(parser.tokens))]
    return any("kw.only" in k and (not at or "kw.not" not in kinds[at - 1]) for at, k in enumerate(kinds))
