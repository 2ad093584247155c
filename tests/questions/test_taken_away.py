"""What a list leaves out by the record: further uses behind "only", families that are denied, what sources disagree about.

That a pattern is filed in no family of forceps is what this catalogue's sources say of it; that Mayo scissors cut sutures
beside tissue is theirs too. How lists take them is a rule of this project.
"""

from __future__ import annotations

from typing import Any

import pytest


def _labels(catalogue: Any, question: str) -> set[str]:
    return {m.label for m in catalogue.ask(question, limit=1000).matches}


ONLY = (
    "Which scissors only cut sutures?",
    "Which scissors are meant only for suture cutting?",
    "Which scissors cut nothing but stitches?",
    "scissors only used for cutting sutures",
)


@pytest.mark.parametrize("question", ONLY)
def test_only_leaves_out_what_has_a_further_use(catalogue: Any, question: str) -> None:
    found = catalogue.ask(question, limit=1000)
    labels = {m.label for m in found.matches}
    assert "Littauer stitch scissors" in labels and "Mayo scissors" not in labels
    assert any("Mayo scissors" in note for note in found.notes)


def test_only_of_something_else_leaves_nothing_out(catalogue: Any) -> None:
    assert "Mayo scissors" in _labels(catalogue, "Which scissors are not only for sutures?")
    assert "Mayo scissors" in _labels(catalogue, "Which scissors cut sutures?")


def test_what_is_filed_in_no_family_is_not_of_it(catalogue: Any) -> None:
    labels = _labels(catalogue, "Which ENT instruments are neither specula nor forceps?")
    assert {"Jobson Horne probe", "Eve tonsil snare", "Boyle-Davis mouth gag"} <= labels
    assert not any(label.endswith(("forceps", "speculum")) for label in labels)
    assert "ovum forceps" not in _labels(catalogue, "Which gynaecological instruments are not forceps?")


def test_a_family_beside_another_is_not_left_out_by_its_noun(catalogue: Any) -> None:
    assert "Allis tissue forceps" in _labels(catalogue, "Which clamps are not artery forceps?") | _labels(
        catalogue, "Which instruments with finger rings are not scissors?"
    )


def test_what_sources_disagree_about_must_not_is_left_out(catalogue: Any) -> None:
    found = catalogue.ask("Which instruments must not be used on bowel?", limit=1000)
    labels = {m.label for m in found.matches}
    assert "Gillies dissecting forceps" in labels and "Babcock tissue forceps" not in labels
    assert any("Babcock" in note for note in found.notes)


def test_two_parts_that_are_called_otherwise_elsewhere(catalogue: Any) -> None:
    assert _labels(catalogue, "Which instruments have rings for the fingers but no blades?")
