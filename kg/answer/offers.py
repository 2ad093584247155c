"""What a question that was refused could give: for its author to choose from, not as an answer.

Of a question with several readings each is answered in a few words. It is an answer only where all of them have one and the
same verdict, since that holds whichever was meant, or where the name is that of one instrument above all, which is then said.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import suppress

from kg.errors import BoxlockError, QuestionError
from kg.language.company import asked_what_it_is, keys_that_hint
from kg.language.lexicon import Lexicon
from kg.model import Answer
from kg.records import replace
from kg.wording import listing, some_of

NAMED = 8
"""So many patterns are named of what could be given."""
MOST_READINGS = 4
_WORD = re.compile(r"[^\W_]+")
Ask = Callable[[str], Answer]


def with_names(error: QuestionError, ask: Ask) -> QuestionError:
    """The refusal with the first patterns of what could be answered, if it offers anything."""
    if error.offer:
        with suppress(BoxlockError):
            part = ask(error.offer)
            names = [m.label for m in part.matches if part.kind == "filter"]
            if names:
                error.hint += f" It would give {some_of(names, NAMED)}."
    return error


def usually(error: QuestionError, text: str, ask: Ask, lexicon: Lexicon, each: str = "") -> Answer | None:
    """The answer for the instrument that is usually meant by a name of several, with a note that says so and names the others.
    ``each``: what each of them gives, in a few words, if known. None if no usual bearer is known, if ``text`` says no more than
    the name or names the family of another, or if that reading is refused too."""
    if error.code != "BL-Q05" or len(error.readings) < 2 or not error.question:
        return None
    name = error.question[slice(*error.span)]
    usual = lexicon.usual(name)
    if not usual or len(_WORD.findall(text)) <= len(_WORD.findall(name)):
        return None
    label = lexicon.vocabulary.label(usual)
    others = [p for p in lexicon.bearing(name) if p != usual]
    own = lexicon.name_keys(usual).union(lexicon.folder.phrase(name))
    said = {key for word in _WORD.findall(text) for key in lexicon.folder.phrase(word)}
    if error.question == text:
        said &= keys_that_hint(text, error.span[1], lexicon)
    if any((lexicon.name_keys(other) - own) & said for other in others):
        return None  # "is the Adson a forceps or a retractor?"
    meant = [r for r in error.readings if label.casefold() in r.casefold()]
    if len(meant) != 1:
        return None
    try:
        found = ask(meant[0])
    except BoxlockError:
        return None
    asked_to_be = not _is_so(found) and error.question == text and asked_what_it_is(error, lexicon)
    if asked_to_be and any(_holds(ask, r) for r in error.readings if r != meant[0]):
        return None  # "is a Lister a dilator?": another of the name is one
    note = f'"{name}" is taken for the one usually meant, {label}'
    if others:
        labels = [lexicon.vocabulary.label(p) for p in others]
        note += f"; {listing(labels)} {'bear' if len(others) > 1 else 'bears'} the name too"
    return replace(found, question=text, notes=(f"{note}{f' ({each})' if each else ''}.", *found.notes))


def _is_so(answer: Answer) -> bool:
    return answer.argument is not None and answer.argument.holds is True


def _holds(ask: Ask, reading: str) -> bool:
    with suppress(BoxlockError):
        return _is_so(ask(reading))
    return False


def whichever(error: QuestionError, ask: Ask, label: Callable[[str], str], usual: str = "") -> Answer | str:
    """The answer to a question with several readings, if all of them have the same verdict, told of the ``usual`` bearer of the
    name if there is one. Otherwise what each reading gives, in a few words, where that is a yes, a no or a value; else the
    empty text."""
    if error.code != "BL-Q05" or not 1 < len(error.readings) <= MOST_READINGS:
        return ""
    try:
        found = [ask(reading) for reading in error.readings]
    except BoxlockError:
        return ""
    said = [_in_short(a) for a in found]
    subjects = [label(name) if (name := _subject(a)) else "" for a in found]
    if not all(said) or not all(subjects) or len(set(subjects)) < len(found):
        return ""
    verdicts = {a.argument.holds if a.argument else None for a in found}
    if len(verdicts) == 1 and isinstance(next(iter(verdicts)), bool):
        first = next((a for a in found if _subject(a) == usual), found[0])
        return replace(first, notes=(*first.notes, f"It is the same for each that can be meant: {listing(subjects)}."))
    return "; ".join(f"{subject}: {text}" for subject, text in zip(subjects, said, strict=True))


def _in_short(answer: Answer) -> str:
    if answer.unread is not None:
        return ""
    if answer.kind == "holds" and answer.argument is not None:
        return {True: "yes", False: "no"}.get(answer.argument.holds, "not decided by the record")
    if answer.kind == "value" and answer.values:
        told = [v for v in answer.values if v.status not in ("not recorded", "absent")]
        if len(told) > NAMED:
            return ""  # a whole description is no short answer
        return listing(dict.fromkeys(v.label for v in told)) if told else "not recorded"
    return ""


def _subject(answer: Answer) -> str:
    return getattr(answer.tree, "pattern", "") or getattr(answer.tree, "subject", "")
