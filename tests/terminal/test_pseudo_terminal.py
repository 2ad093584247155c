"""End to end: the installed program in a pseudo-terminal, as a person meets it."""

from __future__ import annotations

import io
import os
import re
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pexpect
import pytest

ROOT = Path(__file__).resolve().parents[2]
ESCAPE = re.compile(r"\x1b\[[0-9;?]*[ -/]*[@-~]|\x1b[()][A-Z0-9]|\x1b[=>]")
COLOUR = re.compile(r"\x1b\[[0-9;]*m")

pytestmark = pytest.mark.terminal

Start = Callable[..., pexpect.spawn]


@pytest.fixture
def start() -> Iterator[Start]:
    """``start(*arguments, width=80, **environment)`` runs boxlock in a pseudo-terminal of 24 lines."""
    children: list[pexpect.spawn] = []

    def begin(*arguments: str, width: int = 80, **env: str) -> pexpect.spawn:
        child = pexpect.spawn(
            sys.executable,
            ["-m", "repl", *arguments],
            cwd=str(ROOT),
            env={**os.environ, "TERM": "xterm", "PROMPT_TOOLKIT_NO_CPR": "1", **env},
            dimensions=(24, width),
            encoding="utf-8",
            timeout=30,
        )
        children.append(child)
        return child

    yield begin
    for child in children:
        child.close(force=True)


def test_a_question_ctrl_c_and_ctrl_d(start: Start) -> None:
    child = start()
    child.expect("Type a question and press Enter")
    child.expect("ask:")
    child.send("what is a box lock\r")
    child.expect("I read this as:")
    child.expect("ASTM")
    child.expect("ask:")
    child.send("clamps with a zzgrip")
    child.sendintr()
    child.expect("ask:")
    child.send("clamps with a zzgrip\r")
    child.expect(r"\[BL-Q02\]")
    child.expect("ask:")
    child.sendeof()
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0


def test_a_long_answer_is_paged(start: Start) -> None:
    child = start()
    child.expect("ask:")
    child.send("compare Kelly forceps and Crile forceps\r")
    child.expect(r"(\d+) more lines: press Enter")
    left = int(child.match[1])
    child.expect("ask:")
    child.send("\r")
    child.expect(r"(\d+) more lines: press Enter")
    assert 0 < int(child.match[1]) < left
    child.expect("ask:")
    child.send("quit\r")
    child.expect(pexpect.EOF)


def test_one_shot_in_a_narrow_terminal_without_colour(start: Start) -> None:
    child = start("ask", "non-crushing clamps with longitudinal serration", "--no-colour", width=40)
    child.expect(pexpect.EOF)
    child.close()
    text = child.before
    assert child.exitstatus == 0
    assert "\x1b" not in text and "patterns match" in text
    assert max(len(line) for line in text.splitlines()) <= 40


def test_colour_on_a_terminal_changes_no_word(start: Start) -> None:
    def shown(**env: str) -> str:
        child = start("ask", "non-crushing clamps with longitudinal serration", **env)
        child.expect(pexpect.EOF)
        return child.before

    coloured, bare = shown(), shown(NO_COLOR="1")
    assert COLOUR.search(coloured) and "\x1b" not in bare
    assert ESCAPE.sub("", coloured) == bare


def test_no_colour_at_the_prompt(start: Start) -> None:
    child = start("--no-colour")
    child.logfile_read = log = io.StringIO()
    child.expect("ask:")
    child.send("what is a box lock\r")
    child.expect("ASTM")
    child.expect("ask:")
    child.sendeof()
    child.expect(pexpect.EOF)
    shades = set(COLOUR.findall(log.getvalue())) - {"\x1b[0m", "\x1b[m"}
    assert not {s for s in shades if re.search(r"[;\[](3[0-7]|4[0-7]|38|48)[;m]", s)}


def test_a_dumb_terminal_is_enough(start: Start) -> None:
    child = start(TERM="dumb")
    child.expect("ask:")
    child.send("what is a box lock\n")
    child.expect("I read this as:")
    child.expect("ask:")
    child.sendeof()
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0 and "\x1b" not in child.before
