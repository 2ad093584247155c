"""Sets of patterns against the one query: the same answers, whatever the catalogue, and pages that add up."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kg import paths
from kg.answer import context, large
from kg.answer.sets import PatternSets
from kg.errors import QuestionError
from kg.language import nodes
from kg.render.lists import match_heading
from kg.sparql.filters import filter_query
from kg.truth import normalise
from tests.bench.run import sentences
from tests.bench.synthetic import open_synthetic
from tests.scale.conftest import DRAWN


@pytest.fixture(scope="module")
def drawn_catalogue(synthetic, tmp_path_factory):
    folder = tmp_path_factory.mktemp("closure")
    synthetic.write_closure(folder, DRAWN)
    opened = open_synthetic(paths.ontology_dir(), folder)
    yield opened
    opened.close()


@pytest.fixture(params=["shipped", "drawn"])
def either(request, catalogue, drawn_catalogue):
    return catalogue if request.param == "shipped" else drawn_catalogue


def _listing(catalogue) -> list[tuple[str, nodes.Question]]:
    """The competency questions that list or count patterns, as far as this catalogue has their words."""
    out = []
    for sentence in dict.fromkeys(sentences()):
        try:
            question = catalogue.parse(sentence)
        except QuestionError:
            continue
        if isinstance(question, nodes.Filter | nodes.Count | nodes.Group | nodes.Extreme | nodes.Quantified):
            out.append((sentence, question))
    assert len(out) > 50
    return out


@pytest.mark.parametrize("few", [0, 200])
def test_answers_by_sets_are_those_of_the_query_field_for_field(either, monkeypatch, few):
    monkeypatch.setattr(large, "FEW", few)
    columns = either.context.column_sets
    for sentence, question in _listing(either):
        monkeypatch.setattr(context, "LARGE", 10**9)
        monkeypatch.setitem(either.context.__dict__, "column_sets", None)
        by_query = either.answer(question, sentence, limit=7)
        monkeypatch.setitem(either.context.__dict__, "column_sets", columns)
        assert either.answer(question, sentence, limit=7) == by_query, sentence
        monkeypatch.setattr(context, "LARGE", 0)
        by_sets = either.answer(question, sentence, limit=7)
        assert by_sets == by_query, sentence
        assert by_sets.to_json() == by_query.to_json(), sentence


def test_pages_add_up_to_the_whole_list(either):
    for sentence, question in _listing(either):
        if not isinstance(question, nodes.Filter | nodes.Count):
            continue
        whole = either.answer(question, sentence)
        undecided = sum(row["m"].value == "false" for row in either.store.select(whole.sparql))
        found = []
        while True:
            page = either.answer(question, sentence, page=(len(found), 7))
            assert page.match_count == len(whole.matches)
            assert page.pattern_count == whole.pattern_count
            assert page.count == whole.count
            assert page.possible_count == undecided
            assert len(page.matches) <= 7
            if not page.matches:
                break
            found += page.matches
        assert tuple(found) == whole.matches, sentence


def test_a_page_says_in_json_how_many_there_are_and_a_whole_list_says_nothing_new(catalogue):
    page = catalogue.ask("clamps", page=(0, 3))
    assert page.to_json()["match_count"] == page.match_count > 3
    whole = catalogue.ask("clamps")
    assert "match_count" not in whole.to_json()
    assert page.matches == whole.matches[:3]
    assert catalogue.ask("clamps", page=(page.match_count, 3)).matches == ()
    assert catalogue.ask("how many clamps are there?", page=(0, 0)).count == len(whole.matches)


def test_a_page_says_to_people_that_it_is_one(catalogue):
    whole, page = catalogue.ask("clamps"), catalogue.ask("clamps", page=(0, 3))
    assert match_heading(page) == f"{match_heading(whole)}, of which 3 are listed"
    assert match_heading(catalogue.ask("clamps", page=(0, 1))).endswith(", of which 1 is listed")


def _expressions(vocabulary) -> st.SearchStrategy[nodes.Expr]:
    values = [nodes.Has(t.feature, t.name) for t in vocabulary.by_role("value") if t.feature in vocabulary.features]
    atoms = st.one_of(
        st.sampled_from(values),
        st.sampled_from([nodes.IsA(c) for c in sorted(vocabulary.definitions)]),
        st.sampled_from([nodes.HasPart(t.name) for t in vocabulary.by_role("part")]),
        st.sampled_from([nodes.Solely(t.feature, (t.name,)) for t in vocabulary.terms.values() if _many(t, vocabulary)]),
        st.sampled_from([nodes.Untold(t.feature, t.name) for t in vocabulary.terms.values() if _many(t, vocabulary)]),
        st.sampled_from([nodes.Recorded(f) for f in (*sorted(vocabulary.features), "bl:length")]),
        st.sampled_from([nodes.Named(t.name) for t in vocabulary.by_role("pattern")]),
        st.builds(nodes.Length, st.sampled_from(["<", "<=", ">", ">=", "="]), st.sampled_from([60.0, 120.0, 140.0, 200.0])),
    )
    return st.recursive(
        atoms,
        lambda inner: st.one_of(
            st.builds(nodes.Not, inner),
            st.builds(lambda a, b: nodes.And((a, b)), inner, inner),
            st.builds(lambda a, b: nodes.Or((a, b)), inner, inner),
        ),
        max_leaves=5,
    )


@settings(max_examples=150, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_any_description_gives_the_same_sets_as_its_query(catalogue, data):
    vocabulary = catalogue.vocabulary
    form = normalise(data.draw(_expressions(vocabulary)), vocabulary)
    sets = catalogue.context.sets
    true, open_ = sets.judged(form)
    rows = [(r["p"].short, r["m"].value) for r in catalogue.store.select(filter_query(form, vocabulary))]
    assert set(sets.named(true)) == {p for p, m in rows if m == "true"}
    assert set(sets.named(open_)) == {p for p, m in rows if m == "false"}


def test_a_set_is_read_once_and_memory_is_bounded(catalogue, monkeypatch):
    sets = PatternSets(catalogue.store, catalogue.vocabulary)
    asked = []
    monkeypatch.setattr(sets, "store", _Counting(catalogue.store, asked))
    first = sets.found("graph:holds", "bl:hasPart", "bl:Ratchet")
    assert first
    assert sets.found("graph:holds", "bl:hasPart", "bl:Ratchet") == first
    assert len(asked) == 1
    monkeypatch.setattr("kg.answer.judging.KEPT", 2)
    for part in ("bl:Blade", "bl:Jaws", "bl:Tip", "bl:Ratchet"):
        sets.found("graph:holds", "bl:hasPart", part)
    assert len(sets._kept) <= 2
    assert sets.found("graph:holds", "bl:hasPart", "bl:Ratchet") == first


class _Counting:
    def __init__(self, store, asked) -> None:
        self._store, self._asked = store, asked

    def texts(self, query: str):
        self._asked.append(query)
        return self._store.texts(query)


def test_order_is_by_label_with_variants_after_their_parents_even_if_one_between_is_missing(catalogue):
    sets = catalogue.context.sets
    bits = sets.all
    order = sets.in_order(bits, 0, None)
    assert sorted(order) == sorted(sets.names)
    labels = {t.name: t.label.casefold() for t in catalogue.vocabulary.by_role("pattern")}
    line = {n: tuple(labels[a] for a in reversed((n, *catalogue.vocabulary.ancestors(n)))) for n in order}
    assert order == sorted(order, key=lambda n: (line[n], n))
    assert sets.in_order(bits, 5, 10) == order[5:15]
    assert sets.in_order(0, 0, 10) == []
    assert sets.first_named(bits, 4) == sorted(order)[:4]
    assert sets.folded_count(bits) == sum(not t.broader for t in catalogue.vocabulary.by_role("pattern"))


def _many(term, vocabulary) -> bool:
    return term.feature in vocabulary.features and not vocabulary.features[term.feature].single
