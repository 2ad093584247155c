"""From what was typed to a question: the grammar first, then shorthand, what went before, an instrument in the hand, and
plain talk; then what is recorded of the instruments named; else a refusal that says which of these it is.

Nothing is guessed: each reading must explain every word but the last, which says which it does not and decides nothing. Every
answer begins with how the question was read.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from contextvars import ContextVar
from functools import partial
from itertools import chain
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.aimed import without_aim
from kg.language.amiss import amiss, as_not_meant
from kg.language.as_meant import as_meant
from kg.language.featured import asks_otherwise, feature_asked, no_list_asked
from kg.language.lexicon import Lexicon
from kg.language.likened import set_aside
from kg.language.listed import (
    asked_of,
    but_itself,
    either_of,
    half_named,
    held,
    kind_of_what,
    lists_named,
    mixes_names,
    names_beside,
    no_reason,
    nothing_at_all,
    of_its_part,
    only_names,
    read_back,
    refuse_width,
    same_twice,
    sets_against,
    the_members,
    which_of_those,
)
from kg.language.namesake import family_with_value
from kg.language.needed import told_all_the_same
from kg.language.parse import READ, parse, parser_for
from kg.language.readings import (
    Understood,
    after_use,
    explained_for_a_place,
    first_of_two,
    loosely,
    misread,
    name_in_two,
    no_description,
    no_name_asked,
    of_care,
    of_meaning,
    of_one_family,
    plainly,
    points_only_back,
    read,
    two_asked,
    which_of_two,
    why_in_other_words,
    without_bare,
)
from kg.language.scope import none_of_them, with_family, without_last
from kg.language.several import each_kind, each_meaning, of_several, true_of_several, which_family, without_best

if TYPE_CHECKING:
    from kg.language.before import Before
    from kg.language.talk import Talk

_refused: ContextVar[dict[tuple[str, bool, bool], QuestionError] | None] = ContextVar("refused", default=None)
_depth: ContextVar[int] = ContextVar("depth", default=0)
MOST_DEEP = 8
"""So many wordings of a text are looked at one inside the other, each with less in it or written otherwise."""
MOST_LOOKED_AT = 2  # readings of a name of several that are tried before all its bearers are listed


def understand(
    text: str,
    lexicon: Lexicon,
    talk: Callable[[], Talk],
    before: Before | None = None,
    *,
    whole: bool = False,
    hand: bool = True,
) -> Understood:
    """The question that ``text`` asks. ``talk`` gives the words of plain talk; called only if the grammar does not do.

    ``before``: what went before in a conversation. ``whole``: refuses what is understood only in part. ``hand``: whether words
    that ask for a name ("what is it called?") make a description of an instrument in the hand.

    Raises QuestionError as ``parse`` does, and BL-Q11, BL-Q12 or BL-Q13 for what is understood but has no answer here.
    """
    if READ.get() is not None:
        return _in_turn(text, lexicon, talk, before, whole=whole, hand=hand)
    started, known = READ.set(set()), _refused.set({})
    try:
        return _in_turn(text, lexicon, talk, before, whole=whole, hand=hand)
    finally:
        READ.reset(started)
        _refused.reset(known)


def _in_turn(
    text: str, lexicon: Lexicon, talk: Callable[[], Talk], before: Before | None, *, whole: bool, hand: bool
) -> Understood:
    """By the narrower ways of reading it; after what went before, put in full where these do not do."""
    if before is None:
        return _understand(text, lexicon, talk, None, whole=whole, hand=hand)
    from kg.language.in_full import or_in_full

    narrowly = partial(_understand, text, lexicon, talk, before, whole=whole, hand=hand)
    return or_in_full(text, lexicon, talk, before, narrowly, partial(understand, whole=True, hand=False))


def _understand(
    text: str, lexicon: Lexicon, talk: Callable[[], Talk], before: Before | None, *, whole: bool, hand: bool
) -> Understood:
    text = none_of_them(without_last(text, lexicon), lexicon)
    if (longer := with_family(text, lexicon)) != text:
        with suppress(QuestionError):
            found = understand(longer, lexicon, talk, before, whole=whole, hand=hand)
            if found.doubtful is None and found.unread is None:
                return found
    if before is not None:
        from kg.language.going_on import taken_up
        from kg.language.other_one import with_the_other

        text = with_the_other(text, lexicon, talk, before)
        before = taken_up(text, lexicon, before)
        if (answer := _replied(text, lexicon, talk, before, last=False)) is not None:
            return answer
    if (straight := set_aside(text, lexicon, talk, before) or _direct(text, lexicon, talk, before)) is not None:
        return straight
    if before is not None:
        from kg.language.going_on import going_on

        text, leaning = going_on(text, lexicon, talk, before, whole=whole)
        leaning = leaning or _replied(text, lexicon, talk, before, last=True)
        if leaning is not None:
            return leaning
    from kg.language.resume import of_the_one_before, points_back

    try:
        found = after_use(text, _alone(text, lexicon, talk, before, whole=whole, hand=hand), lexicon, talk)
        found = found._replace(question=as_meant(text, found.question, lexicon))
        if asks_otherwise(text, found, lexicon):
            raise parser_for(text, lexicon).unknown() or as_not_meant(text)
    except QuestionError as error:
        from kg.language.slips import righted

        if error.code not in ("BL-Q02", "BL-Q03") or (same := righted(text, lexicon, talk())) is None:
            raise
        try:
            return understand(same, lexicon, talk, before, whole=whole, hand=hand)
        except QuestionError:
            raise error from None  # its place is in what was typed
    if before is not None and (asked := of_the_one_before(text, found.question, lexicon, before, talk)) is not None:
        return Understood(asked, found.passed)
    if before is not None and found.unread is None and not found.in_hand:
        from kg.language.narrowed import of_the_list_before

        if (narrowed := of_the_list_before(text, found.question, lexicon, talk(), before)) is not None:
            return Understood(narrowed, found.passed)
    if found.unread is None and points_back(text, found.question, lexicon, before, talk):
        raise parser_for(text, lexicon).failure()
    return found


def _replied(text: str, lexicon: Lexicon, talk: Callable[[], Talk], before: Before, *, last: bool) -> Understood | None:
    """What a reply asks that is no question by itself; None if it is none."""
    from kg.language.replies import Reply, replied

    def by_itself(asked: str) -> Understood:
        return understand(asked, lexicon, talk, whole=True)

    def again(asked: str, about: Before) -> Understood:
        return understand(asked, lexicon, talk, about, whole=True, hand=False)

    return replied(Reply(text, lexicon, before, talk(), by_itself, again), last=last)


def _direct(text: str, lexicon: Lexicon, talk: Callable[[], Talk], before: Before | None) -> Understood | None:
    """What an indirect question asks, a statement with a tag, or one with an aside in brackets, if that is understood whole
    once it is put directly."""
    try:
        parse(text, lexicon)
        return None
    except QuestionError as error:
        if error.code not in ("BL-Q02", "BL-Q03", "BL-Q05"):
            return None
    from kg.language.aside import without_brackets
    from kg.language.degrees import without_family
    from kg.language.gist import of_those
    from kg.language.in_what import without_aspects
    from kg.language.indirect import direct, left_out
    from kg.language.resume import points_back
    from kg.language.sized import without_size
    from kg.language.whatkind import left_aside, without_description

    if before is not None and any(True for _ in of_those(text, lexicon, talk())):
        return None  # it asks of the list before
    ambiguous: QuestionError | None = None
    ways = (without_brackets, direct, without_family, without_description, without_aspects, without_size)
    for said in chain.from_iterable(way(text, lexicon, talk()) for way in ways):
        try:
            found = understand(said, lexicon, talk, before, whole=True, hand=False)
            if before is not None and points_back(text, found.question, lexicon, before, talk):
                continue  # "how many teeth has it?"
            if found.doubtful is None and found.unread is None and not found.pieced:
                left, aside = left_out(text, said, lexicon, talk()), left_aside(text, said, lexicon, talk())
                return found._replace(passed=(*left, *found.passed), untold=found.untold or aside)
        except QuestionError as error:
            ambiguous = error if error.code == "BL-Q05" and ambiguous is None else ambiguous
    if ambiguous is not None and any(claim in text.casefold() for claim in lexicon.words.yesno.get("claims", ())):
        raise ambiguous  # "a Doyen is between 6 and 10 inches, true or false?": of which?
    return None


def alone(text: str, lexicon: Lexicon, talk: Callable[[], Talk]) -> Understood:
    """The question that a text asks by itself, understood whole. Raises QuestionError."""
    return _alone(text, lexicon, talk, None, whole=True, hand=False)


def _alone(
    text: str, lexicon: Lexicon, talk: Callable[[], Talk], before: Before | None, *, whole: bool, hand: bool
) -> Understood:
    """The question that a text asks by itself, whatever went before. What was refused once is refused again: many wordings of
    one text lead to the same."""
    known = _refused.get() if before is None else None
    if known is None:
        return _looked_at(text, lexicon, talk, before, whole=whole, hand=hand)
    if (same := known.get((text, whole, hand))) is not None:
        raise same.with_traceback(None)
    deep = _depth.get()
    if deep >= MOST_DEEP:
        raise parser_for(text, lexicon).failure()
    further = _depth.set(deep + 1)
    try:
        return _looked_at(text, lexicon, talk, before, whole=whole, hand=hand)
    except QuestionError as error:
        known[text, whole, hand] = error
        raise
    finally:
        _depth.reset(further)


def _looked_at(
    text: str, lexicon: Lexicon, talk: Callable[[], Talk], before: Before | None, *, whole: bool, hand: bool
) -> Understood:
    """The question that a text asks by itself, looked at in all ways."""
    from kg.language.fitting import what_fits
    from kg.language.sought import part_sought

    if (fitting := what_fits(text, lexicon, talk) or part_sought(text, lexicon)) is not None:
        return Understood(fitting)
    try:
        strict = of_its_part(text, parse(text, lexicon), lexicon)
        refuse_width(strict, text, lexicon, talk)
        if amiss(text, strict, lexicon):
            raise as_not_meant(text)
        if isinstance(strict, nodes.Identify) and (listed := no_description(text, lexicon, talk)) is not None:
            return Understood(listed)
        if (other := misread(text, strict, lexicon, talk)) is not None:
            return other
        if isinstance(strict, nodes.Filter) and names_beside(strict.expr):  # "toothed dissecting forceps over 20 cm?"
            strict = family_with_value(text, strict, lexicon)
        if (each := of_one_family(text, lexicon, talk, strict)) is not None:
            return each
        if (feature := feature_asked(text, strict, lexicon, talk)) is not None:
            return Understood(feature)
        if lists_named(text, strict, lexicon):
            from kg.language.askedof import more_exactly

            if (named := more_exactly(text, strict, lexicon, talk())) is not None:
                return named
        doubtful = isinstance(strict, nodes.Filter) and (
            ("?" in text.rstrip(" ?") and names_beside(strict.expr)) or half_named(strict.expr) or but_itself(strict.expr)
        )
        if only_names(strict) and isinstance(strict, nodes.Filter):
            from kg.language.topics import of_a_person

            if (person := of_a_person(text, lexicon, talk())) is not None:
                raise person
        if (
            asked := same_twice(strict) or asked_of(text, strict, lexicon) or which_of_those(text, strict, lexicon)
        ) is not None:
            return Understood(asked)
        for meant in (kind_of_what, the_members):
            if (other := meant(text, strict, lexicon)) is not None:
                return Understood(other)
        if sets_against(strict) and (which := which_of_two(text, lexicon, talk())) is not None:
            return Understood(which)
        if of_several(strict, text, lexicon) and (several := true_of_several(text, lexicon, talk())) is not None:
            return Understood(several)
        if not doubtful and not nothing_at_all(strict):
            strict = family_with_value(text, which_family(strict), lexicon)
            return Understood(held(text, either_of(strict), lexicon), untold=no_reason(text, strict, lexicon, talk))
        first = parser_for(text, lexicon).failure()  # "straight or curved? Halsted mosquito" asks for no list
    except QuestionError as error:
        if (
            error.code in ("BL-Q02", "BL-Q03", "BL-Q05")
            and not whole
            and (each := of_one_family(text, lexicon, talk)) is not None
        ):
            return each
        from kg.language.described import as_described
        from kg.language.topics import measure, of_a_person

        advice = error.code == "BL-Q06"
        if advice and (why := why_in_other_words(text, lexicon, talk)) is not None:
            return Understood(why)
        if (person := of_a_person(text, lexicon, talk())) is not None:
            raise person from None
        if error.code in ("BL-Q02", "BL-Q03") and (width := measure(text, lexicon, talk())) is not None:
            raise width from None
        if error.code == "BL-Q03" and (described := as_described(text, lexicon, error)) is not None:
            return Understood(described)
        if error.code in ("BL-Q02", "BL-Q03") and not whole and (two := two_asked(text, lexicon, talk())) is not None:
            return two
        from kg.language.askedof import asked_of_named

        if (advice or error.code in ("BL-Q02", "BL-Q03", "BL-Q05")) and (
            named := asked_of_named(text, lexicon, talk())
        ) is not None:
            return named
        if error.code not in ("BL-Q02", "BL-Q03", "BL-Q05"):
            if advice and (told := told_all_the_same(text, lexicon, talk(), partial(_alone, whole=whole, hand=hand), before)):
                return told
            if advice and (less := without_best(text, lexicon, talk())) is not None:
                with suppress(QuestionError):
                    found = _alone(less, lexicon, talk, None, whole=True, hand=False)
                    if found.doubtful is None and isinstance(found.question, nodes.Filter | nodes.Compare):
                        return found._replace(untold=talk().no_best)
            if (notes := of_care(text, lexicon, talk(), before, whole=whole, refused=error)) is None:
                if advice and not whole and (aimed := without_aim(text, lexicon, talk())) is not None:
                    return aimed
                raise
            return notes
        first = error
    from kg.language.aspects import aspects_asked
    from kg.language.figures import spelt_out, written_out
    from kg.language.hand import describes, in_the_hand, one_with
    from kg.language.needed import on_occasion
    from kg.language.reasons import reason_asked
    from kg.language.refusal import helpful
    from kg.language.topics import topic

    if (several := aspects_asked(text, lexicon, talk())) is not None:
        return Understood(several.question, other=several.other)
    if (notes := of_care(text, lexicon, talk(), before, whole=whole)) is not None:
        return notes
    if not whole and (meant := of_meaning(text, lexicon, talk(), surely=True)) is not None:
        return meant  # "I nod along about the box lock, but what is it?"
    from kg.language.gist import gist
    from kg.language.otherwise import DASH, framed, named_last, said_otherwise, topic_for_it

    unlisted = no_list_asked(text, lexicon)
    if (asked := gist(text, lexicon, talk())) is not None and not (unlisted and isinstance(asked, nodes.Filter)):
        return Understood(asked)
    if (several := true_of_several(text, lexicon, talk())) is not None:
        return Understood(several)
    changed = said_otherwise(text, lexicon, talk()) or text
    about_it = (topic_for_it(text, lexicon), DASH.sub(": ", text))
    about_it += (again,) if (again := topic_for_it(changed, lexicon)) != changed else ()
    same = chain(framed(changed, lexicon, talk()), framed(text, lexicon, talk()))
    for turned in chain((named_last(text, lexicon),), same, (changed,)) if first.code == "BL-Q05" else ():
        with suppress(QuestionError):
            if turned != text and ((asked := read(turned, lexicon)) and (turned != changed or isinstance(asked, nodes.Filter))):
                return Understood(asked)
    if (longer := spelt_out(text, lexicon)) is not None:
        return Understood(longer)
    for turned in about_it:
        with suppress(QuestionError):
            asked = read(turned, lexicon) if turned != text else None
            if asked is not None and not mixes_names(asked):
                return Understood(asked)
    from kg.language.bearers import full_names
    from kg.language.lighter import asks_what_it_is

    words = talk()
    if (less := _lightly(text, lexicon, words)) is not None:
        told = len(less.passed) > 1 or isinstance(less.question, nodes.Holds) or bool(words.how_done & {*less.passed})
        told = told or (unlisted and isinstance(less.question, nodes.Filter))
        for turned in same if told else ():  # a sentence whose words are all known, before one less some words
            with suppress(QuestionError):
                return Understood(read(turned, lexicon))
        if not (unlisted and isinstance(less.question, nodes.Filter)):
            return less
    if (inner := _core(text, lexicon, words, before, whole, hand)) is not None:
        return no_name_asked(same, lexicon) or inner  # the whole, before a part
    if (asked := on_occasion(text, lexicon, words, before, understand)) is not None:
        return asked
    from kg.language.passive import done_with
    from kg.language.scene import of_a_scene

    def ask(asked: str, laid: Before) -> Understood:
        return understand(asked, lexicon, talk, laid, whole=True, hand=False)

    if before is None and (laid := of_a_scene(text, lexicon, words, ask)) is not None:
        return laid
    if (done := done_with(text, lexicon, words)) is not None:
        return Understood(done)
    ambiguous: QuestionError | None = first if first.code == "BL-Q05" else None
    if ambiguous is None and not whole and (less := without_aim(text, lexicon, words)) is not None:
        return less
    seen = in_the_hand(text, lexicon, words) if hand else None
    if seen is not None and read_back(nodes.Identify(seen), lexicon):
        return Understood(nodes.Identify(seen), in_hand=True)
    try:
        named = full_names(text, lexicon, words.names_nobody) if first.code != "BL-Q05" else None
    except QuestionError as error:
        ambiguous, named = error, None
    if named is not None:
        with suppress(QuestionError):  # "when an IUD is put in" is written otherwise before "IUD" stands for the name of a hook
            return Understood(read(changed if changed != text else named, lexicon))
        with suppress(QuestionError):
            return plainly(named, lexicon, words)
    more: Understood | QuestionError | None = None
    try:
        more = in_other_words(text, lexicon, words, short=hand) if ambiguous is None else None
        found = loosely(text, lexicon, words) if more is None else None
    except QuestionError as error:
        ambiguous = ambiguous or error
    else:
        if isinstance(more, QuestionError):
            raise more
        if more is not None:
            return more
        if found is not None and not (isinstance(found[0], nodes.Filter) and asks_what_it_is(parser_for(text, lexicon))):
            return Understood(*found, pieced=True)
    if ambiguous is None and (less := _lightly(text, lexicon, words, hand=hand, plain=True)) is not None:
        return less
    if ambiguous is None and (without := without_bare(text, lexicon, words)) is not None:
        return without
    if ambiguous is None and not whole and (one := first_of_two(text, lexicon, words)) is not None:
        return one
    if ambiguous is not None and (chosen := _of_several(text, ambiguous, lexicon, words, before, whole=whole)) is not None:
        return chosen
    if not whole and (meant := of_meaning(text, lexicon, words)) is not None:
        return meant
    if changed != text and (ambiguous is None or text.endswith(changed)):
        with suppress(QuestionError):
            if not isinstance(
                (again := _alone(changed, lexicon, talk, before, whole=True, hand=False)).question, nodes.Identify
            ):
                return again
    from kg.language.about import named_only
    from kg.language.company import of_the_one_told

    about = topic(text, lexicon, words, first)
    if ambiguous is None and not whole and (one := one_with(text, lexicon)) and read_back(nodes.Identify(one), lexicon):
        return Understood(nodes.Identify(one), doubtful=about or helpful(first, text, lexicon, words))
    try:
        asked_why = about or topic(text, lexicon, words, None)
        if not whole and (told := named_only(named or text, lexicon, words, before, asked_why)) is not None:
            return (ambiguous and of_the_one_told(ambiguous, told, lexicon, words)) or told
    except QuestionError as error:
        ambiguous = ambiguous or error
        if (chosen := _of_several(text, error, lexicon, words, before, whole=whole)) is not None:
            return chosen
    if ambiguous is None and not whole and (reason := reason_asked(text, lexicon, words)) is not None:
        return Understood(reason.question, unread=reason.unread, untold=reason.untold)
    if ambiguous is None and describes(text, lexicon) and read_back(nodes.Identify(nodes.seen_text(text)), lexicon):
        seen = nodes.seen_text(written_out(text, lexicon))
        return Understood(nodes.Identify(seen), doubtful=about or helpful(first, text, lexicon, words))
    if ambiguous is not None and (about is None or about.code == "BL-Q11"):
        if not whole and (each := _all_bearers(ambiguous, lexicon, words)) is not None:
            return each
        if (kinds := each_kind(ambiguous, lexicon) or each_meaning(ambiguous, lexicon)) is not None:
            return Understood(kinds)
        raise ambiguous
    raise about or helpful(first, text, lexicon, words)


def _core(text: str, lexicon: Lexicon, talk: Talk, before: Before | None, whole: bool, hand: bool) -> Understood | None:
    """What the clauses ask that say something of instruments; None if all of them do, or if they are not understood."""
    from kg.language.clauses import core
    from kg.language.lighter import no_list

    found = core(text, lexicon, talk)
    if found is not None:
        with suppress(QuestionError):
            inner = understand(found.text, lexicon, lambda: talk, before, whole=whole, hand=hand)
            listed = isinstance(inner.question, nodes.Filter) and isinstance(inner.question.expr, nodes.Named)
            bearers = inner.unread is not None and isinstance(inner.question, nodes.Filter)  # the whole may tell more
            # "proctoscope: what comes out before you look?" asks for no list
            if inner.doubtful is None and not listed and not bearers and not no_list(found.text, inner.question, lexicon, talk):
                return inner._replace(passed=tuple(dict.fromkeys((*inner.passed, *found.left))))
    return None


def _lightly(text: str, lexicon: Lexicon, talk: Talk, *, hand: bool = True, plain: bool = False) -> Understood | None:
    """What is asked without the words of no weight, if all that is left is understood: by the grammar, or in ``plain`` talk."""
    from kg.language.figures import in_words
    from kg.language.lighter import lighter, no_list

    for found in lighter(in_words(text, lexicon), talk):
        with suppress(QuestionError):
            question = None if plain else read(found.text, lexicon)
            if question is None:
                inner = _alone(found.text, lexicon, lambda: talk, None, whole=True, hand=hand)
                if inner.doubtful is None and not inner.in_hand and not no_list(found.text, inner.question, lexicon, talk):
                    return inner._replace(passed=tuple(dict.fromkeys((*inner.passed, *found.left))))
            elif not (
                isinstance(question, nodes.Filter) and (names_beside(question.expr) or half_named(question.expr))
            ) and not (no_list(found.text, question, lexicon, talk)):
                return Understood(asked_of(found.text, question, lexicon) or held(found.text, question, lexicon), found.left)
    return None


def _of_several(
    text: str, error: QuestionError, lexicon: Lexicon, talk: Talk, before: Before | None, *, whole: bool
) -> Understood | None:
    """What a clause asks of a name that several bear; or what is asked with the bearer that belongs with what else is named, if
    that is understood then; else None."""
    from kg.language.company import asked_what_it_is, by_company, kinds_of_bearers

    if asked_what_it_is(error, lexicon):
        raise error
    if not whole and (borne := name_in_two(text, lexicon, talk)) is not None:
        return borne
    if not whole and (each := kinds_of_bearers(error, lexicon, talk)) is not None and read_back(each[0], lexicon):
        return Understood(each[0], unread=each[1])
    if (said := by_company(error, lexicon, talk, text)) is not None:
        with suppress(QuestionError):
            found = _alone(said, lexicon, lambda: talk, before, whole=whole, hand=False)
            after = isinstance(getattr(found.question, "expr", None), nodes.CalledAfter)  # the name itself is asked about
            return found if found.doubtful is None and not after else None
    return None


def _all_bearers(error: QuestionError, lexicon: Lexicon, talk: Talk) -> Understood | None:
    """All instruments that bear a name of several, where no more of the question is understood."""
    from kg.language.company import all_bearers, usually_meant

    usual = usually_meant(error, lexicon)
    for reading in (usual,) if usual else error.readings[:MOST_LOOKED_AT]:
        with suppress(QuestionError):
            _alone(reading, lexicon, lambda: talk, None, whole=not usual, hand=False)
            return None  # it is answered for the one that is usually meant, or the person is better asked
    found = all_bearers(error, lexicon, talk)
    return Understood(found[0], unread=found[1]) if found and read_back(found[0], lexicon) else None


def in_other_words(text: str, lexicon: Lexicon, talk: Talk, *, short: bool) -> Understood | QuestionError | None:
    """A question in other words for the same, or one whose pieces the grammar reads; the error of one that is read but for a
    name of several. ``short``: whether one word may stand for the names of values that it is part of."""
    from kg.language.company import read_with_the_usual
    from kg.language.figures import shorthand
    from kg.language.islands import islands
    from kg.language.lighter import asks_what_it_is
    from kg.language.otherwise import framed, said_otherwise

    unsure: QuestionError | None = None
    changed = said_otherwise(text, lexicon, talk)
    if changed is not None:
        with suppress(QuestionError):
            question = read(changed, lexicon)
            return misread(changed, question, lexicon, lambda: talk) or Understood(question)
        if (less := _lightly(changed, lexicon, talk)) is not None:
            return less
    for typed in dict.fromkeys((changed or text, text)):
        for same in framed(typed, lexicon, talk):
            if points_only_back(same, lexicon):
                continue
            try:
                found = plainly(same, lexicon, talk)
                if not explained_for_a_place(text, found.question, lexicon, talk):
                    return found._replace(untold=found.untold or no_reason(text, found.question, lexicon, lambda: talk))
            except QuestionError as error:
                if (less := _lightly(same, lexicon, talk)) is not None:
                    return less
                if not unsure and read_with_the_usual(error, lexicon):
                    unsure = error
    if unsure:
        return unsure
    parser = parser_for(changed or text, lexicon)
    found = None if parser.those_before() or asks_what_it_is(parser) else islands(parser, talk, short=short)
    if found is None and (again := shorthand(parser)) is not None and not again.those_before():
        found = islands(again, talk, short=short)
    if found is not None:
        return misread(changed or text, found[0], lexicon, lambda: talk) or Understood(*found, pieced=True)
    if changed is not None and not parser_for(text, lexicon).those_before():
        with suppress(QuestionError):  # a word written otherwise may be one that says nothing
            if (found := islands(parser_for(text, lexicon), talk, short=short)) is not None:
                return misread(text, found[0], lexicon, lambda: talk) or Understood(*found, pieced=True)
    if changed is not None:
        with suppress(QuestionError):
            return plainly(changed, lexicon, talk)
    return None
