"""The command line, in this process and in one of its own: output, exit status, and no traceback for any input."""

from __future__ import annotations

import io
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import kg
from repl.cli import main

ROOT = Path(__file__).resolve().parents[2]
HEAVY = ("prompt_toolkit", "rdflib", "owlready2", "pyshacl")

Captured = pytest.CaptureFixture[str]


def run(capsys: Captured, *arguments: str) -> tuple[int, str, str]:
    status = main(arguments)
    shown = capsys.readouterr()
    return status, shown.out, shown.err


def boxlock(*arguments: str, stdin: bytes = b"", **env: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "repl", *arguments],
        input=stdin,
        capture_output=True,
        cwd=ROOT,
        env={**os.environ, **env},
        timeout=120,
        check=False,
    )


# --- answers ----------------------------------------------------------------------------------------------------------
def test_ask_joins_its_words(capsys: Captured) -> None:
    status, out, err = run(capsys, "ask", "non-crushing", "clamps", "with", "longitudinal", "serration")
    assert status == 0 and err == ""
    assert out.startswith("I read this as: non-crushing clamps with longitudinal serration\n\n")
    assert "patterns match (" in out


def test_ask_as_json(capsys: Captured) -> None:
    status, out, _ = run(capsys, "ask", "haemostats serrated over only half the jaw", "--format", "json")
    labels = [m["label"] for m in json.loads(out)["matches"]]
    assert status == 0
    assert "Kelly forceps" in labels and "Crile forceps" not in labels


def test_options_may_stand_before_the_command(capsys: Captured) -> None:
    status, out, _ = run(capsys, "--format", "json", "ask", "artery forceps")
    assert status == 0 and json.loads(out)["kind"] == "filter"


def test_compare_and_why(capsys: Captured) -> None:
    status, out, _ = run(capsys, "compare", "Kelly forceps", "Crile forceps", "--format", "json")
    value = json.loads(out)
    assert status == 0 and value["subjects"] == ["Kelly forceps", "Crile forceps"] and value["telling_signs"]
    status, out, _ = run(capsys, "why", "Doyen intestinal clamp is a non-crushing clamp", "--format", "json")
    value = json.loads(out)
    assert status == 0 and value["holds"] is True and value["justifications"][0][0]["sources"]


@pytest.mark.parametrize("form", ["csv", "markdown"])
def test_other_formats(capsys: Captured, form: str) -> None:
    status, out, _ = run(capsys, "ask", "artery forceps with teeth at the tip", "--format", form)
    assert status == 0
    assert out.startswith("result,label,iri" if form == "csv" else "I read this as: ")


def test_csv_is_not_a_first_page(capsys: Captured) -> None:
    _, out, _ = run(capsys, "ask", "instruments with a screw joint", "--format", "json")
    _, table, _ = run(capsys, "ask", "instruments with a screw joint", "--format", "csv")
    value = json.loads(out)
    assert table.count("\ncould match,") == value["possible_count"] > len(value["not_recorded"])


@pytest.mark.parametrize("width", [20, 40, 80, 120])
def test_width(capsys: Captured, width: int) -> None:
    _, out, _ = run(capsys, "compare", "Kelly forceps", "Crile forceps", "--width", str(width))
    assert max(map(len, out.splitlines())) <= width


def test_no_colour_where_there_is_no_terminal(capsys: Captured) -> None:
    _, out, err = run(capsys, "ask", "clamps with a foo")
    assert "\x1b" not in out + err


# --- errors -----------------------------------------------------------------------------------------------------------
def test_what_is_not_understood_goes_to_standard_error(capsys: Captured) -> None:
    status, out, err = run(capsys, "ask", "clamps with a zzgrip")
    assert (status, out) == (2, "")
    assert "[BL-Q02]\n    clamps with a zzgrip\n                  ^^^^^^\n" in err


def test_errors_as_json(capsys: Captured) -> None:
    status, out, err = run(capsys, "ask", "clamps with a zzgrip", "--format", "json")
    value = json.loads(err)
    assert (status, out) == (2, "")
    assert value["code"] == "BL-Q02" and value["span"] == [14, 20]
    assert set(value) >= {"code", "message", "span", "expected", "near", "readings", "hint"}


def test_advice_is_refused_with_a_reason(capsys: Captured) -> None:
    status, _, err = run(capsys, "ask", "which clamp is best for my patient")
    assert status == 2 and "[BL-Q06]" in err and "local policy" in err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["clamps with a ratchet"], 'To ask a question: boxlock ask "clamps with a ratchet"'),
        (["akS", "x"], "is not a command"),
        (["aks", "x"], "Did you mean: boxlock ask"),
        (["ask", "x", "--format", "xml"], "invalid choice"),
        (["ask", "x", "--width", "5"], "columns from 20 to 1000"),
        (["ask", "x", "--width", "٣٠٠٠٠٠٠"], "columns from 20 to 1000"),
        (["compare", "Kelly forceps"], "two names or more"),
        (["compare"], "required"),
        (["--nonsense"], "nrecognized arguments"),
        (["sparql"], "required"),
        (["--format", "csv"], "invalid choice"),
    ],
)
def test_bad_arguments(capsys: Captured, arguments: list[str], said: str) -> None:
    status, out, err = run(capsys, *arguments)
    assert (status, out) == (2, "")
    assert "[BL-I01]" in err and said in " ".join(err.split())


def test_bad_arguments_as_json(capsys: Captured) -> None:
    status, _, err = run(capsys, "--format=json", "ask", "--width")
    assert status == 2 and json.loads(err)["code"] == "BL-I01"


@pytest.mark.parametrize(
    "question",
    [
        "",
        " ",
        "x" * 100_000,
        "clamp " * 20_000,
        "\x00\x1b[31m\x07",
        "((((clamps",
        "clamps)",
        "Welche Klemme?",
        "鉗子",
        "\udc80",
    ],
)
def test_no_question_gives_a_traceback(capsys: Captured, question: str) -> None:
    status, out, err = run(capsys, "ask", "--", question)
    assert (status, out) == (2, "")
    assert "[BL-Q0" in err and "\x1b" not in err and len(err) < 5000


def test_bytes_that_are_no_text_are_survived() -> None:
    command = [os.fsencode(sys.executable), b"-m", b"repl", b"ask", b"clamps with \xff\xfe"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, check=False)
    assert done.returncode == 2 and b"Traceback" not in done.stderr and b"[BL-Q" in done.stderr


def test_a_stream_without_unicode_is_survived() -> None:
    done = boxlock("compare", "Kelly forceps", "Crile forceps", PYTHONIOENCODING="ascii")
    assert done.returncode == 0 and b"Kelly forceps" in done.stdout
    done = boxlock("ask", "artery forceps", "--format", "json", PYTHONIOENCODING="ascii")
    assert json.loads(done.stdout)["matches"]


def test_a_fault_of_our_own_is_one_plain_line(capsys: Captured, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RecursionError("too\ndeep")

    monkeypatch.setattr(kg, "open_catalogue", broken)
    status, out, err = run(capsys, "ask", "clamps")
    assert (status, out) == (2, "")
    assert err == (
        "Boxlock met a fault of its own: RecursionError (too deep). [BL-X01]\n"
        "Nothing was answered. Please report it with the command that led to it.\n"
    )


def test_ctrl_c_has_its_own_status(capsys: Captured, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(kg, "open_catalogue", stopped)
    assert run(capsys, "ask", "clamps") == (130, "", "\n")


def test_a_reader_that_leaves_is_no_fault() -> None:
    ask = f'"{sys.executable}" -m repl ask "instruments with a tip" --format json'
    command = f'{ask} | head -c 10; echo "${{PIPESTATUS[0]}}"'
    done = subprocess.run(["bash", "-c", command], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.stderr == ""
    assert done.stdout.startswith("{\n") and done.stdout.endswith("0\n")


# --- sparql, check, build ---------------------------------------------------------------------------------------------
def test_sparql(capsys: Captured, monkeypatch: pytest.MonkeyPatch) -> None:
    query = "SELECT (COUNT(?p) AS ?n) WHERE { GRAPH ?g { ?p a <https://boxlock.example/ns#ArteryForceps> } }"
    status, out, _ = run(capsys, "sparql", query, "--format", "csv")
    assert status == 0 and out.startswith("n\n") and int(out.split()[1]) > 0
    monkeypatch.setattr(sys, "stdin", io.StringIO("ASK { ?s ?p ?o }"))
    assert run(capsys, "sparql", "-") == (0, "Yes.\n", "")


def test_sparql_refuses_changes(capsys: Captured) -> None:
    status, out, err = run(capsys, "sparql", "DROP ALL", "--format", "json")
    assert (status, out) == (2, "") and json.loads(err)["code"] == "BL-S02"


def test_check_wires_findings_and_status(capsys: Captured, monkeypatch: pytest.MonkeyPatch) -> None:
    findings = [
        kg.Finding("error", "axioms/links.ttl", 3, "BL-C04", "text", "fix"),
        kg.Finding("warning", "header.ttl", 0, "BL-C03", "text"),
    ]
    monkeypatch.setattr(kg, "check_ontology", lambda root, hermit, say: findings, raising=False)
    status, out, _ = run(capsys, "check", "--format", "json")
    value = json.loads(out)
    assert status == 1 and value["consistent"] is False and len(value["findings"]) == 2
    # Asked about one file, only its findings count; whether the whole is consistent is said all the same.
    status, out, _ = run(capsys, "check", "header.ttl", "--format", "json")
    value = json.loads(out)
    assert status == 0 and [f["file"] for f in value["findings"]] == ["header.ttl"] and value["consistent"] is False


def test_check_of_a_file_that_is_not_ours(capsys: Captured, tmp_path: Path) -> None:
    for name in (str(tmp_path / "missing.ttl"), __file__):
        status, _, err = run(capsys, "check", name)
        assert status == 2 and "[BL-I02]" in err


@pytest.fixture
def copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the ontology with its closure, used by this process; building it does not wait for Java."""
    folder = tmp_path / "ontology"
    shutil.copytree(ROOT / "ontology", folder)
    monkeypatch.setenv("BOXLOCK_ONTOLOGY", str(folder))

    def no_java(*_: object, **__: object) -> str:
        raise kg.ReasonerError("BL-R01", "no Java was found")

    monkeypatch.setattr("kg.build.verify", no_java)
    return folder


@pytest.mark.parametrize("damage", ["missing", "truncated", "stamp"])
def test_a_bad_closure_is_rebuilt_and_says_so(capsys: Captured, copy: Path, damage: str) -> None:
    generated = copy / "generated"
    if damage == "missing":
        shutil.rmtree(generated)
    elif damage == "truncated":
        data = (generated / "closure.nq").read_bytes()
        (generated / "closure.nq").write_bytes(data[: len(data) // 2])
    else:
        (generated / "stamp.json").write_text("{", encoding="utf-8")
    status, out, err = run(capsys, "ask", "artery forceps with teeth at the tip", "--format", "json")
    assert status == 0 and json.loads(out)["matches"]
    assert "rebuilding it now" in err and ("[BL-C01]" if damage == "missing" else "[BL-C02]") in err
    assert json.loads(out)["verified_by"] == "not verified by HermiT"
    # The second time it is there.
    assert run(capsys, "ask", "artery forceps")[2] == ""


def test_build_without_hermit(capsys: Captured, copy: Path) -> None:
    status, out, err = run(capsys, "build", "--no-hermit", "--format", "json")
    assert status == 0 and json.loads(out)["folder"] == str(copy / "generated")
    assert json.loads(out)["verified_by"] == ""
    assert "boxlock: reading the ontology" in err


# --- piped ------------------------------------------------------------------------------------------------------------
def test_piped_questions_are_answered_one_by_one() -> None:
    done = boxlock(stdin=b"artery forceps with teeth at the tip\n\nclamps with a zzgrip\nhelp\nquit\nnever reached\n")
    out = done.stdout.decode()
    assert done.returncode == 2  # one was not understood; the others are answered
    assert "Question: artery forceps with teeth at the tip\n\nI read this as: " in out
    assert "[BL-Q02]" in done.stderr.decode()
    assert "Questions, by example" in out and "never reached" not in out
    assert "\x1b" not in out and "ask: " not in out


def test_piped_questions_as_lines_of_json() -> None:
    done = boxlock("--format", "json", stdin=b"artery forceps\nzzgrip\nwhat is a box lock")
    first, second = done.stdout.splitlines()
    assert json.loads(first)["kind"] == "filter" and json.loads(second)["kind"] == "define"
    assert json.loads(done.stderr)["code"].startswith("BL-Q")


def test_nothing_piped_is_no_fault() -> None:
    done = boxlock()
    assert (done.returncode, done.stdout, done.stderr) == (0, b"", b"")


def test_piped_bytes_that_are_no_text() -> None:
    done = boxlock(stdin=b"clamps \xff\xfe\x00\nartery forceps\n")
    assert done.returncode == 2 and b"Traceback" not in done.stderr and b"patterns match" in done.stdout


# --- what is loaded ---------------------------------------------------------------------------------------------------
def test_asking_loads_no_terminal_and_no_reasoner() -> None:
    code = (
        "import sys; from repl.cli import main; main(['ask', 'artery forceps']);"
        f"print([m for m in {HEAVY!r} if m in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.stderr == "[]\n"


def test_importing_the_package_loads_nothing() -> None:
    code = "import sys; import kg; print(sorted(m for m in sys.modules if m.startswith('kg')))"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout == "['kg']\n"


@pytest.mark.parametrize("name", kg.__all__)
def test_every_public_name_is_there(name: str) -> None:
    assert getattr(kg, name) is not None


def test_other_names_are_not() -> None:
    with pytest.raises(AttributeError, match="no attribute 'nonsense'"):
        getattr(kg, "nonsense")  # noqa: B009
    assert set(kg.__all__) <= set(dir(kg))


@pytest.mark.parametrize("command", [[], ["ask"], ["compare"], ["why"], ["sparql"], ["build"], ["check"]])
def test_help(capsys: Captured, command: list[str]) -> None:
    status, out, _ = run(capsys, *command, "--help")
    assert status == 0 and out.startswith("usage: boxlock")


def test_version(capsys: Captured) -> None:
    status, out, _ = run(capsys, "--version")
    assert status == 0 and out.startswith("boxlock ")


def test_colour_needs_a_terminal_that_can(monkeypatch: pytest.MonkeyPatch) -> None:
    from repl.screen import may_colour

    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    can: Callable[[], bool] = lambda: may_colour(Terminal())  # noqa: E731
    monkeypatch.setenv("TERM", "xterm")
    assert can() and not may_colour(io.StringIO())
    monkeypatch.setenv("NO_COLOR", "1")
    assert not can()
    monkeypatch.delenv("NO_COLOR")
    monkeypatch.setenv("TERM", "dumb")
    assert not can()


# --- without the parser -----------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    "arguments",
    [
        ["ask", "artery forceps"],
        ["ask", "artery", "forceps"],
        ["ask", ""],
        ["ask", "clamps", "--format", "json"],
        ["ask", "a", "clamp", "--format", "markdown"],
    ],
)
def test_a_plain_question_is_read_as_the_parser_reads_it(arguments: list[str]) -> None:
    from repl.arguments import parser
    from repl.cli import _plain_question

    plain = _plain_question(arguments)
    assert plain is not None and vars(plain) == vars(parser().parse_args(arguments))


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["ask"],
        ["ask", "-h"],
        ["ask", "--", "clamps"],
        ["ask", "clamps", "--format=json"],
        ["ask", "clamps", "--format", "svg"],
        ["ask", "--format", "json"],
        ["ask", "clamps", "--after", "scissors"],
        ["--format", "json", "ask", "clamps"],
        ["describe", "Kelly forceps"],
    ],
)
def test_anything_else_is_left_to_the_parser(arguments: list[str]) -> None:
    from repl.cli import _plain_question

    assert _plain_question(arguments) is None


def test_a_plain_question_loads_no_parser_and_no_data_classes() -> None:
    code = """
import sys
before = set(sys.modules)
from repl.cli import main
main(["ask", "artery forceps"])
print(sorted({"argparse", "dataclasses", "inspect"} & (set(sys.modules) - before)), file=sys.stderr)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, cwd=ROOT, text=True, timeout=120, check=True)
    assert done.stderr.splitlines()[-1] == "[]"
