"""A list of which not every condition was understood.

By strong Kleene logic a condition that is not understood is true or false of each pattern, nobody knows which: a pattern that
meets all the others could match and is not known to. So nothing is put among the matches, and nothing is counted as one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from kg.model import Answer, Possible

MOST = 40
"""What fits more patterns than these says too little to be worth telling."""


def left_open(answer: Answer, unread: Sequence[str], limit: int) -> Answer | None:
    """The answer to the part of a question that was understood, with its matches as patterns that could match, at most
    ``limit`` of them listed; None if they are none or more than ``MOST``. Patterns that could not be decided anyway, and
    disputes, are left out."""
    if not 0 < len(answer.matches) <= MOST:
        return None
    missing = tuple(f'"{word}"' for word in unread)
    return replace(
        answer,
        matches=(),
        possible=tuple(Possible(m.name, m.label, missing, "not understood") for m in answer.matches[:limit]),
        possible_count=len(answer.matches),
        pattern_count=0,
        disputed=(),
        unread=tuple(unread),
    )
