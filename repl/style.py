"""What the styles of ``kg.render`` look like in colour: one table. Meaning never hangs on colour: the words say all."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from kg import Line

# Style -> parameters of the "select graphic rendition" sequence; styles that are missing look like the rest.
SGR = {
    "heading": "1",
    "query": "36",
    "source": "2",
    "remark": "2",
    "number": "2",
    "code": "2",
    "dispute": "33",
    "caution": "33",
    "error": "31",
    "mark": "1;31",
}


def paint(lines: Sequence[Line], colour: bool) -> str:
    """The lines as text with line ends; with escape sequences only if ``colour``."""
    if not colour:
        return "".join("".join(text for _, text in line).rstrip() + "\n" for line in lines)
    return "".join("".join(_painted(style, text) for style, text in line) + "\n" for line in lines)


def _painted(style: str, text: str) -> str:
    code = SGR.get(style)
    return f"\x1b[{code}m{text}\x1b[0m" if code and text.strip() else text
