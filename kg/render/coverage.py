"""What a course covers, as blocks: how it stands, every objective, then what is left out, in the order of use to a designer."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from kg.course.gaps import DIFFERENT
from kg.course.records import Coverage, FeatureGap, Group, ObjectiveResult, SplitPair, Status
from kg.render.blocks import Block, Heading, Para, Spans, Table, para, words
from kg.render.coverage_lists import changes_blocks, more_blocks, percent, smallest_blocks
from kg.render.english import CAUTION, number, shortened
from kg.wording import listing

SHOWN_LABELS = 4
SHOWN_HELPFUL = 6
SHOWN_PAIRS = 6
SHOWN_ROWS = 40
SHOWN_VALUES = 6
SHOWN_FEATURES = 12
SHOWN_UNREACHED = 10


def coverage_blocks(found: Coverage, *, whole: bool = False) -> list[Block]:
    """The report. Long lists are cut, with their number, unless ``whole``."""
    out: list[Block] = [Heading(found.title), para(standing_sentence(found), close=True)]
    out += [Para(words(note, "remark")) for note in found.notes]
    out += _contradictions(found)
    out += _objectives(found.objectives, whole)
    out += _lacking(found, whole)
    out += _prose(found, whole)
    out += _families(found, whole)
    out += _never_taught(found.feature_gaps, whole)
    out += _pairs(found, whole)
    out += _too_much(found, whole)
    out += _unreached(found, whole)
    for part, title in ((found.smallest, "meets the objectives"), (found.every_value, "shows every value")):
        if part is not None:
            out += smallest_blocks(part, title, whole)
    if found.more is not None:
        out += more_blocks(found.more)
    if found.changes is not None:
        out += changes_blocks(found.changes)
    if found.verified_by:
        out.append(para(_verified(found.verified_by), "remark"))
    out.append(Para(words(CAUTION, "caution"), close=True))
    return out


def most(shown: int, whole: bool) -> int:
    """How many of a list are shown: so many, or all."""
    return sys.maxsize if whole else shown


def standing_sentence(found: Coverage) -> str:
    """ "4 of 8 objectives are met, 50 % of the weight; 2 short and 1 not mapped." and how many instruments are shown."""
    inside = [o for o in found.objectives if o.status is not Status.OUTSIDE]
    met = len(found.of(Status.MET))
    said = [(Status.SHORT, "short"), (Status.IMPOSSIBLE, "impossible"), (Status.UNCONFIRMED, "unconfirmed")]
    rest = [f"{n:,} {word}" for status, word in [*said, (Status.UNMAPPED, "not mapped")] if (n := len(found.of(status)))]
    share = percent(found.summary()["weight_met"])
    verb = "is" if 1 in (met, len(inside)) else "are"
    text = f"{met:,} of {number(len(inside), 'objective')} {verb} met, {share} of the weight"
    text += f"; {listing(rest)}." if rest else "."
    if outside := len(found.of(Status.OUTSIDE)):
        text += f" {outside:,} more {'is' if outside == 1 else 'are'} outside the catalogue."
    shown = "shown" if found.listed else "taken as taught"
    return f"{text} {number(len(found.taught), 'instrument')} {'is' if len(found.taught) == 1 else 'are'} {shown}."


def _verified(engine: str) -> str:
    return "Inferences not verified by HermiT." if engine.startswith("not ") else f"Inferences verified by {engine}."


# --- objectives -----------------------------------------------------------------------------------------------------
def _objectives(objectives: Sequence[ObjectiveResult], whole: bool) -> list[Block]:
    rows = tuple(
        (words(o.id, "name"), words(str(o.status), _style(o)), words(have(o), "number"), words(met_by(o, whole=whole)))
        for o in objectives[: most(SHOWN_ROWS, whole)]
    )
    out: list[Block] = [Heading("Objectives"), Table(("id", "standing", "has", "met by"), rows)]
    if len(objectives) > most(SHOWN_ROWS, whole):
        out.append(Para(words(f"and {len(objectives) - SHOWN_ROWS} more objectives", "remark"), 1, close=True))
    return out


def _style(objective: ObjectiveResult) -> str:
    return "" if objective.met or objective.status is Status.OUTSIDE else "dispute"


def have(objective: ObjectiveResult) -> str:
    """``5 of 4``: taught matches of the minimum; empty where nothing is asked."""
    asked = objective.status not in (Status.UNMAPPED, Status.OUTSIDE)
    return f"{objective.count} of {objective.minimum}" if asked else ""


def met_by(objective: ObjectiveResult, *, whole: bool = False) -> str:
    """What meets an objective, with a remark where its own session shows too few."""
    text = ", ".join(shortened([label for _, label in objective.instruments], most(SHOWN_LABELS, whole)))
    if objective.status is Status.OUTSIDE:
        return objective.outside
    if remark := elsewhere(objective):
        text = f"{text} ({remark})" if text else remark
    return text


def elsewhere(objective: ObjectiveResult) -> str:
    """That an objective is met, but not by what its own session shows; empty if it is."""
    if objective.met and objective.in_session is not None and objective.in_session < objective.minimum:
        return f"its own session {objective.session} shows {objective.in_session or 'none'} of them"
    return ""


def _contradictions(found: Coverage) -> list[Block]:
    out: list[Block] = []
    for objective, claim in found.contradictions:
        why = f": {claim.reason}" if claim.reason else ""
        text = f'is said to meet "{objective.reading}", but the catalogue says otherwise{why}'
        spans = ((("name"), claim.label), ("", f" {text}."))
        out.append(Para(spans, 1, (("remark", objective.id),), close=True))
    for objective in found.of(Status.IMPOSSIBLE):
        text = f'"{objective.reading}" contradicts itself: no instrument can match it.'
        out.append(Para(words(text), 1, (("remark", objective.id),), close=True))
    return [Heading("Contradictions", "dispute"), *out] if out else []


def _lacking(found: Coverage, whole: bool) -> list[Block]:
    out: list[Block] = []
    for who in ("course", "catalogue"):
        wanting = [o for o in found.of(Status.SHORT) if o.lacks == who]
        if wanting:
            lines = [(o.id, words(lacking_sentence(o))) for o in wanting]
            out += [Heading(f"The {who} lacks"), *_by_id(lines, whole)]
    return out


def _by_id(lines: Sequence[tuple[str, Spans]], whole: bool) -> list[Block]:
    """One line an objective, its id before it; a long list is cut."""
    shown = lines[: most(SHOWN_ROWS, whole)]
    out: list[Block] = [Para(spans, 1, (("remark", name),), close=True) for name, spans in shown]
    if len(lines) > len(shown):
        out.append(Para(words(f"and {len(lines) - len(shown)} more", "remark"), 1, close=True))
    return out


def lacking_sentence(o: ObjectiveResult) -> str:
    """What an objective lacks, and what would do: "none of 2 shown; 8 in the catalogue: ..."."""
    shown = f"{o.count or 'none'} of {o.minimum}"
    text = f"{o.reading}: {shown} shown"
    if o.wanting:
        text += f"; nothing of {listing(o.wanting)}"
    if o.lacks == "catalogue":
        text += f", and the whole catalogue has {o.in_catalogue or 'none'}"
        return f"{text}. {_open(o.open_in_catalogue)}".rstrip()
    rest = o.helpful_count - len(o.helpful[:SHOWN_HELPFUL])
    named = listing([*o.helpful[:SHOWN_HELPFUL], *([f"{rest} more"] if rest > 0 else [])])
    return f"{text}. Would do: {named}. {_open(o.open_taught)}".rstrip()


def _open(count: int) -> str:
    return f"{number(count, 'more could match', 'more could match')}, but not enough is recorded." if count else ""


def _prose(found: Coverage, whole: bool) -> list[Block]:
    out: list[Block] = []
    if proposed := found.of(Status.UNCONFIRMED):
        out += [Heading("Proposed, not confirmed"), *_by_id([(o.id, _proposal(o)) for o in proposed], whole)]
        out.append(Para(words("To confirm one, write it into the file as the objective's question.", "remark"), 1, close=True))
    if unmapped := found.of(Status.UNMAPPED):
        out.append(Heading("Not mapped: the words name no instrument"))
        out += _by_id([(o.id, words(o.text)) for o in unmapped], whole)
        hint = "Write a question for it, or say with outside = why it is no matter for the catalogue."
        out.append(Para(words(hint, "remark"), 1, close=True))
    return out


def _proposal(o: ObjectiveResult) -> Spans:
    source = f' (from "{", ".join(o.words)}")' if o.words else ""
    would = "would be met" if not o.lacks else f"would be short: the {o.lacks} lacks it"
    return ("query", o.reading), ("remark", source), ("", f": {have(o)}, {would}")


# --- what is left out -----------------------------------------------------------------------------------------------
def _families(found: Coverage, whole: bool) -> list[Block]:
    cells: dict[str, list[str]] = {}
    for o in found.objectives:
        for name, count in o.by_family:
            cells.setdefault(name, []).append(f"{o.id} {count}")
    keys = {g: ("" if g.label == "no family" else g.name) for g in found.families}
    rows = tuple(
        (
            words(short(g.label), "name"),
            words(f"{g.taught} of {g.in_catalogue}", "number"),
            words(_cells(cells, keys[g], whole)),
        )
        for g in found.families
        if g.taught or g.objectives
    )
    empty = sum(not (g.taught or g.objectives) for g in found.families)
    out: list[Block] = [
        Heading("By family, as sources group them"),
        Table(("family", "shown", "objectives that it meets"), rows),
    ]
    if empty:
        text = f"{number(empty, 'family', 'families')} more {'is' if empty == 1 else 'are'} neither shown nor asked for."
        out.append(Para(words(text, "remark"), 1, close=True))
    taught = sorted((g for g in found.categories if g.taught), key=lambda g: (-g.taught, g.label.casefold()))
    if taught:
        texts = shortened([f"{g.label} {g.taught} of {g.in_catalogue}" for g in taught], most(12, whole))
        out += [Heading("By category, as inferred"), Para(words(", ".join(texts)), 1, close=True)]
        absent = len(found.categories) - len(taught)
        if absent:
            out.append(
                Para(words(f"Nothing is shown of {absent} of {len(found.categories)} categories.", "remark"), 1, close=True)
            )
    return out


def _cells(cells: dict[str, list[str]], name: str, whole: bool) -> str:
    return ", ".join(shortened(cells.get(name, []), most(6, whole)))


def short(label: str) -> str:
    """A family's label without the words that say that it is a kind."""
    return label.removesuffix(" in general")


def _never_taught(gaps: Sequence[FeatureGap], whole: bool) -> list[Block]:
    """What can be seen first: features shown in part with the values that lack, then those of which nothing is shown."""
    visible, hidden = [g for g in gaps if g.visible], [g for g in gaps if not g.visible]
    out: list[Block] = []
    if visible:
        out.append(Heading("Never shown, of what can be seen"))
        in_part = [g for g in visible if (whole and g.broadest != ("there",)) or not g.whole]
        out.append(_gap_table(in_part, whole))
        parts = [g.label for g in visible if g.broadest == ("there",)]
        rest = [g.label for g in visible if g.whole and g.label not in parts]
        for title, labels in (("Whole features", [] if whole else rest), ("Parts", parts)):
            if labels:
                text = ", ".join(shortened(labels, most(SHOWN_FEATURES, whole)))
                out.append(Para(words(text), 1, (("remark", f"{title}:"),), close=True))
    if hidden and whole:
        out += [Heading("Never shown, of use, care and make"), _gap_table(hidden, whole)]
    elif hidden:
        values = sum(len(g.values) for g in hidden)
        named = shortened([f"{g.label} {len(g.values)}" for g in sorted(hidden, key=lambda g: -len(g.values))], 8)
        text = f"{number(values, 'value')} of {number(len(hidden), 'feature')}: {', '.join(named)}"
        out.append(Para(words(text), 1, (("remark", "Of use, care and make:"),), close=True))
    return out


def _gap_table(gaps: Sequence[FeatureGap], whole: bool) -> Table:
    rows = tuple(
        (
            words(g.part),
            words(g.label, "name"),
            words(", ".join(shortened([_missing(g, v) for v in g.broadest], most(SHOWN_VALUES, whole)))),
        )
        for g in gaps
    )
    return Table(("part", "feature", "values"), rows, key=2, blank_repeats=1)


def _missing(gap: FeatureGap, value: str) -> str:
    return f"{value} (on some pieces only)" if value in gap.on_some else value


def _pairs(found: Coverage, whole: bool) -> list[Block]:
    apart = [p for p in found.split_pairs if p.how == DIFFERENT]
    alone = [p for p in found.split_pairs if p.how != DIFFERENT]
    out: list[Block] = []
    if apart:
        out.append(Heading("Look-alikes that are shown, but never side by side"))
        rows = tuple(
            (
                words(" and ".join(label for _, label in p.pair), "name"),
                words(" and ".join("/".join(s) or "no session" for s in p.sessions), "number"),
                words(signs(p)),
            )
            for p in apart[: most(SHOWN_PAIRS, whole)]
        )
        out.append(Table(("pair", "sessions", "told apart by"), rows))
        if len(apart) > most(SHOWN_PAIRS, whole):
            out.append(Para(words(f"and {len(apart) - SHOWN_PAIRS} more pairs", "remark"), 1, close=True))
    if alone:
        out.append(Heading("Look-alikes of which only one is shown"))
        named = [f"{p.pair[0][1]} without {p.pair[1][1]}" for p in alone[: most(SHOWN_PAIRS, whole)]]
        rest = [f"and {len(alone) - SHOWN_PAIRS} more"] if len(alone) > most(SHOWN_PAIRS, whole) else []
        out.append(Para(words("; ".join([*named, *rest])), 1, close=True))
    return out


def signs(pair: SplitPair) -> str:
    """What tells a pair apart, or that nothing recorded does."""
    return ", ".join(pair.signs) or "nothing recorded"


def _too_much(found: Coverage, whole: bool) -> list[Block]:
    out: list[Block] = []
    if found.repeated:
        out.append(Heading("Shown in more than one session"))
        texts = [f"{label} ({', '.join(sessions)})" for (_, label), sessions in found.repeated]
        out.append(Para(words(", ".join(shortened(texts, most(12, whole)))), 1, close=True))
    if found.crowded:
        out.append(Heading("Met many times over"))
        texts = [f"{o.id} ({have(o)})" for o in found.objectives if o.id in found.crowded]
        out.append(Para(words(", ".join(shortened(texts, most(12, whole)))), 1, close=True))
    if found.idle:
        out.append(Heading("Shown, but asked for by no objective"))
        out.append(Para(words(", ".join(shortened([label for _, label in found.idle], most(16, whole)))), 1, close=True))
    return out


def _unreached(found: Coverage, whole: bool) -> list[Block]:
    total = sum(len(i) for _, i in found.unreached)
    if not total:
        return []
    everything = sum(g.in_catalogue for g in found.families)
    heading = Heading("In the catalogue, but reached by no objective")
    if whole:
        rows = tuple((words(short(f), "name"), words(", ".join(label for _, label in i))) for f, i in found.unreached)
        return [heading, Table(("family", "instruments"), rows)]
    named = [f"{short(f)} {len(i)}" for f, i in found.unreached]
    text = f"{total} of {number(everything, 'instrument')}: " + ", ".join(shortened(named, most(SHOWN_UNREACHED, whole)))
    return [heading, Para(words(text), 1, close=True)]


def groups_matrix(found: Coverage) -> tuple[list[Group], list[tuple[ObjectiveResult, list[int]]]]:
    """(families that any objective meets or that are shown, in order; each objective with its taught matches of each)."""
    shown = [g for g in found.families if g.taught or g.objectives]
    names = ["" if g.label == "no family" else g.name for g in shown]
    return shown, [(o, [dict(o.by_family).get(n, 0) for n in names]) for o in found.objectives]
