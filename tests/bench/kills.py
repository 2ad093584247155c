"""``kill -9`` at random moments of ``boxlock add``. Run: ``python -m tests.bench.kills [--count 100] [--seed 1]``.

The real command runs as a user runs it, HermiT included, on an own catalogue that holds an invented instrument already. It is
killed, with its process group, at a moment drawn with a seed: every other time within its whole run, else within the short
while in which it writes and ends, which starts when it says so. Then the catalogue is opened in a new process: it has to be the
old one or the new one, whole, without rebuilding anything; and nothing that the command started may still run. (Where there is
no ``/proc`` the last is not looked at.)

``run`` is used by ``tests/intake/test_overlay.py`` with a small number; nothing is asserted here.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
SOURCES = "id,title,kind\nmy-book,An Invented Book,textbook\n"
PATTERNS = "id,label,definition,definition source\nTrialForceps,trial forceps,A forceps invented for the trial.,my-book\n"
FIRST = """source,subject,mode,feature,value
my-book,trial forceps,is,kind,HaemostaticForceps
my-book,trial forceps,is,purpose,stopping bleeding
"""
SECOND = "source,subject,mode,feature,value\nmy-book,trial forceps,is,length,450\n"
LOOK = """
import sys
import kg
heard = []
long = kg.open_catalogue(say=heard.append).ask("instruments longer than 40 cm", limit=5000)
known = kg.open_catalogue(say=heard.append).vocabulary.terms
added = any(m.name == "bl:TrialForceps" for m in long.matches)
print("lost" if "bl:TrialForceps" not in known else "rebuilt" if heard else "new" if added else "old")
"""


@dataclass
class Figures:
    """``states``: what the catalogue was after each kill: old, new, and what must not be: rebuilt, lost, broken.

    ``finished``: runs that had ended before the kill. ``left``: processes that outlived their command.
    """

    states: Counter = field(default_factory=Counter)
    finished: int = 0
    left: int = 0


def run(folder: Path, count: int, seed: int, *, hermit: bool = True, say=lambda _: None) -> Figures:  # type: ignore[no-untyped-def]
    """Kills the command ``count`` times. ``folder``: an empty folder to work in."""
    chance = random.Random(seed)
    for name, text in (("sources", SOURCES), ("patterns", PATTERNS), ("first", FIRST), ("second", SECOND)):
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    before, home = folder / "before", folder / "home"
    first = _start(before, hermit, *(folder / f"{n}.csv" for n in ("sources", "patterns", "first")))
    if first.wait():
        raise RuntimeError("the first addition failed")
    shutil.copytree(before, home)
    start = time.monotonic()
    child = _start(home, hermit, folder / "second.csv", told=True)
    _wait_for_the_writing(child)
    before_writing = time.monotonic()
    child.communicate()
    whole, writing = time.monotonic() - start, time.monotonic() - before_writing
    say(f"one run takes {whole:.1f} s, of which it writes and ends in {writing:.2f} s")
    figures = Figures()
    for number in range(count):
        shutil.rmtree(home)
        shutil.copytree(before, home)
        child = _start(home, hermit, folder / "second.csv", told=number % 2 == 1)
        if number % 2:
            _wait_for_the_writing(child)
            time.sleep(chance.uniform(0, writing))
        else:
            time.sleep(chance.uniform(0, whole))
        figures.finished += child.poll() is not None
        with contextlib.suppress(ProcessLookupError):
            os.killpg(child.pid, signal.SIGKILL)
        child.wait()
        if child.stderr:
            child.stderr.close()
        figures.left += _left(home)
        figures.states[_state(home)] += 1
        if number % 10 == 9:
            say(f"{number + 1} kills: {_told(figures)}")
    return figures


def _environment(home: Path) -> dict[str, str]:
    return {**os.environ, "BOXLOCK_HOME": str(home)}


def _start(home: Path, hermit: bool, *files: Path, told: bool = False) -> subprocess.Popen:
    command = [sys.executable, "-m", "repl", "add", *([] if hermit else ["--no-hermit"]), *map(str, files)]
    err = subprocess.PIPE if told else subprocess.DEVNULL
    return subprocess.Popen(
        command, cwd=ROOT, env=_environment(home), start_new_session=True, stdout=subprocess.DEVNULL, stderr=err
    )


def _wait_for_the_writing(child: subprocess.Popen) -> None:
    assert child.stderr
    for line in child.stderr:
        if b"writing" in line:
            return


def _state(home: Path) -> str:
    done = subprocess.run(
        [sys.executable, "-c", LOOK], cwd=ROOT, env=_environment(home), capture_output=True, text=True, check=False
    )
    return done.stdout.strip() if done.returncode == 0 else f"broken: {done.stderr[-300:]}"


def _left(home: Path, *, seconds: float = 10) -> int:
    """How many processes of the command still run after so many seconds; they are known by their environment."""
    mark = f"BOXLOCK_HOME={home}\0".encode()
    until = time.monotonic() + seconds
    while True:
        alive = 0
        for path in Path("/proc").glob("[0-9]*/environ"):
            try:
                alive += mark in path.read_bytes() + b"\0"
            except OSError:
                continue  # it has ended meanwhile, or is another user's
        if not alive or time.monotonic() > until:
            return alive
        time.sleep(0.05)


def _told(figures: Figures) -> str:
    states = ", ".join(f"{state} {n}" for state, n in sorted(figures.states.items()))
    return f"{states}; ended before the kill {figures.finished}; processes left {figures.left}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        figures = run(Path(folder), options.count, options.seed, say=lambda text: print(text, flush=True))
    print(f"{options.count} kills with seed {options.seed}: {_told(figures)}")


if __name__ == "__main__":
    main()
