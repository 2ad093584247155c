"""A reader's own photographs: found by name in a folder, looked at, and carried along as they are. None are shipped.

A file belongs to a pattern if its name without the ending is the pattern's label or the last part of its IRI, whatever the
capitals and whatever divides the words: "Kelly forceps.jpg", "kelly-forceps.JPEG", "KellyForceps.png".
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterable
from pathlib import Path

from kg.errors import InputError
from kg.export.handout import Photo
from kg.files import read_limited
from kg.language.tokens import fold
from kg.vocabulary import Vocabulary

MOST_BYTES = 2_000_000
MOST_PIXELS = 8000
"""The longest side of a picture, in pixels."""
_KINDS = {".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".png": "image/png"}
_PNG = b"\x89PNG\r\n\x1a\n"


def find_photos(folder: Path, vocabulary: Vocabulary, patterns: Iterable[str]) -> dict[str, Photo]:
    """pattern -> its picture. Files of other kinds and of other patterns are passed over.

    Raises InputError: BL-I02 if the folder cannot be read, BL-I03 if a file is not the picture that its name promises or two
    files belong to one pattern, BL-I04 if one is too large.
    """
    wanted: dict[str, str] = {}
    for name in patterns:
        wanted[_key(name.split(":", 1)[1])] = wanted[_key(vocabulary.label(name))] = name
    out: dict[str, Photo] = {}
    try:
        files = sorted(p for p in folder.iterdir() if p.suffix.lower() in _KINDS)
    except (OSError, ValueError) as e:
        why = e.strerror if isinstance(e, OSError) and e.strerror else "the name cannot be used"
        raise InputError("BL-I02", f"The folder of photographs cannot be read: {why}.", file=str(folder)) from e
    for path in files:
        name = wanted.get(_key(path.stem))
        if name is None:
            continue
        if name in out:
            what = f"Two photographs belong to {vocabulary.label(name)}: {out[name].file} and {path.name}."
            raise InputError("BL-I03", what, file=str(path), hint="Keep one of them.")
        out[name] = _read(path)
    return out


def _read(path: Path) -> Photo:
    data = read_limited(path, MOST_BYTES, "The photograph")
    media = _KINDS[path.suffix.lower()]
    found, width, height = look(data)
    if found != media:
        what = f"The file is not the {media.split('/')[1].upper()} picture that its name promises."
        raise InputError("BL-I03", what, file=str(path), hint="Only JPEG and PNG pictures are taken; save it as one of them.")
    if not 0 < width <= MOST_PIXELS or not 0 < height <= MOST_PIXELS:
        what = f"The photograph is {width} by {height} pixels; at most {MOST_PIXELS} a side are taken."
        raise InputError("BL-I04", what, file=str(path), hint="Save a smaller copy of it.")
    return Photo(media, data, path.name)


def look(data: bytes) -> tuple[str, int, int]:
    """(media type, width, height) of a PNG or JPEG picture; an empty type and no size for anything else.

    Read from the headers: PNG (ISO/IEC 15948, chunk IHDR), JPEG (ITU-T T.81, frame header SOFn).
    """
    if data.startswith(_PNG) and data[12:16] == b"IHDR" and b"IEND" in data[-16:]:
        width, height = struct.unpack(">II", data[16:24])
        return "image/png", width, height
    at = 2
    while data.startswith(b"\xff\xd8\xff") and at + 9 <= len(data) and data[at] == 0xFF:
        marker = data[at + 1]
        if marker == 0xFF:
            at += 1
        elif 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            height, width = struct.unpack(">HH", data[at + 5 : at + 9])
            return "image/jpeg", width, height
        else:
            at += 2 + struct.unpack(">H", data[at + 2 : at + 4])[0]
    return "", 0, 0


def _key(text: str) -> str:
    """Letters and digits alone: what is the same however the words are divided."""
    return re.sub(r"[\W_]+", "", fold(text))
