"""Normalising and cutting up SPARQL text.

Outside sources: W3C SPARQL 1.1 Query Language, section 19.2 (codepoint escapes are processed before parsing,
so a keyword may be written with one), 19.5 to 19.8 (IRIs, comments, strings, names); the wording of the rules
is from memory. That pyoxigraph 0.5 does not decode escapes outside strings and IRIs was measured.
"""

from __future__ import annotations

import pyoxigraph as ox
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kg.errors import QueryError
from kg.store.lexer import line_column, normalise, tokens


def cut(text: str) -> list[tuple[str, str]]:
    return [(token.kind, token.text) for token in tokens(normalise(text))]


@pytest.mark.parametrize(
    ("source", "plain"),
    [
        ("SEL\\u0045CT", "SELECT"),
        ("\\U00000053ERVICE", "SERVICE"),
        ("a\\u003Ab", "a:b"),
        ("\\u03B1:a", "α:a"),
        ("<http://x/ab\\u00E9xy>", "<http://x/abéxy>"),
        ("'\\u0027'", "'\\''"),
        ('"\\u0022 \\u005C \\u000A"', '"\\" \\\\ \\n"'),
        ("'\\\\u0053'", "'\\\\u0053'"),
        ("'a' # 'b'\n'c'", "'a'      \n'c'"),
        ("# \\u000A SERVICE", "                "),
        ("# one\r?x", "     \r?x"),
        ("?a<?b&&?c>?d", "?a< ?b&&?c>?d"),
        ("?a<5#>\n", "?a< 5  \n"),
        ("'#' <http://x/#y>", "'#' <http://x/#y>"),
        ('"""a "b" #c"""', '"""a "b" #c"""'),
    ],
)
def test_normalise(source: str, plain: str) -> None:
    assert normalise(source).text == plain


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ("?service $load", [("var", "?service"), ("var", "$load")]),
        ("bl:Service", [("name", "bl:Service")]),
        ("bl:a\\'b'x'", [("name", "bl:a\\'b"), ("string", "'x'")]),
        ("bl:a.", [("name", "bl:a"), ("punct", ".")]),
        ("bl:.SERVICE", [("name", "bl:"), ("punct", "."), ("word", "SERVICE")]),
        ("'x'@en.SERVICE", [("string", "'x'"), ("lang", "@en"), ("punct", "."), ("word", "SERVICE")]),
        ("1SERVICE", [("number", "1"), ("word", "SERVICE")]),
        ("true.SERVICE", [("word", "true"), ("punct", "."), ("word", "SERVICE")]),
        ("?a<5", [("var", "?a"), ("punct", "<"), ("number", "5")]),
        ("''", [("string", "''")]),
        ("''''''", [("string", "''''''")]),
        ('"""a""b\\""""', [("string", '"""a""b\\""""')]),
        ("_:b1", [("blank", "_:b1")]),
        (".5e-3", [("number", ".5e-3")]),
    ],
)
def test_tokens(source: str, expected: list[tuple[str, str]]) -> None:
    assert cut(source) == expected


@pytest.mark.parametrize(
    ("source", "message"),
    [
        ("?x\n  'open", "this quotation mark is never closed (line 2, column 3)"),
        ("'''open''", "this quotation mark is never closed (line 1, column 1)"),
        ("'a\nb'", "this quotation mark is never closed (line 1, column 1)"),
        ("'a\\xb'", "\\x is not an escape of SPARQL (line 1, column 3)"),
        ("?x\\u0020y", "\\u0020 may not stand here, only inside a string (line 1, column 3)"),
        ("\\u0023", "\\u0023 may not stand here, only inside a string (line 1, column 1)"),
        ("'\\uD800'", "\\uD800 is not a character (line 1, column 2)"),
        ("'\\U00110000'", "\\U00110000 is not a character (line 1, column 2)"),
        ("<http://x/\\u003E>", "an IRI holds a character that no IRI may hold (line 1, column 1)"),
        ("?a<b:c&&d:e>?f", "this can be read as an IRI or as a comparison (line 1, column 3)"),
        ("<relative>", "this can be read as an IRI or as a comparison (line 1, column 1)"),
        ("<< ?s", "<< is not SPARQL 1.1 (line 1, column 1)"),
        ("\\u0053 \\", "the character '\\\\' cannot stand here (line 1, column 8)"),
        ("'é\\u00e9' “", "the character '“' cannot stand here (line 1, column 11)"),
        ("?x\u00a0?y", "the character '\\xa0' cannot stand here (line 1, column 3)"),
    ],
)
def test_error_what_cannot_be_read_in_one_way(source: str, message: str) -> None:
    with pytest.raises(QueryError) as caught:
        cut(source)
    assert (caught.value.code, caught.value.message) == ("BL-S01", message)


def test_places_are_told_in_the_query_as_typed() -> None:
    plain = normalise("'\\u0041\\u0042' # note\n ?x")
    assert plain.text == "'AB'       \n ?x"
    assert plain.origin(plain.text.index("?x")) == plain.source.index("?x")
    assert line_column(plain.source, plain.origin(plain.text.index("?x"))) == (2, 2)


@given(st.text(max_size=40))
def test_a_literal_means_the_same_after_normalising(value: str) -> None:
    """pyoxigraph, which reads escapes in its own way, must read the same value before and after."""
    escaped = "".join(f"\\U{ord(c):08X}" if not 0xD800 <= ord(c) <= 0xDFFF and c != "\0" else "" for c in value)
    expected = "".join(c for c in value if not 0xD800 <= ord(c) <= 0xDFFF and c != "\0")
    query = f'SELECT ("{escaped}" AS ?x) {{ }}'
    for text in (query, normalise(query).text):
        assert [row["x"].value for row in ox.Store().query(text)] == [expected]


@given(st.text(alphabet="ab'\"\\\n#<>:/u0053{}?. \u00e9", max_size=40))
def test_normalising_twice_changes_nothing(source: str) -> None:
    try:
        once = normalise(source).text
    except QueryError as error:
        assert error.code == "BL-S01"
        return
    assert normalise(once).text == once
