"""Comparison of two or more patterns or categories: what differs, by part, the deciding line first."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from kg import names
from kg.answer.context import Context
from kg.answer.filters import answer_filter
from kg.answer.hitting import smallest_hitting_sets
from kg.answer.values import LENGTH, disputed_slots, facts_query, value_rows
from kg.facts import PatternFacts, Witness
from kg.language import nodes
from kg.model import Answer, Comparison, Difference, Disputed, UsualSign
from kg.records import replace
from kg.truth import Known, possible
from kg.wording import capital, listing

NOT_RECORDED = "not recorded"


def answer_compare(ctx: Context, subjects: Sequence[str], *, telling: bool = False) -> Answer:
    """Subjects side by side. Categories are compared by definition and by what all their members share.

    ``telling``: only what decides is left: the differences that tell every subject from every other, or, if none does so
    alone, the smallest sets of differences that do so together.
    """
    if all(ctx.vocabulary.terms[s].role == "pattern" for s in subjects):
        comparison = _patterns(ctx, subjects)
    else:
        comparison = _with_categories(ctx, subjects)
    if telling:
        comparison = _only_telling(comparison)
    return Answer("", "", "compare", sparql=facts_query(subjects[0], []), comparison=comparison, verified_by=ctx.verified_by)


def _patterns(ctx: Context, subjects: Sequence[str]) -> Comparison:
    facts = ctx.reader.facts(list(subjects))
    return _compare(ctx, subjects, facts, basis=("adopted facts of each pattern",))


def _compare(
    ctx: Context,
    subjects: Sequence[str],
    facts: dict[str, PatternFacts],
    basis: tuple[str, ...],
    witnessed: bool = True,
) -> Comparison:
    differences, shared, unknown = [], [], []
    if witnessed:
        ctx.reader.foresee(name for s in subjects for name in ctx.reader.line(s, facts[s]))
    for slot in recorded_slots(ctx, facts.values()):
        line = side_by_side(ctx, slot, subjects, facts, witnessed)
        texts = [v for _, v in line.values]
        recorded = [v for v in texts if v != (NOT_RECORDED,)]
        if len(recorded) < len(subjects):
            unknown.append(line)
        elif len(set(texts)) == 1:
            shared.append(line)
        else:
            differences.append(line)
    differences.sort(key=lambda d: not d.decides)  # stable: by part order within
    signs = tuple(_sign(d) for d in differences if d.decides)
    disputes: list[Disputed] = []
    for subject in subjects:
        pattern_facts = facts[subject]
        for slot in sorted(disputed_slots(pattern_facts)):
            dispute = ctx.dispute(subject, slot, pattern_facts) if witnessed else None
            if dispute:
                disputes.append(dispute)
    labels = tuple(ctx.label(s) for s in subjects)
    return Comparison(labels, tuple(differences), tuple(shared), tuple(unknown), signs, tuple(disputes), basis)


def _only_telling(comparison: Comparison) -> Comparison:
    """The comparison without what does not decide.

    Of three or more subjects a feature that is not recorded for one of them can still tell two others apart.
    """
    kept = [d for d in comparison.differences if d.decides]
    signs = comparison.telling_signs
    labels = comparison.subjects
    if not kept and len(labels) > 2:
        lines = (*comparison.differences, *comparison.not_recorded)
        pairs = [(i, j) for i in range(len(labels)) for j in range(i)]
        rows = [frozenset(n for n, line in enumerate(lines) if pair in line.separates) for pair in pairs]
        sets, _ = smallest_hitting_sets([r for r in rows if r])
        kept = [lines[n] for n in sorted({n for found in sets for n in found})]
        what = "all of them apart" if all(rows) else "apart all that can be told apart"
        signs = tuple(f"{capital(listing(lines[n].feature for n in found))}: enough to tell {what}." for found in sets)
        signs += tuple(
            f"Nothing recorded tells {labels[j]} from {labels[i]}." for (i, j), row in zip(pairs, rows, strict=True) if not row
        )
    kept = kept or list(comparison.differences)  # where nothing decides, what differs in some of their pieces
    return replace(comparison, differences=tuple(kept), shared=(), not_recorded=(), telling_signs=signs, only_telling=True)


def recorded_slots(ctx: Context, records) -> list[str]:
    """Every slot on which anything is recorded, in the examiners' order."""
    found: set[str] = set()
    for facts in records:
        for prop, value in facts.known.holds:
            if prop in names.PARTS:
                found.add(value)
            elif prop in ctx.vocabulary.features:
                found.add(prop)
        found |= set(facts.known.varies) | facts.known.open_slots
        if facts.known.length:
            found.add(LENGTH)
    found.discard(names.OF_KIND)
    found.discard(names.SIZE_CLASS)  # follows from the length, which is shown

    def order(slot: str) -> tuple[int, str]:
        feature = ctx.vocabulary.features.get(slot)
        if feature:
            return feature.order, slot
        return (ctx.vocabulary.terms[slot].order if slot in ctx.vocabulary.terms else 999), slot

    return sorted(found, key=order)


def side_by_side(
    ctx: Context, slot: str, subjects: Sequence[str], facts: dict[str, PatternFacts], witnessed: bool
) -> Difference:
    values, sources = [], []
    for subject in subjects:
        texts, cited = _cell(ctx, slot, subject, facts[subject], witnessed)
        values.append((ctx.label(subject), texts))
        sources.append((ctx.label(subject), cited))
    known = [facts[s].known for s in subjects]
    return Difference(
        ctx.part_label(slot),
        ctx.label(slot),
        tuple(values),
        _decides(ctx, slot, known),
        tuple(sources),
        _separates(ctx, slot, known),
    )


def _cell(
    ctx: Context, slot: str, subject: str, facts: PatternFacts, witnessed: bool
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    known = facts.known
    if slot not in ctx.vocabulary.features and slot != LENGTH:
        for prop, text in ((names.HAS_PART, "there"), (names.LACKS_PART, "absent")):
            if (prop, slot) in known.holds:
                cited = ctx.cite(ctx.reader.support(subject, (prop, slot), facts)[1]) if witnessed else ()
                return (text,), cited
        return ("made with or without" if slot in known.varies else NOT_RECORDED,), ()
    rows = value_rows(ctx, subject, slot, facts)
    if rows[0].status == "not recorded":
        return (NOT_RECORDED,), ()
    texts = tuple(r.label + (" (some)" if r.status == "made with" else "") for r in rows)
    return tuple(sorted(texts)), tuple(dict.fromkeys(s for r in rows for s in r.sources))


def _decides(ctx: Context, slot: str, known: Sequence[Known]) -> bool:
    """True if the slot alone tells every subject from every other: no value is possible for two of them."""
    if slot == LENGTH:
        spans = sorted(k.length for k in known if k.length)
        return len(spans) == len(known) and all(a[1] < b[0] for a, b in pairwise(spans))
    feature = ctx.vocabulary.features.get(slot)
    if feature is not None and not feature.single:
        return False
    sets = [possible(slot, k, ctx.vocabulary) for k in known]
    return all(not a & b for i, a in enumerate(sets) for b in sets[i + 1 :])


def _separates(ctx: Context, slot: str, known: Sequence[Known]) -> tuple[tuple[int, int], ...]:
    """The pairs of subjects (later, earlier) that the slot alone tells apart."""
    return tuple((i, j) for i in range(len(known)) for j in range(i) if _decides(ctx, slot, (known[i], known[j])))


def _sign(difference: Difference) -> str:
    sides = "; ".join(f"{label}: {', '.join(values)}" for label, values in difference.values)
    return f"{capital(difference.feature)} — {sides}."


# --- categories -----------------------------------------------------------------------------------------------------
def _with_categories(ctx: Context, subjects: Sequence[str]) -> Comparison:
    """Patterns and categories mixed. A category shows what its definition says and what all members share."""
    facts = {}
    for subject in subjects:
        role = ctx.vocabulary.terms[subject].role
        facts[subject] = ctx.reader.facts([subject])[subject] if role == "pattern" else _shared_facts(ctx, subject)
    basis = tuple(_basis(ctx, s) for s in subjects)
    signs = [u for s in subjects if ctx.vocabulary.terms[s].role == "category" for u in usual_signs(ctx, s)]
    return replace(_compare(ctx, subjects, facts, basis, witnessed=False), usual_signs=_that_tell(signs))


def _basis(ctx: Context, subject: str) -> str:
    if ctx.vocabulary.terms[subject].role == "pattern":
        return f"{ctx.label(subject)}: adopted facts of the pattern"
    conditions = [c for c in ctx.vocabulary.definitions[subject] if c != (names.TYPE, names.PATTERN)]
    by_definition = "; ".join(ctx.clause(c) for c in conditions)
    return f"{ctx.label(subject)}: by definition it {by_definition}; everything else is what all recorded members share"


def _shared_facts(ctx: Context, category: str) -> PatternFacts:
    """What the definition of a category implies, and what all its members have in common."""
    implied = ctx.engine.types_only([(names.TYPE, category)])
    members = [m.name for m in answer_filter(ctx, nodes.IsA(category)).matches]
    shared: set = set(implied)
    varies: dict[str, tuple[str, ...]] = {}
    if members:
        records = ctx.reader.facts(members)
        shared |= frozenset.intersection(*(records[m].known.holds for m in members))
        varies = _member_values(ctx, records, shared)
    # Exact values only: a broader value beside its narrower one says nothing more.
    exact = {lit for lit in shared if not any(lit[1] in ctx.vocabulary.ancestors(o[1]) for o in shared if o[0] == lit[0])}
    known = Known(line=(category,), holds=frozenset(shared), varies=varies)
    return PatternFacts(category, known, dict.fromkeys(exact, "own"))


def usual_signs(ctx: Context, category: str) -> list[UsualSign]:
    """What is said of the kind that all members of a category share, on parts and single-valued features."""
    members = [m.name for m in answer_filter(ctx, nodes.IsA(category)).matches]
    records = ctx.reader.facts(members)
    kinds = frozenset.intersection(*(_kinds(r) for r in records.values())) if records else frozenset()
    out: list[UsualSign] = []
    for kind in sorted(kinds, key=lambda k: -len(ctx.vocabulary.ancestors(k)))[:1]:
        features = [f for f in ctx.vocabulary.features.values() if f.single and f.name != names.OF_KIND]
        for prop in (*names.PARTS, *(f.name for f in sorted(features, key=lambda f: (f.order, f.name)))):
            said: dict[str, list[Witness]] = {}
            for w in ctx.reader.witnesses(kind, prop):
                if w.mode != "not":
                    said.setdefault(w.value, []).append(w)
            for value, witnesses in sorted(said.items()):
                against = tuple(ctx.label(p) for p, r in records.items() if _otherwise(ctx, prop, value, r))
                feature = ctx.label(value if prop in names.PARTS else prop)
                shown = ctx.clause((prop, value)) if prop in names.PARTS else ctx.label(value)
                always = all(w.mode == "is" for w in witnesses) and not against
                out.append(UsualSign(ctx.label(category), feature, shown, always, ctx.cite(witnesses), against))
    return out


def _that_tell(signs: list[UsualSign]) -> tuple[UsualSign, ...]:
    """Without the signs that every compared category has alike: they tell nothing apart."""
    categories = {s.category for s in signs}
    same = {
        (s.feature, s.value)
        for s in signs
        if {o.category for o in signs if (o.feature, o.value, o.always) == (s.feature, s.value, s.always)} == categories
    }
    return tuple(s for s in signs if (s.feature, s.value) not in same)


def _kinds(record: PatternFacts) -> frozenset[str]:
    return frozenset(v for f, v in record.known.holds if f == names.OF_KIND)


def _otherwise(ctx: Context, prop: str, value: str, record: PatternFacts) -> bool:
    """The member is recorded with something that excludes the value."""
    if prop in names.PARTS:
        return not possible(value, record.known, ctx.vocabulary) & {prop}
    return not possible(prop, record.known, ctx.vocabulary) & ctx.vocabulary.subtree(value)


def _member_values(ctx: Context, records: dict[str, PatternFacts], shared: set) -> dict[str, tuple[str, ...]]:
    """slot -> the values found among the members, where they do not all share one and all are recorded."""
    out: dict[str, tuple[str, ...]] = {}
    for slot in {lit[0] for r in records.values() for lit in r.levels if lit[0] in ctx.vocabulary.features}:
        if any(lit[0] == slot for lit in shared) or not ctx.vocabulary.features[slot].single:
            continue
        found: set[str] = set()
        complete = True
        for record in records.values():
            own = {lit[1] for lit, level in record.levels.items() if lit[0] == slot and level != "inferred"}
            own |= set(record.known.varies.get(slot, ()))
            complete &= bool(own)
            found |= own
        if complete and len(found) > 1:
            out[slot] = tuple(sorted(found))
    return out
