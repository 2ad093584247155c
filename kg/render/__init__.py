"""Records -> text, Markdown, CSV and JSON. Knows no terminal: lines are lists of (style, text), see ``spans``.

    answer, error, result, findings -> blocks (what is said) -> lines of a width (layout), or Markdown
                                    -> JSON and CSV (data), complete where a text is shortened

The functions import what they need when called, so that JSON does not pay for the layout of text.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from kg.course.planned import Plan
    from kg.course.records import Coverage
    from kg.course.stationed import Circuit
    from kg.draw import Drawing
    from kg.errors import BoxlockError
    from kg.identify import Claim, Identification
    from kg.intake.inspect import Inspection
    from kg.model import Answer, Finding
    from kg.rehearse import Marked, Sheet
    from kg.render.blocks import Block
    from kg.render.spans import Line
    from kg.store.sandbox import RawResult

__all__ = [
    "addition_lines",
    "answer_lines",
    "answer_markdown",
    "block_lines",
    "claim_lines",
    "coverage_lines",
    "coverage_markdown",
    "drawing_lines",
    "error_lines",
    "finding_lines",
    "identification_lines",
    "identification_markdown",
    "marked_lines",
    "plan_lines",
    "plan_markdown",
    "plan_page",
    "raw_lines",
    "sheet_lines",
    "sheet_markdown",
    "stations_lines",
    "stations_markdown",
    "stations_page",
    "total_lines",
]


def block_lines(blocks: Iterable[Block], width: int) -> list[Line]:
    """Blocks as lines of at most ``width`` columns."""
    from kg.render.layout import lay_out

    return lay_out(blocks, width)


def answer_lines(answer: Answer, width: int, *, plain: bool = False) -> list[Line]:
    """An answer of any kind as lines of at most ``width`` columns. Never empty. ``plain``: sketches in ASCII only."""
    from kg.render.answers import answer_blocks

    return block_lines(answer_blocks(answer, plain=plain), width)


def answer_markdown(answer: Answer) -> str:
    """An answer of any kind as Markdown."""
    from kg.render.answers import answer_blocks
    from kg.render.markdown import to_markdown

    return to_markdown(answer_blocks(answer))


def error_lines(error: BoxlockError, width: int) -> list[Line]:
    """An error with the marked question and what would work, as lines of at most ``width`` columns."""
    from kg.render.faults import error_blocks

    return block_lines(error_blocks(error, width), width)


def addition_lines(found: Inspection, folder: Path | None, width: int) -> list[Line]:
    """What was added to the user's own catalogue, and what follows from it. ``folder`` None: nothing was written."""
    from kg.render.reports import addition_blocks

    return block_lines(addition_blocks(found, folder), width)


def raw_lines(result: RawResult, width: int) -> list[Line]:
    """The result of a raw query. Tables fit ``width``; triples stay one a line."""
    from kg.render.reports import raw_blocks

    return block_lines(raw_blocks(result), width)


def finding_lines(findings: Sequence[Finding], consistent: bool | None, width: int) -> list[Line]:
    """What ``check`` found, and whether the catalogue is consistent (None: not known)."""
    from kg.render.reports import finding_blocks

    return block_lines(finding_blocks(findings, consistent), width)


def identification_lines(outcome: Identification, width: int, *, brief: bool = False) -> list[Line]:
    """An identification as lines of at most ``width`` columns; ``brief`` as at the prompt."""
    from kg.render.identify import identification_blocks

    return block_lines(identification_blocks(outcome, brief=brief), width)


def identification_markdown(outcome: Identification) -> str:
    """An identification as Markdown."""
    from kg.render.identify import identification_blocks
    from kg.render.markdown import to_markdown

    return to_markdown(identification_blocks(outcome))


def drawing_lines(drawing: Drawing, file: str, width: int) -> list[Line]:
    """What a drawing shows and where it was written (empty: nowhere), as lines of at most ``width`` columns."""
    from kg.render.drawing import drawing_blocks

    return block_lines(drawing_blocks(drawing, file), width)


def claim_lines(claim: Claim, width: int) -> list[Line]:
    """What speaks for and against one name, as lines of at most ``width`` columns."""
    from kg.render.identify import claim_blocks

    return block_lines(claim_blocks(claim), width)


def coverage_lines(found: Coverage, width: int) -> list[Line]:
    """What a course covers as lines of at most ``width`` columns; long lists are cut."""
    from kg.render.coverage import coverage_blocks

    return block_lines(coverage_blocks(found), width)


def coverage_markdown(found: Coverage) -> str:
    """What a course covers as Markdown, whole."""
    from kg.render.coverage import coverage_blocks
    from kg.render.markdown import to_markdown

    return to_markdown(coverage_blocks(found, whole=True))


def plan_lines(plan: Plan, width: int) -> list[Line]:
    """A plan as lines of at most ``width`` columns."""
    from kg.render.plan import plan_blocks

    return block_lines(plan_blocks(plan), width)


def plan_markdown(plan: Plan) -> str:
    """A plan as Markdown, each running order a table."""
    from kg.render.markdown import to_markdown
    from kg.render.plan import plan_blocks

    return to_markdown(plan_blocks(plan, tables=True))


def plan_page(plan: Plan) -> str:
    """A plan as a page in HTML that needs nothing beside itself."""
    from kg.render.page import to_page
    from kg.render.plan import plan_blocks

    return to_page(plan_blocks(plan, tables=True), "Plan of sessions")


def stations_page(circuit: Circuit, sheet: str) -> str:
    """A circuit of stations as a page in HTML that needs nothing beside itself."""
    from kg.render.page import to_page
    from kg.render.stations import stations_blocks

    return to_page(stations_blocks(circuit, sheet, tables=True), "Examination stations")


def stations_lines(circuit: Circuit, sheet: str, width: int) -> list[Line]:
    """A circuit of stations as lines of at most ``width`` columns. ``sheet``: candidate, examiner or both."""
    from kg.render.stations import stations_blocks

    return block_lines(stations_blocks(circuit, sheet), width)


def stations_markdown(circuit: Circuit, sheet: str) -> str:
    """A circuit of stations as Markdown, the marks of each station as a table."""
    from kg.render.markdown import to_markdown
    from kg.render.stations import stations_blocks

    return to_markdown(stations_blocks(circuit, sheet, tables=True))


def sheet_lines(sheet: Sheet, width: int, *, covered: bool = False, marked: Mapping[int, Marked] | None = None) -> list[Line]:
    """A rehearsal as lines; ``covered``: without answers; ``marked``: with the marks of written answers."""
    from kg.render.rehearse import sheet_blocks

    return block_lines(sheet_blocks(sheet, covered=covered, marked=marked), width)


def sheet_markdown(sheet: Sheet, *, covered: bool = False, marked: Mapping[int, Marked] | None = None) -> str:
    """A rehearsal as Markdown."""
    from kg.render.markdown import to_markdown
    from kg.render.rehearse import sheet_blocks

    return to_markdown(sheet_blocks(sheet, covered=covered, marked=marked))


def marked_lines(marked: Marked, width: int) -> list[Line]:
    """One marked answer at the prompt."""
    from kg.render.facts import Citations
    from kg.render.rehearse import marked_blocks

    citations = Citations()
    blocks = marked_blocks(marked, citations, brief=True)
    return block_lines([*blocks, *citations.blocks()], width)


def total_lines(marked: Sequence[Marked], width: int) -> list[Line]:
    """All marks of a rehearsal together."""
    from kg.render.rehearse import total_block

    return block_lines([total_block(marked)], width)
