"""What a course covers: every objective judged against what is taught, and what is left out.

An objective is met if enough of the taught instruments match its question (for a comparison: each subject too). Where the
catalogue itself has fewer matches than the minimum, it is the catalogue that lacks them, not the course.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from kg import names
from kg.answer.context import Context
from kg.course import gaps
from kg.course.asking import Asked, asked_by, one_pattern, speaks_of, understood
from kg.course.curriculum import Curriculum, Listed, Objective, refuse
from kg.course.matching import Matcher
from kg.course.records import Claim, Coverage, Group, Instrument, ObjectiveResult, SessionResult, Status
from kg.intake.rows import Report
from kg.language import nodes
from kg.wording import listing

MOST_HELPFUL = 12
"""Patterns named that would meet an objective; the count says how many there are."""
CROWDED_TIMES, CROWDED_MORE = 3, 3
"""An objective is met many times over with so many times its minimum, and at least so many more."""


@dataclass(frozen=True)
class Demand:
    """What an objective asks of a list of instruments: of each set of patterns (bits) at least so many."""

    id: str
    weight: float
    sets: tuple[tuple[int, int], ...]

    def met_by(self, chosen: int) -> bool:
        """Whether a list, as bits, meets it."""
        return all((chosen & bits).bit_count() >= least for bits, least in self.sets)


@dataclass
class Course:
    """A course, understood: its questions, and as bits what is taught where. ``shown``: session's id -> patterns (empty id:
    outside all sessions); ``listed``: the file says what is shown."""

    curriculum: Curriculum
    asked: Mapping[str, Asked]
    matcher: Matcher
    shown: dict[str, int] = field(default_factory=dict)
    claims: dict[str, tuple[str, ...]] = field(default_factory=dict)
    listed: bool = True
    remarks: list[str] = field(default_factory=list)

    @property
    def taught(self) -> int:
        """All patterns that are shown anywhere."""
        out = 0
        for bits in self.shown.values():
            out |= bits
        return out

    def minimum(self, objective: Objective) -> int:
        """The minimum given; else one, or one for each subject of a comparison."""
        asked = self.asked.get(objective.id)
        return objective.minimum or max(1, len(asked.each) if asked else 1)

    def demand(self, objective: Objective) -> Demand | None:
        """What the objective asks of a list; None if it is unmapped or outside."""
        asked = self.asked.get(objective.id)
        if asked is None:
            return None
        sets = [(self.matcher.find(asked.expr).true, self.minimum(objective))]
        sets += [(self.matcher.find(e).true, 1) for e in asked.each]
        return Demand(objective.id, objective.weight, tuple(sets))

    def instruments(self, bits: int) -> tuple[Instrument, ...]:
        """Patterns as (name, label), by label."""
        ctx = self.matcher.ctx
        found = [(name, ctx.label(name)) for name in self.matcher.table.names(bits)]
        return tuple(sorted(found, key=lambda i: (i[1].casefold(), i[0])))


def understand(ctx: Context, curriculum: Curriculum, matcher: Matcher | None = None, report: Report | None = None) -> Course:
    """The course with its questions and lists looked up.

    Raises InputError with all that is not understood as ``findings`` (BL-Qxx), each with file and line, together with what
    the ``report`` of the reader holds.
    """
    report = report or Report()
    asked = asked_by(curriculum, ctx.lexicon, report)
    course = Course(curriculum, asked, matcher or Matcher(ctx))
    for session in curriculum.sessions:
        course.shown[session.id] = _listed(ctx, session.shows, course.matcher, report)
    for objective in curriculum.objectives:
        bits = _listed(ctx, objective.met_by, course.matcher, report)
        course.claims[objective.id] = tuple(course.matcher.table.names(bits))
        course.shown[objective.session] = course.shown.get(objective.session, 0) | bits
    refuse(report, curriculum.files)
    course.remarks += [f"{f.file}: {f.text}." for f in report.findings()]
    course.listed = any(s.shows for s in curriculum.sessions) or any(o.met_by for o in curriculum.objectives)
    if not course.listed:
        for objective in curriculum.objectives:
            if found := asked.get(objective.id):
                bits = course.matcher.find(found.expr).true
                course.shown[objective.session] = course.shown.get(objective.session, 0) | bits
    return course


def _listed(ctx: Context, listed: Iterable[Listed], matcher: Matcher, report: Report) -> int:
    """The patterns that names and questions of a list stand for: a name that pattern, a question all that match."""
    out = 0
    for item in listed:
        question = understood(item, ctx.lexicon, report)
        if question is None:
            continue
        if name := one_pattern(question, ctx.lexicon):
            out |= 1 << matcher.table.index[name]
            continue
        subjects = speaks_of(question, ctx.lexicon)
        if not subjects:
            what = f'"{item.text[:60]}" names no instrument'
            report.error("BL-Q03", item.place, what, "Give the name of an instrument, or a question.")
            continue
        found = 0
        for expr in subjects:
            found |= matcher.find(expr).true
        if not found:
            report.warning("BL-I10", item.place, f'"{item.text[:60]}" is shown, but no instrument is known to match it')
        out |= found
    return out


def cover(ctx: Context, course: Course) -> Coverage:
    """Everything that is reckoned without a solver."""
    families = family_bits(course.matcher)
    results = tuple(_result(ctx, course, o, families) for o in course.curriculum.objectives)
    reached = 0
    for asked in course.asked.values():
        reached |= course.matcher.find(asked.expr).true
    taught = course.taught
    by_id = {r.id: r for r in results}
    split, contrasted = gaps.split_pairs(ctx, course)
    return Coverage(
        title=course.curriculum.title,
        files=course.curriculum.files,
        listed=course.listed,
        taught=course.instruments(taught),
        objectives=results,
        sessions=tuple(_sessions(course, by_id)),
        families=tuple(_groups(course, families)),
        categories=tuple(_groups(course, _categories(course.matcher))),
        feature_gaps=gaps.feature_gaps(course.matcher, taught),
        split_pairs=split,
        contrasted_pairs=contrasted,
        unreached=_unreached(course, families, course.matcher.everything & ~reached),
        idle=course.instruments(taught & ~reached),
        repeated=tuple(_repeated(course)),
        crowded=tuple(r.id for r in results if _is_crowded(r)),
        notes=tuple(_notes(course, results)),
        verified_by=ctx.verified_by,
    )


# --- objectives -----------------------------------------------------------------------------------------------------
def _result(ctx: Context, course: Course, objective: Objective, families: Mapping[str, int]) -> ObjectiveResult:
    common = {
        "id": objective.id,
        "text": objective.text,
        "question": objective.question,
        "minimum": course.minimum(objective),
        "weight": objective.weight,
        "session": objective.session,
        "file": objective.place.file,
        "line": objective.place.line,
    }
    asked, demand = course.asked.get(objective.id), course.demand(objective)
    if asked is None or demand is None:
        status = Status.OUTSIDE if objective.outside else Status.UNMAPPED
        return ObjectiveResult(**common, status=status, outside=objective.outside)
    found = course.matcher.find(asked.expr)
    taught = course.taught
    have = found.true & taught
    lacks = "" if demand.met_by(taught) else "course" if demand.met_by(course.matcher.everything) else "catalogue"
    status = Status.SHORT if lacks else Status.MET
    if found.never:
        status = Status.IMPOSSIBLE
    elif not asked.confirmed:
        status = Status.UNCONFIRMED
    wanting = [e for e in asked.each if not course.matcher.find(e).true & taught]
    useful = found.true & ~taught if lacks == "course" else 0
    if wanting and useful:  # of a comparison only what its missing subjects need
        useful = 0
        for expr in wanting:
            useful |= course.matcher.find(expr).true
    session = course.shown.get(objective.session) if objective.session else None
    return ObjectiveResult(
        **common,
        status=status,
        reading=asked.reading,
        count=have.bit_count(),
        lacks=lacks,
        instruments=course.instruments(have),
        inferred=course.instruments(course.matcher.inferred(asked.expr, have)),
        in_catalogue=found.true.bit_count(),
        open_taught=(found.open & taught).bit_count(),
        open_in_catalogue=found.open.bit_count(),
        wanting=tuple(_subject_label(ctx, e) for e in wanting),
        helpful=tuple(label for _, label in course.instruments(useful)[:MOST_HELPFUL]),
        helpful_count=useful.bit_count(),
        in_session=None if session is None else (found.true & session).bit_count(),
        words=asked.words,
        claims=_claims(ctx, course, objective, asked),
        by_family=tuple((f, n) for f, bits in families.items() if (n := (bits & have).bit_count())),
    )


def _subject_label(ctx: Context, expr: nodes.Expr) -> str:
    return ctx.label(expr.pattern if isinstance(expr, nodes.Named) else getattr(expr, "category", ""))


def _claims(ctx: Context, course: Course, objective: Objective, asked: Asked) -> tuple[Claim, ...]:
    """What the file says meets the objective, held against what is recorded."""
    found = course.matcher.find(asked.expr)
    out = []
    for name in course.claims.get(objective.id, ()):
        place = course.matcher.table.index[name]
        if found.true >> place & 1:
            out.append(Claim(ctx.label(name), "so"))
            continue
        verdict = "not recorded" if found.open >> place & 1 else "contradicted"
        out.append(Claim(ctx.label(name), verdict, _why_not(ctx, name, asked.expr)))
    return tuple(out)


def _why_not(ctx: Context, name: str, expr: nodes.Expr) -> str:
    from kg.answer.reasons import argue  # only where a claim fails

    argument = argue(ctx, name, expr, "", kind="holds").argument
    return argument.missing[0] if argument is not None and argument.missing else ""


def _is_crowded(result: ObjectiveResult) -> bool:
    return result.met and result.count >= max(CROWDED_TIMES * result.minimum, result.minimum + CROWDED_MORE)


# --- families, categories, sessions ---------------------------------------------------------------------------------
def family_bits(matcher: Matcher) -> dict[str, int]:
    """Family (the broadest kind that sources give) -> its patterns, largest first; the empty name for those without a kind."""
    vocabulary, seen = matcher.ctx.vocabulary, matcher.table
    kinds = {v: bits for (prop, v), bits in seen.holds.items() if prop == names.OF_KIND and not vocabulary.terms[v].broader}
    rest = matcher.everything
    for bits in kinds.values():
        rest &= ~bits
    ordered = dict(sorted(kinds.items(), key=lambda i: (-i[1].bit_count(), i[0])))
    return ordered | ({"": rest} if rest else {})


def _categories(matcher: Matcher) -> dict[str, int]:
    """Defined category -> the patterns inferred to be in it, by label."""
    vocabulary = matcher.ctx.vocabulary
    found = {v: b for (prop, v), b in matcher.table.holds.items() if prop == names.TYPE and v in vocabulary.definitions}
    return dict(sorted(found.items(), key=lambda i: vocabulary.label(i[0]).casefold()))


def _groups(course: Course, groups: Mapping[str, int]) -> Iterable[Group]:
    vocabulary = course.matcher.ctx.vocabulary
    reach = [course.matcher.find(a.expr).true for a in course.asked.values()]
    for name, bits in groups.items():
        entry = vocabulary.terms.get(name)
        label = (entry.plural or entry.label) if entry else "no family"
        objectives = sum(1 for r in reach if r & bits)
        yield Group(name or names.OF_KIND, label, (bits & course.taught).bit_count(), bits.bit_count(), objectives)


def _sessions(course: Course, results: Mapping[str, ObjectiveResult]) -> Iterable[SessionResult]:
    own: dict[str, list[ObjectiveResult]] = {}
    for result in results.values():
        own.setdefault(result.session, []).append(result)
    titles = {s.id: s.title for s in course.curriculum.sessions}
    for name, bits in course.shown.items():
        if name or bits or own.get(""):
            mine = own.get(name, [])
            yield SessionResult(name, titles.get(name, ""), course.instruments(bits), len(mine), sum(r.met for r in mine))


def _unreached(course: Course, families: Mapping[str, int], rest: int) -> tuple[tuple[str, tuple[Instrument, ...]], ...]:
    return tuple(
        (course.matcher.ctx.label(f) if f else "no family", course.instruments(bits & rest))
        for f, bits in families.items()
        if bits & rest
    )


def _repeated(course: Course) -> Iterable[tuple[Instrument, tuple[str, ...]]]:
    """Patterns shown in more than one session, the most repeated first."""
    if not course.listed:
        return []
    places: dict[Instrument, list[str]] = {}
    for session, bits in course.shown.items():
        if session:
            for instrument in course.instruments(bits):
                places.setdefault(instrument, []).append(session)
    found = [(i, tuple(s)) for i, s in places.items() if len(s) > 1]
    return sorted(found, key=lambda f: (-len(f[1]), f[0][1].casefold()))


def _notes(course: Course, results: Iterable[ObjectiveResult]) -> Iterable[str]:
    if not course.listed:
        yield "The course does not list what it shows, so every instrument that matches an objective was taken as taught."
    else:
        empty = [s.id for s in course.curriculum.sessions if not course.shown.get(s.id)]
        if empty:
            yield f"Nothing is shown in {listing([f'session {s}' for s in empty])}."
    if any(r.status is Status.UNCONFIRMED for r in results):
        yield "A question proposed for an objective in prose counts as met only when somebody has confirmed it."
    yield from course.remarks
