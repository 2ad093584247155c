"""Bytes of a file -> text, within limits and in a known encoding."""

from __future__ import annotations

import codecs
from pathlib import Path

from kg.intake.rows import Place, Report
from kg.intake.tables import EVIDENCE

LARGEST_FILE = 8_000_000
"""Bytes. Ten thousand rows take about a million; a larger file is a mistake or an attack."""


def read_bytes(path: Path, shown: str, report: Report, if_empty: str = EVIDENCE.if_empty) -> bytes | None:
    """The contents, or None with a finding: not there, no plain file, too large, empty (with the remedy ``if_empty``)."""
    place = Place(shown)
    try:
        if not path.is_file():
            what = "this is a folder" if path.is_dir() else "there is no such file"
            report.error("BL-I02", place, what, "Check the path.")
            return None
        with path.open("rb") as stream:  # never more than the limit, whatever the file system says of its size
            data = stream.read(LARGEST_FILE + 1)
            size = max(path.stat().st_size, len(data))
    except OSError as e:
        report.error("BL-I02", place, f"the file cannot be read: {e.strerror or e}", "Check the path and the permissions.")
        return None
    except ValueError:
        report.error("BL-I02", place, "this is not the name of a file", "Check the path.")
        return None
    if size > LARGEST_FILE:
        text = f"the file has {size / 1e6:.1f} MB; at most {LARGEST_FILE / 1e6:.0f} MB are read"
        report.error("BL-I04", place, text, "Look for a cell that is far too long, or split the file.")
        return None
    if not data.strip():
        report.error("BL-I03", place, "the file is empty", if_empty)
        return None
    return data


def decode(data: bytes, shown: str, report: Report) -> str | None:
    """UTF-8 (with or without a mark) or UTF-16 with a mark -> text; None with a located finding for anything else."""
    encoding = "utf-8"
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encoding = "utf-16"
    elif data.startswith(codecs.BOM_UTF8):
        encoding = "utf-8-sig"
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as e:
        line = data[: e.start].count(b"\n") + 1 if encoding != "utf-16" else 0
        what = f"byte {e.start + 1} is no {encoding.upper()} text; the file was saved in another encoding"
        report.error("BL-I03", Place(shown, line), what, "Save it as UTF-8 (in a spreadsheet: CSV UTF-8).")
        return None
    nul = text.find("\0")
    if nul >= 0:
        line = text.count("\n", 0, nul) + 1
        what = "there is a NUL character, which no text has; the file is damaged or was saved in another encoding"
        report.error("BL-I03", Place(shown, line), what, "Save it as UTF-8, or as UTF-16 with its mark.")
        return None
    return text
