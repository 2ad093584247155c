"""What is offered at the cursor."""

from __future__ import annotations

import pytest

from kg.language import Lexicon, parse, suggest


def texts(typed: str, lexicon: Lexicon) -> list[str]:
    return [s.text for s in suggest(typed, len(typed), lexicon)]


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("", "how many"),
        ("", "clamps"),
        ("cl", "clamps"),
        ("cl", "classify"),
        ("artery f", "artery forceps"),
        ("non-cr", "non-crushing clamps"),
        ("non-cr", "non-crushing"),
        ("haemo", "haemostat"),
        ("clamps ", "with"),
        ("clamps w", "with"),
        ("clamps with ", "ratchet"),
        ("clamps with a ra", "ratchet"),
        ("clamps with criss", "criss-cross serration"),
        ("clamps used on ", "bowel"),
        ("clamps used on bo", "bowel"),
        ("clamps by ", "jaw surface"),
        ("clamps whose joint is ", "box lock"),
        ("compare Kel", "Kelly forceps"),
        ("compare Kelly forceps ", "and"),
        ("compare Kelly forceps and C", "Crile forceps"),
        ("scissors longer than 14 ", "cm"),
        ("(curved or st", "straight"),
        ("is Kelly cr", "crushing"),
        ("is Kelly a cl", "clamp"),
        ("classify ", "artery forceps"),
    ],
)
def test_offered(typed: str, offered: str, lexicon: Lexicon) -> None:
    assert offered in texts(typed, lexicon)


@pytest.mark.parametrize(
    ("typed", "not_offered"),
    [
        ("clamps by ", "bowel"),
        ("clamps used on ", "curved"),
        ("clamps used on ", "ratchet"),
        ("clamps whose joint is ", "bowel"),
        ("compare ", "with"),
        ("scissors longer than 14 ", "clamps"),
        ("classify ", "ratchet"),
    ],
)
def test_not_offered(typed: str, not_offered: str, lexicon: Lexicon) -> None:
    assert not_offered not in texts(typed, lexicon)


def test_the_phrase_half_typed_is_replaced_as_a_whole(lexicon: Lexicon) -> None:
    typed = "clamps with criss-cross s"
    first = suggest(typed, len(typed), lexicon)[0]
    assert (first.text, first.start, first.kind, first.note) == ("criss-cross serration", 12, "value", "jaw surface")
    parse(typed[: first.start] + first.text, lexicon)


def test_a_synonym_says_what_it_stands_for(lexicon: Lexicon) -> None:
    found = {s.text: s.note for s in suggest("haemostat", 9, lexicon)}
    assert found["haemostat"] == "= artery forceps"


def test_only_the_text_before_the_cursor_counts(lexicon: Lexicon) -> None:
    assert texts("cl", lexicon) == [s.text for s in suggest("cl and nonsense (((", 2, lexicon)]


@pytest.mark.parametrize("typed", ["zzz", "x" * 3000, "\x00", "((((" * 20, "clamps \ud800"])
def test_nothing_to_offer(typed: str, lexicon: Lexicon) -> None:
    assert suggest(typed, len(typed), lexicon) == []


def test_same_text_same_offers(lexicon: Lexicon) -> None:
    assert suggest("clamps ", 7, lexicon) == suggest("clamps ", 7, lexicon)
