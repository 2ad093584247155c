"""Speed of ``why X is C`` over every inferred membership of the catalogue, in one process. Run: ``python -m tests.bench.why``.

Every pattern and every category that it belongs to is asked once, as a statement in words, through the same call as the
command ``boxlock why``; the lexicon and the rules, which are made at the first question, are made before the clock starts.
Nothing is asserted; the limit in mind is 10 ms at the 95th percentile. A membership that is not argued for is named.
"""

from __future__ import annotations

import statistics
import time

from kg import ontology_dir, open_catalogue


def memberships(catalogue) -> list[tuple[str, str]]:  # type: ignore[no-untyped-def]
    """(pattern, category), sorted: everything that was inferred."""
    from kg import names

    ctx = catalogue.context
    patterns = [t.name for t in ctx.vocabulary.by_role("pattern")]
    known = ctx.reader.facts(patterns)
    held = ((p, v) for p, facts in known.items() for f, v in facts.known.holds if f == names.TYPE)
    return sorted((p, v) for p, v in held if v in ctx.vocabulary.definitions)


def main() -> None:
    catalogue = open_catalogue(ontology_dir())
    label = catalogue.vocabulary.label
    asked = [f"{label(p)} is {label(c)}" for p, c in memberships(catalogue)]
    catalogue.why(asked[0])
    times: list[tuple[float, str]] = []
    reasons, most, unargued = 0, 0, []
    for statement in asked:
        start = time.perf_counter()
        answer = catalogue.why(statement)
        times.append(((time.perf_counter() - start) * 1000, statement))
        found = len(answer.argument.justifications) if answer.argument and answer.argument.holds is True else 0
        reasons, most = reasons + found, max(most, found)
        if not found:
            unargued.append(statement)
    ordered = sorted(t for t, _ in times)
    print(f"why, {len(asked)} memberships, {reasons} justifications, at most {most} for one")
    print(
        f"  median {statistics.median(ordered):5.2f} ms   p95 {ordered[int(0.95 * (len(ordered) - 1))]:5.2f} ms   "
        f"p99 {ordered[int(0.99 * (len(ordered) - 1))]:5.2f} ms   worst {ordered[-1]:5.2f} ms ({max(times)[1]})"
    )
    print(f"  without a justification: {'; '.join(unargued[:5]) or 'none'}")


if __name__ == "__main__":
    main()
