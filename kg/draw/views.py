"""The views of a drawing before they have a page, for whoever sets them in another one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from kg.draw.make import Subject
from kg.draw.table import table_of

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.draw.sheet import Sheet


def sheet_of(catalogue: Catalogue, pattern: str) -> Sheet:
    """The views of one pattern (a short name). Raises CatalogueError (BL-C04) if the drawing table is wrong."""
    facts = catalogue.context.reader.facts([pattern])[pattern]
    return Subject(pattern, facts, table_of(Path(catalogue.root)), catalogue.vocabulary).sheet
