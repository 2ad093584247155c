"""The child process of ``kg.reason.hermit``: reads a job folder, runs HermiT once, writes ``answer.json``.

The job folder holds ``logic.nt`` and ``request.json`` {"individuals": [iri], "java": path, "memory_mb": n}.
Standard input is a pipe from the parent: when it is closed, everything here ends.
The answer is {"status", "detail", "types": {iri: [class iri]}, "unsatisfiable": [class iri]}. Without an
answer the run counts as crashed.
"""

from __future__ import annotations

import json
import sys
from collections import defaultdict
from pathlib import Path
from typing import TYPE_CHECKING

from kg.reason.groups import end_with_parent

if TYPE_CHECKING:
    import owlready2

# A probe whose type only a working reasoner can find: without it an engine that prints nothing would pass for
# one that found nothing.
_PROBE = "urn:boxlock:probe:"
_PROBE_TRIPLES = """\
<{p}thing> <{rdf}type> <{owl}NamedIndividual> .
<{p}value> <{rdf}type> <{owl}NamedIndividual> .
<{p}has> <{rdf}type> <{owl}ObjectProperty> .
<{p}Class> <{rdf}type> <{owl}Class> .
<{p}thing> <{p}has> <{p}value> .
<{p}Class> <{owl}equivalentClass> _:probe .
_:probe <{rdf}type> <{owl}Restriction> .
_:probe <{owl}onProperty> <{p}has> .
_:probe <{owl}hasValue> <{p}value> .
""".format(p=_PROBE, rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#", owl="http://www.w3.org/2002/07/owl#")


def main(folder: str) -> None:
    job = Path(folder)
    end_with_parent(job)
    request = json.loads((job / "request.json").read_text(encoding="utf-8"))
    with (job / "logic.nt").open("a", encoding="utf-8") as file:
        file.write(_PROBE_TRIPLES)
    answer = {"status": "crashed", "detail": "", "types": {}, "unsatisfiable": []}
    try:
        _reason(job / "logic.nt", request, answer)
    except Exception as error:  # whatever the engine does, the parent must be told apart from a kill
        if isinstance(error, OSError) and error.filename == request["java"]:
            answer.update(status="no-java", detail=f"Java could not be started: {error.strerror}")
        else:
            answer.update(status="crashed", detail=_cause(str(error)) or type(error).__name__)
    partial = job / "answer.part"
    partial.write_text(json.dumps(answer), encoding="utf-8")
    partial.replace(job / "answer.json")


def _reason(file: Path, request: dict, answer: dict) -> None:
    import owlready2

    owlready2.JAVA_EXE = request["java"]
    owlready2.reasoning.JAVA_MEMORY = request["memory_mb"]
    world = owlready2.World()
    with file.open("rb") as stream:
        # "urn:" as the base: nothing is fetched, and the file's own IRIs are kept.
        world.get_ontology("urn:boxlock:logic#").load(fileobj=stream, only_local=True, format="ntriples")
    try:
        owlready2.sync_reasoner_hermit(world, debug=0)
    except owlready2.OwlReadyInconsistentOntologyError:
        answer.update(status="inconsistent", detail="the axioms and facts contradict each other")
        return
    types = _types(world)
    if f"{_PROBE}Class" not in types.get(f"{_PROBE}thing", ()):
        answer["detail"] = "Java ended without an error, but HermiT gave no result"
        return
    answer["status"] = "consistent"
    answer["types"] = {iri: types.get(iri, []) for iri in request["individuals"]}
    answer["unsatisfiable"] = [c.iri for c in world.inconsistent_classes() if c is not owlready2.Nothing]


def _types(world: owlready2.World) -> dict[str, list[str]]:
    """The named classes of every individual, direct and indirect, without owl:Thing; IRIs, sorted.

    Read from the triples that the engine's answer has been written to. Asking owlready2's Python objects gives the same and
    takes almost as long as the reasoning: it looks for the most specific classes of each.
    """
    from owlready2.base import owl_equivalentclass, rdf_type, rdfs_subclassof

    above: dict[int, set[int]] = defaultdict(set)
    for lower, _, upper in world.get_triples(None, rdfs_subclassof, None):
        above[lower].add(upper)
    for one, _, other in world.get_triples(None, owl_equivalentclass, None):
        above[one].add(other)
        above[other].add(one)
    found: dict[int, set[int]] = defaultdict(set)
    for thing, _, kind in world.get_triples(None, rdf_type, None):
        waiting = [kind]
        while waiting:
            if (name := waiting.pop()) > 0 and name not in found[thing]:  # unnamed classes have numbers below 0
                found[thing].add(name)
                waiting += above.get(name, ())
    iris = {n: world._unabbreviate(n) for n in {*found, *(n for names in found.values() for n in names)} if n > 0}
    built_in = "http://www.w3.org/2002/07/owl#"
    return {
        iris[thing]: sorted(iris[n] for n in names if not iris[n].startswith(built_in))
        for thing, names in found.items()
        if thing > 0
    }


def _cause(text: str) -> str:
    """What Java said went wrong, without its headings and its stack trace; empty if it said nothing."""
    said: list[str] = []
    for line in map(str.strip, text.splitlines()):
        if line.startswith("at ") and said:
            break
        line = line.removeprefix("Java error message is:").removeprefix('Exception in thread "main"').strip()
        if line and not line.startswith("NOTE: Picked up"):  # Java's remark on the options given to it
            said.append(line)
    return " ".join(said)[:600]


if __name__ == "__main__":
    main(sys.argv[1])
