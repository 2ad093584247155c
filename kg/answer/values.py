"""Answers about one subject: recorded values, definitions, sources, disputes, categories below a category."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from kg import names
from kg.answer.context import Context
from kg.answer.filters import answer_filter, answer_group
from kg.facts import PatternFacts, Witness
from kg.language import nodes
from kg.model import Answer, Disputed, Grouped, Valued
from kg.sparql.terms import prologue, term
from kg.store import short
from kg.vocabulary import Condition, slot_of
from kg.wording import capital

LENGTH = names.LENGTH
NOT_RECORDED = "not recorded"


def answer_value(ctx: Context, subject: str, features: Sequence[str]) -> Answer:
    """What is recorded of a pattern (or of a category's members, grouped) under some features, or all."""
    if ctx.vocabulary.terms[subject].role == "category":
        return _category_values(ctx, subject, features)
    facts = ctx.reader.facts([subject])[subject]
    wanted = list(features) or _recorded_slots(ctx, facts)
    values: list[Valued] = []
    disputed: list[Disputed] = []
    for feature in wanted:
        values += value_rows(ctx, subject, feature, facts)
        disputed += ctx.disputes(subject, _slots(ctx, feature, facts), facts)
    size = facts.known.length if list(features) == [LENGTH] else None
    notes = (f"That is {in_units(size)}.",) if size else _instead(ctx, subject, features, values, facts)
    return Answer(
        "",
        "",
        "value",
        sparql=facts_query(subject, wanted),
        values=tuple(values),
        disputed=tuple(disputed),
        notes=notes,
        verified_by=ctx.verified_by,
    )


def _instead(
    ctx: Context, pattern: str, features: Sequence[str], values: Sequence[Valued], facts: PatternFacts
) -> tuple[str, ...]:
    """Where something that could be seen is asked for and nothing of it is recorded: how that end of the pattern looks."""
    known = ctx.vocabulary.features
    seen = [known[f] for f in features if f in known and not known[f].section]
    if not seen or len(seen) < len(features) or any(v.status != NOT_RECORDED for v in values):
        return ()
    from kg.answer.describe import end_described

    told = end_described(ctx, pattern, seen[0].part, facts)
    return (f"What can be seen there, as recorded: {told}",) if told else ()


def value_rows(ctx: Context, pattern: str, feature: str, facts: PatternFacts) -> list[Valued]:
    """The recorded values of one feature (``bl:length`` and ``bl:hasPart`` included); at least one row."""
    if feature == LENGTH:
        return [_length_row(ctx, pattern, facts)]
    label = ctx.label(feature)
    if feature in facts.known.inapplicable:
        part = ctx.vocabulary.features[feature].applies
        return [Valued(f"does not apply: no {ctx.label(part)}", "absent", (), ctx.label(pattern), label)]
    rows: list[Valued] = []
    for literal in exact_literals(ctx, feature, facts):
        subject, witnesses = ctx.reader.support(pattern, literal, facts)
        level = facts.levels.get(literal, "inferred")
        status = "inferred" if level in ("inferred", "derived") else "adopted"
        value = ctx.clause(literal) if feature in names.PARTS else ctx.value_label(*_slot_value(literal))
        rows.append(Valued(value, status, ctx.cite(witnesses), said_of(ctx, subject), label))
    for slot, values in facts.known.varies.items():
        if slot == feature or (feature in names.PARTS and slot not in ctx.vocabulary.features):
            for value in values:
                witnesses = varying_witnesses(ctx, pattern, facts, slot, value)
                text = ctx.value_label(slot, value)
                rows.append(Valued(text, "made with", ctx.cite(witnesses), ctx.label(pattern), label))
    if not rows:
        rows = _other_way(ctx, pattern, feature, label)
    if not rows and feature in facts.known.open_slots:
        return [Valued("disputed: no value is adopted", "disputed", (), ctx.label(pattern), label)]
    return rows or [Valued("not recorded", "not recorded", (), ctx.label(pattern), label)]


def _other_way(ctx: Context, pattern: str, feature: str, label: str) -> list[Valued]:
    """Of a relation between two patterns that is recorded of the other one: which blades are said to fit this handle."""
    if feature not in ctx.vocabulary.features or not ctx.lexicon.feature(feature).patterns:
        return []
    body = f"SELECT DISTINCT ?p WHERE {{ GRAPH graph:holds {{ ?p {term(feature)} {term(pattern)} }} }}\n"
    others = sorted({short(row[0]) for row in ctx.store.texts(prologue(body) + body)}, key=ctx.label)
    facts = ctx.reader.facts(others, [feature])
    rows = []
    for other in others:
        _, witnesses = ctx.reader.support(other, (feature, pattern), facts[other])
        rows.append(Valued(ctx.label(other), "adopted", ctx.cite(witnesses), ctx.label(other), label))
    return rows


def said_of(ctx: Context, subject: str) -> str:
    """Whom a fact was said of, for people."""
    return ctx.label(subject)  # the label of a kind says that it is one: "haemostatic forceps in general"


def exact_literals(ctx: Context, feature: str, facts: PatternFacts) -> list[Condition]:
    """The exact literals of a feature: adopted ones, or inferred ones that no adopted one explains."""
    if feature in names.PARTS:
        return sorted(lit for lit in facts.known.holds if lit[0] in names.PARTS)
    if not any(lit[0] == feature for lit in facts.known.holds):  # a part named as if it were a feature
        return sorted(lit for lit in facts.known.holds if lit[0] in names.PARTS and lit[1] == feature)
    own = [lit for lit, level in facts.levels.items() if lit[0] == feature and level != "inferred"]
    found = sorted(own or (lit for lit in facts.known.holds if lit[0] == feature))
    broader = {a for _, value in found for a in ctx.vocabulary.ancestors(value)}
    return [lit for lit in found if lit[1] not in broader]  # "vessel" beside "artery" says nothing more


def _slot_value(literal: Condition) -> tuple[str, str]:
    return (literal[1], literal[0]) if literal[0] in names.PARTS else literal


def varying_witnesses(ctx: Context, pattern: str, facts: PatternFacts, slot: str, value: str) -> list[Witness]:
    prop, wanted = (value, slot) if value in names.PARTS else (slot, value)
    for subject in ctx.reader.line(pattern, facts):
        found = [w for w in ctx.reader.witnesses(subject, prop) if w.value == wanted and w.mode != "not"]
        if found:
            return found
    return []


def _length_row(ctx: Context, pattern: str, facts: PatternFacts) -> Valued:
    if facts.known.length is None:
        return Valued("not recorded", "not recorded", (), ctx.label(pattern), "length")
    low, high = facts.known.length
    text = f"{low:g} mm" if low == high else f"{low:g} to {high:g} mm, over all sizes made"
    for subject in (pattern, *ctx.vocabulary.ancestors(pattern)):
        witnesses = ctx.reader.witnesses(subject, names.LENGTH_MIN)
        if witnesses:
            return Valued(text, "adopted", ctx.cite(witnesses), ctx.label(subject), "length")
    return Valued(text, "adopted", (), ctx.label(pattern), "length")


def _recorded_slots(ctx: Context, facts: PatternFacts) -> list[str]:
    """Features with anything recorded, in the order of a spoken description; parts first, length last."""
    found = {lit[0] for lit in facts.known.holds if lit[0] in ctx.vocabulary.features} | set(facts.known.varies)
    found |= facts.known.open_slots
    features = [f for f in ctx.vocabulary.features if f in found]
    features.sort(key=lambda f: (ctx.vocabulary.features[f].order, f))
    return [names.HAS_PART, *features, *([LENGTH] if facts.known.length else [])]


def _slots(ctx: Context, feature: str, facts: PatternFacts) -> list[str]:
    if feature in names.PARTS:
        return sorted({lit[1] for lit in facts.disputed if lit[0] in names.PARTS})
    return [feature]


def _usual_slots(ctx: Context, members: Sequence[str]) -> list[str]:
    """What can be seen and is recorded of at least half of the members, parts first, length last."""
    told: dict[str, int] = {}
    for facts in ctx.reader.facts(members).values():
        for slot in _recorded_slots(ctx, facts):
            told[slot] = told.get(slot, 0) + 1
    features = ctx.vocabulary.features
    usual = [f for f, n in told.items() if 2 * n >= len(members) and (f not in features or not features[f].section)]
    ends = {names.HAS_PART: -1, LENGTH: len(features)}
    return sorted(usual, key=lambda f: (ends.get(f, 0), features[f].order if f in features else 0, f))


def _category_values(ctx: Context, category: str, features: Sequence[str]) -> Answer:
    """The members of a category, grouped by each feature: what there is, and how often."""
    base = answer_filter(ctx, nodes.IsA(category))
    values: list[Valued] = []
    for feature in features or _usual_slots(ctx, [m.name for m in base.matches]):
        if feature == LENGTH:
            values += _member_lengths(ctx, category, [m.name for m in base.matches])
            continue
        if feature in names.PARTS or ctx.vocabulary.terms[feature].role == "part":
            values += _member_parts(ctx, category, [m.name for m in base.matches], "" if feature in names.PARTS else feature)
            continue
        grouped = answer_group(ctx, nodes.IsA(category), feature)
        said = _said_of_kind(ctx, [m.name for m in base.matches], feature)
        for group in grouped.groups or ():
            text = f"{group.value} ({group.count})"
            status = group.value if group.value in (NOT_RECORDED, "disputed") else "adopted"
            values.append(Valued(text, status, said.get(group.value, ()), ctx.label(category), ctx.label(feature)))
    return Answer("", "", "value", sparql=base.sparql, matches=base.matches, values=tuple(values), verified_by=ctx.verified_by)


def in_units(size: tuple[float, float]) -> str:
    """A length in centimetres and inches: ``12.7 to 17.8 cm, 5 to 7 in``."""

    def told(unit: float, name: str) -> str:
        one, two = (f"{v / unit:.1f}".rstrip("0").rstrip(".") for v in size)
        return f"{one} {name}" if one == two else f"{one} to {two} {name}"

    return f"{told(10, 'cm')}, {told(25.4, 'in')}"


def _member_lengths(ctx: Context, category: str, members: Sequence[str]) -> list[Valued]:
    """From the shortest to the longest size recorded of any member; and how many have none."""
    facts = ctx.reader.facts(members, [names.LENGTH_MIN])
    sizes = [record.known.length for record in facts.values() if record.known.length]
    if not sizes:
        return [Valued(NOT_RECORDED, NOT_RECORDED, (), ctx.label(category), "length")]
    least, most = min(low for low, _ in sizes), max(high for _, high in sizes)
    text = f"{least:g} to {most:g} mm ({in_units((least, most))}), over all members ({len(sizes)})"
    rows = [Valued(text, "adopted", (), ctx.label(category), "length")]
    if len(sizes) < len(members):
        rows.append(Valued(f"{NOT_RECORDED} ({len(members) - len(sizes)})", NOT_RECORDED, (), ctx.label(category), "length"))
    return rows


def _member_parts(ctx: Context, category: str, members: Sequence[str], only: str) -> list[Valued]:
    """Each part with the number of members that have it, those that all have first; parts nobody has are left out."""
    facts = ctx.reader.facts(members, names.PARTS)
    has: dict[str, int] = {}
    lacks: dict[str, int] = {}
    for record in facts.values():
        for prop, part in record.known.holds:
            if prop in names.PARTS and only in ("", part):
                counts = has if prop == names.HAS_PART else lacks
                counts[part] = counts.get(part, 0) + 1
    total, label = len(members), ctx.label(category)
    rows = []
    for part, count in sorted(has.items(), key=lambda item: (-item[1], ctx.vocabulary.terms[item[0]].order, item[0])):
        share = f"all {total}" if count == total else f"{count} of {total}"
        more = f"; {lacks[part]} without" if part in lacks else ""
        rows.append(Valued(f"{ctx.label(part)} ({share}{more})", "adopted", (), label, "parts"))
    return rows or [Valued(NOT_RECORDED, NOT_RECORDED, (), label, "parts")]


def _said_of_kind(ctx: Context, members: Sequence[str], feature: str) -> dict[str, tuple[str, ...]]:
    """Label of a value -> who says it of the kind that all members share; what is said of single members is not told here."""
    records = ctx.reader.facts(members, [names.OF_KIND])
    kinds = [{v for prop, v in record.known.holds if prop == names.OF_KIND} for record in records.values()]
    said: dict[str, list[Witness]] = {}
    for kind in sorted(set.intersection(*kinds)) if kinds else ():
        for witness in ctx.reader.witnesses(kind, feature):
            if witness.mode == "is":
                said.setdefault(ctx.label(witness.value), []).append(witness)
    return {label: ctx.cite(witnesses) for label, witnesses in said.items()}


def facts_query(subject: str, features: Iterable[str]) -> str:
    """The SPARQL that reads what holds of a pattern under the features, for showing."""
    wanted = [f for f in features if f != LENGTH]
    if LENGTH in features or not wanted:
        wanted += [names.LENGTH_MIN, names.LENGTH_MAX]
    if names.HAS_PART in wanted:
        wanted.append(names.LACKS_PART)
    listed = " ".join(term(f) for f in dict.fromkeys(wanted))
    body = (
        "SELECT ?f ?v WHERE {\n"
        f"  VALUES ?f {{ {listed} }}\n"
        f"  GRAPH graph:holds {{ {term(subject)} ?f ?v }}\n}}\nORDER BY ?f ?v\n"
    )
    return prologue(body) + body


# --- definitions ----------------------------------------------------------------------------------------------------
def answer_define(ctx: Context, name: str) -> Answer:
    """What a term means, who defines it so, what it belongs to and what is narrower."""
    entry = ctx.vocabulary.terms[name]
    sources = tuple(_source_text(ctx, s) for s in entry.sources)
    rows = [Valued(capital(entry.definition), "adopted", sources, entry.label, "definition")]
    if name in ctx.vocabulary.definitions:
        conditions = [c for c in ctx.vocabulary.definitions[name] if c != (names.TYPE, names.PATTERN)]
        text = "; ".join(ctx.clause(c) for c in conditions)
        rows.append(Valued(f"belongs here if it {text}", "adopted", (), entry.label, "membership by definition"))
    rows += [Valued(text, "adopted", (), entry.label, about) for about, text in entry.notes]
    if entry.alt:
        rows.append(Valued(", ".join(entry.alt), "adopted", (), entry.label, "also called"))
    if name in ctx.vocabulary.features:
        tops = [v for v in ctx.vocabulary.values_of(name) if not ctx.vocabulary.broader_of(v)]
        if listed := [_with_kinds(ctx, v) for v in tops]:
            rows.append(Valued("; ".join(listed), "adopted", (), entry.label, "kinds"))
    narrower = ctx.vocabulary.children.get(name, ())
    if narrower:
        what = "variants" if entry.role == "pattern" else "kinds"
        rows.append(Valued(", ".join(ctx.label(n) for n in narrower), "adopted", (), entry.label, what))
    wider = [entry.broader] if entry.broader else _nearest_above(ctx, name) if entry.role == "category" else []
    if wider:
        what = "variant of" if entry.role == "pattern" else "a kind of"
        rows.append(Valued(", ".join(map(ctx.label, wider)), "adopted", (), entry.label, what))
    body = f"SELECT ?p ?o WHERE {{ GRAPH graph:terms {{ {term(name)} ?p ?o }} }}\nORDER BY ?p ?o\n"
    return Answer("", "", "define", sparql=prologue(body) + body, values=tuple(rows), verified_by=ctx.verified_by)


def _nearest_above(ctx: Context, category: str) -> list[str]:
    """The categories above one that have none of the others below them."""
    above = ctx.above(category) - {category, names.PATTERN}
    further = {c for a in above for c in ctx.above(a) if c != a}
    return sorted(above - further, key=ctx.label)


def _with_kinds(ctx: Context, value: str) -> str:
    """A value with the narrower ones in brackets."""
    below = [_with_kinds(ctx, v) for v in ctx.vocabulary.children.get(value, ())]
    return ctx.label(value) + (f" ({', '.join(below)})" if below else "")


def answer_define_all(ctx: Context, terms: Sequence[str]) -> Answer:
    """What several terms mean, one after another."""
    found = [answer_define(ctx, term) for term in terms]
    rows = tuple(row for answer in found for row in answer.values or ())
    body = "\n".join(answer.sparql for answer in found[:1])
    return Answer("", "", "define", sparql=body, values=rows, verified_by=ctx.verified_by)


def answer_part_of(ctx: Context, part: str, subject: str) -> Answer:
    """What a part is, or what it is like, and whether this subject has it so. What it is for stands in its definition."""
    defined = answer_define(ctx, part)
    rows = [row for row in defined.values or () if row.feature in ("definition", "also called")]
    matches: tuple = ()
    feature = ctx.vocabulary.terms[part].feature
    if feature and ctx.vocabulary.terms[subject].role == "category":
        family, value = nodes.IsA(subject), nodes.Has(feature, part)
        having, every = (len(answer_filter(ctx, expr, limit=0).matches) for expr in (nodes.And((family, value)), family))
        rows.append(Valued(f"recorded of {having} of {every}", "adopted", (), ctx.label(subject), ctx.label(subject)))
    elif ctx.vocabulary.terms[part].role == "feature":
        rows += answer_value(ctx, subject, (part,)).values or ()
    elif feature:
        rows += value_rows(ctx, subject, feature, ctx.reader.facts([subject])[subject])
    elif ctx.vocabulary.terms[subject].role == "category":
        base = answer_filter(ctx, nodes.IsA(subject))
        rows += _member_parts(ctx, subject, [m.name for m in base.matches], part)
    else:
        facts = ctx.reader.facts([subject])[subject]
        if ctx.vocabulary.terms[part].role == "part":
            rows += [_part_row(ctx, subject, part, facts)]
    return Answer("", "", "part", sparql=defined.sparql, matches=matches, values=tuple(rows), verified_by=ctx.verified_by)


def _part_row(ctx: Context, pattern: str, part: str, facts: PatternFacts) -> Valued:
    """Whether a pattern has a part, with those who say so."""
    for prop, text in ((names.HAS_PART, "has it"), (names.LACKS_PART, "does not have it")):
        if (prop, part) in facts.known.holds:
            _, witnesses = ctx.reader.support(pattern, (prop, part), facts)
            level = facts.levels.get((prop, part), "inferred")
            status = "inferred" if level in ("inferred", "derived") else "adopted"
            return Valued(text, status, ctx.cite(witnesses), ctx.label(pattern), ctx.label(pattern))
    if len(facts.known.varies.get(part, ())) > 1:
        return Valued("made with and without", "made with", (), ctx.label(pattern), ctx.label(pattern))
    return Valued(NOT_RECORDED, NOT_RECORDED, (), ctx.label(pattern), ctx.label(pattern))


def _source_text(ctx: Context, name: str) -> str:
    if not name.startswith("src:"):
        return name
    return ctx.label(name)


# --- categories below a category -------------------------------------------------------------------------------------
def answer_classify(ctx: Context, category: str) -> Answer:
    """The members of a category, grouped by the defined categories that lie below it."""
    answer = answer_filter(ctx, nodes.IsA(category))
    facts = ctx.reader.facts([m.name for m in answer.matches], [names.TYPE, names.OF_KIND])
    labels = {m.name: m.label for m in answer.matches}
    below = [c for c in ctx.vocabulary.definitions if c != category and category in ctx.above(c)]
    members = {c: {p for p, f in facts.items() if (names.TYPE, c) in f.known.holds} for c in below}
    groups = [
        Grouped(ctx.label(c), len(members[c]), tuple(sorted((labels[p] for p in members[c]), key=str.casefold)))
        for c in sorted(below, key=lambda c: (-len(members[c]), ctx.label(c)))
    ]
    alone = set(labels) - {p for found in members.values() for p in found}
    kinds = {k for p in alone for f, k in facts[p].known.holds if f == names.OF_KIND} if alone else set()
    for kind in sorted(kinds, key=ctx.label):  # of what no category takes in, what sources call it
        called = {p for p in alone if (names.OF_KIND, kind) in facts[p].known.holds}
        narrower = [k for k in kinds if k != kind and kind in ctx.vocabulary.ancestors(k)]
        own = called - {p for p in called for k in narrower if (names.OF_KIND, k) in facts[p].known.holds}
        if own and len(kinds) > 1:
            groups.append(Grouped(ctx.label(kind), len(own), tuple(sorted((labels[p] for p in own), key=str.casefold))))
            alone = alone - own
    if alone and groups:
        groups.append(Grouped("in none of these", len(alone), tuple(sorted(labels[p] for p in alone))))
    return Answer(
        "",
        "",
        "classify",
        sparql=answer.sparql,
        matches=answer.matches,
        possible_count=answer.possible_count,
        possible=answer.possible,
        disputed=answer.disputed,
        groups=tuple(groups),
        verified_by=ctx.verified_by,
    )


# --- sources and disputes --------------------------------------------------------------------------------------------
def answer_sources(ctx: Context, subject: str, features: Sequence[str]) -> Answer:
    """Who says what of a pattern, statement by statement, adopted or not."""
    facts = ctx.reader.facts([subject])[subject]
    wanted = list(features) or _recorded_slots(ctx, facts)
    rows: list[Valued] = []
    disputed: list[Disputed] = []
    for feature in wanted:
        rows += _statement_rows(ctx, subject, feature, facts)
        disputed += ctx.disputes(subject, _slots(ctx, feature, facts), facts)
    if not rows:
        rows = [Valued("not recorded", "not recorded", (), ctx.label(subject), "")]
    return Answer(
        "",
        "",
        "sources",
        sparql=facts_query(subject, wanted),
        values=tuple(rows),
        disputed=tuple(disputed),
        verified_by=ctx.verified_by,
    )


def _statement_rows(ctx: Context, pattern: str, feature: str, facts: PatternFacts) -> list[Valued]:
    part = "" if feature in ctx.vocabulary.features or feature in (*names.PARTS, LENGTH) else feature
    props = {LENGTH: (names.LENGTH_MIN,), names.HAS_PART: names.PARTS}.get(feature, names.PARTS if part else (feature,))
    rows: list[Valued] = []
    for subject in ctx.reader.line(pattern, facts):
        for prop in props:
            said: dict[tuple[str, str], list[Witness]] = {}
            for w in ctx.reader.witnesses(subject, prop):
                if not part or w.value == part:
                    said.setdefault((w.mode, w.value), []).append(w)
            for (mode, value), witnesses in sorted(said.items()):
                text = f"from {value} mm" if prop == names.LENGTH_MIN else ctx.clause((prop, value))
                text = {"some": "some: ", "not": "denied: "}.get(mode, "") + text
                status = "adopted" if (prop, value) in facts.known.holds or mode != "is" else "disputed"
                if prop == names.LENGTH_MIN:
                    status = "adopted"
                rows.append(Valued(text, status, ctx.cite(witnesses), said_of(ctx, subject), ctx.label(feature)))
    return rows


def answer_disputes(ctx: Context, expr: nodes.Expr, features: tuple[str, ...] = ()) -> Answer:
    """All disputes of the patterns that fit (or could fit) a description, both sides with their witnesses; ``features``: only
    those on these features and, for ``bl:hasPart``, on parts."""
    body = (
        "SELECT DISTINCT ?p WHERE {\n"
        "  VALUES ?g { graph:disputed graph:contested graph:open }\n  GRAPH ?g { ?p ?f ?v }\n}\nORDER BY ?p\n"
    )
    query = prologue(body) + body
    if ctx.columns is None:
        patterns = [r["p"].short for r in ctx.store.select(query)]
    else:
        said = ctx.columns.within("graph:disputed", "graph:contested", "graph:open")
        patterns = sorted({p for _, places in said for p in ctx.columns.named(places)})
    if not isinstance(expr, nodes.Everything):
        scope = answer_filter(ctx, expr, limit=10_000)
        within = {m.name for m in scope.matches} | {p.name for p in scope.possible} | {d.name for d in scope.disputed}
        patterns = [p for p in patterns if p in within]
    facts = ctx.reader.facts(patterns)
    slots = {p: sorted(s for s in disputed_slots(facts[p]) if _asked_slot(ctx, s, features)) for p in patterns}
    ctx.reader.foresee(name for p in patterns if slots[p] for name in ctx.reader.line(p, facts[p]))
    disputed: list[Disputed] = []
    for pattern in sorted(patterns, key=lambda p: ctx.label(p).casefold()):
        disputed += ctx.disputes(pattern, slots[pattern], facts[pattern])
    return Answer("", "", "disputes", sparql=query, disputed=tuple(disputed), verified_by=ctx.verified_by)


def _asked_slot(ctx: Context, slot: str, features: tuple[str, ...]) -> bool:
    return not features or slot in features or (slot not in ctx.vocabulary.features and names.HAS_PART in features)


def disputed_slots(facts: PatternFacts) -> set[str]:
    """The features and parts on which witnesses of a pattern disagree."""
    return {slot_of(lit) for lit in (*facts.disputed, *facts.contested)}
