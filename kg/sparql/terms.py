"""RDF terms -> SPARQL text: the only place where a value becomes part of a query."""

from __future__ import annotations

import math
from functools import lru_cache

from kg import names


@lru_cache(maxsize=16_384)
def term(short: str) -> str:
    """A short name as a prefixed name. Raises ValueError for anything else, so that no text can slip into a query."""
    names.expand(short)  # raises for anything that is not a well-formed short name
    return short


def decimal(number: float) -> str:
    """A finite number as an xsd:decimal literal."""
    if not math.isfinite(number):
        raise ValueError(f"not a finite number: {number!r}")
    text = f"{number:.6f}".rstrip("0")
    return text + "0" if text.endswith(".") else text


def values(variable: str, shorts: list[str]) -> str:
    """``VALUES ?v { a b }`` in the order given."""
    return f"VALUES ?{variable} {{ {' '.join(term(s) for s in shorts)} }}"


def prologue(query: str) -> str:
    """The PREFIX lines that a query needs, sorted."""
    used = [p for p in sorted(names.PREFIXES) if f"{p}:" in query]
    return "".join(f"PREFIX {p}: <{names.PREFIXES[p]}>\n" for p in used)
