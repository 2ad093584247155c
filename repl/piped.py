"""Questions from a pipe or a file: one a line, each answered in turn; no prompt, no paging, no history."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TextIO

import kg
from repl.oneshot import open_catalogue, show_json
from repl.screen import Screen
from repl.session import Session

LONGEST_LINE = 25_000
"""Characters: more than any question or query may have."""
LONGEST_ECHO = 2_000
"""Characters of a question that are repeated above its answer."""


def bounded_lines(stream: TextIO) -> Iterator[str]:
    """The lines of a stream, each cut at ``LONGEST_LINE`` characters, so that an endless one fills no memory."""
    whole = True
    while line := stream.readline(LONGEST_LINE):
        if whole:
            yield line
        whole = line.endswith("\n")


def run(screen: Screen, lines: Iterable[str]) -> int:
    """Answers each line that is not blank. Status 2 if any was not understood; the others are answered all the same.

    As text each answer follows its question; as JSON each answer is one line.
    """
    catalogue = open_catalogue(screen)
    session = Session(catalogue, screen)
    for line in lines:
        text = line.strip()
        if not text:
            continue
        if screen.format == "json":
            _as_json(session, text)
        else:
            echo = text if len(text) <= LONGEST_ECHO else f"{text[:LONGEST_ECHO]}…"
            screen.show(kg.block_lines([kg.Para((("remark", "Question: "), ("query", echo)))], screen.width()))
            screen.write("\n")
            if not session.handle(text):
                break
            screen.write("\n")
        screen.out.flush()
    return 2 if screen.failed else 0


def _as_json(session: Session, text: str) -> None:
    try:
        answer = session.reply(text)
    except kg.BoxlockError as error:
        session.screen.show_error(error)
    else:
        show_json(session.screen, kg.answer_json(answer), lines=True)
