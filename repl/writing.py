"""Files that a command writes: the form that an ending asks for."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import kg

FORMS = {".md": "markdown", ".csv": "csv", ".json": "json", ".html": "html", ".txt": "text"}
FILE_WIDTH = 100
"""Columns of a text in a file."""


def file_format(name: str, forms: Mapping[str, str] = FORMS) -> str:
    """The form that a file's name asks for. Raises InputError for any other ending (BL-I01), or if there is no such folder
    (BL-I02): better now than after a long search."""
    form = forms.get(Path(name).suffix.lower())
    if form is None:
        what = "The ending of the file does not say what to write."
        raise kg.InputError("BL-I01", what, file=name, hint=f"Use one of: {', '.join(forms)}.")
    if not Path(name).parent.is_dir():
        raise kg.InputError("BL-I02", "There is no such folder to write into.", file=name)
    return form
