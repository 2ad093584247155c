"""One source that contradicts itself is an error; two sources that disagree are a dispute, kept and shown."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from kg import names
from kg.evidence.adopt import RULING, compatible
from kg.evidence.catalogue import RULE, Record
from kg.evidence.statements import LENGTH, Source, Statement, format_span, parse_span
from kg.intake.resolve import Staging
from kg.intake.rows import Report
from kg.reason.horn import ROOT, Engine
from kg.vocabulary import Condition, Vocabulary
from kg.wording import clause, listing, sentence


def replaced(
    staging: Staging,
    before: Mapping[str, Record],
    after: Mapping[str, Record],
    sources: Mapping[str, Source],
    vocabulary: Vocabulary,
    engine: Engine,
    report: Report,
) -> None:
    """A warning for every new statement that takes the place of what was inherited: from a kind, or a pattern it varies.

    An own value outranks an inherited one, so this is no dispute; but a scalpel handle with a ratchet is more often a slip.
    """
    for s, place in staging.said.items():
        literal = _literal(s)
        if s.subject not in before or literal is None or sources[s.source].kind == RULING:
            continue
        lost: dict[str, list[str]] = defaultdict(list)
        for other in sorted(before[s.subject].facts.keys() - after[s.subject].facts.keys()):
            fact = before[s.subject].facts[other]
            if fact.origin != s.subject and fact.level != RULE and engine.close([ROOT, literal, other]).clashes:
                lost[fact.origin].append(f'"{clause(other, vocabulary)}"')
        for origin, clauses in sorted(lost.items()):
            what = f"{sentence(s.subject, literal, vocabulary)[:-1]}: this takes the place of {listing(clauses)}, "
            what += f"which is said of {vocabulary.label(origin)}"
            fix = "Withdraw it if the source means something else. If it is right, leave it: it outranks what is inherited."
            report.warning("BL-I08", place, what, fix)


FAR = 2.0
"""A length is far from another if it is less than half or more than twice of it."""


def of_one_source(staging: Staging, known: Iterable[Statement], vocabulary: Vocabulary, engine: Engine, report: Report) -> None:
    """Clashes within what one source says of one subject, with what it is known to say already.

    Only those are reported in which something new takes part. ``engine`` has the axioms with their exclusions.
    """
    groups: dict[tuple[str, str], list[Statement]] = defaultdict(list)
    touched = {(s.source, s.subject) for s in staging.said}
    for s in {*staging.said, *known}:
        if (s.source, s.subject) in touched:
            groups[s.source, s.subject].append(s)
    for (source, subject), group in sorted(groups.items()):
        _clash(source, subject, sorted(group), staging, vocabulary, engine, report)
        _deny(source, subject, sorted(group), staging, vocabulary, report)
        _lengths(source, subject, sorted(group), staging, vocabulary, report)
        _repeat(source, subject, sorted(group), staging, vocabulary, report)


def _clash(source, subject, group, staging: Staging, vocabulary: Vocabulary, engine: Engine, report: Report) -> None:
    facts: dict[Condition, Statement] = {}
    for s in group:
        literal = _literal(s)
        if literal and (literal not in facts or s in staging.said):
            facts[literal] = s
    for clash in engine.close([ROOT, *facts]).clashes:
        behind = sorted((facts[p] for p in clash.premises), key=lambda s: (s not in staging.said, staging.said.get(s), s))
        new = [s for s in behind if s in staging.said]
        if not new:
            continue
        place = max(staging.said[s] for s in new)
        said = " and ".join(_words(s, vocabulary) for s in sorted(behind))
        what = f"{_contradicts(source, subject, staging, vocabulary)}: {said}; {clash.rule.text[:1].lower()}"
        what += clash.rule.text[1:].rstrip(".")
        report.error("BL-I06", place, what, _withdraw(behind, staging, vocabulary))


def _deny(source, subject, group, staging: Staging, vocabulary: Vocabulary, report: Report) -> None:
    """The same value said and denied."""
    said: dict[tuple[str, str], Statement] = {}
    for s in group:
        if s.mode != "not" and s.feature not in names.PARTS:
            said.setdefault((s.feature, s.value), s)
    for s in group:
        denied = vocabulary.features[s.feature].denies if s.feature in vocabulary.features else ""
        key = (s.feature, s.value) if s.mode == "not" else (denied, s.value) if denied and s.mode == "is" else None
        other = said.get(key) if key else None
        if other and (s in staging.said or other in staging.said):
            place = max(staging.said[x] for x in (s, other) if x in staging.said)
            what = f"{_contradicts(source, subject, staging, vocabulary)}: it says and denies "
            what += f"{_words(other, vocabulary)}"
            report.error("BL-I06", place, what, _withdraw([s, other], staging, vocabulary))


def _lengths(source, subject, group, staging: Staging, vocabulary: Vocabulary, report: Report) -> None:
    """Two lengths: all sizes made are one span."""
    said = [s for s in group if s.feature == LENGTH]
    if len(said) < 2:
        return
    place = max(staging.said[s] for s in said if s in staging.said)
    ends = [parse_span(s.value) for s in said]
    whole = format_span(min(low for low, _ in ends), max(high for _, high in ends))
    what = f"{_contradicts(source, subject, staging, vocabulary)}: it gives {len(said)} lengths, "
    what += listing([f"{s.value} mm" for s in said])
    report.error("BL-I06", place, what, f"Keep one. If all are made, give the shortest and the longest size: {whole}.")


def _repeat(source, subject, group, staging: Staging, vocabulary: Vocabulary, report: Report) -> None:
    """A broader value beside its narrower one: true, but idle."""
    values = {(s.feature, s.value): s for s in group if s.mode == "is" and s.feature in vocabulary.features}
    for (feature, value), s in values.items():
        broader = [b for b in vocabulary.ancestors(value) if (feature, b) in values]
        if (
            broader
            and vocabulary.features[feature].single
            and (s in staging.said or values[feature, broader[0]] in staging.said)
        ):
            idle = values[feature, broader[0]]
            place = staging.said.get(idle) or staging.said[s]
            what = (
                f"{vocabulary.label(broader[0])} is the broader value of {vocabulary.label(value)}, which the same source gives"
            )
            report.warning("BL-I06", place, what, "The narrower one is enough.")


def between_sources(
    staging: Staging, statements: Iterable[Statement], sources: Mapping[str, Source], vocabulary: Vocabulary, report: Report
) -> None:
    """A warning for every new statement that another source contradicts. ``statements``: all, old and new."""
    by_slot: dict[tuple[str, str], list[Statement]] = defaultdict(list)
    statements = list(statements)
    for s in statements:
        by_slot[s.subject, _slot(s)].append(s)
    for s, place in staging.said.items():
        if s.feature == LENGTH:
            _far_apart(s, place, statements, sources, vocabulary, report)
        if s.feature == LENGTH or sources[s.source].kind == RULING:
            continue
        against = [o for o in by_slot[s.subject, _slot(s)] if o.source != s.source and _disagree(s, o, vocabulary)]
        if against:
            others = "; ".join(f"{sources[o.source].cite()}: {_words(o, vocabulary)}" for o in sorted(against)[:3])
            more = f" and {len(against) - 3} more" if len(against) > 3 else ""
            what = f"a dispute on {vocabulary.label(s.subject)}: here {_words(s, vocabulary)}, but {others}{more}"
            report.warning("BL-I08", place, what, "Both are kept, and both sides are shown.")


def _far_apart(s, place, statements: list[Statement], sources, vocabulary: Vocabulary, report: Report) -> None:
    """A size far from those that others give, or beyond any that is recorded, is often a slip of the unit."""
    every = [o for o in statements if o.feature == LENGTH and o.source != s.source]
    others = [o for o in every if o.subject == s.subject]
    if not every:
        return
    low, high = parse_span(s.value)
    ends = [parse_span(o.value) for o in others or every]
    shortest, longest = min(e[0] for e in ends), max(e[1] for e in ends)
    far = FAR if others else 1.0
    if high * far < shortest or low > longest * far:
        told = f"far from what other sources say of {vocabulary.label(s.subject)}" if others else "beyond any that is recorded"
        what = f"a length of {s.value} mm is {told}: {format_span(shortest, longest)} mm"
        what += f" ({sources[min(others).source].cite()})" if others else ""
        report.warning("BL-I08", place, what, "Is it centimetres or inches? A length is millimetres. If it is right, leave it.")


def _disagree(a: Statement, b: Statement, vocabulary: Vocabulary) -> bool:
    if a.feature in names.PARTS or b.feature in names.PARTS:
        return _literal(a) != _literal(b) and _literal(a) is not None and _literal(b) is not None
    feature = vocabulary.features.get(a.feature)
    if feature is None:
        return False
    if {a.mode, b.mode} == {"is", "not"}:
        return a.value == b.value
    return feature.single and a.mode == b.mode == "is" and not compatible(a.value, b.value, vocabulary)


def _slot(s: Statement) -> str:
    return s.value if s.feature in names.PARTS else s.feature


def _literal(s: Statement) -> Condition | None:
    """The fact that a statement claims of every piece; None if it claims none."""
    if s.feature in names.PARTS:
        if s.mode == "some":
            return None
        other = names.PARTS[1 - names.PARTS.index(s.feature)]
        return (s.feature if s.mode == "is" else other, s.value)
    return (s.feature, s.value) if s.mode == "is" and s.feature != LENGTH else None


def _words(s: Statement, vocabulary: Vocabulary) -> str:
    mode = {"is": "", "some": " (some)", "not": " (denied)"}[s.mode]
    return f"{vocabulary.label(s.feature)}: {vocabulary.label(s.value)}{mode}"


def _contradicts(source: str, subject: str, staging: Staging, vocabulary: Vocabulary) -> str:
    """How a finding begins; the vocabulary does not have the new patterns yet."""
    new = staging.patterns.get(subject)
    label = new.label if new and new.label else vocabulary.label(subject)
    return f"the source {source.removeprefix('src:')} contradicts itself on {label}"


def _withdraw(behind: list[Statement], staging: Staging, vocabulary: Vocabulary) -> str:
    places = []
    for s in behind:
        at = staging.said.get(s)
        where = f"{at.cell or f'line {at.line}'}" if at else "recorded earlier"
        places.append(f"{_words(s, vocabulary)} ({where}{f', row {at.line}' if at and at.cell.startswith('column') else ''})")
    return f"Withdraw one of: {'; '.join(places)}. If it is made both ways, use the mode some for both."
