"""Every command on hostile arguments: it ends in time, within memory, with an answer or a plain refusal.

The commands and their options are taken from the parser, so that a new one is tried without being named here.
"""

from __future__ import annotations

import argparse
import io
import os
import random
import signal
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from kg.errors import CODES
from repl import cli
from repl.arguments import parser as all_commands
from tests.hostile.conftest import CODE

LONGEST_SECONDS = 30
MOST_MEGABYTES = 500
NEEDED = {"--minutes": "30", "--count": "2", "--seed": "1"}
"""A good value for each option that a command cannot do without."""
POSITIONAL = {
    "add": ["x.csv"], "build": [], "changes": ["x"], "check": ["x.csv"], "compare": ["Kelly forceps", "Crile forceps"],
    "coverage": ["x.toml"], "draw": ["Kelly forceps"], "sparql": ["ASK {}"], "table": ["x.csv"],
    "why": ["Kelly forceps is a clamp"],
}  # fmt: skip
"""Good arguments; for other commands a question."""
TEXTS = {
    "a million letters": "a" * 1_000_000,
    "a million characters of words": "clamps and " * 90_000,
    "brackets": "(" * 100_000 + "clamps",
    "closing brackets": "clamps" + ")" * 100_000,
    "denials": "not " * 100_000 + "clamps",
    "commas": "Kelly forceps, " * 20_000,
    "quotation marks": '"' * 50_001,
    "NUL": "clamps\0with teeth",
    "lone surrogate": "clamps \udcff\ud800",
    "right to left": "\u202eclamps\u202c \u2066ratchet",
    "combining marks": "e" + "\u0301" * 100_000,
    "escapes": "\x1b[2J\x1b]0;taken\x07clamps\x9b31m",
    "line ends": "clamps\r\nwith\u2028teeth\x0b\x85",
    "digits of another script": "scissors longer than ٣٠ cm",
    "numbers without end": "scissors longer than " + "9" * 5_000 + " cm",
    "blanks": " " * 1_000_000,
    "nothing": "",
    "a way out": "../../../../etc/passwd",
    "a shell": "$(touch taken); `touch taken` | touch taken",
    "a template": "{0.__class__} %s %n ${HOME}",
    "markup": "<script>alert(1)</script>",
    "an option": "--format=svg",
}
NUMBERS = ("1" + "0" * 9, "1e308", "nan", "inf", "-1", "0", "", "1.5", "٣", "0x10", "9" * 5_000, "1_0", "\0")


def subparsers() -> dict[str, argparse.ArgumentParser]:
    (found,) = (a for a in all_commands()._actions if isinstance(a, argparse._SubParsersAction))
    return found.choices


def valued(parser: argparse.ArgumentParser) -> list[str]:
    """The options that take a value, by their first name."""
    return [a.option_strings[0] for a in parser._actions if a.option_strings and a.nargs != 0]


def needed(parser: argparse.ArgumentParser, without: str = "") -> list[str]:
    out: list[str] = []
    for action in parser._actions:
        if action.option_strings and action.required and action.option_strings[0] != without:
            out += [action.option_strings[0], NEEDED[action.option_strings[0]]]
    return out


def positional(command: str, parser: argparse.ArgumentParser) -> list[str]:
    takes = [a for a in parser._actions if not a.option_strings]
    return POSITIONAL.get(command, ["scissors"] if takes else [])


@pytest.fixture(autouse=True)
def quick(catalogue, staged, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[None]:
    """The shipped catalogue is opened and staged once; what is hostile here are the arguments. Ends what takes too long."""
    import kg
    from kg import build

    real = build.stage
    monkeypatch.setattr(build, "stage", lambda root, *a, **k: real(root, *a, **k) if k or any(a) else staged)
    monkeypatch.setattr("kg.changes.stage", lambda root: staged)
    monkeypatch.setattr(kg, "open_catalogue", lambda *_, **__: catalogue, raising=False)
    monkeypatch.setattr(kg, "rebuild", lambda root, **_: root / "generated", raising=False)
    monkeypatch.setattr(type(catalogue), "keep", lambda self: None)
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    monkeypatch.chdir(tmp_path)

    def late(*_: object) -> None:
        raise TimeoutError(f"not done after {LONGEST_SECONDS} seconds")

    if not hasattr(signal, "SIGALRM"):
        yield
        return
    before = signal.signal(signal.SIGALRM, late)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)


def peak() -> int:
    try:
        import resource
    except ImportError:
        return 0
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // (1024 if sys.platform != "darwin" else 1024 * 1024)


def tried(capsys, *arguments: str) -> int:
    """Runs the command in this process; checks how it ended and what it said. Returns the status."""
    before, folder = peak(), {p.name for p in Path.cwd().iterdir()}
    if hasattr(signal, "SIGALRM"):
        signal.alarm(LONGEST_SECONDS)
    status = cli.main(list(arguments))
    if hasattr(signal, "SIGALRM"):
        signal.alarm(0)
    said = capsys.readouterr()
    shown = [a[:40] for a in arguments]
    assert status in (0, 1, 2), (shown, status)
    assert "Traceback" not in said.err and "BL-X" not in said.err, (shown, said.err[-1500:])
    assert peak() - before < MOST_MEGABYTES, shown
    most = 5_000_000 if "json" in arguments else 100_000  # JSON has what was given in full, as a text has not
    assert len(said.err) < most, shown
    if status == 2:
        found = CODE.findall(said.err)
        assert found and set(found) <= set(CODES), (shown, said.err[-500:])
    for text in (said.out, said.err):
        assert not set(text) & set("\x1b\x07\x9b\u202e\u2066\u2028\x85\0"), shown
    assert "taken" not in {p.name for p in Path.cwd().iterdir()} - folder, shown
    return status


@pytest.mark.parametrize("command", sorted(cli.COMMANDS))
def test_every_command_has_a_parser(command: str) -> None:
    parser = subparsers()[command]
    assert set(needed(parser)[::2]) <= set(NEEDED)


@pytest.mark.parametrize("command", sorted(cli.COMMANDS))
def test_hostile_texts(command: str, capsys) -> None:
    parser = subparsers()[command]
    takes = [a for a in parser._actions if not a.option_strings]
    for text in TEXTS.values():
        if takes:
            many = [text] * (2 if takes[0].nargs == "+" else 1)
            tried(capsys, command, *needed(parser), "--", *many)
            tried(capsys, command, *needed(parser), "--format", "json", "--", *many)
        else:
            assert tried(capsys, command, text) in ((2,) if text else (0, 2))


@pytest.mark.parametrize("command", sorted(cli.COMMANDS))
def test_hostile_values_of_options(command: str, capsys) -> None:
    parser = subparsers()[command]
    texts = [TEXTS[n] for n in ("a million letters", "NUL", "lone surrogate", "escapes", "a way out", "markup")]
    for option in valued(parser):
        rng = random.Random(command + option)
        for value in (*rng.sample(NUMBERS, 5), *rng.sample(texts, 3)):
            tried(capsys, command, *needed(parser, option), f"{option}={value}", *positional(command, parser))


@pytest.mark.parametrize("command", ["compare", "draw", "describe", "identify", "ask"])
def test_thousands_of_names(command: str, capsys) -> None:
    tried(capsys, command, *(["Kelly forceps", "Crile forceps"] * 5_000))
    tried(capsys, command, *(f"name {n}" for n in range(10_000)))


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Files that are none, or that have no end, or that cannot be what their name says; in every ending that is read."""
    folder = tmp_path_factory.mktemp("files")
    out: list[Path] = []
    for ending in ("csv", "xlsx", "ttl", "trig", "jsonld", "toml", "json", "txt", "svg"):

        def path(name: str, ending: str = ending) -> Path:
            out.append(folder / f"{name}.{ending}")
            return out[-1]

        path("missing")
        path("folder").mkdir()
        path("empty").write_bytes(b"")
        path("zeros").write_bytes(b"\0" * 100_000)
        path("binary").write_bytes(bytes(range(256)) * 1_000)
        path("letters").write_bytes(b"x" * 9_000_000)
        path("deep").write_bytes(b"[" * 200_000)
        if os.name == "posix":
            path("loop").symlink_to(out[-1])
            path("dangling").symlink_to(folder / "nowhere")
            path("endless").symlink_to("/dev/zero")
            path("silent").symlink_to("/dev/null")
            os.mkfifo(path("pipe"))
    return out


@pytest.mark.parametrize("command", sorted(cli.COMMANDS))
def test_files_that_are_no_files(command: str, files: list[Path], capsys) -> None:
    """In the place of the argument and of every option; targets are copies, since commands may write there."""
    parser = subparsers()[command]
    named = [o for o in valued(parser) if o not in ("--format", "--width", "--seconds", *NEEDED)]
    takes_files = any(
        a.metavar and ("FILE" in a.metavar or "FOLDER" in a.metavar) for a in parser._actions if not a.option_strings
    )
    for file in files:
        if takes_files:
            kind = file.is_file() and not file.is_symlink()
            before = file.read_bytes() if kind else b""
            tried(capsys, command, *needed(parser), str(file))
            if kind and command != "table":
                assert file.read_bytes() == before
    for option in named:
        for file in random.Random(command + option).sample(files, 8):
            if option == "--to" and (file.is_fifo() or file.is_symlink()):
                continue  # what is written over is looked at below
            tried(capsys, command, *needed(parser, option), option, str(file), *positional(command, parser))


def test_a_link_is_replaced_and_not_followed(tmp_path: Path, capsys) -> None:
    """A target that leads elsewhere: the file behind it stays as it was. A way out of the folder is the user's own to give."""
    behind, link = tmp_path / "behind.md", tmp_path / "link.md"
    behind.write_text("mine")
    link.symlink_to(behind)
    assert tried(capsys, "export", "scissors", "--to", str(link)) == 2, "it is there already"
    assert tried(capsys, "export", "scissors", "--to", str(link), "--replace") == 0
    assert behind.read_text() == "mine" and not link.is_symlink()
    assert tried(capsys, "export", "scissors", "--title", "../../out/of/here") == 0
    assert sorted(p.name for p in tmp_path.iterdir()) == ["behind.md", "link.md", "out-of-here.html"]


def test_photographs_that_are_links(tmp_path: Path, capsys) -> None:
    folder = tmp_path / "photos"
    folder.mkdir()
    (folder / "bulldog clamp.png").symlink_to("/dev/zero")
    assert tried(capsys, "export", "self-closing clamps", "--photos", str(folder), "--to", "x.html") == 2
    (folder / "bulldog clamp.png").unlink()
    (folder / "bulldog clamp.png").symlink_to("/etc/passwd")  # no picture: not a byte of it goes into the page
    assert tried(capsys, "export", "self-closing clamps", "--photos", str(folder), "--to", "x.html") == 2
    (folder / "bulldog clamp.png").unlink()
    os.mkfifo(folder / "bulldog clamp.png")
    assert tried(capsys, "export", "self-closing clamps", "--photos", str(folder), "--to", "x.html") == 2
    assert not (tmp_path / "x.html").exists()
