"""Round trips and robustness on random trees and random text."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kg.errors import QuestionError
from kg.language import Lexicon, nodes, parse, parse_statement, say, suggest
from kg.language.cursor import Cursor
from kg.language.tokens import MAX_CHARACTERS
from kg.vocabulary import Vocabulary

SETTINGS = settings(
    max_examples=150,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


def atoms(vocabulary: Vocabulary, *, named: bool) -> st.SearchStrategy[nodes.Expr]:
    has = [nodes.Has(t.feature, t.name) for t in vocabulary.terms.values() if t.feature]
    has += [nodes.Has("bl:notUsedOn", v) for v in vocabulary.values_of("bl:usedOn")]
    has += [nodes.Has("bl:fits", t.name) for t in vocabulary.by_role("pattern")]
    lengths = st.decimals(1, 9999, places=1).map(float)
    options = [
        st.sampled_from([nodes.IsA(t.name) for t in vocabulary.by_role("category")]),
        st.sampled_from(has),
        st.sampled_from([nodes.HasPart(t.name) for t in vocabulary.by_role("part")]),
        st.builds(nodes.Length, st.sampled_from(["<", "<=", ">", ">=", "="]), lengths),
        st.tuples(lengths, lengths).map(lambda p: nodes.Length("between", min(p), max(p))),
        st.sampled_from([nodes.Solely(t.feature, (t.name,)) for t in vocabulary.terms.values() if _many(t, vocabulary)]),
        st.sampled_from([nodes.Untold("bl:usedOn", v) for v in vocabulary.values_of("bl:usedOn")]),
        st.sampled_from([nodes.Recorded(f) for f in [*vocabulary.features, "bl:length"]]),
        st.sampled_from([nodes.CalledAfter(vocabulary.written(n)) for n in NAMES if vocabulary.bearers(n)]),
    ]
    if named:
        options.append(st.sampled_from([nodes.Named(t.name) for t in vocabulary.by_role("pattern")]))
    return st.one_of(options)


NAMES = ("Kelly", "Kocher", "Mayo", "Spencer Wells", "péan", "Halsted")


def several(items: st.SearchStrategy[nodes.Expr], kind: type) -> st.SearchStrategy[nodes.Expr]:
    """ "And" and "or" as the parser makes them: flat, at least two items, each once."""
    flat = items.filter(lambda e: not isinstance(e, kind))
    return st.lists(flat, min_size=2, max_size=3, unique=True).map(lambda found: kind(tuple(found)))


def exprs(vocabulary: Vocabulary, *, named: bool = True) -> st.SearchStrategy[nodes.Expr]:
    return st.recursive(
        atoms(vocabulary, named=named),
        lambda inner: st.one_of(several(inner, nodes.And), several(inner, nodes.Or), inner.map(nodes.Not)),
        max_leaves=8,
    )


def questions(v: Vocabulary) -> st.SearchStrategy[nodes.Question]:
    patterns = st.sampled_from([t.name for t in v.by_role("pattern")])
    categories = st.sampled_from([t.name for t in v.by_role("category")])
    subjects = st.one_of(patterns, categories)
    features = st.sampled_from([*v.features, "bl:hasPart", "bl:length"])
    some = st.lists(features, max_size=3, unique=True).map(tuple)
    plain = exprs(v, named=False)
    return st.one_of(
        exprs(v).map(nodes.Filter),
        exprs(v).map(nodes.Count),
        st.builds(nodes.Extreme, exprs(v), st.booleans(), st.sampled_from(["length", "range"])),
        st.builds(nodes.Extreme, exprs(v), st.just(True), st.just("ends")),
        st.builds(nodes.Extreme, exprs(v), st.booleans(), st.just("length"), st.integers(6, 40)),
        st.builds(nodes.Group, exprs(v), st.just("bl:length"), st.booleans()),
        st.lists(exprs(v), min_size=2, max_size=3).map(lambda found: nodes.Counts(tuple(found))),
        exprs(v).filter(lambda e: not isinstance(e, nodes.Named)).map(nodes.Gaps),
        exprs(v).filter(lambda e: e != nodes.Everything()).map(nodes.Differences),
        patterns.map(nodes.Filed),
        st.builds(nodes.Tally, st.sampled_from(["category", "source", "eponym"]), st.just(""), exprs(v)),
        st.builds(nodes.Tally, st.sampled_from(["source", "eponym"]), st.sampled_from(["most", "fewest"]), exprs(v)),
        st.builds(nodes.Quantified, plain, plain, st.sampled_from(["all", "any", ""])),
        st.builds(nodes.Tally, st.sampled_from(["category", "source", *v.features]), st.sampled_from(["most", "fewest"])),
        st.builds(
            nodes.Tally, st.sampled_from(["category", "alike", *v.features]), st.sampled_from(["most", "fewest"]), exprs(v)
        ),
        st.builds(
            nodes.Tally,
            st.sampled_from(["category", "alike", *v.features]),
            st.sampled_from(sorted(nodes.BOUNDS)),
            exprs(v),
            st.integers(0, 40),
        ),
        st.sampled_from(["category", "source"]).map(nodes.Tally),
        exprs(v).map(nodes.Weak),
        st.lists(st.sampled_from([t.name for t in v.terms.values()]), min_size=2, max_size=4, unique=True).map(
            lambda found: nodes.DefineAll(tuple(found))
        ),
        st.builds(nodes.PartOf, st.sampled_from([t.name for t in v.by_role("part")]), subjects),
        st.sampled_from(["ring handle, box lock", "it has a ratchet (two steps), no teeth", "a tube with a tap"]).map(
            nodes.Identify
        ),
        exprs(v).map(nodes.Disputes),
        st.builds(nodes.Group, exprs(v), st.sampled_from(list(v.features))),
        st.builds(nodes.Value, subjects, some),
        st.builds(nodes.Sources, patterns, some),
        st.lists(subjects, min_size=2, max_size=4).map(lambda s: nodes.Compare(tuple(s))),
        st.builds(nodes.Holds, patterns, plain),
        st.builds(nodes.Why, patterns, plain.filter(lambda e: not isinstance(e, nodes.Not)), st.booleans()),
        st.sampled_from([nodes.Define(t.name) for t in v.terms.values()]),
        categories.map(nodes.Classify),
        st.sampled_from(
            [nodes.Filter(nodes.Everything()), nodes.Disputes(nodes.Everything()), nodes.Count(nodes.Everything())]
        ),
    )


@SETTINGS
@given(data=st.data())
def test_tree_to_text_to_tree(data: st.DataObject, vocabulary: Vocabulary, lexicon: Lexicon) -> None:
    question = data.draw(questions(vocabulary))
    text = say(question, lexicon)
    if len(text) <= MAX_CHARACTERS:
        assert parse(text, lexicon) == question
        assert say(parse(text, lexicon), lexicon) == text


@settings(SETTINGS, max_examples=60)
@given(data=st.data())
def test_tree_to_text_to_tree_on_the_shipped_vocabulary(data: st.DataObject, shipped: Lexicon) -> None:
    expr = data.draw(exprs(shipped.vocabulary))
    text = say(nodes.Filter(expr), shipped)
    if len(text) <= MAX_CHARACTERS:
        assert parse(text, shipped) == nodes.Filter(expr)


@settings(SETTINGS, max_examples=300)
@given(text=st.text(max_size=120))
def test_random_text_is_refused_or_understood(text: str, lexicon: Lexicon) -> None:
    for rule in (parse, parse_statement):
        try:
            rule(text, lexicon)
        except QuestionError as error:
            assert 0 <= error.span[0] <= error.span[1] <= len(text)


@settings(SETTINGS, max_examples=300)
@given(data=st.data())
def test_random_words_are_refused_or_read_back(data: st.DataObject, lexicon: Lexicon) -> None:
    phrases = sorted({entry.text for _, entry in lexicon.phrases()} | {"(", ")", ",", "14", "?", '"'})
    text = " ".join(data.draw(st.lists(st.sampled_from(phrases), min_size=1, max_size=10)))
    try:
        question = parse(text, lexicon)
    except QuestionError as error:
        assert 0 <= error.span[0] <= error.span[1] <= len(text)
    else:
        assert parse(say(question, lexicon), lexicon) == question


@settings(SETTINGS, max_examples=200)
@given(data=st.data())
def test_suggestions_never_raise_and_fit_the_text(data: st.DataObject, lexicon: Lexicon) -> None:
    phrases = sorted({entry.text for _, entry in lexicon.phrases()} | {"(", ")", ",", "14"})
    text = data.draw(st.one_of(st.text(max_size=60), st.lists(st.sampled_from(phrases), max_size=6).map(" ".join)))
    cursor = data.draw(st.integers(-5, len(text) + 5))
    found = suggest(text, cursor, lexicon)
    assert len(found) <= 40
    assert len({s.text for s in found}) == len(found)
    assert all(0 <= s.start <= max(0, min(cursor, len(text))) for s in found)


@pytest.mark.parametrize(
    "text",
    [
        "clamps or " * 190,
        "curved or " * 190,
        "curved, " * 240,
        "clamps with teeth and " * 85,
        "(curved or straight) or " * 80,
        "Kelly, " * 280,
        "compare " + "Kelly and " * 190,
        "the " * 490,
        "what is " * 240,
        "not curved or not " * 100,
        "neither curved nor " * 100,
        "14 cm " * 300,
    ],
)
def test_repetition_is_no_trap(text: str, lexicon: Lexicon, monkeypatch: pytest.MonkeyPatch) -> None:
    """The work is counted, not timed: a rule that tries again and again would look millions of times."""
    looks = 0
    look = Cursor.look

    def counted(self: Cursor, *kinds: str, **how: object) -> object:
        nonlocal looks
        looks += 1
        assert looks < 400_000
        return look(self, *kinds, **how)

    monkeypatch.setattr(Cursor, "look", counted)
    try:
        parse(text[:MAX_CHARACTERS], lexicon)
    except QuestionError as error:
        assert error.code.startswith("BL-Q")
    assert looks > 0


def _many(term, vocabulary) -> bool:
    return term.feature in vocabulary.features and not vocabulary.features[term.feature].single


def test_only_of_every_place_and_operation_reads_back(catalogue) -> None:
    """ "used in operation on vessels" is no use on vessels in an operation."""
    lexicon = catalogue.lexicon
    features = sorted((lexicon.words.set_features | lexicon.words.set_places) & set(catalogue.vocabulary.features))
    trees = [nodes.Filter(nodes.Solely(f, (v,))) for f in features for v in catalogue.vocabulary.values_of(f)]
    assert len(trees) > 100
    assert [say(t, lexicon) for t in trees if parse(say(t, lexicon), lexicon) != t] == []
