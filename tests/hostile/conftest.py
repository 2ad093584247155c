"""The command run as a process of its own in a hostile place, and a small closure to break."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from kg import closure
from kg.errors import CODES
from tests.closure_files import FILES

ROOT = Path(__file__).resolve().parents[2]
QUESTION = "self-closing clamps"
CODE = re.compile(r"BL-[A-Z][0-9]{2}")
Done = subprocess.CompletedProcess[str]


def boxlock(*arguments: str, before: Callable[[], None] | None = None, timeout: float = 60, **more: object) -> Done:
    """``boxlock`` with these arguments. ``before`` runs in the child before the program; ``env`` adds to the environment.

    A process that does not end within ``timeout`` fails the test.
    """
    env = os.environ | {"PYTHONPATH": str(ROOT), "PYTHONUTF8": "1"} | more.pop("env", {})  # type: ignore[operator]
    env = {k: v for k, v in env.items() if v is not None}
    given = {"capture_output": True, "text": True, "cwd": ROOT, "check": False, "stdin": subprocess.DEVNULL} | more
    if "stdout" in more or "stderr" in more:
        given |= {"capture_output": False, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE} | more
    if "input" in more:
        del given["stdin"]
    command = [sys.executable, "-m", "repl", *arguments]
    return subprocess.run(command, env=env, timeout=timeout, preexec_fn=before, **given)  # type: ignore[call-overload]


def plainly(done: Done, *statuses: int) -> Done:
    """Checks that it ended as the contract has it: one of the statuses, no traceback, and a known code with a refusal."""
    said = f"{done.stdout}\n{done.stderr}"
    assert done.returncode in (statuses or (0, 1, 2)), said[-2000:]
    assert "Traceback" not in said, said[-2000:]
    assert "BL-X01" not in said, said[-2000:]
    if done.returncode == 2:
        found = CODE.findall(done.stderr)
        assert found and set(found) <= set(CODES), said[-2000:]
    return done


@pytest.fixture
def two_closures() -> tuple[tuple[dict[str, str], closure.Stamp], tuple[dict[str, str], closure.Stamp]]:
    """Contents and stamp of two closures that differ in every file; they are no catalogues, only files."""
    made = [{name: f"{name} {which}\n" * 2000 for name in FILES} for which in ("old", "new")]
    return tuple((c, closure.stamp_of(c, w, "", "1")) for c, w in zip(made, ("old", "new"), strict=True))  # type: ignore[return-value]


def in_force(folder: Path) -> str:
    """Which closure whoever opens the folder gets, as ``kg.opening`` looks for it; all files must be of that one."""
    for place in (folder, folder / closure.NEXT, folder):
        try:
            stamp = closure.read_stamp(place)
            texts = [closure.read(place, name, stamp).decode() for name in stamp.files]
        except Exception as fault:
            last = fault
            continue
        assert all(text.split()[1] == stamp.inputs for text in texts)
        return stamp.inputs
    raise AssertionError(f"no closure is in force: {last}")
