"""Circuits of stations: the blueprint, no two look-alikes, the same seed the same bytes, nothing given away, honest marks.

Look-alikes are found again by comparing two patterns at a time; what a fact rests on is read from the evidence files.
"""

from __future__ import annotations

import csv
import html
import io
import json
import re
from itertools import combinations
from pathlib import Path

import pytest

pytest.importorskip("ortools", reason="the extra 'course' is part of the extra 'test'")

import kg
from kg.course.blueprint import TASKS, read_marking
from kg.course.steps import Steps
from kg.rehearse.settings import read_settings
from repl.cli import main
from tests.course.alike import alike

TOPICS = [("instruments", 20, 1), ("clamps", 8, 2), ("needle holders or scissors", 10, 3), ("retractors", 12, 4)]
WEAK = ("memory", "common practice", "disputed", "inferred")


@pytest.fixture(scope="module", params=TOPICS, ids=lambda t: f"{t[0]}-{t[1]}-{t[2]}")
def made(request: pytest.FixtureRequest, catalogue: kg.Catalogue) -> tuple[kg.Circuit, dict]:
    question, count, seed = request.param
    circuit = catalogue.stations(question, count=count, seed=seed)
    return circuit, kg.stations_json(circuit, "both")


def shown(item: dict) -> list[str]:
    return ["bl:" + x["iri"].rsplit("#")[-1] for x in item["instruments"]]


def test_no_more_than_asked_for_and_none_twice(made: tuple[kg.Circuit, dict], catalogue: kg.Catalogue) -> None:
    circuit, data = made
    names = [p for item in data["items"] for p in shown(item)]
    assert len(names) == len(set(names))
    assert 0 < len(data["items"]) <= circuit.wanted
    assert [item["number"] for item in data["items"]] == list(range(1, len(data["items"]) + 1))
    matched = {m.name for m in catalogue.ask(circuit.question).matches}
    assert set(names) <= matched


def test_no_look_alikes_in_one_circuit_but_to_be_told_apart(made: tuple[kg.Circuit, dict], catalogue: kg.Catalogue) -> None:
    _, data = made
    pairs = [shown(item) for item in data["items"] if item["task"] == "tell apart"]
    assert all(len(pair) == 2 and alike(catalogue, *pair) for pair in pairs)
    for one, two in combinations([p for item in data["items"] for p in shown(item)], 2):
        assert not alike(catalogue, one, two) or [one, two] in pairs or [two, one] in pairs


def test_a_cell_is_off_by_one_at_most_or_named(made: tuple[kg.Circuit, dict]) -> None:
    """Counted anew from the items; the targets are the shares of the families, tasks even."""
    circuit, data = made
    items = [(item["family"], item["task"]) for item in data["items"]]
    assert sum(cell["target"] for cell in data["blueprint"]) == pytest.approx(circuit.wanted, abs=0.01)
    for cell in data["blueprint"]:
        have = items.count((cell["family"], cell["task"]))
        assert cell["items"] == have
        assert have - cell["target"] < 1.0001
        assert have > cell["target"] - 1 or cell["reason"]
    for share, place in ((data["families"], 0), (data["tasks"], 1)):
        for s in share:
            assert s["items"] == sum(i[place] == s["label"] for i in items)
            assert s["items"] >= int(s["target"]) or s["reason"]
    if len(items) < circuit.wanted:
        assert any(f"Only {len(items)} of the {circuit.wanted} stations" in note for note in data["notes"])


def test_the_targets_follow_the_families(catalogue: kg.Catalogue) -> None:
    """The families counted from the kinds that ``describe`` knows nothing of: by the grouping of a question."""
    data = kg.stations_json(catalogue.stations("needle holders or scissors", count=10, seed=1), "both")
    sizes = {"needle holders": 0, "scissors": 0}
    for name in sizes:
        sizes[name] = catalogue.ask(name).pattern_count or 0
    total = sum(sizes.values())
    for share in data["families"]:
        assert share["target"] == pytest.approx(10 * sizes[share["label"]] / total, abs=0.5)
    assert {round(s["target"], 3) for s in data["tasks"]} == {2.0}


def test_every_step_has_a_mark_and_every_mark_a_source(made: tuple[kg.Circuit, dict]) -> None:
    _, data = made
    for item in data["items"]:
        assert item["marks"] == sum(step["marks"] for step in item["steps"]) > 0
        for step in item["steps"]:
            assert step["marks"] == sum(fact["marks"] for fact in step["facts"]) > 0
            for fact in step["facts"]:
                if fact["marks"] and step["step"] != "name":
                    assert fact["flag"] not in WEAK
                    assert any("no published source found" not in source for source in fact["sources"])
        assert [f["text"] for f in item["facts"]] == [f["text"] for s in item["steps"] for f in s["facts"]]


def test_no_mark_rests_on_memory_or_common_practice(catalogue: kg.Catalogue, ontology_folder: Path) -> None:
    """What only these two files of evidence say of the patterns of a circuit is never marked; read from the files as text."""
    weak = {}
    for name in ("memory", "common-practice"):
        text = (ontology_folder / "evidence" / f"{name}.ttl").read_text(encoding="utf-8")
        title = re.search(r'dcterms:title "([^"]+)"', text)
        assert title
        weak[title.group(1)] = name
    flagged = 0
    for question, count, seed in TOPICS:
        data = kg.stations_json(catalogue.stations(question, count=count, seed=seed), "examiner")
        for item in data["items"]:
            for fact in item["facts"]:
                if fact["sources"] and all(source in weak for source in fact["sources"]):
                    flagged += 1
                    assert fact["marks"] == 0
    assert flagged


def test_both_sides_of_a_dispute_are_accepted_and_earn_no_mark(catalogue: kg.Catalogue) -> None:
    """Disputes on one value as ``ask`` tells them: what is not adopted stands beside the fact, and neither earns a mark."""
    steps = Steps(catalogue.context, read_settings(catalogue.root), read_marking(catalogue.root))
    looked = 0
    for dispute in catalogue.ask("what is disputed about clamps?").disputed:
        feature = next(
            (f for f in catalogue.vocabulary.features.values() if catalogue.vocabulary.label(f.name) == dispute.feature), None
        )
        adopted = dispute.adopted.value
        if feature is None or not feature.single or feature.section or not adopted or "; " in adopted or "share" in adopted:
            continue
        points = [p for step in steps.of("describe", [dispute.name]) for p in step.points]
        about = [p for p in points if {q.value for q in dispute.also_said} & set(p.also)]
        if points:
            looked += 1
            assert about and all(p.flag == "disputed" and p.marks == 0 for p in about), dispute
    assert looked > 3


def test_the_same_seed_the_same_bytes(catalogue: kg.Catalogue) -> None:
    def sheet(seed: int, which: str) -> str:
        circuit = catalogue.stations("clamps", count=6, seed=seed)
        return kg.stations_markdown(circuit, which) + kg.json_text(kg.stations_json(circuit, which))

    for which in ("examiner", "candidate"):
        assert sheet(5, which) == sheet(5, which)
    assert sheet(5, "examiner") != sheet(6, "examiner")


def test_the_same_seed_in_another_process(catalogue: kg.Catalogue) -> None:
    import subprocess
    import sys

    command = [sys.executable, "-m", "repl", "stations", "clamps", "--count", "6", "--seed", "5", "--format", "json"]
    root = Path(__file__).parents[2]
    done = subprocess.run(
        command, capture_output=True, text=True, check=True, cwd=root, env={"PYTHONHASHSEED": "77", "HOME": "/"}
    )
    here = kg.stations_json(catalogue.stations("clamps", count=6, seed=5), "both")
    assert json.loads(done.stdout) == here


# --- the candidate's sheet ------------------------------------------------------------------------------------------
@pytest.mark.parametrize("form", ["json", "csv", "markdown", "html", "text"])
def test_the_candidate_reads_no_name_and_no_answer(made: tuple[kg.Circuit, dict], catalogue: kg.Catalogue, form: str) -> None:
    circuit, data = made
    text = {
        "json": lambda: kg.json_text(kg.stations_json(circuit, "candidate")),
        "csv": lambda: kg.stations_csv(circuit, "candidate"),
        "markdown": lambda: kg.stations_markdown(circuit, "candidate"),
        "html": lambda: html.unescape(
            re.sub(r"<style>.*</style>|<[^>]*>", " ", kg.stations_page(circuit, "candidate"), flags=re.DOTALL)
        ),
        "text": lambda: kg.plain(kg.stations_lines(circuit, "candidate", 100)),
    }[form]()
    said = text.casefold()
    for term in catalogue.vocabulary.by_role("pattern"):
        for name in (term.label, *term.alt):
            assert not re.search(rf"\b{re.escape(name.casefold())}\b", said), name
    for item in data["items"]:
        assert item["prompt"] in re.sub(r"\s+", " ", text)
        assert item["answer"] not in text
        for fact in item["facts"]:
            assert fact["text"].casefold() not in re.sub(r"\s+", " ", said)
    assert "seed" not in said


def test_both_sheets_make_two_files(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    status = main(["stations", "clamps", "--count", "4", "--seed", "1", "--to", str(tmp_path / "circuit.md")])
    out = capsys.readouterr().out
    assert status == 0
    assert sorted(p.name for p in tmp_path.iterdir()) == ["circuit-candidate.md", "circuit-examiner.md"]
    assert out.count("Written to") == 2
    candidate = (tmp_path / "circuit-candidate.md").read_text(encoding="utf-8")
    examiner = (tmp_path / "circuit-examiner.md").read_text(encoding="utf-8")
    assert "lay out" in examiner and "who says so" in examiner
    assert "lay out" not in candidate


def test_one_sheet_makes_one_file(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    for suffix in ("md", "csv", "json", "html", "txt"):
        file = tmp_path / f"sheet.{suffix}"
        arguments = ["stations", "clamps", "--count", "4", "--seed", "1", "--sheet", "candidate", "--to", str(file)]
        assert main(arguments) == 0
        assert file.is_file()
    assert len(list(tmp_path.iterdir())) == 5
    capsys.readouterr()


def test_sheets_carry_the_cautions(made: tuple[kg.Circuit, dict]) -> None:
    circuit, data = made
    for sheet in ("candidate", "examiner"):
        text = kg.plain(kg.stations_lines(circuit, sheet, 80))
        assert "local policy" in text
        assert max(map(len, text.splitlines())) <= 80
    assert "A mark rests only on what a published source says" in " ".join(data["notes"])
    for item in data["items"]:
        if item["task"] == "reprocess":
            assert any("maker's validated instructions" in note for note in item["notes"])


def test_the_examiners_table_has_a_row_for_each_fact(made: tuple[kg.Circuit, dict]) -> None:
    circuit, data = made
    rows = list(csv.DictReader(io.StringIO(kg.stations_csv(circuit, "examiner"))))
    assert len(rows) == sum(len(item["facts"]) for item in data["items"])
    assert sum(int(row["marks"]) for row in rows) == data["marks"]


# --- blueprints and what cannot be had ------------------------------------------------------------------------------
def test_a_blueprint_of_ones_own(catalogue: kg.Catalogue, tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text('[grid.scissors]\nuse = 2\n[grid."needle holders"]\ndescribe = 1\nuse = 1\n', encoding="utf-8")
    data = kg.stations_json(catalogue.stations("instruments", count=4, seed=9, blueprint=str(file)), "both")
    got = sorted((item["family"], item["task"]) for item in data["items"])
    assert got == [("needle holders", "describe"), ("needle holders", "use"), ("scissors", "use"), ("scissors", "use")]
    assert data["own_blueprint"]


def test_what_cannot_be_had_is_named(catalogue: kg.Catalogue, tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text('[grid.scissors]\nuse = 3\n[grid."bone rongeurs"]\nuse = 3\n', encoding="utf-8")
    circuit = catalogue.stations("scissors", count=6, seed=1, blueprint=str(file))
    data = kg.stations_json(circuit, "both")
    missing = {cell["family"]: cell["reason"] for cell in data["blueprint"] if cell["reason"]}
    assert missing["bone rongeurs"] == "no instrument of the topic belongs to it"
    text = kg.plain(kg.stations_lines(circuit, "examiner", 100))
    assert "bone rongeurs, use: 0 instead of 3; no instrument of the topic belongs to it." in text


def test_look_alikes_if_asked_for(catalogue: kg.Catalogue) -> None:
    few = catalogue.stations("artery forceps", count=5, seed=1)
    many = catalogue.stations("artery forceps", count=5, seed=1, look_alikes=True)
    assert len(few.items) < len(many.items)
    assert any("--look-alikes" in note for note in few.notes)
    assert not any("--look-alikes" in note for note in many.notes)


def test_nothing_fits(catalogue: kg.Catalogue) -> None:
    circuit = catalogue.stations("scissors with a ratchet", count=5, seed=1)
    assert circuit.items == ()
    assert "nothing to examine" in circuit.notes[0]
    for sheet in ("candidate", "examiner", "both"):
        assert "local policy" in kg.plain(kg.stations_lines(circuit, sheet, 80))


def test_every_task_can_be_had(catalogue: kg.Catalogue) -> None:
    data = kg.stations_json(catalogue.stations("instruments", count=20, seed=1), "both")
    assert {item["task"] for item in data["items"]} == set(TASKS)


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (["stations", "clamps", "--count", "4"], "BL-I01"),
        (["stations", "clamps", "--seed", "4"], "BL-I01"),
        (["stations", "clamps", "--count", "0", "--seed", "1"], "BL-I01"),
        (["stations", "clamps", "--count", "201", "--seed", "1"], "BL-I01"),
        (["stations", "clamps", "--count", "4", "--seed", "-1"], "BL-I01"),
        (["stations", "clamps", "--count", "4", "--seed", "1", "--sheet", "mine"], "BL-I01"),
        (["stations", "clamps", "--count", "4", "--seed", "1", "--to", "circuit"], "BL-I01"),
        (["stations", "clamps", "--count", "4", "--seed", "1", "--blueprint", "/no/such"], "BL-I02"),
        (["stations", "qwertz", "--count", "4", "--seed", "1"], "BL-Q02"),
        (["stations", "what is a box lock?", "--count", "4", "--seed", "1"], "BL-Q03"),
    ],
)
def test_error_codes(capsys: pytest.CaptureFixture[str], arguments: list[str], code: str) -> None:
    status = main([*arguments, "--format", "json"])
    out = capsys.readouterr()
    assert (status, out.out) == (2, "")
    assert json.loads(out.err)["code"] == code


def test_the_blueprint_of_the_readme_can_be_had(catalogue: kg.Catalogue, tmp_path: Path) -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    text = re.search(r"```toml\n(# blueprint\.toml.*?)```", readme, re.DOTALL)
    assert text
    file = tmp_path / "blueprint.toml"
    file.write_text(text.group(1), encoding="utf-8")
    for seed in range(3):
        data = kg.stations_json(
            catalogue.stations("needle holders or scissors", count=6, seed=seed, blueprint=str(file)), "both"
        )
        assert [cell["items"] for cell in data["blueprint"]] == [cell["target"] for cell in data["blueprint"]]
