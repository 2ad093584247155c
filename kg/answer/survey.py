"""Answers that look over the record: several counts side by side, what is not recorded of a set, and the categories under
which a pattern stands, each with what puts it there."""

from __future__ import annotations

from collections.abc import Iterable

from kg import names
from kg.answer.context import Context
from kg.answer.filters import answer_filter, folded_count
from kg.evidence_levels import UNPUBLISHED
from kg.facts import PatternFacts
from kg.language import nodes
from kg.model import Answer, Grouped
from kg.records import replace
from kg.wording import listing

MOST, FEW = 2, 4
"""Of a set it is looked for what is recorded of at least half of it; of one pattern, of a quarter of those of its kind."""
THINNEST = 5
"""So many of the patterns with the most gaps are named."""
LOOK_ALIKE = "a look-alike"
PUBLISHED = "a published source"


def answer_counts(ctx: Context, exprs: tuple[nodes.Expr, ...]) -> Answer:
    """How many patterns fit each description, variants included; and of how many more the record does not decide it."""
    from kg.language.say import say_expr

    groups, notes, queries = [], [], []
    for expr in exprs:
        found = answer_filter(ctx, expr, limit=0)
        said = say_expr(expr, ctx.lexicon)
        groups.append(Grouped(said, len(found.matches), tuple(sorted((m.label for m in found.matches), key=str.casefold))))
        queries.append(found.sparql)
        if found.possible_count:
            notes.append(f"Of {found.possible_count:,} more the record does not decide whether they belong to: {said}.")
    return Answer(
        "", "", "tally", sparql="\n".join(queries), groups=tuple(groups), notes=tuple(notes), verified_by=ctx.verified_by
    )


# --- what is not recorded -------------------------------------------------------------------------------------------
def answer_gaps(ctx: Context, expr: nodes.Expr) -> Answer:
    """What is not recorded of the patterns that fit: of each thing that is recorded of at least half of them (for one pattern,
    of enough of its kind), of their length and of their uses, which patterns lack it; which have no look-alike, which no
    published source.
    ``count`` is how many patterns were looked at."""
    base = answer_filter(ctx, expr, limit=0)
    patterns = [m.name for m in base.matches]
    facts = ctx.reader.facts(patterns)
    lacking: dict[str, list[str]] = {}
    one = isinstance(expr, nodes.Named)
    for slot in _expected(ctx, (_peers(ctx, facts) if one else facts).values(), FEW if one else MOST):
        lacking[ctx.label(slot)] = [p for p in patterns if _applies(ctx, slot, facts[p]) and not _recorded(slot, facts[p])]
    alike = _with_look_alikes(ctx)
    lacking[LOOK_ALIKE] = [p for p in patterns if not alike & {p, *ctx.vocabulary.ancestors(p)}]
    lacking[PUBLISHED] = [p for p in patterns if not _published(facts[p])]
    groups = [
        Grouped(what, len(found), tuple(sorted((ctx.label(p) for p in found), key=str.casefold)))
        for what, found in sorted(lacking.items(), key=lambda item: (-len(item[1]), item[0]))
        if found
    ]
    return Answer(
        "",
        "",
        "gaps",
        sparql=base.sparql,
        count=len(patterns),
        pattern_count=folded_count(base.matches),
        groups=tuple(groups),
        notes=_thinnest(ctx, lacking) if len(patterns) > 1 else (),
        verified_by=ctx.verified_by,
    )


def _peers(ctx: Context, facts: dict[str, PatternFacts]) -> dict[str, PatternFacts]:
    """The patterns of the kinds that those looked at are of, them among these: what is usual is no matter of one."""
    kinds = {v for one in facts.values() for f, v in one.known.holds if f == names.OF_KIND}
    kind = ctx.vocabulary.narrowest(sorted(kinds)) if kinds else ""
    members = answer_filter(ctx, nodes.Has(names.OF_KIND, kind), limit=0).matches if kind else ()
    return ctx.reader.facts(list(dict.fromkeys((*facts, *(m.name for m in members)))))


def _expected(ctx: Context, facts: Iterable[PatternFacts], share: int) -> list[str]:
    """The length, the uses, and what is recorded of at least one in ``share`` of the patterns to which it applies."""
    all_facts = list(facts)
    words = ctx.lexicon.words
    uses = [*max((c.ask for c in words.connectors), key=len), *words.set_features]
    out = [f for f in dict.fromkeys(uses) if f in ctx.vocabulary.features]
    found = {v if f in names.PARTS else f for one in all_facts for f, v in one.known.holds}
    for slot in sorted(found):
        known = slot in ctx.vocabulary.features or (slot in ctx.vocabulary.terms and ctx.vocabulary.terms[slot].role == "part")
        if not known or slot in (names.OF_KIND, names.SIZE_CLASS, *out):
            continue
        if (feature := ctx.vocabulary.features.get(slot)) is not None and feature.section == "standards":
            continue
        fit = [one for one in all_facts if _applies(ctx, slot, one)]
        if fit and share * sum(_recorded(slot, one) for one in fit) >= len(fit):
            out.append(slot)
    return [names.LENGTH, *out]


def _applies(ctx: Context, slot: str, facts: PatternFacts) -> bool:
    feature = ctx.vocabulary.features.get(slot)
    if feature is None:
        return True
    absent = (names.LACKS_PART, feature.applies or feature.part) in facts.known.holds
    return slot not in facts.known.inapplicable and not absent


def _recorded(slot: str, facts: PatternFacts) -> bool:
    known = facts.known
    if slot == names.LENGTH:
        return known.length is not None
    if slot in known.varies or slot in known.open_slots:
        return True
    return any(f == slot or (f in names.PARTS and v == slot) for f, v in known.holds)


def _published(facts: PatternFacts) -> bool:
    """Whether any fact that somebody stated has a published witness."""
    own = [literal for literal, level in facts.levels.items() if level != "inferred"]
    return any(facts.basis.get(literal) not in UNPUBLISHED.values() for literal in own)


def _with_look_alikes(ctx: Context) -> set[str]:
    from kg.answer.lookalikes import look_alike_pairs

    return {p for pair in look_alike_pairs(ctx) for p in pair}


def _thinnest(ctx: Context, lacking: dict[str, list[str]]) -> tuple[str, ...]:
    """The patterns that lack most, with what they lack."""
    gaps: dict[str, list[str]] = {}
    for what, found in lacking.items():
        for pattern in found:
            gaps.setdefault(pattern, []).append(what)
    most = sorted(gaps, key=lambda p: (-len(gaps[p]), ctx.label(p).casefold()))[:THINNEST]
    return tuple(f"Thin: {ctx.label(p)}, without {listing(gaps[p])}." for p in most if len(gaps[p]) > 1)


# --- where a pattern stands ------------------------------------------------------------------------------------------
def answer_filed(ctx: Context, pattern: str) -> Answer:
    """The kind that sources call a pattern, and its categories, the one that says most first, each with what puts it there."""
    from kg.answer.describe import memberships
    from kg.answer.values import answer_value
    from kg.model import Valued

    base = answer_value(ctx, pattern, (names.OF_KIND,))
    facts = ctx.reader.facts([pattern])[pattern]
    rows = [Valued(m.label, m.reason, (), ctx.label(pattern), "category") for m in memberships(ctx, facts)]
    note = "A category is defined by what its members are, have or are made for; whatever fits the definition belongs to it."
    return replace(base, values=(*(base.values or ()), *rows), notes=(note,))
