"""Records -> text, Markdown, CSV and JSON. Knows no terminal: lines are lists of (style, text), see ``spans``.

    answer, error, result, findings -> blocks (what is said) -> lines of a width (layout), or Markdown
                                    -> JSON and CSV (data), complete where a text is shortened

The functions import what they need when called, so that JSON does not pay for the layout of text.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from kg.draw import Drawing
    from kg.errors import BoxlockError
    from kg.identify import Claim, Identification
    from kg.intake.inspect import Inspection
    from kg.model import Answer, Finding
    from kg.render.blocks import Block
    from kg.render.spans import Line
    from kg.store.sandbox import RawResult

__all__ = [
    "addition_lines",
    "answer_lines",
    "answer_markdown",
    "block_lines",
    "claim_lines",
    "drawing_lines",
    "error_lines",
    "finding_lines",
    "identification_lines",
    "identification_markdown",
    "raw_lines",
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
