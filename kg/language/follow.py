"""Questions that lean on the one before: "and the curved ones?", "which of those are crushing?", "how is it sterilised?".

What went before gives what "it" and "those" stand for; what is left out is taken from it. The whole question is then read
back in full, so nothing hangs in the air: asked again in those words it means the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from typing import Any

from kg import names
from kg.errors import QuestionError
from kg.language import nodes
from kg.language.before import ASKED_ANEW, LISTS, SEVERAL, SUBJECT, Before, names_several, set_of, the_whole
from kg.language.joined import in_its_place, is_family, joined, of_those_too, other_end, parted
from kg.language.joining import conj, disj
from kg.language.lexicon import Lexicon
from kg.language.nodes import Expr, Question
from kg.language.parse import parse, parser_for
from kg.language.parse_forms import FormParser
from kg.language.resume import of_it, resumed
from kg.language.say import say_expr
from kg.language.talk import Talk
from kg.language.turned import lacking_it, of_its_parts, other_number
from kg.records import replace


def follow(text: str, lexicon: Lexicon, before: Before) -> Question | None:
    """The question that ``text`` asks after ``before``; None if it does not lean on it. Raises QuestionError as ``parse`` does,
    for a name that only the person can decide."""
    if before.readings and (chosen := _chosen(text, lexicon, before)) is not None:
        return chosen
    if (same := _meant_again(text, lexicon, before)) is not None:
        return same
    if (taken_up := resumed(text, lexicon, before)) is not None:
        return taken_up
    if isinstance(before.question, nodes.Counts):
        before = replace(before, question=nodes.Filter(disj(before.question.exprs)))  # all that were counted
    parser = parser_for(text, lexicon)
    parser.said = before
    parser.take("kw.and", quiet=True)
    start = parser.at
    if isinstance(before.question, (*LISTS, *SEVERAL)) and parser.take("kw.ones", quiet=True):
        rest = FormParser(text, parser.tokens[parser.at :], lexicon)
        whole = the_whole(before, lexicon)
        if isinstance(whole.question, nodes.Count | nodes.Group) and start < len(parser.tokens) and _asks_which(parser, start):
            whole = replace(whole, question=nodes.Filter(whole.question.expr))
        rest.said = whole
        found = _of_them(rest, whole) or _asked_of_them(rest, whole)
        old = whole.expr(lexicon)
        if found is not None and not (old is not None and _at_odds(old, found, lexicon)):
            if start and old is not None and not of_those_too(parser):
                found = in_its_place(found, old)
            if isinstance(found, nodes.Count) and "kw.which" in parser.kinds(start):
                found = nodes.Filter(found.expr)  # "how many are there?", "list the ones with a ratchet"
            counted = isinstance(found, nodes.Filter) and start < len(parser.tokens) and "kw.count" in parser.kinds(start)
            return nodes.Count(found.expr) if counted else found
    parser.at = start
    if (turned := lacking_it(parser, before.question)) is not None:
        return turned
    if isinstance(before.question, LISTS) and (narrowed := _less_or_only(text, parser, lexicon, before)) is not None:
        return narrowed
    parser.at = start
    first: QuestionError | None = None
    if any(
        e.kind in ("kw.it", "kw.them", "kw.why")
        for i in range(len(parser.tokens))
        if not _begins_a_clause(parser, i) and parser.points_back(i)
        for _, es in parser.phrases(i)
        for e in es
    ):
        try:
            found = parser.question()
            one = isinstance(found, nodes.PartOf) and lexicon.vocabulary.terms[found.subject].role == "pattern"
            if one and "kw.be" in parser.kinds(0):
                return nodes.Holds(found.subject, nodes.HasPart(found.part))  # "is there a ratchet on it?"
            if isinstance(found, nodes.Disputes) and isinstance(before.question, nodes.Sources) and not found.features:
                found = replace(found, features=before.question.features)  # "sources for its length", "do they disagree?"
            if isinstance(found, nodes.DefineAll):
                found = None  # "what are the parts and the joint of them?" asks for no meanings
            if isinstance(found, nodes.Holds) and isinstance(found.expr, nodes.Named) and found.expr.pattern == found.pattern:
                found = None  # "are not instruments": whether a thing is itself is no question
            if found is not None and not _of_nothing(found, parser, before):
                return _among_them(found, parser, lexicon, before)
        except QuestionError as error:
            first = error if error.code == "BL-Q05" else None
    if before.question is None:
        return None
    parser.at = 0
    if (found := _short(parser, before)) is not None:
        return found
    parser.at = 0
    narrowed = bool(parser.take("kw.only"))
    if not narrowed and parser.take("kw.leave_out", "kw.except"):
        return _without(FormParser(text, parser.tokens[parser.at :], lexicon), before)
    led = narrowed or bool(parser.take("kw.and_what_of"))
    if led and not parser.ended():
        rest = FormParser(text, parser.tokens[parser.at :], lexicon)
        rest.said = before
        if (found := _instead(rest, before, bool(narrowed))) is not None:
            return found
    if first is not None:
        raise first
    if text.rstrip().endswith("?") and isinstance(before.question, nodes.Holds | nodes.Value):
        rest = FormParser(text, parser.tokens, lexicon)
        if before.subjects(lexicon) and (named := _subjects(rest)):
            return _with_subjects(before.question, named)  # "is the Mayo-Hegar curved?", "the Mathieu?"
    return of_it(text, lexicon, before)


def _among_them(question: Question, parser: FormParser, lexicon: Lexicon, before: Before) -> Question:
    """ "Which forceps of them have teeth?": of the list before, even if the question names a family of its own"""
    if (
        isinstance(question, nodes.Why)
        and isinstance(question.expr, nodes.Everything)
        and isinstance(before.question, nodes.Holds)
    ):
        return replace(question, expr=before.question.expr)  # "is the Kelly a clamp?", "why is it classed as one?"
    old = before.expr(lexicon) if isinstance(before.question, LISTS) else None
    of_them = any(
        {"kw.of", "kw.among"} & parser.kinds(at) and "kw.them" in parser.kinds(at + 1) for at in range(len(parser.tokens) - 1)
    )
    if old is None or not of_them or not isinstance(question, nodes.Filter | nodes.Count):
        return question
    said = set(getattr(question.expr, "items", (question.expr,)))
    held = old in said or set(getattr(old, "items", (old,))) <= said
    return question if held else replace(question, expr=conj([old, question.expr]))


def _of_nothing(question: Question, parser: FormParser, before: Before) -> bool:
    """Whether a list of "those" is asked for after an answer that has none."""
    if isinstance(question, nodes.Count) and isinstance(before.question, nodes.Weak | nodes.Disputes):
        return True  # "which facts rest on memory?", "how many of them are there?"
    if isinstance(question, nodes.Count) and parser.says("kw.it") and not parser.says("kw.that"):
        return bool(before.subjects(parser.lexicon))  # "how many teeth has it?" counts no instruments
    only = isinstance(question, nodes.Filter) and "kw.only" in parser.kinds(0)
    if only and not isinstance(before.question, (*LISTS, *SEVERAL)):
        return True  # of one instrument there is nothing to leave out
    seen = isinstance(before.question, nodes.Identify | nodes.LookAlikes)
    return seen and not before.names and isinstance(question, nodes.Filter | nodes.Count)


def _asks_which(parser: FormParser, at: int) -> bool:
    """ "Which of them ...", and not "the ones ..." or "how many of them ..." """
    return parser.tokens[at].key in parser.lexicon.keys(parser.lexicon.word("which"))


def _begins_a_clause(parser: FormParser, at: int) -> bool:
    """Whether a word such as "that" begins a clause ("any that are hand-held") and points to nothing."""
    verbs = {"kw.be", "kw.have", "kw.do", "kw.can"}
    return 0 < at < len(parser.tokens) - 1 and "kw.that" in parser.kinds(at) and bool(parser.kinds(at + 1) & verbs)


def _less_or_only(text: str, parser: FormParser, lexicon: Lexicon, before: Before) -> Question | None:
    """ "Only those with prongs", "leave out the curved ones": the list before, narrowed"""
    without = bool(parser.take("kw.leave_out", "kw.except"))
    if not without and not parser.take("kw.only"):
        return None
    rest = FormParser(text, parser.tokens[parser.at :], lexicon)
    rest.said = None if without else before
    if not rest.tokens:
        return None
    return _without(rest, before) if without else _instead(rest, before, True)


def with_its_name(text: str, lexicon: Lexicon, talk: Talk, before: Before) -> str | None:
    """The question with the name of what went before for "it", "its" or "they"; None if it has no such word, or if more than
    one thing could be meant by it."""
    subjects = before.subjects(lexicon)
    if not subjects:
        return None
    terms = lexicon.vocabulary.terms
    each = [
        nodes.Named(s) if terms[s].role == "pattern" else nodes.IsA(s)
        for s in subjects
        if terms[s].role in ("pattern", "category")
    ]
    parser = parser_for(text, lexicon)
    if len(each) > 1 and isinstance(before.question, nodes.Compare) and parser.says("kw.it") and before.text:
        beside = parser_for(before.text, lexicon)
        if beside.says("kw.it") and not beside.says("kw.them") and not parser.says("kw.them"):
            each = each[:1]  # "how does it differ from a Kocher?", "how is it sterilised?": what was set beside another
    name = f" {lexicon.word('and')} ".join(say_expr(e, lexicon) for e in each)
    out, at, last, owned = [], 0, 0, False
    while at < len(parser.tokens):
        token, end = parser.tokens[at], at + 1
        kinds: set[str] = set()
        for stop, entries in parser.phrases(at):
            found = {e.kind for e in entries}
            if found & {"kw.it", "kw.them"} and "kw.that" not in found:
                end, kinds = stop, found
                break
        if token.key in talk.possessive and not owned and len(each) == 1:
            out.append(text[last : token.start])
            last, owned = token.end, True
        elif ("kw.it" in kinds and len(each) == 1) or ("kw.them" in kinds and each):
            out += [text[last : token.start], name]
            last = parser.tokens[end - 1].end
        at = end
    families = {"category", "kind", "group", "pattern"}
    of_others = any(parser.kinds(i) & families for i in range(len(parser.tokens)))  # "which forceps are for eyes?"
    of_others = of_others or any(isinstance(e, nodes.IsA) for e in each)
    if not out and len(each) > 1 and not of_others and parser.look("kw.which", quiet=True):
        choice = f" {lexicon.word('or')} ".join(say_expr(e, lexicon) for e in each)
        return f"{text.rstrip(' ?.!')}, {choice}?"
    if not out or not name:
        return None
    changed = "".join([*out, text[last:]]).strip()
    if owned:
        bare = changed.rstrip(" ?.!")
        changed = f"{bare} {lexicon.word('of')} {name}{changed[len(bare) :]}"
    return changed


# --- one of several readings ------------------------------------------------------------------------------------------
def _chosen(text: str, lexicon: Lexicon, before: Before) -> Question | None:
    """The one reading that the words fit: those of the name it gives, or of one of that instrument's other names."""
    parser = parser_for(text, lexicon)
    dull = {
        *lexicon.words.articles,
        *(k for t in (*lexicon.words.filler, *lexicon.words.keywords["instrument"]) for k in lexicon.folder.phrase(t)),
    }
    wanted = {t.key for t in parser.tokens} - dull
    if not wanted:
        return None
    fit = tuple(r for r in before.readings if wanted <= _words_of(r, lexicon))
    if len(fit) > 1 and len(wanted) < 4:
        raise QuestionError(
            "BL-Q05",
            f'"{" ".join(text.split())}" fits {len(fit)} of them.',
            question=text,
            span=(0, len(text)),
            readings=fit,
            hint="Ask with the full name.",
        )
    return parse(fit[0], lexicon) if len(fit) == 1 else None


def _meant_again(text: str, lexicon: Lexicon, before: Before) -> Question | None:
    """The question before once more, where a few words only say which instrument was meant ("the forceps, please")."""
    subjects = before.subjects(lexicon)
    if len(subjects) != 1 or not isinstance(before.question, nodes.Define | nodes.Value | nodes.Describe):
        return None
    words = [t.key for t in parser_for(text, lexicon).tokens if t.key != ","]
    if not text.strip().casefold().startswith(tuple(lexicon.words.articles)) or len(words) > 4:
        return None
    dull = {*lexicon.words.articles, *(k for t in lexicon.words.filler for k in lexicon.folder.phrase(t))}
    wanted = set(words) - dull
    return before.question if wanted and wanted <= lexicon.name_keys(subjects[0]) else None


def _words_of(reading: str, lexicon: Lexicon) -> set[str]:
    parser = parser_for(reading, lexicon)
    words = {t.key for t in parser.tokens}
    for at in range(len(parser.tokens)):
        for _, entries in parser.phrases(at)[:1]:
            for entry in entries:
                if entry.kind == "pattern":
                    words.update(lexicon.name_keys(entry.term))
    return words


# --- "why?", "how many?", "who says so?" -------------------------------------------------------------------------------
def _short(parser: FormParser, before: Before) -> Question | None:
    question, lexicon = before.question, parser.lexicon
    if (measured := _other_length(parser, before)) is not None:
        return measured
    if (turned := of_its_parts(parser, question)) is not None:
        return turned
    if (renumbered := other_number(parser, question)) is not None:
        return renumbered
    parser.take("kw.and_what_of", quiet=True)
    if (
        isinstance(question, (nodes.Filter, nodes.Count, nodes.Group, nodes.Extreme, nodes.Differences, *SEVERAL))
        and (longest := _longest(parser)) is not None
    ):
        whole = the_whole(before, lexicon).question.expr  # type: ignore[union-attr]
        if any(isinstance(i, nodes.Named) for i in (whole.items if isinstance(whole, nodes.And) else (whole,))):
            raise parser.failure()  # of one instrument none is the longest
        return nodes.Extreme(whole, longest)
    if parser.take("kw.count", quiet=True):
        while parser.take("kw.of", "kw.be", "kw.remaining", "kw.exist", "kw.them", quiet=True):
            pass  # "of them are there"
        if isinstance(question, nodes.Holds):
            features = parser.features_of(question.expr) if parser.ended() else ()
            return nodes.Value(question.pattern, features) if features else None  # "does it have teeth?", "how many?"
        if isinstance(question, nodes.Weak | nodes.Disputes):
            return question if parser.ended() else None  # the facts or the disputes, whose number is told; no instruments
        expr = before.expr(lexicon)
        return nodes.Count(expr) if parser.ended() and expr is not None else None
    if parser.take("kw.why", quiet=True):
        denied = bool(parser.take("kw.not", quiet=True))
        if not parser.ended():
            return None
        if isinstance(question, nodes.CareNotes):
            return question  # the notes say why, where a source does
        if isinstance(question, nodes.Holds):
            inner = question.expr.expr if isinstance(question.expr, nodes.Not) else question.expr
            return nodes.Why(question.pattern, inner, denied or isinstance(question.expr, nodes.Not))
        return None
    if parser.take("kw.sources", quiet=True):
        parser.take("kw.it", "kw.them", quiet=True)
        return _who_says(parser, before) if parser.ended() else None
    return None


def _who_says(parser: FormParser, before: Before) -> Question | None:
    """The sources of what was answered: the same again, where an answer names its sources; else those of the one instrument.
    Raises QuestionError (BL-Q03) for a list of several."""
    question, lexicon = before.question, parser.lexicon
    subjects = before.subjects(lexicon) or (before.shown if len(before.shown) == 1 else ())
    one = len(subjects) == 1 and lexicon.vocabulary.terms[subjects[0]].role == "pattern"
    if isinstance(question, _SOURCED) or (isinstance(question, nodes.Value) and not one):
        return question
    if one and isinstance(question, nodes.Holds | nodes.Why | nodes.Filter):
        return nodes.Sources(subjects[0], parser.features_of(question.expr))
    if one:
        return nodes.Sources(subjects[0], getattr(question, "features", ()))
    if isinstance(question, LISTS) and before.names:
        name = say_expr(nodes.Named(before.names[0]), lexicon)
        raise QuestionError(
            "BL-Q03",
            NOT_OF_A_LIST,
            question=parser.text,
            span=(0, len(parser.text.rstrip())),
            hint=f"Ask of one of them: sources for {name}.",
        )
    return None


NOT_OF_A_LIST = "Sources are told of one instrument at a time, not of a list."
_SOURCED = (
    nodes.Define
    | nodes.DefineAll
    | nodes.PartOf
    | nodes.Disputes
    | nodes.CareNotes
    | nodes.Cycles
    | nodes.Compare
    | nodes.ReasonNotes
)


def _other_length(parser: FormParser, before: Before) -> Question | None:
    """ "and over 40?", "and 40?" after a list with a length: the list with that one, in the unit nearest to the one before"""
    question, start, lexicon = before.question, parser.at, parser.lexicon
    parser.take("kw.and", "kw.and_what_of", quiet=True)
    match = parser.take("op.<", "op.<=", "op.>", "op.>=", quiet=True)
    number = parser.number()
    ended, parser.at = parser.ended(), start
    expr = before.expr(lexicon)
    items = expr.items if isinstance(expr, nodes.And) else (expr,)
    old = next((i for i in items if isinstance(i, nodes.Length)), None)
    if number is None or not ended or old is None or not isinstance(question, LISTS):
        return None
    new, units = float(number.key), sorted({float(u.millimetres) for u in lexicon.words.units.values()})
    if new <= 0 or old.low <= 0:
        return None
    round_ones = [u for u in units if abs(2 * old.low / u - round(2 * old.low / u)) < 0.01]  # 30 cm is no number of inches
    unit = min(round_ones or units, key=lambda u: max(new * u / old.low, old.low / (new * u)))
    op = match.entry.term if match else old.op
    if op == "between":
        return None
    length = nodes.Length(op, round(new * unit, 1))
    kept = [old] if other_end(old, length) else []  # "longer than 18 cm", "and shorter than 25?"
    changed = conj([i for one in items if one is not None for i in ((*kept, length) if one is old else (one,))])
    return replace(question, **{set_of(question): changed})


def _longest(parser: FormParser) -> bool | None:
    """ "which is the longest?", "and the shortest?": whether the longest of the list before is asked for, or the shortest"""
    start = parser.at
    parser.take("kw.which_is", "kw.which", quiet=True)
    parser.take("kw.be", quiet=True)
    match = parser.take("kw.longest", "kw.shortest", quiet=True)
    parser.take("kw.them", "kw.ones", quiet=True)
    if match and parser.ended():
        return match.entry.kind == "kw.longest"
    parser.at = start
    return None


# --- "and the curved ones?", "what about scissors?" ----------------------------------------------------------------------
def _instead(rest: FormParser, before: Before, narrowed: bool) -> Question | None:
    """The question before with another subject, one more subject, or another or narrower set."""
    question, lexicon = before.question, rest.lexicon
    subjects = before.subjects(lexicon)
    if not narrowed and isinstance(question, nodes.Describe) and question.parts:
        parts = rest.parts_listed()
        if parts and rest.ended():
            return replace(question, parts=parts)  # "and the tip?"
        rest.at = 0
    if not narrowed and (part := _of_its_part(rest, question, subjects)) is not None:
        return part
    rest.at = 0
    if subjects and rest.tokens and rest.tokens[0].key in lexicon.words.loose - set(lexicon.words.articles):
        return None  # "and its handles?" asks of the same
    if not narrowed and subjects and not isinstance(question, nodes.Filter | nodes.Count | nodes.Extreme):
        if not (named := _subjects(rest)):
            rest.at = 0
            named = _subjects(rest) if rest.take(*_LEADING, quiet=True) else []  # "and on a Crile?"
            if {lexicon.vocabulary.terms[n].role for n in named} - {lexicon.vocabulary.terms[subjects[0]].role}:
                return None  # "and on the tube?" puts no family in the place of an instrument
        if len(named) == 1 and isinstance(question, nodes.Disputes | nodes.Weak | nodes.Gaps):
            pattern = lexicon.vocabulary.terms[named[0]].role == "pattern"
            return replace(question, expr=nodes.Named(named[0]) if pattern else nodes.IsA(named[0]))
        if named:
            return _with_subjects(question, named)
    rest.at = 0
    if narrowed:
        rest.take("kw.them", quiet=True)  # "only those with prongs"
    expr = rest.description()
    if expr is None and rest.take("kw.place", quiet=True):  # "and on vessels?"
        expr = rest.description()
    rest.take("kw.exist", quiet=True)
    if expr is None or not rest.ended():
        return None
    old = before.expr(lexicon)
    if isinstance(question, nodes.Extreme) and names_several(question.expr) and isinstance(expr, nodes.Named) and not narrowed:
        return replace(question, expr=disj([*question.expr.items, expr]))  # "is the Crile shorter?", "and the mosquito?"
    if isinstance(question, ASKED_ANEW):
        if isinstance(question, nodes.Count) and any(e.kind == "kw.which" for _, es in rest.phrases(0) for e in es):
            question = nodes.Filter(question.expr)
        new = joined(old, expr, narrowed, lexicon) if old is not None else expr
        return replace(question, **{set_of(question): new})
    if isinstance(question, nodes.Compare) and not is_family(expr):
        return _of_all_compared(rest, question, old)
    if isinstance(question, nodes.Holds) and not narrowed and _of_a_part(expr, lexicon):
        return replace(question, expr=expr)  # "is the Kelly curved?", "and a box lock?"
    if (category := _category_of(expr, lexicon)) and not narrowed:
        return _with_subjects(question, [category])
    if isinstance(question, nodes.Value) and question.features and is_family(expr) and not narrowed:
        return nodes.Group(expr, question.features[0])  # "how do you hold a needle holder?", "and scalpels?"
    if old is not None and not isinstance(question, nodes.Compare):
        return None
    return nodes.Filter(conj([old, expr])) if old is not None else None


def _of_a_part(expr: Expr, lexicon: Lexicon) -> bool:
    """Whether a condition is a part, or what a part is like; "a drill" may be an instrument."""
    feature = lexicon.vocabulary.features.get(expr.feature) if isinstance(expr, nodes.Has) else None
    return isinstance(expr, nodes.HasPart) or (feature is not None and bool(feature.part))


def _of_its_part(rest: FormParser, question: Question | None, subjects: Sequence[str]) -> Question | None:
    """ "And the ratchet?" of one instrument: that part of it, or what it is for where its use was asked; None for anything
    else"""
    one = len(subjects) == 1 and rest.lexicon.vocabulary.terms[subjects[0]].role == "pattern"
    if not one or not isinstance(question, nodes.Describe | nodes.Define | nodes.Value | nodes.PartOf):
        return None
    parts = rest.parts_listed()
    if not parts or not rest.ended():
        return None
    used = isinstance(question, nodes.PartOf) or getattr(question, "features", ()) == rest._uses()
    return nodes.PartOf(parts[0], subjects[0]) if used and len(parts) == 1 else nodes.Describe(subjects[0], parts)


def _of_all_compared(rest: FormParser, question: nodes.Compare, old: Expr | None) -> Question | None:
    """ "And the joint?" after two were compared: what it is like in each, where one feature tells it; else all that differs"""
    rest.at = 0
    features = rest.features()
    if not features or not rest.ended() or old is None:
        return None
    return nodes.Group(old, features[0]) if len(features) == 1 else question


def _at_odds(old: Expr, found: Question | None, lexicon: Lexicon) -> bool:
    """Whether a list narrowed says otherwise of a feature with one value than the list before ("which of them cuts as well?"):
    what was asked before is not to be forgotten, and nothing is both."""
    features = lexicon.vocabulary.features

    def single(expr: Expr) -> dict[str, str]:
        items = expr.items if isinstance(expr, nodes.And) else (expr,)
        return {
            i.feature: i.value
            for i in items
            if isinstance(i, nodes.Has) and i.feature in features and features[i.feature].single
        }

    if not isinstance(found, nodes.Filter):
        return False
    one, two = single(old), single(found.expr)
    return any(two.get(f) != v for f, v in one.items())


def _of_them(rest: FormParser, before: Before) -> Question | None:
    """ "which ones are curved?": the list before, narrowed; "which ones do not?", after a question of all or any: those not"""
    question = before.question
    if isinstance(question, nodes.Quantified):
        rest.take("kw.do", "kw.be", "kw.have", "kw.can", quiet=True)
        denied = rest.take("kw.not", quiet=True)
        if rest.ended():
            return nodes.Filter(conj([question.scope, nodes.Not(question.expr) if denied else question.expr]))
        rest.at = 0
        before = replace(before, question=nodes.Filter(question.scope))
    return _instead(rest, before, True)


def _asked_of_them(rest: FormParser, before: Before) -> Question | None:
    """ "which of them cuts as well?", "which one is sprung?": the list before, narrowed by what would be asked of any"""
    old, lexicon = before.expr(rest.lexicon), rest.lexicon
    if old is None or not rest.tokens:
        return None
    said = rest.text[rest.tokens[0].start :]
    with suppress(QuestionError):
        found = parse(f"{lexicon.word('which')} {lexicon.word('instrument')}s {said}", lexicon)
        if isinstance(found, nodes.Filter):
            return nodes.Filter(conj([old, found.expr]))
    return None


def _without(rest: FormParser, before: Before) -> Question | None:
    """The list before, less those that fit ("leave out the curved ones")."""
    rest.take("kw.them", quiet=True)  # "leave out those with prongs"
    expr, old = rest.description(), before.expr(rest.lexicon)
    rest.take("kw.exist", quiet=True)
    if expr is None or old is None or not rest.ended():
        return None
    items = old.items if isinstance(old, nodes.And) else (old,)
    # "toothed forceps", "without teeth?"
    split = [(i, parted(i, rest.lexicon)) for i in items]
    kept = [p for i, parts in split for p in (parts if expr in parts else [i]) if p != expr]
    new = conj([*kept, nodes.Not(expr)])
    if isinstance(before.question, nodes.Filter | nodes.Count | nodes.Group | nodes.Extreme | nodes.Differences):
        return replace(before.question, expr=new)
    return nodes.Filter(new)


_LEADING = ("kw.place", "kw.with", "kw.of", "op.about")


def _subjects(rest: FormParser) -> list[str]:
    found = rest.subjects()
    return found if found and rest.ended() else []


def _with_subjects(question: Question | None, named: Sequence[str]) -> Question | None:
    if isinstance(question, nodes.Compare):
        return replace(question, subjects=tuple(dict.fromkeys((*question.subjects, *named))))
    if len(named) != 1:
        return None
    for name in SUBJECT:
        if hasattr(question, name):
            changed: Any = replace(question, **{name: named[0]})  # type: ignore[type-var]
            return changed
    return None


def _category_of(expr: Expr, lexicon: Lexicon) -> str:
    """The category that a description names, or that is defined by just this one condition; empty if there is none."""
    if isinstance(expr, nodes.IsA):
        return expr.category
    match expr:
        case nodes.Has(feature, value):
            condition = (feature, value)
        case nodes.HasPart(part):
            condition = (names.HAS_PART, part)
        case nodes.Not(nodes.HasPart(part)):
            condition = (names.LACKS_PART, part)
        case _:
            return ""
    return next((c for c, conditions in lexicon.vocabulary.definitions.items() if conditions == (condition,)), "")


__all__ = ["Before", "follow"]
