"""Replies that are no question by themselves: "and which don't?", "the curved ones instead", "which ones are there?", "by how
much?", "is either of them curved?"

Their patterns stand in the file of plain talk, each with the act that it asks for or with a plainer reply for the same. What a
reply says of instruments is read by itself, as any other question is; what comes out is one whole question, read back in full.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.atodds import or_besides
from kg.language.before import SEVERAL, Before, names_several, the_whole
from kg.language.elliptic import Asked, condition, of_a_sibling
from kg.language.entries import CONTENT
from kg.language.in_both import both_made, more_than
from kg.language.in_turn import again, all_the_care, another_in_turn, how_long, of_the_value
from kg.language.joined import features_of, is_family, joined, other_end, parted, parted_by
from kg.language.joining import conj, disj, family_in, names_family
from kg.language.lexicon import LENGTH, Lexicon
from kg.language.nodes import Expr, Question
from kg.language.of_its_kind import (
    found_on,
    having_the_kind,
    meaning,
    numbered,
    of_the_named,
    one_that,
    the_one,
    variant_that,
    where_it_is,
)
from kg.language.otherwise import filled
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.pointed import (
    being_so,
    care_of,
    done_to_it,
    family_beside,
    groups,
    kind_of,
    side_by_side,
    that_thing,
    why_have,
    why_value,
)
from kg.language.say import say_expr
from kg.language.set_beside import beside, both, claimed, weighed, why_not, with_all
from kg.language.that_one import for_another, part_for, what_for, why_none, why_other, why_that
from kg.language.tokens import SYMBOL
from kg.language.told_of import (
    bound,
    commonest,
    disagreeing,
    facts_about,
    its_group,
    named,
    of_the_first,
    ranked,
    same_sources,
    some_of_each,
    telling,
    why_not_used,
)
from kg.records import replace

if TYPE_CHECKING:
    from kg.language.readings import Understood
    from kg.language.talk import Talk

FEW = 12
"""So many instruments at most are meant by "it" or "both" where a list went before."""
MOST_AS = 2
"""So many words at most only say how something is ("something longer")."""
_NAMING = ("any:", "=beside", "=with-all", "=why-not", "=claim")
_POINTING = ("as-many:", "=the-one", "=of-kind", "=one-that", "=variant-that", "=why-that", "=why-other", "=list")
_SWAPS = ("=swap", "=rather")
_BY_NAME = "Ask with the names of the instruments."
_NOT_SWAPPED = "What is to stand in its place is not understood here: ask the whole question."
_NO_FIRST = "The answer before counts, and names no one value whose instruments could be listed."
_OF_THE_FIRST = "Ask for the instruments of one of its lines by its name."
_SETS = (nodes.Filter, nodes.Count, nodes.Extreme, nodes.Group, nodes.Differences)
_TABLED = (*_SETS, nodes.Quantified)


class Reply(NamedTuple):
    """A reply with what went before it: how a question by itself is read (``alone``), and one that leans (``again``)."""

    text: str
    lexicon: Lexicon
    before: Before
    talk: Talk
    alone: Asked
    again: Callable[[str, Before], Understood]


def replied(reply: Reply, *, last: bool) -> Understood | None:
    """What a reply asks; None if no pattern fits it, or none that leads anywhere. ``last``: by those that are tried where
    nothing else does."""
    if not last and (two := weighed(reply.text, reply.lexicon, reply.talk, reply.before)) is not None:
        from kg.language.readings import Understood

        return Understood(two)
    if (found := _replied(reply, last)) is None and (short := _without_fillers(reply)) is not None:
        return _replied(short, last)
    return found


def _without_fillers(reply: Reply) -> Reply | None:
    """The reply without words at its end that say nothing ("what is it for, then?"); None if it has none."""
    parser = parser_for(reply.text, reply.lexicon)
    end = len(parser.tokens)
    while end > 1 and (parser.tokens[end - 1].kind == SYMBOL or parser.kinds(end - 1) == {"filler"}):
        end -= 1
    said = reply.text[: parser.tokens[end - 1].end]
    return reply._replace(text=said) if said != reply.text.rstrip(" ?.!") else None


def _replied(reply: Reply, last: bool) -> Understood | None:
    table = reply.talk.replies_last if last else reply.talk.replies
    swapped, pointed, several = False, "", None
    of_them = parser_for(reply.text, reply.lexicon).says("kw.them")  # "which of those cut rather than hold?"
    for act, words in filled(table, reply.text, reply.lexicon):
        if of_them and act.startswith("=swap"):
            continue
        swapped = swapped or act.startswith(_SWAPS)
        try:
            if (found := _done(act, words, reply)) is not None:
                return found
        except QuestionError as error:
            pointed = error.message if error.code == "BL-Q02" and act.startswith(_POINTING) else pointed
            several = several or (error if error.code == "BL-Q05" and act.startswith(_NAMING) else None)
    if several is not None:
        raise several
    if pointed:
        raise QuestionError("BL-Q02", pointed, question=reply.text, span=(0, len(reply.text.rstrip())), hint=_BY_NAME)
    if swapped and isinstance(reply.before.question, _TABLED):
        error = parser_for(reply.text, reply.lexicon).failure()
        raise QuestionError(error.code, error.message, question=reply.text, span=error.span, hint=_NOT_SWAPPED)
    return None


def _done(act: str, words: Mapping[str, str], reply: Reply) -> Understood | None:
    from kg.language.readings import Understood

    name, _, rest = act.partition(" ")
    said = rest.format(**words)
    if name in _TEXTS:
        before = _TEXTS[name](reply.before, words, reply)
        said = said if before is not None else ""
        if before is None or said == reply.text:
            return None
        found = reply.again(said, before)
        if isinstance(found.question, nodes.Quantified):  # "does it press the tongue down too?" of mouth gags
            found = found._replace(question=replace(found.question, expr=or_besides(found.question.expr, reply.lexicon)))
        return found
    if name in _ACTS:
        question = _ACTS[name](said, reply)
        return Understood(question) if question is not None else None
    if name in _WHOLE:
        return _WHOLE[name](said, reply)
    asked = act.format(**words)
    if asked.rstrip(" ?").casefold() == reply.text.rstrip(" ?").casefold():
        return None  # a reply that stands for itself would be read for ever
    return reply.again(asked, reply.before)


# --- who is meant ---------------------------------------------------------------------------------------------------------
def _the_two(before: Before, words: Mapping[str, str], reply: Reply) -> Before | None:
    """What went before as the two that were named or listed; None if it is not two."""
    whole = of_all_named(before, reply.lexicon)
    if _names_one(words, reply):
        return None
    if len(meant(whole, reply.lexicon)) != 2 and (two := both(before, reply.lexicon)):
        return replace(before.of(nodes.Compare(two)), names=two, shown=two)
    return whole if len(meant(whole, reply.lexicon)) == 2 else None


def _as_many(before: Before, words: Mapping[str, str], reply: Reply) -> Before | None:
    """The same for "these three"; None before a noun ("the two blades"). Raises QuestionError (BL-Q02) for another number than
    that of the list."""
    whole = of_all_named(before, reply.lexicon)
    wanted = int(reply.lexicon.words.numbers.get(words["n"].split()[0].casefold(), 0))
    parser = parser_for(words.get("b", ""), reply.lexicon)
    if not wanted or (parser.tokens and any(e.kind in CONTENT for _, es in parser.phrases(0) for e in es)):
        return None
    if wanted != (there := len(meant(whole, reply.lexicon))):
        raise QuestionError("BL-Q02", f"The answer before lists {there or 'none'}, not {wanted}.")
    return whole


def _a_few(before: Before, words: Mapping[str, str], reply: Reply) -> Before | None:
    """What went before as a few that "it" speaks of, of which one cannot be told from the others; None otherwise."""
    kinds = nodes.Filter | nodes.Extreme | nodes.Identify | nodes.Quantified
    if isinstance(before.question, nodes.Group):
        before = before.of(nodes.Filter(before.question.expr))
    if _names_one(words, reply) or before.subjects(reply.lexicon) or not isinstance(before.question, kinds):
        return None
    if isinstance(before.question, nodes.Quantified):
        return before.of(nodes.Filter(before.question.scope)) if names_several(before.question.scope) else None
    if isinstance(before.question, nodes.Identify):
        return before.of(nodes.Filter(disj([nodes.Named(n) for n in before.names[: before.alike]])))
    return before if 1 < len(meant(before, reply.lexicon)) <= FEW else None


def _names_one(words: Mapping[str, str], reply: Reply) -> bool:
    """Whether a reply names an instrument itself ("is either the Kelly or the Crile curved?")."""
    return any(parser_for(said, reply.lexicon).says("pattern") for said in words.values())


def _always(before: Before, words: Mapping[str, str], reply: Reply) -> Before:
    return before


def of_all_named(before: Before, lexicon: Lexicon) -> Before:
    """What went before, without what narrowed two that were named ("which of the two has teeth?")."""
    expr = before.expr(lexicon) if isinstance(before.question, _TABLED) else None
    either = [i for i in (_items(expr) if expr is not None else ()) if names_several(i)]
    if len(either) != 1:
        return before
    each = tuple(i.pattern for i in either[0].items)  # type: ignore[union-attr]
    return replace(before.of(nodes.Filter(either[0])), names=each, shown=each)


def meant(before: Before, lexicon: Lexicon) -> tuple[str, ...]:
    """The instruments that are spoken of, one by one."""
    question = before.question
    if isinstance(question, nodes.Compare | nodes.Contrast):
        return before.subjects(lexicon)
    expr = getattr(question, "expr", None)
    if isinstance(question, _TABLED) and expr is not None and names_several(expr):
        return tuple(i.pattern for i in expr.items)
    return before.shown


_TEXTS: dict[str, Callable[[Before, Mapping[str, str], Reply], Before | None]] = {
    "two:": _the_two,
    "as-many:": _as_many,
    "few:": _a_few,
    "any:": _always,
}


# --- acts -----------------------------------------------------------------------------------------------------------------
def said_of(before: Before, lexicon: Lexicon) -> tuple[list[Expr], list[Expr]] | None:
    """What bounds the list before, and what was said or asked of it: that by which it was narrowed last; else what stands last
    in a question "which ... are so"; else all but the family. None if nothing bounds it then."""
    question = before.question
    if isinstance(question, nodes.Quantified):
        return [question.scope], [question.expr]
    expr = getattr(question, "expr", None)
    if not isinstance(question, _SETS) or expr is None:
        return None
    items = _items(expr)
    if before.wider and (earlier := _items(before.wider[-1].expr)):
        added = [i for i in items if i not in earlier]
        return ([i for i in items if i in earlier], added) if added else None
    items = [part for i in items for part in parted(i, lexicon)]
    kept = [i for i in items if family_in(i)]
    said = [i for i in items if i not in kept]
    parser = parser_for(before.text, lexicon) if before.text else None
    asks = parser is not None and bool(parser.tokens) and not parser.kinds(0).isdisjoint(("kw.which", "kw.count", "kw.ones"))
    if len(said) > 1 and parser is not None and asks and not _joins(parser):
        last = max(i.span[0] for i in said)
        kept += [i for i in said if i.span[0] != last]
        said = [i for i in said if i.span[0] == last]
    return (kept, said) if kept and said else None


def _joins(parser: FormParser) -> bool:
    """Whether a text joins several conditions, of which the last is then not the only one that is asked about."""
    return parser.says("kw.and", "kw.or") or any(t.kind == SYMBOL and t.key == "," for t in parser.tokens[1:])


def _items(expr: Expr) -> list[Expr]:
    return list(expr.items) if isinstance(expr, nodes.And) else [expr]


def _opposite(said: str, reply: Reply) -> Question | None:
    """ "And which don't?": those of the same family that are not so; with "yes" those that are, after a list of those that are
    not ("and which do?")"""
    found = said_of(reply.before, reply.lexicon)
    if found is None:
        return None
    kept, asked = found
    if "yes" in said and len(nots := [i for i in asked if isinstance(i, nodes.Not)]) == 1:
        kept, asked = [*kept, *(i for i in asked if i not in nots)], list(nots)
    denied = len(asked) == 1 and isinstance(asked[0], nodes.Not)
    if "yes" in said and not denied and _denies(reply, (*kept, *asked)):
        return nodes.Filter(conj([*kept, *asked[:-1], nodes.Not(asked[-1])]))  # "used on bowel but do not crush", "which do?"
    if denied != ("yes" in said) or ("yes" in said and isinstance(reply.before.question, nodes.Quantified)):
        return None
    new = asked[0].expr if denied else nodes.Not(conj(asked))  # type: ignore[union-attr]
    expr = conj([*kept, new])
    return nodes.Count(expr) if "count" in said else nodes.Filter(expr)


def _denies(reply: Reply, items: Sequence[Expr]) -> bool:
    """Whether the list before, as it was typed, denies something that is read as a value ("do not crush")."""
    if not isinstance(reply.before.question, nodes.Filter) or any(isinstance(i, nodes.Not) for i in items):
        return False
    return parser_for(reply.before.text, reply.lexicon).says("kw.not", "kw.no", "kw.without")


def _list(said: str, reply: Reply) -> Question | None:
    """ "Which ones are there?" after a number or the meaning of a family: its list; "the full list again": the list before, and
    in "full" the one that it was narrowed from"""
    before, question = reply.before, reply.before.question
    if isinstance(question, nodes.Tally):
        if (first := of_the_first(before, reply.lexicon)) is None:
            raise QuestionError(
                "BL-Q02", _NO_FIRST, question=reply.text, span=(0, len(reply.text.rstrip())), hint=_OF_THE_FIRST
            )
        return first
    if said in ("full", "back") and before.wider:
        return nodes.Filter(before.wider[0 if said == "full" else -1].expr)
    if said == "back":
        return None
    if isinstance(question, nodes.Filter | nodes.Group | nodes.Extreme | nodes.Differences):
        return question if said else nodes.Filter(question.expr)
    if isinstance(question, nodes.Quantified):
        return nodes.Filter(conj([question.scope, question.expr])) if not said else None
    if isinstance(question, nodes.Count):
        return nodes.Filter(question.expr)
    term = getattr(question, "term", "") if isinstance(question, nodes.Define) else ""
    term = term or (question.category if isinstance(question, nodes.Classify) else "")
    if term and reply.lexicon.vocabulary.terms[term].role == "category":
        return nodes.Filter(nodes.IsA(term))
    return None


def _candidates(said: str, reply: Reply) -> Question | None:
    """ "What else could it be?": the candidates of an identification again"""
    return reply.before.question if isinstance(reply.before.question, nodes.Identify) else None


def _lengths(said: str, reply: Reply) -> Question | None:
    """ "By how much?" after which of two is longer: the lengths of both"""
    whole = of_all_named(reply.before, reply.lexicon)
    if not isinstance(whole.question, nodes.Compare | nodes.Extreme | nodes.Group | nodes.Filter):
        return None
    if not 1 < len(meant(whole, reply.lexicon)) <= 4 or (expr := whole.expr(reply.lexicon)) is None:
        return None
    return nodes.Group(expr, LENGTH)


def _swap(said: str, reply: Reply) -> Question | None:
    """ "The straight ones instead": the list before with another value, or with another condition for the last one"""
    return changed(said, reply, anew=True)


def _another(said: str, reply: Reply) -> Question | None:
    """ "And which run across?": the list before with another value of the same feature, or with one more condition"""
    return changed(said, reply, anew=False)


def _as(said: str, reply: Reply) -> Question | None:
    """ "Something curved?": the list before, as one or two words say"""
    return changed(said, reply, anew=False) if len(said.split()) <= MOST_AS else None


def changed(said: str, reply: Reply, *, anew: bool) -> Question | None:
    if isinstance(reply.before.question, nodes.Holds | nodes.Why):  # "is it used on bowel?", "and on vessels?"
        new = condition(said, [], reply.lexicon, reply.alone)
        return replace(reply.before.question, expr=new) if new is not None else None
    before = _listed(reply.before, reply.lexicon)
    old, lexicon = before.expr(lexicon=reply.lexicon), reply.lexicon
    if old is None or not isinstance(before.question, _TABLED):
        return None
    items = [part for i in _items(old) for part in parted(i, lexicon)]
    if anew and (family := _family(said, reply)) is not None:
        return nodes.Filter(joined(old, family, False, lexicon))  # "now the forceps instead"
    new = condition(said, items, lexicon, reply.alone) or of_a_sibling(said, items, lexicon)
    if new is None:
        return None
    items = [part for i in items for part in parted_by(i, _items(new), lexicon, by_name=True)]
    spoken = {f for i in _items(new) for f in _spoken_of(i)}
    kept = [i for i in items if not _spoken_of(i) & spoken or any(other_end(i, n) for n in _items(new))]
    if len(kept) < len(items):
        new_list = conj([*kept, new])
    else:
        new_list = joined(conj(items), new, False, lexicon)
        if anew and set(items) <= set(_items(new_list)):
            bounds = said_of(before, lexicon)
            if bounds is None:
                return None
            new_list = conj([*bounds[0], new])
    return nodes.Filter(new_list)


def _of_family(said: str, reply: Reply) -> Question | None:
    """ "And which forceps?" after "which clamps have it?": the list before, of another family"""
    before, family = reply.before, _family(said, reply)
    if family is None or not isinstance(before.question, nodes.Filter) or (found := said_of(before, reply.lexicon)) is None:
        return None
    return nodes.Filter(joined(conj([*found[0], *found[1]]), family, False, reply.lexicon))


def _family(said: str, reply: Reply) -> Expr | None:
    """The family that a few words name and say nothing more of."""
    parser = parser_for(said, reply.lexicon)
    found = parser.description()
    return found if found is not None and is_family(found) and parser.ended() else None


def _spoken_of(expr: Expr) -> set[str]:
    """The features or the part that a condition, or its denial, speaks of."""
    inner = expr.expr if isinstance(expr, nodes.Not) else expr
    return {inner.part} if isinstance(inner, nodes.HasPart) else features_of(inner)


def _keep(said: str, reply: Reply) -> Question | None:
    """ "Which of those has a spring?": the list before, narrowed"""
    before = _listed(reply.before, reply.lexicon)
    old = before.expr(reply.lexicon)
    if old is None or not isinstance(before.question, (*_TABLED, nodes.Identify)):
        return None
    count, said = said.startswith("count "), said.removeprefix("count ")
    new = condition(said, _items(old), reply.lexicon, reply.alone, within=False)
    if new is None:
        return None
    expr = joined(old, new, True, reply.lexicon)
    return nodes.Count(expr) if count else nodes.Filter(expr)


def _true(said: str, reply: Reply) -> Question | None:
    """ "Do they have a ratchet?": whether it is so of all of the list before; with "any" of any of them"""
    whole = of_all_named(reply.before, reply.lexicon)
    if isinstance(whole.question, SEVERAL):
        whole = the_whole(whole, reply.lexicon)
    old = whole.expr(reply.lexicon)
    if old is None or not isinstance(whole.question, _TABLED):
        return None
    quantifier, _, said = said.partition(" ")
    if quantifier == "any" and not names_several(old):
        return None  # those that are so are listed
    new = condition(said, _items(old), reply.lexicon, reply.alone, within=False)
    if new is None:
        return None
    return nodes.Quantified(old, or_besides(new, reply.lexicon), "any" if quantifier == "any" else "")


def _same(said: str, reply: Reply) -> Question | None:
    """ "And does the Heaney?", "and do all needle holders?" after a question of one or of several: the same of another"""
    question = reply.before.question
    if isinstance(question, nodes.Holds):
        return _said_of_another(said, question.expr, reply) or _of_its_family(said, question, reply)
    several = said_of(reply.before, reply.lexicon) if isinstance(question, nodes.Quantified | nodes.Filter) else None
    found = _said_of_another(said, conj(several[1]), reply) if several else None
    if found is None and isinstance(question, nodes.Filter | nodes.Group) and names_family(question.expr):
        found = _said_of_another(said, question.expr, reply)  # "forceps by kind", "is a haemostat one of them?"
    return found if isinstance(found, nodes.Quantified) else None


def _of_its_family(said: str, question: nodes.Holds, reply: Reply) -> Question | None:
    """ "Does a Gillies?" of a Mayo-Hegar needle holder: the bearer of the name that is called by the same noun"""
    words = reply.lexicon.vocabulary.label(question.pattern).split()
    for at in range(1, len(words)):
        with suppress(QuestionError):
            if found := _said_of_another(f"{said} {' '.join(words[at:])}", question.expr, reply):
                return found if isinstance(found, nodes.Holds) else None
    return None


def _having(said: str, reply: Reply) -> Question | None:
    """ "And do all artery forceps have one?", "which retractors have it?": whether another or a family has what was asked,
    or which or how many of it"""
    question, lexicon, expr = reply.before.question, reply.lexicon, None
    with_ = f"{lexicon.word('with')} "
    asked, _, said = said.partition(" ")
    if isinstance(question, nodes.Define | nodes.PartOf):
        term = question.term if isinstance(question, nodes.Define) else question.part
        if lexicon.vocabulary.terms[term].role in ("part", "value"):
            found = reply.alone(f"{lexicon.word('instrument')}s {with_}{lexicon.name(term)}").question
            expr = found.expr if isinstance(found, nodes.Filter) else None
    elif isinstance(question, nodes.Holds):
        expr = question.expr
    elif isinstance(question, nodes.Value) and (told := of_the_value("which", reply)) is not None:
        expr = told.expr  # "what is the handle of a Castroviejo?", "which scissors have one?"
    elif said_before := said_of(reply.before, lexicon):
        expr = said_before[1][-1] if said_before[1] else None
    had = expr is not None and (isinstance(question, nodes.Define | nodes.Value) or with_ in say_expr(expr, lexicon))
    if expr is None or not (had or isinstance(expr, nodes.HasPart)):
        return None
    if asked == "whether":
        return _said_of_another(said, expr, reply)
    if isinstance(question, nodes.Define | nodes.PartOf):
        return None
    parser = parser_for(said, lexicon)
    scope = parser.description()
    if scope is None or not parser.ended() or not (names_family(scope) or isinstance(scope, nodes.Everything)):
        return None
    return nodes.Filter(conj([scope, expr])) if asked == "which" else nodes.Count(conj([scope, expr]))


def _of_the_one(said: str, reply: Reply) -> Question | None:
    """ "How many prongs?": what is recorded of the one instrument that went before, and not how many instruments have some"""
    subjects, lexicon = reply.before.subjects(reply.lexicon), reply.lexicon
    one = len(subjects) == 1 and lexicon.vocabulary.terms[subjects[0]].role == "pattern"
    if not one or isinstance(reply.before.question, (*_TABLED, nodes.Identify)):
        return None
    found = reply.alone(f"{said} {say_expr(nodes.Named(subjects[0]), lexicon)}").question
    return found if isinstance(found, nodes.Value) and found.subject == subjects[0] and found.features else None


def _said_of_another(said: str, expr: Expr, reply: Reply) -> Question | None:
    """Whether it is so of the instrument that a few words name, or of all or any of a family."""
    with suppress(QuestionError):
        if pattern := named(said, reply, "pattern"):
            return nodes.Holds(pattern, expr)
    parser = parser_for(said, reply.lexicon)
    quantifier = parser.quantifier()
    scope = parser.scope()
    if scope is None or not parser.ended() or not names_family(scope):
        return None
    return nodes.Quantified(scope, expr, quantifier)


def _listed(before: Before, lexicon: Lexicon) -> Before:
    return the_whole(before, lexicon) if isinstance(before.question, (*SEVERAL, nodes.Extreme, nodes.Differences)) else before


_ACTS: dict[str, Callable[[str, Reply], Question | None]] = {
    "=opposite": _opposite,
    "=more-than": more_than,
    "=both-made": both_made,
    "=list": _list,
    "=candidates": _candidates,
    "=lengths": _lengths,
    "=swap": _swap,
    "=rather": _swap,
    "=another": _another,
    "=keep": _keep,
    "=true": _true,
    "=same": _same,
    "=having": _having,
    "=of": _of_the_one,
    "=beside": beside,
    "=why-not": why_not,
    "=claim": claimed,
    "=with-all": with_all,
    "=why-that": why_that,
    "=why-other": why_other,
    "=why-none": why_none,
    "=what-for": what_for,
    "=part-for": part_for,
    "=for": for_another,
    "=again": again,
    "=family": _of_family,
    "=as": _as,
    "=next": another_in_turn,
    "=value": of_the_value,
    "=how-long": how_long,
    "=care": all_the_care,
    "=telling": telling,
    "=of-each": some_of_each,
    "=ranked": ranked,
    "=bound": bound,
    "=commonest": commonest,
    "=group": its_group,
    "=facts": facts_about,
    "=sources": same_sources,
    "=disputes": disagreeing,
    "=why-not-used": why_not_used,
    "=one-that": one_that,
    "=variant-that": variant_that,
    "=of-kind": having_the_kind,
    "=found-on": found_on,
    "=meaning": meaning,
    "=where": where_it_is,
    "=the-one": the_one,
    "=of-named": of_the_named,
    "=number": numbered,
    "=kind-of": kind_of,
    "=that": that_thing,
    "=done-to": done_to_it,
    "=groups": groups,
    "=why-value": why_value,
    "=care-of": care_of,
    "=being": being_so,
    "=family-beside": family_beside,
    "=side-by-side": side_by_side,
}


_WHOLE: dict[str, Callable[[str, Reply], Understood | None]] = {"=why-have": why_have}
"""Those that say more than a question: words that were not read, or that no reason is recorded."""

KNOWN = frozenset((*_ACTS, *_TEXTS, *_WHOLE))
"""What a pattern of a reply may ask for by name."""


__all__ = ["KNOWN", "Reply", "changed", "replied", "said_of"]
