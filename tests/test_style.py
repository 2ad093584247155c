"""The house style is checked with the tests: ruff with the rules of pyproject.toml."""

from __future__ import annotations

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
