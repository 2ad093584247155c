"""The phrases as the closure keeps them are the phrases as they are placed, in whatever order they are asked for."""

from __future__ import annotations

import json
import random

import pytest

from kg.language import Lexicon
from kg.vocabulary import Terms, Vocabulary


@pytest.fixture
def kept(vocabulary: Vocabulary, lexicon: Lexicon, word_file: dict) -> Lexicon:
    return Lexicon.build(vocabulary, word_file, Lexicon.build(vocabulary, word_file).phrases_text().encode())


def test_the_same_phrases_in_the_same_order(kept: Lexicon, lexicon: Lexicon) -> None:
    assert list(kept.phrases()) == list(lexicon.phrases())


@pytest.mark.parametrize("seed", range(3))
def test_the_same_shelves_in_any_order(kept: Lexicon, lexicon: Lexicon, seed: int) -> None:
    heads = sorted({key[0] for key, _ in lexicon.phrases()} | {"nobody", "", '"', "criss cross"})
    random.Random(seed).shuffle(heads)
    for head in heads:
        found, expected = kept._shelves.shelf(head), lexicon._shelves.shelf(head)
        words = [word for word in expected or () if word]
        random.Random(seed).shuffle(words)
        for word in words:  # a large shelf is placed as its second words are met
            assert found is not None and expected is not None and word in found
            assert found.get(word) == expected[word], (head, word)
        assert found == expected, head
        assert found is None or ("nobody" not in found and found.get("nobody") is None)
    assert list(kept.phrases()) == list(lexicon.phrases())


def test_words_are_split_alike(kept: Lexicon, lexicon: Lexicon) -> None:
    words = sorted({word for key, _ in lexicon.phrases() for word in key})
    joined = [a + b for a in words for b in words[:: max(1, len(words) // 60)]]
    some = [word for word in (*words, *joined) if len(lexicon._shelves.split(word)) > 1]
    assert some
    for word in (*words, *joined):
        assert kept._shelves.split(word) == lexicon._shelves.split(word), word


def test_it_is_json_with_a_line_for_each_first_word(vocabulary: Vocabulary, word_file: dict) -> None:
    text = Lexicon.build(vocabulary, word_file).phrases_text()
    raw = json.loads(text)
    assert len(raw["heads"]) == len(raw["shelves"]) == len(text.splitlines()) - 6
    assert raw["heads"] == sorted(raw["heads"])


@pytest.mark.parametrize(
    "data", [b"", b"{}", b'{\n"heads": [', b'{\n"clamp": [["category", "bl:Clamp", "clamp", 0, false, false, []]]\n}\n']
)
def test_phrases_in_another_form_are_placed_anew(
    vocabulary: Vocabulary, lexicon: Lexicon, word_file: dict, data: bytes
) -> None:
    assert list(Lexicon.build(vocabulary, word_file, data).phrases()) == list(lexicon.phrases())


# --- the vocabulary, likewise -----------------------------------------------------------------------------------------
def test_a_vocabulary_read_line_by_line_is_the_same(vocabulary: Vocabulary) -> None:
    read = Vocabulary.from_json(vocabulary.to_json())
    whole = Vocabulary.from_json(json.dumps(json.loads(vocabulary.to_json())))
    assert isinstance(read.terms, Terms) and not isinstance(whole.terms, Terms)
    for other in (vocabulary, whole):
        assert read == other and list(read.terms) == list(other.terms)
        assert read.children == other.children and read.implied == other.implied
        for role in ("pattern", "category", "value"):
            assert read.by_role(role) == other.by_role(role) != ()
    assert read.terms.get("bl:Nothing") is None and "bl:Nothing" not in read.terms
    with pytest.raises(KeyError):
        read.terms["bl:Nothing"]
    read.open_all()
    assert type(read.terms) is dict and read == vocabulary


def test_an_empty_vocabulary_is_read() -> None:
    assert Vocabulary.from_json(Vocabulary({}, {}, {}).to_json()) == Vocabulary({}, {}, {})


def test_lines_that_do_not_fit_the_columns_are_refused(vocabulary: Vocabulary) -> None:
    lines = vocabulary.to_json().splitlines(keepends=True)
    at = lines.index(' "terms": [\n') + 1
    with pytest.raises(ValueError, match="line"):
        Vocabulary.from_json("".join(lines[:at] + lines[at + 1 :]))
