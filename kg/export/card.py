"""One pattern's card: its lines, field by field, each with what it rests on and the number of its dispute."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from kg import names
from kg.answer.context import Context
from kg.answer.values import value_rows
from kg.export.handout import ABSENT, ALIKE, Field, Footnote, Line
from kg.facts import PatternFacts
from kg.model import Description, Disputed, LookAlike, Spoken
from kg.sparql.terms import prologue
from kg.wording import listing

SHOWN_ALIKE, SHOWN_SAME = 4, 4
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


class Cells:
    """Makes the cells of cards, and numbers the disputes that they mention.

    ``footnotes``: the disputes mentioned so far, in the order of their numbers; patterns with the same dispute share one.
    """

    def __init__(self, ctx: Context, fields: Sequence[Field], alike: Mapping[str, Sequence[LookAlike]]) -> None:
        self.ctx, self.fields, self.alike = ctx, fields, alike
        self._notes: dict[tuple, Footnote] = {}
        self._slots = {t.label: t.name for t in ctx.vocabulary.terms.values() if t.role in ("feature", "part")}

    @property
    def footnotes(self) -> tuple[Footnote, ...]:
        return tuple(self._notes.values())

    def of(self, described: Description, facts: PatternFacts) -> tuple[tuple[Line, ...], ...]:
        """The lines of a pattern, field by field."""
        own = {d.feature: d for d in described.disputes}
        return tuple(self._cell(field, described, facts, own) for field in self.fields)

    def reason(self, dispute: Disputed) -> tuple[str, int]:
        """(a dispute in a line, its number)."""
        also = ", ".join(dict.fromkeys(q.value for q in dispute.also_said))
        adopted = f"adopted is {dispute.adopted.value}" if dispute.adopted.value else "nothing is adopted"
        number = self._footnote(dispute)
        return f"{dispute.feature}: {adopted}; also said is {also} (dispute {number})", number

    def _footnote(self, dispute: Disputed) -> int:
        key = (dispute.feature, dispute.adopted, dispute.also_said)
        old = self._notes.get(key)
        labels = dict.fromkeys((*(old.labels if old else ()), dispute.label))
        number = old.number if old else len(self._notes) + 1
        self._notes[key] = Footnote(number, tuple(labels), *key)
        return number

    # --- cells --------------------------------------------------------------------------------------------------------
    def _cell(self, field: Field, described: Description, facts: PatternFacts, own: dict[str, Disputed]) -> tuple[Line, ...]:
        if field.slot:
            return self._slot(field, facts, own)
        if field.key == "aloud":
            return (Line(described.spoken),)
        if field.key == "also-called":
            return (Line(", ".join(described.also_called)),) if described.also_called else ()
        if field.key == "categories":
            basis = {c.name: facts.basis.get((names.TYPE, c.name), "") for c in described.categories}
            return tuple(Line(c.reason, c.label, "inferred", basis[c.name]) for c in described.categories)
        if field.key == ALIKE:
            return alike_lines(self.alike[described.name])
        said = getattr(described, _SECTIONS[field.key])
        lines = [self._line(s, facts, own) for s in _without_bare(said)]
        return (*lines, *self._unsettled(field.key, lines, own))

    def _line(self, said: Spoken, facts: PatternFacts, own: dict[str, Disputed]) -> Line:
        text = terse(said.text)
        if said.status == "not recorded":
            text = said.status if said.feature == said.about else f"{said.feature}: {said.status}"
        if said.literal[0] in names.PARTS and text.endswith(said.about):
            text = ABSENT if said.status == ABSENT else "there"
        note = own.get(said.feature)
        if note and not self._single(said.feature) and said.status != "disputed":
            note = None  # of many values only those that a source denies are disputed
        number = self._footnote(note) if note else 0
        return Line(text, said.about, said.status, self._basis(said, facts), said.inherited_from, said.sources, number)

    def _single(self, label: str) -> bool:
        feature = self.ctx.vocabulary.features.get(self._slots.get(label, ""))
        return feature is None or feature.single

    def _unsettled(self, key: str, lines: Iterable[Line], own: dict[str, Disputed]) -> list[Line]:
        """Disputes that no line mentions, such as those that left nothing adopted, get a line of their own."""
        mentioned = {line.note for line in lines}
        out = []
        for label, dispute in own.items():
            feature = self.ctx.vocabulary.features.get(self._slots.get(label, ""))
            if ((feature.section if feature else "") or "parts") != key or self._footnote(dispute) in mentioned:
                continue
            about = self.ctx.part_label(self._slots[label]) if label in self._slots else ""
            what = "the sources disagree" if dispute.adopted.value else "the sources do not settle it"
            out.append(Line(f"{label}: {what}", about, "disputed", note=self._footnote(dispute)))
        return out

    def _slot(self, field: Field, facts: PatternFacts, own: dict[str, Disputed]) -> tuple[Line, ...]:
        dispute = own.get(field.heading)
        kept = dispute.adopted.value.split("; ") if dispute else []
        out = []
        for v in value_rows(self.ctx, facts.pattern, field.slot, facts):
            general = v.subject if v.subject != self.ctx.label(facts.pattern) else ""
            text = v.label.removeprefix(f"{field.heading}: ")
            text += " (some pieces)" if v.status == "made with" else ""
            disputed = dispute and (self._single(field.heading) or v.label in kept)
            number = self._footnote(dispute) if dispute and disputed else 0
            out.append(Line(text, "", v.status, self._rests_on(v.sources), general, v.sources, number))
        if dispute and not any(line.note for line in out):
            out.append(Line("the sources disagree", "", "disputed", note=self._footnote(dispute)))
        return tuple(out)

    # --- what a line rests on -----------------------------------------------------------------------------------------
    def _basis(self, said: Spoken, facts: PatternFacts) -> str:
        prop, value = said.literal
        if said.status == "not recorded":
            return ""
        if prop == names.LENGTH:
            basis = next((b for (f, _), b in facts.basis.items() if f == names.SIZE_CLASS), "")
        else:
            basis = facts.basis.get((prop, value), "")
        return basis or self._rests_on(said.sources)  # what varies has no basis of its own; and no citation stands unmarked

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


def alike_lines(alike: Sequence[LookAlike]) -> tuple[Line, ...]:
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
