"""The shipped closure: reproducible, ground, fresh; damaged or missing it is rebuilt and never answers wrongly."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from kg import closure, load, paths
from kg.build import build, compare_types, contents, stage, verify
from kg.errors import CatalogueError, QueryError
from kg.opening import open_catalogue
from tests.closure_files import FILES

QUESTION = "haemostats serrated over only half the jaw"


@pytest.fixture(scope="module")
def texts(staged) -> dict[str, str]:
    return contents(staged)


@pytest.fixture
def copy(ontology_folder: Path, tmp_path: Path) -> Path:
    """A copy of the ontology with its closure, to be damaged."""
    return Path(shutil.copytree(ontology_folder, tmp_path / "ontology"))


@pytest.fixture
def without_hermit(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rebuilds skip HermiT: these tests are about files, and Java is slow."""
    import kg.build

    monkeypatch.setattr(kg.build, "verify", lambda staged, **_: "")


def answer(root: Path, said: list[str] | None = None) -> list[str]:
    log = [] if said is None else said
    return [m.name for m in open_catalogue(root, say=log.append).ask(QUESTION).matches]


# --- reproducible ----------------------------------------------------------------------------------------------------
def test_a_second_build_gives_the_same_bytes(ontology_folder, texts):
    assert contents(stage(ontology_folder)) == texts


@pytest.mark.parametrize("seed", ["1", "4242"])
def test_the_order_of_sets_does_not_show(ontology_folder, texts, seed):
    code = (
        "import hashlib, sys; from pathlib import Path; from kg.build import contents, stage\n"
        "for name, text in contents(stage(Path(sys.argv[1]))).items():\n"
        "    print(name, hashlib.sha256(text.encode()).hexdigest())"
    )
    environment = os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": str(Path(closure.__file__).parents[1])}
    run = subprocess.run(
        [sys.executable, "-c", code, str(ontology_folder)], env=environment, capture_output=True, text=True, check=True
    )
    wanted = {name: hashlib.sha256(text.encode()).hexdigest() for name, text in texts.items()}
    assert dict(line.split() for line in run.stdout.splitlines()) == wanted


def test_the_closure_is_sorted_and_ground(texts):
    lines = texts[closure.QUADS].splitlines()
    assert lines == sorted(set(lines))
    assert len(lines) > 10_000
    assert not any(line.startswith("_:") or " _:" in line for line in lines)
    graphs = {line.rsplit(" ", 2)[1] for line in lines}
    assert "<https://boxlock.example/graph/holds>" in graphs
    assert sum("/source/" in g for g in graphs) > 100


def test_what_is_adopted_or_inferred_holds_and_each_fact_has_one_level(texts):
    place: dict[str, set[str]] = {}
    for line in texts[closure.QUADS].splitlines():
        fact, graph = line.removesuffix(" .").rsplit(" ", 1)
        if "/graph/" in graph:
            place.setdefault(fact, set()).add(graph.rsplit("/", 1)[1].rstrip(">"))
    levels = {"adopted-own", "adopted-variant", "adopted-kind", "derived", "inferred"}
    for fact, graphs in place.items():
        assert len(graphs & levels) <= 1, fact
        if graphs & levels:
            assert "holds" in graphs, fact


# --- fresh -----------------------------------------------------------------------------------------------------------
def test_the_shipped_closure_is_that_of_the_shipped_ontology(ontology_folder, texts):
    folder = paths.generated_dir(ontology_folder)
    stamp = closure.read_stamp(folder)
    assert stamp.inputs == load.input_hash(ontology_folder), "run: boxlock build"
    for name in FILES:
        assert (folder / name).read_text(encoding="utf-8") == texts[name], f"{name}: run boxlock build"


def test_the_stamp_says_what_was_made(ontology_folder):
    folder = paths.generated_dir(ontology_folder)
    stamp = json.loads((folder / closure.STAMP).read_text(encoding="utf-8"))
    assert set(stamp["files"]) == set(FILES)
    for name, digest in stamp["files"].items():
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == digest
    assert stamp["verified_by"].startswith("HermiT"), "the shipped closure is verified by HermiT"


def test_any_change_of_an_input_makes_it_stale(copy):
    before = load.input_hash(copy)
    for path, _ in load.manifest(copy):
        text = path.read_text(encoding="utf-8")
        path.write_text(text + "\n", encoding="utf-8")
        assert load.input_hash(copy) != before, path
        path.write_text(text, encoding="utf-8")
    assert load.input_hash(copy) == before


# --- damaged ---------------------------------------------------------------------------------------------------------
@pytest.mark.usefixtures("without_hermit")
@pytest.mark.parametrize("name", [closure.QUADS, closure.VOCABULARY, closure.WORDS, closure.STAMP])
@pytest.mark.parametrize("damage", ["missing", "half", "one letter"])
def test_a_damaged_file_is_reported_and_rebuilt(copy, catalogue, name, damage):
    file = paths.generated_dir(copy) / name
    data = file.read_bytes()
    if damage == "missing":
        file.unlink()
    else:
        bad = {
            "half": data[: len(data) // 2],
            # In the quads this very change would turn one answer into another.
            "one letter": data.replace(b"DistalHalf", b"FullLength", 1).replace(b'"files"', b'"filed"', 1),
        }
        assert bad[damage] != data
        file.write_bytes(bad[damage])
    said: list[str] = []
    assert answer(copy, said) == [m.name for m in catalogue.ask(QUESTION).matches]
    code = "BL-C01" if damage == "missing" else "BL-C02"
    assert said[0].endswith(f"[{code}]; rebuilding it now")
    assert file.exists()
    said.clear()
    assert answer(copy, said)  # repaired: the next start says nothing
    assert said == []


def test_damage_to_the_value_classes_changes_no_answer_and_is_found(copy, catalogue):
    """They are for readers and other programs: answers stay as they are, and reading them by their stamp fails."""
    folder = paths.generated_dir(copy)
    file = folder / closure.VALUE_CLASSES
    for damage, code in ((lambda: file.write_bytes(file.read_bytes()[:-9]), "BL-C02"), (file.unlink, "BL-C01")):
        damage()
        assert answer(copy) == [m.name for m in catalogue.ask(QUESTION).matches]
        with pytest.raises(CatalogueError) as raised:  # as ``boxlock check`` does
            closure.read(folder, closure.VALUE_CLASSES, closure.read_stamp(folder))
        assert raised.value.code == code


@pytest.mark.usefixtures("without_hermit")
def test_the_whole_folder_gone_is_rebuilt(copy, catalogue):
    shutil.rmtree(paths.generated_dir(copy))
    said: list[str] = []
    assert answer(copy, said) == [m.name for m in catalogue.ask(QUESTION).matches]
    assert "has not been built [BL-C01]" in said[0]


def test_an_ontology_that_cannot_be_read_gives_an_error_and_no_answer(copy):
    shutil.rmtree(paths.generated_dir(copy))
    (copy / "axioms" / "categories.ttl").write_text("bl:Broken a ", encoding="utf-8")
    with pytest.raises(CatalogueError) as raised:
        answer(copy)
    assert raised.value.code == "BL-C04"
    assert "axioms/categories.ttl, line 1" in raised.value.message


def test_an_interrupted_build_leaves_the_old_closure(copy, monkeypatch):
    folder = paths.generated_dir(copy)
    before = {p.name: p.read_bytes() for p in folder.iterdir()}

    def fail(*_):
        raise OSError("no room")

    monkeypatch.setattr(closure.os, "fsync", fail)
    with pytest.raises(OSError, match="no room"):
        build(copy, folder, hermit=False)
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before, "and temporary files are taken away"


# --- a folder that cannot be written ---------------------------------------------------------------------------------
@pytest.mark.usefixtures("without_hermit")
@pytest.mark.parametrize("number", [13, 30], ids=["no permission", "read-only"])
def test_a_folder_that_cannot_be_written_leads_to_the_cache(copy, catalogue, monkeypatch, number):
    shutil.rmtree(paths.generated_dir(copy))
    write = closure.write

    def refuse(folder: Path, *rest: object) -> None:
        if copy in folder.parents:
            raise OSError(number, os.strerror(number), str(folder))
        write(folder, *rest)

    monkeypatch.setattr(closure, "write", refuse)
    said: list[str] = []
    wanted = [m.name for m in catalogue.ask(QUESTION).matches]
    assert answer(copy, said) == wanted
    cached = paths.cache_dir(load.input_hash(copy))
    assert (cached / closure.STAMP).exists()
    assert not (paths.generated_dir(copy) / closure.STAMP).exists()
    assert any(str(cached) in line for line in said)
    said.clear()
    assert answer(copy, said) == wanted  # from the cache, without a second build
    assert said == []
    # A change of the ontology never meets the cached closure of the old one.
    manifest = copy / "manifest.toml"
    manifest.write_text(manifest.read_text(encoding="utf-8") + "\n# changed\n", encoding="utf-8")
    assert answer(copy, said) == wanted
    assert paths.cache_dir(load.input_hash(copy)) != cached
    assert said != []


# --- other engines ---------------------------------------------------------------------------------------------------
def test_the_rules_of_the_closure_give_its_types(catalogue, staged):
    """The asking side reasons with the rules in ``vocabulary.json``; they must be those that made the closure."""
    assert catalogue.vocabulary.rules == staged.vocabulary.rules
    facts = catalogue.context.reader.facts(sorted(staged.records))
    for pattern, wanted in staged.inferred.items():
        held = {(p, v) for p, v in facts[pattern].known.holds}
        assert held == set(wanted) | {("rdf:type", "bl:Pattern")}, pattern


@pytest.mark.reasoner
def test_reasonable_agrees_on_the_whole_catalogue(staged):
    pytest.importorskip("reasonable")
    from kg.reason.rl import realise

    outcome = realise(staged.with_facts())
    assert outcome.status == "not-checked", outcome.detail
    assert compare_types(staged, outcome.types) == []
    assert sum(len(t) for t in staged.types().values()) > 700


@pytest.mark.reasoner
def test_hermit_agrees_on_the_whole_catalogue(staged):
    assert verify(staged).startswith("HermiT")


def test_a_difference_between_engines_is_named(staged):
    types = {p: set(t) for p, t in staged.types().items()}
    types["bl:KellyForceps"].discard("bl:ArteryForceps")
    types["bl:ScalpelBlade10"] = {*types["bl:ScalpelBlade10"], "bl:Clamp"}
    assert compare_types(staged, types) == [
        "bl:KellyForceps is bl:ArteryForceps only by the in-process rules",
        "bl:ScalpelBlade10 is bl:Clamp only by the other engine",
    ]


# --- the closure kept on disk between runs ---------------------------------------------------------------------------
def test_a_kept_store_gives_the_same_answer_and_damage_is_survived(copy, catalogue):
    wanted = catalogue.ask(QUESTION).to_json()
    first = open_catalogue(copy)
    first.keep()
    kept = paths.store_folder(first.stamp.files[closure.QUADS])
    assert kept.is_dir()
    second = open_catalogue(copy)
    assert second.store.kept == kept
    assert second.ask(QUESTION).to_json() == wanted
    second.close()
    for file in kept.glob("*.sst"):
        file.write_bytes(b"\0" * file.stat().st_size)
    third = open_catalogue(copy)
    assert third.ask(QUESTION).to_json() == wanted


def test_a_rehearsal_survives_a_kept_store_that_cannot_answer(copy, catalogue, monkeypatch):
    """Everything that was made with the store is made anew, not only the answer at hand."""
    wanted = catalogue.rehearse("artery forceps", 5, 1)
    first = open_catalogue(copy)
    first.keep()
    first.close()
    second = open_catalogue(copy)
    second.__dict__["_columns"] = None  # else the store is not asked
    made, kept = second.rehearsal, second.store

    def fails(*_, **__):
        raise QueryError("BL-S05", "the store could not answer")

    monkeypatch.setattr(kept, "select", fails)
    assert second.rehearse("artery forceps", 5, 1) == wanted
    assert second.mark(wanted.items[0], wanted.items[0].answer).share == 1
    assert second.rehearsal is not made and second.store is not kept


def test_stores_of_older_closures_are_removed(copy):
    opened = open_catalogue(copy)
    old = paths.store_folder("0" * 64)
    old.mkdir(parents=True)
    opened.keep()
    assert not old.exists()
    assert paths.store_folder(opened.stamp.files[closure.QUADS]).is_dir()
