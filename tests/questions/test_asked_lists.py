"""Lists over ratchets, edges, tips and lengths: what the published sources settle is in the list, or rightly out of it."""

from __future__ import annotations

from typing import Any

import pytest


@pytest.mark.parametrize(
    ("asked", "listed"),
    [
        ("needle holders without a cutting edge", "MayoHegarNeedleHolder"),
        ("bowel clamps with a ratchet", "DoyenIntestinalClamp KocherIntestinalClamp LaneIntestinalClamp PayrClamp"),
        ("artery forceps longer than 15 cm", "RochesterCarmaltForceps"),
        ("obstetric forceps with fenestrated blades", "KiellandForceps NevilleBarnesForceps SimpsonForceps WrigleyForceps"),
        ("scissors with blunt tips", "ListerBandageScissors MayoScissors McIndoeScissors MetzenbaumScissors"),
        ("self-retaining retractors with a ratchet", "BalfourRetractor"),
    ],
)
def test_what_is_published_is_listed(catalogue: Any, asked: str, listed: str) -> None:
    matches = {m.name for m in catalogue.ask(asked, limit=1000).matches}
    assert {f"bl:{name}" for name in listed.split()} <= matches


@pytest.mark.parametrize(
    ("asked", "out"),
    [("retractors longer than 50 cm", "DeaverRetractor"), ("double-ended urethral sounds", "CluttonSound")],
)
def test_what_is_published_otherwise_is_out(catalogue: Any, asked: str, out: str) -> None:
    found = catalogue.ask(asked, limit=1000)
    assert f"bl:{out}" not in {m.name for m in (*found.matches, *found.possible)}
