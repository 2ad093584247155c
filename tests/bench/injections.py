"""Seeded attempts to bring text of one's own into a query, through every hole where a text comes in.

Run: ``python -m tests.bench.injections [--count 10000] [--seed 1]``. Each attempt carries a token of its own. Looked at are all
queries that reach the store (no token, nothing but reading, the graphs that are ours), what comes back (a refusal with a code,
or an answer that its own reading gives again), and the store before and after (one digest). ``run`` is used by
``tests/hostile/test_injection.py`` with a small number; nothing is asserted here.
"""

from __future__ import annotations

import argparse
import hashlib
import random
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pyoxigraph as ox

from kg.catalogue import Catalogue
from kg.errors import BoxlockError, QueryError
from kg.store.embedded import EmbeddedStore
from kg.store.guard import check

WORDS = (
    *("clamps", "artery forceps with teeth", "Kelly forceps", "scissors longer than 10 cm", "what is a box lock?"),
    *("how many scissors have blunt tips?", "needle holders by joint", "who says that Kelly is curved?", "Mayo scissors"),
    *("forceps without a ratchet", "describe Doyen clamp", "compare Kelly forceps and Crile forceps", "ratchet", "curved"),
)
PIECES = (
    *(
        '"',
        "'",
        '"""',
        "'''",
        "\\",
        '\\"',
        "\\u0022",
        "\\u007D",
        "}",
        "} }",
        "{",
        "{ {",
        ")",
        "(",
        "<",
        ">",
        "]",
        "#",
        ";",
        ".",
        "|",
        "^^",
    ),
    *(
        "\n",
        "\r\n",
        "\t",
        "\0",
        "\u2028",
        "\ufeff",
        "\ud800",
        "%22%7D",
        "&quot;",
        "--",
        "/*",
        "{0}",
        "%s",
        "$x",
        "?p",
        "?m",
        "_:b",
    ),
    *("INSERT DATA { <urn:TOKEN> <urn:TOKEN> <urn:TOKEN> }", "DELETE WHERE { ?s ?p ?o }", "DROP ALL", "CLEAR GRAPH bl:TOKEN"),
    *("LOAD <http://127.0.0.1:9/TOKEN>", "SERVICE <http://127.0.0.1:9/TOKEN> { ?s ?p ?o }", "FROM <http://127.0.0.1:9/TOKEN>"),
    *(
        "UNION { ?s ?p ?o }",
        "FILTER(true)",
        'BIND("TOKEN" AS ?x)',
        "VALUES ?p { bl:TOKEN }",
        "GRAPH ?g { ?s ?p ?o }",
        "OPTIONAL {",
    ),
    *(
        "BASE <urn:TOKEN>",
        "PREFIX bl: <urn:TOKEN#>",
        "SELECT * WHERE {?s ?p ?o}",
        "ASK {}",
        "bl:TOKEN",
        "<https://boxlock.example/ns#TOKEN>",
    ),
    *(
        "@prefix x: <urn:TOKEN> .",
        'a "TOKEN"@en',
        "; rm -rf TOKEN",
        "' OR '1'='1",
        "UNION ALL SELECT TOKEN",
        "${TOKEN}",
        "TOKEN",
    ),
)


@dataclass
class Result:
    """``outcomes``: (hole, code of the refusal or "answered") -> how often; ``faults``: what must not be, in words."""

    outcomes: Counter[tuple[str, str]] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    queries: int = 0
    before: str = ""
    after: str = ""


def attempt(rng: random.Random, token: str) -> str:
    """A question or a name with pieces of a query somewhere in it, or pieces alone."""
    text = rng.choice(WORDS) if rng.random() < 0.8 else ""
    for _ in range(rng.randint(1, 4)):
        piece = rng.choice(PIECES).replace("TOKEN", token)
        at = rng.choice((0, len(text), rng.randint(0, len(text))))
        text = text[:at] + rng.choice(("", " ")) + piece + rng.choice(("", " ")) + text[at:]
    return text


def digest(store: EmbeddedStore) -> str:
    return hashlib.sha256(b"\n".join(sorted(store.to_quads().splitlines()))).hexdigest()


def holes(catalogue: Catalogue) -> dict[str, Callable[[str], object]]:
    """Where a text from outside comes in, each as a function of the text."""
    return {
        "ask": catalogue.ask,
        "after": lambda text: catalogue.ask(text, after=catalogue.ask("artery forceps with teeth")),
        "describe": catalogue.describe,
        "compare": lambda text: catalogue.compare(["Kelly forceps", text]),
        "why": catalogue.why,
        "why of": lambda text: catalogue.why(f"{text} is a clamp"),
        "identify": catalogue.identify,
        "claim": lambda text: catalogue.identify("box lock", claim=text),
        "draw": catalogue.draw,
        "rehearse": lambda text: catalogue.rehearse(text, count=1, seed=1),
        "suggest": lambda text: catalogue.suggest(text, len(text)),
        "raw": lambda text: _raw(catalogue, text),
        "raw with": lambda text: _raw(catalogue, f"SELECT ?s WHERE {{ ?s rdfs:label ?l FILTER(?l = {text}) }} LIMIT 3"),
    }


def _raw(catalogue: Catalogue, text: str) -> object:
    """A raw query as the sandbox runs it, in this process; the guard has the first word."""
    checked = check(text)
    try:
        found = catalogue.store.query(checked.text, union=True)  # type: ignore[attr-defined]
        return list(found)[:3] if isinstance(found, ox.QuerySolutions | ox.QueryTriples) else bool(found)
    except (SyntaxError, ValueError, OSError) as fault:
        raise QueryError("BL-S01", str(fault)[:100]) from fault


def run(root: Path, count: int, seed: int = 1) -> Result:
    """``count`` attempts, spread over all holes in turn."""
    rng, out = random.Random(seed), Result()
    store = EmbeddedStore.from_quads(root / "generated" / "closure.nq")
    from kg import closure

    folder = root / "generated"
    catalogue = Catalogue(root, folder, closure.read_stamp(folder), store)
    out.before = digest(store)
    sent: list[str] = []
    real = store.query

    def heard(text: str, *, union: bool = False) -> object:
        sent.append(text)
        return real(text, union=union)

    store.query = heard  # type: ignore[method-assign, assignment]
    by_name = holes(catalogue)
    for number in range(count):
        hole = list(by_name)[number % len(by_name)]
        token = f"Zq{number}x{rng.randrange(10**6)}"
        text = attempt(rng, token)
        sent.clear()
        try:
            found = by_name[hole](text)
        except BoxlockError as refusal:
            out.outcomes[hole, refusal.code] += 1
        except Exception as fault:
            out.faults.append(f"{hole}: {type(fault).__name__} {str(fault)[:200]} for {text!r}")
        else:
            out.outcomes[hole, "answered"] += 1
            if hole == "ask" and (fault := _unlike_its_reading(catalogue, found)):
                out.faults.append(f"{hole}: {fault} for {text!r}")
        out.queries += len(sent)
        if not hole.startswith("raw"):
            out.faults += [f"{hole}: the query holds {token}: {text!r}" for query in sent if token in query]
            out.faults += [f"{hole}: {_unsafe(query)}: {text!r}" for query in sent if _unsafe(query)]
    store.query = real  # type: ignore[method-assign]
    out.after = digest(store)
    return out


def _unsafe(query: str) -> str:
    """Why a query of ours must not run; the guard of raw queries judges it. Empty if it may."""
    try:
        check(query)
    except QueryError as refusal:
        return "" if refusal.code == "BL-S03" else refusal.message  # ours may be longer than a raw one
    return ""


def _unlike_its_reading(catalogue: Catalogue, found) -> str:
    if found.kind not in ("filter", "count"):
        return ""
    again = catalogue.ask(found.reading)
    same = [m.name for m in again.matches] == [m.name for m in found.matches]
    return "" if same else f"the reading {found.reading!r} gives another answer"


def main() -> None:
    from kg.paths import ontology_dir

    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--count", type=int, default=10_000)
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    started = time.perf_counter()
    found = run(ontology_dir(), given.count, given.seed)
    for (hole, outcome), times in sorted(found.outcomes.items()):
        print(f"  {hole:10} {outcome:9} {times:6}")
    same = "the same" if found.before == found.after else "CHANGED"
    print(f"{given.count} attempts, {found.queries} queries, {len(found.faults)} faults, the store is {same}, "
          f"{time.perf_counter() - started:.0f} s")  # fmt: skip
    for fault in found.faults[:20]:
        print("  " + ascii(fault))


if __name__ == "__main__":
    main()
