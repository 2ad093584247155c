"""Sterilisation cycles and lines on reprocessing as blocks: no figure without its conditions, no line without its reason."""

from __future__ import annotations

from collections.abc import Sequence

from kg.model import Care, Cycle
from kg.render.blocks import Block, Heading, Para, Spans, Table, para, words
from kg.render.english import number, shortened
from kg.render.facts import Citations

SHOWN_MEMBERS = 3
"""So many members of a category are named after a line; the rest are counted."""


# --- cycles ---------------------------------------------------------------------------------------------------------
def cycle_blocks(cycles: Sequence[Cycle]) -> list[Block]:
    """A table for each method, one row a cycle; without any, a sentence."""
    if not cycles:
        return [para("No published cycle on record fits these conditions.", "name")]
    citations = Citations()
    out: list[Block] = [para(f"{number(len(cycles), 'published cycle')} on record", "name")]
    for method in dict.fromkeys(c.method for c in cycles):
        rows = tuple(_row(c, citations) for c in cycles if c.method == method)
        out += [
            Heading(method),
            Table(("load", "steriliser", "temperature", "exposure", "drying", "also", "source"), rows, key=2, blank_repeats=1),
        ]
    return out + citations.blocks()


def _row(cycle: Cycle, citations: Citations) -> tuple[Spans, ...]:
    style = "name" if cycle.used else "remark"
    return (
        words(cycle.load),
        words(cycle.steriliser or "not stated"),
        words(temperature(cycle) or "not stated"),
        words(exposure(cycle), style),
        words(_span(cycle.drying, "min") or "not stated"),
        words("; ".join(further(cycle))),
        words(citations.cite((cycle.source,)), "number"),
    )


def temperature(cycle: Cycle) -> str:
    """``132 °C (270 °F)``; empty if the source gives none."""
    celsius = _span(cycle.celsius, "°C")
    return f"{celsius} ({_span(cycle.fahrenheit, '°F')})" if celsius and cycle.fahrenheit else celsius


def exposure(cycle: Cycle) -> str:
    """``at least 4 min``, ``60 to 360 min``, or that the source does not use this cycle."""
    if not cycle.used:
        return "not applicable, by the source"
    text = _span(cycle.minutes, "min")
    return f"at least {text}" if cycle.least and text else text or "not stated"


def further(cycle: Cycle) -> list[str]:
    """Aeration, other conditions, and a mark on what was seen at second hand."""
    aeration = [f"aeration {_span(cycle.aeration_hours, 'h')}"] if cycle.aeration_hours else []
    return [*aeration, *cycle.conditions, *(["seen at second hand"] if cycle.second_hand else [])]


def _span(numbers: Sequence[float], unit: str) -> str:
    return f"{' to '.join(f'{n:g}' for n in dict.fromkeys(numbers))} {unit}" if numbers else ""


# --- reprocessing ---------------------------------------------------------------------------------------------------
def care_blocks(care: Sequence[Care], members: int) -> list[Block]:
    """The lines under their steps, each after its reason, with its sources. ``members``: of a category, how many."""
    if not care:
        return [para("No line on reprocessing: this build of the catalogue holds no rules; run: boxlock build", "name")]
    citations = Citations()
    out: list[Block] = []
    step, reason, of = "", "", ""
    for line in care:
        if line.step != step:
            step, reason, of = line.step, "", ""
            out.append(Heading(step[:1].upper() + step[1:]))
        said = _reason(line, citations)
        if said and said != reason:
            reason, of = said, ""
            out.append(para(said, "remark", indent=1, close=True))
        cited = citations.cite(line.sources)
        out.append(Para((*words(line.text, "name"), ("number", f" [{cited}]")), 2 if said else 1, close=True))
        if line.applies_to and not members:
            out.append(
                para(f"Bears on: {'; '.join(shortened(line.applies_to, SHOWN_MEMBERS))}", "remark", indent=3, close=True)
            )
        elif line.applies_to and len(line.applies_to) < members:
            named = f"{len(line.applies_to)} of {members}: {'; '.join(shortened(line.applies_to, SHOWN_MEMBERS))}"
            out += [para(named, "remark", indent=3, close=True)] if named != of else []
            of = named
    return out + citations.blocks()


def _reason(line: Care, citations: Citations) -> str:
    """ "because it has a cutting edge [3]"; empty for a line that always stands."""
    if not line.because:
        return ""
    lead = "because " if ":" in line.because else "because it "
    pieces = {"some pieces": ", in some pieces", "inferred": ", as inferred"}.get(line.status, "")
    cited = citations.cite(line.fact_sources)
    return f"{lead}{line.because}{pieces}{f' [{cited}]' if cited else ''}"
