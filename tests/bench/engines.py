"""The closure by several reasoners, side by side in one run: times, ratios, and whether all memberships agree.

Run: ``python -m tests.bench.engines [SIZE ...]`` (250 and 2,500 by default), on patterns drawn from the catalogue. The engines:

- *rules*: the in-process rules, as the build uses them;
- *HermiT*: in groups of alike patterns, as the build runs it (at 250 only: its cost is what it is);
- *reasonable*: OWL 2 RL, in Rust, from PyPI;
- *owlrl*: OWL 2 RL, in Python, from PyPI (on OWLRL patterns only, each with all axioms: it is written for clarity, not speed);
- *Konclude*: OWL 2 DL, where Debian's package ``konclude`` is installed, with ``-w AUTO``.

All get the same axioms and facts. Times are of the clock and contain what an engine needs to read its input, not the making of
the rdflib graph. What is missing is named with the command that installs it. Nothing is asserted here; tests/scale does.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree

from kg import names, paths
from kg.build import Staged, stage, verify
from kg.errors import ReasonerError
from kg.reason.logic import logic_only
from tests.bench.synthetic import Synthetic

if TYPE_CHECKING:
    import rdflib

SIZES = (250, 2500)
HERMIT_MOST = 250
OWLRL = 20
SECONDS = 900
Types = Mapping[str, frozenset[str]]
"""pattern -> the categories it belongs to, without the classes of values."""
Found = tuple[float, Types] | str
"""(seconds, types), or why there are none."""


def drawn(staged: Staged, size: int) -> Staged:
    """The staged catalogue with drawn patterns in place of its own."""
    return replace(staged, records={d.term.name: d.record for d in Synthetic(staged).draw(size)})


def by_rules(staged: Staged) -> Found:
    start = time.perf_counter()
    types = staged.types()
    return time.perf_counter() - start, types


def by_hermit(staged: Staged) -> Found:
    """HermiT's types are those of the rules, or ``verify`` says where not."""
    start = time.perf_counter()
    try:
        verify(staged, list(staged.records), timeout_s=SECONDS)
    except ReasonerError as fault:
        return str(fault)
    return time.perf_counter() - start, staged.types()


def by_reasonable(staged: Staged) -> Found:
    try:
        import reasonable
    except ImportError:
        return "missing: pip install reasonable"
    graph = logic_only(staged.with_facts())
    start = time.perf_counter()
    engine = reasonable.PyReasoner()
    engine.from_graph(graph)
    triples = engine.reason()
    seconds = time.perf_counter() - start
    return seconds, _named(staged, ((str(s), str(o)) for s, p, o in triples if str(p) == _TYPE))


def by_owlrl(staged: Staged) -> Found:
    try:
        import owlrl
    except ImportError:
        return "missing: pip install owlrl"
    graph = logic_only(staged.with_facts())
    start = time.perf_counter()
    owlrl.DeductiveClosure(owlrl.OWLRL_Semantics, axiomatic_triples=False, datatype_axioms=False).expand(graph)
    seconds = time.perf_counter() - start
    return seconds, _named(staged, ((str(s), str(o)) for s, p, o in graph if str(p) == _TYPE))


def by_konclude(staged: Staged) -> Found:
    program = shutil.which("Konclude")
    if program is None:
        return "missing: apt-get install konclude"
    import rdflib

    graph = logic_only(staged.with_facts())
    for name in staged.records:
        graph.add((rdflib.URIRef(names.expand(name)), rdflib.RDF.type, rdflib.OWL.NamedIndividual))
    with tempfile.TemporaryDirectory() as folder:
        given, found = Path(folder, "logic.nt"), Path(folder, "types.xml")
        _write(graph, given)
        start = time.perf_counter()
        command = [program, "realization", "-w", "AUTO", "-i", str(given), "-o", str(found)]
        done = subprocess.run(command, capture_output=True, text=True, timeout=SECONDS)
        seconds = time.perf_counter() - start
        if done.returncode or not found.exists():
            return f"stopped: {done.stdout[-300:]}"
        return seconds, _named(staged, _assertions(found))


def _write(graph: rdflib.Graph, path: Path) -> None:
    graph.serialize(str(path), format="nt", encoding="utf-8")


def _assertions(path: Path):
    """(individual, class) of every class assertion of an OWL/XML file."""
    owl = names.PREFIXES["owl"]
    for _, element in ElementTree.iterparse(path):
        if element.tag == f"{{{owl}}}ClassAssertion":
            classes, individuals = ([c.get("IRI", "") for c in element if c.tag == f"{{{owl}}}{t}"] for t in _PAIR)
            for individual in individuals:
                for name in classes:
                    yield individual, name
            element.clear()


_PAIR = ("Class", "NamedIndividual")
_TYPE = names.expand(names.TYPE)


def _named(staged: Staged, pairs) -> Types:
    """pattern -> categories, from pairs of full IRIs."""
    categories = {names.expand(c): c for c in staged.vocabulary.definitions}
    patterns = {names.expand(p): p for p in staged.records}
    out: dict[str, set[str]] = {p: set() for p in staged.records}
    for individual, name in pairs:
        if individual in patterns and name in categories:
            out[patterns[individual]].add(categories[name])
    return {p: frozenset(found) for p, found in out.items()}


ENGINES: dict[str, Callable[[Staged], Found]] = {
    "rules": by_rules,
    "Konclude": by_konclude,
    "reasonable": by_reasonable,
    "owlrl": by_owlrl,
    "HermiT": by_hermit,
}


def differences(ours: Types, theirs: Types) -> int:
    """Memberships that only one of two has."""
    return sum(len(ours[p] ^ theirs.get(p, frozenset())) for p in ours)


def main() -> None:
    staged = stage(paths.ontology_dir())
    _ = staged.types()  # what the rules keep is made once
    for size in [int(s) for s in sys.argv[1:]] or SIZES:
        whole = drawn(staged, size)
        few = replace(whole, records=dict(list(whole.records.items())[:OWLRL]))
        print(f"{size:,} patterns, {sum(len(r.facts) for r in whole.records.values()):,} adopted facts", flush=True)
        base = 0.0
        for name, run in ENGINES.items():
            if name == "HermiT" and size > HERMIT_MOST:
                print(f"  {name:<11} not asked above {HERMIT_MOST} patterns")
                continue
            given = few if name == "owlrl" else whole
            found = run(replace(given))  # a copy: what was worked out for one engine is not at hand for the next
            if isinstance(found, str):
                print(f"  {name:<11} {found}")
                continue
            seconds, types = found
            base = base or seconds
            unlike = differences(given.types(), types)
            share = f" ({len(given.records)} patterns only)" if given is few else f", {seconds / base:,.0f} times the rules"
            agree = "all memberships agree" if not unlike else f"{unlike} memberships differ"
            print(f"  {name:<11} {seconds:9.3f} s{share}; {sum(map(len, types.values())):,} memberships, {agree}", flush=True)


if __name__ == "__main__":
    main()
