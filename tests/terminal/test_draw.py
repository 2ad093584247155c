"""The command ``draw``: what it writes, says and refuses."""

from __future__ import annotations

import io
import json
import os
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest

import kg
from repl.cli import main

Captured = pytest.CaptureFixture[str]


def run(capsys: Captured, *arguments: str) -> tuple[int, str, str]:
    status = main(arguments)
    shown = capsys.readouterr()
    return status, shown.out, shown.err


def test_one_instrument(capsys: Captured, tmp_path: Path) -> None:
    file = tmp_path / "kelly.svg"
    status, out, err = run(capsys, "draw", "Kelly forceps", "--to", str(file))
    assert status == 0 and err == ""
    assert out.startswith("Drawn: Kelly forceps, written to")
    assert "type of joint: box lock" in out and "Not recorded, dashed or left out: tip shape." in out
    assert "licensed practice decide" in " ".join(out.split())
    assert ElementTree.parse(file).getroot().get("role") == "img"
    assert [f.name for f in tmp_path.iterdir()] == ["kelly.svg"]


def test_several_words_are_one_name_and_two_names_are_two(capsys: Captured, tmp_path: Path) -> None:
    file = str(tmp_path / "x.svg")
    assert run(capsys, "draw", "Kelly", "forceps", "--to", file)[1].startswith("Drawn: Kelly forceps, written")
    assert run(capsys, "draw", "Kelly", "Crile", "--to", file)[1].startswith("Drawn: Kelly forceps and Crile forceps, written")
    assert run(capsys, "draw", "Spencer", "Wells", "forceps", "--to", file)[0] == 0


def test_json(capsys: Captured, tmp_path: Path) -> None:
    file = tmp_path / "x.svg"
    status, out, _ = run(capsys, "draw", "Kelly", "Crile", "--to", str(file), "--format", "json")
    said = json.loads(out)
    assert status == 0 and said["file"] == str(file)
    assert [p["label"] for p in said["patterns"]] == ["Kelly forceps", "Crile forceps"]
    assert said["differences"] == ["extent of the serration: serrated over the distal half / serrated over the full length"]
    assert said["not_recorded"]["Kelly forceps"] == ["tip shape"]
    shown = {(d["feature"].rpartition("#")[2], d["value"].rpartition("#")[2]) for d in said["drawn"]}
    back = {(t.feature.split(":")[1], t.value.split(":")[1]) for t in kg.read_back(file.read_text(encoding="utf-8"))}
    assert shown == back


def test_svg_goes_to_standard_output_without_a_file(capsys: Captured) -> None:
    status, out, _ = run(capsys, "draw", "Kelly forceps", "--format", "svg")
    assert status == 0 and out.startswith("<svg ") and out.endswith("</svg>\n")
    assert ElementTree.fromstring(out) is not None


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (("draw", "Kelly forceps"), "BL-I01"),
        (("draw", "Kelly", "--to", "x.png"), "BL-I01"),
        (("draw", "Kelly", "--to", "/no/such/folder/x.svg"), "BL-I02"),
        (("draw", "Kellly", "--to", "x.svg"), "BL-Q02"),
        (("draw", "Kelly", "Crile", "Allis", "--to", "x.svg"), "BL-I01"),
        (("draw", "--to", "x.svg"), "BL-I01"),
        (("draw", "Kelly", "--to", "x.svg", "--format", "csv"), "BL-I01"),
        (("draw", "", "--to", "x.svg"), "BL-Q01"),
    ],
)
def test_error_what_cannot_be_drawn(
    capsys: Captured, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, arguments: tuple[str, ...], code: str
) -> None:
    monkeypatch.chdir(tmp_path)
    status, out, err = run(capsys, *arguments)
    assert status == 2 and out == "" and code in err and "Traceback" not in err
    assert list(tmp_path.iterdir()) == []


def test_an_old_file_stays_if_it_cannot_be_replaced(capsys: Captured, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "x.svg"
    file.write_text("old", encoding="utf-8")

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", refuse)
    status, _, err = run(capsys, "draw", "Kelly", "--to", str(file))
    assert status == 2 and "BL-I02" in err
    assert file.read_text(encoding="utf-8") == "old" and [f.name for f in tmp_path.iterdir()] == ["x.svg"]


def test_at_the_prompt(capsys: Captured, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    lines = (
        "draw Kelly to a.svg\ndraw Kelly and Crile to b.svg\ndraw Trocar and cannula to c.svg\ndraw Kelly\ndraw a to d.txt\n"
    )
    monkeypatch.setattr("sys.stdin", io.StringIO(lines))
    status, out, err = run(capsys)
    assert status == 2 and err.count("BL-I01") == 2
    assert "Drawn: Kelly forceps and Crile forceps" in out and "Drawn: trocar and cannula" in out
    assert sorted(f.name for f in tmp_path.iterdir()) == ["a.svg", "b.svg", "c.svg"]


def test_plain_sketches(capsys: Captured) -> None:
    assert "│        ┃┃┃┃┃┃┃┃│" in run(capsys, "describe", "Kelly forceps")[1]
    assert "|        |||||||||" in run(capsys, "describe", "Kelly forceps", "--plain")[1]
    assert "|        |||||||||" in run(capsys, "--plain", "compare", "Kelly", "Crile")[1]


def test_a_notebook_shows_a_drawing(catalogue) -> None:
    drawn = catalogue.draw("Kelly forceps")
    assert drawn._repr_svg_() == drawn.svg() and drawn.svg().startswith("<svg ")
    assert len(repr(drawn)) < 20_000
