"""Lists in the order of their lengths: all that fit, none twice, those without a length last."""

from __future__ import annotations

from typing import Any

import pytest


@pytest.mark.parametrize(
    "text",
    [
        "artery forceps by length",
        "rank the artery forceps by length",
        "Give haemostats in order of length.",
        "artery forceps, names and lengths in mm",
        "artery forceps and their lengths",
    ],
)
def test_every_wording_ranks(catalogue: Any, text: str) -> None:
    answer = catalogue.ask(text)
    assert answer.reading == "artery forceps by length"
    listed = [label for group in answer.groups for label in group.labels]
    assert sorted(listed) == sorted(m.label for m in catalogue.ask("artery forceps").matches)
    names = {m.label: m.name for m in answer.matches}
    spans = []
    for group in answer.groups:
        known = {catalogue.context.reader.facts([names[x]], ["bl:length"])[names[x]].known.length for x in group.labels}
        assert len(known) == 1
        spans.append(known.pop())
    assert None not in spans[:-1]
    assert [s for s in spans if s] == sorted(s for s in spans if s)


def test_other_features_still_make_groups(catalogue: Any) -> None:
    assert catalogue.ask("needle holders and their joints").reading == "needle holders by type of joint"
    assert catalogue.ask("clamps with a length").reading == "clamps whose length is recorded"


def test_what_is_made_in_several_ways_has_each_of_them(catalogue) -> None:
    rows = {g.value: g for g in catalogue.ask("which artery forceps have more than 1 curvature?").groups}
    assert {g.count for g in rows.values()} == {2}
    varied = catalogue.context.reader.facts(["bl:CrileForceps"], ["bl:curvature"])["bl:CrileForceps"].known.varies
    assert set(rows["Crile forceps"].labels) == {catalogue.vocabulary.label(v) for v in varied["bl:curvature"]}
    values = {g.value: g.labels for g in catalogue.ask("which curvature has the most artery forceps?").groups}
    assert "Crile forceps" in values["curved"] and "Crile forceps" in values["straight"]
    assert not any(value.startswith("made with") for value in values)
