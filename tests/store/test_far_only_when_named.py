"""What speaks to a server is not even imported unless one was named, from a command or at the prompt; with a name it is used.

The interpreter itself reports every socket and every look-up; ``tests/hostile/test_no_network.py`` goes through all commands.

A hook for audit events (PEP 578) cannot be gone round by Python code. What the compiled store could open is another matter: the
only way to make it do so is SERVICE or LOAD, which ``test_guard.py`` and ``test_sandbox.py`` hold back.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
WATCHED = """
import contextlib, io, json, sys
seen = []
sys.addaudithook(lambda event, arguments: seen.append(event) if event.startswith(("socket.", "urllib", "http.")) else None)
from repl.cli import main
results = []
for command in json.loads(sys.argv[1]):
    seen.clear()
    sys.stdin = io.StringIO("artery forceps\\nand the curved ones?\\n")
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        status = main(command)
    results.append([status, sorted(set(seen)), [m for m in ("kg.store.web", "kg.store.remote") if m in sys.modules]])
print(json.dumps(results))
"""
LOCAL = [["ask", "clamps without a ratchet", "--format", "json"], []]


def watch(commands: list[list[str]], **more: str) -> list[list]:
    done = subprocess.run(
        [sys.executable, "-c", WATCHED, json.dumps(commands)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
        timeout=300,
        env={**os.environ, **more},
    )
    return json.loads(done.stdout)


def test_no_socket_without_a_server() -> None:
    for command, (status, events, loaded) in zip(LOCAL, watch(LOCAL), strict=True):
        assert status == 0, command
        assert events == [], command
        assert loaded == [], command


@pytest.mark.parametrize("way", ["option", "environment"])
def test_the_hook_sees_what_a_named_server_leads_to(way: str) -> None:
    url = "http://127.0.0.1:9/query"
    option, setting = (["--store", url], {}) if way == "option" else ([], {"BOXLOCK_STORE": url})
    ((status, events, loaded),) = watch([["ask", "clamps", *option]], **setting)
    assert status == 2
    assert {"socket.__new__", "socket.connect"} <= set(events)
    assert "kg.store.remote" in loaded
