"""Several processes at once: building, adding, keeping the store. Whoever reads meanwhile finds a whole state."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from kg import closure, overlay
from kg.errors import CatalogueError
from tests.hostile.conftest import QUESTION, ROOT, boxlock, in_force, plainly

WRITER = """
import sys, time
from pathlib import Path
from kg import closure
which, folder, rounds = sys.argv[1], Path(sys.argv[2]), int(sys.argv[3])
names = (closure.QUADS, closure.VOCABULARY, closure.WORDS, closure.PHRASES, closure.FACTS, closure.PATTERNS)
names += (closure.VALUE_CLASSES,)
texts = {n: f"{n} {which}\\n" * 2000 for n in names}
for _ in range(rounds):
    closure.write(folder, texts, closure.stamp_of(texts, which, "", "1"))
"""


def start(code: str, *arguments: str) -> subprocess.Popen[str]:
    env = os.environ | {"PYTHONPATH": str(ROOT)}
    return subprocess.Popen([sys.executable, "-c", code, *arguments], env=env, text=True, stderr=subprocess.PIPE)


def test_two_builds_at_once_and_a_reader(tmp_path: Path, two_closures) -> None:
    folder = tmp_path / "generated"
    closure.write(folder, *two_closures[0])
    writers = [start(WRITER, which, str(folder), "25") for which in ("old", "new")]
    seen, reads = set(), 0
    while any(w.poll() is None for w in writers):
        for _ in range(5):  # as a person who asks again: a reader may be overtaken twice by then
            try:
                seen.add(in_force(folder))
                reads += 1
                break
            except AssertionError:
                continue
        else:
            raise AssertionError("no whole closure was found")
    for writer in writers:
        assert writer.wait() == 0, writer.stderr.read() if writer.stderr else ""
        if writer.stderr:
            writer.stderr.close()
    assert reads > 10 and seen == {"old", "new"}
    assert in_force(folder) in ("old", "new")
    assert not [p.name for p in folder.iterdir() if p.name.startswith(".")]


@pytest.mark.skipif(os.name != "posix", reason="locks of POSIX")
def test_a_build_that_stands_still_is_not_waited_for_without_end(tmp_path: Path, two_closures, monkeypatch) -> None:
    import fcntl

    folder = tmp_path / "generated"
    closure.write(folder, *two_closures[0])
    monkeypatch.setattr(closure, "LONGEST_WAIT", 0.2)
    handle = os.open(folder, os.O_RDONLY)
    fcntl.flock(handle, fcntl.LOCK_EX)
    started = time.monotonic()
    with pytest.raises(CatalogueError, match="another process") as raised:
        closure.write(folder, *two_closures[1])
    assert raised.value.code == "BL-C05" and time.monotonic() - started < 10
    os.close(handle)
    assert in_force(folder) == "old"


def test_two_additions_at_once(tmp_path: Path, monkeypatch) -> None:
    home = tmp_path / "own"
    monkeypatch.setenv("BOXLOCK_HOME", str(home))
    sheet = tmp_path / "s.csv"
    sheet.write_text("id,title,kind\nmy-book,A Book,textbook\n")
    with overlay.locked(home):
        done = plainly(boxlock("add", str(sheet), "--no-hermit"), 2)
    assert "BL-C05" in done.stderr and str(os.getpid()) in done.stderr
    assert overlay.current(home) is None


def test_two_first_runs_keep_the_store_at_once() -> None:
    """Both answer; one store is kept, and nothing beside it."""
    env = os.environ | {"PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "repl", "ask", QUESTION]
    runs = [
        subprocess.Popen(command, env=env, cwd=ROOT, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        for _ in range(3)
    ]
    said = [run.communicate(timeout=120) for run in runs]
    assert [run.returncode for run in runs] == [0, 0, 0]
    assert len(set(said)) == 1 and said[0][1] == ""
    cache = Path(os.environ["XDG_CACHE_HOME"]) / "boxlock"
    assert [p.name[:6] for p in cache.iterdir()] == ["store-"]
    assert plainly(boxlock("ask", QUESTION), 0).stdout == said[0][0]
