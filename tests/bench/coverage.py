"""How long a large course takes. Run: ``python -m tests.bench.coverage [--objectives N] [--seed S]`` (from the root).

The course is made up from the catalogue's own words: objectives are categories, with and without a feature, at random; five
in a hundred are prose. Each of ten sessions shows thirty instruments. Timed in one process: opening, reading, understanding,
covering, the smallest lists, what ten more would buy, and each form of output; and the whole command as a process of its own.

Nothing is asserted here: a thousand objectives should take at most ten seconds without the exact search.
"""

from __future__ import annotations

import argparse
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

T = TypeVar("T")
ROOT = Path(__file__).resolve().parent.parent.parent
SESSIONS, SHOWN = 10, 30


def invented_course(objectives: int, seed: int) -> str:
    """A course in TOML whose questions are understood; invented, and the same for the same seed."""
    from kg import QuestionError, open_catalogue
    from kg.language import nodes, say

    catalogue = open_catalogue()
    rng = random.Random(seed)
    vocabulary, lexicon = catalogue.vocabulary, catalogue.lexicon
    categories = sorted(vocabulary.definitions)
    values = [t for t in vocabulary.by_role("value") if t.feature in vocabulary.features]
    patterns = [t.label for t in vocabulary.by_role("pattern")]
    lines = ['title = "Invented course for timing"', ""]
    for session in range(1, SESSIONS + 1):
        shown = ", ".join(f'"{_plain(n)}"' for n in rng.sample(patterns, SHOWN) if _understood(catalogue, n))
        lines += ["[[session]]", f'id = "S{session}"', f"shows = [{shown}]", ""]
    made = 0
    while made < objectives:
        category = nodes.IsA(rng.choice(categories))
        value = rng.choice(values)
        parts = (category, nodes.Has(value.feature, value.name))
        question = say(nodes.Filter(nodes.And(parts) if rng.random() < 0.7 else category), lexicon)
        try:
            catalogue.parse(question)
        except QuestionError:
            continue
        made += 1
        lines += ["[[objective]]", f'id = "O{made}"', f'session = "S{rng.randint(1, SESSIONS)}"']
        if made % 20:
            lines += [f'question = "{_plain(question)}"', f"minimum = {rng.randint(1, 3)}", ""]
        else:
            lines += [f'text = "Name and hand over {_plain(question)}, in the order of use"', ""]
    return "\n".join(lines)


def _plain(text: str) -> str:
    return text.replace("\\", "").replace('"', "'")


def _understood(catalogue, name: str) -> bool:  # type: ignore[no-untyped-def]
    from kg import QuestionError

    try:
        catalogue.parse(_plain(name))
    except QuestionError:
        return False
    return True


def timed(what: str, run: Callable[[], T]) -> T:
    start, worked = time.perf_counter(), _processor()
    out = run()
    print(f"  {what:<44} {time.perf_counter() - start:7.2f} s   {_processor() - worked:7.2f} s of the processor")
    return out


def _processor() -> float:
    """Seconds of the processor of this process and of those it has run: steady where the machine is busy."""
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--objectives", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    import kg
    from kg.course import smallest as lists
    from kg.course.coverage import cover, understand
    from kg.course.curriculum_sheet import read_curriculum

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "course.toml")
        path.write_text(invented_course(options.objectives, options.seed), encoding="utf-8")
        print(f"{options.objectives} objectives")
        catalogue = timed("open the catalogue", kg.open_catalogue)
        context = catalogue.context
        curriculum = timed("read the file", lambda: read_curriculum([path]))
        course = timed("understand it (reads every fact once)", lambda: understand(context, curriculum))
        found = timed("cover", lambda: cover(context, course))
        demands = lists.of_objectives(course)
        least = timed("smallest list for the objectives", lambda: lists.smallest(course, demands, lists.OBJECTIVES))
        print(f"    {len(least.picks)} instruments, {least.proof}, at least {least.at_least}")
        every = lists.of_values(context, course.matcher.table)
        least = timed("smallest list for every value", lambda: lists.smallest(course, every, lists.VALUES))
        print(f"    {len(least.picks)} instruments for {least.demands} values, {least.proof}, at least {least.at_least}")
        gain = timed("what 10 more buy, objectives", lambda: lists.more(course, demands, lists.OBJECTIVES, 10))
        print(f"    {sum(s.proof == 'proved' for s in gain.steps)} of {len(gain.steps)} steps proved")
        timed("JSON", lambda: kg.json_text(kg.coverage_json(found)))
        timed("HTML", lambda: kg.coverage_html(found))
        timed("XLSX", lambda: kg.coverage_xlsx(found))
        command = [sys.executable, "-m", "repl", "coverage", str(path), "--to", str(Path(folder, "out.json"))]
        timed("the whole command, as a process", lambda: subprocess.run(command, cwd=ROOT, check=True, capture_output=True))


if __name__ == "__main__":
    main()
