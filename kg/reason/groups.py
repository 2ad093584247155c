"""A process group: ended as a whole, by its parent or by the child that notices that its parent has gone."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import sys
import threading
from pathlib import Path


def kill_group(leader: int) -> None:
    """Ends the process ``leader`` and all it started. If they have ended already nothing happens."""
    with contextlib.suppress(ProcessLookupError, PermissionError):
        if hasattr(os, "killpg"):
            os.killpg(leader, signal.SIGKILL)
        else:  # Windows has no process groups to kill: taskkill walks the tree
            subprocess.run(["taskkill", "/T", "/F", "/PID", str(leader)], check=False, capture_output=True)


class Stop:
    """Ends the groups that run under it, at once, and lets no further one start: for somebody who waits no longer.

    As a context it does so when the block is left by an exception, Ctrl-C above all.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._leaders: set[int] = set()
        self.told = False

    def __enter__(self) -> Stop:
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        if kind is not None:
            self.now()

    def watch(self, leader: int) -> None:
        """From now on the group of ``leader`` ends with the others."""
        with self._lock:
            self._leaders.add(leader)
        if self.told:
            self.now()

    def ended(self, leader: int) -> None:
        with self._lock:
            self._leaders.discard(leader)

    def now(self) -> None:
        self.told = True
        with self._lock:
            for leader in self._leaders:
                kill_group(leader)


def end_with_parent(folder: Path) -> None:
    """For a child that leads a group of its own and has a pipe from its parent as standard input.

    When the pipe is closed, because the parent has ended or was killed, ``folder`` is removed and the whole group ends.
    """

    def watch() -> None:
        with contextlib.suppress(OSError, ValueError):
            while os.read(pipe, 4096):
                pass
        shutil.rmtree(folder, ignore_errors=True)
        kill_group(os.getpid())

    pipe = sys.stdin.fileno()
    threading.Thread(target=watch, name="end with parent", daemon=True).start()
