"""How fast and how well topics are planned and circuits made. Run: ``python -m tests.bench.course [--seconds N]``.

Each plan is made in this process with the catalogue open; the figures are those of the objective, "at least" what no plan can
better. Times are of one whole run, the running order included. Nothing is asserted here.
"""

from __future__ import annotations

import argparse
import time

from kg import open_catalogue

TOPICS = (
    ("artery forceps", 45),
    ("scissors", 45),
    ("needle holders", 30),
    ("retractors", 45),
    ("clamps", 45),
    ("instruments", 45),
)
CIRCUITS = (("needle holders", 5), ("clamps", 10), ("instruments", 20), ("instruments", 60))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=int, default=20)
    seconds = parser.parse_args().seconds
    catalogue = open_catalogue()
    catalogue.plan("bone rongeurs", minutes=45)  # the tables are made on first use
    for question, minutes in TOPICS:
        start = time.perf_counter()
        plan = catalogue.plan(question, minutes=minutes, seconds=seconds)
        spent = time.perf_counter() - start
        count = sum(len(s.script) for s in plan.sessions)
        figures = "; ".join(f"{f.value:g} (at least {f.at_least:g})" for f in plan.objective)
        print(f"{question}, {minutes} min: {count} instruments, {plan.pairs} pairs, {spent:.1f} s, {plan.proof}: {figures}")
    for question, count in CIRCUITS:
        start = time.perf_counter()
        circuit = catalogue.stations(question, count=count, seed=1)
        spent = time.perf_counter() - start
        off = max(abs(c.items - c.target) for c in circuit.cells)
        print(f"{question}: {len(circuit.items)} of {count} stations, {spent:.1f} s, largest deviation of a cell {off:.2f}")


if __name__ == "__main__":
    main()
