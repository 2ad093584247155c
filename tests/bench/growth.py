"""Growth: the closure, the store and asking, at 250 to 100,000 patterns drawn from the catalogue (``tests.bench.synthetic``).

Run: ``python -m tests.bench.growth [SIZE ...] [--folder FOLDER]``; a folder keeps the closures and stores for the next run.
Each measurement is a process of its own, so that its peak of memory is its own. Seconds are of the clock, in brackets those of
the processor: where others use the machine only the second can be compared.

- *closure*: all literals and contradictions of every pattern by the in-process rules, in chunks of 1,000, without the drawing;
- *justified*: the same with every minimal set of premises of every literal;
- *write*: drawing, closure, what facts rest on, and the closure's files; *quads* their number and bytes;
- *memory*: the quads loaded into the store in memory; *on disk*: made into a store on disk, and its size; *sets*: the sets of
  patterns written beside it;
- *open*: the store on disk opened; *catalogue*: with its terms; *words*: the lexicon of the question language;
  *once*: the very first question, with what is made once;
- *asking*: the competency questions that list patterns, by ``Catalogue.ask`` on the store on disk: a page of 50 (``page=``), a
  count with its first page, and the whole three-valued list; *first*: each word asked about for the first time since the
  catalogue was opened, *again*: the same question once more. From LARGE patterns on these go by sets (``kg.answer.sets``).

Not measured through ``ask``: questions that name an instrument, since drawn patterns have other names. Nothing is asserted.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from itertools import islice
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
SIZES = (250, 2500, 25_000, 100_000)
CHUNK = 1000
PAGE = 50
Timed = tuple[float, float]


class Watch:
    """Adds up seconds of the clock and of the processor."""

    def __init__(self) -> None:
        self.clock = self.processor = 0.0

    @contextmanager
    def __call__(self) -> Iterator[None]:
        clock, processor = time.perf_counter(), time.process_time()
        yield
        self.clock += time.perf_counter() - clock
        self.processor += time.process_time() - processor

    @property
    def seconds(self) -> Timed:
        return self.clock, self.processor


def watched(work: Callable[[], object]) -> tuple[Timed, object]:
    watch = Watch()
    with watch():
        result = work()
    return watch.seconds, result


# --- the measurements, each in a process of its own -------------------------------------------------------------------
def measure_closure(size: int, folder: Path) -> dict:
    from kg import paths
    from kg.build import stage
    from kg.reason.horn import ROOT as TOP
    from tests.bench.synthetic import Synthetic

    staged = stage(paths.ontology_dir())
    engine, before = staged.engine, _peak()
    source = Synthetic(staged).facts(size)
    plain, justified, literals = Watch(), Watch(), 0
    while chunk := list(islice(source, CHUNK)):
        with plain():
            for _, facts in chunk:
                given = [TOP, *facts]
                engine.consistent(given)
                literals += len(engine.types_only(given))
        with justified():
            for _, facts in chunk:
                engine.close([TOP, *facts])
    return {"closure": plain.seconds, "justified": justified.seconds, "literals": literals, "peak": _peak(), "before": before}


def measure_write(size: int, folder: Path) -> dict:
    from kg import closure, paths
    from kg.build import stage
    from tests.bench.synthetic import Synthetic

    if (folder / closure.STAMP).exists():
        return {"kept": True, "bytes": (folder / closure.QUADS).stat().st_size, "quads": _lines(folder / closure.QUADS)}
    drawn = Synthetic(stage(paths.ontology_dir()))
    seconds, _ = watched(lambda: drawn.write_closure(folder, size))
    quads = folder / closure.QUADS
    return {"write": seconds, "peak": _peak(), "bytes": quads.stat().st_size, "quads": _lines(quads)}


def measure_memory(size: int, folder: Path) -> dict:
    from kg import closure
    from kg.store.embedded import EmbeddedStore

    seconds, _ = watched(lambda: EmbeddedStore.from_quads(folder / closure.QUADS))
    return {"memory": seconds, "peak": _peak()}


def measure_disk(size: int, folder: Path) -> dict:
    from kg import closure, paths
    from kg.answer.kept_sets import FILE
    from kg.answer.sets import keep_sets
    from kg.store.embedded import EmbeddedStore
    from tests.bench.synthetic import open_synthetic

    place, quads = _kept(folder), folder / closure.QUADS
    found: dict = {"kept": place.exists()}
    if not place.exists():
        found["disk"], _ = watched(lambda: EmbeddedStore.make_folder(place, quads))
    # As the catalogue does for a closure that is too large for memory.
    vocabulary = open_synthetic(paths.ontology_dir(), folder).vocabulary
    found["sets"], _ = watched(lambda: keep_sets(place, quads, vocabulary))
    return found | {"peak": _peak(), "bytes": _size(place), "set bytes": (place / FILE).stat().st_size}


def measure_asking(size: int, folder: Path) -> dict:
    from kg import paths
    from kg.catalogue import Catalogue
    from kg.errors import QuestionError
    from kg.language import nodes
    from kg.store.embedded import EmbeddedStore
    from tests.bench.run import sentences
    from tests.bench.synthetic import open_synthetic

    opened, store = watched(lambda: EmbeddedStore.open_folder(_kept(folder)))
    catalogue: Catalogue
    made, catalogue = watched(lambda: open_synthetic(paths.ontology_dir(), folder, store))  # type: ignore[assignment]
    words, _ = watched(lambda: catalogue.lexicon)
    # What is made once in a process: the places of patterns and their lengths, the trees of families and values, the rules,
    # modules that are loaded when they are needed.
    once, _ = watched(lambda: catalogue.ask("instruments with a ratchet and a fine tip, longer than 10 cm", page=(0, PAGE)))
    trees = []
    for sentence in dict.fromkeys(sentences()):
        try:
            trees.append((sentence, catalogue.parse(sentence)))
        except QuestionError:
            continue
    lists = [(s, t) for s, t in trees if isinstance(t, nodes.Filter)]
    asked: dict[str, list[Timed]] = {}

    def ask(name: str, work: Callable[[], object]) -> object:
        seconds, answer = watched(work)
        asked.setdefault(name, []).append(seconds)
        return answer

    matches = []
    for sentence, _ in lists:
        for round_name in ("first", "again"):
            answer = ask(f"page {round_name}", lambda s=sentence: catalogue.ask(s, page=(0, PAGE)))
        matches.append(answer.match_count)  # type: ignore[attr-defined]
    for sentence, tree in lists:
        ask("count again", lambda s=sentence, t=tree: catalogue.answer(nodes.Count(t.expr), s, page=(0, PAGE)))
    for round_name in ("first", "again"):
        for sentence, _ in lists:
            ask(f"whole {round_name}", lambda s=sentence: catalogue.ask(s))
    return {
        "open": opened,
        "catalogue": made,
        "words": words,
        "once": once,
        "asked": asked,
        "questions": len(lists),
        "matches": [min(matches), statistics.median(matches), max(matches)],
        "peak": _peak(),
    }


MEASURED = {
    "closure": measure_closure,
    "write": measure_write,
    "memory": measure_memory,
    "disk": measure_disk,
    "asking": measure_asking,
}


def _peak() -> float:
    """Peak of resident memory in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _lines(path: Path) -> int:
    with path.open("rb") as file:
        return sum(block.count(b"\n") for block in iter(lambda: file.read(1 << 24), b""))


def _size(folder: Path) -> int:
    return sum(f.stat().st_size for f in folder.rglob("*") if f.is_file())


def _kept(folder: Path) -> Path:
    return folder.with_name(folder.name + "-store")


# --- the table ------------------------------------------------------------------------------------------------------
def run(what: str, size: int, folder: Path) -> dict:
    command = [sys.executable, "-m", "tests.bench.growth", "--measure", what, "--folder", str(folder), str(size)]
    done = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True, env=dict(os.environ))
    return json.loads(done.stdout.splitlines()[-1])


def shown(seconds: Iterable[float]) -> str:
    clock, processor = seconds
    return f"{clock:8.2f} s ({processor:.2f})"


def exponent(points: Iterable[tuple[int, float]]) -> float:
    """The slope of the line through the logarithms, by least squares: 1 is proportional growth."""
    logs = [(math.log(n), math.log(max(t, 1e-9))) for n, t in points]
    x = statistics.mean(a for a, _ in logs)
    y = statistics.mean(b for _, b in logs)
    return sum((a - x) * (b - y) for a, b in logs) / sum((a - x) ** 2 for a, _ in logs)


def percentile(values: list[float], share: float) -> float:
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.growth", description="Growth with the number of patterns.")
    parser.add_argument("sizes", nargs="*", type=int, default=SIZES)
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--measure", choices=sorted(MEASURED), help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.measure:
        print(json.dumps(MEASURED[given.measure](given.sizes[0], given.folder)))
        return
    if given.folder:
        table(given.sizes, given.folder)
        return
    with tempfile.TemporaryDirectory() as folder:
        table(given.sizes, Path(folder))


def table(sizes: Iterable[int], base: Path) -> None:
    base.mkdir(parents=True, exist_ok=True)
    grown: dict[str, list[tuple[int, float]]] = {"closure": [], "justified": []}
    for size in sizes:
        folder = base / f"synthetic-{size}"
        print(f"{size:,} patterns", flush=True)
        found = run("closure", size, folder)
        for name, points in grown.items():
            points.append((size, found[name][1]))
            each = 1e6 * found[name][1] / size
            print(f"  {name:<11} {shown(found[name])}   {each:.0f} microseconds a pattern")
        print(
            f"              {found['literals']:,} literals; peak {found['peak']:.0f} MB, {found['before']:.0f} of them before"
        )
        found = run("write", size, folder)
        time_text = (
            "      kept from an earlier run" if "kept" in found else f"{shown(found['write'])}   peak {found['peak']:.0f} MB"
        )
        print(f"  write       {time_text}   {found['quads']:,} quads, {found['bytes'] / 1e6:,.0f} MB")
        found = run("memory", size, folder)
        print(f"  memory      {shown(found['memory'])}   peak {found['peak']:.0f} MB")
        found = run("disk", size, folder)
        time_text = (
            "      kept from an earlier run" if "kept" in found else f"{shown(found['disk'])}   peak {found['peak']:.0f} MB"
        )
        print(f"  on disk     {time_text}   {found['bytes'] / 1e6:,.0f} MB")
        found = run("asking", size, folder)
        for name in ("open", "catalogue", "words", "once"):
            print(f"  {name:<11} {shown(found[name])}")
        low, middle, high = found["matches"]
        print(
            f"  {found['questions']} questions with {low:,} to {high:,} matches (median {middle:,.0f});"
            f" peak {found['peak']:.0f} MB"
        )
        for name, times in found["asked"].items():
            for at, kind in enumerate(("clock", "processor")):
                ms = [1000 * t[at] for t in times]
                print(
                    f"    {name:<12} {kind:<10} median {statistics.median(ms):8.1f} ms   p99 {percentile(ms, 0.99):8.1f} ms"
                    f"   worst {max(ms):8.1f} ms"
                )
    if len(grown["closure"]) > 1:
        for name, points in grown.items():
            print(f"growth exponent of {name} (processor time): {exponent(points):.2f}")


if __name__ == "__main__":
    main()
