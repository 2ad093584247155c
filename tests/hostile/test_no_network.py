"""No command opens a socket, looks up a host or starts a program that could, unless it is asked to by ``--store``.

An audit hook (PEP 578) sees every socket of the interpreter, and cannot be taken away by a library.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from repl import cli
from tests.hostile.conftest import ROOT

COURSE = '[[objective]]\nid = "o"\nquestion = "artery forceps"\n'
SHEET = "id,title,kind\nmy-book,A Book,textbook\n"
ARGUMENTS = {
    "add": [["course.csv", "--no-hermit"]],
    "ask": [["self-closing clamps"], ["what is a box lock?", "--format", "json"]],
    "build": [["--no-hermit"]],
    "changes": [["ONTOLOGY"]],
    "check": [["course.csv", "--no-hermit"]],
    "compare": [["Kelly forceps", "Crile forceps"]],
    "coverage": [["course.toml", "--smallest"]],
    "describe": [["Kelly forceps"]],
    "draw": [["Kelly forceps", "--to", "x.svg"]],
    "export": [["needle holders", "--to", f"x.{e}"] for e in ("html", "pdf", "xlsx", "jsonld")],
    "identify": [["box lock, serrated", "--claim", "Kelly forceps"]],
    "plan": [["needle holders", "--minutes", "20"]],
    "rehearse": [["scissors", "--count", "2", "--seed", "1"]],
    "sparql": [["SELECT ?s WHERE { ?s ?p ?o } LIMIT 1"], ["SELECT * WHERE { SERVICE <http://127.0.0.1:9/> { ?s ?p ?o } }"]],
    "stations": [["scissors", "--count", "1", "--seed", "1"]],
    "table": [["t.csv"]],
    "why": [["Kelly forceps is a clamp"]],
}
"""Runs of each command; a new command is tried with a question until it gets a line of its own."""
ASKED_FOR = ("publish",)
"""Commands that do nothing but speak to a server that is named."""
CHILD = """
import json, sys
seen = []
def hook(event, arguments):
    if event.startswith("socket.") and event not in ("socket.gethostname",):
        seen.append([event, repr(arguments)[:200]])
    elif event in ("urllib.Request", "http.client.connect", "ftplib.connect", "webbrowser.open", "os.system"):
        seen.append([event, repr(arguments)[:200]])
    elif event == "subprocess.Popen" and arguments[0] != sys.executable:
        seen.append([event, repr(arguments)[:200]])
sys.addaudithook(hook)
from repl.cli import main
for run in json.loads(sys.argv[1]):
    status = main(run)
    sys.stderr.write(f"STATUS {status}\\n")
sys.stderr.write("SEEN " + json.dumps(seen) + "\\n")
"""


def seen(runs: list[list[str]], folder: Path, code: str = CHILD) -> tuple[list[list[str]], list[int]]:
    import os

    env = os.environ | {"PYTHONPATH": str(ROOT), "BOXLOCK_ONTOLOGY": str(folder / "ontology")}
    done = subprocess.run(
        [sys.executable, "-c", code, json.dumps(runs)],
        cwd=folder,
        env=env,
        capture_output=True,
        text=True,
        timeout=200,
        check=False,
    )
    lines = done.stderr.splitlines()
    assert lines and lines[-1].startswith("SEEN "), done.stderr[-2000:]
    return json.loads(lines[-1][5:]), [int(line[7:]) for line in lines if line.startswith("STATUS ")]


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory, ontology_folder: Path) -> Path:
    import shutil

    folder = tmp_path_factory.mktemp("place")
    shutil.copytree(ontology_folder, folder / "ontology")
    (folder / "course.toml").write_text(COURSE)
    (folder / "course.csv").write_text(SHEET)
    return folder


@pytest.mark.parametrize("command", sorted(set(cli.COMMANDS) - set(ASKED_FOR)))
def test_no_command_opens_a_socket(command: str, place: Path) -> None:
    runs = [
        [command, *(a.replace("ONTOLOGY", str(place / "ontology")) for a in run)]
        for run in ARGUMENTS.get(command, [["scissors"]])
    ]
    found, statuses = seen(runs, place)
    assert found == []
    refused = command == "sparql"
    assert statuses == ([0, 2] if refused else [0] * len(runs)), statuses


def test_the_check_can_fail(tmp_path: Path) -> None:
    code = CHILD.replace(
        "from repl.cli import main", "import socket\ndef main(run):\n    socket.socket().close()\n    return 0"
    )
    found, _ = seen([[]], tmp_path, code)
    assert [event for event, _ in found] == ["socket.__new__"]
