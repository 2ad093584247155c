"""A disk that is full, a home that cannot be written, no home at all, streams that are closed."""

from __future__ import annotations

import errno
import json
import os
import shutil
from pathlib import Path

import pytest

from kg import closure, overlay, paths
from kg.errors import CatalogueError, InputError
from kg.files import write_text
from kg.opening import open_catalogue, rebuild
from kg.rehearse.past import Past
from kg.store.embedded import EmbeddedStore
from tests.hostile.conftest import QUESTION, boxlock, in_force, plainly

posix = pytest.mark.skipif(os.name != "posix", reason="limits and /dev/full are matters of POSIX")


def small_files(most: int = 20_000):
    """No file may grow beyond ``most`` bytes: what a full disk does to whoever writes, in the middle of a file."""
    import resource

    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))


# --- full ---------------------------------------------------------------------------------------------------------------
@posix
@pytest.mark.parametrize("form", ["text", "json", "csv", "markdown"])
def test_standard_output_leads_to_a_full_disk(form: str) -> None:
    with open("/dev/full", "w") as full:
        done = boxlock("ask", QUESTION, "--format", form, stdout=full)
    assert done.returncode == 2
    assert "BL-I02" in done.stderr and "No space left" in done.stderr and "Exception ignored" not in done.stderr


@posix
def test_both_streams_lead_to_a_full_disk() -> None:
    with open("/dev/full", "w") as full:
        assert boxlock("ask", QUESTION, stdout=full, stderr=full).returncode == 2
        assert boxlock("ask", "clamps with a rachett", stderr=full).returncode == 2


@posix
@pytest.mark.parametrize("target", ["x.html", "x.ttl", "x.csv"])
def test_an_export_that_does_not_fit_leaves_the_old_file(tmp_path: Path, target: str) -> None:
    path = tmp_path / target
    path.write_text("old")
    done = boxlock("export", "artery forceps", "--to", str(path), "--replace", "--no-drawings", before=small_files(1000))
    plainly(done, 2)
    assert "BL-I02" in done.stderr
    assert path.read_text() == "old" and list(tmp_path.iterdir()) == [path]


@posix
def test_a_store_that_does_not_fit_is_not_kept_and_costs_no_answer() -> None:
    whole = plainly(boxlock("ask", QUESTION, env={"XDG_CACHE_HOME": "/dev/null/none"}), 0).stdout
    done = plainly(boxlock("ask", QUESTION, before=small_files()), 0)
    cache = Path(os.environ["XDG_CACHE_HOME"]) / "boxlock"
    assert done.stdout == whole and done.stderr == ""
    assert list(cache.iterdir()) == []


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EIO])
@pytest.mark.parametrize("call", ["fsync", "replace", "link"])
def test_a_closure_that_does_not_fit(tmp_path: Path, two_closures, monkeypatch, number: int, call: str) -> None:
    (old, old_stamp), (new, new_stamp) = two_closures
    folder = tmp_path / "generated"
    closure.write(folder, old, old_stamp)
    real, left = getattr(os, call), 2

    def full(*arguments: object, **named: object) -> object:
        nonlocal left
        left -= 1
        if left < 0:
            raise OSError(number, os.strerror(number))
        return real(*arguments, **named)

    with monkeypatch.context() as patched:
        patched.setattr(closure.os, call, full)
        if call == "link":  # a file system without second names: copied instead
            closure.write(folder, new, new_stamp)
        else:
            with pytest.raises(OSError, match=os.strerror(number)):
                closure.write(folder, new, new_stamp)
    assert in_force(folder) == {"fsync": "old", "replace": "new", "link": "new"}[call]
    closure.write(folder, new, new_stamp)
    assert in_force(folder) == "new"


def test_build_says_that_the_disk_is_full(tmp_path: Path, monkeypatch, ontology_folder: Path) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("kg.build.build", full)
    with pytest.raises(CatalogueError, match="No space left") as raised:
        rebuild(ontology_folder)
    assert raised.value.code == "BL-C01"


def test_an_addition_that_does_not_fit_leaves_the_old_catalogue(tmp_path: Path, two_closures, monkeypatch) -> None:
    (old, old_stamp), (new, new_stamp) = two_closures
    home = tmp_path / "own"
    home.mkdir()
    first = overlay.commit(home, {"evidence/a.ttl": "old"}, old, old_stamp)

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    for name in ("replace", "fsync", "link"):
        with monkeypatch.context() as patched:
            patched.setattr(overlay.os, name, full)
            if name != "replace":
                patched.setattr(shutil, "copyfile", full)
            try:
                overlay.commit(home, {"evidence/a.ttl": "new"}, new, new_stamp)
            except CatalogueError as error:
                assert error.code == "BL-C06" and "No space left" in error.message
                assert overlay.current(home) == first
        assert in_force(overlay.current(home) / "generated") == overlay.read_files(overlay.current(home))["evidence/a.ttl"]


def test_the_record_of_rehearsals_that_does_not_fit(tmp_path: Path, monkeypatch) -> None:
    past = Past(tmp_path / "state" / "rehearsal.json")
    past.set_keep(True)
    before = past.file.read_bytes()

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match="No space left"):
        past.set_keep(False)
    assert past.file.read_bytes() == before and [p.name for p in past.file.parent.iterdir()] == ["rehearsal.json"]


# --- not to be written ----------------------------------------------------------------------------------------------------
def as_anybody() -> None:
    """For a child: root, too, may not write what the rights of a file refuse (Linux: CAP_DAC_OVERRIDE, capabilities(7))."""
    import ctypes

    if os.geteuid() == 0 and ctypes.CDLL(None, use_errno=True).prctl(24, 1, 0, 0, 0) != 0:  # PR_CAPBSET_DROP
        raise OSError(ctypes.get_errno(), "root cannot give up its rights here")


NO_XDG = dict.fromkeys(("XDG_CACHE_HOME", "XDG_STATE_HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME"))


@posix
def test_a_home_that_cannot_be_written(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir(mode=0o555)
    env = {"HOME": str(home), **NO_XDG}
    done = plainly(boxlock("ask", QUESTION, env=env, before=as_anybody), 0)
    assert "bulldog clamp" in done.stdout and done.stderr == ""
    kept = plainly(boxlock("rehearse", "--keep", "on", env=env, before=as_anybody), 2)
    assert "BL-I02" in kept.stderr and "Permission denied" in " ".join(kept.stderr.split())
    sheet = tmp_path / "s.csv"
    sheet.write_text("id,title,kind\nmy-book,A Book,textbook\n")
    added = plainly(boxlock("add", str(sheet), "--no-hermit", env=env, before=as_anybody), 2)
    assert "BL-C06" in added.stderr and "Permission denied" in " ".join(added.stderr.split())
    assert list(home.iterdir()) == []


@posix
@pytest.mark.parametrize("home", [None, "", "relative", "/dev/null"])
def test_no_home(tmp_path: Path, home: str | None) -> None:
    """Nothing is written where one happens to be; without ``HOME`` the user database says where."""
    env = {**NO_XDG, "HOME": home, "XDG_CACHE_HOME": "relative-too"}
    if home is None:
        env["HOME"] = str(tmp_path / "given")  # not the home of whoever runs the tests
    done = plainly(boxlock("ask", QUESTION, env=env, cwd=tmp_path), 0)
    assert "bulldog clamp" in done.stdout and done.stderr == ""
    assert [p.name for p in tmp_path.iterdir()] == (["given"] if home is None else [])


def test_a_user_who_is_in_no_database(monkeypatch) -> None:
    """As in a container with a number for a user: nothing can be kept, and nothing is kept in a shared place."""
    monkeypatch.delenv("HOME")
    for name in NO_XDG:
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(os.path, "expanduser", lambda text: text)  # as POSIX has it for such a user
    for path in (paths.own_dir(), paths.history_file(), paths.cache_dir("0" * 64)):
        assert path.is_absolute()
        with pytest.raises(OSError):
            path.parent.mkdir(parents=True)
    with pytest.raises(InputError):
        Past(paths.rehearsal_file()).set_keep(True)


# --- streams --------------------------------------------------------------------------------------------------------------
@posix
@pytest.mark.parametrize("closed", [(0,), (1,), (2,), (0, 1, 2)])
def test_streams_that_are_closed(closed: tuple[int, ...], tmp_path: Path) -> None:
    """What is opened later must not take the place of a closed stream; so the answer still goes into the file alone."""
    target = tmp_path / "x.md"

    def close() -> None:
        for number in closed:
            os.close(number)

    done = boxlock("export", QUESTION, "--to", str(target), before=close, stdout=None, stderr=None)
    assert done.returncode == 0
    assert target.read_text().startswith("# Self-closing clamps")
    assert boxlock("ask", "rachett", before=close, stdout=None, stderr=None).returncode == 2


@posix
def test_the_reader_of_the_output_has_left() -> None:
    import subprocess

    ours, theirs = os.pipe()
    os.close(ours)
    done = boxlock("ask", "artery forceps", stdout=theirs, stderr=subprocess.PIPE)
    os.close(theirs)
    assert (done.returncode, done.stderr) == (0, "")


# --- the shipped closure with its cache ---------------------------------------------------------------------------------------
def test_neither_the_package_nor_the_cache_can_be_written(tmp_path: Path, monkeypatch, ontology_folder: Path) -> None:
    """A damaged closure and nowhere to put another: a plain error that names the place."""
    copy = tmp_path / "ontology"
    shutil.copytree(ontology_folder, copy)
    (copy / "generated" / closure.WORDS).write_text("{}")
    monkeypatch.setenv("XDG_CACHE_HOME", "/dev/null/none")

    def refuse(root: Path, folder: Path, **_: object) -> None:
        if copy in folder.parents:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        folder.mkdir(parents=True)

    monkeypatch.setattr("kg.build.build", refuse)
    with pytest.raises(CatalogueError, match=r"Not a directory|No such file") as raised:
        open_catalogue(copy)
    assert raised.value.code == "BL-C01"


def test_json_of_a_refusal_is_json() -> None:
    done = boxlock("ask", "rachett", "--format", "json")
    assert json.loads(done.stderr)["code"] == "BL-Q02"


def test_what_cannot_be_written_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError) as raised:
        write_text(tmp_path / "none" / "x", "")
    assert raised.value.file.endswith("x")
    assert EmbeddedStore.from_quads(b"").kept is None
