"""Speed of asking, measured side by side. Run: ``python -m tests.bench.run`` (from the repository's folder).

Prints five blocks:

- *in process*: 200 competency questions (those of ``tests/questions``, repeated) in one process; median, p99 and worst in
  milliseconds, and the ratio to the time of the bare SPARQL query behind each.
- *one shot*: ``boxlock ask`` as a whole process, alternating with ``python -c "import pyoxigraph"`` in the same run, so that a
  slow moment hits both; medians, their difference and ratio;
- *why*: every inferred membership argued for (``tests.bench.why``);
- *completion*: the time of one keystroke (``tests.bench.complete``);
- *corpus*: the share of questions written without sight of the grammar that is answered rightly, refused, and wrong
  (``tests.bench.corpus``).

Nothing is asserted: times on a shared machine are information, and only those of one run can be compared.
"""

from __future__ import annotations

import compileall
import os
import statistics
import subprocess
import sys
import time
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
QUESTIONS = 200
SHOTS = 15


def sentences() -> list[str]:
    """The sentences of the competency questions, in file order."""
    files = sorted((ROOT / "tests" / "questions").glob("*.toml"))
    return [tomllib.loads(f.read_text(encoding="utf-8"))["sentence"] for f in files]


def percentile(values: list[float], share: float) -> float:
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def in_process() -> None:
    from kg import open_catalogue

    catalogue = open_catalogue()
    asked = sentences()
    asked = (asked * (QUESTIONS // len(asked) + 1))[:QUESTIONS]
    catalogue.ask(asked[0])  # the lexicon and the rules are made once
    total, bare = [], []
    for sentence in asked:
        start = time.perf_counter()
        answer = catalogue.ask(sentence)
        middle = time.perf_counter()
        list(catalogue.store.select(answer.sparql))
        total.append((middle - start) * 1000)
        bare.append((time.perf_counter() - middle) * 1000)
    print(f"in process, {len(asked)} questions")
    print(
        f"  ask     median {statistics.median(total):6.2f} ms   p99 {percentile(total, 0.99):6.2f} ms   "
        f"worst {max(total):6.2f} ms"
    )
    print(f"  query   median {statistics.median(bare):6.2f} ms   p99 {percentile(bare, 0.99):6.2f} ms")
    print(f"  ratio of medians ask / its query: {statistics.median(total) / statistics.median(bare):.1f}")


def one_shot() -> None:
    ask = [sys.executable, "-m", "repl", "ask", sentences()[0]]
    bare = [sys.executable, "-c", "import pyoxigraph"]
    # As installed: pip compiles what it installs, so the byte code is there.
    compileall.compile_dir(ROOT / "kg", quiet=1)
    compileall.compile_dir(ROOT / "repl", quiet=1)
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    times: dict[str, list[float]] = {"ask": [], "bare": []}
    for round_number in range(SHOTS + 1):
        for name, command in (("ask", ask), ("bare", bare)):
            start = time.perf_counter()
            subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.DEVNULL, env=environment)
            if round_number:  # the first round warms the file cache
                times[name].append((time.perf_counter() - start) * 1000)
    medians = {name: statistics.median(values) for name, values in times.items()}
    print(f"one shot, {SHOTS} alternating runs")
    print(f"  boxlock ask            median {medians['ask']:6.0f} ms")
    print(f"  import pyoxigraph      median {medians['bare']:6.0f} ms")
    print(f"  difference {medians['ask'] - medians['bare']:.0f} ms, ratio {medians['ask'] / medians['bare']:.1f}")


if __name__ == "__main__":
    from tests.bench import complete, corpus, why

    in_process()
    one_shot()
    why.main()
    complete.main()
    corpus.main()
