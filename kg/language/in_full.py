"""A follow-up put in full, tried where nothing narrower reads it: without the word that joins it to what went before ("and",
"but", "so"), with the name of what went before for "it" or "one", as one of the family of the list before, or as one more thing
asked of the care that was asked about.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.before import LISTS, Before, names_several
from kg.language.its_part import is_of, with_its
from kg.language.joined import features_of
from kg.language.joining import conj, family_in
from kg.language.parse import parser_for
from kg.language.parse_forms import FormParser
from kg.language.readings import Understood
from kg.language.resume import explained
from kg.language.retyped import place_as_typed, place_named, retyped
from kg.language.reworded import of_another_word, reworded
from kg.language.say import say_expr
from kg.language.tokens import SYMBOL

if TYPE_CHECKING:
    from kg.language.lexicon import Lexicon
    from kg.language.talk import Talk

Asked = Callable[[str, "Before | None"], Understood]
"""Reads a text whole, after what went before or by itself; raises QuestionError."""
Reads = Callable[..., Understood]
_OF_NAMES = ("pattern", "category", "kind", "group")


MOST_OF_CARE = 4
"""A longer text is no short follow-up about care."""
SEVERAL_SHOWN = 2
"""Of so many instruments of an answer none is "it"."""
POINTING = 2
"""So few words only point ("which ones?") and ask nothing of a name."""
_NO_WORD = ("BL-Q01", "BL-Q02", "BL-Q03", "BL-Q05", "BL-Q06", "BL-Q11")


def or_in_full(
    text: str, lexicon: Lexicon, talk: Callable[[], Talk], before: Before, narrowly: Callable[[], Understood], understand: Reads
) -> Understood:
    """What the narrower ways make of a follow-up; where they refuse it or understand only a part, what it asks put in full."""

    def ask(asked: str, about: Before | None) -> Understood:
        return understand(asked, lexicon, talk, about)

    if (more := _one_more_of_care(text, lexicon, talk, before)) is not None:
        return more
    from kg.language.placed import NO_PLACE

    if (said := _with_what_is_such(text, lexicon, talk(), before)) is not None:
        with suppress(QuestionError):
            if (found := ask(said, None)).whole:
                return found
    if _says_such(parser_for(text, lexicon), talk()):
        raise _not_joined(text, lexicon)
    if (same := retyped(text, lexicon, before, ask) or reworded(text, lexicon, talk(), before, ask)) is not None:
        return same
    if (placed := _of_the_place(text, lexicon, talk(), before, ask) or _done_there(text, lexicon, before, ask)) is not None:
        return placed
    its, one = with_its(text, lexicon, talk(), before)
    for said in its:
        with suppress(QuestionError):
            if (found := ask(said, before)).whole and is_of(found.question, one):
                return found
    try:
        found = narrowly()
    except QuestionError as error:
        from kg.language.company import of_what_went_before

        if (named := of_what_went_before(error, before, lexicon, talk())) is not None:
            with suppress(QuestionError):
                return understand(named, lexicon, talk, before)
        # it says what was understood, and why that has no answer
        told = error.hint == NO_PLACE or (error.code == "BL-Q03" and error.hint)
        if before.question is None and not before.readings and not error.hint:
            error.hint = "The question before was not answered, so nothing is pointed back to: name the instrument."
        if error.code not in _NO_WORD or told or (more := in_full(text, lexicon, talk(), before, ask)) is None:
            raise
        listed = isinstance(more.question, nodes.Filter) and of_another_word(text, lexicon, talk(), before)
        if listed or _is_told_again(more.question, parser_for(text, lexicon), talk(), before):
            raise
        return more
    if its and not is_of(found.question, one):
        raise _not_joined(text, lexicon)  # "are the prongs sharp?" asks of no other instruments
    if _of_all_instruments(found.question, parser_for(text, lexicon), before, talk()):
        raise _not_joined(text, lexicon)
    if found.in_hand and isinstance(before.question, nodes.Filter | nodes.Count) and _of_them(parser_for(text, lexicon)):
        raise _not_joined(text, lexicon)  # "which one has three blades, the middle one removable?" asks of the list
    if isinstance(found.question, nodes.Filter) and (
        of_another_word(text, lexicon, talk(), before) or _of_values_told(before, parser_for(text, lexicon), lexicon)
    ):
        raise _not_joined(text, lexicon)
    if (held := _with_its_care(found, before, lexicon)) is not None:
        return held
    if (kept := _of_the_list_too(found, parser_for(text, lexicon), before, lexicon)) is not None:
        return kept
    alone = found.unread == () and isinstance(found.question, nodes.Describe | nodes.Compare | nodes.LookAlikes)
    parser = parser_for(text, lexicon)
    if before.question is not None and found.unread and _is_of_none_listed(found.question, parser, before):
        if (more := in_full(text, lexicon, talk(), before, ask)) is not None:
            return more
        raise _not_joined(text, lexicon)
    of_none = parser.says("kw.among") and not before.names  # "is a Kerrison among them?"
    of_none = of_none or (parser.says("kw.why") and not parser.says("pattern", "category"))  # "why that?"
    if before.question is not None and alone and (of_none or not _points(text, lexicon, talk())):
        raise _not_joined(text, lexicon)
    found = (found.unread is not None and in_full(text, lexicon, talk(), before, ask)) or found
    if _is_told_again(found.question, parser, talk(), before):
        raise _not_joined(text, lexicon)
    return found


def _of_them(parser: FormParser) -> bool:
    """Whether a text begins with "which one", "which of those", "the one that"."""
    return any(e.kind == "kw.ones" for at in (0, 1) if at < len(parser.tokens) for _, es in parser.phrases(at) for e in es)


def _of_all_instruments(question: nodes.Question, parser: FormParser, before: Before, talk: Talk) -> bool:
    """Whether a follow-up that points back ("and the largest ones?", "does the blade come off?" of rib spreaders) was read as
    one about all instruments."""
    if isinstance(question, nodes.Extreme):
        return isinstance(question.expr, nodes.Everything | nodes.Named) and parser.says("kw.ones")
    if not isinstance(question, nodes.Filter) or not isinstance(before.question, LISTS) or len(parser.tokens) < 3:
        return False
    asks = parser.kinds(0) & {"kw.be", "kw.do", "kw.have"} and parser.tokens[1].key in talk.definite
    said = getattr(question.expr, "items", (question.expr,))
    named = any(family_in(i) or isinstance(i, nodes.Named) for i in said)
    return bool(asks) and not named and "part" in parser.kinds(2)


def _of_the_list_too(found: Understood, parser: FormParser, before: Before, lexicon: Lexicon) -> Understood | None:
    """ "Which one needs an assistant to hold it?" after a list: of that list, where nothing of it was taken up; else None."""
    old = before.expr(lexicon) if isinstance(before.question, nodes.Filter) else None
    question = found.question
    first = any(e.kind == "kw.ones" for _, es in parser.phrases(0) for e in es) if parser.tokens else False
    if old is None or not first or not isinstance(question, nodes.Filter) or found.unread is not None or names_several(old):
        return None
    had, said = getattr(old, "items", (old,)), getattr(question.expr, "items", (question.expr,))
    if any(i in had or family_in(i) or isinstance(i, nodes.Named | nodes.Everything | nodes.CalledAfter) for i in said):
        return None
    if {f for i in had for f in features_of(i)} & {f for i in said for f in features_of(i)}:
        return None  # another value of the same
    return found._replace(question=nodes.Filter(conj([old, question.expr])))


def _of_values_told(before: Before, parser: FormParser, lexicon: Lexicon) -> bool:
    """Whether "which of those ..." speaks of several values that were told of one instrument, and so of no instruments."""
    question = before.question
    if not isinstance(question, nodes.Value) or len(before.values) < SEVERAL_SHOWN or not parser.says("kw.them"):
        return False
    which = any("kw.which" in parser.kinds(at) for at in range(min(2, len(parser.tokens))))
    return which and lexicon.vocabulary.terms[question.subject].role == "pattern"


def _with_what_is_such(text: str, lexicon: Lexicon, talk: Talk, before: Before) -> str | None:
    """ "Which tissue forceps have such jaws?" after what fenestrated jaws are: the text with their name; None if it speaks of
    nothing that was explained."""
    term, terms = _spoken_of(before, lexicon), lexicon.vocabulary.terms
    if not term or terms[term].role not in ("value", "part", "feature", "concept"):
        return None
    feature = lexicon.vocabulary.features.get(terms[term].feature or "")
    name = lexicon.name(term)
    nouns = {lexicon.keys(name)[-1], *lexicon.keys(lexicon.vocabulary.label(feature.part) if feature and feature.part else "")}
    parser = parser_for(text, lexicon)
    for at, token in enumerate(parser.tokens[:-1]):
        after = at + 1
        if parser.tokens[after].key in lexicon.words.articles and after + 1 < len(parser.tokens):
            after += 1  # "such a joint"
        own = parser.tokens[after].key in nouns and not isinstance(before.question, nodes.Describe)
        if token.key in talk.such and at and (own or parser.tokens[after].key in talk.such_a):
            return f"{text[: token.start]}{name}{text[parser.tokens[after].end :]}"
    return None


def _says_such(parser: FormParser, talk: Talk) -> bool:
    """Whether a text asks for what has "such a tip", and what that is was not understood."""
    pointing = {"kw.it", "kw.them", "kw.that"}
    return parser.says("kw.which") and any(
        t.key in talk.such and not parser.kinds(at) & pointing and at for at, t in enumerate(parser.tokens)
    )


def _spoken_of(before: Before, lexicon: Lexicon) -> str:
    """The one part, value or sign that a question before was about; empty if there is none."""
    question = before.question
    if isinstance(question, nodes.Define):
        return question.term
    if isinstance(question, nodes.PartOf):
        return question.part
    if isinstance(question, nodes.Describe):
        return question.parts[0] if len(question.parts) == 1 else ""
    if isinstance(question, nodes.Holds):
        return getattr(question.expr, "part", "") or getattr(question.expr, "value", "")
    if isinstance(question, nodes.Value) and len(question.features) == 1 and len(before.values) == 1:
        found = [e.term for e in lexicon.entries(before.values[0]) if e.kind == "value"]
        return found[0] if len(found) == 1 else ""
    return ""


def _is_told_again(question: nodes.Question, parser: FormParser, talk: Talk, before: Before) -> bool:
    """Whether others are asked for, and only what was told of the one before would be told again ("what else has jaws like
    that?")."""
    of_others = parser.says("kw.which") and any(t.key in talk.others for t in parser.tokens[:3])
    return of_others and isinstance(question, nodes.Describe | nodes.Define) and question == before.question


def _is_of_none_listed(question: nodes.Question, parser: FormParser, before: Before) -> bool:
    """Whether "which of those ..." was understood only in part, as of one instrument that is none of those."""
    one = getattr(question, "subject", "") or getattr(question, "pattern", "") or getattr(question, "term", "")
    first = {e.kind for _, es in parser.phrases(0) for e in es} if parser.tokens else set()
    of_those = "kw.ones" in first and parser.says("kw.them")
    return bool(of_those and one and (one not in before.shown or not isinstance(before.question, LISTS)))


def _one_more_of_care(text: str, lexicon: Lexicon, talk: Callable[[], Talk], before: Before) -> Understood | None:
    """ "Flushed or brushed?" after a question about care: no more than words of care, which mean something else elsewhere"""
    tokens = parser_for(text, lexicon).tokens
    short = 0 < len(tokens) <= MOST_OF_CARE and isinstance(before.question, nodes.Reprocessing | nodes.CareNotes)
    said = {t.key for t in tokens}
    if not short or said.isdisjoint(k for phrase in lexicon.words.care_words.get("doing", ()) for k in lexicon.keys(phrase)):
        return None
    return _of_the_care(_unjoined(text, lexicon, talk()), lexicon, talk(), before)


def _with_its_care(found: Understood, before: Before, lexicon: Lexicon) -> Understood | None:
    """ "And sterilised?" after the care of one instrument: the notes for that one; None for those on a thing of their own."""
    notes, asked = found.question, before.question
    if not isinstance(notes, nodes.CareNotes) or notes.subject or not isinstance(asked, nodes.Reprocessing | nodes.CareNotes):
        return None
    subjects = before.subjects(lexicon)
    one = len(subjects) == 1 and lexicon.vocabulary.terms[subjects[0]].role == "pattern"
    if not one or any(lexicon.words.care[t]["kind"] == "thing" for t in notes.topics):
        return None
    return found._replace(question=nodes.CareNotes(notes.topics, subjects[0]))


def _points(text: str, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether a text names something, or points to what went before."""
    parser = parser_for(text, lexicon)
    kinds = (*_OF_NAMES, "kw.it", "kw.them", "kw.ones")
    about = any(end > 1 and e.kind == "kw.and_what_of" for end, es in parser.phrases(0) for e in es)  # "what about ..."
    return about or parser.says(*kinds) or any(t.key in talk.possessive for t in parser.tokens)


def _not_joined(text: str, lexicon: Lexicon) -> QuestionError:
    """The refusal of a follow-up of which nothing but that it follows was understood ("and at 121?")."""
    error = parser_for(text, lexicon).failure()
    error.hint = error.hint or "What it asks of what went before is not understood: ask the whole question."
    return error


def in_full(text: str, lexicon: Lexicon, talk: Talk, before: Before, ask: Asked) -> Understood | None:
    """What a follow-up asks, put in full; None if that is not understood whole either."""
    bare = _unjoined(text, lexicon, talk)
    if bare != text:
        with suppress(QuestionError):
            if (found := ask(bare, before)).whole:
                return found
    if (care := _of_the_care(bare, lexicon, talk, before)) is not None:
        return care
    for name in _names(before, lexicon):
        for said in _named(bare, name, lexicon, talk):
            with suppress(QuestionError):
                if (found := ask(said, None)).whole and not isinstance(found.question, nodes.Identify):
                    return found
    return _of_the_family(bare, lexicon, before, ask) or _of_the_list(bare, lexicon, before, ask)


def _of_the_list(text: str, lexicon: Lexicon, before: Before, ask: Asked) -> Understood | None:
    """ "Which of those come both straight and curved?": the question with the words of the list before for "of those" """
    old = before.expr(lexicon) if isinstance(before.question, nodes.Filter | nodes.Count) else None
    parser = parser_for(text, lexicon)
    if old is None or names_several(old) or not parser.tokens:
        return None
    end = next((end for end, es in parser.phrases(0) if any(e.kind in ("kw.which", "kw.ones") for e in es)), 0)
    if parser.kinds(0) & {"kw.do", "kw.be"} and len(parser.tokens) > 1 and parser.tokens[1].key in lexicon.keys("any"):
        end = 2  # "do any of those come straight as well as curved?"
    while end and end < len(parser.tokens) and parser.kinds(end) & {"kw.of", "kw.them", "kw.among"}:
        end += 1
    if not end or end == len(parser.tokens) or not (end == 2 or parser.kinds(end - 1) & {"kw.them", "kw.ones"}):
        return None
    with suppress(QuestionError):
        found = ask(f"{lexicon.word('which')} {say_expr(old, lexicon)} {text[parser.tokens[end].start :]}", None)
        if found.whole and isinstance(found.question, nodes.Tally) and found.question.scope == old:
            return found
    return None


def _unjoined(text: str, lexicon: Lexicon, talk: Talk) -> str:
    """The text without the words at its beginning that join it to what went before."""
    tokens = parser_for(text, lexicon).tokens
    at = 0
    while at < len(tokens) - 1 and (tokens[at].key in talk.joins or (at and tokens[at].kind == SYMBOL)):
        at += 1
    return text[tokens[at].start :] if at else text


def _names(before: Before, lexicon: Lexicon) -> list[str]:
    """The names of the one thing that the answer before was about: an instrument, a family, a part or a sign."""
    question, terms = before.question, lexicon.vocabulary.terms
    if isinstance(question, nodes.Define | nodes.PartOf):
        return [lexicon.name(question.term if isinstance(question, nodes.Define) else question.part)]
    if isinstance(question, nodes.CareNotes):
        things = [t for t in question.topics if lexicon.words.care[t]["kind"] == "thing"]
        return [str(lexicon.words.care[t]["say"]) for t in things] if len(things) == 1 and not question.subject else []
    if isinstance(question, nodes.ReasonNotes) and (term := explained(before.text, lexicon)):
        return [lexicon.name(term)]  # "what do gold handles mean?", "which needle holders have them?"
    subjects = before.subjects(lexicon)
    if len(subjects) == 1:
        (one,) = subjects
        return [say_expr(nodes.Named(one) if terms[one].role == "pattern" else nodes.IsA(one), lexicon)]
    return []


def _named(text: str, name: str, lexicon: Lexicon, talk: Talk) -> Iterator[str]:
    """The text with a name for each "it", "them" or "one" alone that stands for a thing, the last first."""
    parser = parser_for(text, lexicon)
    if len(parser.tokens) <= POINTING:
        return
    places: list[tuple[int, int]] = []
    at = 0
    while at < len(parser.tokens):
        found = next((end for end, es in parser.phrases(at) if any(e.kind in ("kw.it", "kw.them") for e in es)), at)
        if found == at and at and parser.tokens[at].key in talk.one and not _before_a_noun(parser, at):
            found = at + 1
        if found > at:
            places.append((parser.tokens[at].start, parser.tokens[found - 1].end))
        at = max(found, at + 1)
    for start, end in reversed(places):
        yield f"{text[:start]}{name}{text[end:]}"


def _before_a_noun(parser: FormParser, at: int) -> bool:
    """Whether "one" counts what stands behind it ("one blade")."""
    nouns = ("value", "part", *_OF_NAMES)
    return at + 1 < len(parser.tokens) and any(e.kind in nouns for _, es in parser.phrases(at + 1) for e in es)


def _of_the_place(text: str, lexicon: Lexicon, talk: Talk, before: Before, ask: Asked) -> Understood | None:
    """ "Which clamps close it without crushing it?" after "which clamps are used on bowel?": with the one place that the list
    before was asked for, for the first "it"; of several instruments none is "it"."""
    parser = parser_for(text, lexicon)
    at = next((i for i, t in enumerate(parser.tokens) if t.key in lexicon.keys(lexicon.word("it"))), 0)
    asks = at and "kw.which" in parser.kinds(0)  # "and which cut it?" does another thing
    by_whom = any(t.key in lexicon.words.doers or t.key in talk.helpers for t in parser.tokens[:at])  # it is what they hold
    place = place_named(before, lexicon) if asks and not by_whom else ""
    if not place or len(before.shown) < SEVERAL_SHOWN:
        return None
    token = parser.tokens[at]
    said = _unjoined(f"{text[: token.start]}{place}{text[token.end :]}", lexicon, talk)
    with suppress(QuestionError):
        found = ask(said, before)
        if found.whole and isinstance(found.question, nodes.Filter | nodes.Count):
            return found
    return None


def _done_there(text: str, lexicon: Lexicon, before: Before, ask: Asked) -> Understood | None:
    """ "What else holds the wound open there?" after what is used in thyroid surgery: with that in the place of "there", where
    this stands last"""
    parser = parser_for(text, lexicon)
    end = len(parser.tokens)
    while end > 1 and parser.tokens[end - 1].kind == SYMBOL:
        end -= 1
    if end <= POINTING or parser.tokens[end - 1].key not in lexicon.keys("there") or "kw.which" not in parser.kinds(0):
        return None
    if parser.kinds(end - 2) & {"kw.be", "kw.which"} or not (place := place_as_typed(before, lexicon)):
        return None
    with suppress(QuestionError):
        found = ask(f"{text[: parser.tokens[end - 1].start]}{place}", None)
        if found.whole and isinstance(found.question, nodes.Filter | nodes.Count):
            return found
    return None


def _of_the_family(text: str, lexicon: Lexicon, before: Before, ask: Asked) -> Understood | None:
    """ "Which of these has a double lever?": the question put for the family of the list before, of that list alone"""
    old = before.expr(lexicon) if isinstance(before.question, LISTS) else None
    family = next((i for i in getattr(old, "items", (old,)) if i is not None and family_in(i)), None)
    parser = parser_for(text, lexicon)
    end = next((end for end, es in parser.phrases(0) if any(e.kind == "kw.ones" for e in es)), 0) if parser.tokens else 0
    if old is None or not isinstance(family, nodes.IsA) or not end or end >= len(parser.tokens):
        return None
    rest = text[parser.tokens[end].start :]
    if "kw.have" in parser.kinds(end):  # "has"
        rest = f"{lexicon.word('have')}{text[parser.tokens[end].end :]}"
    for word in ("which", "count"):
        lead = lexicon.word(word)
        if parser.tokens[0].key not in lexicon.keys(lead):
            continue
        with suppress(QuestionError):
            found = ask(f"{lead} {lexicon.name(family.category, many=True)} {rest}", None)
            question = found.question
            if not found.whole or not isinstance(question, nodes.Filter | nodes.Count):
                continue
            said = getattr(question.expr, "items", (question.expr,))
            if not any(isinstance(i, nodes.IsA) and i.category == family.category for i in said):
                continue
            new = [i for i in said if not family_in(i)]
            if new:
                return found._replace(question=type(question)(conj([old, *new])))
    return None


def _of_the_care(text: str, lexicon: Lexicon, talk: Talk, before: Before) -> Understood | None:
    """ "For how long?" after a question about care: one more thing asked of the same"""
    from kg.language.upkeep import asked_besides

    if before.text and (notes := asked_besides(text, before, lexicon, talk)) is not None:
        return Understood(notes)
    return None


__all__ = ["in_full", "or_in_full"]
