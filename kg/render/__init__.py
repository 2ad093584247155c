"""Records -> text, Markdown, CSV and JSON. Knows no terminal: lines are lists of (style, text), see ``spans``.

    answer, error, result, findings -> blocks (what is said) -> lines of a width (layout), or Markdown
                                    -> JSON and CSV (data), complete where a text is shortened
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from kg.render.answers import CAUTION, answer_blocks
from kg.render.layout import lay_out
from kg.render.spans import Line, Span, clean, line_width, plain, wrap

if TYPE_CHECKING:
    from kg.errors import BoxlockError
    from kg.model import Answer, Finding
    from kg.store.sandbox import RawResult

__all__ = [
    "CAUTION",
    "Line",
    "Span",
    "answer_lines",
    "answer_markdown",
    "clean",
    "error_lines",
    "finding_lines",
    "lay_out",
    "line_width",
    "plain",
    "raw_lines",
    "wrap",
]


def answer_lines(answer: Answer, width: int) -> list[Line]:
    """An answer of any kind as lines of at most ``width`` columns. Never empty."""
    return lay_out(answer_blocks(answer), width)


def answer_markdown(answer: Answer) -> str:
    """An answer of any kind as Markdown."""
    from kg.render.markdown import to_markdown

    return to_markdown(answer_blocks(answer))


def error_lines(error: BoxlockError, width: int) -> list[Line]:
    """An error with the marked question and what would work, as lines of at most ``width`` columns."""
    from kg.render.faults import error_blocks

    return lay_out(error_blocks(error, width), width)


def raw_lines(result: RawResult, width: int) -> list[Line]:
    """The result of a raw query. Tables fit ``width``; triples stay one a line."""
    from kg.render.reports import raw_blocks

    return lay_out(raw_blocks(result), width)


def finding_lines(findings: Sequence[Finding], consistent: bool | None, width: int) -> list[Line]:
    """What ``check`` found, and whether the catalogue is consistent (None: not known)."""
    from kg.render.reports import finding_blocks

    return lay_out(finding_blocks(findings, consistent), width)
