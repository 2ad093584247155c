"""What an outside reasoner reports, in one shape for all of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Status = Literal["consistent", "inconsistent", "crashed", "no-java", "timed-out", "not-installed", "not-checked"]


@dataclass(frozen=True)
class Outcome:
    """The result of one run.

    ``status``: *consistent*; *inconsistent* (the axioms and facts contradict each other); *crashed* (the
    engine stopped without an answer); *no-java* (the Java program is not there or cannot be started);
    *timed-out*; *not-installed* (an optional engine is missing); *not-checked* (types were computed by an
    engine that does not look for contradictions). ``types``: individual -> all named classes it belongs to,
    direct and indirect, sorted; individuals without a class of ours are missing. ``unsatisfiable``: classes
    that can have no member. Both are empty unless the status is *consistent* or *not-checked*. ``detail``
    says in plain words what went wrong; ``engine`` names engine and version.
    """

    status: Status
    detail: str = ""
    engine: str = ""
    types: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    unsatisfiable: tuple[str, ...] = ()
