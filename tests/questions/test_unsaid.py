"""What is on record for one thing and not for another."""

from __future__ import annotations

import pytest

from kg import QuestionError, open_catalogue
from kg.catalogue import Catalogue


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return open_catalogue()


def _listed(catalogue: Catalogue, question: str) -> set[str]:
    return {m.label for m in catalogue.ask(question, limit=1000).matches}


def test_what_is_denied_is_left_out_where_it_is_on_record(catalogue: Catalogue) -> None:
    for both, one, other in (
        ("used in thyroidectomy but not in laparotomy", "used in thyroidectomy", "used in laparotomy"),
        ("used in caesarean section but not in hysterectomy", "used in caesarean section", "used in hysterectomy"),
    ):
        found = catalogue.ask(f"Which instruments are {both}?", limit=1000)
        fit, held = (_listed(catalogue, f"instruments {said}") for said in (one, other))
        assert {m.label for m in found.matches} and {m.label for m in found.matches} <= fit - held
        assert any("recorded" in note for note in found.notes)
        assert len(found.matches) == catalogue.ask(f"How many instruments are {both}?").count


def test_a_family_told_by_its_purpose_is_left_out(catalogue: Catalogue) -> None:
    bone, saws = _listed(catalogue, "instruments used on bone"), _listed(catalogue, "bone saws")
    assert _listed(catalogue, "Name the bone instruments except the saws.") == bone - saws


def test_what_is_excepted_is_left_out_of_a_family(catalogue: Catalogue) -> None:
    forceps, bone = _listed(catalogue, "forceps"), _listed(catalogue, "forceps used on bone")
    found = _listed(catalogue, "All forceps other than those used on bone.")
    assert found and found <= forceps - bone


def test_where_all_that_is_said_is_denied_nothing_is_added(catalogue: Catalogue) -> None:
    for question in ("Which instruments are not used on bone?", "Which clamps are not crushing?"):
        assert not any("seldom recorded" in note for note in catalogue.ask(question).notes)


def test_what_a_patient_needs_stays_refused(catalogue: Catalogue) -> None:
    with pytest.raises(QuestionError):
        catalogue.ask("Is a Kelly safe for my patient?")


def test_a_family_not_of_a_branch_of_surgery_is_known_by_where_it_is_used(catalogue: Catalogue) -> None:
    found = _listed(catalogue, "self-retaining retractors that are not abdominal")
    assert found and not found & _listed(catalogue, "self-retaining retractors used in abdominal surgery")
    assert not _listed(catalogue, "Which scissors are not crushing?")


def test_what_is_on_record_instead_is_told(catalogue: Catalogue) -> None:
    found = catalogue.ask("Does a number 24 blade fit a number 3 handle?")
    assert found.argument is not None and found.argument.holds == "not recorded"
    assert any("No. 4 scalpel handle" in note for note in found.notes)


def test_what_is_hardly_ever_denied_is_left_out_by_the_record(catalogue: Catalogue) -> None:
    found = _listed(catalogue, "Which retractors are neither sharp nor self-retaining?")
    held, sharp = (_listed(catalogue, f"retractors {said}") for said in ("that are held by hand", "with sharp prongs"))
    assert {"Langenbeck retractor", "Deaver retractor"} <= found <= held - sharp
    screw = _listed(catalogue, "Which retractors have a thumb screw rather than a ratchet?")
    assert screw and not screw & _listed(catalogue, "retractors with a ratchet")
    assert "bone chisel" not in _listed(catalogue, "Which instruments for bone are neither sharp nor hinged?")
    assert not _listed(catalogue, "Which scissors are not sharp?")
