"""Question and wishes -> handout. Nothing is written here; what a file looks like is for the writers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from kg.answer.context import Context
from kg.answer.lookalikes import answer_look_alikes
from kg.errors import InputError
from kg.export.arrange import given_groups, grouped, in_order, ordered
from kg.export.card import Cells
from kg.export.handout import ALIKE, DRAWING, LISTS, NOTES, PHOTO, Card, Field, Handout, Open, Result
from kg.export.photos import find_photos
from kg.export.wishes import ORDERS, Wishes, check_wishes, chosen_fields, chosen_group, the_date
from kg.language import nodes
from kg.model import Answer, LookAlike
from kg.render.answers import result_blocks
from kg.render.blocks import Block, Heading, Para
from kg.render.english import CAUTION
from kg.render.lists import nothing_left
from kg.wording import capital

if TYPE_CHECKING:
    from kg.catalogue import Catalogue

MOST_CARDS = 600
EVERY_OPEN = 100_000
STUDY = (
    "A study aid: it describes patterns of instruments as sources describe them, and chooses nothing for a patient or an "
    "operation. Reprocessing follows the maker's instructions and local policy; practice is for those who are licensed and "
    "supervised. That no caution is given does not make a use safe."
)
_RESULTS = ("match", "subject", "disputed")
Draw = Callable[[str], str]


def make_handout(catalogue: Catalogue, text: str, wishes: Wishes | None = None, *, draw: Draw | None = None) -> Handout:
    """The handout that answers a question. ``draw``: pattern -> its drawing as SVG, empty for none.

    Raises QuestionError if the question is not understood, InputError (BL-I01) for a wish that cannot be met, and as
    ``find_photos`` does.
    """
    wishes = wishes or Wishes()
    check_wishes(wishes)
    ctx = catalogue.context
    question = catalogue.parse(text)
    group = chosen_group(wishes.group, ctx.vocabulary)
    if isinstance(question, nodes.Value) and not question.features and _is_pattern(ctx, question.subject):
        question = nodes.Describe(question.subject)  # a name alone asks for all that is recorded: its card
    wished = chosen_fields(wishes.fields, ctx.vocabulary, single=isinstance(question, nodes.Describe))
    answer = catalogue.answer(question, text, limit=EVERY_OPEN)
    subjects = subjects_of(question, answer, ctx)
    if len(subjects) > MOST_CARDS:
        what = f"This answer has {len(subjects):,} patterns; a handout holds at most {MOST_CARDS}."
        raise InputError("BL-I01", what, hint="Ask for fewer, one kind at a time.")
    photos = find_photos(wishes.photos, ctx.vocabulary, [n for n, _ in subjects]) if wishes.photos else {}
    wished = tuple(f for f in wished if not (f.key == PHOTO and not photos) and not (f.key == DRAWING and draw is None))
    return _Gathering(ctx, answer, wishes, wished, group).handout(subjects, photos, draw)


def subjects_of(question: nodes.Question, answer: Answer, ctx: Context) -> list[tuple[str, Result]]:
    """(pattern, how it stands in the answer) of every pattern that gets a card, without doubles.

    A list gives its matches and disputed patterns; another question the patterns that it names or that its answer lists.
    """
    found: list[tuple[str, Result]] = []
    if answer.kind in LISTS:
        found += [(m.name, "match") for m in answer.matches]
        found += [(d.name, "disputed") for d in answer.disputed]
    else:
        found += [(name, "subject") for name in _named(question) if _is_pattern(ctx, name)]
        found += [(a.name, "subject") for a in answer.look_alikes or ()]
        found += [(d.name, "subject") for d in answer.disputed] if answer.kind == "disputes" else []
        found += [(m.name, "subject") for m in answer.matches] if answer.kind in ("value", "compare") else []
    first: dict[str, Result] = {}
    for name, result in found:
        first.setdefault(name, result)
    return list(first.items())


def _is_pattern(ctx: Context, name: str) -> bool:
    return ctx.vocabulary.terms[name].role == "pattern"


def _named(question: nodes.Question) -> list[str]:
    """The subjects that a question names, in the order named."""
    match question:
        case nodes.Compare(subjects, _):
            return list(subjects)
        case nodes.Contrast(pattern, other, _):
            return [pattern, other]
        case nodes.Define(term):
            return [term]
        case nodes.Value(subject, _) | nodes.Sources(subject, _) | nodes.Reprocessing(subject) | nodes.Telling(subject, _):
            return [subject]
        case nodes.CareNotes(_, subject) if subject:
            return [subject]
        case nodes.Holds(pattern, _) | nodes.Why(pattern, _, _) | nodes.Describe(pattern) | nodes.LookAlikes(pattern):
            return [pattern]
    return []


class _Gathering:
    """One handout in the making."""

    def __init__(self, ctx: Context, answer: Answer, wishes: Wishes, fields: Sequence[Field], group: str) -> None:
        self.ctx, self.answer, self.wishes, self.group = ctx, answer, wishes, group
        self.fields = tuple(f for f in fields if f.key not in (DRAWING, PHOTO, NOTES))
        self.wanted = {f.key for f in fields}
        self.alike: dict[str, tuple[LookAlike, ...]] = {}

    def handout(self, subjects: Sequence[tuple[str, Result]], photos: dict, draw: Draw | None) -> Handout:
        from kg.answer.describe import answer_describe

        answer, wishes, ctx = self.answer, self.wishes, self.ctx
        order = wishes.order or ("alike" if answer.kind in LISTS else "asked")
        if order == "alike" or ALIKE in self.wanted:
            for name, _ in subjects:
                self.alike[name] = answer_look_alikes(ctx, name).look_alikes or ()
        matches = {m.name: m for m in answer.matches}
        disputed = {d.name: d for d in answer.disputed}
        facts = ctx.reader.facts([n for n, _ in subjects])
        cells = Cells(ctx, self.fields, self.alike)
        cards = []
        for name, result in subjects:
            described = answer_describe(ctx, name).description
            assert described is not None
            match = matches.get(name) if result == "match" else None
            lines = cells.of(described, facts[name])
            reason, number = cells.reason(disputed[name]) if result == "disputed" else ("", 0)
            notes = {line.note for cell in lines for line in cell} | {number}
            cards.append(
                Card(
                    name,
                    described.label,
                    result,
                    lines,
                    reason,
                    match.basis if match else "",
                    match.contested if match else False,
                    match.inferred if match else False,
                    described.variant_of,
                    drawing=draw(name) if draw and DRAWING in self.wanted else "",
                    photo=photos.get(name),
                    notes=tuple(sorted(notes - {0})),
                )
            )
        cards = list(ordered(ctx, cards, order, self.alike, wishes.seed))
        group, of = self._groups(cards)
        blocks, sources = self._split()
        cards = [replace(c, groups=of.get(c.name, ())) for c in cards]
        headed = in_order(of)
        place = {g: i for i, g in enumerate(headed)}
        cards.sort(key=lambda c: (_RESULTS.index(c.result), min((place[g] for g in c.groups), default=len(place))))
        return Handout(
            answer,
            wishes.own_title or self._title(subjects),
            the_date(wishes.date),
            order,
            ORDERS[order],
            self.fields,
            tuple(cards),
            self._open(),
            cells.footnotes,
            blocks,
            sources,
            group,
            headed,
            wishes.cover if cards else "nothing",
            NOTES in self.wanted,
            (CAUTION, STUDY),
            self._remarks(),
            wishes.paper,
            self._facts(),
        )

    # --- the answer as a whole ----------------------------------------------------------------------------------------
    def _title(self, subjects: Sequence[tuple[str, Result]]) -> str:
        if self.answer.description is not None:
            return self.answer.description.label
        return capital(self.answer.reading) or "Handout"

    def _remarks(self) -> tuple[str, ...]:
        left = nothing_left(self.answer) if self.answer.kind in LISTS else ""
        return tuple(text for text in (left, *self.answer.notes) if text and text != CAUTION)

    def _facts(self) -> tuple[tuple[str, str], ...]:
        who = self.answer.verified_by
        how = f"Inferences {who}." if who.startswith("not ") else f"Inferences verified by {who}." if who else ""
        asked = (("Question", self.answer.question), ("Read as", self.answer.reading))
        if self.answer.question == self.answer.reading:
            asked = (("Asked and read as", self.answer.reading),)
        return tuple((heading, text) for heading, text in (*asked, ("Checked", how)) if text)

    def _blocks(self) -> tuple[Block, ...]:
        """The answer itself where it is more than a list of patterns; a description is its card."""
        if self.answer.kind == "describe" or (self.answer.kind in LISTS and self.answer.placement is None):
            return ()
        if self.answer.placement is not None:
            from kg.render.facts import placement_blocks

            return tuple(placement_blocks(self.answer.placement))
        return tuple(result_blocks(self.answer))

    def _split(self) -> tuple[tuple[Block, ...], tuple[str, ...]]:
        """(the blocks of the answer without their list of sources, these sources): a handout has one list for all."""
        blocks = self._blocks()
        at = next((i for i, b in enumerate(blocks) if b == Heading("Sources")), len(blocks))
        listed = [b for b in blocks[at + 1 :] if isinstance(b, Para) and b.lead]
        rest = [b for b in blocks[at + 1 :] if not (isinstance(b, Para) and b.lead)]
        return (*blocks[:at], *rest), tuple(b.spans[0][1] for b in listed)

    def _open(self) -> tuple[Open, ...]:
        if self.answer.kind not in LISTS:
            return ()
        reasons: dict[tuple[tuple[str, ...], str], list[tuple[str, str]]] = {}
        for p in self.answer.possible:
            reasons.setdefault((p.missing, p.reason), []).append((p.name, p.label))
        found = [Open(missing, reason, tuple(which)) for (missing, reason), which in reasons.items()]
        return tuple(sorted(found, key=lambda o: -len(o.patterns)))

    def _groups(self, cards: Sequence[Card]) -> tuple[str, dict[str, tuple[str, ...]]]:
        """(what they are grouped by, pattern -> its groups); empty without groups."""
        if self.group:
            return self.ctx.label(self.group), grouped(self.ctx, cards, self.group)
        if self.answer.groups and self.answer.kind in ("group", "classify"):
            rest = "disputed" if self.answer.kind == "group" else ""
            of = given_groups(self.answer)
            return self.answer.reading, {c.name: of.get(c.name, (rest,) if rest else ()) for c in cards}
        return "", {}
