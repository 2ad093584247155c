"""Rehearsing at the prompt and from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from kg import rehearsal_file
from repl.cli import main
from repl.session import PROMPT
from tests.typed import Typed


@pytest.fixture
def typed(catalogue) -> Typed:
    return Typed(catalogue)


def test_a_rehearsal_from_the_first_question_to_the_sum(typed: Typed) -> None:
    shown = typed("rehearse Kelly forceps")
    assert "1." in shown and "Kelly forceps" in shown and typed.session.prompt != PROMPT
    assert "your own words" in typed("how")
    assert " mark" in typed("It has finger rings and a ratchet.")  # one or more: the question is drawn anew each time
    assert "model answer:" in typed("show")
    assert "Left out." in typed("skip")
    assert "Together:" in typed("done")
    assert typed.session.prompt == PROMPT
    kept = json.loads(rehearsal_file().read_text(encoding="utf-8"))
    assert len(kept["answers"]) == 2


def test_what_was_missed_comes_again_after_others(typed: Typed) -> None:
    typed("rehearse artery forceps")
    first = typed.session.mode.waiting[0].key
    order = []
    for _ in range(6):
        order.append(typed.session.mode.waiting[0].key)
        typed("show")
    assert order[0] == first
    assert 3 <= order[1:].index(first) + 1 <= 5


def test_it_ends_by_itself_and_an_error_leaves_it_standing(typed: Typed) -> None:
    typed("test me on Kelly forceps")
    for _ in range(60):
        if typed.session.mode is None:
            break
        typed("show")
    assert typed.session.mode is None
    assert "BL-Q02" in typed("rehearse zorgle") and typed.session.mode is None
    typed("rehearse Kelly forceps")
    assert "BL-I04" in typed("ratchet " * 700)
    assert typed.session.mode is not None


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    status = main(list(arguments))
    out, err = capsys.readouterr()
    return status, out, err


def test_the_sheet_as_json_keeps_the_contract(capsys) -> None:
    status, out, _ = run(capsys, "rehearse", "artery forceps", "--count", "6", "--seed", "3", "--format", "json")
    sheet = json.loads(out)
    assert status == 0 and len(sheet["items"]) == 6
    for item in sheet["items"]:
        assert {"prompt", "answer", "facts"} <= set(item)
        assert all({"text", "sources", "required"} <= set(f) for f in item["facts"])
    assert any("local policy" in note for note in sheet["notes"])
    assert run(capsys, "rehearse", "artery forceps", "--count", "6", "--seed", "3", "--format", "json")[1] == out


@pytest.mark.parametrize("form", ["text", "json", "csv", "markdown"])
def test_a_covered_sheet_has_no_answers(capsys, form: str) -> None:
    arguments = ("rehearse", "Kelly forceps", "--count", "5", "--seed", "1", "--format", form)
    _, whole, _ = run(capsys, *arguments)
    status, covered, _ = run(capsys, *arguments, "--cover")
    assert status == 0
    assert "stopping bleeding" in whole and "critical item" in whole
    assert "is a critical item" not in covered and "VetSurgery" not in covered


def test_written_answers_are_marked(capsys, tmp_path: Path) -> None:
    file = tmp_path / "answers.txt"
    file.write_text("1. it has finger rings,\na ratchet and a box lock\n3. to stop bleeding\n", encoding="utf-8")
    arguments = ("rehearse", "artery forceps", "--count", "4", "--seed", "1", "--answers", str(file))
    status, out, _ = run(capsys, *arguments, "--format", "json")
    sheet = json.loads(out)
    assert status == 0
    assert [item["marked"]["given"] != "" for item in sheet["items"]] == [True, False, True, False]
    assert sheet["earned"] == sum(item["marked"]["earned"] for item in sheet["items"])
    assert "Together:" in run(capsys, *arguments)[1]


@pytest.mark.parametrize(
    ("content", "line", "words"),
    [
        ("hello\n1. ratchet", 1, "belongs to no answer"),
        ("9. ratchet", 1, "no question 9"),
        ("1. a\n2. b\n1. c", 3, "twice"),
    ],
)
def test_a_wrong_file_of_answers_is_refused_with_its_line(capsys, tmp_path: Path, content: str, line: int, words: str) -> None:
    file = tmp_path / "answers.txt"
    file.write_text(content, encoding="utf-8")
    status, _, err = run(capsys, "rehearse", "Kelly forceps", "--count", "3", "--seed", "1", "--answers", str(file))
    assert status == 2 and words in err and f":{line}" in err and "BL-I03" in err


def test_the_record_is_shown_turned_off_and_deleted(capsys) -> None:
    assert "is on" in run(capsys, "rehearse", "--past")[1]
    assert "is off" in run(capsys, "rehearse", "--keep", "off")[1]
    assert json.loads(run(capsys, "rehearse", "--past", "--format", "json")[1])["keep"] is False
    assert "Deleted" in run(capsys, "rehearse", "--forget")[1]
    assert not rehearsal_file().exists()


@pytest.mark.parametrize("arguments", [("--count", "0"), ("--count", "x"), ("--seed", "-1"), ("--keep", "maybe")])
def test_wrong_options_are_refused(capsys, arguments: tuple[str, str]) -> None:
    status, _, err = run(capsys, "rehearse", "Kelly forceps", *arguments)
    assert status == 2 and "BL-I01" in err
