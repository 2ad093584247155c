"""What differs within a set as blocks: feature by feature, each value with the patterns that bear it."""

from __future__ import annotations

from collections.abc import Sequence

from kg.model import Answer, Comparison, Difference
from kg.render.blocks import Block, Heading, Para, Spans, Table, para, words
from kg.render.english import shortened
from kg.render.facts import Citations
from kg.render.lists import match_heading, possible_blocks
from kg.wording import listing

NOT_RECORDED = "not recorded"
NAMED = 12
"""So many patterns at most are named with a value; of more the first few, and how many there are."""
FEW = 6
SHOWN_VALUES = 8
"""So many values are shown of a feature that can have several at once."""
THERE = ("there", "absent")


def set_blocks(answer: Answer) -> list[Block]:
    """What is told of the set as a whole, the differences, what all of them share, what is not recorded, what is disputed."""
    comparison = answer.comparison
    assert comparison is not None
    citations = Citations()
    out: list[Block] = [Heading(match_heading(answer))]
    if len(comparison.subjects) <= NAMED:
        out.append(Para(words(", ".join(comparison.subjects), "name"), 1, close=True))
    if comparison.telling_signs:
        out.append(Heading("What tells them apart"))
        out += [Para(words(sign, "name"), 1, close=True) for sign in comparison.telling_signs]
    if comparison.differences:
        out += [Heading("Differences"), _table(comparison.differences, citations)]
    else:
        out.append(para("No difference is recorded. That does not mean that there is none.", "name"))
    if comparison.overlapping:
        out += [Heading("Recorded otherwise of some; one need not exclude the other"), _table(comparison.overlapping, None)]
    if comparison.shared:
        out += [Heading("Shared"), Para(words(_in_one_line(comparison.shared)), 1, close=True)]
    if comparison.not_recorded:
        text = "Alike as far as it is recorded; not recorded for all of them"
        out += [Heading(text), _partly(comparison.not_recorded)]
    out += _disputes(comparison)
    out += possible_blocks(answer)
    out += citations.blocks()
    out.append(para("Compared by " + "; ".join(comparison.basis) + ".", "remark"))
    return out


def _bearers(line: Difference) -> list[tuple[str, list[str]]]:
    """Each value with the patterns that bear it, the commonest first; last those of which nothing is recorded."""
    found: dict[str, list[str]] = {}
    for label, values in line.values:
        for value in values:
            found.setdefault(value, []).append(label)
    return sorted(found.items(), key=lambda item: (item[0] == NOT_RECORDED, -len(item[1])))


def _table(lines: Sequence[Difference], citations: Citations | None) -> Table:
    """A row for each value of each feature; with ``citations`` each value with what it rests on."""
    rows: list[tuple[Spans, ...]] = []
    for line in lines:
        sources = dict(line.sources)
        groups = _bearers(line)
        cut = SHOWN_VALUES if citations is None and len(groups) > SHOWN_VALUES + 1 else len(groups)
        for value, labels in groups[:cut]:
            style = "remark" if value == NOT_RECORDED else ""
            cited = dict.fromkeys(s for label in labels for s in sources.get(label, ())) if citations else {}
            mark = citations.cite(list(cited)) if citations and value != NOT_RECORDED else ""
            said: Spans = (*words(value, style), *((("number", f" [{mark}]"),) if mark else ()))
            rows.append((words(line.feature), said, words(_named(labels, len(line.values)), style)))
        if cut < len(groups):
            rest = f"and {len(groups) - cut} more values"
            rows.append((words(line.feature), words(rest, "remark"), ()))
    return Table(("feature", "value", "patterns"), tuple(rows), key=2, blank_repeats=1)


def _named(labels: Sequence[str], of: int) -> str:
    if len(labels) == of:
        return "all of them"
    if of <= NAMED:
        return ", ".join(labels)
    return f"{len(labels):,}: {', '.join(shortened(labels, FEW))}"


def _in_one_line(lines: Sequence[Difference]) -> str:
    """What all of them share: the parts that are there, those that are not, and each feature with its value."""
    values = [(line.feature, line.values[0][1]) for line in lines]
    parts = [(f"{text}: ", [feature for feature, said in values if said == (text,)]) for text in THERE]
    told = [head + listing(found) for head, found in parts if found]
    told += [f"{feature}: {listing(said)}" for feature, said in values if said[0] not in THERE]
    return "; ".join(told) + "."


def _partly(lines: Sequence[Difference]) -> Table:
    rows = []
    for line in lines:
        recorded = [values for _, values in line.values if values != (NOT_RECORDED,)]
        text = ", ".join(recorded[0]) if recorded else NOT_RECORDED
        rows.append((words(line.feature), words(text), words(f"{len(recorded)} of {len(line.values)}")))
    return Table(("feature", "value", "recorded of"), tuple(rows))


def _disputes(comparison: Comparison) -> list[Block]:
    """Which of them are disputed, and in what; a comparison of two by name tells both sides."""
    said: dict[str, list[str]] = {}
    for dispute in comparison.disputes:
        said.setdefault(dispute.label, []).append(dispute.feature)
    if not said:
        return []
    lines = [
        Para((("name", label), ("", f": {listing(dict.fromkeys(found))}")), 1, close=True) for label, found in said.items()
    ]
    return [Heading("Disputed: sources disagree", "dispute"), *lines]
