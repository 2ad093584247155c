"""Where results go: the two streams, the width and whether colour may be used. Imports nothing heavy."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, TextIO

from repl.style import paint

if TYPE_CHECKING:
    from kg import BoxlockError, Line

ANSWER_FORMATS = ("text", "json", "csv", "markdown")
PIPED_WIDTH = 80
WIDEST = 120
"""A terminal may be wider; lines of text are not, since long lines are hard to read. ``--width`` may ask for more."""


class Screen:
    """``out`` takes results, ``err`` errors and progress. ``width`` is asked anew for every result."""

    def __init__(
        self,
        out: TextIO,
        err: TextIO,
        width: Callable[[], int],
        colour: bool = False,
        colour_err: bool = False,
        format: str = "text",
        plain: bool = False,
    ) -> None:
        self.out = out
        self.err = err
        self.width = width
        self.colour = colour
        self.colour_err = colour_err
        self.format = format
        self.plain = plain
        """Sketches in ASCII only."""
        self.catalogue = ""
        """An exported file to answer from; empty: the shipped catalogue, with one's own."""
        self.store = ""
        """The address of a server to ask for facts; empty: none."""
        self.failed = False
        """Whether an error was shown."""

    def show(self, lines: Sequence[Line]) -> None:
        self.write(paint(lines, self.colour))

    def write(self, text: str) -> None:
        self.out.write(text)

    def show_error(self, error: BoxlockError) -> None:
        """On ``err``: as text, or as one JSON object if the format is JSON."""
        self.failed = True
        self.out.flush()  # the streams may end in one file: what came first stays first
        if self.format == "json":
            from kg import error_json, json_text

            self.err.write(json_text(error_json(error), ascii_only=not speaks_unicode(self.err)))
        else:
            from kg import error_lines

            self.err.write(paint(error_lines(error, self.width()), self.colour_err))
        self.err.flush()

    def progress(self, text: str) -> None:
        """One line of progress on ``err``; it may name files, so that nothing in it may steer a terminal."""
        from kg import clean

        self.err.write(f"boxlock: {clean(text)}\n")
        self.err.flush()


def open_screen(*, width: int | None = None, colour: bool = True, format: str = "text", plain: bool = False) -> Screen:
    """The screen of this process. ``width`` None: that of the terminal, or 80 columns if there is none."""
    return Screen(
        sys.stdout,
        sys.stderr,
        (lambda: width) if width else terminal_width,
        colour and may_colour(sys.stdout),
        colour and may_colour(sys.stderr),
        format,
        plain or not speaks_unicode(sys.stdout),
    )


def terminal_width() -> int:
    """Columns to use: those of the terminal on standard output up to ``WIDEST``, or ``$COLUMNS``, or 80."""
    try:
        columns = os.get_terminal_size(sys.stdout.fileno()).columns
    except (OSError, ValueError, AttributeError):
        given = os.environ.get("COLUMNS", "")
        columns = int(given) if given.isdecimal() and len(given) < 6 else 0
    return min(columns, WIDEST) if columns > 0 else PIPED_WIDTH


def may_colour(stream: TextIO) -> bool:
    """Colour only on a terminal that can do it, and never if the user's environment says no (NO_COLOR)."""
    return is_terminal(stream) and not os.environ.get("NO_COLOR") and os.environ.get("TERM", "dumb") != "dumb"


def is_terminal(stream: TextIO | None) -> bool:
    try:
        return stream is not None and stream.isatty()
    except ValueError:  # a closed stream
        return False


def speaks_unicode(stream: TextIO) -> bool:
    return (getattr(stream, "encoding", None) or "utf-8").lower().replace("-", "").startswith("utf")


def prepare_streams() -> None:
    """Makes the standard streams unable to fail on a character: what cannot be shown or read is replaced.

    A stream that was closed before the start leads nowhere; else the next file that is opened would take its place.
    """
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, mode, encoding="utf-8"))  # noqa: SIM115 - open as long as the process
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure:
            reconfigure(errors="replace")


def hidden(text: str) -> str:
    """A text that may hold addresses, without user names and passwords; loads nothing unless there is something to hide."""
    if "://" not in text:
        return text
    from kg import hide_credentials

    return hide_credentials(text)
