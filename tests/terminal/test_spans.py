"""Width, cleaning and wrapping of styled text."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from wcwidth import wcswidth

from kg.render.spans import clean, line_width, plain, take, width_of, wrap

TEXT = st.text(st.one_of(st.characters(), st.sampled_from("漢字 e\u0301🙂\x1b\u202e\t\n -")), max_size=60)


@pytest.mark.parametrize(
    ("raw", "safe"),
    [
        ("\x1b[31mred\x1b[0m", "\ufffd[31mred\ufffd[0m"),
        ("a\tb\nc", "a b c"),
        ("a\u202eb\u2066c", "a\ufffdb\ufffdc"),
        ("\x9b31m", "\ufffd31m"),
        ("Péan — “fine”", "Péan — “fine”"),
        ("\udc80", "\ufffd"),
    ],
)
def test_clean_disarms_what_could_steer_a_terminal(raw: str, safe: str) -> None:
    assert clean(raw) == safe


@given(TEXT)
def test_clean_keeps_places_and_leaves_no_control(text: str) -> None:
    safe = clean(text)
    assert len(safe) == len(text)
    assert not any(ord(c) < 32 or 127 <= ord(c) < 160 for c in safe)


@pytest.mark.parametrize(("text", "columns"), [("abc", 3), ("Péan — x", 8), ("漢字", 4), ("e\u0301", 1), ("", 0)])
def test_width(text: str, columns: int) -> None:
    assert width_of(text) == columns


@given(TEXT)
def test_width_agrees_with_the_tables(text: str) -> None:
    # wcswidth joins some emoji sequences, so that it may be smaller; it must never be wider than what we plan for.
    assert wcswidth(clean(text)) <= width_of(clean(text))


@given(st.lists(st.tuples(st.sampled_from(["", "name"]), TEXT), max_size=4), st.integers(8, 60), st.integers(0, 4))
def test_wrapped_lines_fit_and_keep_every_word(spans: list[tuple[str, str]], width: int, rest: int) -> None:
    lines = wrap(spans, width, rest=rest)
    assert all(line_width(line) <= width for line in lines)
    assert all(any(text.strip(" ") for _, text in line) for line in lines)
    kept = "".join(text for line in lines for _, text in line).replace(" ", "")
    assert kept == "".join(clean(text) for _, text in spans).replace(" ", "")


def test_a_word_of_several_styles_is_not_broken() -> None:
    lines = wrap([("", "the "), ("name", "Kelly"), ("", ", and")], 9)
    assert plain(lines) == "the\nKelly,\nand\n"
    assert lines[1] == [("name", "Kelly"), ("", ",")]


def test_a_long_word_is_cut_and_the_first_line_may_be_indented() -> None:
    assert plain(wrap([("", "ab abcdefghijkl")], 6, first=2, rest=1)) == "  ab\n abcde\n fghij\n kl\n"


def test_take_counts_columns_not_characters() -> None:
    assert take("漢字ab", 3) == "漢"
    assert take("漢", 1) == "漢"  # at least one character, or nothing would ever be shown
    assert take("abc", 2) == "ab"
