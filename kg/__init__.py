"""Boxlock: a knowledge graph of surgical hand instruments that answers plain questions, with its witnesses.

>>> from kg import Wishes, export_answer, open_catalogue
>>> catalogue = open_catalogue()
>>> answer = catalogue.ask("self-closing clamps")
>>> [match.label for match in answer.matches]
['bulldog clamp', 'curved bulldog clamp', 'straight bulldog clamp']
>>> catalogue.describe("bulldog clamp").description.use[0].text
'is made for closing a vessel for a time'
>>> catalogue.compare(["Kelly forceps", "Crile forceps"]).comparison.telling_signs[0]
'Extent of the serration — Kelly forceps: serrated over the distal half; Crile forceps: serrated over the full length.'
>>> catalogue.why("bulldog clamp is a self-closing clamp").argument.holds
True
>>> catalogue.identify("ring handle, ratchet, serrated over the distal half", limit=3).candidates[0].label
'Kelly forceps'
>>> export_answer(catalogue, "self-closing clamps", wishes=Wishes(cover="names")).name
'self-closing-clamps.html'

An answer shows itself in a notebook, and ``answer.to_pandas()`` makes a table of it. ``answer.to_json()`` has everything.

    ontology/ --load--> evidence --> reason --> closure --> store
    question --language--> tree --sparql--> store --answer--> Answer --render--> text, Markdown, CSV, JSON

What is public is in ``__all__``; each name is imported when it is first used, so that ``import kg`` costs nothing.
Modules and names that are not listed there may change.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOMES = {
    "kg.build": ("release", "stage"),
    "kg.catalogue": ("Catalogue",),
    "kg.opening": ("open_catalogue", "open_remote", "rebuild"),
    "kg.publish": ("Publication",),
    "kg.changes": ("catalogue_changes", "evidence_files", "evidence_rows"),
    "kg.render.figures": ("changes_blocks", "statistics_blocks"),
    "kg.course.records": ("Coverage",),
    "kg.course.planned": ("Plan",),
    "kg.course.stationed": ("Circuit",),
    "kg.errors": (
        "CODES",
        "BoxlockError",
        "CatalogueError",
        "InputError",
        "QueryError",
        "QuestionError",
        "ReasonerError",
    ),
    "kg.draw": ("Drawing", "Drawn", "drawing", "read_back"),
    "kg.export": ("Wishes", "handout_bytes", "make_handout", "open_export"),
    "kg.export.handout": ("Handout",),
    "kg.intake.inspect": ("EVIDENCE_FORMATS", "Inspection"),
    "kg.intake.template": ("export_template",),
    "kg.identify": ("Identification", "Identifier", "Observation"),
    "kg.language": ("Suggestion", "suggest"),
    "kg.model": (
        "Answer",
        "Argument",
        "Comparison",
        "Description",
        "Difference",
        "Disputed",
        "Finding",
        "Grouped",
        "LookAlike",
        "Match",
        "Possible",
        "Quote",
        "Reason",
        "Spoken",
        "TellingSigns",
        "Valued",
    ),
    "kg.overlay": ("Added", "add_files", "check_files"),
    "kg.paths": ("generated_dir", "history_file", "ontology_dir", "own_dir", "rehearsal_file"),
    "kg.rehearse": ("Fact", "Item", "Mark", "Marked", "Past", "Sheet"),
    "kg.rehearse.answers": ("read_answers",),
    "kg.render.rehearse": ("sheet_csv", "sheet_json"),
    "kg.render": (
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
    ),
    "kg.render.blocks": ("Heading", "Para", "Table", "Verbatim"),
    "kg.render.coverage_data": ("coverage_csv", "coverage_json", "coverage_xlsx"),
    "kg.render.coverage_html": ("coverage_html",),
    "kg.render.data": (
        "answer_csv",
        "answer_json",
        "findings_csv",
        "findings_json",
        "json_text",
        "raw_csv",
        "raw_json",
    ),
    "kg.render.english": ("CAUTION",),
    "kg.render.faults": ("error_json",),
    "kg.files": ("read_limited", "write_bytes", "write_text"),
    "kg.render.identify": ("identification_json",),
    "kg.render.plan": ("plan_csv", "plan_json"),
    "kg.render.stations": ("stations_csv", "stations_json"),
    "kg.render.spans": ("Line", "Span", "clean", "plain"),
    "kg.store.address": ("hide_credentials",),
    "kg.store.sandbox": ("RawResult", "run_raw"),
}
_RENAMED = {
    "export_answer": ("kg.export", "export"),
    "check_ontology": ("kg.check", "check"),
    "findings_consistent": ("kg.check", "consistent"),
    "measure_catalogue": ("kg.statistics", "measure"),
    "publish_catalogue": ("kg.publish", "publish"),
    "TABLE_COLUMNS": ("kg.evidence.table", "COLUMNS"),
}
"""Public names that would hide a module of the package if they were called as they are there."""

_WHERE = {name: (home, name) for home, names in _HOMES.items() for name in names} | _RENAMED

__all__ = sorted(_WHERE)


def __getattr__(name: str) -> Any:
    try:
        home, attribute = _WHERE[name]
    except KeyError:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}") from None
    value = getattr(import_module(home), attribute)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
