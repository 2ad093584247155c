"""What a server costs. Run: ``python -m tests.bench.remote [--delay MS] [--fresh]``.

Publishes the shipped catalogue to an Oxigraph server on this machine and asks every competency question and every question of
the corpus, in its conversation, of that server and of the embedded store in turn. Prints how many answers differ (none should),
how often the server was asked for an answer, how much it sent, and the times as ratios. ``--delay``: each answer of the server
is held back so long, as on a way through a network; ``--fresh``: each question is the first of its process.

Nothing is asserted here; ``tests/store/test_remote_answers.py`` compares half of the corpus.
"""

from __future__ import annotations

import argparse
import csv
import subprocess
import sys
import time
import tomllib
from pathlib import Path
from typing import Any

from kg.catalogue import Catalogue
from kg.errors import BoxlockError, QuestionError
from kg.opening import open_catalogue, open_remote
from kg.publish import publish
from kg.render.data import answer_json, json_text
from kg.render.faults import error_json
from tests.serving import FaultyServer, RealServer, passing_on

ROOT = Path(__file__).resolve().parents[2]
ONE_SHOT = ["ask", "non-crushing clamps with criss-cross serration", "--format", "json"]


def questions() -> list[tuple[str, str, str]]:
    """(key, question, key of the question before it or nothing)."""
    files = sorted((ROOT / "tests" / "questions").glob("*.toml"))
    out = [(f.stem, tomllib.loads(f.read_text(encoding="utf-8"))["sentence"], "") for f in files]
    with (ROOT / "tests" / "corpus" / "asked.tsv").open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE)
        out += [(row["id"], row["question"], row["follows"]) for row in rows]
    return out


def ask(catalogue: Catalogue, question: str, after: Any) -> tuple[str, Any, float]:
    """The answer as JSON, what the next question leans on, and the seconds."""
    begun = time.perf_counter()
    try:
        found: Any = catalogue.ask(question, after=after)
        text = json_text(answer_json(found))
    except BoxlockError as error:
        text = json_text(error_json(error))
        found = error if isinstance(error, QuestionError) and error.readings else after
    return text, found, time.perf_counter() - begun


def renewed(catalogue: Catalogue) -> Catalogue:
    """The same catalogue with nothing read yet but its words."""
    out = Catalogue(catalogue.root, catalogue.folder, catalogue.stamp, catalogue.store)
    for name in ("vocabulary", "lexicon", "talk"):
        out.__dict__[name] = getattr(catalogue, name)
    return out


def spread(values: list[float], unit: str) -> str:
    ordered = sorted(values)
    at = [ordered[min(len(ordered) - 1, int(len(ordered) * q))] for q in (0.5, 0.99)]
    return f"p50 {at[0]:,.1f}, p99 {at[1]:,.1f}, most {ordered[-1]:,.1f} {unit}"


def compare(here: Catalogue, there: Catalogue, fresh: bool) -> None:
    link = there.store.link  # type: ignore[attr-defined]
    before: dict[str, tuple[Any, Any]] = {}
    trips, sizes, times, ratios, different = [], [], [], [], []
    for key, question, follows in questions():
        one, two = (renewed(here), renewed(there)) if fresh else (here, there)
        after = before.get(follows, (None, None))
        requests, received = link.requests, link.received
        text, found, seconds = ask(one, question, after[0])
        far_text, far_found, far_seconds = ask(two, question, after[1])
        before[key] = (found, far_found)
        if text != far_text:
            different.append(question)
        if link.requests > requests:
            trips.append(link.requests - requests)
            sizes.append((link.received - received) / 1e6)
            times.append(far_seconds * 1000)
            ratios.append(far_seconds / seconds)
    print(f"{len(before)} questions, {len(different)} answered differently; {len(trips)} needed the server, and of these:")
    print(f"  round trips  {spread(trips, '')}")
    print(f"  received     {spread(sizes, 'MB')}")
    print(f"  time         {spread(times, 'ms')}; {spread(ratios, 'times the embedded store')}")
    for question in different:
        print(f"  different: {question}")


def one_shot(*more: str) -> float:
    """The least of five runs of a whole process, in seconds."""
    times = []
    for _ in range(5):
        begun = time.perf_counter()
        subprocess.run([sys.executable, "-m", "repl", *ONE_SHOT, *more], cwd=ROOT, check=True, capture_output=True)
        times.append(time.perf_counter() - begun)
    return min(times)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--delay", type=float, default=0.0, metavar="MS")
    parser.add_argument("--fresh", action="store_true")
    options = parser.parse_args()

    def held_back(_: int) -> bool:
        time.sleep(options.delay / 1000)
        return True

    with RealServer(kept=True) as server:
        here = open_catalogue()
        begun = time.perf_counter()
        done = publish(here, server.url)
        print(f"published {done.sent} graphs, {done.size / 1e6:.1f} MB, in {time.perf_counter() - begun:.1f} s")
        begun = time.perf_counter()
        publish(here, server.url)
        print(f"published again, nothing to send, in {time.perf_counter() - begun:.1f} s")
        if options.delay:
            with FaultyServer(passing_on(server, before=held_back)) as between:
                compare(here, open_remote(between.url), options.fresh)
            return
        compare(here, open_remote(server.url), options.fresh)
        near, far = one_shot(), one_shot("--store", server.url)
        print(f"one-shot ask as a process: {far * 1000:.0f} ms with --store, {far / near:.2f} times that without")


if __name__ == "__main__":
    main()
