"""Drawn catalogues: seeded, without contradiction, shaped like the shipped one, and answered like any other."""

from __future__ import annotations

from collections import Counter

import pyoxigraph as ox
import pytest

from kg import closure, names, paths
from kg.build import contents
from kg.catalogue import Catalogue
from kg.reason.horn import ROOT
from tests.bench.synthetic import Synthetic, called, open_synthetic
from tests.scale.conftest import DRAWN


@pytest.fixture(scope="module")
def folder(synthetic, tmp_path_factory):
    made = tmp_path_factory.mktemp("closure")
    synthetic.write_closure(made, DRAWN)
    return made


@pytest.fixture(scope="module")
def catalogue(folder) -> Catalogue:
    return open_synthetic(paths.ontology_dir(), folder)


def test_the_same_seed_gives_the_same_patterns_and_a_longer_draw_begins_with_the_shorter(staged, drawn):
    again = list(Synthetic(staged).draw(50))
    assert [(d.term, d.record, d.statements) for d in again] == [(d.term, d.record, d.statements) for d in drawn[:50]]
    other = list(Synthetic(staged, seed=1).draw(50))
    assert [d.record.facts for d in other] != [d.record.facts for d in again]


def test_no_draw_contradicts_itself_and_all_have_names_of_their_own(staged, drawn):
    assert not any(staged.engine.close([ROOT, *d.record.facts]).clashes for d in drawn)
    labels = {d.term.label for d in drawn}
    assert len(labels) == DRAWN
    assert not labels & {t.label for t in staged.vocabulary.terms.values()}
    assert called(12) == "Qaaaabc"


def test_draws_differ_from_their_models_and_keep_the_shares_of_kinds(staged, synthetic):
    many = list(synthetic.draw(1500))
    kinds = Counter(v for d in many for f, v in d.record.facts if f == names.OF_KIND)
    real = Counter(v for r in staged.records.values() for f, v in r.facts if f == names.OF_KIND)
    for kind, number in real.most_common(5):
        assert kinds[kind] / len(many) == pytest.approx(number / len(staged.records), abs=0.02)
    changed = sum(set(d.record.facts) != set(staged.records[d.model].facts) for d in many)
    assert changed > len(many) / 2
    size = sum(len(d.record.facts) for d in many) / len(many)
    assert size == pytest.approx(sum(len(r.facts) for r in staged.records.values()) / len(staged.records), rel=0.1)


def test_the_closure_has_every_graph_and_property_of_the_shipped_one(staged, folder):
    def shape(text: bytes) -> set[tuple[str, str]]:
        quads = ox.parse(input=text, format=ox.RdfFormat.N_QUADS)
        return {(q.graph_name.value.split("source/")[0], q.predicate.value) for q in quads}

    shipped = shape(contents(staged)[closure.QUADS].encode())
    ours = shape((folder / closure.QUADS).read_bytes())
    assert {g for g, _ in ours} == {g for g, _ in shipped}
    assert not ours - shipped
    assert len(ours) > 0.7 * len(shipped)


def test_a_drawn_catalogue_is_asked_as_any_other(catalogue, drawn):
    """Counted from the draws themselves, without the store."""
    ringed = [d for d in drawn if (names.HAS_PART, "bl:Ratchet") in d.record.facts]
    answer = catalogue.ask("instruments with a ratchet")
    assert {m.name for m in answer.matches} >= {d.term.name for d in ringed}
    one = drawn[0].term
    assert catalogue.describe(one.label).description.name == one.name
    closure.read(catalogue.folder, closure.QUADS, catalogue.stamp)  # raises if its digest is not the stamped one
