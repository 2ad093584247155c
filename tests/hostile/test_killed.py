"""Killed at every step of a write, one after the other: the old state is there or the new one, whole."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from kg import closure, overlay
from kg.files import write_text
from kg.store.embedded import EmbeddedStore
from tests.hostile.conftest import in_force
from tests.hostile.dying import die_at

ROOT = Path(__file__).resolve().parent.parent.parent
pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="a killed process is made by fork")


def killed_at(step: int, work: Callable[[], object]) -> bool:
    """Runs the work in a child that is killed (SIGKILL) right before its ``step``-th call of the system that changes files.

    False if it came to its end before.
    """
    child = os.fork()
    if child == 0:
        die_at(step)
        try:
            work()
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL


def every_step(work: Callable[[], object], look: Callable[[int], None], again: Callable[[], object], stride: int = 1) -> int:
    """Kills the work at its first step, its second and so on until it comes to its end; the number of steps.

    ``stride``: only at every so many steps, where each takes long.
    """
    step = 0
    while killed_at(step, work):
        look(step)
        again()
        step += stride
        assert step < 500
    return step


def test_a_closure_is_the_old_one_or_the_new_one(tmp_path: Path, two_closures) -> None:
    (old, old_stamp), (new, new_stamp) = two_closures
    folder = tmp_path / "generated"
    closure.write(folder, old, old_stamp)
    seen: list[str] = []
    steps = every_step(
        lambda: closure.write(folder, new, new_stamp),
        lambda _: seen.append(in_force(folder)),
        lambda: closure.write(folder, old, old_stamp),
    )
    assert steps > 20
    assert set(seen) == {"old", "new"} and seen == sorted(seen, reverse=True), "once the new one is in force it stays"
    assert in_force(folder) == "new"
    assert not [p.name for p in folder.iterdir() if p.name.startswith(".")], "what killed ones left is taken away"


def test_an_own_catalogue_is_the_old_one_or_the_new_one(tmp_path: Path, two_closures) -> None:
    (old, old_stamp), (new, new_stamp) = two_closures
    home = tmp_path / "own"
    home.mkdir()

    def commit(files: dict[str, str], contents: dict[str, str], stamp: closure.Stamp) -> None:
        with overlay.locked(home):
            overlay.commit(home, files, contents, stamp)

    first, second = {"evidence/a.ttl": "old"}, {"evidence/a.ttl": "new", "patterns/b.ttl": "new"}
    commit(first, old, old_stamp)
    seen: list[str] = []

    def look(_: int) -> None:
        generation = overlay.current(home)
        files = overlay.read_files(generation)
        assert files in (first, second)
        assert in_force(generation / "generated") == files["evidence/a.ttl"]
        seen.append(files["evidence/a.ttl"])

    steps = every_step(lambda: commit(second, new, new_stamp), look, lambda: commit(first, old, old_stamp), 3)
    assert steps > 30 and set(seen) == {"old", "new"}
    assert len([p for p in home.iterdir() if p.name.startswith("generation")]) <= 2


SAVING = """
import os, sys
from pathlib import Path
from kg.store.embedded import EmbeddedStore
from tests.hostile.dying import die_at

memory = EmbeddedStore.from_quads(sys.argv[3].encode())
die_at(int(sys.argv[2]))
memory.save_folder(Path(sys.argv[1]))
os._exit(0)
"""


def test_a_kept_store_is_whole_or_not_there(tmp_path: Path) -> None:
    """In a process of its own for every step: the store's library starts threads, and a fork of those hangs."""
    quads = "<https://boxlock.example/ns#A> <https://boxlock.example/ns#p> <https://boxlock.example/ns#B> .\n"
    folder = tmp_path / "store-1"
    seen: list[bool] = []
    step = 0
    while True:
        command = [sys.executable, "-c", SAVING, str(folder), str(step), quads]
        done = subprocess.run(command, cwd=ROOT, timeout=60, check=False)
        if done.returncode != -signal.SIGKILL:
            assert done.returncode == 0
            break
        seen.append(folder.exists())
        if folder.exists():
            with EmbeddedStore.open_folder(folder) as kept:
                assert len(kept) == 1
        step += 1
        assert step < 60
    assert step >= 2 and False in seen
    with EmbeddedStore.open_folder(folder) as kept:
        assert len(kept) == 1


@pytest.mark.parametrize("name", ["x.html", "rehearsal.json"])
def test_a_file_is_the_old_one_or_the_new_one(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_text("old")
    seen: list[str] = []
    every_step(lambda: write_text(path, "new" * 1000), lambda _: seen.append(path.read_text()), lambda: path.write_text("old"))
    assert set(seen) == {"old"} and path.read_text() == "new" * 1000


def test_the_check_can_fail(tmp_path: Path) -> None:
    """A file that is written in place is found half written."""
    path = tmp_path / "x"

    def careless() -> None:
        for part in ("one", "two"):
            handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
            os.write(handle, part.encode())
            os.close(handle)

    seen: list[str] = []
    every_step(careless, lambda _: seen.append(path.read_text() if path.exists() else ""), lambda: path.unlink(missing_ok=True))
    assert "one" in seen
