"""A file is written whole or not at all; and what the command line says about it."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from kg.errors import InputError
from kg.files import write_bytes
from tests.export.hostile import DATE

ROOT = Path(__file__).parents[2]


def run(*arguments: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "repl", *arguments]
    return subprocess.run(command, cwd=cwd or ROOT, env=environment, capture_output=True, text=True, check=False)


def test_command_writes_and_says_where(tmp_path) -> None:
    done = run("export", "self-closing clamps", "--date", DATE, cwd=tmp_path)
    assert (done.returncode, done.stdout) == (0, "Written to self-closing-clamps.html.\n"), done.stderr
    again = run("export", "self-closing clamps", cwd=tmp_path)
    assert again.returncode == 2
    assert "BL-I02" in again.stderr
    assert "--replace" in again.stderr
    as_json = run("export", "self-closing", "clamps", "--replace", "--format", "json", cwd=tmp_path)
    assert json.loads(as_json.stdout)["file"] == "self-closing-clamps.html"


def test_command_errors(tmp_path) -> None:
    for arguments, said in (
        (("export",), "no question"),
        (("export", "clamps", "--template"), "stands alone"),
        (("export", "clamps", "--to", "x.docx"), ".docx"),
        (("export", "clamps", "--to", "none/x.html"), "cannot be written"),
        (("export", "clamps", "--seed", "x"), "whole number"),
        (("export", "what is a box lock?", "--to", "x.ttl"), "names no pattern"),
        (("check", "--catalogue", "x.ttl"), "--catalogue is for asking"),
    ):
        done = run(*arguments, cwd=tmp_path)
        assert done.returncode == 2, arguments
        assert said in done.stderr
        assert "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_command_answers_from_an_exported_file(tmp_path) -> None:
    assert run("export", "self-closing clamps", "--to", "b.jsonld", cwd=tmp_path).returncode == 0
    whole = json.loads(run("ask", "self-closing clamps", "--format", "json").stdout)
    part = json.loads(run("--catalogue", "b.jsonld", "ask", "self-closing clamps", "--format", "json", cwd=tmp_path).stdout)
    assert part["matches"] == whole["matches"]
    other = run("ask", "artery forceps", "--catalogue", "b.jsonld", cwd=tmp_path)
    assert "No pattern is known to match" in other.stdout
    again = run("--catalogue", "b.jsonld", "export", "self-closing clamps", "--to", "c.ttl", cwd=tmp_path)
    assert again.returncode == 0, again.stderr


@pytest.mark.parametrize("ending", ["html", "ttl"])
def test_killed_at_any_moment_leaves_the_old_file_or_the_new_one(tmp_path, ending) -> None:
    """The process is killed (SIGKILL) after ever longer times, while it writes over an older file."""
    target = tmp_path / f"x.{ending}"
    target.write_text("old")
    command = [sys.executable, "-m", "repl", "export", "vascular clamps", "--to", str(target), "--replace", "--date", DATE]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    started = time.monotonic()
    subprocess.run(command, cwd=ROOT, env=environment, check=True, capture_output=True)
    whole, took = target.read_bytes(), time.monotonic() - started
    seen = set()
    for step in range(8):
        target.write_text("old")
        child = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(took * (step + 1) / 7)
        child.send_signal(signal.SIGKILL)
        child.wait()
        assert target.read_bytes() in (b"old", whole)
        seen.add(target.read_bytes())
    assert b"old" in seen


def test_killed_while_the_bytes_are_written(tmp_path) -> None:
    """Killed in the middle of the write itself: the file under its own name is untouched."""
    target = tmp_path / "x.html"
    target.write_text("old")
    code = (
        "import os, sys\nfrom pathlib import Path\nimport kg.files as files\n"
        "real = os.fdopen\n"
        "class Stopping:\n"
        "    def __init__(self, f): self.f = f\n"
        "    def __enter__(self): return self\n"
        "    def __exit__(self, *a): self.f.close()\n"
        "    def write(self, data):\n"
        "        self.f.write(data[:10]); self.f.flush(); os.kill(os.getpid(), 9)\n"
        "os.fdopen = lambda *a: Stopping(real(*a))\n"
        f"files.write_bytes(Path({str(target)!r}), b'new' * 1000)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False)
    assert done.returncode == -signal.SIGKILL
    assert target.read_text() == "old"
    assert all(p.name.endswith(".part") for p in tmp_path.iterdir() if p != target)


def test_failed_write_leaves_nothing(tmp_path, monkeypatch) -> None:
    def fails(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", fails)
    with pytest.raises(InputError, match="No space left"):
        write_bytes(tmp_path / "x.html", b"new")
    assert list(tmp_path.iterdir()) == []


def test_mode_follows_the_umask(tmp_path) -> None:
    old = os.umask(0o027)
    try:
        write_bytes(tmp_path / "x", b"")
    finally:
        os.umask(old)
    assert (tmp_path / "x").stat().st_mode & 0o777 == 0o640


def test_prompt_writes_the_last_answer(tmp_path) -> None:
    text = "export x.md\nself-closing clamps\nexport x.md\nexport x.md\nexport\n"
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-m", "repl"], cwd=tmp_path, env=environment, input=text, capture_output=True, text=True, check=False
    )
    assert "Nothing has been asked yet." in done.stdout
    assert "Written to x.md." in done.stdout
    assert "Written to self-closing-clamps.html." in done.stdout
    assert "BL-I02" in done.stderr
    assert (tmp_path / "x.md").read_text().startswith("# Self-closing clamps")
