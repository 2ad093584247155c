"""What is kept of rehearsals: readable, deletable, and off when it is turned off."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from kg import InputError, Past


def test_only_how_much_was_said_is_kept(catalogue, ask, tmp_path: Path) -> None:
    file = tmp_path / "deep" / "rehearsal.json"
    past = Past(file)
    item = ask("use", "Kelly forceps")
    for text in ("no idea", "to stop bleeding", "", item.answer):
        past.note(catalogue.mark(item, text), "2026-01-02")
    kept = json.loads(file.read_text(encoding="utf-8"))
    assert set(kept) == {"about", "keep", "answers"}
    assert kept["answers"]["use | Kelly forceps"]["asked"] == 4
    assert len(kept["answers"]["use | Kelly forceps"]["shares"]) == 3
    assert "no idea" not in file.read_text(encoding="utf-8")
    assert Past.read(file).missed() == {"Kelly forceps": 0.0}
    assert not list(tmp_path.rglob("*.new"))


def test_it_can_be_turned_off_and_forgotten(catalogue, ask, tmp_path: Path) -> None:
    file = tmp_path / "rehearsal.json"
    past = Past(file)
    marked = catalogue.mark(ask("use", "Kelly forceps"), "")
    past.note(marked, "2026-01-02")
    past.set_keep(False)
    past.note(marked, "2026-01-03")
    again = Past.read(file)
    assert not again.keep and again.answers == {}
    assert again.forget() and not file.exists() and not again.forget()


@pytest.mark.parametrize("text", ["", "[]", "{", '{"keep": true}', '{"keep": true, "answers": {"a": {"shares": [2]}}}'])
def test_a_damaged_file_is_named(tmp_path: Path, text: str) -> None:
    file = tmp_path / "rehearsal.json"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        Past.read(file)
    assert caught.value.code == "BL-I03" and str(file) in caught.value.file
