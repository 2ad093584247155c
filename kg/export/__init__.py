"""Study lists and handouts: any answer as a file, by the file's ending.

    question --gather--> Handout --text, table, page, paper, graph--> Markdown, CSV, XLSX, JSON, HTML, PDF, Turtle, JSON-LD

``make_handout`` collects what a handout says, ``handout_bytes`` writes it in one form, ``export`` does both and puts the file
in its place, whole or not at all. ``open_export`` opens an exported Turtle or JSON-LD file as a catalogue.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from kg.errors import InputError
from kg.export.wishes import COVERS, ORDERS, PAPERS, Wishes

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.export.handout import Handout

__all__ = ["COVERS", "FORMATS", "ORDERS", "PAPERS", "Wishes", "export", "handout_bytes", "make_handout", "open_export"]

FORMATS = {
    ".html": "a page for phone, desk and printer",
    ".pdf": "paper",
    ".md": "Markdown",
    ".csv": "a table",
    ".xlsx": "a workbook",
    ".json": "JSON",
    ".ttl": "Turtle, with the evidence; it loads back",
    ".jsonld": "JSON-LD, with the evidence; it loads back",
}
"""Ending of a file -> what it holds."""
GRAPHS = (".ttl", ".jsonld")
PICTURED = (".html", ".pdf")
COVERED = (".html", ".pdf", ".md", ".csv", ".xlsx")


def export(
    catalogue: Catalogue,
    question: str,
    path: Path | None = None,
    wishes: Wishes | None = None,
    *,
    replace: bool = False,
    say: Callable[[str], None] = lambda _: None,
) -> Path:
    """Writes the answer to a question into a file and returns its path.

    Without ``path`` it is an HTML page in the folder one is in, named after its title. A file that is there already is
    overwritten only with ``replace``. Raises QuestionError if the question is not understood; InputError: BL-I01 for a
    wish that cannot be met, an ending that is none of ``FORMATS`` or a package that is not installed, BL-I02 if the file
    cannot be written.
    """
    from kg.export.marks import slug
    from kg.files import refuse_existing, write_bytes

    wishes = wishes or Wishes()
    ending = path.suffix.lower() if path else ".html"
    _check_ending(ending, wishes, path)
    if path is not None:
        refuse_existing(path, replace=replace)
    if ending in GRAPHS:
        from kg.export.graph import graph_bytes

        assert path is not None
        say("reading the evidence behind the answer")
        write_bytes(path, graph_bytes(catalogue, question, wishes, ending), replace=replace)
        return path
    handout = make_handout(catalogue, question, wishes, pictured=ending in PICTURED)
    path = path or Path(f"{slug(handout.title)}.html")
    write_bytes(path, handout_bytes(handout, ending), replace=replace)
    return path


def make_handout(catalogue: Catalogue, question: str, wishes: Wishes | None = None, *, pictured: bool = True) -> Handout:
    """What a handout says, before it is written. ``pictured``: with drawings, if the wishes do not say otherwise.

    Raises QuestionError and InputError as ``export`` does.
    """
    from kg.export.gather import make_handout as gather

    wishes = wishes or Wishes()
    return gather(catalogue, question, wishes, draw=_drawer(catalogue) if pictured and wishes.drawings else None)


def handout_bytes(handout: Handout, ending: str) -> bytes:
    """A handout as the bytes of a file with one of the endings of ``FORMATS`` but those of graphs.

    Raises InputError (BL-I01) for another ending, or if the package that writes it is not installed.
    """
    if ending == ".html":
        from kg.export.page import to_page

        return to_page(handout).encode()
    if ending == ".pdf":
        from kg.export.paper import to_paper

        return to_paper(handout)
    if ending == ".md":
        from kg.export.text import to_text

        return to_text(handout).encode()
    from kg.export import table

    if ending == ".csv":
        return table.to_csv(handout).encode()
    if ending == ".xlsx":
        return table.to_workbook(handout)
    if ending == ".json":
        from kg.render.data import json_text

        return json_text(table.to_json(handout)).encode()
    raise InputError("BL-I01", f"A handout cannot be written as {ending[:20]!r}.", hint=_endings())


def open_export(path: Path, say: Callable[[str], None] = lambda _: None) -> Catalogue:
    """Opens an exported Turtle or JSON-LD file as a catalogue: what its sources say is adopted and reasoned over again.

    Raises InputError: BL-I02 if it cannot be read, BL-I03 if it is no such file, BL-I04 if it is too large.
    """
    from kg.export.reopen import open_export as opened

    return opened(path, say)


def _drawer(catalogue: Catalogue) -> Callable[[str], str] | None:
    """What draws a pattern."""
    from kg.export.figure import figure

    return lambda pattern: figure(catalogue, pattern)


def _check_ending(ending: str, wishes: Wishes, path: Path | None) -> None:
    if ending not in FORMATS:
        what = f"The name of the file does not say what to write: {ending or 'it has no ending'}."
        raise InputError("BL-I01", what[:120], file=str(path), hint=_endings())
    if wishes.photos and ending not in PICTURED:
        raise InputError("BL-I01", f"Photographs cannot be put into {FORMATS[ending]}.", hint="They can be in .html and .pdf.")
    if wishes.cover not in ("", "nothing") and ending not in COVERED:
        what = f"Nothing can be covered in {ending}: it is for programs, and complete."
        raise InputError("BL-I01", what, hint=f"These can be covered: {', '.join(COVERED)}.")


def _endings() -> str:
    return "These work: " + ", ".join(f"{ending} ({what})" for ending, what in FORMATS.items()) + "."
