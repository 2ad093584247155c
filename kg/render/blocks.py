"""What a text is made of before its width is known: paragraphs, headings and tables.

One writer lays them out in columns (``layout``), another writes Markdown (``markdown``). Cells and paragraphs are
tuples of spans; see ``spans`` for the styles.
"""

from __future__ import annotations

from kg.records import Record, record
from kg.render.spans import Span

Spans = tuple[Span, ...]


@record
class Para(Record):
    """A paragraph. ``indent`` is a depth (two columns each); ``lead`` stands before it and is hung, e.g. a number.

    ``close``: no blank line between it and what goes before.
    """

    spans: Spans
    indent: int = 0
    lead: Spans = ()
    close: bool = False


@record
class Heading(Record):
    """A heading over the blocks that follow it closely."""

    text: str
    style: str = "heading"


@record
class Table(Record):
    """Rows of cells under a header; an empty header is not shown. ``key``: so many columns name a row that is stacked.

    ``blank_repeats``: leave out a cell of the first ``blank_repeats`` columns if the row above says the same.
    """

    header: tuple[str, ...]
    rows: tuple[tuple[Spans, ...], ...]
    key: int = 1
    blank_repeats: int = 0
    close: bool = True


@record
class Verbatim(Record):
    """Lines that must not be wrapped, such as a query or triples; one span each."""

    lines: tuple[Span, ...]
    close: bool = False


Block = Para | Heading | Table | Verbatim


def words(text: str, style: str = "") -> Spans:
    """A text as a cell of one span; the empty text as an empty cell."""
    return ((style, text),) if text else ()


def para(text: str, style: str = "", *, indent: int = 0, close: bool = False) -> Para:
    return Para(words(text, style), indent, close=close)
