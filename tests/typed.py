"""Typing at the prompt without a terminal."""

from __future__ import annotations

import io

from repl.screen import Screen
from repl.session import Session


class Typed:
    """A session into which lines are typed; what each shows is returned."""

    def __init__(self, catalogue) -> None:
        self.stream = io.StringIO()
        self.session = Session(catalogue, Screen(self.stream, self.stream, lambda: 100))

    def __call__(self, line: str) -> str:
        before = len(self.stream.getvalue())
        assert self.session.handle(line)
        return self.stream.getvalue()[before:]

    @property
    def seen(self) -> list[str]:
        assert self.session.mode is not None
        return [o.text for o in self.session.mode.seen]
