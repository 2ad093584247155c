"""What people say first about the answer before and that asks nothing: "thanks, and the blunt ones?", "ok cool. which have
prongs?" """

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from kg.language.talk import Talk

_FIRST = re.compile(r"\s*([^\W\d_][\w' ]*?)\s*(?:[,.!;:]+|\s[-\u2013\u2014])\s+(?=\S)")


def without_thanks(text: str, talk: Talk) -> str:
    """A follow-up without such words at its beginning, where a mark stands behind them."""
    while (found := _FIRST.match(text)) and " ".join(found[1].casefold().split()) in talk.courtesy:
        text = text[found.end() :]
    return text


__all__ = ["without_thanks"]
