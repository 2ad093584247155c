"""Asking beside rdflib, in one run: the same graph, the same SPARQL text, the same rows.

Run: ``python -m tests.bench.rdflib_side``. For some shapes of question it prints the time of the query in rdflib, of the same
query in the store, and of the whole of ``Catalogue.ask``, and the ratios to rdflib. The rows of both are compared as sets; a
difference is printed and ends the run with status 1. rdflib reads the quads of the closure into a dataset in memory; its time
is the least of two runs, the others' the median of nine. A query that rdflib has not answered in LONGEST seconds is given up,
and the ratio is a lower bound. No time is asserted.
"""

from __future__ import annotations

import multiprocessing
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

from kg import closure, open_catalogue

LONGEST = 120
SHAPES = {
    "one category": "crushing clamps",
    "category and value": "curved artery forceps",
    "value broader than recorded": "non-crushing clamps with longitudinal serration",
    "absent part": "needle holders without finger rings",
    "negated value": "artery forceps that are not curved",
    "two alternatives": "artery forceps that are either straight or curved",
    "length": "artery forceps between 12 and 18 cm long",
    "many values": "atraumatic clamps used on large vessels",
}
Rows = set[tuple[str, str]]


def least(work: Callable[[], object], times: int) -> float:
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


def median(work: Callable[[], object], times: int) -> float:
    return statistics.median(least(work, 1) for _ in range(times))


def _beside(quads: Path, queries: multiprocessing.connection.Connection) -> None:
    """The process with rdflib: says how long loading took, then answers one query after the other."""
    import rdflib

    start = time.perf_counter()
    dataset = rdflib.Dataset()
    dataset.parse(quads, format="nquads")
    queries.send(time.perf_counter() - start)
    while query := queries.recv():
        start = time.perf_counter()
        rows = {(str(row.p), str(row.m).lower()) for row in dataset.query(query)}
        queries.send((time.perf_counter() - start, rows))


def main() -> int:
    catalogue = open_catalogue()
    load = catalogue.quads_file
    ours = least(lambda: type(catalogue.store).from_quads(closure.read(load.parent, load.name, catalogue.stamp)), 3)
    here, there = multiprocessing.Pipe()
    process = multiprocessing.get_context("spawn").Process(target=_beside, args=(load, there), daemon=True)
    process.start()
    theirs = here.recv()
    print(f"load: rdflib {theirs:.1f} s, the store {ours:.3f} s, {theirs / ours:.0f} times faster")
    wrong, ratios = 0, []
    for shape, sentence in SHAPES.items():
        answer = catalogue.ask(sentence)
        found = {(row["p"].value, row["m"].value) for row in catalogue.store.select(answer.sparql)}
        query = median(lambda q=answer.sparql: catalogue.store.select(q), 9)
        ask = median(lambda s=sentence: catalogue.ask(s), 9)
        here.send(answer.sparql)
        if not here.poll(LONGEST):
            print(f"  {shape}: rdflib gave no answer in {LONGEST} s: more than {LONGEST / ask:,.0f} times the whole of ask")
            process.kill()
            process = multiprocessing.get_context("spawn").Process(target=_beside, args=(load, there), daemon=True)
            process.start()
            here.recv()
            continue
        first, rows = here.recv()
        here.send(answer.sparql)
        second, _ = here.recv()
        rdflib_seconds = min(first, second)
        ratios.append(rdflib_seconds / ask)
        same = "the same rows" if rows == found else f"{len(rows ^ found)} ROWS DIFFER"
        wrong += rows != found
        print(
            f"  {shape:<28} {len(found):4} rows: rdflib {1000 * rdflib_seconds:9.1f} ms; query {1000 * query:6.2f} ms,"
            f" {rdflib_seconds / query:6,.0f} times faster; ask {1000 * ask:6.2f} ms, {rdflib_seconds / ask:6,.0f} times;"
            f" {same}",
            flush=True,
        )
    here.send("")
    if ratios:
        print(f"  least ratio to the whole of ask: {min(ratios):,.0f}; median {statistics.median(ratios):,.0f}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
