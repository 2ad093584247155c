"""From the text of a question to its answer: understood, else read as a description or by other wordings, else refused; then
what goes with the answer."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.records import replace

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.language import Understood
    from kg.language.nodes import Question
    from kg.model import Answer
    from kg.relative import Put

Page = tuple[int, int] | None
LEAST_TOLD = 4
"""So many conditions, the family among them, tell of one thing; "nose and throat forceps with a size disc" asks for a list."""


def ask(
    catalogue: Catalogue,
    text: str,
    *,
    limit: int,
    after: Answer | QuestionError | None,
    page: Page,
    reasons: bool = True,
) -> Answer:
    """The answer to a question, as ``Catalogue.ask`` describes. ``reasons``: whether notes on reasons are looked at. Raises
    QuestionError and QueryError."""

    def again(reading: str) -> Answer:
        return ask(catalogue, reading, limit=limit, after=after, page=page)

    if after is not None:
        from kg.language.courtesy import without_thanks

        text = without_thanks(text, catalogue.talk)
    if reasons and (reason := _reasoned(catalogue, text, limit, after)) is not None:
        return reason
    if (alike := _relative(catalogue, text, after)) is not None:
        with suppress(QuestionError):  # what was typed is looked at as it stands then
            found = ask(catalogue, alike.text, limit=limit, after=after, page=page)
            if found.unread is None:
                return replace(found, question=text, notes=(alike.told, *found.notes))
    if text.rstrip(" ?.!").casefold().endswith(tuple(catalogue.lexicon.words.yesno.get("half_not", ()))):
        from kg import saidof

        if (even := saidof.evened(catalogue, text)) != text:
            return replace(ask(catalogue, even, limit=limit, after=after, page=page), question=text)
    try:
        found = catalogue.understand(text, after)
    except QuestionError as error:
        from kg import sourced, unnamed  # only where the language does not do

        if (sources := sourced.of_a_list(catalogue, error, text, after, limit)) is not None:
            return sources
        if error.code in ("BL-Q02", "BL-Q03"):
            from kg import degrees

            if (set_beside := degrees.against(catalogue, text, limit, degrees.meant_before(after))) is not None:
                return set_beside
            if (more := unnamed.seen_too(catalogue, text, after)) is not None:
                return catalogue.answer(more, text, limit=limit, page=page)
            if after is None and (some := unnamed.listed(catalogue, text, limit)) is not None:
                return some
            if (one := unnamed.described(catalogue, text, limit, asking=after is not None)) is not None:
                return one
            if (some := unnamed.heard(catalogue, text, limit, alone=after is None)) is not None:
                return some
        if error.code in ("BL-Q05", "BL-Q12") and (one := unnamed.described(catalogue, text, limit, asking=True)) is not None:
            return one  # "I have a picture in my head: ..." asks for no picture
        return _refused(catalogue, error, text, again)
    if (one := _of_one(catalogue, found, text, limit) or _list_of_seen(catalogue, found, text, limit, after)) is not None:
        return one
    if reasons and after is not None and (reason := _why_in_full(catalogue, found, text, limit, after)) is not None:
        return reason
    try:
        _refuse_no_description(catalogue, found, text)
        out = catalogue.answer(found.question, text, limit=limit, page=page)
    except QuestionError as error:
        from kg import degrees, unnamed

        if (set_beside := degrees.against(catalogue, text, limit, degrees.meant_before(after))) is not None:
            return set_beside
        if (one := unnamed.described(catalogue, text, limit, asking=after is not None)) is not None:
            return one
        if after is None and (some := _list_as_typed(catalogue, text, limit, page)) is not None:
            return some
        if not found.in_hand or after is not None:
            return _refused(catalogue, found.doubtful or error, text, again)
        try:
            found = catalogue.understand(text, whole=True, hand=False)
            _refuse_no_description(catalogue, found, text)
            out = catalogue.answer(found.question, text, limit=limit, page=page)
        except QuestionError:
            return _refused(catalogue, error, text, again)
    return _whole(catalogue, out, found, text, limit, after)


def _reasoned(catalogue: Catalogue, text: str, limit: int, after: Answer | QuestionError | None) -> Answer | None:
    """The answer with a note on the reason that is asked for, as ``kg.grounds`` tells it; None if there is none."""
    from kg.language.reasoned import put_plainly, that_named

    asks = catalogue.lexicon.words.reasons.get("signs", ())
    short = catalogue.lexicon.words.short  # "y r its jaws open?"
    said = f" {text.casefold()} {' '.join(' '.join(short.get(w, ())) for w in text.casefold().split())} "
    signed = any(sign in said for sign in asks)
    of_a_part = not signed and after is None and any(True for _ in put_plainly(text, catalogue.lexicon, "beside"))
    if not signed and not of_a_part and not getattr(after, "kind", ""):
        return None
    from kg import grounds
    from kg.catalogue import before_of
    from kg.language.amiss import lists_with_an_aim

    if signed and lists_with_an_aim(text, catalogue.lexicon):
        return None
    if signed and after is not None:
        text = that_named(text, catalogue.lexicon, catalogue.talk, before_of(after))
    try:
        if of_a_part:
            return grounds.told(catalogue, text, limit, None, None, ("beside",))
        if not signed:
            again = grounds.of_another(catalogue, text, after)  # type: ignore[arg-type]
            return grounds.told(catalogue, again, limit, None, None) if again else None
        return grounds.told(catalogue, text, limit, after, before_of(after))
    except QuestionError:
        return None  # it is no text that can be read, which is told below


def _why_in_full(
    catalogue: Catalogue, found: Understood, text: str, limit: int, after: Answer | QuestionError | None
) -> Answer | None:
    """The answer with a note on the reason, where a short "why?" is understood after what went before; None if there is
    none."""
    from kg.language import nodes, say

    if not isinstance(found.question, nodes.Why):
        return None
    reason = _reasoned(catalogue, say(found.question, catalogue.lexicon), limit, None)
    if reason is None:
        return None
    reason = replace(reason, question=text, others=_asked_of_others(reason, after) or reason.others)
    return reason if after is None or isinstance(after, QuestionError) else _taken_from(catalogue, reason, after)


def _relative(catalogue: Catalogue, text: str, after: Answer | QuestionError | None) -> Put | None:
    """The question with what is recorded of a named instrument that others are compared with, as ``kg.relative`` puts it."""
    words = catalogue.lexicon.words.relative
    if {*text.casefold().split()}.isdisjoint(w for kind in ("same", "measuring") for w in words.get(kind, ())):
        return None
    from kg.relative import put_in_place

    return put_in_place(catalogue, text, after=None if isinstance(after, QuestionError) else after)


def _of_one(catalogue: Catalogue, found: Understood, text: str, limit: int) -> Answer | None:
    """The likely names, where a text of which only the instruments are understood asks for the name of one; else None."""
    if found.unread is None:
        return None
    from kg import unnamed

    one = unnamed.described(catalogue, text, limit, asking=True)
    if one is None:
        unnamed.refuse_words_of_it(catalogue, found, text)
    return one


def _list_of_seen(
    catalogue: Catalogue, found: Understood, text: str, limit: int, after: Answer | QuestionError | None
) -> Answer | None:
    """The list, where a text that was taken for a description of an instrument asks which of them have all of it; else None."""
    if after is not None or found.doubtful is None:
        return None
    from kg import unnamed

    return unnamed.listed(catalogue, text, limit)


def _refuse_no_description(catalogue: Catalogue, found: Understood, text: str) -> None:
    if found.in_hand or found.doubtful is not None:
        from kg import unnamed

        unnamed.refuse_no_description(catalogue, found, text)


def _whole(
    catalogue: Catalogue, out: Answer, found: Understood, text: str, limit: int, after: Answer | QuestionError | None
) -> Answer:
    """An answer with what goes with it: further questions, what was passed over, the answer to a second question. A list that
    nothing can be is the description of one instrument, or is refused, where it was not typed so. Raises QuestionError."""
    from kg import allowed, called, elsewhere, ruledout, saidof, second, turnabout, twoinone, unsaid  # once an answer is there
    from kg.model import VARIES

    if out.kind == "compare":
        from kg import degrees

        if (told := degrees.between(catalogue, out, text, limit)) is not None:
            out, found = told, found._replace(unread=None)
    if (more := second.used_as_well(catalogue, out, text, limit)) is not None:
        out = more
    out = unsaid.of_no_record(catalogue, out, text)
    empty = out.kind in ("filter", "count") and not out.matches and not out.match_count
    if empty and (turned := turnabout.in_its_place(catalogue, out, text, after, limit)) is not None:
        out, empty = turned, False
    narrows = turnabout.narrows(catalogue, out, text, after) if empty else ()
    some = after is not None and any(p.only_as(VARIES) for p in out.possible)  # "with sharp prongs", "and blunt ones?"
    if empty and not some:
        besides = second.besides(catalogue, out, text, limit, whole=not found.passed, narrows=narrows)
        out, empty = (besides, False) if besides is not None else (out, empty)
    if empty and (parts := second.its_parts(catalogue, out, text, limit)) is not None:
        out, empty = parts, False
    if empty and not found.pieced and (named := called.by_name_only(catalogue, out, text, limit)) is not None:
        out, empty = named, False
    if empty and (joined := twoinone.listed(catalogue, out, text, limit)) is not None:
        out, empty = joined, not joined.matches
    out = twoinone.decided(catalogue, out, text, limit) or out
    if (more := second.used_too(catalogue, out, text, limit)) is not None:
        out = more
    if (both := saidof.both_of_one(catalogue, out, text) or saidof.called_so(catalogue, out, text)) is not None:
        out = both
    if (there := elsewhere.told_elsewhere(catalogue, out, text, limit)) is not None:
        out = there
    out = ruledout.taken_for(catalogue, out, text, limit) or ruledout.ruled_out(catalogue, out)
    out = allowed.noted_instead(catalogue, out, text, limit) or out
    typed = not empty or found.sure or second.as_typed(catalogue, text, out)
    typed = typed or (not found.pieced and second.decided_of_several(catalogue, text, out))
    articles = catalogue.lexicon.words.articles
    told = text.split()[0].casefold() in articles and not text.rstrip().endswith("?")  # "the thing that opens a wound"
    told = empty and (told or not typed or _tells_of_one(catalogue, text, out))  # a list as typed asks for no name
    if told or (empty and text.rstrip().endswith("?")):  # but "what do you call the clamp with ...?" does
        from kg import unnamed

        asking = not told or after is not None
        if (one := unnamed.described(catalogue, text, limit, asking=asking)) is not None:
            return one
    if told:
        made_so = not found.passed and any(p.only_as(VARIES) for p in out.possible)  # "needle holders with gold handles"
        if not typed and after is None and not made_so and (found.pieced or not out.possible_count):
            if (some := unnamed.heard(catalogue, text, limit, alone=True)) is not None:
                return some
            if (same := second.in_other_words(catalogue, text, limit)) is not None:
                return same
            raise second.doubt(text, out)
    if found.unread is not None and (told := second.instead_of_nothing(catalogue, out, text, limit)) is not None:
        out = told
    from kg.answer.onward import next_questions

    out = replace(
        out,
        next_questions=next_questions(catalogue.lexicon, out),
        unread=found.unread,
        wider=_narrowed_from(out, after),
        others=_asked_of_others(out, after) or out.others,
    )
    if after is not None and not isinstance(after, QuestionError):
        out = _taken_from(catalogue, out, after)
    out = second.the_part_itself(catalogue, second.with_or_without(catalogue, out, text), text)
    from kg import atvariance, onlyfor

    out = atvariance.without_contested(catalogue, out)
    bounded = onlyfor.only_for(catalogue, out, text)
    out, whole = second.in_one_form(catalogue, bounded, text), bounded is out
    notes = (second.made_or_used, second.decided_locally, second.named_feature, second.not_only, second.used_where_too)
    for tell in (*notes, second.on_record_instead, second.of_other_families):
        told = tell(catalogue, out, text) if whole or tell is not second.not_only else ""
        out = replace(out, notes=(told, *out.notes)) if told else out
    if found.untold:
        out = replace(out, notes=(found.untold, *out.notes))
    if found.untold and out.kind == "value":
        from kg.language.whatkind import without_description

        text = next(without_description(text, catalogue.lexicon, catalogue.talk), text)
    if out.kind == "compare":
        from kg.set_apart import without_lines

        out = without_lines(catalogue, out, text)
    if not (out.kind == "filter" and found.untold and found.untold in (catalogue.talk.no_age, catalogue.talk.no_animal)):
        out = _with_verdict(catalogue, out, text.replace(found.other, "") if found.other else text)
    if found.other:
        out = second.with_other(catalogue, out, found.other, limit, apart=found.apart)
    if not found.passed:
        return out
    words = ", ".join(f'"{w}"' for w in found.passed)
    return replace(out, notes=(*out.notes, f"Passed over, as saying nothing of instruments: {words}."))


def _list_as_typed(catalogue: Catalogue, text: str, limit: int, page: Page) -> Answer | None:
    """The list of a text that says too little to name one instrument and is read by the grammar as it stands ("long forceps,
    ring handles, no ratchet"); None if it is none, or if nothing is known to be in it."""
    from kg.answer.onward import next_questions
    from kg.language import nodes, parse

    try:
        tree = parse(text, catalogue.lexicon)
        out = catalogue.answer(tree, text, limit=limit, page=page) if isinstance(tree, nodes.Filter) else None
    except QuestionError:
        return None
    return replace(out, next_questions=next_questions(catalogue.lexicon, out)) if out is not None and out.matches else None


def _tells_of_one(catalogue: Catalogue, text: str, empty: Answer) -> bool:
    """Whether a text tells of one thing at length where its list is empty: so many things are said that no list was meant."""
    from kg.language.nameless import tells_of_one

    items = getattr(getattr(empty.tree, "expr", None), "items", ())
    return len(items) >= LEAST_TOLD and tells_of_one(text, catalogue.lexicon, catalogue.talk)


def _with_verdict(catalogue: Catalogue, out: Answer, text: str) -> Answer:
    """An answer with yes or no in words before it, if the question wants one."""
    if out.verdict:
        return out
    from kg import yesno

    verdict = yesno.told(catalogue, out, text)
    if not verdict:
        return out
    same = catalogue.talk.one_thing if out.kind == "define" else ""  # said before the answer now
    return replace(out, verdict=verdict, unread=None, notes=tuple(n for n in out.notes if n != same))


def _narrowed_from(out: Answer, after: Answer | QuestionError | None) -> tuple[Question, ...]:
    """The questions of the conversation for the lists that an answer was narrowed from, the widest first."""
    if after is None or isinstance(after, QuestionError):
        return ()
    said = _conditions(out.tree)
    return tuple(q for q in (*after.wider, after.tree) if (wider := _conditions(q)) and wider < said)


def _asked_of_others(out: Answer, after: Answer | QuestionError | None) -> tuple[str, ...]:
    """The instruments of which the same was asked just before, first to last."""
    from kg.language import nodes

    if after is None or isinstance(after, QuestionError):
        return ()
    if isinstance(out.tree, nodes.Why) and getattr(after.tree, "pattern", "") == out.tree.pattern:
        return after.others  # "is the Cusco self-retaining?", "is the Sims?", "why not?"
    if type(out.tree) is not type(after.tree):
        return ()
    name = {nodes.Holds: "pattern", nodes.Value: "subject", nodes.Describe: "pattern"}.get(type(out.tree), "")
    if not name or (one := getattr(after.tree, name)) == getattr(out.tree, name):
        return ()
    same = replace(after.tree, **{name: getattr(out.tree, name)}) == out.tree
    return (*(o for o in after.others if o != one), one) if same else ()


def _taken_from(catalogue: Catalogue, out: Answer, after: Answer) -> Answer:
    """An answer about one instrument with the list before, if it was taken from that."""
    from kg.catalogue import before_of
    from kg.language import nodes
    from kg.language.before import SUBJECT
    from kg.language.replies import meant, of_all_named

    before = before_of(after)
    shown = before.shown if before is not None and len(before.shown) > 1 else ()
    shown = after.tree.subjects if isinstance(after.tree, nodes.Compare) and not after.listed else shown
    if before is not None and isinstance(out.tree, nodes.Why):  # "which of the two is used on bowel?", "why that one?"
        shown = meant(of_all_named(before, catalogue.lexicon), catalogue.lexicon)
    one = next((n for f in SUBJECT if isinstance(n := getattr(out.tree, f, ""), str) and n), "")
    if isinstance(out.tree, nodes.Telling) and isinstance(after.tree, nodes.LookAlikes) and one == after.tree.pattern:
        return replace(out, listed=shown)
    if isinstance(out.tree, nodes.Compare):  # one of the look-alikes, set beside what they look like
        first = after.tree.pattern if isinstance(after.tree, nodes.LookAlikes) else ""
        if isinstance(after.tree, nodes.Compare) and after.listed:
            first = after.tree.subjects[0]
        one = out.tree.subjects[1] if first == out.tree.subjects[0] and len(out.tree.subjects) == 2 else ""
    if one and one in shown:
        wider = (*after.wider, after.tree) if _conditions(after.tree) else out.wider
        return replace(out, listed=shown, wider=wider)
    return replace(out, listed=after.listed, wider=after.wider) if one and one in after.listed else out


def _conditions(question: Question | None) -> frozenset[object]:
    """What a question for a list says of instruments; nothing for any other."""
    from kg.language import nodes

    if not isinstance(question, nodes.Filter | nodes.Count | nodes.Group | nodes.Extreme):
        return frozenset()
    expr = question.expr
    return frozenset(expr.items if isinstance(expr, nodes.And) else (expr,))


def _refused(catalogue: Catalogue, error: QuestionError, text: str, again: Callable[[str], Answer]) -> Answer:
    """The answer that holds whichever reading was meant, or for the bearer of a name that is usually meant; else raises the
    refusal, with what could be answered instead. ``again`` asks a reading as the question was asked."""
    from kg.answer.offers import usually, whichever, with_names
    from kg.saidof import whoever_bears_it
    from kg.second import used_too

    def asked(question: str) -> Answer:
        found = catalogue.understand(question)
        out = replace(catalogue.answer(found.question, question, limit=1), unread=found.unread)
        return used_too(catalogue, out, text, 1) or out

    if (of_each := whoever_bears_it(catalogue, error, text)) is not None:
        return of_each
    usual_one = catalogue.lexicon.usual(error.question[slice(*error.span)]) if error.question else ""
    alike = whichever(error, asked, catalogue.vocabulary.label, usual_one)
    if not isinstance(alike, str):
        return replace(alike, question=text)
    if (usual := usually(error, text, again, catalogue.lexicon, alike)) is not None:
        if (more := used_too(catalogue, usual, text, 1)) is not None:  # a reading says "made for"
            usual = more if more.notes else replace(more, notes=usual.notes)
        asked = _with_verdict(catalogue, replace(usual, verdict=""), text)  # a reading may not say all that was typed
        return asked if asked.verdict else usual
    if alike:
        error.hint = f"{alike}. {error.hint}".rstrip()
    raise with_names(error, asked) from None
