"""Lists hold the other names of what they list, so that a name from another book is found there.

That a Kocher is the same pattern as a Rochester-Ochsner, and a Lahey clamp as a Mixter, is common practice, with no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from kg import answer_lines, plain
from kg.render.english import known_as


def test_a_list_shows_the_name_of_another_person(catalogue: Any) -> None:
    answer = catalogue.ask("artery forceps with teeth at the tip")
    text = " ".join(plain(answer_lines(answer, 200)).split())
    assert "Kocher forceps also called Ochsner forceps - curved" in text
    told = {m["label"]: m["also_called"] for m in answer.to_json()["matches"]}
    assert "Rochester-Ochsner forceps" in told["Kocher forceps"]
    assert "curved Rochester-Ochsner forceps" in told["curved Kocher forceps"]


@pytest.mark.parametrize(
    ("label", "others", "shown"),
    [
        ("Mixter forceps", ("Lahey", "Lahey clamp", "Lahey forceps", "gall duct forceps"), ["Lahey forceps"]),
        ("Weitlaner retractor", ("Weitlander retractor",), []),  # the same name in another spelling
        ("DeBakey thumb forceps", ("De Bakey forceps", "vascular forceps"), []),
        ("Kilner retractor", ("Lane-Kilner retractor",), []),  # its own name is in it
        ("nasopharyngeal airway", ("NPA", "nasal airway"), []),  # an abbreviation, and common words
        (
            "vein stripper",
            ("A one stripper", "Babcock vein stripper", "Myers vein stripper"),
            ["Babcock vein stripper", "Myers vein stripper"],
        ),
        ("lacrimal probe", (), []),
    ],
)
def test_names_in_common_words_and_other_spellings_are_not_shown(label: str, others: tuple[str, ...], shown: list[str]) -> None:
    assert known_as(label, others) == shown


def test_what_has_the_name_of_a_family_is_listed_where_nothing_of_it_fits(catalogue: Any) -> None:
    """Towel clips are also called towel clamps: common practice, with no source."""
    answer = catalogue.ask("Which clamps hold drapes?")
    assert {"Backhaus towel clip", "non-perforating towel clip"} <= {m.label for m in answer.matches}
    assert any("called clamps by name" in note for note in answer.notes)
    assert not catalogue.ask("which clamps cut bone?").matches
