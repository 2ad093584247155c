"""What construction and use ask of reprocessing, line by line with the fact behind each line and its source.

The rules are data (``ontology/reprocessing.toml``); nothing here knows a part, a value or an instrument.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from kg import names
from kg.answer.context import Context
from kg.answer.filters import answer_filter
from kg.answer.values import NOT_RECORDED, answer_value, disputed_slots, facts_query, value_rows
from kg.facts import PatternFacts
from kg.language import nodes
from kg.model import Answer, Care, Valued
from kg.truth import evaluate, normalise
from kg.vocabulary import Condition
from kg.wording import listing

CAUTION = (
    "This is general, for study. The maker's validated instructions for the piece, local policy and the sterile services "
    "department decide how it is reprocessed."
)
SOME_PIECES = "some pieces"


def answer_reprocessing(ctx: Context, subject: str) -> Answer:
    """The lines of a pattern, or those of a category's members together."""
    table = ctx.tables.get("reprocessing", {})
    rules = table.get("rule", ())
    if ctx.vocabulary.terms[subject].role == "category":
        return _of_category(ctx, subject, rules, table.get("show", ()))
    facts = ctx.reader.facts([subject])[subject]
    care = [line for _, line in _spoken(ctx, rules, subject, facts)]
    values: list[Valued] = []
    for feature in table.get("show", ()):
        values += [v for v in value_rows(ctx, subject, feature, facts) if v.status != NOT_RECORDED]
    disputed = ctx.disputes(subject, sorted(disputed_slots(facts) & set(table.get("disputes", ()))), facts)
    return Answer(
        "",
        "",
        "reprocessing",
        sparql=facts_query(subject, _properties(rules, table)),
        care=tuple(care),
        values=tuple(values),
        disputed=tuple(disputed),
        notes=(CAUTION, *([] if _ended(care, rules) else _undecided(ctx, rules, facts))),
        verified_by=ctx.verified_by,
    )


def _of_category(ctx: Context, category: str, rules: Sequence[Mapping[str, Any]], show: Sequence[str]) -> Answer:
    """Every line that some member has, with the members that have it."""
    base = answer_filter(ctx, nodes.IsA(category))
    records = ctx.reader.facts([m.name for m in base.matches])
    labels = {m.name: m.label for m in base.matches}
    held: dict[int, list[tuple[str, Care]]] = {}
    for pattern, facts in records.items():
        for number, line in _spoken(ctx, rules, pattern, facts, cite=False):
            held.setdefault(number, []).append((labels[pattern], line))
    care = []
    for number, lines in sorted(held.items()):
        rule = rules[number]
        members = tuple(sorted((label for label, _ in lines), key=str.casefold))
        because = listing(dict.fromkeys(line.because for _, line in lines if line.because), "or")
        care.append(Care(rule["step"], rule["text"], _sources(ctx, rule), because, applies_to=members))
    shown = [v for v in answer_value(ctx, category, show).values or () if v.status != NOT_RECORDED] if show else []
    return Answer(
        "",
        "",
        "reprocessing",
        sparql=base.sparql,
        matches=base.matches,
        values=tuple(shown),
        care=tuple(care),
        notes=(CAUTION, "Ask about one of them to see the facts and the witnesses behind each line."),
        verified_by=ctx.verified_by,
    )


def _spoken(
    ctx: Context, rules: Sequence[Mapping[str, Any]], pattern: str, facts: PatternFacts, *, cite: bool = True
) -> list[tuple[int, Care]]:
    """(number of the rule, its line) in order; a rule that ends the list leaves nothing to do, unless only for some pieces."""
    out: list[tuple[int, Care]] = []
    for number, rule in enumerate(rules):
        lines = _lines(ctx, rule, pattern, facts, cite=cite)
        out += [(number, line) for line in lines]
        if rule.get("ends") and any(line.status != SOME_PIECES for line in lines):
            break
    return out


def _ended(care: Sequence[Care], rules: Sequence[Mapping[str, Any]]) -> bool:
    """True if the last line is that of a rule that ends the list."""
    ends = {rule["text"] for rule in rules if rule.get("ends")}
    return bool(care) and care[-1].text in ends and care[-1].status != SOME_PIECES


def _lines(ctx: Context, rule: Mapping[str, Any], pattern: str, facts: PatternFacts, *, cite: bool = True) -> list[Care]:
    """The line of a rule that speaks of this pattern, in a list of one; else an empty list."""
    lacking = rule.get("lacking")
    if lacking:
        known = lacking in facts.known.varies or any(prop == lacking for prop, _ in facts.known.holds)
        if known:
            return []
        return [Care(rule["step"], rule["text"], _sources(ctx, rule), f"{ctx.label(lacking)}: not recorded", NOT_RECORDED)]
    conditions = rule.get("any", ())
    if not conditions:
        return [Care(rule["step"], rule["text"], _sources(ctx, rule))]
    because: list[str] = []
    statuses: list[str] = []
    sources: list[str] = []
    for condition in conditions:
        for literal, status in held(ctx, condition, facts):
            because.append(ctx.clause(literal))
            statuses.append(status)
            if cite:
                sources += ctx.cite(ctx.reader.support(pattern, literal, facts)[1])
    if not because or (rule.get("varies") and set(statuses) != {SOME_PIECES}):
        return []
    status = next((s for s in statuses if s == "adopted"), statuses[0])
    reason = listing(dict.fromkeys(because))
    return [Care(rule["step"], rule["text"], _sources(ctx, rule), reason, status, tuple(dict.fromkeys(sources)))]


def held(ctx: Context, condition: Mapping[str, str], facts: PatternFacts) -> list[tuple[Condition, str]]:
    """(literal, status) of the facts that meet a condition, the most exact only; of what varies those of some pieces."""
    slot, broad = _slot(condition)
    wanted = {broad} if slot not in ctx.vocabulary.features else ctx.vocabulary.subtree(broad)
    varying = [v for v in facts.known.varies.get(slot, ()) if v in wanted]
    if varying:
        return [((v, slot) if slot not in ctx.vocabulary.features else (slot, v), SOME_PIECES) for v in varying]
    if evaluate(normalise(_expr(condition), ctx.vocabulary), facts.known, ctx.vocabulary) != 1:
        return []
    if slot not in ctx.vocabulary.features:
        literals = [(broad, slot)]
    else:
        values = [v for f, v in facts.known.holds if f == slot and v in wanted]
        literals = [(slot, v) for v in values if not any(v in ctx.vocabulary.ancestors(o) for o in values)]
    inferred = ("inferred", "derived", "")
    return [(lit, "inferred" if facts.levels.get(lit, "") in inferred else "adopted") for lit in sorted(literals)]


def _slot(condition: Mapping[str, str]) -> tuple[str, str]:
    return (condition["part"], names.HAS_PART) if "part" in condition else (condition["feature"], condition["value"])


def _expr(condition: Mapping[str, str]) -> nodes.Expr:
    if "part" in condition:
        return nodes.HasPart(condition["part"])
    return nodes.Has(condition["feature"], condition["value"])


def _undecided(ctx: Context, rules: Iterable[Mapping[str, Any]], facts: PatternFacts) -> list[str]:
    """What no source decides, though a rule hinges on it."""
    missing = []
    for rule in rules:
        conditions = rule.get("any", ())
        if "open" not in rule or rule["open"] in missing or any(held(ctx, c, facts) for c in conditions):
            continue
        verdicts = [evaluate(normalise(_expr(c), ctx.vocabulary), facts.known, ctx.vocabulary) for c in conditions]
        if all(v == 0 for v in verdicts[:1]):
            missing.append(rule["open"])
    if not missing:
        return []
    return [f"Not recorded, and so without a line here: {listing(missing)}. Look at the piece."]


def _sources(ctx: Context, rule: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(ctx.label(s) for s in rule["source"])


def _properties(rules: Iterable[Mapping[str, Any]], table: Mapping[str, Any]) -> list[str]:
    conditions = [c for rule in rules for c in rule.get("any", ())]
    found = [c["feature"] for c in conditions if "feature" in c] + list(table.get("show", ()))
    return list(dict.fromkeys([names.HAS_PART, *found]))
