"""The competency questions: what the catalogue must be able to answer, one file each in ``tests/questions``.

``sentence`` is asked as it stands. ``because`` says on which published witnesses the expectation rests; no
expectation is copied from an answer. Keys: ``expect`` patterns that must match, ``never`` patterns that must not,
``possible`` patterns that only could, ``disputed`` patterns on which sources disagree, ``holds``, ``count``,
``groups`` (value -> labels that must be in it), ``values`` (texts that must be among the values), ``differ`` (features
that must differ), ``cited`` (words of sources that must be cited), ``uses`` (terms the question is about).
``needs_inference``: without reasoning, on adopted facts alone, the question loses its answer; otherwise it keeps it.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from kg.store.embedded import EmbeddedStore

FILES = sorted((Path(__file__).parents[1] / "questions").glob("*.toml"))
QUESTIONS = {file.stem: tomllib.loads(file.read_text(encoding="utf-8")) for file in FILES}
KEYS = {
    "sentence", "because", "expect", "never", "possible", "disputed", "holds", "count", "groups", "values", "differ",
    "cited", "uses", "needs_inference",
}  # fmt: skip
CHECKED = KEYS - {"sentence", "because", "never", "uses", "needs_inference"}
ALL = 1000

each = pytest.mark.parametrize("entry", [pytest.param(entry, id=name) for name, entry in QUESTIONS.items()])


@pytest.fixture(scope="module")
def answers(catalogue):
    """sentence -> answer, each asked once."""
    return {e["sentence"]: catalogue.ask(e["sentence"], limit=ALL) for e in QUESTIONS.values()}


@pytest.fixture(scope="module")
def adopted_only(catalogue):
    """The closure as it would be if nothing had been inferred."""
    lines = (catalogue.folder / "closure.nq").read_text(encoding="utf-8").splitlines()
    inferred, holds = " <https://boxlock.example/graph/inferred> .", " <https://boxlock.example/graph/holds> ."
    taken = {line.removesuffix(inferred) + holds for line in lines if line.endswith(inferred)}
    kept = [line for line in lines if line not in taken and not line.endswith(inferred)]
    assert len(lines) - len(kept) == 2 * len(taken)
    with EmbeddedStore.from_quads("\n".join(kept).encode()) as store:
        yield store


# --- the files -------------------------------------------------------------------------------------------------------
def test_there_are_enough_questions_of_every_form(answers):
    assert len(QUESTIONS) >= 66
    assert sum(e["needs_inference"] for e in QUESTIONS.values()) >= 30
    assert {a.kind for a in answers.values()} == {
        "filter", "count", "group", "value", "compare", "holds", "why", "define", "classify", "sources", "disputes"
    }  # fmt: skip
    held = {e["holds"] for e in QUESTIONS.values() if "holds" in e}
    assert held == {True, False, "not recorded"}


@each
def test_the_file_is_well_formed(catalogue, entry):
    assert set(entry) <= KEYS
    assert set(entry) & CHECKED, "it expects nothing"
    assert entry["because"]
    terms = catalogue.vocabulary.terms
    named = [n for key in ("expect", "never", "possible", "disputed") for n in entry.get(key, ())]
    assert all(terms[n].role == "pattern" for n in named)
    assert not set(entry.get("expect", ())) & set(entry.get("never", ()))


@each
def test_the_question_is_about_its_terms(catalogue, entry):
    tree = catalogue.parse(entry["sentence"])
    found = set(re.findall(r"(?:bl|kind):\w+", repr(tree)))
    todo = sorted(found)
    while todo:  # a category stands for what defines it
        for _, value in catalogue.vocabulary.definitions.get(todo.pop(), ()):
            if value not in found:
                found.add(value)
                todo.append(value)
    assert set(entry["uses"]) <= found


# --- the answers -----------------------------------------------------------------------------------------------------
@each
def test_the_answer_is_as_expected(answers, entry):
    answer = answers[entry["sentence"]]
    matches = {m.name for m in answer.matches}
    assert set(entry.get("expect", ())) <= matches
    assert not set(entry.get("never", ())) & matches
    assert set(entry.get("possible", ())) <= {p.name for p in answer.possible}
    assert set(entry.get("disputed", ())) <= {d.name for d in answer.disputed}
    if "count" in entry:
        assert answer.count == entry["count"] == len(matches)
    groups = {g.value: set(g.labels) for g in answer.groups or ()}
    for value, labels in entry.get("groups", {}).items():
        assert set(labels) <= groups[value]
    if "holds" in entry:
        assert answer.argument is not None
        assert answer.argument.holds == entry["holds"]
        assert bool(answer.argument.justifications) is isinstance(entry["holds"], bool)
        # "Why not" that holds also says which conditions fail: it is reason and gap at once.
        denied = entry["holds"] is True and " not " in entry["sentence"]
        assert bool(answer.argument.missing) is (entry["holds"] is not True or denied)
    for wanted in entry.get("values", ()):
        assert any(wanted in v.label for v in answer.values or ()), wanted
    if "differ" in entry:
        assert answer.comparison is not None
        assert set(entry["differ"]) <= {d.feature for d in answer.comparison.differences if d.decides}


@each
def test_the_answer_names_its_witnesses(answers, entry):
    answer = answers[entry["sentence"]]
    cited = [s for v in answer.values or () for s in v.sources]
    if answer.argument:
        lines = [r for j in answer.argument.justifications for r in j]
        cited += [s for r in lines for s in r.sources]
        if isinstance(entry["holds"], bool):
            assert cited, "an argument without a witness"
    for dispute in answer.disputed:
        assert dispute.also_said, dispute
        assert all(q.sources for q in dispute.also_said), dispute
    for word in entry.get("cited", ()):
        assert any(word in s for s in cited), (word, cited)


def truth(rows, patterns: list[str]) -> dict[str, int]:
    found = {row["p"].short: 1 if row["m"].value == "true" else 0 for row in rows}
    return {p: found.get(p, -1) for p in patterns}


@each
def test_it_needs_reasoning_or_not_as_stated(catalogue, adopted_only, answers, entry):
    answer = answers[entry["sentence"]]
    if answer.kind in ("value", "compare", "define", "sources", "disputes"):
        assert not entry["needs_inference"], "these forms show what is recorded"
        return
    patterns = entry.get("expect") or [catalogue.parse(entry["sentence"]).pattern]
    with_it = truth(catalogue.store.select(answer.sparql), patterns)
    without = truth(adopted_only.select(answer.sparql), patterns)
    if entry["needs_inference"]:
        assert [p for p in patterns if with_it[p] == without[p]] == []
    else:
        assert with_it == without
