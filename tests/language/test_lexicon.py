"""The lexicon: one word in many spellings, longest phrase first, near words, and the word file against the ontology."""

from __future__ import annotations

import pytest

from kg.language import Lexicon, parse, say
from kg.language.nearness import changes
from kg.language.tokens import scan
from kg.language.words import expand, singular
from kg.vocabulary import Vocabulary


def meanings(text: str, lexicon: Lexicon) -> set[tuple[str, str]]:
    return {(e.kind, e.term) for e in lexicon.entries(text)}


@pytest.mark.parametrize(
    "text",
    [
        "needle holder",
        "Needle-Holders",
        "NEEDLE HOLDERS",
        "needleholder",
        "needleholders",
        "the needle holder",
        "needle driver",
    ],
)
def test_spellings_of_one_name(text: str, lexicon: Lexicon) -> None:
    assert ("category", "bl:NeedleHolder") in meanings(text, lexicon)


@pytest.mark.parametrize(
    ("text", "term"),
    [
        ("hemostat", "bl:ArteryForceps"),
        ("haemostats", "bl:ArteryForceps"),
        ("Rochester-Pean forceps", "bl:RochesterPeanForceps"),
        ("rochester pe\u0301an", "bl:RochesterPeanForceps"),
        ("crisscross", "bl:CrissCrossSerration"),
        ("CRISS CROSS", "bl:CrissCrossSerration"),
        ("scissor", "bl:NoSuchThing"),
    ],
)
def test_accents_spellings_and_hyphens(text: str, term: str, lexicon: Lexicon) -> None:
    assert (term in {t for _, t in meanings(text, lexicon)}) is (term != "bl:NoSuchThing")


def test_longest_phrase_first(lexicon: Lexicon) -> None:
    tokens = lexicon.keyed(scan("non-crushing clamps with teeth"))
    ends = [end for end, _ in lexicon.matches(tokens, 0)]
    assert ends == sorted(ends, reverse=True) and ends[0] == 3


def test_a_name_with_two_owners_has_two_entries(lexicon: Lexicon) -> None:
    assert {t for _, t in meanings("Kocher", lexicon)} == {"bl:KocherIntestinalClamp", "bl:RochesterOchsnerForceps"}


def test_a_pattern_may_be_called_by_its_label_without_its_family(lexicon: Lexicon) -> None:
    assert ("pattern", "bl:SatinskyClamp") in meanings("Satinsky", lexicon)


def test_category_comes_before_kind(lexicon: Lexicon) -> None:
    best = lexicon.resolve(lexicon.entries("thumb forceps"))
    assert [e.kind for e in best] == ["category"]


@pytest.mark.parametrize(
    ("word", "expected"),
    [
        ("serratd", "serrated"),
        ("Kely", "Kelly"),
        ("forcep", "forceps"),
        ("crushign", "crushing"),
        ("needleholdr", "needle holder"),
    ],
)
def test_near_words(word: str, expected: str, lexicon: Lexicon) -> None:
    assert expected in lexicon.near(word)


@pytest.mark.parametrize("word", ["", "a", "zq", "xqzyv", "x" * 5000, "哪个钳子"])
def test_near_words_of_nonsense(word: str, lexicon: Lexicon) -> None:
    assert lexicon.near(word) == ()


@pytest.mark.parametrize(
    ("one", "two", "distance"),
    [("abc", "abc", 0), ("abc", "abd", 1), ("abc", "acb", 1), ("abc", "ab", 1), ("abc", "xyz", 3)],
)
def test_changes(one: str, two: str, distance: int) -> None:
    assert changes(one, two, 3) == changes(two, one, 3) == distance


def test_changes_stops_at_the_bound() -> None:
    assert changes("aaaaaa", "bbbbbb", 2) == 3


def test_expand() -> None:
    assert expand("half [of] (jaw|tip)") == ["half of jaw", "half of tip", "half jaw", "half tip"]


@pytest.mark.parametrize(
    ("many", "one"),
    [("clamps", "clamp"), ("arteries", "artery"), ("boxes", "box"), ("glass", "glass"), ("rings", "ring")],
)
def test_singular(many: str, one: str) -> None:
    assert singular(many) == one


def test_every_term_can_be_named(lexicon: Lexicon, vocabulary: Vocabulary) -> None:
    unnamed = [
        t.name
        for t in vocabulary.terms.values()
        if t.role != "source" and all(t.name not in {e.term for e in lexicon.entries(text)} for text in (t.label, *t.alt))
    ]
    assert unnamed == []


def test_building_twice_gives_the_same(vocabulary: Vocabulary, lexicon: Lexicon, word_file: dict) -> None:
    again = Lexicon.build(vocabulary, word_file)
    assert list(again.phrases()) == list(lexicon.phrases())


# --- with the shipped vocabulary --------------------------------------------------------------------------------------
def test_the_word_file_names_only_terms_that_exist(shipped: Lexicon) -> None:
    assert [name for name in sorted(shipped.words.terms()) if not shipped.exists(name)] == []


def test_every_shipped_pattern_and_category_can_be_asked_for(shipped: Lexicon) -> None:
    missing = []
    for term in (*shipped.vocabulary.by_role("pattern"), *shipped.vocabulary.by_role("category")):
        best = shipped.resolve(e for e in shipped.entries(term.label) if e.kind == term.role)
        if [e.term for e in best] != [term.name]:
            missing.append(term.name)
    assert missing == []


@pytest.mark.parametrize(
    "sentence",
    [
        "non-crushing clamps with criss-cross serration",
        "non-crushing clamps with longitudinal serration",
        "haemostats serrated over only half the jaw",
        "artery forceps with teeth at the tip",
        "compare Kelly forceps and Crile forceps",
        "why is Doyen intestinal clamp a non-crushing clamp?",
        "blades that fit a no. 3 handle",
        "what is a box lock?",
        "classify artery forceps",
    ],
)
def test_main_questions_on_the_shipped_vocabulary(sentence: str, shipped: Lexicon) -> None:
    question = parse(sentence, shipped)
    assert parse(say(question, shipped), shipped) == question
