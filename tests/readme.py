"""The examples in the README: run them, compare them, rewrite them.

``python -m tests.readme`` rewrites every block after an ``<!-- example -->`` line with the program's real output at width 100;
``test_docs.py`` fails if a block has drifted.
"""

from __future__ import annotations

import contextlib
import io
import re
import shlex
from pathlib import Path

README = Path(__file__).resolve().parent.parent / "README.md"
BLOCK = re.compile(r"<!-- example -->\n```console\n\$ (boxlock [^\n]*)\n(.*?)```", re.DOTALL)
WIDTH = "100"


def run(command: str) -> str:
    """What the command prints, without trailing spaces."""
    from repl.cli import main

    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.chdir(README.parent):
        main([*shlex.split(command)[1:], "--width", WIDTH, "--no-colour"])
    return "\n".join(line.rstrip() for line in out.getvalue().rstrip("\n").split("\n")) + "\n"


def examples(text: str) -> list[tuple[str, str]]:
    """(command, shown output) of every example."""
    return BLOCK.findall(text)


def rewritten(text: str) -> str:
    """The text with every example's output made new."""
    return BLOCK.sub(lambda m: f"<!-- example -->\n```console\n$ {m.group(1)}\n{run(m.group(1))}```", text)


if __name__ == "__main__":
    README.write_text(rewritten(README.read_text(encoding="utf-8")), encoding="utf-8")
