"""A user's own catalogue: what is added is asked for; whoever is killed leaves the old state or the new one."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import kg
from kg import closure, overlay, paths
from kg.errors import CatalogueError
from tests.bench import kills

ROOT = Path(__file__).resolve().parents[2]
SOURCES = "id,title,kind,field,page\nmy-book,A Book of the Test,textbook,human,12\n"
PATTERN = (
    "id,label,synonyms,definition,definition source,variant of\n"
    "TrialForceps,trial forceps,trial clamp,A forceps that exists in this test alone.,my-book,\n"
)
SAID = """source,subject,mode,feature,value
my-book,trial forceps,is,kind,HaemostaticForceps
my-book,trial forceps,is,purpose,stopping bleeding
my-book,trial forceps,is,type of joint,box lock
my-book,trial forceps,is,length,127..178
"""


def files(folder: Path, **texts: str) -> list[Path]:
    out = []
    for name, text in texts.items():
        path = folder / f"{name}.csv"
        path.write_text(text, encoding="utf-8")
        out.append(path)
    return out


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home with the trial forceps in it; tests copy it."""
    folder = tmp_path_factory.mktemp("filled")
    home = folder / "home"
    before = os.environ.get("BOXLOCK_HOME")
    os.environ["BOXLOCK_HOME"] = str(home)
    try:
        done = overlay.add_files(files(folder, sources=SOURCES, patterns=PATTERN, said=SAID), hermit=False)
    finally:
        os.environ.pop("BOXLOCK_HOME") if before is None else os.environ.update(BOXLOCK_HOME=before)
    assert done.folder is not None, done.inspection.findings
    assert done.inspection.new == {"sources": 1, "patterns": 1, "statements": 4}
    assert "artery forceps" in done.inspection.gained["bl:TrialForceps"]
    return home


@pytest.fixture
def home(filled: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    import shutil

    copy = tmp_path / "own"
    shutil.copytree(filled, copy)
    monkeypatch.setenv("BOXLOCK_HOME", str(copy))
    return copy


def tree(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_the_folder_follows_the_rule(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert paths.own_dir() == tmp_path / "data" / "boxlock"
    monkeypatch.delenv("XDG_DATA_HOME")
    assert paths.own_dir() == Path(os.environ["HOME"]) / ".local" / "share" / "boxlock"
    monkeypatch.setenv("BOXLOCK_HOME", str(tmp_path / "mine"))
    assert paths.own_dir() == tmp_path / "mine"


def test_what_was_added_is_asked_for(home: Path) -> None:
    heard: list[str] = []
    catalogue = kg.open_catalogue(say=heard.append)
    assert heard == []
    labels = [m.label for m in catalogue.ask("artery forceps with a box lock", limit=500).matches]
    assert "trial forceps" in labels and "Kelly forceps" in labels
    catalogue.close()


def test_a_named_ontology_is_opened_alone(home: Path, ontology_folder: Path) -> None:
    catalogue = kg.open_catalogue(ontology_folder)
    assert "bl:TrialForceps" not in catalogue.vocabulary.terms
    catalogue.close()


def test_the_package_is_not_modified(home: Path, ontology_folder: Path, tmp_path: Path) -> None:
    before = tree(ontology_folder / "generated")
    more = "source,subject,mode,feature,value\nmy-book,trial forceps,is,type of handle,ring handle\n"
    done = overlay.add_files(files(tmp_path, more=more), hermit=False)
    assert done.folder == home / "generation-2"
    assert tree(ontology_folder / "generated") == before
    assert (home / "generation-1").is_dir()  # the one before is kept


def test_adding_the_same_again_writes_nothing(home: Path, tmp_path: Path) -> None:
    before = tree(home)
    done = overlay.add_files(files(tmp_path, sources=SOURCES, patterns=PATTERN, said=SAID), hermit=False)
    assert done.inspection.accepted and done.folder is None
    assert {p: d for p, d in tree(home).items() if p != overlay.LOCK} == {p: d for p, d in before.items() if p != overlay.LOCK}


def test_a_source_may_not_contradict_what_it_said_before(home: Path, tmp_path: Path) -> None:
    more = "source,subject,mode,feature,value\nmy-book,trial forceps,is,type of joint,screw joint\n"
    done = overlay.add_files(files(tmp_path, more=more), hermit=False)
    assert done.folder is None
    assert [f.code for f in done.inspection.findings if f.severity == "error"] == ["BL-I06"]
    assert "recorded earlier" in done.inspection.findings[0].fix


def test_a_ruling_corrects_a_shipped_fact(home: Path, tmp_path: Path) -> None:
    """The shipped catalogue adopts the distal half for the Kelly forceps; a ruling beats the count."""
    sources = "id,title,kind\nmy-ruling,Ruling of the editor,ruling\n"
    more = "source,subject,mode,feature,value\nmy-ruling,Kelly forceps,is,serrationExtent,FullLength\n"
    shipped = kg.open_catalogue(paths.ontology_dir())
    full = next(v for v in shipped.vocabulary.values_of("bl:serrationExtent") if "Full" in v)
    done = overlay.add_files(files(tmp_path, sources=sources, more=more.replace("FullLength", full)), hermit=False)
    assert done.folder is not None, done.inspection.findings
    assert ("bl:serrationExtent", full) in done.inspection.after.records["bl:KellyForceps"].facts
    assert "bl:KellyForceps" in done.inspection.touched


def test_two_sources_that_disagree_are_a_dispute(home: Path, tmp_path: Path) -> None:
    sources = "id,title,kind\nother-book,Another Book,textbook\n"
    more = "source,subject,mode,feature,value\nother-book,trial forceps,is,type of joint,screw joint\n"
    done = overlay.add_files(files(tmp_path, sources=sources, more=more), hermit=False)
    assert done.folder is not None
    assert [(f.severity, f.code) for f in done.inspection.findings] == [("warning", "BL-I08")]
    assert "bl:joint" in done.inspection.after.records["bl:TrialForceps"].disputes


def test_an_upgrade_keeps_the_data_and_says_so(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(overlay, "_shipped_inputs", lambda root: "another release")
    monkeypatch.setattr("kg.build.verify", lambda staged, patterns: "an engine")
    own = overlay.read_files(overlay.current(home))
    heard: list[str] = []
    catalogue = kg.open_catalogue(say=heard.append)
    assert any("rebuilding" in line for line in heard)
    assert "bl:TrialForceps" in catalogue.vocabulary.terms
    assert overlay.read_files(overlay.current(home)) == own
    heard.clear()
    kg.open_catalogue(say=heard.append)
    assert heard == []  # once is enough


def test_data_that_no_longer_fits_is_kept_and_left_out(home: Path) -> None:
    file = home / "generation-1" / "evidence" / "my-book.ttl"
    file.write_text(file.read_text(encoding="utf-8").replace("bl:BoxLock", "bl:GoneLock"), encoding="utf-8")
    kept = file.read_bytes()
    heard: list[str] = []
    catalogue = kg.open_catalogue(say=heard.append)
    assert "bl:TrialForceps" not in catalogue.vocabulary.terms
    assert any("bl:GoneLock" in line and "left out" in line for line in heard)
    assert file.read_bytes() == kept


def test_a_damaged_closure_is_made_anew(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("kg.build.verify", lambda staged, patterns: "an engine")
    file = home / "generation-1" / "generated" / closure.VOCABULARY
    file.write_text("{}", encoding="utf-8")
    heard: list[str] = []
    catalogue = kg.open_catalogue(say=heard.append)
    assert "bl:TrialForceps" in catalogue.vocabulary.terms and any("cannot be read" in line for line in heard)


def test_a_pointer_to_nothing(home: Path) -> None:
    (home / overlay.CURRENT).write_text("generation-77\n", encoding="utf-8")
    heard: list[str] = []
    assert "bl:TrialForceps" not in kg.open_catalogue(say=heard.append).vocabulary.terms
    assert "[BL-C06]" in heard[0]


# --- two writers, and whoever is killed -------------------------------------------------------------------------------
def test_two_writers(home: Path, tmp_path: Path) -> None:
    with overlay.locked(home), pytest.raises(CatalogueError) as caught:
        overlay.add_files(files(tmp_path, said=SAID), hermit=False)
    assert caught.value.code == "BL-C05" and str(os.getpid()) in caught.value.message


def test_the_lock_of_a_process_that_was_killed_is_taken_over(home: Path) -> None:
    program = "import sys, time\nfrom pathlib import Path\nfrom kg import overlay\n"
    program += "with overlay.locked(Path(sys.argv[1])):\n    print('held', flush=True)\n    time.sleep(60)\n"
    child = subprocess.Popen([sys.executable, "-c", program, str(home)], cwd=ROOT, stdout=subprocess.PIPE)
    assert child.stdout and child.stdout.readline() == b"held\n"
    with pytest.raises(CatalogueError), overlay.locked(home):
        pass
    child.kill()
    child.wait()
    child.stdout.close()
    assert (home / overlay.LOCK).read_text(encoding="utf-8").strip() == str(child.pid)
    with overlay.locked(home):
        assert (home / overlay.LOCK).read_text(encoding="utf-8").strip() == str(os.getpid())


WRITER = """
import sys
from pathlib import Path
from kg import closure, overlay
home = Path(sys.argv[1])
old = overlay.current(home)
files, folder = overlay.read_files(old), old / "generated"
stamp = closure.read_stamp(folder)
contents = {name: (folder / name).read_text(encoding="utf-8") for name in stamp.files}
print("ready", flush=True)
while True:
    for number in range(2):
        changed = files | {"evidence/extra.ttl": f"# state {number}\\n"}
        with overlay.locked(home):
            overlay.commit(home, changed, contents, stamp)
"""


@pytest.mark.skipif(os.name != "posix", reason="kill -9 is a matter of POSIX")
def test_kill_at_random_moments(home: Path) -> None:
    """25 kills of a process that does nothing but write: what is in force is always whole, and one of its states."""
    chance = random.Random(20261125)
    first = overlay.read_files(overlay.current(home))
    states = [first, *(first | {"evidence/extra.ttl": f"# state {n}\n"} for n in range(2))]
    seen = set()
    for _ in range(25):
        child = subprocess.Popen([sys.executable, "-c", WRITER, str(home)], cwd=ROOT, stdout=subprocess.PIPE)
        assert child.stdout and child.stdout.readline() == b"ready\n"
        time.sleep(chance.uniform(0, 0.6))
        os.kill(child.pid, signal.SIGKILL)
        child.wait()
        child.stdout.close()
        generation = overlay.current(home)
        assert generation is not None
        now = overlay.read_files(generation)
        assert now in states
        seen.add(states.index(now))
        stamp = closure.read_stamp(generation / "generated")
        for name in stamp.files:
            closure.read(generation / "generated", name, stamp)  # raises if it is not what was stamped
    assert {1, 2} <= seen
    with overlay.locked(home):
        pass
    assert len(list(home.glob("generation-*"))) <= 3  # the two that are kept, and one that was never finished


@pytest.mark.reasoner
@pytest.mark.skipif(os.name != "posix", reason="kill -9 is a matter of POSIX")
def test_kill_while_adding(tmp_path: Path) -> None:
    """The whole command with HermiT, killed at eight moments: the catalogue is the old or the new one, and no Java is left.

    ``python -m tests.bench.kills`` does the same a hundred times.
    """
    figures = kills.run(tmp_path, 8, seed=7)
    assert set(figures.states) <= {"old", "new"} and figures.states.total() == 8, figures.states
    assert figures.left == 0
