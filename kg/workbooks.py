"""A workbook as bytes that hold no time of writing, and that can be made whatever the clock says."""

from __future__ import annotations

import io
import zipfile
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from openpyxl import Workbook

_NEVER = (1980, 1, 1, 0, 0, 0)
"""The first time that an archive can name (APPNOTE 4.4.6); with a clock before it, or after 2107, none can be named at all."""


class _Timeless(zipfile.ZipFile):
    """An archive whose parts all have the same time, since ``zipfile`` fails where the clock is out of the format's range."""

    def writestr(self, name: Any, data: Any, *_: Any, **__: Any) -> None:
        super().writestr(_part(name if isinstance(name, str) else name.filename), data)

    def write(self, filename: Any, arcname: Any = None, *_: Any, **__: Any) -> None:
        with open(filename, "rb") as stream:
            self.writestr(str(arcname or filename), stream.read())


def _part(name: str) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, _NEVER)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.external_attr = 0o644 << 16
    return info


def workbook_bytes(book: Workbook) -> bytes:
    """The file's bytes: parts in a fixed order, without a time; the time in the workbook's own properties stays as it is."""
    from openpyxl.writer.excel import ExcelWriter

    first, out = io.BytesIO(), io.BytesIO()
    with _Timeless(first, "w") as archive:
        stamp = book.properties.modified
        ExcelWriter(book, archive).write_data()
        book.properties.modified = stamp
    with zipfile.ZipFile(first) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in sorted(old.namelist(), key=lambda n: (n != "[Content_Types].xml", n)):
            new.writestr(_part(name), old.read(name))
    return out.getvalue()
