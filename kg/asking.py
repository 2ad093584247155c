"""From the text of a question to its answer: understood, else read as a description or by other wordings, else refused; then
what goes with the answer."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.records import replace

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.language import Understood
    from kg.model import Answer

Page = tuple[int, int] | None


def ask(catalogue: Catalogue, text: str, *, limit: int, after: Answer | QuestionError | None, page: Page) -> Answer:
    """The answer to a question, as ``Catalogue.ask`` describes. Raises QuestionError and QueryError."""

    def again(reading: str) -> Answer:
        return ask(catalogue, reading, limit=limit, after=after, page=page)

    try:
        found = catalogue.understand(text, after)
    except QuestionError as error:
        from kg import unnamed  # only where the language does not do

        if error.code in ("BL-Q02", "BL-Q03"):
            if (more := unnamed.seen_too(catalogue, text, after)) is not None:
                return catalogue.answer(more, text, limit=limit, page=page)
            if (one := unnamed.described(catalogue, text, limit, asking=after is not None)) is not None:
                return one
            if (some := unnamed.heard(catalogue, text, limit, alone=after is None)) is not None:
                return some
        if error.code == "BL-Q12" and (one := unnamed.described(catalogue, text, limit, asking=True)) is not None:
            return one  # "I have a picture in my head: ..." asks for no picture
        return _refused(catalogue, error, text, again)
    if (one := _of_one(catalogue, found, text, limit)) is not None:
        return one
    try:
        _refuse_no_description(catalogue, found, text)
        out = catalogue.answer(found.question, text, limit=limit, page=page)
    except QuestionError as error:
        from kg import unnamed

        if (one := unnamed.described(catalogue, text, limit, asking=after is not None)) is not None:
            return one
        if not found.in_hand or after is not None:
            return _refused(catalogue, found.doubtful or error, text, again)
        try:
            found = catalogue.understand(text, whole=True, hand=False)
            _refuse_no_description(catalogue, found, text)
            out = catalogue.answer(found.question, text, limit=limit, page=page)
        except QuestionError:
            return _refused(catalogue, error, text, again)
    return _whole(catalogue, out, found, text, limit, after)


def _of_one(catalogue: Catalogue, found: Understood, text: str, limit: int) -> Answer | None:
    """The likely names, where a text of which only the instruments are understood asks for the name of one; else None."""
    if found.unread is None:
        return None
    from kg import unnamed

    return unnamed.described(catalogue, text, limit, asking=True)


def _refuse_no_description(catalogue: Catalogue, found: Understood, text: str) -> None:
    if found.in_hand or found.doubtful is not None:
        from kg import unnamed

        unnamed.refuse_no_description(catalogue, found, text)


def _whole(
    catalogue: Catalogue, out: Answer, found: Understood, text: str, limit: int, after: Answer | QuestionError | None
) -> Answer:
    """An answer with what goes with it: further questions, what was passed over, the answer to a second question. A list that
    nothing can be is the description of one instrument, or is refused, where it was not typed so. Raises QuestionError."""
    from kg import second  # once an answer is there

    empty = out.kind in ("filter", "count") and not out.matches and not out.match_count
    if empty and (besides := second.besides(catalogue, out, text, limit)) is not None:
        out, empty = besides, False
    if (more := second.used_too(catalogue, out, text, limit)) is not None:
        out = more
    typed = not empty or found.sure or second.as_typed(catalogue, text, out)
    articles = catalogue.lexicon.words.articles
    told = text.split()[0].casefold() in articles and not text.rstrip().endswith("?")  # "the thing that opens a wound"
    if empty and (told or not typed):  # a list that the grammar reads as it was typed asks for no name
        from kg import unnamed

        if (one := unnamed.described(catalogue, text, limit, asking=after is not None)) is not None:
            return one
        if not typed and after is None and (found.pieced or not out.possible_count):
            if (some := unnamed.heard(catalogue, text, limit, alone=True)) is not None:
                return some
            raise second.doubt(text, out)
    if found.unread is not None and (told := second.instead_of_nothing(catalogue, out, text, limit)) is not None:
        out = told
    from kg.answer.onward import next_questions

    out = replace(out, next_questions=next_questions(catalogue.lexicon, out), unread=found.unread)
    if told := second.made_or_used(catalogue, out, text):
        out = replace(out, notes=(told, *out.notes))
    if found.untold:
        out = replace(out, notes=(found.untold, *out.notes))
    if found.other:
        out = second.with_other(catalogue, out, found.other, limit)
    if not found.passed:
        return out
    words = ", ".join(f'"{w}"' for w in found.passed)
    return replace(out, notes=(*out.notes, f"Passed over, as saying nothing of instruments: {words}."))


def _refused(catalogue: Catalogue, error: QuestionError, text: str, again: Callable[[str], Answer]) -> Answer:
    """The answer that holds whichever reading was meant, or for the bearer of a name that is usually meant; else raises the
    refusal, with what could be answered instead. ``again`` asks a reading as the question was asked."""
    from kg.answer.offers import usually, whichever, with_names

    def asked(question: str) -> Answer:
        found = catalogue.understand(question)
        return replace(catalogue.answer(found.question, question, limit=1), unread=found.unread)

    alike = whichever(error, asked, catalogue.vocabulary.label)
    if not isinstance(alike, str):
        return replace(alike, question=text)
    if (usual := usually(error, text, again, catalogue.lexicon, alike)) is not None:
        return usual
    if alike:
        error.hint = f"{alike}. {error.hint}".rstrip()
    raise with_names(error, asked) from None
