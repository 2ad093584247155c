"""Question and wishes -> handout. Nothing is written here; what a file looks like is for the writers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from kg import names
from kg.answer.context import Context
from kg.answer.lookalikes import answer_look_alikes
from kg.answer.values import value_rows
from kg.errors import InputError
from kg.export.arrange import given_groups, grouped, in_order, ordered
from kg.export.handout import ABSENT, ALIKE, DRAWING, NOTES, PHOTO, Card, Field, Footnote, Handout, Line, Open, Result
from kg.export.photos import find_photos
from kg.export.wishes import ORDERS, Wishes, check_wishes, chosen_fields, chosen_group, the_date
from kg.facts import PatternFacts
from kg.language import nodes
from kg.model import Answer, Description, Disputed, LookAlike, Spoken
from kg.render.answers import result_blocks
from kg.render.blocks import Block, Heading, Para
from kg.render.english import CAUTION
from kg.sparql.terms import prologue
from kg.wording import capital, listing

if TYPE_CHECKING:
    from kg.catalogue import Catalogue

MOST_CARDS = 600
EVERY_OPEN = 100_000
SHOWN_ALIKE = 4
SHOWN_SAME = 4
STUDY = (
    "A study aid: it describes patterns of instruments as sources describe them, and chooses nothing for a patient or an "
    "operation. Reprocessing follows the maker's instructions and local policy; practice is for those who are licensed and "
    "supervised. That no caution is given does not make a use safe."
)
LISTS = ("filter", "count", "group", "classify", "new category")
_SECTIONS = {
    "parts": "parts",
    "handling": "handling",
    "use": "use",
    "not-used-on": "not_used_on",
    "pieces": "pieces",
    "make": "make",
    "reprocessing": "reprocessing",
    "standards": "standards",
}
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
        found += [(m.name, "subject") for m in answer.matches] if answer.kind == "value" else []
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
        case nodes.Holds(pattern, _) | nodes.Why(pattern, _, _) | nodes.Describe(pattern) | nodes.LookAlikes(pattern):
            return [pattern]
    return []


class _Gathering:
    """One handout in the making."""

    def __init__(self, ctx: Context, answer: Answer, wishes: Wishes, fields: Sequence[Field], group: str) -> None:
        self.ctx, self.answer, self.wishes, self.group = ctx, answer, wishes, group
        self.fields = tuple(f for f in fields if f.key not in (DRAWING, PHOTO, NOTES))
        self.wanted = {f.key for f in fields}
        self.notes: dict[tuple, Footnote] = {}
        self.alike: dict[str, tuple[LookAlike, ...]] = {}
        self.slots = {t.label: t.name for t in ctx.vocabulary.terms.values() if t.role in ("feature", "part")}

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
        cards = []
        for name, result in subjects:
            described = answer_describe(ctx, name).description
            assert described is not None
            own = {d.feature: self._footnote(d) for d in described.disputes}
            match = matches.get(name) if result == "match" else None
            reason = self._reason(disputed[name]) if result == "disputed" else ""
            cards.append(
                Card(
                    name,
                    described.label,
                    result,
                    tuple(self._cell(field, described, facts[name], own) for field in self.fields),
                    reason,
                    match.basis if match else "",
                    match.contested if match else False,
                    match.inferred if match else False,
                    described.variant_of,
                    drawing=draw(name) if draw and DRAWING in self.wanted else "",
                    photo=photos.get(name),
                    notes=tuple(sorted(set(own.values()))),
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
            wishes.title.strip() or self._title(subjects),
            the_date(wishes.date),
            order,
            ORDERS[order],
            self.fields,
            tuple(cards),
            self._open(),
            tuple(self.notes.values()),
            blocks,
            sources,
            group,
            headed,
            wishes.cover if cards else "nothing",
            NOTES in self.wanted,
            (CAUTION, STUDY),
            tuple(n for n in answer.notes if n != CAUTION),
            wishes.paper,
            self._facts(),
        )

    # --- the answer as a whole ----------------------------------------------------------------------------------------
    def _title(self, subjects: Sequence[tuple[str, Result]]) -> str:
        if self.answer.description is not None:
            return self.answer.description.label
        return capital(self.answer.reading) or "Handout"

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

    # --- one pattern --------------------------------------------------------------------------------------------------
    def _footnote(self, dispute: Disputed) -> int:
        """The number of a dispute; patterns with the same dispute share it."""
        key = (dispute.feature, dispute.adopted, dispute.also_said)
        old = self.notes.get(key)
        labels = dict.fromkeys((*(old.labels if old else ()), dispute.label))
        number = old.number if old else len(self.notes) + 1
        self.notes[key] = Footnote(number, tuple(labels), *key)
        return number

    def _reason(self, dispute: Disputed) -> str:
        also = ", ".join(dict.fromkeys(q.value for q in dispute.also_said))
        adopted = f"adopted is {dispute.adopted.value}" if dispute.adopted.value else "nothing is adopted"
        return f"{dispute.feature}: {adopted}; also said is {also} (dispute {self._footnote(dispute)})"

    def _cell(self, field: Field, described: Description, facts: PatternFacts, own: dict[str, int]) -> tuple[Line, ...]:
        if field.slot:
            return self._slot(field, facts, own)
        if field.key == "aloud":
            return (Line(described.spoken),)
        if field.key == "also-called":
            return (Line(", ".join(described.also_called)),) if described.also_called else ()
        if field.key == "categories":
            return tuple(
                Line(c.reason, c.label, "inferred", facts.basis.get((names.TYPE, c.name), "")) for c in described.categories
            )
        if field.key == ALIKE:
            return _alike_lines(self.alike[described.name])
        said = getattr(described, _SECTIONS[field.key])
        lines = [self._line(s, facts, own) for s in _without_bare(said)]
        return (*lines, *self._unsettled(field.key, said, own))

    def _line(self, said: Spoken, facts: PatternFacts, own: dict[str, int]) -> Line:
        text = terse(said.text)
        if said.status == "not recorded":
            text = said.status if said.feature == said.about else f"{said.feature}: {said.status}"
        if said.literal[0] in names.PARTS and text.endswith(said.about):
            text = ABSENT if said.status == ABSENT else "there"
        basis = self._basis(said, facts)
        return Line(text, said.about, said.status, basis, said.inherited_from, said.sources, own.get(said.feature, 0))

    def _basis(self, said: Spoken, facts: PatternFacts) -> str:
        prop, value = said.literal
        if said.status == "not recorded":
            return ""
        if prop == names.LENGTH:
            basis = next((b for (f, _), b in facts.basis.items() if f == names.SIZE_CLASS), "")
        else:
            basis = facts.basis.get((prop, value), "")
        return basis or self._rests_on(said.sources)  # what varies has no basis of its own; and no citation stands unmarked

    def _unsettled(self, key: str, said: Iterable[Spoken], own: dict[str, int]) -> list[Line]:
        """Disputes that left nothing adopted have no line to stand at: they get one of their own."""
        spoken = {s.feature for s in said}
        out = []
        for label, number in own.items():
            feature = self.ctx.vocabulary.features.get(self.slots.get(label, ""))
            section = feature.section if feature else ""
            if label not in spoken and (section or "parts") == key:
                about = self.ctx.part_label(self.slots[label]) if label in self.slots else ""
                out.append(Line(f"{label}: the sources do not settle it", about, "disputed", note=number))
        return out

    def _slot(self, field: Field, facts: PatternFacts, own: dict[str, int]) -> tuple[Line, ...]:
        out = []
        for v in value_rows(self.ctx, facts.pattern, field.slot, facts):
            general = v.subject if v.subject != self.ctx.label(facts.pattern) else ""
            text = v.label.removeprefix(f"{field.heading}: ")
            text += " (some pieces)" if v.status == "made with" else ""
            basis = self._rests_on(v.sources)
            out.append(Line(text, "", v.status, basis, general, v.sources, own.get(field.heading, 0)))
        return tuple(out)

    def _rests_on(self, sources: Sequence[str]) -> str:
        """What the best of some witnesses is, where it is no published human source."""
        from kg.basis import RANKS

        ranks = [self._ranks.get(text, 0) for text in sources]
        return RANKS[min(ranks)] if ranks else ""

    @property
    def _ranks(self) -> dict[str, int]:
        """Citation -> its rank among ``kg.basis.RANKS``; read once."""
        if "_found" not in self.__dict__:
            from kg.basis import rank_of
            from kg.evidence.statements import Source

            body = (
                "SELECT ?s ?kind ?field ?text WHERE {\n  GRAPH ?s { ?s bl:sourceKind ?kind }\n"
                "  OPTIONAL { GRAPH ?s { ?s bl:field ?field } }\n  GRAPH graph:terms { ?s rdfs:label ?text }\n}\nORDER BY ?s\n"
            )
            self._found: dict[str, int] = {}
            for row in self.ctx.store.select(prologue(body) + body):
                field = row["field"].value if "field" in row else ""
                rank = rank_of(Source(row["s"].short, "", kind=row["kind"].value, field=field))
                self._found[row["text"].value] = min(rank, self._found.get(row["text"].value, rank))
        return self._found


def terse(clause: str) -> str:
    """A clause as in notes: ``has a ring handle`` -> ``ring handle``, ``is used on vessels`` -> ``used on vessels``."""
    verb, _, rest = clause.partition(" ")
    if verb not in ("has", "is") or not rest:
        return clause
    first, _, noun = rest.partition(" ")
    return noun if first in ("a", "an") and noun else rest


def _alike_lines(alike: Sequence[LookAlike]) -> tuple[Line, ...]:
    """The likest ones that a sign tells apart, a line each; then, in one line, those that nothing recorded tells apart."""
    out = [
        Line("; ".join(f"{f}: {here} here, {there} there" for f, here, there in a.signs), a.label)
        for a in [a for a in alike if a.signs][:SHOWN_ALIKE]
    ]
    same = [a.label for a in alike if not a.signs]
    if same:
        shown, rest = same[:SHOWN_SAME], len(same) - SHOWN_SAME
        named = f"{', '.join(shown)} and {rest} more" if rest > 0 else listing(shown, "or")
        out.append(Line(f"by what is recorded, nothing to see tells it from {named}"))
    return tuple(out)


def _without_bare(said: Sequence[Spoken]) -> list[Spoken]:
    """Without "has jaws" where more is said of the jaws."""
    more = {s.about for s in said if s.literal[0] not in names.PARTS and s.status != "not recorded"}
    return [s for s in said if not (s.literal[0] == names.HAS_PART and s.about in more and s.status in ("adopted", "inferred"))]
