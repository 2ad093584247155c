"""Public lists of competencies, in prose, get a first report; which kind of instrument each means was decided by hand.

Outside sources: the two lists in ``tests/course/public``, with their addresses in the files. What a prose objective means is
the reading of the author of these tests; the expected sets come from SPARQL.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from kg.course.records import Status

PUBLIC = Path(__file__).parent / "public"
MEANT = {
    # Skin staples and what sets and removes them are not in the catalogue; the rest of the list is.
    "jdocs.toml": {
        "scissors": ["Scissors"],
        "needle-holders": ["NeedleHolder"],
        "tissue-forceps": ["TissueForceps"],
        "retractors": ["Retractor"],
        "scalpel": ["ScalpelHandle", "ScalpelBlade"],
        "staples": [],
        "needles": ["SutureNeedle", "NeedleHolder"],
    },
    # Eight skills and tasks that name no instrument, and two classes said by what is done, not by what does it.
    "technology.toml": {
        **{f"C{n}": [] for n in range(1, 9)},
        "I.A.1": ["CuttingInstrument"],
        "I.A.2": ["Clamp"],
        "I.A.3": [],
        "I.A.4": [],
    },
}


@pytest.mark.parametrize("name", MEANT)
def test_a_list_in_prose_gets_a_first_report(catalogue, name: str) -> None:
    found = catalogue.coverage([PUBLIC / name])
    assert [o.id for o in found.objectives] == list(MEANT[name])
    assert found.summary()["met"] == 0  # nobody has confirmed anything
    for objective in found.objectives:
        categories = MEANT[name][objective.id]
        if not categories:
            assert objective.status is Status.UNMAPPED, (objective.id, objective.reading)
            continue
        assert objective.status is Status.UNCONFIRMED
        kinds = " ".join(f"bl:{c}" for c in categories)
        query = f"""PREFIX bl: <https://boxlock.example/ns#> PREFIX graph: <https://boxlock.example/graph/>
        SELECT DISTINCT ?p WHERE {{ VALUES ?c {{ {kinds} }} GRAPH graph:holds {{ ?p a bl:Pattern, ?c }} }}"""
        wanted = {row["p"].short for row in catalogue.store.select(query)}
        assert {n for n, _ in objective.instruments} == wanted, (objective.id, objective.reading)
