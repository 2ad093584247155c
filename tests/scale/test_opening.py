"""A closure too large for memory is put on disk once, and asked there."""

from __future__ import annotations

import shutil

import pytest

from kg import catalogue as catalogue_module
from kg import closure, opening, paths
from kg.catalogue import Catalogue
from kg.errors import CatalogueError
from kg.store.embedded import EmbeddedStore


@pytest.fixture
def large(ontology_folder, monkeypatch, tmp_path):
    """Opens a copy of the shipped closure as if it were too large for memory."""
    monkeypatch.setattr(catalogue_module, "LARGEST_IN_MEMORY", 1000)
    folder = tmp_path / "closure"
    shutil.copytree(paths.generated_dir(ontology_folder), folder)
    return lambda: opening._open(ontology_folder, folder, None)


def test_it_is_asked_on_disk_and_gives_the_same_answers(large, catalogue):
    opened: Catalogue = large()
    assert opened.store.kept is not None
    assert len(opened.store) == len(catalogue.store)
    for question in ("non-crushing clamps with longitudinal serration", "how many scissors have no finger rings?"):
        assert opened.ask(question) == catalogue.ask(question)
    opened.close()


def test_the_second_opening_finds_the_store(large, monkeypatch):
    large().close()
    monkeypatch.setattr(EmbeddedStore, "make_folder", lambda *_: pytest.fail("written again"))
    again = large()
    assert again.store.kept is not None
    again.close()


def test_a_damaged_file_is_found_before_the_store_is_made(large, tmp_path):
    file = tmp_path / "closure" / closure.QUADS
    data = file.read_bytes()
    file.write_bytes(data[:100] + (b"x" if data[100:101] != b"x" else b"y") + data[101:])
    with pytest.raises(CatalogueError, match="BL-C02") as found:
        large()
    assert "digest" in found.value.message


def test_without_room_on_the_disk_the_memory_does(large, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(EmbeddedStore, "make_folder", full)
    opened = large()
    assert opened.store.kept is None
    assert opened.ask("clamps").matches
    opened.close()
