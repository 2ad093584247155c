"""A pattern as one describes it aloud: parts from the hand to the tip, then name, use, where not, handling, reprocessing.

Every fact becomes one ``Spoken`` record with its witnesses; the same facts, joined into sentences, make the spoken text.
What comes where is said by annotations: a part's and a feature's place, and the section a feature is spoken under.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from kg import names
from kg.answer.context import Context
from kg.answer.region import WORKING_END, end_of, nothing_of, parts_of
from kg.answer.spoken import Clause, had, noun, part_noun, predicate, sentence, value_clause, varying_clause
from kg.answer.values import disputed_slots, exact_literals, facts_query, varying_witnesses
from kg.columns import Columns
from kg.facts import PatternFacts
from kg.model import Answer, Description, Disputed, Membership, Spoken
from kg.records import Record, record
from kg.sparql.terms import prologue, term, values
from kg.vocabulary import SECTIONS, Condition, Feature
from kg.wording import article, is_plural, listing, plural

_DECIDES = "Local policy and the maker's instructions decide."


def answer_describe(ctx: Context, pattern: str, parts: Sequence[str] = ()) -> Answer:
    """Describes a pattern, or only some of its parts. Never empty: what is not recorded is said to be so."""
    facts = ctx.reader.facts([pattern])[pattern]
    ctx.reader.foresee(ctx.reader.line(pattern, facts))
    description = _parts_described(ctx, pattern, parts, facts) if parts else _describe(ctx, pattern, facts)
    return Answer(
        "",
        "",
        "describe",
        sparql=facts_query(pattern, []),
        description=description,
        disputed=description.disputes,
        verified_by=ctx.verified_by,
    )


def appearance_without(ctx: Context, pattern: str, slots: Collection[str]) -> str:
    """How a pattern looks, as it is described aloud, with nothing said of some parts and features. May be empty."""
    facts = ctx.reader.facts([pattern])[pattern]
    said = [s for slot in _slots(ctx, facts) if slot not in slots for s in _of_slot(ctx, pattern, slot, facts)]
    return " ".join(s for s in _appearance(ctx, facts, [s.slot for s in said]) if s)


def end_described(ctx: Context, pattern: str, part: str, facts: PatternFacts) -> str:
    """How the end of a pattern looks that a part belongs to; with no part, the working end. Empty if nothing is recorded."""
    slots = _seen(ctx, facts)
    wanted = end_of(ctx.vocabulary, part, slots, _lacked(facts))
    said = [s.slot for slot in slots if slot in wanted for s in _of_slot(ctx, pattern, slot, facts)]
    return " ".join(s for s in _appearance(ctx, facts, said) if s)


# --- what is known --------------------------------------------------------------------------------------------------
@record
class _Said(Record):
    """A fact on its way: its slot (feature or part), the clause that speaks it, its record."""

    slot: str
    clause: Clause
    record: Spoken


@record
class Brief(Record):
    """Sentences: how it looks, what it is made for (may be empty), where it is not used; ``slots`` are what they speak of."""

    appearance: tuple[str, ...]
    purpose: str
    denied: tuple[str, ...]
    slots: tuple[str, ...]


def _describe(ctx: Context, pattern: str, facts: PatternFacts) -> Description:
    entry = ctx.vocabulary.terms[pattern]
    said = [s for slot in _slots(ctx, facts) for s in _of_slot(ctx, pattern, slot, facts)]
    found = ((s, ctx.dispute(pattern, s, facts)) for s in sorted(disputed_slots(facts), key=lambda s: _place(ctx, s)))
    disputes = [(slot, dispute) for slot, dispute in found if dispute]
    missing = _missing(ctx, facts, {s.slot for s in said})
    belongs = memberships(ctx, facts)

    def section(name: str, denied: bool = False) -> tuple[Spoken, ...]:
        return tuple(s.record for s in said if _section(ctx, s.slot) == name and _denies(ctx, s.slot) is denied)

    variants = tuple(ctx.label(v) for v in ctx.vocabulary.children.get(pattern, ()))
    aloud = {
        "appearance": _appearance(ctx, facts, [s.slot for s in said]),
        "name": _naming(ctx, pattern, variants),
        "use": _use(ctx, facts, belongs),
        **{name: [sentence("it", _clauses(ctx, facts, name))] for name in ("handling", "pieces", "make")},
        "reprocessing": _reprocessing(_clauses(ctx, facts, "reprocessing")),
        "not recorded": [_open(ctx, missing)],
        "disputes": [_contested(ctx, slot, facts) or said_of_dispute(d) for slot, d in disputes],
    }
    return Description(
        name=pattern,
        label=entry.label,
        also_called=entry.alt,
        variant_of=ctx.label(entry.broader) if entry.broader else "",
        variants=variants,
        parts=section("")
        + tuple(Spoken(ctx.part_label(m), "is not recorded", "not recorded", feature=ctx.label(m)) for m in missing),
        categories=belongs,
        use=section("use"),
        not_used_on=section("use", True),
        handling=section("handling"),
        pieces=section("pieces"),
        make=section("make"),
        reprocessing=section("reprocessing"),
        standards=section("standards"),
        not_recorded=tuple(ctx.label(m) for m in missing),
        disputes=tuple(d for _, d in disputes),
        passages=tuple((about, text) for about, found in aloud.items() if (text := " ".join(s for s in found if s))),
    )


def _parts_described(ctx: Context, pattern: str, parts: Sequence[str], facts: PatternFacts) -> Description:
    """How some parts look. Of a part on which nothing is recorded the whole side that it belongs to is described."""
    slots = _seen(ctx, facts)
    wanted, bare = parts_of(ctx.vocabulary, parts, slots, _lacked(facts))
    said = [s for slot in slots if slot in wanted for s in _of_slot(ctx, pattern, slot, facts)]
    open_slots = sorted(disputed_slots(facts) & wanted, key=lambda s: _place(ctx, s))
    disputes = [d for s in open_slots if (d := ctx.dispute(pattern, s, facts))]
    aloud = {
        "not recorded": [nothing_of(ctx.vocabulary, bare, ctx.label, rest=bool(said))],
        "appearance": _appearance(ctx, facts, [s.slot for s in said]),
        "disputes": [said_of_dispute(d) for d in disputes],
    }
    entry = ctx.vocabulary.terms[pattern]
    return Description(
        name=pattern,
        label=entry.label,
        also_called=entry.alt,
        variant_of=ctx.label(entry.broader) if entry.broader else "",
        variants=(),
        parts=tuple(s.record for s in said),
        categories=(),
        use=(),
        not_used_on=(),
        handling=(),
        pieces=(),
        make=(),
        reprocessing=(),
        standards=(),
        not_recorded=tuple(ctx.label(p) for p in bare),
        disputes=tuple(disputes),
        passages=tuple((about, text) for about, found in aloud.items() if (text := " ".join(s for s in found if s))),
    )


def _slots(ctx: Context, facts: PatternFacts) -> list[str]:
    """Parts and features on which something is recorded, in the order in which they are spoken."""
    known = facts.known
    found = {v if f in names.PARTS else f for f, v in known.holds} | set(known.varies)
    wanted = {s for s in found if s in ctx.vocabulary.features or _is_part(ctx, s)}
    wanted -= {names.OF_KIND, names.SIZE_CLASS} | set(known.inapplicable)
    return sorted(wanted, key=lambda s: _place(ctx, s)) + ([names.LENGTH] if known.length else [])


def _seen(ctx: Context, facts: PatternFacts) -> list[str]:
    """Those of these parts and features that can be seen, the length left out."""
    return [s for s in _slots(ctx, facts) if not _section(ctx, s) and s != names.LENGTH]


def _place(ctx: Context, slot: str) -> tuple[int, int, str]:
    """Parts by their place, each followed by its features; features of the whole instrument by their own."""
    feature = ctx.vocabulary.features.get(slot)
    if feature is None:
        return (ctx.vocabulary.terms[slot].order if slot in ctx.vocabulary.terms else 99), 0, slot
    part = ctx.vocabulary.terms.get(feature.part)
    return (part.order if part else max(feature.order, 70)), feature.order, slot


def _is_part(ctx: Context, slot: str) -> bool:
    return slot in ctx.vocabulary.terms and ctx.vocabulary.terms[slot].role == "part"


def _of_slot(ctx: Context, pattern: str, slot: str, facts: PatternFacts) -> list[_Said]:
    """Every fact on one slot, one record for each value."""
    vocabulary, known = ctx.vocabulary, facts.known
    if slot == names.LENGTH:
        low, high = known.length or (0, 0)
        text = f"is {low:g} mm long" if low == high else f"is made in lengths from {low:g} to {high:g} mm"
        return [_Said(slot, _plain(text), _record(ctx, pattern, slot, text, facts, (names.LENGTH_MIN, "")))]
    feature = vocabulary.features.get(slot)
    out = []
    if slot in known.varies:
        for value in known.varies[slot]:
            literal = (slot, value) if feature else (value, slot)
            witnesses = ctx.cite(varying_witnesses(ctx, pattern, facts, slot, value))
            clause = value_clause(feature, [value], vocabulary) if feature else _part_clause(ctx, literal, facts)
            text = f"{clause} (some pieces)"
            record = Spoken(ctx.part_label(slot), text, "made with", witnesses, "", ctx.label(slot), literal)
            out.append(_Said(slot, clause, record))
        return out
    for literal in exact_literals(ctx, slot, facts):
        clause = value_clause(feature, [literal[1]], vocabulary) if feature else _part_clause(ctx, literal, facts)
        out.append(_Said(slot, clause, _record(ctx, pattern, slot, str(clause), facts, literal)))
    return out


def _plain(text: str) -> Clause:
    return Clause("is", text[3:]) if text.startswith("is ") else Clause("other", text)


def _part_clause(ctx: Context, literal: Condition, facts: PatternFacts) -> Clause:
    prop, part = literal
    if prop == names.LACKS_PART:
        return Clause("lacks", ctx.label(part))
    return Clause("has", part_noun(part, _held(facts), ctx.vocabulary))


def _held(facts: PatternFacts) -> set[str]:
    return {v for f, v in facts.known.holds if f == names.HAS_PART}


def _lacked(facts: PatternFacts) -> set[str]:
    return {v for f, v in facts.known.holds if f == names.LACKS_PART}


def _record(ctx: Context, pattern: str, slot: str, text: str, facts: PatternFacts, literal: Condition) -> Spoken:
    if slot == names.LENGTH:
        line = (pattern, *ctx.vocabulary.ancestors(pattern))
        subject, witnesses = next(((s, w) for s in line if (w := ctx.reader.witnesses(s, literal[0]))), (pattern, ()))
        status = "adopted"
    else:
        subject, witnesses = ctx.reader.support(pattern, literal, facts)
        status = "inferred" if facts.levels.get(literal, "inferred") in ("inferred", "derived") else "adopted"
        status = "absent" if literal[0] == names.LACKS_PART else status
        status = "disputed" if literal[1] in _disputed_values(ctx, slot, facts) else status
    return Spoken(
        ctx.part_label(slot),
        text,
        status,
        ctx.cite(witnesses),
        "" if subject == pattern else ctx.label(subject),
        ctx.label(slot),
        (slot, "") if slot == names.LENGTH else literal,
    )


def _section(ctx: Context, slot: str) -> str:
    feature = ctx.vocabulary.features.get(slot)
    return feature.section if feature and feature.section in SECTIONS else ""


def _denies(ctx: Context, slot: str) -> bool:
    feature = ctx.vocabulary.features.get(slot)
    return bool(feature and feature.denies)


# --- how it looks ---------------------------------------------------------------------------------------------------
def _appearance(ctx: Context, facts: PatternFacts, said: Sequence[str]) -> list[str]:
    """Sentences on parts and what can be seen: the hand's side in one sentence, then part by part, then the whole.

    ``said``: the slots on which something is recorded; those that cannot be seen are passed over.
    """
    groups: dict[str, list[str]] = {}
    for slot in dict.fromkeys(s for s in said if not _section(ctx, s)):
        feature = ctx.vocabulary.features.get(slot)
        part = feature.part if feature else "" if slot == names.LENGTH else slot
        groups.setdefault(part, []).append(slot)
    whole = groups.pop("", [])
    order = {p: ctx.vocabulary.terms[p].order for p in groups}
    hand = [_part(ctx, p, slots, facts) for p, slots in groups.items() if order[p] < WORKING_END]
    end = [_part(ctx, p, slots, facts) for p, slots in groups.items() if order[p] >= WORKING_END]
    out = [sentence("it", [c for clauses, _ in hand for c in clauses]), *(s for _, more in hand for s in more)]
    plain: list[Clause] = []
    for clauses, more in end:
        here = [c for c in clauses if c.verb != "lacks"]
        if more or any(c.verb == "other" or " with " in c.text for c in here):
            out += [sentence("it", plain), sentence("it", here), *more]
            plain = []
        else:
            plain += here
    out += [sentence("it", plain), sentence("it", [c for clauses, _ in end for c in clauses if c.verb == "lacks"])]
    return [*(s for s in out if s), sentence("it", [c for slot in whole for c in _spoken(ctx, slot, facts)])]


def _part(ctx: Context, part: str, slots: Sequence[str], facts: PatternFacts) -> tuple[list[Clause], list[str]]:
    """(clauses about the instrument, sentences about the part) for one part and the features that describe it."""
    held = _held(facts)
    head = part_noun(part, held, ctx.vocabulary) if part in held else ""
    attributes: list[str] = []
    being: list[Clause] = []
    clauses: list[Clause] = []
    for slot in slots:
        if slot == part:
            if (names.LACKS_PART, part) in facts.known.holds:
                clauses.append(Clause("lacks", ctx.label(part)))
            elif part in facts.known.varies:
                clauses.append(Clause("other", f"is made with or without {part_noun(part, held, ctx.vocabulary)}"))
            continue
        for clause in _spoken(ctx, slot, facts):
            if clause.verb == "has":
                attributes.append(clause.text)
            elif clause.verb == "lacks":
                attributes.append(f"no {clause.text}")
            elif clause.text.startswith(("is made with", "is sometimes made with")):
                clauses.append(clause)
            else:
                being.append(clause)
    label = _part_label(ctx, part, held)
    if head and not attributes and any(label.split()[-1] in c.text.split() for c in clauses):
        head = ""  # "is made with serrated jaws or with smooth jaws" says that there are jaws
    if not head:
        clauses += [Clause("lacks", t[3:]) for t in attributes if t.startswith("no ")]
        attributes = [t for t in attributes if not t.startswith("no ")]
    if head or attributes:
        clauses.insert(0, Clause("has", had(head, attributes)))
    two = ctx.vocabulary.terms[part].paired in held
    subject, many = (f"the {label}", two or is_plural(label)) if part in held else ("it", False)
    return clauses, [sentence(subject, being, many=many)] if being else []


def _part_label(ctx: Context, part: str, held: set[str]) -> str:
    entry = ctx.vocabulary.terms[part]
    return plural(entry.label, entry.plural) if entry.paired in held else entry.label


def _spoken(ctx: Context, slot: str, facts: PatternFacts) -> list[Clause]:
    """The clauses of one feature: one for each thing had, one for all that it is."""
    if slot == names.LENGTH:
        low, high = facts.known.length or (0, 0)
        return [_plain(f"is {low:g} mm long" if low == high else f"is made in lengths from {low:g} to {high:g} mm")]
    feature = ctx.vocabulary.features[slot]
    if slot in facts.known.varies:
        return [varying_clause(feature, facts.known.varies[slot], ctx.vocabulary)]
    disputed = _disputed_values(ctx, slot, facts)  # they have a sentence of their own
    found = [v for _, v in exact_literals(ctx, slot, facts) if v not in disputed]
    found.sort(key=lambda v: noun(v, ctx.vocabulary, bare=True))
    if not found:
        return []
    together = value_clause(feature, found, ctx.vocabulary)
    if together.verb in ("has", "lacks") and len(found) > 1:
        return [value_clause(feature, [v], ctx.vocabulary) for v in found]
    return [together]


def _disputed_values(ctx: Context, slot: str, facts: PatternFacts) -> set[str]:
    """Of a feature with many values: those that some witness states and another denies, and the same on its denial."""
    feature = ctx.vocabulary.features.get(slot)
    if feature is None or feature.single:
        return set()
    return {v for f, v in facts.contested if f in (slot, feature.denies)}


def _clauses(ctx: Context, facts: PatternFacts, section: str) -> list[Clause]:
    return [c for slot in _slots(ctx, facts) if _section(ctx, slot) == section for c in _spoken(ctx, slot, facts)]


# --- in short -------------------------------------------------------------------------------------------------------
def in_short(ctx: Context, facts: PatternFacts) -> Brief:
    """What one says of a pattern in a few sentences; no witnesses are read. Parts that it lacks are left out."""
    lacked = _lacked(facts)
    slots = [s for s in _slots(ctx, facts) if s not in lacked]
    slots = [s for s in slots if s == names.LENGTH or s in facts.known.varies or exact_literals(ctx, s, facts)]
    use = sorted((s for s in slots if _section(ctx, s) == "use"), key=lambda s: _order(ctx, s))
    main = [s for s in use[:1] if ctx.vocabulary.features[s].single]
    return Brief(
        appearance=tuple(s for s in _appearance(ctx, facts, slots) if s),
        purpose=sentence("it", [c for s in main for c in _spoken(ctx, s, facts)]),
        denied=tuple(t for s in use if _denies(ctx, s) if (t := sentence("it", _spoken(ctx, s, facts)))),
        slots=tuple(s for s in slots if not _section(ctx, s) or s in main or _denies(ctx, s)),
    )


# --- name, categories, use ------------------------------------------------------------------------------------------
def _naming(ctx: Context, pattern: str, variants: Sequence[str]) -> list[str]:
    entry = ctx.vocabulary.terms[pattern]
    called = f", also called {listing(entry.alt)}" if entry.alt else ""
    out = [f"This is {the(entry.label)}{called}."]
    if entry.broader:
        out.append(f"It is a variant of {the(ctx.label(entry.broader))}.")
    if variants:
        out.append(
            f"Its variants are {listing(the(v) for v in variants)}."
            if len(variants) > 1
            else f"Its variant is {the(variants[0])}."
        )
    return out


def the(label: str) -> str:
    """A name with its article; a name that ends in a number is a proper name ("blade no. 10")."""
    return label if label.split()[-1].isdecimal() else f"the {label}"


def memberships(ctx: Context, facts: PatternFacts) -> tuple[Membership, ...]:
    """The categories of a pattern, the narrowest first, each with why."""
    held = [v for f, v in sorted(facts.known.holds) if f == names.TYPE and v in ctx.vocabulary.definitions]
    held.sort(key=lambda c: (-_weight(ctx, c), ctx.label(c)))
    return tuple(Membership(c, ctx.label(c), f"because it {_because(_reasons(ctx, c, facts))}") for c in held)


def _because(reasons: Sequence[Clause]) -> str:
    """ "is a clamp and is non-crushing": each category with a verb of its own, then the rest as one predicate"""
    kinds = [str(c) for c in reasons if c.verb == "kind"]
    return listing([*kinds, *([rest] if (rest := predicate([c for c in reasons if c.verb != "kind"])) else [])])


def _weight(ctx: Context, category: str) -> int:
    """How much a category says: purpose counts, then the number of conditions, those of its own categories included."""
    conditions = _all_conditions(ctx, category)
    return 100 * _is_use(ctx, conditions) + len(conditions)


def _all_conditions(ctx: Context, category: str, seen: frozenset[str] = frozenset()) -> list[Condition]:
    out: list[Condition] = []
    for prop, value in ctx.vocabulary.definitions.get(category, ()):
        if prop == names.TYPE and value in ctx.vocabulary.definitions and value not in seen:
            out += _all_conditions(ctx, value, seen | {category})
        elif prop != names.TYPE:
            out.append((prop, value))
    return out


def _is_use(ctx: Context, conditions: Iterable[Condition]) -> bool:
    return any(_section(ctx, prop) == "use" for prop, _ in conditions)


def _reasons(ctx: Context, category: str, facts: PatternFacts) -> list[Clause]:
    """The conditions of a category as they are met here: a narrower value that is recorded stands for the broader one."""
    kinds: list[Clause] = []
    clauses: list[Clause] = []
    for prop, value in ctx.vocabulary.definitions[category]:
        feature = ctx.vocabulary.features.get(prop)
        if prop == names.TYPE and value != names.PATTERN:
            kinds.append(Clause("kind", f"is {article(ctx.label(value))}"))
        elif prop in names.PARTS:
            clauses.append(_part_clause(ctx, (prop, value), facts))
        elif feature is not None:
            narrow = [v for f, v in facts.known.holds if f == prop and v in ctx.vocabulary.subtree(value)]
            narrow.sort(key=lambda v: (-len(ctx.vocabulary.ancestors(v)), v))
            clauses.append(value_clause(feature, narrow[:1] or [value], ctx.vocabulary))
    return kinds + clauses


def _use(ctx: Context, facts: PatternFacts, memberships: Sequence[Membership]) -> list[str]:
    """What it is for and what that makes it, on what, in what, what it does to tissue; where it must not be used last."""
    found = [s for s in _slots(ctx, facts) if _section(ctx, s) == "use"]
    found.sort(key=lambda s: (_denies(ctx, s), _order(ctx, s)))
    main = [c for s in found[:1] if ctx.vocabulary.features[s].single for c in _spoken(ctx, s, facts)]
    out = _belonging(ctx, facts, memberships, main)
    if not found:
        return [*out, "What it is used for is not recorded."]
    rest = found[1:] if main else found
    brief = [c for s in rest if ctx.vocabulary.features[s].single for c in _spoken(ctx, s, facts)]
    several: dict[str, list[Clause]] = {}
    for slot in rest:
        if not ctx.vocabulary.features[slot].single and not _denies(ctx, slot):
            lead = ctx.vocabulary.features[slot].phrase.partition("{")[0]
            several.setdefault(lead, []).extend(_spoken(ctx, slot, facts))
    denied = [sentence("it", _spoken(ctx, s, facts)) for s in rest if _denies(ctx, s)]
    return [*out, *(_joined(lead, clauses) for lead, clauses in several.items()), sentence("it", brief), *denied]


def _belonging(ctx: Context, facts: PatternFacts, memberships: Sequence[Membership], main: Sequence[Clause]) -> list[str]:
    """The main purpose with the categories that follow from it alone, then the narrower ones, each with why.

    A category that another one named here implies is left out, and so is one whose only condition is said anyway.
    """
    use = [m for m in memberships if _is_use(ctx, _all_conditions(ctx, m.name))]
    above = {value for m in use for value in ctx.above(m.name)}
    simple, others = [], []
    for m in use:
        reasons = _reasons(ctx, m.name, facts)
        if reasons == list(main):
            simple += [m] if m.name not in above else []
        elif len(reasons) > 1 and m.name not in above:
            others.append(m)
    purpose = sentence("it", main)
    if purpose and simple:
        purpose = f"{purpose[:-1]}, which makes it {listing(article(m.label) for m in simple)}."
    first = "It is also" if simple else "It is"
    return [
        s
        for s in (
            purpose,
            *(f"{first if not i else 'It is also'} {article(m.label)}, {m.reason}." for i, m in enumerate(others)),
        )
        if s
    ]


def _joined(lead: str, clauses: Sequence[Clause]) -> str:
    """Clauses of features with the same wording as one: "is used in hysterectomy, and in gynaecology"."""
    texts = [str(c) for c in clauses]
    if len(texts) > 1 and all(t.startswith(lead) for t in texts):
        link = lead.strip().split()[-1]
        return f"It {texts[0]}, and {link} {listing(t.removeprefix(lead) for t in texts[1:])}."
    return sentence("it", clauses)


def _order(ctx: Context, slot: str) -> int:
    return ctx.vocabulary.features[slot].order


def _reprocessing(clauses: Sequence[Clause]) -> list[str]:
    return [sentence("it", clauses) or "How it is reprocessed is not recorded.", _DECIDES]


# --- what is open ---------------------------------------------------------------------------------------------------
def _missing(ctx: Context, facts: PatternFacts, said: set[str]) -> list[str]:
    """Parts and visible single-valued features not recorded here, though recorded of at least half of the kind."""
    kinds = [v for f, v in facts.known.holds if f == names.OF_KIND]
    if not kinds:
        return []
    kind = ctx.vocabulary.narrowest(kinds)
    total, counts = _usual(ctx, kind)
    out = []
    for slot, count in counts.items():
        feature = ctx.vocabulary.features.get(slot)
        visible = _is_part(ctx, slot) if feature is None else feature.single and not feature.section
        if visible and slot not in said and count * 2 >= total and slot != names.OF_KIND and _could_apply(feature, facts):
            out.append(slot)
    return sorted(out, key=lambda s: _place(ctx, s))


def _could_apply(feature: Feature | None, facts: PatternFacts) -> bool:
    if feature is None:
        return True
    return (
        feature.name not in facts.known.inapplicable
        and (names.LACKS_PART, feature.applies or feature.part) not in facts.known.holds
    )


def _usual(ctx: Context, kind: str) -> tuple[int, Mapping[str, int]]:
    """(number of patterns of a kind, slot -> for how many of them it is recorded); remembered."""
    if kind not in ctx.usual:
        ctx.usual[kind] = _asked_usual(ctx, kind) if ctx.columns is None else _kept_usual(ctx.columns, kind)
    return ctx.usual[kind]


def _kept_usual(columns: Columns, kind: str) -> tuple[int, Mapping[str, int]]:
    facts = (f for f in columns.facts(names.OF_KIND) if f[0] == ("graph:holds", names.OF_KIND, kind))
    members = [place for _, places in facts for place in places]
    counts: dict[str, int] = {}
    for place in members:
        said = [row for row in columns.whole(place) if row[0] == "graph:holds"]
        for slot in {row[1] for row in said} | {row[2] for row in said if row[1] in names.PARTS}:
            counts[slot] = counts.get(slot, 0) + 1
    return len(members), {slot: counts[slot] for slot in sorted(counts, key=names.expand)}


def _asked_usual(ctx: Context, kind: str) -> tuple[int, Mapping[str, int]]:
    member = f"GRAPH graph:holds {{ ?p {term(names.OF_KIND)} {term(kind)} }}"
    body = f"SELECT (COUNT(DISTINCT ?p) AS ?n) WHERE {{ {member} }}"
    total = next(iter(ctx.store.select(prologue(body) + body)))["n"].value
    parts = values("f", list(names.PARTS))
    body = (
        f"SELECT ?s (COUNT(DISTINCT ?p) AS ?n) WHERE {{ {member} {{ GRAPH graph:holds {{ ?p ?s ?v }} }} UNION "
        f"{{ {parts} GRAPH graph:holds {{ ?p ?f ?s }} }} }} GROUP BY ?s ORDER BY ?s"
    )
    counts = {r["s"].short: int(r["n"].value) for r in ctx.store.select(prologue(body) + body)}
    return int(total), counts


def _open(ctx: Context, missing: Sequence[str]) -> str:
    if not missing:
        return ""
    texts = [
        f"whether it has {part_noun(m, (), ctx.vocabulary)}" if _is_part(ctx, m) else f"the {ctx.label(m)}" for m in missing
    ]
    return f"Not recorded: {listing(sorted(texts, key=lambda t: t.startswith('whether')))}."


def _contested(ctx: Context, slot: str, facts: PatternFacts) -> str:
    """A dispute on a feature with many values: what some sources say and others deny; empty for any other slot."""
    feature = ctx.vocabulary.features.get(slot)
    if feature is None or feature.single:
        return ""
    found = sorted({v for f, v in (*facts.contested, *facts.disputed) if f == slot}, key=ctx.label)
    return f"Some sources say, and others deny, that it {value_clause(feature, found, ctx.vocabulary)}."


def said_of_dispute(dispute: Disputed) -> str:
    """A dispute as a sentence, with all sides."""
    also = listing(dict.fromkeys(q.value for q in dispute.also_said))
    if not dispute.adopted.value:
        return f"The sources do not settle the {dispute.feature}; said, but not adopted: {also}."
    return f"The sources disagree on the {dispute.feature}; adopted: {dispute.adopted.value}; also said: {also}."
