"""How questions fare that were written without sight of the grammar. Run: ``python -m tests.bench.corpus [-v]``.

Asks every question of ``tests/corpus/asked.tsv``, in its conversation, and judges the answer by ``tests/corpus/asked.toml``,
which was written from the expectations of those who asked. Prints the shares answered rightly, answered only with what is
recorded of the instruments named (which the answer says of itself), refused, and wrong; ``-v`` names all but the first, with
the reason. A refusal counts as right only where the expectation admits one.
"""

from __future__ import annotations

import csv
import re
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

ADMITTED = "refused, as expected or admitted"
CORPUS = Path(__file__).resolve().parent.parent / "corpus"


class Judged(NamedTuple):
    """``verdict``: right, named, refused, wrong; ``why`` says more of all but a right answer."""

    ident: str
    question: str
    verdict: str
    why: str


def judge_all(catalogue: Any) -> Iterator[Judged]:
    """Every question with its verdict, in the order of the file."""
    from kg import QuestionError

    expected = tomllib.loads((CORPUS / "asked.toml").read_text(encoding="utf-8"))
    with (CORPUS / "asked.tsv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE))
    before: dict[str, Any] = {}
    for row in rows:
        wanted = expected[row["id"][0]].get(row["id"][1:])
        try:
            answer = catalogue.ask(row["question"], limit=1000, after=before.get(row["follows"]))
        except QuestionError as error:
            # A question that was not understood leaves the conversation where it was.
            before[row["id"]] = error if error.readings else before.get(row["follows"])
            verdict = refused(error, wanted or {})
        else:
            before[row["id"]] = answer
            verdict = answered(answer, wanted or {})
        if wanted is not None:
            yield Judged(row["id"], row["question"], *verdict)


def refused(error: Any, wanted: dict) -> tuple[str, str]:
    """The verdict on a refusal."""
    if wanted.get("refuse") or wanted.get("may_refuse"):
        return "right", ADMITTED
    if "ask" in wanted and error.code == "BL-Q05":
        offered = " | ".join(error.readings)
        missing = [w for w in wanted["ask"] if w.casefold() not in offered.casefold()]
        return ("wrong", f"not among the readings: {missing}") if missing else ("right", "")
    return "refused", f"{error.code} {error.message}"


def answered(answer: Any, wanted: dict) -> tuple[str, str]:
    """The verdict on an answer: right, or wrong with what is missing or too much."""
    faults = list(_faults(answer, wanted))
    never = ("answered", "says ", "match ")
    if faults and answer.unread is not None and not any(f.startswith(never) for f in faults):
        # It says that it was read only in part, and decides nothing; nothing in it is wrong.
        return "named", f"[{answer.kind}] {answer.reading}: " + "; ".join(faults)
    return ("wrong", f"[{answer.kind}] {answer.reading}: " + "; ".join(faults)) if faults else ("right", "")


def _faults(answer: Any, wanted: dict) -> Iterator[str]:
    from kg import answer_lines, plain

    text = " ".join(plain(answer_lines(answer, 200)).split()).casefold()
    labels = [m.label for m in answer.matches]
    if wanted.get("refuse") or "ask" in wanted:
        yield "answered"
        return
    if wanted.get("gap") and not labels and ("not recorded" in text or "could match" in text or "no pattern" in text):
        return
    if "kind" in wanted and answer.kind not in wanted["kind"].split("|"):
        yield f"kind {answer.kind}"
    if "holds" in wanted and str(getattr(answer.argument, "holds", None)).casefold() not in wanted["holds"].split("|"):
        yield f"holds {getattr(answer.argument, 'holds', None)}"
    listed = [*labels, *(p.label for p in answer.possible)] if wanted.get("open") else labels
    for word in wanted.get("in", ()):
        if not any(_any_of(word, label) for label in listed):
            yield f"no match {word}"
    for word in wanted.get("out", ()):
        if found := [label for label in labels if _any_of(word, label)]:
            yield f"match {found[0]}"
    if "only" in wanted and (odd := [x for x in labels if not any(_any_of(w, x) for w in wanted["only"])]):
        yield f"match {odd[0]}"
    if "compare" in wanted:
        subjects = " | ".join(answer.comparison.subjects) if answer.comparison else ""
        for word in wanted["compare"]:
            if not _any_of(word, subjects):
                yield f"{word} is not compared"
    candidates = [c.label for c in answer.identification.candidates] if answer.identification else []
    if "first" in wanted and not any(_any_of(w, c) for w in wanted["first"] for c in candidates[:1]):
        yield f"first candidate {candidates[:1]}"
    for word in wanted.get("among", ()):
        if not any(_any_of(word, c) for c in candidates[:5]):
            yield f"{word} not among {candidates[:5]}"
    for pattern in wanted.get("says", ()):
        if not re.search(pattern, text, re.IGNORECASE):
            yield f"does not say {pattern}"
    for pattern in wanted.get("never", ()):
        if found_at := re.search(pattern, text, re.IGNORECASE):
            yield f"says {found_at.group(0)}"


def _any_of(words: str, label: str) -> bool:
    return any(w.casefold() in label.casefold() for w in words.split("|"))


def main(verbose: bool = False) -> None:
    from kg import open_catalogue

    judged = list(judge_all(open_catalogue()))
    print(f"questions written without sight of the grammar, {len(judged)} judged")
    print(f"  (of those right {sum(j.why == ADMITTED for j in judged)} are refusals that the expectation admits)")
    for verdict in ("right", "named", "refused", "wrong"):
        those = [j for j in judged if j.verdict == verdict]
        print(f"  {verdict:8} {len(those):4}   {len(those) / len(judged):6.1%}")
        if verbose and verdict != "right":
            for j in those:
                print(f"    {j.ident} {j.question}\n         {j.why}")


if __name__ == "__main__":
    main("-v" in sys.argv[1:])
