"""Drawing every pattern. Run: ``python -m tests.bench.draw`` (from the repository's folder).

Each pattern is drawn alone in a warm process; the goal is at most 50 ms for every one. Nothing is asserted: times on a shared
machine are information.
"""

from __future__ import annotations

import time

GOAL = 0.05


def main() -> None:
    from kg import open_catalogue

    catalogue = open_catalogue()
    patterns = [t.name for t in catalogue.vocabulary.by_role("pattern")]
    started = time.perf_counter()
    catalogue.draw(patterns[0])
    first = time.perf_counter() - started
    for pattern in patterns:
        catalogue.draw(pattern)  # facts are read, models loaded
    times, size = [], 0
    for pattern in patterns:
        best = float("inf")
        for _ in range(3):
            started = time.perf_counter()
            drawn = catalogue.draw(pattern)
            best = min(best, time.perf_counter() - started)
        times.append((best, pattern))
        size += len(drawn.svg())
    times.sort()
    late = sum(t > GOAL for t, _ in times)
    print(f"first drawing (models loaded, facts read): {first * 1000:.0f} ms")
    print(f"{len(patterns)} patterns: median {times[len(times) // 2][0] * 1000:.1f} ms, {late} over {GOAL * 1000:.0f} ms")
    print("slowest: " + ", ".join(f"{p} {t * 1000:.1f} ms" for t, p in times[:-4:-1]))
    print(f"size: {size / len(patterns) / 1000:.1f} kB a drawing")


if __name__ == "__main__":
    main()
