"""Completion: the time of one keystroke. Run: ``python -m tests.bench.complete``.

Types every competency question letter by letter; after each letter the suggestions are made as at the prompt, with their
counts. Prints the median, the 99th percentile and the worst in milliseconds. Nothing is asserted.
"""

from __future__ import annotations

import statistics
import time

from tests.bench.asking import percentile, sentences


def main() -> None:
    from kg import open_catalogue

    catalogue = open_catalogue()
    catalogue.suggest("clamps with ", 12)  # the tables are made once
    times: list[float] = []
    for sentence in sentences():
        for cursor in range(1, len(sentence) + 1):
            start = time.perf_counter()
            catalogue.suggest(sentence[:cursor], cursor)
            times.append((time.perf_counter() - start) * 1000)
    print(f"completion, {len(times):,} keystrokes")
    print(f"  median {statistics.median(times):6.2f} ms   p99 {percentile(times, 0.99):6.2f} ms   worst {max(times):6.2f} ms")


if __name__ == "__main__":
    main()
