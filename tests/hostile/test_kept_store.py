"""A store kept on disk that was damaged in any way gives the same answer as a whole one, and is made anew."""

from __future__ import annotations

import os
import random
import shutil
from pathlib import Path

import pytest

from kg.errors import QueryError
from kg.opening import open_catalogue
from kg.store.embedded import RECORD, EmbeddedStore
from tests.hostile.conftest import QUESTION

DAMAGE = ("cut off", "flipped", "emptied", "removed", "rubbish", "zeros")
QUERY = "SELECT (COUNT(*) AS ?n) WHERE { GRAPH ?g { ?s ?p ?o } }"


@pytest.fixture(scope="module")
def whole(ontology_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    quads = (ontology_folder / "generated" / "closure.nq").read_bytes()
    folder = tmp_path_factory.mktemp("whole") / "store"
    EmbeddedStore.from_quads(quads).save_folder(folder)
    return folder


def damage(file: Path, how: str, rng: random.Random) -> None:
    data = bytearray(file.read_bytes())
    if how == "removed":
        file.unlink()
        return
    if how == "cut off":
        data = data[: rng.randrange(len(data) + 1)]
    elif how == "flipped" and data:
        data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    elif how in ("rubbish", "zeros"):
        data = bytearray(rng.randbytes(len(data) or 50) if how == "rubbish" else bytes(len(data) or 50))
    elif how == "emptied":
        data = bytearray()
    file.write_bytes(data)


@pytest.mark.parametrize("how", DAMAGE)
def test_any_damaged_file_is_noticed(whole: Path, tmp_path: Path, how: str) -> None:
    """All files that hold data; each as it would be moved aside, damaged and put back."""
    rng = random.Random(how)
    for name in sorted(p.name for p in whole.iterdir()):
        if name.startswith(("LOG", "LOCK")):
            continue
        file, aside = whole / name, tmp_path / name
        file.rename(aside)
        shutil.copy2(aside, file)
        damage(file, how, rng)
        with pytest.raises(QueryError, match="cannot be opened"):
            EmbeddedStore.open_folder(whole)
        file.unlink(missing_ok=True)
        aside.rename(file)
        _record_again(whole)
        with EmbeddedStore.open_folder(whole) as again:
            assert len(again.select(QUERY)) == 1


def _record_again(folder: Path) -> None:
    """A rename changes the time of a file's entry, as any hand on the store does: trusted again for the next round only."""
    import json

    from kg.store.embedded import _state

    (folder / RECORD).write_text(json.dumps(_state(folder)))


@pytest.mark.parametrize("record", [b"", b"{}", b"[]", b"null", b"\xff", b"[" * 100_000, b'{"CURRENT": 1}'])
def test_a_record_that_is_none(whole: Path, tmp_path: Path, record: bytes) -> None:
    copy = tmp_path / "store"
    shutil.copytree(whole, copy)
    (copy / RECORD).write_bytes(record)
    with pytest.raises(QueryError):
        EmbeddedStore.open_folder(copy)


def test_an_added_file_is_noticed(whole: Path) -> None:
    """A log that the library would play back."""
    extra = whole / "000099.log"
    extra.write_bytes(b"x")
    with pytest.raises(QueryError):
        EmbeddedStore.open_folder(whole)
    extra.unlink()
    EmbeddedStore.open_folder(whole).close()


def test_the_answer_is_the_same_and_the_store_is_made_anew(ontology_folder: Path) -> None:
    """A byte flipped in a table, which the library itself passes over (an answer was one instrument short)."""
    first = open_catalogue(ontology_folder)
    want = first.ask(QUESTION).to_json()
    first.keep()
    kept = first._kept
    assert kept.is_dir()
    first.close()
    for how in ("flipped", "cut off"):
        file = max(kept.glob("*.sst"), key=lambda p: p.stat().st_size)
        damage(file, how, random.Random(1))
        opened = open_catalogue(ontology_folder)
        assert opened.store.kept is None and opened.ask(QUESTION).to_json() == want
        opened.keep()
        opened.close()
        again = open_catalogue(ontology_folder)
        assert again.store.kept == kept and again.ask(QUESTION).to_json() == want
        again.close()


def test_clocks_that_are_wrong_do_no_harm(ontology_folder: Path) -> None:
    """Files from the future and from 1970: the times are compared, never put in order."""
    first = open_catalogue(ontology_folder)
    first.keep()
    kept = first._kept
    for when in (0, 4_102_444_800):
        for file in kept.iterdir():
            os.utime(file, (when, when))
        with pytest.raises(QueryError):
            EmbeddedStore.open_folder(kept)
        opened = open_catalogue(ontology_folder)
        assert opened.ask(QUESTION).matches == first.ask(QUESTION).matches
        opened.keep()
        EmbeddedStore.open_folder(kept).close()
        opened.close()
    first.close()


def test_what_a_killed_process_left_goes_in_time(tmp_path: Path) -> None:
    for name, age in ((".store-old", 10_000), (".store-future", -10_000), (".store-now", 0)):
        (tmp_path / name).mkdir()
        when = (tmp_path / name).stat().st_mtime - age
        os.utime(tmp_path / name, (when, when))
    EmbeddedStore.from_quads(b"").save_folder(tmp_path / "store-1")
    assert sorted(p.name for p in tmp_path.iterdir()) == [".store-now", "store-1"]
