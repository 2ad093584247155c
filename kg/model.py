"""The records that an answer is made of, and their JSON (the keys are a contract, see DEVELOPERS.md).

``name`` is always a short name; JSON gives the full IRI as ``iri``. Tuples are in the order in which they are shown.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING, Any

from kg.names import expand
from kg.records import Record, field, record

if TYPE_CHECKING:
    from pandas import DataFrame


class Shown:
    """Records that a notebook shows by itself. Their writers come later in the pipeline and are looked up when needed."""

    def _repr_html_(self) -> str:
        """What a notebook shows; see ``kg.render.html``."""
        return import_module("kg.render.notebook").record_html(self)


@record
class Match(Record):
    """A pattern that fits. ``inferred``: at least one part of the description holds only by reasoning.

    ``basis`` is empty, or what the match must rest on where no published human source suffices: ``veterinary``,
    ``common practice`` or ``memory``. ``contested``: a witness says otherwise, though the match was adopted.
    ``variant_of`` is the parent if this is a variant; ``also_called`` are other names, by letter.
    """

    name: str
    label: str
    inferred: bool = False
    basis: str = ""
    variant_of: str = ""
    contested: bool = False
    also_called: tuple[str, ...] = field(default=(), compare=False)

    def to_json(self) -> dict[str, Any]:
        out: dict[str, Any] = {"iri": expand(self.name), "label": self.label, "inferred": self.inferred, "basis": self.basis}
        out |= {"contested": self.contested, "also_called": [*self.also_called]}
        return out | ({"variant_of": expand(self.variant_of)} if self.variant_of else {})


VARIES, SOME_SIZES = "varies", "some sizes"
"""How a reason begins why a pattern could fit of which some pieces do."""


@record
class Possible(Record):
    """A pattern that could fit. ``missing`` says what is undecided; ``reason`` why, e.g. "not recorded"."""

    name: str
    label: str
    missing: tuple[str, ...]
    reason: str

    def only_as(self, *reasons: str) -> bool:
        """Whether each of its reasons begins with one of these."""
        return all(r.startswith(reasons) for r in self.reason.split("; "))

    def to_json(self) -> dict[str, Any]:
        return {"iri": expand(self.name), "label": self.label, "missing": list(self.missing), "reason": self.reason}


@record
class Quote(Record):
    """Who says what: ``value`` as a label, ``sources`` as citations."""

    value: str
    sources: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        return {"value": self.value, "sources": list(self.sources)}


@record
class Disputed(Record):
    """A pattern on which sources disagree in what was asked. ``adopted`` is empty if the tie is open."""

    name: str
    label: str
    feature: str
    adopted: Quote
    also_said: tuple[Quote, ...]

    def to_json(self) -> dict[str, Any]:
        return {
            "iri": expand(self.name),
            "label": self.label,
            "feature": self.feature,
            "adopted": self.adopted.value or None,
            "adopted_sources": list(self.adopted.sources),
            "also_said": [q.to_json() for q in self.also_said],
        }


@record
class Valued(Record):
    """One recorded value. ``status``: adopted, inferred, "made with" (some pieces), disputed, absent, not recorded.

    ``subject`` is what it is said of, for people (the pattern, or "artery forceps in general"); ``feature`` the feature.
    """

    label: str
    status: str
    sources: tuple[str, ...]
    subject: str = ""
    feature: str = ""

    def to_json(self) -> dict[str, Any]:
        return {
            "label": self.label,
            "status": self.status,
            "sources": list(self.sources),
            "said_of": self.subject,
            "feature": self.feature,
        }


@record
class Grouped(Record):
    """One value of a grouping with the patterns that have it. ``value`` "not recorded" collects the rest."""

    value: str
    count: int
    labels: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        return {"value": self.value, "count": self.count, "labels": list(self.labels)}


@record
class Reason(Record):
    """One sentence of a justification with its witnesses; a definition has its axiom's source."""

    text: str
    sources: tuple[str, ...]
    disputed: bool = False

    def to_json(self) -> dict[str, Any]:
        return {"text": self.text, "sources": list(self.sources), "disputed": self.disputed}


@record
class Argument(Record):
    """An answer to why, why not, yes or no.

    ``holds``: True, False, "not recorded" or "disputed"; of a set without a word for all or any also "some".
    ``justifications``: each a minimal list of reasons. ``missing``: for a no or an unknown, what fails or is not recorded,
    nearest first. ``negated``: the question was "why not".
    """

    statement: str
    holds: bool | str
    justifications: tuple[tuple[Reason, ...], ...] = ()
    missing: tuple[str, ...] = ()
    capped: bool = False
    negated: bool = False

    def to_json(self) -> dict[str, Any]:
        return {
            "statement": self.statement,
            "holds": self.holds,
            "justifications": [[r.to_json() for r in j] for j in self.justifications],
            "missing": list(self.missing),
            "capped": self.capped,
        }


@record
class Placement(Record):
    """Where a new definition stands among the categories; labels, sorted.

    ``turtle`` is the definition in OWL; ``broader`` and ``narrower`` are the nearest only; ``disjoint`` the broadest of those
    that exclude it; ``impossible`` says why nothing can be in it, empty if something can; ``by_members`` what the members
    in the catalogue show beyond the definitions.
    """

    label: str
    turtle: str
    equivalent: tuple[str, ...] = ()
    broader: tuple[str, ...] = ()
    narrower: tuple[str, ...] = ()
    disjoint: tuple[str, ...] = ()
    impossible: str = ""
    by_members: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        return {k: list(v) if isinstance(v, tuple) else v for k, v in self.__dict__.items()}


@record
class Difference(Record):
    """One feature on which subjects differ. ``values``: (subject label, its values as labels), in the order asked.

    ``decides``: it alone tells every subject from every other; ``separates``: the pairs of places (later, earlier) that it
    tells apart.
    """

    part: str
    feature: str
    values: tuple[tuple[str, tuple[str, ...]], ...]
    decides: bool = False
    sources: tuple[tuple[str, tuple[str, ...]], ...] = ()
    separates: tuple[tuple[int, int], ...] = ()

    def to_json(self) -> dict[str, Any]:
        return {
            "part": self.part,
            "feature": self.feature,
            "values": {label: list(v) for label, v in self.values},
            "sources": {label: list(v) for label, v in self.sources},
            "decides": self.decides,
        }


@record
class UsualSign(Record):
    """What sources say of a category's kind in general, or of most of it: a sign, not a definition.

    ``always`` False: the sources say it of some only. ``counter_examples``: members recorded otherwise.
    """

    category: str
    feature: str
    value: str
    always: bool
    sources: tuple[str, ...]
    counter_examples: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        return {k: list(v) if isinstance(v, tuple) else v for k, v in self.__dict__.items()}


@record
class Comparison(Record):
    """Two or more subjects side by side. ``telling_signs`` are the deciding lines as sentences.

    ``usual_signs`` is filled where categories are compared; ``only_telling``: what does not decide was left out.
    ``of_set``: the subjects are the members of one set; each of the ``differences`` tells two of them apart at least, and
    ``overlapping`` is what is recorded otherwise of some though one need not exclude the other.
    """

    subjects: tuple[str, ...]
    differences: tuple[Difference, ...]
    shared: tuple[Difference, ...]
    not_recorded: tuple[Difference, ...]
    telling_signs: tuple[str, ...]
    disputes: tuple[Disputed, ...] = ()
    basis: tuple[str, ...] = ()
    usual_signs: tuple[UsualSign, ...] = ()
    only_telling: bool = False
    of_set: bool = False
    overlapping: tuple[Difference, ...] = ()

    def to_json(self) -> dict[str, Any]:
        return {
            "subjects": list(self.subjects),
            "differences": [d.to_json() for d in (*self.differences, *self.overlapping)],
            "shared": [d.to_json() for d in self.shared],
            "not_recorded": [d.to_json() for d in self.not_recorded],
            "telling_signs": list(self.telling_signs),
            "disputed": [d.to_json() for d in self.disputes],
            "compared_by": list(self.basis),
            "usual_signs": [u.to_json() for u in self.usual_signs],
        }


@record
class Cycle(Record):
    """One published sterilisation cycle with everything it depends on. ``steriliser`` may be empty.

    The tuples hold (low, high), or one number, or nothing where the source gives none: ``celsius`` and ``fahrenheit`` of
    the exposure, its ``minutes``, ``drying`` in minutes, ``aeration_hours``. ``least``: the one figure is a minimum.
    ``used`` False: the source marks this cycle as not applicable. ``second_hand``: the source was seen in a copy, or as
    another reports it.
    """

    method: str
    load: str
    steriliser: str
    source: str
    celsius: tuple[float, ...] = ()
    fahrenheit: tuple[float, ...] = ()
    minutes: tuple[float, ...] = ()
    least: bool = False
    drying: tuple[float, ...] = ()
    aeration_hours: tuple[float, ...] = ()
    conditions: tuple[str, ...] = ()
    used: bool = True
    second_hand: bool = False

    def to_json(self) -> dict[str, Any]:
        return {k: list(v) if isinstance(v, tuple) else v for k, v in self.__dict__.items()}


@record
class Care(Record):
    """One line on reprocessing. ``step`` is its heading, ``text`` what is to be done, ``sources`` who says that.

    ``because`` is the fact that makes the rule speak, empty if it always does; ``status`` of that fact: adopted, inferred or
    "some pieces"; ``fact_sources`` its witnesses. ``applies_to``: of a category, the members of which the fact is recorded.
    """

    step: str
    text: str
    sources: tuple[str, ...]
    because: str = ""
    status: str = ""
    fact_sources: tuple[str, ...] = ()
    applies_to: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        return {k: list(v) if isinstance(v, tuple) else v for k, v in self.__dict__.items()}


@record
class JawSketch(Record):
    """The face of a pattern's jaw in letters, joint on the left. ``fancy`` for terminals with Unicode, ``plain`` in ASCII;
    ``text`` says what is shown, ``slot`` is the feature that decides the signs.
    """

    name: str
    label: str
    fancy: tuple[str, ...]
    plain: tuple[str, ...]
    text: str
    slot: str = ""


@record
class Answer(Shown, Record):
    """The answer to one question. Lists that the kind of question does not use are empty.

    ``kind``: filter, count, group, value, compare, holds, why, contrast, define, new category, classify, sources, disputes,
    cycles, reprocessing, like and more. ``possible_count`` counts all patterns that could fit; ``possible`` is the first page
    of them. ``pattern_count`` counts matches with variants folded under a parent that matches too. ``match_count`` is set where
    ``matches`` is a page only: how many there are in all. ``notes`` are remarks that belong
    to the answer (cautions, labels).
    """

    question: str
    reading: str
    kind: str
    sparql: str = ""
    matches: tuple[Match, ...] = ()
    possible: tuple[Possible, ...] = ()
    possible_count: int = 0
    disputed: tuple[Disputed, ...] = ()
    count: int | None = None
    pattern_count: int | None = None
    match_count: int | None = None
    groups: tuple[Grouped, ...] | None = None
    values: tuple[Valued, ...] | None = None
    comparison: Comparison | None = None
    argument: Argument | None = None
    cycles: tuple[Cycle, ...] | None = None
    care: tuple[Care, ...] | None = None
    description: Description | None = None
    telling: TellingSigns | None = None
    look_alikes: tuple[LookAlike, ...] | None = None
    placement: Placement | None = None
    sketched: Callable[[], tuple[JawSketch, ...]] = field(default=tuple, compare=False, repr=False)
    """Makes ``sketches`` when they are shown."""
    identification: Any = None
    unread: tuple[str, ...] | None = None
    """Not None: read only in part, without these words; told is what is recorded of what was named, and nothing is decided."""
    verdict: str = ""
    """Yes or no in words, or the lines of a comparison that were asked for, where the answer does not begin so by itself."""
    notes: tuple[str, ...] = ()
    next_questions: tuple[str, ...] = ()
    verified_by: str = ""
    also: Any = None
    """The answer to a second question in the same text, or None."""
    tree: Any = field(default=None, compare=False, repr=False)
    """The question as it was read, for a question that leans on this one."""
    wider: Any = field(default=(), compare=False, repr=False)
    """The questions of the conversation for the lists that this one was narrowed from, the widest first."""
    others: tuple[str, ...] = field(default=(), compare=False, repr=False)
    """The instruments of which the same was asked just before ("is the Babcock traumatic?", "and the Allis?")."""
    listed: tuple[str, ...] = field(default=(), compare=False, repr=False)
    """The instruments of the list before from which the one was taken that this answer is about ("the second one")."""

    @property
    def sketches(self) -> tuple[JawSketch, ...]:
        """Jaw faces for a description or a comparison; for people only, not in JSON."""
        return self.sketched()

    def to_pandas(self) -> DataFrame:
        """The answer as a table, with the rows and columns of its CSV form. Raises InputError (BL-I01) without pandas."""
        return import_module("kg.render.notebook").record_frame(self)

    def to_json(self) -> dict[str, Any]:
        out: dict[str, Any] = {
            "question": self.question,
            "reading": self.reading,
            "not_read": None if self.unread is None else list(self.unread),
            "kind": self.kind,
            "sparql": self.sparql,
            "matches": [m.to_json() for m in self.matches],
            "not_recorded": [p.to_json() for p in self.possible],
            "possible_count": self.possible_count,
            "disputed": [d.to_json() for d in self.disputed],
            "notes": list(self.notes),
            "next_questions": list(self.next_questions),
            "verified_by": self.verified_by,
        }
        if self.verdict:
            out["verdict"] = self.verdict
        if self.match_count is not None:
            out["match_count"] = self.match_count
        if self.count is not None:
            out |= {"count": self.count, "pattern_count": self.pattern_count}
        if self.groups is not None:
            out["groups"] = [g.to_json() for g in self.groups]
        if self.values is not None:
            out["values"] = [v.to_json() for v in self.values]
        if self.comparison is not None:
            disputes = out["disputed"]
            not_recorded = self.comparison.to_json()["not_recorded"]
            out |= self.comparison.to_json() | {"disputed": disputes or self.comparison.to_json()["disputed"]}
            out["not_recorded"] = not_recorded
        if self.argument is not None:
            out |= self.argument.to_json()
        if self.cycles is not None:
            out["cycles"] = [c.to_json() for c in self.cycles]
        if self.care is not None:
            out["care"] = [c.to_json() for c in self.care]
        if self.description is not None:
            out |= self.description.to_json()
        if self.telling is not None:
            out |= self.telling.to_json()
        if self.look_alikes is not None:
            out["look_alikes"] = [a.to_json() for a in self.look_alikes]
        if self.identification is not None:
            out |= self.identification.to_json() | {"notes": [*self.notes, *self.identification.notes]}
        if self.placement is not None:
            out["definition"] = self.placement.to_json()
        if self.also is not None:
            out["also"] = self.also.to_json()
        return out


@record
class Finding(Record):
    """One thing that ``check`` found. ``severity``: error or warning; ``line`` 0 means the whole file."""

    severity: str
    file: str
    line: int
    code: str
    text: str
    fix: str = ""

    def to_json(self) -> dict[str, Any]:
        return dict(self.__dict__)


@record
class Spoken(Record):
    """One thing said of a pattern. ``about`` is the part or feature; ``text`` a clause ("has a ratchet", "is curved").

    ``status``: adopted, inferred, "made with" (some pieces), absent, disputed, not recorded. ``inherited_from`` is empty
    if the fact was said of the pattern itself, else the parent or kind that it was said of. ``literal``: the fact as
    (property, value); its value is empty for a length, both are for what is not recorded.
    """

    about: str
    text: str
    status: str
    sources: tuple[str, ...] = ()
    inherited_from: str = ""
    feature: str = ""
    literal: tuple[str, str] = ("", "")

    def to_json(self) -> dict[str, Any]:
        return {
            "part": self.about,
            "feature": self.feature,
            "text": self.text,
            "status": self.status,
            "inherited_from": self.inherited_from or None,
            "sources": list(self.sources),
        }


@record
class Membership(Record):
    """A category a pattern belongs to, with the reason in half a sentence ("because it is made for ...")."""

    name: str
    label: str
    reason: str

    def to_json(self) -> dict[str, Any]:
        return {"iri": expand(self.name), "label": self.label, "reason": self.reason}


@record
class Description(Record):
    """A pattern as one describes it aloud. ``spoken`` is the whole as sentences, in the examiners' order.

    ``parts`` holds parts and what can be seen on them; the other sections what is known beyond that. Absent parts stand
    among the parts; ``not_recorded`` names what is not known of the pattern though it is known of most of its kind.
    ``passages`` are (what about, text) in the order in which they are spoken: appearance, name, use, and so on.
    """

    name: str
    label: str
    also_called: tuple[str, ...]
    variant_of: str
    variants: tuple[str, ...]
    parts: tuple[Spoken, ...]
    categories: tuple[Membership, ...]
    use: tuple[Spoken, ...]
    not_used_on: tuple[Spoken, ...]
    handling: tuple[Spoken, ...]
    pieces: tuple[Spoken, ...]
    make: tuple[Spoken, ...]
    reprocessing: tuple[Spoken, ...]
    standards: tuple[Spoken, ...]
    not_recorded: tuple[str, ...]
    disputes: tuple[Disputed, ...]
    passages: tuple[tuple[str, str], ...]

    @property
    def spoken(self) -> str:
        """The whole as sentences."""
        return " ".join(text for _, text in self.passages)

    def passage(self, about: str) -> str:
        """What is said about one thing ("appearance", "use"); empty if nothing is."""
        return next((text for name, text in self.passages if name == about), "")

    def to_json(self) -> dict[str, Any]:
        lists = ("parts", "categories", "use", "not_used_on", "handling", "pieces", "make", "reprocessing", "standards")
        out: dict[str, Any] = {
            "iri": expand(self.name),
            "label": self.label,
            "also_called": list(self.also_called),
            "variant_of": self.variant_of or None,
            "variants": list(self.variants),
            "spoken": self.spoken,
            "not_recorded_slots": list(self.not_recorded),
        }
        return out | {key: [item.to_json() for item in getattr(self, key)] for key in (*lists, "disputes")}


@record
class TellingSigns(Record):
    """What separates a subject from the rest of a scope.

    For a pattern ``sets`` holds every smallest set of signs that separates it from all others that can be separated;
    each sign is (feature, value). ``inseparable`` names the patterns that no visible recorded feature tells from it.
    For a category each set holds one sign that all members share; ``open_count`` says, set by set, for how many outsiders
    the sign is not recorded. ``complete`` False: the search met its bound, and the sets need not be all or smallest.
    """

    subject: str
    scope: str
    compared: int
    sets: tuple[tuple[tuple[str, str], ...], ...]
    inseparable: tuple[str, ...] = ()
    open_count: tuple[int, ...] = ()
    complete: bool = True

    def to_json(self) -> dict[str, Any]:
        return {
            "subject": self.subject,
            "scope": self.scope,
            "compared": self.compared,
            "telling_signs": [[{"feature": f, "value": v} for f, v in signs] for signs in self.sets],
            "inseparable": list(self.inseparable),
            "open_count": list(self.open_count),
            "complete": self.complete,
        }


@record
class LookAlike(Record):
    """A pattern that differs in few recorded visible features. ``signs``: (feature, here, there) that decide."""

    name: str
    label: str
    shared: int
    signs: tuple[tuple[str, str, str], ...]

    def to_json(self) -> dict[str, Any]:
        signs = [{"feature": f, "here": a, "there": b} for f, a, b in self.signs]
        return {"iri": expand(self.name), "label": self.label, "shared": self.shared, "deciding_signs": signs}
