"""A closure kept on disk between runs: same answers, whole or absent, and never trusted when damaged."""

from __future__ import annotations

from pathlib import Path

import pytest

from kg.errors import QueryError
from kg.store.embedded import EmbeddedStore

NS = "https://boxlock.example/ns#"
QUADS = f"<{NS}A> <{NS}p> <{NS}B> <https://boxlock.example/graph/holds> .\n".encode()
QUERY = "SELECT ?s ?o WHERE { GRAPH ?g { ?s ?p ?o } }"


def test_kept_store_answers_like_the_one_in_memory(tmp_path: Path) -> None:
    memory = EmbeddedStore.from_quads(QUADS)
    memory.save_folder(tmp_path / "store-1")
    with EmbeddedStore.open_folder(tmp_path / "store-1") as one, EmbeddedStore.open_folder(tmp_path / "store-1") as two:
        assert list(one.select(QUERY)) == list(two.select(QUERY)) == list(memory.select(QUERY)) != []


def test_saving_leaves_nothing_half_done(tmp_path: Path) -> None:
    EmbeddedStore.from_quads(QUADS).save_folder(tmp_path / "store-1")
    EmbeddedStore.from_quads(QUADS).save_folder(tmp_path / "store-1")  # already there: left alone
    assert [p.name for p in tmp_path.iterdir()] == ["store-1"]


@pytest.mark.parametrize("kind", ["missing", "empty", "a file", "rubbish"])
def test_what_cannot_be_opened_is_an_error(tmp_path: Path, kind: str) -> None:
    folder = tmp_path / "store-1"
    if kind == "a file":
        folder.write_text("no store", encoding="utf-8")
    elif kind != "missing":
        folder.mkdir()
    if kind == "rubbish":
        (folder / "CURRENT").write_text("rubbish\n", encoding="utf-8")
    with pytest.raises(QueryError) as raised:
        EmbeddedStore.open_folder(folder)
    assert raised.value.code == "BL-S05"
