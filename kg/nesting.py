"""How deep a text is nested, told before a parser sees it that ends the process, or never ends, on what is too deep.

Measured: 200,000 triple terms in each other, closed, end the process of the store's library; 30,000 JSON objects in each
other (700 kB) it does not read in 40 seconds; nor does the standard library a TOML key of 50,000 parts (100 kB). Nothing that
is exported or added here is nested beyond a few brackets.
"""

from __future__ import annotations

import re

MOST_TERMS = 1_000
"""``<<`` in a Turtle text, in whatever place: openings alone are counted, since what closes may stand in a comment."""
DEEPEST_JSON = 100
MOST_DOTS = 100
"""Parts of one key of TOML."""
_JSON = re.compile(rb'"(?:[^"\\]|\\.)*"|[\[\]{}]', re.DOTALL)
_STEP = {b"[": 1, b"{": 1, b"]": -1, b"}": -1}
_QUOTED = re.compile(r'"(?:[^"\\\n]|\\.)*"|' + r"'[^'\n]*'")
_DOT = re.compile(r"[^\s.,][ \t]*\.[ \t]*(?=[^\s.,])")


def too_deep(data: bytes, *, json: bool = False) -> str:
    """Why the text of Turtle or TriG (or JSON-LD) must not be parsed, for people; empty if it may be. Linear in its length."""
    if not json:
        what = f"more than {MOST_TERMS:,} times <<, which begins a statement about a statement"
        return what if data.count(b"<<") > MOST_TERMS else ""
    depth = 0
    for found in _JSON.finditer(data):
        depth += _STEP.get(found[0], 0)
        if depth > DEEPEST_JSON:
            return f"brackets are nested more than {DEEPEST_JSON} deep"
    return ""


def too_dotted(text: str) -> int:
    """The first line of a TOML text with a key of too many parts, 0 if there is none; what is quoted is not counted."""
    for number, line in enumerate(text.split("\n"), 1):
        if line.count(".") > MOST_DOTS and len(_DOT.findall(_QUOTED.sub("q", line))) > MOST_DOTS:
            return number
    return 0
