"""Checking and adding a sheet of 50 instruments. Run: ``python -m tests.bench.intake`` (from the repository's folder).

The sheet: 50 invented patterns, each with the adopted facts of a shipped one, in XLSX. Whole processes are timed, Java's
start included. Nothing is asserted: times on a shared machine are information; the limit is 10 s on two cores.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
INSTRUMENTS = 50


def sheet(path: Path) -> int:
    """Writes the workbook; returns the number of statements."""
    import openpyxl

    from kg.build import stage
    from kg.evidence.catalogue import RULE
    from kg.paths import ontology_dir

    staged = stage(ontology_dir())
    book = openpyxl.Workbook()
    statements, sources, patterns = book.active, book.create_sheet("sources"), book.create_sheet("patterns")
    statements.title = "statements"
    sources.append(["id", "title", "kind"])
    sources.append(["bench-book", "A Book of the Benchmark", "textbook"])
    patterns.append(["id", "label", "definition", "definition source"])
    statements.append(["source", "subject", "mode", "feature", "value"])
    every = sorted(staged.records)
    chosen = every[:: len(every) // INSTRUMENTS][:INSTRUMENTS]
    count = 0
    for number, pattern in enumerate(chosen):
        patterns.append([f"Bench{number}", f"bench instrument {number}", "An instrument of the benchmark.", "bench-book"])
        for (feature, value), fact in staged.records[pattern].facts.items():
            declared = staged.vocabulary.features.get(feature)
            if fact.level != RULE and not (declared and declared.denies):  # "not used on" may outlive "used on" by weight
                statements.append(["bench-book", f"Bench{number}", "is", feature, value])
                count += 1
    book.save(path)
    return count


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "bench.xlsx"
        count = sheet(file)
        print(f"a sheet of {INSTRUMENTS} instruments with {count} statements")
        environment = os.environ | {"BOXLOCK_HOME": str(Path(folder) / "home")}
        for command in ("check", "add"):
            start = time.perf_counter()
            done = subprocess.run(
                [sys.executable, "-m", "repl", command, str(file)], cwd=ROOT, env=environment, capture_output=True, text=True,
                check=False,
            )  # fmt: skip
            print(f"  boxlock {command:6} {time.perf_counter() - start:5.1f} s   exit status {done.returncode}")
            if done.returncode:
                print(done.stdout[-2000:], done.stderr[-500:])


if __name__ == "__main__":
    main()
