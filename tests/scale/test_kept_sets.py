"""Sets on disk: what the store would say, or nothing."""

from __future__ import annotations

import pytest

from kg.answer.kept_sets import FILE, GRAPHS, KeptSets
from kg.answer.sets import PatternSets, in_places, keep_sets
from kg.language import nodes
from kg.sparql.terms import prologue
from kg.truth import normalise
from tests.bench.run import sentences


@pytest.fixture(scope="module")
def folder(catalogue, tmp_path_factory):
    made = tmp_path_factory.mktemp("store")
    keep_sets(made, catalogue.quads_file, catalogue.vocabulary)
    return made


class _Silent:
    """A store that must not be asked."""

    def texts(self, query: str):
        raise AssertionError(query)


def test_every_set_on_disk_is_what_the_store_says(catalogue, folder):
    patterns = in_places(catalogue.vocabulary)
    kept = KeptSets.open(folder / FILE, patterns)
    asked = PatternSets(catalogue.store, catalogue.vocabulary)
    inside = " ".join(GRAPHS)
    body = f"SELECT DISTINCT ?g ?f ?v WHERE {{ VALUES ?g {{ {inside} }} GRAPH ?g {{ ?p ?f ?v }} FILTER(isIRI(?v)) }}\n"
    facts = [(r["g"].short, r["f"].short, r["v"].short) for r in catalogue.store.select(prologue(body) + body)]
    assert len(facts) > 2000
    for fact in sorted(facts):
        assert kept.found(*fact) == asked.found(*fact), fact
    for graph, prop in sorted({(g, f) for g, f, _ in facts}):
        assert list(kept.values(graph, prop)) == sorted(v for g, f, v in facts if (g, f) == (graph, prop))
    assert sorted(kept.lengths()) == sorted(asked.lengths)
    assert kept.found("graph:holds", "bl:hasPart", "bl:NoSuchPart") == 0
    assert kept.found("src:memory", "bl:hasPart", "bl:Ratchet") is None


def test_questions_are_judged_without_the_store(catalogue, folder):
    alone = PatternSets(_Silent(), catalogue.vocabulary, folder / FILE)
    asked = PatternSets(catalogue.store, catalogue.vocabulary)
    judged = 0
    for sentence in dict.fromkeys(sentences()):
        tree = catalogue.parse(sentence)
        if isinstance(tree, nodes.Filter):
            form = normalise(tree.expr, catalogue.vocabulary)
            assert alone.judged(form) == asked.judged(form), sentence
            judged += 1
    assert judged > 50
    for feature in catalogue.vocabulary.features:
        form = normalise(nodes.Recorded(feature), catalogue.vocabulary)
        assert alone.judged(form) == asked.judged(form), feature


def test_a_damaged_set_is_asked_of_the_store(catalogue, folder, tmp_path):
    data = (folder / FILE).read_bytes()
    damaged = tmp_path / FILE
    head = int.from_bytes(data[15:23], "big")
    damaged.write_bytes(data[: 31 + head] + bytes(b ^ 0xFF for b in data[31 + head :]))
    asked = PatternSets(catalogue.store, catalogue.vocabulary)
    fact = ("graph:holds", "bl:hasPart", "bl:Ratchet")
    assert KeptSets.open(damaged, in_places(catalogue.vocabulary)).found(*fact) is None
    mistrusting = PatternSets(catalogue.store, catalogue.vocabulary, damaged)
    assert mistrusting.found(*fact) == asked.found(*fact) != 0
    assert sorted(mistrusting.lengths) == sorted(asked.lengths)
    with pytest.raises(AssertionError):  # the damage is noticed, not read
        PatternSets(_Silent(), catalogue.vocabulary, damaged).found(*fact)


@pytest.mark.parametrize("data", [b"", b"boxlock sets 2\n", b"something else", b"boxlock sets 2\n" + b"\xff" * 8])
def test_a_file_that_is_none_is_not_used(catalogue, folder, tmp_path, data):
    file = tmp_path / FILE
    file.write_bytes(data)
    assert KeptSets.open(file, in_places(catalogue.vocabulary)) is None
    whole = tmp_path / "whole"
    keep = bytearray((folder / FILE).read_bytes())
    keep[40] ^= 1  # within the head
    whole.write_bytes(bytes(keep))
    assert KeptSets.open(whole, in_places(catalogue.vocabulary)) is None
    assert KeptSets.open(tmp_path / "missing", in_places(catalogue.vocabulary)) is None


def test_the_sets_of_other_patterns_are_not_used(catalogue, folder):
    patterns = in_places(catalogue.vocabulary)
    assert KeptSets.open(folder / FILE, patterns) is not None
    assert KeptSets.open(folder / FILE, patterns[1:]) is None
    assert KeptSets.open(folder / FILE, (*patterns[1:], patterns[0])) is None
