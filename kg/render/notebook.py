"""What a notebook shows of a record, and an answer as a data frame."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.errors import InputError
from kg.model import Answer
from kg.render.blocks import Block
from kg.render.html import answer_html

if TYPE_CHECKING:
    from pandas import DataFrame

    from kg.identify import Identification


def record_html(record: Answer | Identification) -> str:
    """A record as HTML with a style of its own. Raises TypeError for any other record."""
    return answer_html(_blocks(record))


def _blocks(record: Answer | Identification) -> list[Block]:
    if isinstance(record, Answer):
        from kg.render.answers import answer_blocks

        return answer_blocks(record)
    from kg.identify import Identification

    if isinstance(record, Identification):
        from kg.render.identify import identification_blocks

        return identification_blocks(record)
    raise TypeError(f"there is no way to show a {type(record).__name__}")


def record_frame(answer: Answer) -> DataFrame:
    """The rows of an answer (those of its CSV form, nothing defused). Raises InputError (BL-I01) if pandas is not installed."""
    try:
        import pandas
    except ImportError as e:
        what = "a data frame needs the package pandas, which is not installed"
        raise InputError("BL-I01", what, hint="pip install pandas") from e
    from kg.render.data import answer_tables

    header, rows = answer_tables(answer)[0]
    return pandas.DataFrame([list(row) for row in rows], columns=list(header))
