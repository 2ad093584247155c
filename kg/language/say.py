"""Question -> the sentence it is read back with.

The sentence is plain English wherever that is unambiguous: each wording is parsed again, and only one that gives the
same
tree is used. The last wording, with every bracket and every feature named, always does.
"""

from __future__ import annotations

from collections.abc import Iterator

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.lexicon import Lexicon
from kg.language.nodes import Expr, Question
from kg.language.parse import parse
from kg.language.parse_more import COUNTED, PLACES
from kg.language.phrasing import Phrasing
from kg.wording import plural

REMEMBERED = 4_096
"""So many sentences are remembered."""


def say(question: Question, lexicon: Lexicon) -> str:
    """The canonical sentence of a question; ``parse`` of it gives an equal tree (if it is within the limits of a
    question). Remembered with the lexicon."""
    known = lexicon.said.get(question)
    if known is None:
        if len(lexicon.said) >= REMEMBERED:
            lexicon.said.clear()
        known = lexicon.said[question] = _said(question, lexicon)
    return known


def _said(question: Question, lexicon: Lexicon) -> str:
    last = ""
    for text in _wordings(question, Phrasing(lexicon)):
        last = text
        try:
            if parse(text, lexicon) == question:
                return text
        except QuestionError:
            continue
    return last


def _paired(question: nodes.Tally, p: Phrasing) -> Iterator[str]:
    """Pairs of look-alikes, what tells them apart, what facts rest on."""
    word = p.lexicon.word
    for wording in (lambda e: "", *p.levels()) if question.scope == nodes.Everything() else p.levels():
        scope = wording(question.scope)
        if question.by.startswith(nodes.ROWS):
            features = [p.lexicon.name(f) for f in question.by.removeprefix(nodes.ROWS).split(",")]
            yield f"{word('table_of')} {scope} {word('table_with')} {p.listed(features)}"
            continue
        if question.by == nodes.PAIR_OF:
            yield f"{word('pair_word')} {word('one_of')} {scope}"
            continue
        if question.by == "basis":
            about = f"{word('about')} {scope} " if scope else ""
            yield f"{word('share_facts')} {about}{word('each_basis')}?"
            continue
        among = f" {word('among')} {scope}" if scope else ""
        if question.by == "sign":
            yield f"{word('signs_apart')}{among}?"
        elif question.by != nodes.PAIR:
            slot = p.lexicon.name(question.by.removeprefix(f"{nodes.PAIR}:"))
            yield f"{word('pair_word')}{among} {word('apart_only')} {slot}"
        elif question.pick:
            what = word("feature_word") if question.number == 1 else plural(word("feature_word"))
            many = f"{question.number} {what}" if question.number else word("no_feature")
            yield f"{word('pair_word')}{among} {word('apart_in')} {many}"
        else:
            yield f"{word('pair_word')}{among}"


def say_expr(expr: Expr, lexicon: Lexicon) -> str:
    """A description by itself ("clamps with a ratchet")."""
    if isinstance(expr, nodes.Named):
        return lexicon.name(expr.pattern)
    return say(nodes.Filter(expr), lexicon)


def _wordings(question: Question, p: Phrasing) -> Iterator[str]:
    """Sentences for a question, the most natural first."""
    word = p.lexicon.word
    match question:
        case nodes.Filter(expr):
            for wording in p.levels():
                yield wording(expr)
        case nodes.Count(expr):
            for wording in p.levels():
                yield f"{word('count')} {wording(expr)}?"
        case nodes.Counts(exprs):
            for wording in p.levels():
                each = (f"{word('count')} {wording(expr)}" for expr in exprs)
                yield f" {word('and')} ".join(each) + "?"
        case nodes.Group(expr, feature, down):
            order = f", {word('downwards')}" if down else ""
            for wording in p.levels():
                yield f"{wording(expr)} {word('by')} {p.lexicon.name(feature)}{order}"
        case nodes.Extreme(expr, most, by, number, place):
            end = "longest" if most else "shortest"
            sup = word(f"{PLACES[place - 1]}_{end}" if place else end)
            sup = f"{sup} {word('and')} {word('shortest')}" if by == "ends" else sup
            for wording in p.levels():
                if by == "range":
                    yield f"{word('which')} {wording(expr)} {word('have')} the {sup} {word('range')}?"
                else:
                    yield f"the {f'{number} ' if number else ''}{sup} {wording(expr)}"
        case nodes.Quantified(scope, expr, quantifier):
            yield from _quantified(scope, expr, quantifier, p)
        case nodes.Tally(by, _, scope, _) if by in ("sign", "basis") or by.startswith((nodes.PAIR, nodes.ROWS)):
            yield from _paired(question, p)
        case nodes.Tally(by, "", scope):
            what = word(f"{by}_word") if by in COUNTED else p.lexicon.name(by)
            if scope == nodes.Everything():
                yield f"{word('count')} {plural(word('instrument'))} {word('in_each')} {what}?"
            for wording in p.levels():
                yield f"{word('count')} {wording(scope)} {word('in_each')} {what}?"
        case nodes.Tally(by, pick, scope, number) if by == "alike" or by.startswith(nodes.EACH):
            many = word("no") if (pick, number) == ("=", 0) else _bounded(p, pick, number)
            what = by.removeprefix(nodes.EACH)
            named = what in ("alike", "name", "source", "dispute", "category")
            shared = what.removeprefix(nodes.SHARED) if what.startswith(nodes.SHARED) else ""
            counted = word(f"{what}_word") if named else p.lexicon.name(shared or what)
            counted = f"{word('shared_word')} {counted}" if shared else counted
            for wording in p.levels():
                one = bool(shared) or (number == 1 and pick in nodes.BOUNDS)
                yield f"{word('which')} {wording(scope)} {word('have')} {many} {counted if one else plural(counted)}?"
        case nodes.Tally(by, pick, scope, number):
            what = word(f"{by}_word") if by in COUNTED else p.lexicon.name(by)
            asked = f"{word('which')} {what} {word('tally_verb')} {_bounded(p, pick, number)}"
            if scope == nodes.Everything():
                yield f"{asked} {plural(word('instrument'))}?"
            for wording in p.levels():
                yield f"{asked} {wording(scope)}?"
        case nodes.Gaps(nodes.Named(pattern)):
            yield f"{word('gaps')} {p.lexicon.name(pattern)}?"
        case nodes.Gaps(expr):
            for wording in p.levels():
                yield f"{word('gaps')} {wording(expr)}?"
        case nodes.Filed(pattern):
            yield f"{word('filed_where')} {word('be')} {p.lexicon.name(pattern)} {word('filed')}?"
        case nodes.Weak(nodes.Everything(), basis):
            yield f"{word('which')} {plural(word('fact'))} {word(f'weak_{basis}' if basis else 'weak')}?"
        case nodes.Weak(expr, basis):
            rests = word(f"weak_{basis}" if basis else "weak")
            for wording in p.levels():
                text = p.lexicon.name(expr.pattern) if isinstance(expr, nodes.Named) else wording(expr)
                yield f"{word('which')} {plural(word('fact'))} {word('about')} {text} {rests}?"
        case nodes.DefineAll(terms):
            roles = p.lexicon.words.roles
            plain = [p.lexicon.name(t) for t in terms]
            yield f"{word('define')} {p.listed(plain)}"
            named = [f"the {roles[p.lexicon.vocabulary.terms[t].role]} {p.lexicon.vocabulary.label(t)}" for t in terms]
            yield f"{word('define')} {p.listed(named)}"
        case nodes.PartOf(part, subject):
            yield f"{word('whatis')} the {p.lexicon.name(part)} {word('of')} {p.subject(subject)} {word('part_for')}?"
        case nodes.Identify(seen):
            yield f"{word('identify')} {seen}"
        case nodes.Value(subject, features):
            if not features:
                yield f"{word('whatis')} {word('recorded')} {p.subject(subject)}?"
            else:
                yield from p.asked(subject, features)
                yield f"{p.what_are(features)} the {p.features(features)} {word('of')} {p.subject(subject)}?"
        case nodes.Compare(subjects, True):
            yield f"{word('tells')} {p.listing(subjects)} {word('apart')}?"
        case nodes.Compare(subjects):
            yield f"{word('compare')} {p.listing(subjects)}"
        case nodes.Differences(expr):
            if isinstance(expr, nodes.Named):
                yield f"{word('compare')} {p.lexicon.name(expr.pattern)} {word('mutually')}"
            for wording in p.levels():
                yield f"{word('compare')} {wording(expr)}"
            yield f"{word('compare')} ({p.explicit(expr)})"
        case nodes.Describe(pattern, ()):
            yield f"{word('describe')} {p.lexicon.name(pattern)}"
        case nodes.Describe(pattern, parts):
            named = p.listed([p.lexicon.name(part) for part in parts])
            yield f"{word('describe')} the {named} {word('of')} {p.lexicon.name(pattern)}"
        case nodes.LookAlikes(pattern):
            yield f"{word('lookalikes')} {p.lexicon.name(pattern)}"
        case nodes.Alike(pattern, expr, size):
            yield from _alike(p, pattern, expr, size)
        case nodes.Telling(subject, None):
            yield f"{word('telling')} {p.subject(subject)}"
        case nodes.Telling(subject, scope):
            for wording in p.levels():
                yield f"{word('telling')} {p.subject(subject)} {word('among')} {wording(scope)}"
        case nodes.Holds(pattern, expr):
            yield from _predications(pattern, expr, False, p, "")
        case nodes.Why(pattern, expr, negated):
            yield from _predications(pattern, expr, negated, p, f"{word('why')} ")
        case nodes.Contrast(pattern, other, expr):
            yield from _predications(pattern, expr, False, p, f"{word('why')} ", other)
        case nodes.NewCategory(name, expr):
            for wording in p.levels():
                yield f"{word('define')} {name} {word('as')} {wording(expr)}"
        case nodes.Define(term):
            label = p.lexicon.vocabulary.label(term) if term in p.lexicon.vocabulary.terms else p.lexicon.name(term)
            yield f"{word('whatis')} {p.article(term, label)}?"
            for text in (label, p.lexicon.name(term)):
                yield f"{word('define')} {text}"
                for role in p.lexicon.words.roles.values():
                    yield f"{word('define')} the {role} {text}"
        case nodes.Classify(category):
            yield f"{word('classify')} {p.lexicon.name(category, many=True)}"
        case nodes.Sources(subject, features):
            of = f"the {p.features(features)} {word('of')} " if features else ""
            yield f"{word('sources')} {of}{p.lexicon.name(subject)}"
        case nodes.Cycles():
            yield p.cycles(question)
        case nodes.Reprocessing(subject):
            yield f"{word('reprocessing')} {p.subject(subject)}"
        case nodes.CareNotes(topics, subject):
            known = p.lexicon.words.care
            of = f" {word('care_for')} {p.subject(subject)}" if subject else ""
            yield f"{word('care_notes')} {p.listed([known[t]['say'] for t in topics if t in known])}{of}"
        case nodes.ReasonNotes(notes):
            reasons = p.lexicon.words.reasons.get("note", {})
            yield f"{word('reason_notes')} {p.listed([reasons[n]['say'] for n in notes if n in reasons])}"
        case nodes.Disputes(nodes.Everything(), ()):
            yield f"{word('whatis')} {word('disputed')}?"
        case nodes.Disputes(nodes.Everything(), features):
            yield f"{word('disputes')} {word('about')} the {p.features(features)}"
        case nodes.Disputes(expr, features):
            of = f"the {p.features(features)} {word('of')} " if features else ""
            if isinstance(expr, nodes.Named):
                yield f"{word('disputes')} {word('about')} {of}{p.lexicon.name(expr.pattern)}"
            for wording in p.levels():
                yield f"{word('disputes')} {word('about')} {of}{wording(expr)}"


def _bounded(p: Phrasing, pick: str, number: int) -> str:
    """ "the most", "the fewest", "at least 10" """
    bounds = p.lexicon.words.counting
    return (
        f"{bounds[pick]} {number}" if pick in bounds else f"the {p.lexicon.word('most_of' if pick == 'most' else 'fewest_of')}"
    )


def _alike(p: Phrasing, pattern: str, expr: nodes.Expr | None, size: str) -> Iterator[str]:
    """ "artery forceps like Kelly forceps but with teeth", "like Kelly forceps but longer" """
    word = p.lexicon.word
    if size:
        scopes = [wording(expr) for wording in p.levels()] if expr is not None else [plural(word("instrument"))]
        for scope in scopes:
            yield f"{scope} {word('like')} {p.lexicon.name(pattern)} {word('but')} {word(size)}"
        return
    for strict in (False, True):
        head, after = p.split(expr or nodes.Everything(), strict=strict)
        yield f"{head} {word('like')} {p.lexicon.name(pattern)} {word('but')} {after}"
    everything = f"{plural(word('instrument'))} {word('like')} {p.lexicon.name(pattern)} {word('but')}"
    yield f"{everything} ({p.explicit(expr or nodes.Everything())})"


def _quantified(scope: Expr, expr: Expr, quantifier: str, p: Phrasing) -> Iterator[str]:
    """ "are all X ...?", "do any X have ...?"; where that could be misread "is it true of all (X) that they are (...)"."""
    word, keywords = p.lexicon.word, p.lexicon.words.keywords
    are, do = keywords["be"][1], keywords["do"][1]
    start = f"{word(quantifier)} " if quantifier else ""
    if p.owned(expr):
        yield f"{do} {start}{p.plain(scope)} {word('have')} {p.thing(expr)}?"
    yield f"{are} {start}{p.plain(scope)} {p.predicate(expr)}?"
    yield f"{word('true_of')} {start}({p.plain(scope)}) {word('true_that')} ({p.plain(expr)})?"
    yield f"{word('true_of')} {start}({p.explicit(scope)}) {word('true_that')} ({p.explicit(expr)})?"


def _predications(pattern: str, expr: Expr, negated: bool, p: Phrasing, start: str, other: str = "") -> Iterator[str]:
    """ "is X ...?" and "does X have ...?", with "not" where it belongs; with ``other`` "is X but not Y ...?"."""
    word = p.lexicon.word
    subject = p.lexicon.name(pattern)
    if other:
        subject = f"{subject} {word('but')} {word('not')} {p.lexicon.name(other)}"
    no = f" {word('not')}" if negated else ""
    be, do, have = word("be"), word("do"), word("have")
    if p.owned(expr):
        yield f"{start}{do} {subject}{no} {have} {p.thing(expr)}?"
    if not isinstance(expr, nodes.Not):
        yield f"{start}{be} {subject}{no} {p.predicate(expr)}?"
    elif not negated and not start and not isinstance(expr.expr, nodes.And | nodes.Or | nodes.Not):
        yield f"{be} {subject} {word('not')} {p.predicate(expr.expr)}?"
    yield f"{start}{be} {subject}{no} ({p.plain(expr)})?"
    yield f"{start}{be} {subject}{no} ({p.explicit(expr)})?"
