"""A circuit of stations: the candidate's sheet, with questions alone, and the examiner's, with what earns a mark and why."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from kg.course.blueprint import TASKS
from kg.course.stationed import Circuit, MarkedStep, Point, Share, Station
from kg.evidence_levels import RESTS_ON
from kg.names import expand
from kg.render.blocks import Block, Heading, Para, Spans, Table, para, words
from kg.render.data import csv_text
from kg.render.english import CAUTION, cited, number, shortened

LINES = 4
"""So many lines are left for an answer on the candidate's sheet."""
NAMES_SHOWN = 4
MARKING = (
    "A mark rests only on what a published source says. What rests on memory or common practice, is disputed or only inferred "
    "is accepted, on either side of a dispute, and earns none. The instrument on the table decides over the record."
)
_EXAMINER = (
    "station",
    "task",
    "family",
    "letter",
    "instrument",
    "iri",
    "step",
    "fact",
    "marks",
    "also_accepted",
    "flag",
    "sources",
)


def stations_blocks(circuit: Circuit, sheet: str, *, tables: bool = False) -> list[Block]:
    """``sheet``: candidate, examiner or both; with ``tables`` the marks are tables, as a document has room for."""
    out: list[Block] = []
    if sheet != "examiner":
        out += _candidate(circuit, tables)
    if sheet != "candidate":
        out += _examiner(circuit, tables)
    return out


# --- the candidate's sheet ------------------------------------------------------------------------------------------
def _candidate(circuit: Circuit, document: bool) -> list[Block]:
    """Questions and marks; no name of an instrument and no answer."""
    head = f"Candidate's sheet: {number(len(circuit.items), 'station')}, {number(circuit.marks, 'mark')}"
    out: list[Block] = [Heading(head), para("Name: ____________________  Number: ________", close=True)]
    for station in circuit.items:
        out.append(Heading(f"Station {station.number} ({number(station.marks, 'mark')})"))
        out.append(Para(words(station.prompt)))
        out += [para("_" * 60, indent=int(not document), close=True) for _ in range(LINES)]
    out.append(para(CAUTION, "caution"))
    return out


# --- the examiner's sheet -------------------------------------------------------------------------------------------
def _examiner(circuit: Circuit, tables: bool) -> list[Block]:
    out: list[Block] = []
    if circuit.items:
        head = f"{number(len(circuit.items), 'station')}, {number(circuit.marks, 'mark')}, seed {circuit.seed}"
        out.append(Heading(f"Examiner's sheet: {head}"))
    out.append(Para((("remark", "I read this as: "), ("query", circuit.reading)), close=True))
    out += [para(note, "caution") for note in circuit.notes]
    for station in circuit.items:
        out += _station(station, tables)
    out += _blueprint(circuit)
    if circuit.possible:
        which = number(circuit.possible, "more instrument")
        out.append(para(f"{which} could fit the question, but not enough is recorded to say; not in the circuit.", "remark"))
    if circuit.items:
        out.append(para(MARKING, "remark"))
    out.append(para(CAUTION, "caution"))
    return out


def _station(station: Station, tables: bool) -> list[Block]:
    out: list[Block] = [Heading(f"Station {station.number}: {station.task}, {number(station.marks, 'mark')}")]
    shown = "; ".join(f"{letter}: {label}" if letter else label for letter, _, label in station.shown)
    out.append(Para((("name", shown), ("remark", f"  ({station.family})")), 1, (("remark", "lay out:"),), close=True))
    out.append(Para(words(station.prompt), 1, (("remark", "ask:"),), close=True))
    out += [_table(station)] if tables else [b for step in station.steps for b in _step(step)]
    for step in station.steps:
        if step.step != "name" and step.answer:
            out.append(Para(words(step.answer), 1, (("remark", "model answer:"),), close=True))
    out += [Para(words(note, "caution"), 1, close=True) for note in station.notes]
    return out


def _step(step: MarkedStep) -> list[Block]:
    out: list[Block] = [Para(words(f"{step.step}, {number(step.marks, 'mark')}", "heading"), 1, close=True)]
    for point in step.points:
        if point.marks:
            spans: Spans = (("", point.text), *words(_remark(point), "remark"), *cited(point.sources))
            out.append(Para(spans, 2, (("number", f"[{point.marks}]"),), close=True))
    welcome = [f"{p.text.rstrip('.')}{_remark(p)}" for p in step.points if not p.marks]
    if welcome:
        out.append(Para(words("; ".join(welcome), "remark"), 2, (("remark", "accept, no mark:"),), close=True))
    return out


def _remark(point: Point) -> str:
    """What is as right, and what it rests on, in brackets."""
    said = []
    if point.flag:
        said.append(RESTS_ON.get(point.flag, point.flag))
    if point.also:
        lead = "either side: also " if point.flag == "disputed" else "also "
        said.append(lead + ", ".join(shortened(point.also, NAMES_SHOWN)))
    return f" ({'; '.join(said)})" if said else ""


def _table(station: Station) -> Table:
    rows = []
    for step in station.steps:
        for point in sorted(step.points, key=lambda p: not p.marks):
            rows.append(
                (
                    words(step.step),
                    words(str(point.marks) if point.marks else "accept"),
                    words(f"{point.text}{_remark(point)}"),
                    words("; ".join(shortened(point.sources, 2)), "source"),
                    (),
                )
            )
    return Table(("step", "marks", "what is said", "who says so", "given"), tuple(rows), key=2)


def _blueprint(circuit: Circuit) -> list[Block]:
    """Family by task: what there is of what was wanted; then what could not be had, and why."""
    if not circuit.cells:
        return []
    tasks = [t for t in TASKS if any(s.label == t for s in circuit.tasks)]
    found = {(c.family, c.task): c for c in circuit.cells}
    rows = []
    for family in circuit.families:
        cells = [found.get((family.label, task)) for task in tasks]
        shown = tuple(words("" if c is None else str(c.items), "number") for c in cells)
        rows.append((words(family.label, "name"), *shown, words(_of(family))))
    rows.append(
        (words("all", "name"), *(words(_of(s)) for s in circuit.tasks), words(f"{len(circuit.items)} of {circuit.wanted}"))
    )
    out: list[Block] = [Heading("Blueprint: items by family and task"), Table(("family", *tasks, "of wanted"), tuple(rows))]
    missing = [(f"{c.family}, {c.task}", c.target, c.items, c.reason) for c in circuit.cells if c.reason]
    missing += [(s.label, s.target, s.items, s.reason) for s in (*circuit.families, *circuit.tasks) if s.reason]
    out += [
        Para(words(f"{what}: {items} instead of {target:.3g}; {reason}.", "remark"), 1, close=True)
        for what, target, items, reason in missing
    ]
    made = "by the blueprint given" if circuit.own_blueprint else "in proportion to the families of the topic, tasks even"
    best = "no choice is nearer to it" if circuit.proved else "the nearest to it that was found"
    return [*out, para(f"Made {made}; {best}.", "remark")]


def _of(share: Share) -> str:
    return f"{share.items} of {share.target:.3g}"


# --- data -----------------------------------------------------------------------------------------------------------
def stations_json(circuit: Circuit, sheet: str) -> dict[str, Any]:
    """``Circuit.to_json``; for the candidate nothing but the questions and their marks."""
    out = circuit.to_json(candidate=sheet == "candidate")
    return out | {"notes": [*out.get("notes", ()), *([MARKING] if sheet != "candidate" and circuit.items else []), CAUTION]}


def stations_csv(circuit: Circuit, sheet: str) -> str:
    """One row for each fact that is marked or accepted; for the candidate one for each station."""
    if sheet == "candidate":
        return csv_text(("station", "prompt", "marks"), [(s.number, s.prompt, s.marks) for s in circuit.items])
    return csv_text(_EXAMINER, [row for station in circuit.items for row in _rows(station)])


def _rows(station: Station) -> Iterable[Sequence[object]]:
    letters = "; ".join(x for x, _, _ in station.shown)
    labels = "; ".join(label for _, _, label in station.shown)
    names = "; ".join(expand(name) for _, name, _ in station.shown)
    for step in station.steps:
        for p in step.points:
            start = (station.number, station.task, station.family, letters, labels, names)
            yield (*start, step.step, p.text, p.marks, "; ".join(p.also), RESTS_ON.get(p.flag, p.flag), "; ".join(p.sources))
