"""How long handouts take and how large they are: ``python -m tests.bench.handouts``."""

from __future__ import annotations

import time
from pathlib import Path

from kg.export import Wishes, handout_bytes, make_handout
from kg.export.figure import figure
from kg.export.graph import graph_bytes
from kg.opening import open_catalogue

QUESTIONS = ("artery forceps", "retractors", "jointed instruments or jointless instruments")
ENDINGS = (".html", ".pdf", ".md", ".csv", ".xlsx", ".json")
WISHES = Wishes(date="2026-01-31")


def main() -> None:
    catalogue = open_catalogue(Path(__file__).parents[2] / "ontology")
    for question in QUESTIONS:
        start = time.perf_counter()
        handout = make_handout(catalogue, question, WISHES)
        print(f"{question}: {len(handout.cards)} patterns, gathered in {time.perf_counter() - start:.2f} s")
        for ending in ENDINGS:
            start = time.perf_counter()
            size = len(handout_bytes(handout, ending))
            print(f"  {ending:6} {time.perf_counter() - start:6.2f} s {size / 1000:8.0f} kB")
    for ending in (".ttl", ".jsonld"):
        start = time.perf_counter()
        size = len(graph_bytes(catalogue, QUESTIONS[0], WISHES, ending))
        print(f"{QUESTIONS[0]} {ending}: {time.perf_counter() - start:.2f} s {size / 1000:.0f} kB")
    patterns = [t.name for t in catalogue.vocabulary.by_role("pattern")]
    start = time.perf_counter()
    sizes = [len(figure(catalogue, p)) for p in patterns]
    took = (time.perf_counter() - start) / len(patterns)
    largest, mean = max(sizes) / 1000, sum(sizes) / len(sizes) / 1000
    print(f"pictures: {took * 1000:.1f} ms and {mean:.1f} kB each, the largest {largest:.1f} kB")


if __name__ == "__main__":
    main()
