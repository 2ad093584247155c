"""Documents cannot drift: codes, commands and examples are compared with the program."""

from __future__ import annotations

import importlib.util
import re
import subprocess
import sys
from pathlib import Path

import pytest

from kg.errors import CODES

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")

_spec = importlib.util.spec_from_file_location("readme_examples", Path(__file__).parent / "readme.py")
assert _spec and _spec.loader
readme = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(readme)


def test_every_code_is_in_the_troubleshooting_table() -> None:
    documented = re.findall(r"^\| (BL-[A-Z]\d\d) \|", README, re.MULTILINE)
    assert sorted(documented) == sorted(CODES)
    assert len(documented) == len(set(documented))


def test_every_code_is_used_or_named_by_the_program() -> None:
    text = "\n".join(p.read_text(encoding="utf-8") for d in ("kg", "repl") for p in (ROOT / d).rglob("*.py"))
    body = text.replace((ROOT / "kg" / "errors.py").read_text(encoding="utf-8"), "")
    unused = [code for code in CODES if code not in body]
    assert not unused


def test_every_command_is_documented() -> None:
    help_text = subprocess.run(
        [sys.executable, "-m", "repl", "--help"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout
    commands = re.findall(r"^\s{2,4}([a-z]+)\s{2,}", help_text, re.MULTILINE)
    assert {"ask", "compare", "why", "sparql", "build", "check"} <= set(commands)
    missing = [c for c in commands if f"`boxlock {c}" not in README]
    assert not missing


@pytest.mark.parametrize(("command", "shown"), readme.examples(README))
def test_examples_are_what_the_program_prints(command: str, shown: str) -> None:
    assert readme.run(command) == shown, "run: python -m tests.readme"


def test_there_are_examples() -> None:
    assert len(readme.examples(README)) >= 5


def test_set_up_commands_are_two() -> None:
    out = subprocess.run(
        [sys.executable, ".ci/readme_commands.py", "README.md"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout
    first, second = out.splitlines()
    assert "boxlock ask" in first
    assert "pytest" in second


def test_job_paragraph_comes_first() -> None:
    assert README.startswith("# Boxlock\n\nA medical teacher prepares students")
