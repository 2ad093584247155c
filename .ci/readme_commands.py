"""Prints the shell commands of the README's fenced ``sh`` blocks marked as set-up, one a line, in order."""

import re
import sys
from pathlib import Path

text = Path(sys.argv[1]).read_text(encoding="utf-8")
blocks = re.findall(r"```sh setup\n(.*?)```", text, re.DOTALL)
commands = [line for block in blocks for line in block.strip().splitlines()]
if len(commands) != 2:
    sys.exit(f"the README must have exactly two set-up commands, found {len(commands)}")
print("\n".join(commands))
