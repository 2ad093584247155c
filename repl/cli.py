"""The command line: reads the arguments, runs one command or opens the prompt, and returns the exit status.

Status: 0 answered (also when the answer is empty), 1 errors found by ``check``, 2 not understood or bad input, 130
stopped by Ctrl-C. Nothing heavy is imported here: each command imports what it needs.
"""

from __future__ import annotations

import atexit
import gc
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from types import SimpleNamespace
from typing import Any, TextIO

from kg import BoxlockError, InputError
from repl.screen import ANSWER_FORMATS, Screen, hidden, is_terminal, open_screen, prepare_streams

COMMANDS = (
    *("add", "ask", "build", "changes", "check", "compare", "coverage", "describe", "draw", "export", "identify", "plan"),
    *("publish", "rehearse", "sparql", "stations", "table", "why"),
)
HOMES = {
    "changes": "repl.editing",
    "coverage": "repl.course",
    "draw": "repl.draw",
    "export": "repl.export",
    "plan": "repl.plan",
    "publish": "repl.publish",
    "rehearse": "repl.rehearse",
    "stations": "repl.stations",
    "table": "repl.editing",
}
"""Where a command is carried out; by default in ``repl.oneshot``."""
MAKING = ("add", "build", "changes", "check", "table")
_MEMORY_HINT = "Close other programs, raise the limit (ulimit -v), or ask for less at once."


def main(argv: Sequence[str] | None = None) -> int:
    """Runs ``boxlock``. ``argv`` are the arguments without the program's name. Never raises for any input."""
    gc.set_threshold(100_000)  # a vocabulary is many small objects that all stay: looking through them again and again is waste
    atexit.register(gc.freeze)  # nor is there anything to look for at the end
    arguments = list(sys.argv[1:] if argv is None else argv)
    prepare_streams()
    # For errors in the arguments themselves; replaced once they are understood.
    screen = open_screen(
        colour=not {"--no-colour", "--no-color"} & set(arguments), format="json" if _wants_json(arguments) else "text"
    )
    try:
        status = _run(arguments, screen)
        sys.stdout.flush()
        return status
    except BoxlockError as error:
        return _refused(screen, error)
    except KeyboardInterrupt:
        sys.stderr.write("\n")
        return 130
    except BrokenPipeError:
        _let_go(sys.stdout)
        return 0
    except OSError as fault:
        return _refused(screen, _machine_fault(fault))
    except Exception as fault:
        return _refused(screen, own_fault(fault))
    except BaseException as fault:  # a panic of a library written in Rust is no Exception
        if isinstance(fault, SystemExit):
            raise
        return _refused(screen, own_fault(fault))


def _refused(screen: Screen, error: BoxlockError) -> int:
    """Shows the error, wherever it can still be shown; the exit status."""
    try:
        screen.out.flush()
    except (OSError, ValueError):  # nothing more can be printed there
        _let_go(sys.stdout)
    try:
        screen.show_error(error)
    except (OSError, ValueError):
        _let_go(sys.stderr)
    return 2


def _machine_fault(fault: OSError) -> BoxlockError:
    """What the system refused, such as a full disk under the file that standard output leads to."""
    why = fault.strerror or type(fault).__name__
    if fault.filename is None:
        return InputError("BL-I02", f"The result cannot be written: {why}.", hint="Make room, or write it somewhere else.")
    return InputError("BL-I02", f"The file cannot be read or written: {why}.", file=os.fsdecode(fault.filename))


def own_fault(fault: BaseException) -> BoxlockError:
    """A fault of our own, or of a machine without memory, as an error like any other, for the last resort."""
    if isinstance(fault, MemoryError):
        return BoxlockError("BL-X02", "There is not enough memory for this.", hint=_MEMORY_HINT)
    text = hidden(" ".join(str(fault).split()))[:200]
    what = f"Boxlock met a fault of its own: {type(fault).__name__}{f' ({text})' if text else ''}."
    return BoxlockError("BL-X01", what, hint="Nothing was answered. Please report it with the command that led to it.")


def _let_go(stream: TextIO) -> None:
    """Whoever took this output has left, or can take no more: write nothing more, not even when the interpreter ends."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    except (OSError, ValueError):
        return


def _run(arguments: list[str], screen: Screen) -> int:
    _refuse_unknown_command(arguments)
    options: Any = _plain_question(arguments)
    if options is None:
        from repl.arguments import parser

        try:
            options = parser().parse_args(arguments)
        except SystemExit as done:  # --help and --version have printed what was asked
            return int(done.code or 0)
    colour = not getattr(options, "no_colour", False)
    width, form, plain = getattr(options, "width", None), getattr(options, "format", "text"), getattr(options, "plain", False)
    screen.__dict__.update(open_screen(width=width, colour=colour, format=form, plain=plain).__dict__)
    screen.catalogue = getattr(options, "catalogue", "")
    if screen.catalogue and options.command in MAKING:
        what = f"--catalogue is for asking; boxlock {options.command} works on the ontology itself."
        raise InputError("BL-I01", what, hint="Leave it out.")
    screen.store = _store(getattr(options, "store", None), options.command)
    if options.command is None:
        return _prompt(screen, colour)
    home = import_module(HOMES.get(options.command, "repl.oneshot"))
    return getattr(home, options.command)(options, screen)


def _store(given: str | None, command: str | None) -> str:
    """The address of the server to ask, or nothing. Raises InputError (BL-I01) where the command has no use for it."""
    if given is None:
        return os.environ.get("BOXLOCK_STORE", "")
    if command == "publish":
        hint = "Give the address of the graph store alone: boxlock publish URL"
        raise InputError("BL-I01", "--store is for asking; publish takes the address without it.", hint=hint)
    if command in MAKING:
        what = f"--store is for asking; boxlock {command} works on the ontology itself."
        raise InputError("BL-I01", what, hint="Leave it out.")
    if not given:
        raise InputError("BL-I01", "--store needs the address of a server.", hint="--store http://HOST:PORT")
    return given


def _prompt(screen: Screen, colour: bool) -> int:
    if screen.format not in ("text", "json"):
        raise InputError("BL-I01", f"the prompt cannot answer as {screen.format}", hint="Use text or json.")
    if is_terminal(sys.stdin) and is_terminal(sys.stdout) and screen.format == "text":
        from repl.app import run

        return run(screen, colour=colour)
    from repl.piped import bounded_lines
    from repl.piped import run as run_piped

    return run_piped(screen, bounded_lines(sys.stdin))


def _plain_question(arguments: Sequence[str]) -> SimpleNamespace | None:
    """What the parser would make of ``ask`` with words and perhaps a format; None for anything else.

    A parser of all commands takes longer to make than many a question to answer.
    """
    words, given = list(arguments[1:]), {}
    if arguments[:1] != ["ask"]:
        return None
    if len(words) > 2 and words[-2] == "--format" and words[-1] in ANSWER_FORMATS:
        given["format"] = words.pop()
        words.pop()
    if not words or any(word.startswith("-") for word in words):
        return None
    return SimpleNamespace(command="ask", question=words, after=None, **given)


def _wants_json(arguments: Sequence[str]) -> bool:
    """Whether errors in the arguments themselves should be JSON; the arguments may be wrong, so no parser is asked."""
    pairs = zip(["", *arguments], [*arguments, ""], strict=True)
    return any(b == "--format=json" or (a == "--format" and b == "json") for a, b in pairs)


def _refuse_unknown_command(arguments: Sequence[str]) -> None:
    """A first word that is no command is most often a question typed without ``ask``: say what would work."""
    skip = False
    for argument in arguments:
        if skip:
            skip = False
        elif argument in ("--format", "--width", "--catalogue", "--store"):
            skip = True
        elif not argument.startswith("-"):
            break
    else:
        return
    if argument in COMMANDS:
        return
    from difflib import get_close_matches

    near = get_close_matches(argument, COMMANDS, 1)
    rest = " ".join(arguments[arguments.index(argument) :])
    rest = hidden(rest)
    rest = rest if len(rest) <= 200 else rest[:199] + "…"
    hint = f"Did you mean: boxlock {near[0]}. " if near else ""
    hint += f'To ask a question: boxlock ask "{rest}"'
    raise InputError("BL-I01", f'"{hidden(argument)[:60]}" is not a command.', hint=hint)
