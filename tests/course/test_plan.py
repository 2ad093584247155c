"""A topic cut into sessions: what must hold of every plan, and what the command prints.

The look-alikes are found again here by comparing every two patterns slot by slot; that a best plan is best is tested against
all partitions in ``test_parting.py``.
"""

from __future__ import annotations

import csv
import io
import json
import re
import sys
from itertools import combinations, pairwise
from pathlib import Path

import pytest

pytest.importorskip("ortools", reason="the extra 'course' is part of the extra 'test'")

import kg
from kg.answer.visible import table
from kg.course.minutes import Estimate, own_estimate, read_estimate
from repl.cli import main
from tests.course.alike import alike

TOPICS = [
    ("artery forceps", 45),
    ("artery forceps", 20),
    ("retractors", 30),
    ("scissors", 45),
    ("needle holders", 15),
    ("what looks like the Kelly forceps?", 60),
    ("how many bone rongeurs are there?", 30),
]


@pytest.fixture(scope="module", params=TOPICS, ids=lambda t: f"{t[0]}-{t[1]}")
def planned(request: pytest.FixtureRequest, catalogue: kg.Catalogue) -> tuple[str, int, dict]:
    question, minutes = request.param
    return question, minutes, kg.plan_json(catalogue.plan(question, minutes=minutes, seconds=8))


def labels(plan: dict) -> list[str]:
    return [label for session in plan["sessions"] for label in session["labels"]]


def test_no_session_is_longer_than_the_limit(planned: tuple[str, int, dict]) -> None:
    _, minutes, plan = planned
    for session in plan["sessions"]:
        assert 0 < session["minutes"] <= minutes
        spent = sum(step["minutes"] for step in session["script"])
        assert spent + session["mixed_round"]["minutes"] == session["minutes"]
        assert [step["start"] for step in session["script"]] == [
            sum(s["minutes"] for s in session["script"][:n]) for n in range(len(session["script"]))
        ]


def test_every_instrument_once(planned: tuple[str, int, dict], catalogue: kg.Catalogue) -> None:
    question, _, plan = planned
    answer = catalogue.ask(question)
    matched = {m.label for m in answer.matches} or {a.label for a in answer.look_alikes or ()} | {"Kelly forceps"}
    taught = labels(plan)
    shown = [v for s in plan["sessions"] for step in s["script"] for v in step["shown_with"]]
    assert len(taught) == len(set(taught))
    assert set(taught) | set(shown) == matched
    assert not set(taught) & set(shown)


def test_the_figures_are_those_of_the_sessions(planned: tuple[str, int, dict], catalogue: kg.Catalogue) -> None:
    """Split pairs counted anew by comparing every two instruments of the plan."""
    _, _, plan = planned
    home = {step["label"]: (s["number"], step["iri"].rsplit("#")[-1]) for s in plan["sessions"] for step in s["script"]}
    pairs = split = 0
    for a, b in combinations(home, 2):
        if alike(catalogue, f"bl:{home[a][1]}", f"bl:{home[b][1]}"):
            pairs += 1
            split += home[a][0] != home[b][0]
    values = [figure["value"] for figure in plan["objective"]]
    minutes = [session["minutes"] for session in plan["sessions"]]
    assert plan["lookalike_pairs"] == pairs
    assert values == [split, len(plan["sessions"]), max(minutes) - min(minutes)]
    assert len(plan["split_lookalikes"]) == split
    assert all(f["at_least"] <= f["value"] for f in plan["objective"])
    assert (plan["proof"] == "proved best") == all(f["proved"] for f in plan["objective"])


def test_split_pairs_have_a_reason(planned: tuple[str, int, dict]) -> None:
    _, minutes, plan = planned
    for pair in plan["split_lookalikes"]:
        one, two = pair["sessions"]
        assert one < two
        assert pair["labels"][0] in plan["sessions"][one - 1]["labels"]
        assert pair["labels"][1] in plan["sessions"][two - 1]["labels"]
        assert f"more than {minutes}" in pair["reason"]


def test_easy_before_hard(planned: tuple[str, int, dict]) -> None:
    """Sessions by their mean; within a session blocks of look-alikes by their mean, and in a block one by one."""
    _, _, plan = planned
    means = [session["hardness"] for session in plan["sessions"]]
    assert means == sorted(means)
    for session in plan["sessions"]:
        blocks: list[list[dict]] = []
        for step in session["script"]:
            if step["beside"]:
                blocks[-1].append(step)
            else:
                blocks.append([step])
        for block in blocks:
            hard = [step["hardness"] for step in block]
            assert hard == sorted(hard)


def test_every_step_has_words(planned: tuple[str, int, dict]) -> None:
    _, _, plan = planned
    for session in plan["sessions"]:
        taught = session["labels"]
        for n, step in enumerate(session["script"]):
            assert step["label"] in step["say"]
            assert step["say"].endswith(".")
            assert step["point_at"]
            assert step["ask_next"].endswith("?")
            assert step["expect"].endswith(".")
            assert not step["beside"] or step["beside"] in taught[:n]
        assert sorted(session["mixed_round"]["labels"]) == sorted(taught)


def test_signs_tell_an_instrument_from_its_look_alikes_in_the_session(catalogue: kg.Catalogue) -> None:
    """Every look-alike of the session differs in one of the signs, or is named as not told apart."""
    plan = kg.plan_json(catalogue.plan("artery forceps", minutes=45, seconds=8))
    seen = table(catalogue.context)
    slot = {catalogue.vocabulary.label(c.slot): c for c in seen.columns}
    for session in plan["sessions"]:
        at = {step["label"]: seen.index["bl:" + step["iri"].rsplit("#")[-1]] for step in session["script"]}
        for step in session["script"]:
            columns = [slot[sign["feature"]] for sign in step["signs"]]
            for other, place in at.items():
                if other == step["label"]:
                    continue
                told = any(c.apart[c.of[at[step["label"]]]] & c.recorded & 1 << place for c in columns)
                assert told != (other in step["not_told_from"])


def test_a_disputed_sign_is_marked(catalogue: kg.Catalogue) -> None:
    plan = kg.plan_json(catalogue.plan("artery forceps", minutes=45, seconds=8))
    marked = [
        (step, sign)
        for session in plan["sessions"]
        for step in session["script"]
        for sign in step["signs"]
        if sign["mark"] == "disputed"
    ]
    assert marked
    for step, sign in marked:
        assert f"{sign['feature']}: {sign['value']} (disputed)" in step["point_at"]
        assert f"disagree on the {sign['feature']}" in step["say"] or sign["feature"] in step["rests_on"]["disputed"]


def test_a_disputed_value_is_never_said_bare(catalogue: kg.Catalogue) -> None:
    """The Potts scissors: angled, but a witness says straight (evidence of the catalogue). Where its curvature decides, that is
    said in the contrast, in the answer that is expected and in the list of what was split."""
    looked = 0
    for minutes in (10, 20, 45):
        plan = kg.plan_json(catalogue.plan("scissors", minutes=minutes, seconds=5))
        for session in plan["sessions"]:
            for step in session["script"]:
                for text in (step["say"].split("Beside")[1:], step["expect"].split(";")):
                    for clause in " ".join(text).split(";"):
                        if "angled" in clause and "Potts" in clause:
                            looked += 1
                            assert "angled (disputed)" in clause
        for pair in plan["split_lookalikes"]:
            for sign in pair["deciding_signs"]:
                if sign["feature"] == "curvature" and "Potts scissors" in pair["labels"]:
                    looked += 1
                    assert sign["values"][pair["labels"].index("Potts scissors")].endswith("(disputed)")
    assert looked


def test_without_the_solver_the_line_to_run_is_given(catalogue: kg.Catalogue, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "ortools.sat.python.cp_model", None)
    for ask in (
        lambda: catalogue.plan("artery forceps", minutes=20),
        lambda: catalogue.stations("artery forceps", count=2, seed=1),
    ):
        with pytest.raises(kg.InputError) as caught:
            ask()
        assert caught.value.code == "BL-I09"
        assert "pip install 'boxlock[course]'" in caught.value.hint


def test_the_same_twice(catalogue: kg.Catalogue) -> None:
    one, two = (kg.json_text(kg.plan_json(catalogue.plan("clamps", minutes=45, seconds=8))) for _ in range(2))
    if not json.loads(one)["timed_out"] and not json.loads(two)["timed_out"]:
        assert one == two


def test_the_whole_catalogue_is_planned_in_time(catalogue: kg.Catalogue) -> None:
    plan = catalogue.plan("instruments", minutes=45, seconds=5)
    assert sum(len(s.script) for s in plan.sessions) == catalogue.ask("instruments").pattern_count
    assert max(s.minutes for s in plan.sessions) <= 45
    assert plan.proof == "best found"
    assert 0 < plan.objective[0].at_least < plan.objective[0].value


def test_variants_by_themselves(catalogue: kg.Catalogue) -> None:
    plan = kg.plan_json(catalogue.plan("artery forceps", minutes=60, seconds=5, variants=True))
    assert len(labels(plan)) == len(catalogue.ask("artery forceps").matches)
    assert not any(step["shown_with"] for s in plan["sessions"] for step in s["script"])


# --- limits and estimates -------------------------------------------------------------------------------------------
def test_too_few_minutes_name_the_instrument_and_the_smallest_limit(catalogue: kg.Catalogue) -> None:
    with pytest.raises(kg.InputError) as caught:
        catalogue.plan("artery forceps", minutes=3)
    assert caught.value.code == "BL-P01"
    assert "Halsted mosquito forceps (6)" in caught.value.message
    assert "--minutes 6" in caught.value.hint
    least = catalogue.plan("artery forceps", minutes=6, seconds=3)
    assert max(s.minutes for s in least.sessions) <= 6


def test_minutes_for_each(catalogue: kg.Catalogue) -> None:
    plan = catalogue.plan("bone rongeurs", minutes=10, each=5)
    assert sorted(len(s.script) for s in plan.sessions) == [2, 2, 2, 2]
    with pytest.raises(kg.InputError, match="No session of 10"):
        catalogue.plan("bone rongeurs", minutes=10, each=10.5)


def test_an_estimate_of_ones_own(catalogue: kg.Catalogue, tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text("[minutes]\nmixed = 0\nshow = 2\nthing = 0\nlook_alike = 0\nvariant = 0\n", encoding="utf-8")
    plan = kg.plan_json(catalogue.plan("bone rongeurs", minutes=10, estimate=str(file)))
    assert {step["minutes"] for s in plan["sessions"] for step in s["script"]} == {2.0}
    file.write_text('[minutes.instruments]\n"Kelly" = 7\n', encoding="utf-8")
    own = own_estimate(read_estimate(catalogue.root), str(file), catalogue.pattern_named)
    assert own.instruments == {"bl:KellyForceps": 7}
    assert own.units("bl:KellyForceps", things=50, look_alikes=50, variants=9) == 14


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[minutes]\nshwo = 1\n", '"shwo" means nothing here'),
        ("[minutes]\nshow = -1\n", "from 0 to 1,000"),
        ("[minutes]\nshow = true\n", "from 0 to 1,000"),
        ("[minutes]\nunit = 0\n", "unit lies between"),
        ("minutes = 3\n", "minutes is a table"),
        ("[other]\n", '"other" means nothing here'),
        ("[minutes.instruments]\nqwertz = 3\n", "'qwertz' is no instrument"),
        ('[minutes.instruments]\n"Kelly" = 0\n', "above 0"),
        ("[minutes\n", "cannot be used"),
        ("[minutes]\nlook_alikes_counted = 1.5\n", "whole number"),
        ("[minutes]\nshow = nan\n", "from 0 to 1,000"),
    ],
)
def test_error_a_faulty_estimate(catalogue: kg.Catalogue, tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(kg.InputError) as caught:
        catalogue.plan("scissors", minutes=45, estimate=str(file))
    assert caught.value.code == "BL-I03"
    assert said in caught.value.message


def test_error_no_estimate_there(catalogue: kg.Catalogue, tmp_path: Path) -> None:
    for name in (str(tmp_path / "none.toml"), str(tmp_path), "a\0b"):
        with pytest.raises(kg.InputError) as caught:
            catalogue.plan("scissors", minutes=45, estimate=name)
        assert caught.value.code == "BL-I02"


def test_the_estimate_of_the_ontology_is_the_default(catalogue: kg.Catalogue) -> None:
    assert read_estimate(catalogue.root) == Estimate()
    assert read_estimate(Path("/nowhere")) == Estimate()


# --- questions ------------------------------------------------------------------------------------------------------
def test_nothing_fits(catalogue: kg.Catalogue) -> None:
    plan = catalogue.plan("scissors with a ratchet", minutes=45)
    assert plan.sessions == ()
    assert "nothing to plan" in plan.notes[0]
    text = kg.plain(kg.plan_lines(plan, 80))
    assert "nothing to plan" in text and "local policy" in text


def test_what_could_match_is_counted_and_left_out(catalogue: kg.Catalogue) -> None:
    plan = catalogue.plan("tissue forceps", minutes=45, seconds=5)
    possible = catalogue.ask("tissue forceps").possible_count
    assert possible > 0
    assert plan.possible == possible
    assert any(note.startswith(f"{possible} more instruments could fit the question") for note in plan.notes)


def test_error_a_question_about_no_list(catalogue: kg.Catalogue) -> None:
    with pytest.raises(kg.QuestionError) as caught:
        catalogue.plan("what is a box lock?", minutes=45)
    assert caught.value.code == "BL-Q03"


# --- the command ----------------------------------------------------------------------------------------------------
def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    status = main(list(arguments))
    out = capsys.readouterr()
    return status, out.out, out.err


def test_the_text_names_what_counts_and_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = run(capsys, "plan", "dissecting scissors", "--minutes", "45", "--width", "100")
    assert (status, err) == (0, "")
    assert "Session 1: " in out and "mixed round" in out
    assert re.search(r"split pairs of look-alikes: \d+ of \d+ pairs", out)
    assert "measured nowhere" in out and "local policy" in out
    assert max(map(len, out.splitlines())) <= 100


def test_csv_has_a_row_for_each_instrument(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "plan", "dissecting scissors", "--minutes", "45", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert len(rows) == 14
    assert all(row["say"] and row["point_at"] and row["ask_next"] for row in rows)
    assert [int(r["session"]) for r in rows] == sorted(int(r["session"]) for r in rows)
    assert all(int(b["order"]) == int(a["order"]) + 1 for a, b in pairwise(rows) if a["session"] == b["session"])


@pytest.mark.parametrize(
    ("suffix", "part"),
    [
        ("md", "| min | instrument | say |"),
        ("csv", "session,"),
        ("json", '"sessions"'),
        ("txt", "Session 1"),
        ("html", "<th scope='col'>say</th>"),
    ],
)
def test_to_a_file(capsys: pytest.CaptureFixture[str], tmp_path: Path, suffix: str, part: str) -> None:
    file = tmp_path / f"plan.{suffix}"
    status, out, _ = run(capsys, "plan", "dissecting scissors", "--minutes", "45", "--to", str(file))
    assert status == 0
    assert out.startswith(f"Written to {file}: 2 sessions, proved best.")
    assert part in file.read_text(encoding="utf-8")
    assert [p.name for p in tmp_path.iterdir()] == [file.name]


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (["plan", "scissors"], "BL-I01"),
        (["plan", "scissors", "--minutes", "0"], "BL-I01"),
        (["plan", "scissors", "--minutes", "1e3"], "BL-I01"),
        (["plan", "scissors", "--minutes", "45", "--each", "nan"], "BL-I01"),
        (["plan", "scissors", "--minutes", "45", "--to", "plan.exe"], "BL-I01"),
        (["plan", "scissors", "--minutes", "45", "--to", "/no/such/folder/plan.md"], "BL-I02"),
        (["plan", "qwertz", "--minutes", "45"], "BL-Q02"),
        (["plan", "", "--minutes", "45"], "BL-Q01"),
        (["plan", "scissors", "--minutes", "2"], "BL-P01"),
    ],
)
def test_error_codes(capsys: pytest.CaptureFixture[str], arguments: list[str], code: str) -> None:
    status, out, err = run(capsys, *arguments, "--format", "json")
    assert (status, out) == (2, "")
    assert json.loads(err)["code"] == code
