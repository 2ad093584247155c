"""Whether a description says enough for instruments to be named from it.

The figures were chosen by measuring on some 300 descriptions by people who had not seen the program: the right one has to be
among the few named first, and where that cannot be had the description is refused.
"""

from __future__ import annotations

from collections.abc import Sequence

from kg.identify.records import Identification

FIRST_FEW = 5
LEAST_SURE = 0.58
LEAST_CLEAR = 0.2
"""Where a name is asked for, the first few candidates together have this probability or more; the higher one where words that
may weigh had to be left out."""
AGREED_ASKED = 4
SHARE_ASKED = 0.3
"""Or only so much probability, where the first candidate answers to so many of the things said and to none otherwise, and where
fewer words than half of them are missing."""
AGREED_TOLD = 3
TOLD_SHARE = 0.15
"""Or so little, where a thing is told of at length, and the first answers to so many of the things said and to none otherwise.
That too little was seen is said with the names."""
AGREED_WHOLE = 2
"""Where every word was understood, so many things said that the first candidate answers to: many may, and what to look at next
is told with them."""
LEAST_UNASKED = 0.6
AGREED_UNASKED = 3
"""Where none is asked for: so much probability, and so many things said that the first candidate answers to."""
FEW_UNASKED = 0.3
OPEN_UNASKED = 2
"""Or only so much probability, if few are alike and at most so many of the things said are open of the first."""
LEAST_FITTING = 0.1
LEAST_ALONE = 0.03
"""So much is enough where the first is the only one that answers to all that is said, and is several times as likely as the
next."""
TIMES = 4
MOST_ALIKE = 6
"""Candidates that answer to all that is said are named below those figures too, if they are so few and so likely."""


def sure(outcome: Identification, missing: Sequence[str], *, asked: bool, told: bool = False, family: bool = False) -> bool:
    """Whether the candidates of an outcome may be named. ``missing``: the words of weight that were not understood; ``asked``:
    whether the name of an instrument was asked for; ``told``: whether one thing was told of at length, which asks for it;
    ``family``: whether a family of instruments is said, within which the candidates lie."""
    if not outcome.candidates or not outcome.seen:
        return False
    first = outcome.candidates[0]
    share = sum(c.probability for c in outcome.candidates[:FIRST_FEW])
    alike = sum(c.probability >= first.probability / 2 for c in outcome.candidates) <= MOST_ALIKE
    all_fits = alike and not first.disagrees and not first.unknown and (share >= LEAST_FITTING or _alone(outcome))
    if asked:
        if len(missing) > len(outcome.seen):
            return False
        if all_fits and len(missing) < len(outcome.seen):
            return True
        agreed = len(first.agrees) if not first.disagrees else 0
        if told and agreed >= max(AGREED_TOLD, 3 * len(missing)) and share >= (SHARE_ASKED if missing else TOLD_SHARE):
            return True
        if agreed >= AGREED_ASKED and 2 * len(missing) < agreed and share >= SHARE_ASKED:
            return True
        if family and not missing and agreed >= AGREED_WHOLE and len(first.unknown) < agreed:
            return True
        return share >= (LEAST_SURE if missing else LEAST_CLEAR)
    if missing or first.disagrees:
        return False
    if all_fits or (share >= LEAST_UNASKED and len(first.agrees) >= AGREED_UNASKED):
        return True
    return alike and share >= FEW_UNASKED and len(first.agrees) > 1 and len(first.unknown) <= OPEN_UNASKED


def _alone(outcome: Identification) -> bool:
    """Whether the first candidate stands out, by more than one thing that was said."""
    first, others = outcome.candidates[0], outcome.candidates[1:]
    next_ = max((c.probability for c in others), default=0.0)
    return len(first.agrees) > 1 and first.probability >= max(LEAST_ALONE, TIMES * next_)
