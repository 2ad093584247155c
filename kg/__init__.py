"""Boxlock: a knowledge graph of surgical hand instruments that answers plain questions, with its witnesses.

    from kg import open_catalogue
    answer = open_catalogue().ask("non-crushing clamps with longitudinal serration")
    [m.label for m in answer.matches]

    ontology/ --load--> evidence --> reason --> closure --> store
    question --language--> tree --sparql--> store --answer--> Answer --render--> text, JSON, CSV

What is public is in ``__all__``; each name is imported when it is first used, so that ``import kg`` costs nothing. Parts of
the package that are not named here may change.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

_HOMES = {
    "kg.answers_io": (),
    "kg.build": ("release",),
    "kg.catalogue": ("Catalogue", "open_catalogue", "rebuild"),
    "kg.errors": ("CODES", "BoxlockError", "CatalogueError", "InputError", "QueryError", "QuestionError", "ReasonerError"),
    "kg.examples": ("Example", "examples"),
    "kg.model": (
        "Answer",
        "Argument",
        "Comparison",
        "Difference",
        "Disputed",
        "Finding",
        "Grouped",
        "Match",
        "Possible",
        "Quote",
        "Reason",
        "Valued",
    ),
    "kg.paths": ("generated_dir", "history_file", "ontology_dir"),
}
