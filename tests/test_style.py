"""The house style is checked with the tests: ruff with the rules of pyproject.toml."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.mark.parametrize("command", [["check", "."], ["format", "--check", "."]], ids=["lint", "format"])
def test_ruff_is_content(command: list[str]) -> None:
    done = subprocess.run([sys.executable, "-m", "ruff", *command], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_modules_stay_readable() -> None:
    long = {
        str(p.relative_to(ROOT)): n
        for d in ("kg", "repl")
        for p in (ROOT / d).rglob("*.py")
        if (n := len(p.read_text(encoding="utf-8").splitlines())) > 600
    }
    assert not long, f"split these modules: {long}"


def test_cases_are_the_same_in_every_process() -> None:
    """Two workers collect the tests apart and must find the same ones: no case is made from the clock or from chance."""
    drawn = ("now", "today", "time", "time_ns", "random", "randint", "choice", "uuid4", "getpid", "mkdtemp")
    found = [
        f"{path.relative_to(ROOT)}:{call.lineno}"
        for path in sorted((ROOT / "tests").rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        for decorator in getattr(node, "decorator_list", ())
        for call in ast.walk(decorator)
        if isinstance(call, ast.Call) and {getattr(call.func, "attr", ""), getattr(call.func, "id", "")} & set(drawn)
    ]
    assert not found, f"cases that differ from process to process: {found}"
