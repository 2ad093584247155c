"""What is asked of a handout: fields, order, groups, cover, date. Every wish is checked before any work is done."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from difflib import get_close_matches
from pathlib import Path

from kg import names
from kg.errors import InputError
from kg.export.handout import ALIKE, DRAWING, NOTES, PHOTO, Field
from kg.language.tokens import fold
from kg.vocabulary import Vocabulary

ORDERS = {
    "alike": "look-alikes stand next to each other",
    "name": "by name",
    "length": "by length, the shortest first",
    "shuffled": "shuffled",
    "asked": "as in the answer",
}
COVERS = ("nothing", "names", "facts")
PAPERS = ("a4", "letter")
NAMED = (
    Field(DRAWING, "drawing"),
    Field(PHOTO, "photograph"),
    Field("also-called", "also called"),
    Field("aloud", "to say aloud"),
    Field("parts", "to see, part by part", by_part=True),
    Field("handling", "in the hand"),
    Field("use", "use"),
    Field("not-used-on", "not used on"),
    Field(ALIKE, "not to be taken for", by_part=True),
    Field("pieces", "pieces"),
    Field("make", "make"),
    Field("reprocessing", "reprocessing"),
    Field("standards", "standards"),
    Field("categories", "categories", by_part=True),
    Field(NOTES, "own notes"),
)
LIST_FIELDS = (DRAWING, PHOTO, "parts", "handling", "use", "not-used-on", ALIKE, "reprocessing", NOTES)
ONE_FIELDS = tuple(f.key for f in NAMED if f.key != "standards")
MOST_FIELDS = 30
LONGEST_TITLE = 200
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")


@dataclass(frozen=True)
class Wishes:
    """As a person gives them. Empty or None: the sensible default.

    ``fields``: keys of ``NAMED`` or the words for a feature or part; ``group``: the words for a feature or part, or
    "category"; ``date``: year, month and day as in 2026-01-31; ``photos``: a folder with the reader's own pictures.
    """

    title: str = ""
    date: str = ""
    fields: tuple[str, ...] | None = None
    order: str = ""
    group: str = ""
    cover: str = "nothing"
    paper: str = "a4"
    photos: Path | None = None
    seed: int = 0
    drawings: bool = True

    @property
    def own_title(self) -> str:
        """The title as it can be written: what no encoding holds (a lone surrogate of a shell's argument) is replaced."""
        return self.title.strip().encode("utf-8", "replace").decode("utf-8")


def check_wishes(wishes: Wishes) -> None:
    """Raises InputError (BL-I01) for a wish that cannot be met, saying what would work."""
    for what, value, allowed in (
        ("order", wishes.order or "alike", tuple(ORDERS)),
        ("cover", wishes.cover, COVERS),
        ("paper", wishes.paper, PAPERS),
    ):
        if value not in allowed:
            raise InputError("BL-I01", f"There is no {what} {value[:40]!r}.", hint=f"These work: {', '.join(allowed)}.")
    if len(wishes.title) > LONGEST_TITLE:
        raise InputError("BL-I01", f"The title is longer than {LONGEST_TITLE} characters.", hint="Give a shorter one.")


def the_date(wished: str) -> str:
    """The date of a handout, as 2026-01-31: the one wished, that of SOURCE_DATE_EPOCH, or today.

    SOURCE_DATE_EPOCH is the convention of reproducible-builds.org: seconds since 1970 in UTC. Raises InputError (BL-I01).
    """
    if wished:
        try:
            if _DATE.fullmatch(wished):
                return date.fromisoformat(wished).isoformat()
        except ValueError:
            pass
        raise InputError("BL-I01", f"{wished[:40]!r} is not a date.", hint="Write year, month and day: 2026-01-31.")
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    if epoch.isdecimal() and len(epoch) < 12:
        return datetime.fromtimestamp(int(epoch), UTC).date().isoformat()
    return date.today().isoformat()


def chosen_fields(wished: Sequence[str] | None, vocabulary: Vocabulary, *, single: bool) -> tuple[Field, ...]:
    """The fields wished, or the usual ones of a list or, with ``single``, of one pattern. Raises InputError (BL-I01)."""
    named = {f.key: f for f in NAMED}
    if wished is None:
        return tuple(named[key] for key in (ONE_FIELDS if single else LIST_FIELDS))
    out: dict[str, Field] = {}
    for text in wished:
        key = "-".join(text.casefold().split())
        field = named.get(key) or slot_field(text, vocabulary)
        if field is None:
            _refuse(text, "field", [*named, *_slot_words(vocabulary)], named)
        elif field.key != "name":
            out[field.key] = field
    if len(out) > MOST_FIELDS:
        raise InputError(
            "BL-I01", f"At most {MOST_FIELDS} fields fit on a handout; these are {len(out)}.", hint="Leave some out."
        )
    return tuple(out.values())


def chosen_group(wished: str, vocabulary: Vocabulary) -> str:
    """The feature or part to group by, "category", or nothing. Raises InputError (BL-I01)."""
    text = " ".join(wished.casefold().split())
    if not text or text in ("category", "categories"):
        return "category" if text else ""
    found = slot_field(wished, vocabulary)
    if found is None or found.slot in ("", names.LENGTH):
        _refuse(wished, "group", ["category", *_slot_words(vocabulary)], ("category", "kind"))
    return found.slot  # type: ignore[union-attr]


def slot_field(text: str, vocabulary: Vocabulary) -> Field | None:
    """The field of a feature or part, by its label or another word for it; None if no such word is known."""
    wanted = fold(" ".join(text.split()))
    if wanted in ("name", "names"):
        return Field("name", "name")
    for alternative in (False, True):  # a label beats a synonym
        for word, name in _slot_words(vocabulary, alternative).items():
            if fold(word) == wanted:
                return Field(vocabulary.label(name), vocabulary.label(name), name)
    return None


def _slot_words(vocabulary: Vocabulary, alternative: bool = False) -> dict[str, str]:
    slots = [*vocabulary.features, *(t.name for t in vocabulary.by_role("part")), names.LENGTH]
    out: dict[str, str] = {}
    for name in slots:
        term = vocabulary.terms.get(name)
        if term:
            for word in term.alt if alternative else (term.label,):
                out.setdefault(word, name)
    return out


def _refuse(text: str, what: str, words: Iterable[str], first: Iterable[str]) -> None:
    """Raises the error of a word that is no field or group, with near words and a few that work."""
    near = get_close_matches(fold(text), sorted(words), 3, 0.7)
    hint = f"Did you mean: {', '.join(near)}. " if near else ""
    hint += f"These work: {', '.join(first)}, and every feature or part by its name."
    raise InputError("BL-I01", f"There is no {what} {text[:60]!r}.", hint=hint)
