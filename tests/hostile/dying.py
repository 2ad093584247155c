"""A process that dies at a chosen step of what it writes."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable

STEPS = ("open", "replace", "rename", "link", "unlink", "fsync", "mkdir", "rmdir")


def die_at(step: int) -> None:
    """Kills this process (SIGKILL) right before its ``step``-th call, from now on, of the system that changes files."""
    left = step

    def dying(real: Callable) -> Callable:
        def call(*arguments: object, **named: object) -> object:
            nonlocal left
            left -= 1
            if left < 0:
                os.kill(os.getpid(), signal.SIGKILL)
            return real(*arguments, **named)

        return call

    for name in STEPS:
        setattr(os, name, dying(getattr(os, name)))
