"""A file of written answers: each begins on a line of its own with the number of its question and a full stop."""

from __future__ import annotations

import re
from pathlib import Path

from kg.errors import InputError
from kg.files import read_limited

LARGEST = 1_000_000
_NUMBER = re.compile(r"\s*(\d{1,4})\s*[.):]\s*(.*)")


def read_answers(path: Path, known: range) -> dict[int, str]:
    """number of a question -> the answer, lines joined. ``known``: the numbers that there are.

    Raises InputError: BL-I02 if the file cannot be read, BL-I04 above a million bytes, BL-I03 with the line for a text before
    the first number, a number twice, or one that is no question's.
    """
    file = str(path)
    try:
        text = read_limited(path, LARGEST, "The file of answers").decode("utf-8-sig")
    except UnicodeDecodeError as e:
        raise InputError("BL-I03", "The answers are not UTF-8 text.", file=file, hint="Save the file as UTF-8.") from e
    out: dict[int, str] = {}
    current = 0
    for line, content in enumerate(text.splitlines(), 1):
        found = _NUMBER.fullmatch(content)
        number = int(found.group(1)) if found else 0
        if found and number in out:
            raise InputError(
                "BL-I03", f"Answer {number} is there twice.", file=file, line=line, hint="Number each answer once."
            )
        if found and number in known:
            current = number
            out[number] = found.group(2).strip()
        elif found and not current:
            wanted = f"from {known.start} to {known.stop - 1}"
            raise InputError("BL-I03", f"There is no question {number}.", file=file, line=line, hint=f"Use numbers {wanted}.")
        elif current:
            out[current] = f"{out[current]}\n{content}".strip()
        elif content.strip():
            hint = 'Begin each answer with the number of its question: "1. It has finger rings, ..."'
            raise InputError("BL-I03", "This line belongs to no answer.", file=file, line=line, hint=hint)
    return out
