"""Readings of a text that lean on no other reading: by the grammar, as plain talk, as a question of meaning or care, as one of
two questions. ``kg.language.understand`` tells which comes first.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.joining import named_in
from kg.language.lexicon import Lexicon
from kg.language.listed import (
    all_but,
    but_itself,
    excluding,
    mixes_names,
    named_or_so,
    names_beside,
    nothing_at_all,
    one_behind,
    only_names,
    read_back,
    same_twice,
    which_of_those,
)
from kg.language.nodes import Question
from kg.language.parse import parse, parser_for

if TYPE_CHECKING:
    from kg.language.before import Before
    from kg.language.talk import Talk

_TWICE = re.compile(
    r"(?:,\s+and|\bwhich\s.*\sand|^what(?:'s|\s+is|\s+are|\s+does)\s.*\sand)\s+(?:which|what|how)\b", re.IGNORECASE
)


_MARKED = re.compile(r"\?\s+")


class Understood(NamedTuple):
    """A question, and the words that were passed over as saying nothing of instruments (worth telling)."""

    question: Question
    passed: tuple[str, ...] = ()
    doubtful: QuestionError | None = None
    """The error to be raised if the description of an instrument in the hand leads nowhere."""
    untold: str = ""
    """Why what is asked has no answer here, where what is recorded of the instruments is told all the same."""
    unread: tuple[str, ...] | None = None
    """Not None: only the instruments that are named were understood, and not these words; the question is what is recorded of
    them, and no more."""
    other: str = ""
    """Another question in the same text, to be asked by itself."""
    apart: bool = False
    """Whether that other question says all that it asks, and needs nothing of the first."""
    pieced: bool = False
    """Whether pieces that the grammar reads were put together, over words that it does not; they may not belong together."""
    sure: bool = False
    """Whether every word is accounted for, so that a list of nothing is an answer too."""
    in_hand: bool = False
    """Read as a description of an instrument in the hand; if that leads nowhere, ``understand`` may be asked again without."""

    @property
    def whole(self) -> bool:
        """Whether all of a text was read as one question, which is no description."""
        return self.doubtful is None and self.unread is None and not self.pieced and not self.in_hand


def of_meaning(text: str, lexicon: Lexicon, talk: Talk, *, surely: bool = False) -> Understood | None:
    """The question as one for the meaning of a word of the trade, or None. ``surely``: as in ``meaning_asked``."""
    from kg.language.hand import in_the_hand, one_with
    from kg.language.meaning import meaning_asked
    from kg.language.nameless import told_for_its_use

    if one_with(text, lexicon) is not None:
        return None  # "what is the scalpel blade with a point like a sickle?"
    described = in_the_hand(text, lexicon, talk) is not None or told_for_its_use(text, lexicon, talk)
    found = meaning_asked(text, lexicon, talk, surely=surely, described=described)
    return Understood(*found[:2], unread=found.unread or None) if found and read_back(found.question, lexicon) else None


def of_care(
    text: str, lexicon: Lexicon, talk: Talk, before: Before | None, *, whole: bool, refused: QuestionError | None = None
) -> Understood | None:
    """The question as one for notes on care, which decide nothing; None if it is none. ``refused``: as in ``notes_asked``."""
    from kg.language.hand import in_the_hand
    from kg.language.upkeep import notes_asked

    found = notes_asked(text, lexicon, talk, before, refused, described=in_the_hand(text, lexicon, talk) is not None)
    return Understood(*found[:2], unread=found.unread or None) if found and not (whole and found.unread) else None


def misread(text: str, question: Question, lexicon: Lexicon, talk: Callable[[], Talk]) -> Understood | None:
    """What is asked where the grammar reads it, but hardly as it is meant: care with a part left in a state, a number of parts,
    or two lists. Raises QuestionError for a number that is not recorded."""
    if isinstance(question, nodes.Count):
        from kg.language.partcount import of_counted_parts, part_counted

        if part_counted(text, question, lexicon):
            return Understood(of_counted_parts(text, lexicon, talk()))
    if isinstance(question, nodes.DefineAll) and (which := _which_of_them(text, question, lexicon, talk)) is not None:
        return Understood(which)
    if isinstance(question, nodes.Quantified | nodes.Holds):
        from kg.language.upkeep import in_a_state

        if (
            in_a_state(parser_for(text, lexicon), talk)
            and (care := of_care(text, lexicon, talk(), None, whole=True)) is not None
        ):
            return care
        from kg.language.whatkind import described_first

        if (first := described_first(text, question, lexicon)) is not None:
            return Understood(first)
    return of_two_lists(text, question, lexicon, talk)


def _which_of_them(text: str, question: nodes.DefineAll, lexicon: Lexicon, talk: Callable[[], Talk]) -> Question | None:
    """ "What is half serrated, the Kelly or the Crile?" asks which of the two, and not what three words mean; else None."""
    roles = [lexicon.vocabulary.terms[t].role for t in question.terms]
    if roles[0] not in ("value", "part") or any(role != "pattern" for role in roles[1:]):
        return None
    return _framed_as((nodes.Filter,), text, lexicon, talk())


def _framed_as(kinds: tuple[type, ...], text: str, lexicon: Lexicon, talk: Talk) -> Question | None:
    """The first question of some kinds that other words for the same ask; None if there is none."""
    from kg.language.otherwise import framed

    for turned in framed(text, lexicon, talk):
        with suppress(QuestionError):
            question = read(turned, lexicon)
            if isinstance(question, kinds):
                return question
    return None


def after_use(text: str, found: Understood, lexicon: Lexicon, talk: Callable[[], Talk]) -> Understood:
    """What is asked where something is to be done to an instrument after use ("must be flushed"), of which the word was taken
    for what it means of instruments: its reprocessing. Raises QuestionError for a list."""
    said, question = f" {text.casefold().rstrip(' ?.!')} ", found.question
    words = lexicon.words.care_words
    if not any(f" {phrase} " in said for phrase in words.get("done", ())):
        return found
    if isinstance(question, nodes.Holds | nodes.Describe):
        return Understood(nodes.Reprocessing(question.pattern), found.passed)
    if isinstance(question, nodes.Quantified | nodes.Filter | nodes.Count):
        from kg.language.otherwise import framed, said_otherwise

        same = said_otherwise(text, lexicon, talk())  # "a lumen that must be flushed" is a lumen
        doing = words.get("doing", ())
        for other in filter(None, (same, *framed(text, lexicon, talk()))):  # "which tubes need flushing?"
            if any(word in other.casefold() for word in doing):
                continue
            with suppress(QuestionError):
                if parse(other, lexicon) == question:
                    return found
        raise QuestionError(
            "BL-Q11", str(words["unlisted"]), question=text, span=(0, len(text.rstrip())), hint=str(words["unlisted_hint"])
        )
    return found


def of_two_lists(text: str, question: Question, lexicon: Lexicon, talk: Callable[[], Talk]) -> Understood | None:
    """What is asked where the grammar reads a list that nothing fits ("which are straight, and which angled?", "what holds a
    no. 22 blade"): what a frame says, or the first of two lists; None if it is no such question."""
    twice = bool(_TWICE.search(text))
    if twice:
        from kg.language.clauses import of_a_family

        twice = not of_a_family(text, lexicon)
    if not isinstance(question, nodes.Filter):
        return None
    if not (twice or names_beside(question.expr) or _asks_for_names(text, question.expr, lexicon)):
        return None
    from kg.language.otherwise import framed
    from kg.language.twofold import twofold

    if twice and (both := twofold(text, lexicon, talk(), of_those=True)) is not None:
        return both

    for same in framed(text, lexicon, talk()):
        with suppress(QuestionError):
            found = read(same, lexicon)
            if not (_bears_a_family(found, lexicon) or _loses_a_name(found, question.expr, twice)):
                both = twofold(text, lexicon, talk()) if twice and isinstance(found, nodes.Filter) else None
                return both or Understood(found)
    if not twice:
        return None
    return twofold(text, lexicon, talk()) or first_of_two(text, lexicon, talk())


def _asks_for_names(text: str, expr: nodes.Expr, lexicon: Lexicon) -> bool:
    """Whether names are asked for, not what goes with an instrument ("what name do people use for a Kelly?")."""
    role = lexicon.vocabulary.terms[expr.value].role if isinstance(expr, nodes.Has) else ""
    return role == "pattern" and parser_for(text, lexicon).says("kw.name_word")


def _loses_a_name(found: Question, expr: nodes.Expr, twice: bool) -> bool:
    """Whether a list is read in which the instrument is no longer that was named ("which bone hooks are sharp?")."""
    named = named_in(expr)
    return isinstance(found, nodes.Filter) and not twice and named is not None and named.pattern not in repr(found)


def _bears_a_family(question: Question, lexicon: Lexicon) -> bool:
    """Whether a list is of what bears a name that is no name but a word for a family ("which curettes are there")."""
    expr = getattr(question, "expr", None)
    called = isinstance(expr, nodes.CalledAfter) and lexicon.entries(expr.name)
    return bool(called) and any(e.kind in ("category", "group", "kind") for e in called)


def no_description(text: str, lexicon: Lexicon, talk: Callable[[], Talk]) -> Question | None:
    """What a question asks that begins as a description does, but is a frame of another ("identify gaps: which have none")."""
    from kg.language.otherwise import framed, said_otherwise

    changed = said_otherwise(text, lexicon, talk())
    for said in (*((changed,) if changed else ()), *framed(text, lexicon, talk()), *framed(changed or text, lexicon, talk())):
        with suppress(QuestionError):
            if not isinstance(found := parse(said, lexicon), nodes.Identify):
                return found
    from kg.language.scene import of_a_scene
    from kg.language.understand import understand

    laid = of_a_scene(text, lexicon, talk(), lambda asked, by: understand(asked, lexicon, talk, by, whole=True, hand=False))
    return laid.question if laid is not None else None  # "I hold a Kocher. What is it?"


def why_in_other_words(text: str, lexicon: Lexicon, talk: Callable[[], Talk]) -> Question | None:
    """What is asked for a reason, or how something is held, in words that ask for advice elsewhere ("why should you never use a
    Kocher on lung?", "how should I hold a Deaver?"). Raises QuestionError (BL-Q05) for a name of several that is usually meant
    for one."""
    parser = parser_for(text, lexicon)
    first = parser.kinds(0) if parser.tokens else frozenset[str]()
    wanted = nodes.Why | nodes.Contrast | nodes.PartOf | nodes.Define if "kw.why" in first else nodes.Value
    if first.isdisjoint(("kw.why", "kw.how")):
        return None
    from kg.language.company import read_with_the_usual
    from kg.language.otherwise import framed

    for same in framed(text, lexicon, talk()):
        try:
            if isinstance(found := read(same, lexicon), wanted):
                return found
        except QuestionError as error:
            if read_with_the_usual(error, lexicon):
                raise
    return None


SPOKEN_OF = frozenset(("kw.it", "kw.them", "filler", "pattern", "category", "kind", "group", "part", "kw.instrument"))
"""Kinds of words with which what a question speaks of can begin."""


def first_of_two(text: str, lexicon: Lexicon, talk: Talk) -> Understood | None:
    """The first of two questions, if the grammar reads it and the other asks something too; else the second, if it reads that
    and it needs nothing of the first; else None."""
    from kg.language.clauses import asks, goes_on, speaks_for_itself, two

    pairs = [(one, other) for one, other in two(text) if asks(one, lexicon) and asks(other, lexicon)]
    pairs = [(one, other) for one, other in pairs if not _goes_on(other, lexicon)]
    for one, other in pairs:
        if (found := read_strictly(one, lexicon, talk)) is not None:
            if isinstance(found, nodes.Filter | nodes.Quantified) and goes_on(other, lexicon):
                return None  # "which have a ratchet and are curved so": one thing more of the same
            return Understood(found, other=other)
    for one, other in pairs:
        if speaks_for_itself(one, other, lexicon, talk) and (found := read_strictly(other, lexicon, talk)) is not None:
            return Understood(found, other=one)
    return None


def two_asked(text: str, lexicon: Lexicon, talk: Talk) -> Understood | None:
    """The first of two questions, if the second begins with a word that asks, and does not only bound the list before ("which
    have teeth") or count more of it ("how many straight ones"); else None."""
    if (both := _two_sentences(text, lexicon, talk)) is not None:
        return both
    one = first_of_two(text, lexicon, talk)
    parser = parser_for(one.other, lexicon) if one is not None else None
    if one is None or parser is None or not parser.tokens or "kw.count" in parser.kinds(0):
        return None
    if only_names(read_strictly(one.other, lexicon, talk)):
        return None  # "which jaws has a Kelly, and which a Crile?"
    if parser.says("kw.disputes", "kw.disputed"):
        return one  # "how long is the Crile, and do the sources agree?"
    return one if parser.tokens[0].key in talk.indirect.asking - talk.indirect.bounding else None


def _two_sentences(text: str, lexicon: Lexicon, talk: Talk) -> Understood | None:
    """ "Is every haemostat a clamp? And is every clamp a haemostat?": the first of two questions, each with its mark, and the
    other as one that may lean on it; None if the first is not read by the grammar."""
    from kg.language.clauses import asks

    sentences = [s for s in _MARKED.split(text.strip()) if s.strip()]
    if len(sentences) != 2 or text.rstrip().endswith((".", "!")):
        return None
    one, other = sentences[0], sentences[1].rstrip(" ?")
    tokens = parser_for(other, lexicon).tokens
    start = next((t.start for t in tokens if t.key not in talk.joins), 0)
    if not asks(one, lexicon) or not asks(other[start:], lexicon):
        return None
    found = read_strictly(one, lexicon, talk)
    return Understood(found, other=f"{other[start:]}?") if found is not None else None


def of_one_family(text: str, lexicon: Lexicon, talk: Callable[[], Talk], strict: Question | None = None) -> Understood | None:
    """The first of two questions about one family, where the grammar reads none, or one of what excludes itself."""
    if strict is not None and not excluding(strict, lexicon.vocabulary):
        return None
    from kg.language.twofold import twofold

    return twofold(text, lexicon, talk())


def _goes_on(clause: str, lexicon: Lexicon) -> bool:
    """Whether a clause only goes on with the one before, since its verb denies and names nothing that it speaks of: "but
    doesn't crush it"."""
    parser = parser_for(clause, lexicon)
    if parser.kinds(0).isdisjoint(("kw.be", "kw.do", "kw.have", "kw.can")) or len(parser.tokens) < 3:
        return False
    return not parser.kinds(1).isdisjoint(("kw.not", "kw.no")) and parser.kinds(2).isdisjoint(SPOKEN_OF)


def read_strictly(text: str, lexicon: Lexicon, talk: Talk) -> Question | None:
    """The question by the grammar, as it stands or in other words for the same."""
    from kg.language.otherwise import framed, said_otherwise

    for same in (text, said_otherwise(text, lexicon, talk), *framed(text, lexicon, talk)):
        with suppress(QuestionError):
            if same is not None:
                return read(same, lexicon)
    return None


def name_in_two(text: str, lexicon: Lexicon, talk: Talk) -> Understood | None:
    """ "Doyen appears on several tools. Untangle the name": what the first clause asks of a name that several bear"""
    from kg.language.clauses import two
    from kg.language.otherwise import framed

    for one, other in two(text):
        for same in framed(one, lexicon, talk):
            with suppress(QuestionError):
                found = parse(same, lexicon)
                if isinstance(found, nodes.Filter) and isinstance(found.expr, nodes.CalledAfter):
                    return Understood(found, other=other)
    return None


def read(text: str, lexicon: Lexicon) -> Question:
    """The question by the grammar. Raises QuestionError as ``parse`` does."""
    question = parse(text, lexicon)
    if nothing_at_all(question) or (
        isinstance(question, nodes.Filter) and (but_itself(question.expr) or all_but(text, question.expr, lexicon))
    ):
        raise parser_for(text, lexicon).failure()
    if (
        isinstance(question, nodes.Filter)
        and one_behind(question.expr)
        and not (parser := parser_for(text, lexicon)).says("kw.which")
    ):
        raise parser.failure()
    called = question.expr if isinstance(question, nodes.Why) else None
    if isinstance(called, nodes.CalledAfter) and called.name.islower():
        raise parser_for(text, lexicon).failure()  # "why is it called bloodless?" asks after no person
    return same_twice(question) or which_of_those(text, question, lexicon) or question


def without_bare(text: str, lexicon: Lexicon, talk: Talk) -> Understood | None:
    """What is asked without the clauses that name nothing of the trade, if the grammar reads all of that; else None."""
    from kg.language.clauses import bare
    from kg.language.otherwise import framed, said_otherwise

    for found in (f for f in bare(text, lexicon, talk) if f.text.strip(" ?.!")):
        with suppress(QuestionError):
            question = read(found.text, lexicon)
            if not mixes_names(question):
                return Understood(question, found.left)
        changed = said_otherwise(found.text, lexicon, talk)
        for same in (*((changed,) if changed else ()), *framed(changed or found.text, lexicon, talk)):
            with suppress(QuestionError):
                return Understood(read(same, lexicon), found.left)
    return None


def plainly(text: str, lexicon: Lexicon, talk: Talk) -> Understood:
    """A question with its names written out, by the grammar or in plain talk. Raises QuestionError."""
    from kg.language.figures import spelt_out

    try:
        return Understood(read(text, lexicon))
    except QuestionError as error:
        if (longer := spelt_out(text, lexicon)) is not None:
            return Understood(longer)
        from kg.language.bearers import full_names

        if error.code != "BL-Q05" and (named := full_names(text, lexicon, talk.names_nobody)) not in (None, text):
            with suppress(QuestionError):
                return Understood(parse(named, lexicon))
        found = loosely(text, lexicon, talk)
        if found is None:
            raise error
        return Understood(*found)


def explained_for_a_place(text: str, question: Question, lexicon: Lexicon, talk: Talk) -> bool:
    """Whether words are explained where a place is asked for ("where does the tip of the curved blade go?"), or all that is so
    is listed beside what is named: neither was asked."""
    if named_or_so(question):
        return True
    return isinstance(question, nodes.DefineAll) and parser_for(text, lexicon).tokens[0].key in talk.placing


def points_only_back(text: str, lexicon: Lexicon) -> bool:
    """Whether a question speaks of "it" or "them" and names no instrument and no family: "what keeps it closed?" by itself."""
    parser = parser_for(text, lexicon)
    kinds = [parser.kinds(at) for at in range(len(parser.tokens))]
    named = any(k & {"pattern", "category", "kind", "group", "kw.instrument"} for k in kinds)
    return not named and any(k & {"kw.it", "kw.them"} for k in kinds)


def loosely(text: str, lexicon: Lexicon, talk: Talk) -> tuple[Question, tuple[str, ...]] | None:
    """A question in plain talk, with figures as they are and, failing that, as words. Raises QuestionError (BL-Q05)."""
    from kg.language.figures import shorthand
    from kg.language.loose import loose

    parser = parser_for(text, lexicon)
    found = loose(parser, talk)
    if found is None and (again := shorthand(parser)) is not None:
        found = loose(again, talk)
    return found


def leans_on(text: str, lexicon: Lexicon, before: Before) -> Question | None:
    """The question as one that leans on what went before; None if it stands by itself. Raises QuestionError."""
    from kg.language.follow import follow

    parser_for(text, lexicon).refuse_advice()
    found = follow(text, lexicon, before)
    return None if found is not None and nothing_at_all(found) else found


def which_of_two(text: str, lexicon: Lexicon, talk: Talk) -> Question | None:
    """What is recorded of that of which two things are set against each other, in other words for the same; else None."""
    return _framed_as((nodes.Value, nodes.Describe), text, lexicon, talk)


def no_name_asked(same: Iterable[str], lexicon: Lexicon) -> Understood | None:
    """The first of the questions in other words that the grammar reads, and that does not ask for the bearers of a name: "show
    the dental extraction instruments, please" asks for none."""
    for turned in same:
        with suppress(QuestionError):
            question = read(turned, lexicon)
            expr = question.expr if isinstance(question, nodes.Filter) else nodes.Everything()
            if not any(isinstance(i, nodes.CalledAfter) for i in (expr.items if isinstance(expr, nodes.And) else (expr,))):
                return Understood(question)
    return None
