"""Speed of asking, measured side by side. Run: ``python -m tests.bench.run`` (from the repository's folder).

Prints five blocks:

- *in process*: 200 competency questions (those of ``tests/questions``, repeated) in one process, by kind, for the first time
  and again, with all patterns and with 250 of them; the ratio to the bare SPARQL query behind each; memory
  (``tests.bench.asking``);
- *one shot*: ``boxlock ask`` as a whole process, alternating with ``python -c pass`` and ``python -c "import pyoxigraph"`` in
  the same run, so that a slow moment hits all; medians, their difference, ratios, peak memory;
- *why*: every inferred membership argued for (``tests.bench.why``);
- *completion*: the time of one keystroke (``tests.bench.complete``);
- *corpus*: the share of questions written without sight of the grammar that is answered rightly, refused, and wrong
  (``tests.bench.corpus``).

Nothing is asserted: times on a shared machine are information, and only those of one run can be compared.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time

from tests.bench.asking import ROOT, sentences

SHOTS = 15


def one_shot() -> None:
    commands = {
        "python": ["-c", "pass"],
        "import pyoxigraph": ["-c", "import pyoxigraph"],
        "boxlock ask": ["-m", "repl", "ask", sentences()[0]],
    }
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    found: dict[str, list[tuple[float, float, float]]] = {name: [] for name in commands}
    for round_number in range(SHOTS + 1):
        for name, arguments in commands.items():
            start = time.perf_counter()
            with subprocess.Popen(
                [sys.executable, *arguments], cwd=ROOT, stdout=subprocess.DEVNULL, env=environment
            ) as process:
                _, status, used = os.wait4(process.pid, 0)
                process.returncode = os.waitstatus_to_exitcode(status)
            clock = (time.perf_counter() - start) * 1000
            if process.returncode:
                raise SystemExit(f"{name} ended with {process.returncode}")
            if round_number:  # the first round warms the file cache
                found[name].append((clock, (used.ru_utime + used.ru_stime) * 1000, used.ru_maxrss / 1024))
    clock, processor, memory = (
        {name: statistics.median(one[i] for one in values) for name, values in found.items()} for i in range(3)
    )
    print(f"one shot, {SHOTS} alternating runs (medians)")
    for name in commands:
        ratio = clock[name] / clock["import pyoxigraph"]
        print(
            f"  {name:20} {clock[name]:6.0f} ms, {ratio:4.1f} times the import of the store; "
            f"processor {processor[name]:5.0f} ms; peak memory {memory[name]:4.0f} MB"
        )
    ask, bare = clock["boxlock ask"], clock["import pyoxigraph"]
    print(f"  difference {ask - bare:.0f} ms; the target of 1.5 times the import and 80 ms is {1.5 * bare + 80:.0f} ms")


if __name__ == "__main__":
    from tests.bench import asking, complete, corpus, why

    asking.main()
    one_shot()
    why.main()
    complete.main()
    corpus.main()
