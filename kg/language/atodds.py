"""A list of instruments that are said to do what their family is not made for: "which needle holder cuts as well?".

Of some features a pattern has one value, and a family is defined by it: what a needle holder is made for is known. Another
such value said of the family can then only mean what it is used for besides; and a verb of holding, said of a family that is
made for something else, only that it is put there ("clamps that grip the bowel").
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator

from kg import names
from kg.language import nodes
from kg.language.joining import conj, disj
from kg.language.lexicon import Lexicon
from kg.language.nodes import Expr, Question
from kg.language.parse import parser_for
from kg.records import replace
from kg.vocabulary import Vocabulary

MOST_OF_A_TASK = (2, 3)
"""A task that is a verb and a thing has so many words without articles ("dividing a rib", "holding the liver up")."""


def excluded(expr: Expr, vocabulary: Vocabulary) -> Iterator[tuple[nodes.Has, str, str]]:
    """(what is said, the family, the value that it has by its definition) wherever nothing of the family can be as is said."""
    items = expr.items if isinstance(expr, nodes.And) else ()
    families = [i.category for i in items if isinstance(i, nodes.IsA)]
    for item in items:
        if isinstance(item, nodes.Has):
            found = ((c, v) for c in families for f, v in _fixed(c, vocabulary) if f == item.feature)
            yield from ((item, c, v) for c, v in found if vocabulary.exclude(item.feature, v, item.value))


def eased(question: Question, lexicon: Lexicon, recorded: Callable[[Expr, str], Collection[str]]) -> Question | None:
    """The same list or count with what nothing of its family can be made for taken as what it is used for besides, or only as
    where it is put; None if nothing of the kind is said or known. ``recorded``: the values of a feature that instruments
    which fit a description are recorded with."""
    if not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(question.expr, nodes.And):
        return None
    odd = {item for item, _, _ in excluded(question.expr, lexicon.vocabulary)}
    rest: list[Expr] = [i for i in question.expr.items if i not in odd]
    said = [i.items if isinstance(i, nodes.Or) else (i,) for i in rest]  # "that hold bowel or stomach"
    places = lexicon.words.set_places
    placed = any(all(isinstance(j, nodes.Has) and j.feature in places for j in each) for each in said)
    added: list[Expr] = []
    for item in odd:
        if placed and item.value in lexicon.words.put_there:
            continue
        further = lexicon.words.besides.get(item.feature, "")
        wide = lexicon.vocabulary.label(item.value)
        named = ((v, lexicon.vocabulary.label(v)) for v in recorded(conj(rest), further)) if further and rest else ()
        other = [nodes.Has(further, v, item.span) for v, label in sorted(named) if f"{label} ".startswith(f"{wide} ")]
        if not other:
            return None
        added.append(disj(other) if len(other) > 1 else other[0])
    return replace(question, expr=conj([*rest, *added])) if odd else None


def done_besides(question: nodes.Holds, lexicon: Lexicon, recorded: Collection[str]) -> Iterator[nodes.Holds]:
    """The same question of one instrument, of what it is used for besides that is the same or its kin (dissecting: blunt
    dissection), or of the thing that this is done to. ``recorded``: what it is recorded to be used for besides."""
    said = question.expr
    if isinstance(said, nodes.And):  # "used in childbirth and made for rupturing the membranes"
        for item in (i for i in said.items if isinstance(i, nodes.Has) and i.feature in lexicon.words.besides):
            rest = [i for i in said.items if i is not item]
            for other in done_besides(nodes.Holds(question.pattern, item), lexicon, recorded):
                yield replace(question, expr=conj([*rest, other.expr]))
        return
    if not isinstance(said, nodes.Has) or said.feature not in lexicon.words.besides:
        return
    vocabulary, further = lexicon.vocabulary, lexicon.words.besides[said.feature]
    wide, kin = vocabulary.label(said.value), lexicon.words.kin.get(said.value, ())
    for value in sorted(recorded):
        if value in kin or f"{vocabulary.label(value)} ".startswith(f"{wide} "):
            yield replace(question, expr=nodes.Has(further, value, said.span))
    broader = vocabulary.ancestors(said.value)
    thing = wide.removeprefix(f"{vocabulary.label(broader[-1])} ") if broader else wide
    for entry in lexicon.entries(thing) if thing != wide else ():
        feature = vocabulary.terms[entry.term].feature if entry.kind == "value" else ""
        if feature in lexicon.words.set_places:
            done = nodes.Has(said.feature, broader[0], said.span)
            yield replace(question, expr=nodes.And((done, nodes.Has(feature, entry.term, said.span)), said.span))


def done_to(question: nodes.Holds, lexicon: Lexicon) -> Iterator[nodes.Holds]:
    """The same question of one instrument with a narrow task said as the wide one and the thing that it is done to ("holding
    the liver up": retracting, on the liver), where the task says no more than a verb and the thing."""
    said = question.expr
    if not isinstance(said, nodes.Has) or said.feature not in lexicon.words.besides:
        return
    vocabulary, words = lexicon.vocabulary, lexicon.words
    broader = vocabulary.ancestors(said.value)
    bare = [w for w in vocabulary.label(said.value).split() if w not in words.articles]
    if not broader or not MOST_OF_A_TASK[0] <= len(bare) <= MOST_OF_A_TASK[1]:
        return
    for entry in lexicon.entries(bare[1]):
        feature = vocabulary.terms[entry.term].feature if entry.kind == "value" else ""
        if feature in words.set_places:
            done = nodes.Has(said.feature, broader[0], said.span)
            yield replace(question, expr=nodes.And((done, nodes.Has(feature, entry.term, said.span)), said.span))


def as_well(question: Question, lexicon: Lexicon) -> Question | None:
    """The same list or count with those that are used for a task besides, where what is made for it is meant by no more than a
    verb ("what ruptures the membranes?"); None if no further use is that task, or if it is a whole family of tasks."""
    if not isinstance(question, nodes.Filter | nodes.Count):
        return None
    vocabulary, further = lexicon.vocabulary, lexicon.words.besides
    items = question.expr.items if isinstance(question.expr, nodes.And) else (question.expr,)
    if any(isinstance(i, nodes.Has) and i.feature in further.values() for i in items):
        return None
    out: list[Expr] = []
    for item in items:
        twins: list[str] = []
        if isinstance(item, nodes.Has) and item.feature in further and item.value not in vocabulary.children:
            start = f"{vocabulary.label(item.value)} as a "
            values = (t for t in vocabulary.terms.values() if t.role == "value" and t.feature == further[item.feature])
            twins = sorted(t.name for t in values if t.label.startswith(start))
            out.append(disj([item, *(nodes.Has(further[item.feature], twin, item.span) for twin in twins)]) if twins else item)
        else:
            out.append(item)
    return replace(question, expr=conj(out) if len(out) > 1 else out[0]) if tuple(out) != tuple(items) else None


def or_besides(expr: Expr, lexicon: Lexicon) -> Expr:
    """What is made for a task, or used for the same besides, where that has a name of its own ("does it press the tongue down
    too?" of mouth gags)."""
    if not isinstance(expr, nodes.Has) or not (further := lexicon.words.besides.get(expr.feature, "")):
        return expr
    terms = lexicon.vocabulary.terms
    kin = [v for v in lexicon.words.kin.get(expr.value, ()) if v in terms and terms[v].feature == further]
    return disj([expr, *(nodes.Has(further, v, expr.span) for v in kin)]) if kin else expr


def is_own_task(said: Expr, lexicon: Lexicon) -> bool:
    """Whether a task is said that belongs to no family of them ("rupturing the membranes"): what is made for something else
    may well be used for it, and only a record could tell. What cuts, clamps or drills is made for it."""
    if not isinstance(said, nodes.Has) or said.feature not in lexicon.words.besides:
        return False
    return said.value not in lexicon.vocabulary.children and not lexicon.vocabulary.ancestors(said.value)


def either(question: Question, lexicon: Lexicon) -> Question | None:
    """The same list of what is used for, on or in any of several things that were all asked for; None if there are none. Asked
    where nothing is recorded with all of them: "dilators for urology and gynaecology" wants those of either."""
    if not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(question.expr, nodes.And):
        return None
    places = lexicon.words.set_features | lexicon.words.set_places
    groups: dict[str, list[nodes.Has]] = {}
    for item in question.expr.items:
        if isinstance(item, nodes.Has) and item.feature in places:
            groups.setdefault(item.feature, []).append(item)
    several = {f: found for f, found in groups.items() if len(found) > 1}
    if not several:
        return None
    rest = [i for i in question.expr.items if not (isinstance(i, nodes.Has) and i.feature in several)]
    return replace(question, expr=conj([*rest, *(disj(found) for found in several.values())]))


def _uses_it(text: str, lexicon: Lexicon) -> bool:
    """Whether somebody is said who may use an instrument; "vet instruments" says of what kind they are."""
    parser = parser_for(text, lexicon)
    doers = lexicon.words.doers
    for at, token in enumerate(parser.tokens):
        if text[token.start : token.end].casefold() in doers:
            behind = parser.kinds(at + 1) if at + 1 < len(parser.tokens) else frozenset()
            if not set(behind) & {"kw.instrument", "category", "kind", "group"}:
                return True
    return False


def whoever(question: Question, text: str, lexicon: Lexicon) -> Question | None:
    """The same list without who is said to use it, where more is said than a family ("what does a vascular surgeon use on large
    vessels?"); None if nobody is, or nothing more. The speciality is recorded of few, and what is done is what is asked."""
    words = lexicon.words
    if not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(question.expr, nodes.And):
        return None
    if not _uses_it(text, lexicon):
        return None  # "urological instruments that are hollow", "vet instruments"
    who = [i for i in question.expr.items if isinstance(i, nodes.Has) and i.feature in words.set_who]
    rest = [i for i in question.expr.items if i not in who]
    done = words.set_places | set(words.besides) | set(words.besides.values())
    said = [j for i in rest for j in (i.items if isinstance(i, nodes.Or) else (i,))]
    use = any(isinstance(i, nodes.Has) and i.feature in done for i in said)
    return replace(question, expr=conj(rest)) if who and use else None


def picked_up(question: Question, text: str, lexicon: Lexicon) -> Question:
    """A list of what somebody picks up for something, which says nothing of grasping ("what does an eye surgeon pick up for
    the lids?"): without that; the question itself if it asks for no such list."""
    words = lexicon.words
    if not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(question.expr, nodes.And):
        return question
    said = f" {text.casefold()} "
    if words.doers.isdisjoint(said.split()) or not any(f" {phrase} " in said for phrase in words.choosing):
        return question
    rest = [i for i in question.expr.items if not (isinstance(i, nodes.Has) and i.value in words.put_there)]
    more = [i for i in rest if not (isinstance(i, nodes.IsA) or (isinstance(i, nodes.Has) and i.feature in words.set_who))]
    return replace(question, expr=conj(rest)) if more and len(rest) < len(question.expr.items) else question


def held_gently(question: Question, lexicon: Lexicon) -> Question:
    """A list of what holds a part of the body with some effect on it ("instruments that hold bowel without crushing it"), with
    what closes on it as well as what is made for grasping: no family is named, and to hold says only where it is put."""
    if not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(question.expr, nodes.And):
        return question
    words, items = lexicon.words, question.expr.items
    inner = [i.expr if isinstance(i, nodes.Not) else i for i in items]
    has = [i for i in inner if isinstance(i, nodes.Has)]
    if any(not isinstance(i, nodes.Has | nodes.Or) for i in inner) or not words.holding:
        return question
    said = [i for i in items if isinstance(i, nodes.Has) and i.value in words.put_there]
    if not said or not all(any(i.feature in f for i in has) for f in (words.set_places, words.effects)):
        return question
    closing = [nodes.IsA(c, said[0].span) for c in words.holding]
    return replace(question, expr=conj([disj([said[0], *closing]), *(i for i in items if i not in said)]))


def not_held(question: Question, lexicon: Lexicon) -> Question:
    """A list of what does not hold a part of the body ("forceps that do not hold vessels"): nor what closes on it, for whoever
    clamps a vessel holds it."""
    if not isinstance(question, nodes.Filter | nodes.Count):
        return question
    if isinstance(question.expr, nodes.Not):
        return replace(question, expr=_nor_closed_on(question.expr, lexicon))
    items = question.expr.items if isinstance(question.expr, nodes.And) else ()
    meant = [_nor_closed_on(i, lexicon) if isinstance(i, nodes.Not) else i for i in items]
    return replace(question, expr=conj(meant)) if meant != list(items) else question


def _nor_closed_on(denied: nodes.Not, lexicon: Lexicon) -> Expr:
    words, items = lexicon.words, denied.expr.items if isinstance(denied.expr, nodes.And) else ()
    said = [i for i in items if isinstance(i, nodes.Has) and i.value in words.put_there]
    rest = [i for i in items if i not in said and not isinstance(i, nodes.Everything)]
    to = [j for i in rest for j in (i.items if isinstance(i, nodes.Or) else (i,))]
    if not said or not to or not all(isinstance(j, nodes.Has) and j.feature in words.set_places for j in to):
        return denied
    held = disj([said[0], *(nodes.IsA(c, said[0].span) for c in words.holding)])
    return nodes.Not(conj([held, *rest]), denied.span)


def _fixed(category: str, vocabulary: Vocabulary, seen: frozenset[str] = frozenset()) -> Iterator[tuple[str, str]]:
    """(feature, value) that every member of a category has by its definition."""
    for prop, value in vocabulary.definitions.get(category, ()):
        if prop == names.TYPE and value not in seen:
            yield from _fixed(value, vocabulary, seen | {category})
        elif prop in vocabulary.features:
            yield prop, value
