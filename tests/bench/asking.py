"""Asking in one process: how long a question takes, by kind, asked for the first time and again. Run:
``python -m tests.bench.asking``, or as a part of ``tests.bench.run``.

The first of 200 competency questions makes the words and the rules; it is told apart. Where the closure keeps no facts by
property (as of the share of the catalogue), the question at which a process goes over to memory is told apart too, and counted
with the rest. Times of the clock are those a person waits; times of the processor
are less disturbed by what else the machine does, and are what can be compared between runs.
"""

from __future__ import annotations

import compileall
import random
import re
import resource
import statistics
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

from kg import Catalogue, closure, names, open_catalogue
from kg.catalogue import MANY
from kg.columns import Columns, columns_texts
from kg.store.embedded import EmbeddedStore

ROOT = Path(__file__).resolve().parent.parent.parent
QUESTIONS = 200
SHARE = 250


class Timed(NamedTuple):
    """One question as asked: milliseconds of the clock and of the processor; ``again``: it was asked before."""

    kind: str
    clock: float
    processor: float
    again: bool
    sparql: str


def sentences() -> list[str]:
    """The sentences of the competency questions, in file order."""
    files = sorted((ROOT / "tests" / "questions").glob("*.toml"))
    return [tomllib.loads(f.read_text(encoding="utf-8"))["sentence"] for f in files]


def percentile(values: Sequence[float], share: float) -> float:
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def spread(values: Sequence[float]) -> str:
    """ "median, p99, worst" in milliseconds."""
    return f"{statistics.median(values):7.2f} {percentile(values, 0.99):8.2f} {max(values):8.2f}"


def asked(catalogue: Catalogue) -> tuple[list[Timed], float]:
    """200 questions asked one after the other, and the milliseconds of the first question of all."""
    different = sentences()
    start = time.perf_counter()
    catalogue.ask(different[0])  # the lexicon and the rules are made once
    first = (time.perf_counter() - start) * 1000
    out = []
    for number in range(QUESTIONS):
        clock, processor = time.perf_counter(), time.process_time()
        answer = catalogue.ask(different[number % len(different)])
        processor, clock = time.process_time() - processor, time.perf_counter() - clock
        again = number >= len(different) or number == 0
        out.append(Timed(answer.kind, clock * 1000, processor * 1000, again, answer.sparql))
    return out, first


def report(title: str, catalogue: Catalogue) -> None:
    """Asks and prints: all, first time, again, and by kind."""
    times, first = asked(catalogue)
    bare = [_timed(lambda query=t.sparql: catalogue.store.select(query)) for t in times]
    print(f"{title}, {len(times)} questions (milliseconds; the very first took {first:.0f})")
    print(f"  {'':22} {'n':>4}  {'clock: median     p99    worst':30}  processor: median     p99    worst")

    def line(name: str, found: Sequence[Timed]) -> None:
        if found:
            both = spread([t.clock for t in found]), spread([t.processor for t in found])
            print(f"  {name:22} {len(found):4}   {both[0]}               {both[1]}")

    line("all", times)
    line("for the first time", [t for t in times if not t.again])
    line("again", [t for t in times if t.again])
    for kind in sorted({t.kind for t in times}):
        line(f"{kind}, first time", [t for t in times if t.kind == kind and not t.again])
        line(f"{kind}, again", [t for t in times if t.kind == kind and t.again])
    print(f"  {'the bare query':22} {len(bare):4}   {spread(bare)}")
    ratio = statistics.median(t.clock for t in times) / statistics.median(bare)
    print(f"  ratio of medians ask / its query: {ratio:.1f}")
    if catalogue.context.columns is None:
        print(f"  question {MANY} goes over to memory: {times[MANY - 2].clock:.0f} ms of the clock")


def _timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1000


def share(catalogue: Catalogue, count: int = SHARE) -> Catalogue:
    """The catalogue with the facts of ``count`` patterns only: those that the questions name, and others by seeded chance."""
    patterns = [t.name for t in catalogue.vocabulary.by_role("pattern")]
    named = {n for s in sentences() for n in re.findall(r"bl:\w+", repr(catalogue.parse(s)))} & set(patterns)
    others = [p for p in patterns if p not in named]
    kept = named | set(random.Random(7).sample(others, count - len(named)))
    left = {f"<{names.expand(p)}>".encode() for p in patterns if p not in kept}
    quads = closure.read(catalogue.folder, closure.QUADS, catalogue.stamp).splitlines(keepends=True)
    some = b"".join(q for q in quads if q.split(b" ", 1)[0] not in left)
    part = Catalogue(catalogue.root, catalogue.folder, catalogue.stamp, EmbeddedStore.from_quads(some))
    # The facts by property as the closure of so many patterns would keep them.
    by_property, by_pattern = columns_texts(some.decode(), kept)
    part.__dict__["_columns"] = Columns(by_property.encode(), by_pattern.encode())
    return part


def main() -> None:
    """All patterns and a share of them, each in a process of its own: else one would walk through the other's memory.

    As installed: pip compiles what it installs, so the byte code is there.
    """
    for folder in ("kg", "repl"):
        compileall.compile_dir(ROOT / folder, quiet=1)
    for arguments in ((), (str(SHARE),)):
        subprocess.run([sys.executable, "-m", "tests.bench.asking", "here", *arguments], cwd=ROOT, check=True)


def here(count: int) -> None:
    catalogue = open_catalogue()
    every = len(catalogue.vocabulary.by_role("pattern"))
    report(f"in process, {count or every} of {every} patterns", share(catalogue, count) if count else catalogue)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"  peak memory of this process: {peak:.0f} MB", flush=True)


if __name__ == "__main__":
    if sys.argv[1:2] == ["here"]:
        here(int(sys.argv[2]) if len(sys.argv) > 2 else 0)
    else:
        main()
