"""Whether a description says enough for instruments to be named from it.

The figures were chosen by measuring (``python -m tests.bench.described``): the right one has to be among the few named first, and
where that cannot be had the description is refused with what is missing.
"""

from __future__ import annotations

from collections.abc import Sequence

from kg.identify.records import Identification

FIRST_FEW = 5
LEAST_SURE = 0.46
LEAST_CLEAR = 0.2
"""Where a name is asked for, the first few candidates together have this probability or more; the higher one where words that
may weigh had to be left out."""
LEAST_UNASKED = 0.6
AGREED_UNASKED = 3
"""Where none is asked for: so much probability, and so many things said that the first candidate answers to."""
LEAST_FITTING = 0.15
MOST_FITTING = 6
"""Candidates that answer to all that is said are named below those figures too, if they are so few and so likely."""


def sure(outcome: Identification, missing: Sequence[str], *, asked: bool) -> bool:
    """Whether the candidates of an outcome may be named. ``missing``: the words of weight that were not understood; ``asked``:
    whether the name of an instrument was asked for."""
    if not outcome.candidates or not outcome.seen:
        return False
    first = outcome.candidates[0]
    share = sum(c.probability for c in outcome.candidates[:FIRST_FEW])
    alike = sum(c.probability >= first.probability / 2 for c in outcome.candidates)
    all_fits = not first.disagrees and not first.unknown and alike <= MOST_FITTING and share >= LEAST_FITTING
    if asked:
        if len(missing) > len(outcome.seen):
            return False
        if all_fits and len(missing) < len(outcome.seen):
            return True
        return share >= (LEAST_SURE if missing else LEAST_CLEAR)
    if missing:
        return False
    return all_fits or (share >= LEAST_UNASKED and len(first.agrees) >= AGREED_UNASKED and not first.disagrees)
