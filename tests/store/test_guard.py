"""What the guard lets through, what it refuses, and that it never raises anything but QueryError.

Outside sources: the grammar and section 19.2 of W3C SPARQL 1.1 Query Language (what is a keyword and what a
name; wording from memory), and pyoxigraph as a second reader: whatever the guard accepts is given to it, and
must not be read as SERVICE. The cases marked *measured* were run on pyoxigraph 0.5.13, which then tried to
open a connection.
"""

from __future__ import annotations

import re

import pyoxigraph as ox
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kg.errors import QueryError
from kg.names import PREFIXES
from kg.store import guard
from kg.store.guard import QueryForm, check, check_query

# A port that the library refuses to connect to: nothing leaves this machine even if a test fails.
FAR = "<http://127.0.0.1:9/>"

ACCEPTED = [
    # the four forms
    "SELECT * { ?s ?p ?o }",
    "select distinct ?s where { ?s a bl:Pattern } order by ?s limit 5",
    "ASK { bl:A bl:next bl:B }",
    "CONSTRUCT WHERE { ?s ?p ?o }",
    "DESCRIBE bl:A",
    "PREFIX x: <http://x/> # note\nSELECT * { x:a x:b ?c }",
    # forbidden words that are no words
    'SELECT * { ?s rdfs:label "service" }',
    "SELECT * { ?s rdfs:label 'DROP ALL; SERVICE <http://x/>' }",
    'SELECT * { ?s rdfs:label """a "b" SERVICE <http://x/> { """ }',
    "SELECT * { ?s rdfs:label '''it's DELETE''' }",
    'SELECT * { ?s rdfs:label "\\" SERVICE " }',
    'SELECT * { ?s rdfs:label "\\\\" } # SERVICE',
    "SELECT ?load ?service $insert { ?load ?service $insert }",
    "SELECT * { ?s a bl:Service }",
    "SELECT * { ?s bl:load ?o . bl:DROP bl:clear bl:WITH }",
    "SELECT * { ?s ?p <http://x.example/service/LOAD#SERVICE> }",
    "SELECT * { ?s ?p <urn:service:load> }",
    "PREFIX service: <http://x/> SELECT * { ?s service:load ?o }",
    "PREFIX delete: <http://x/> SELECT * { ?s delete:x ?o }",
    "# SERVICE <http://x/>\nSELECT * { ?s ?p ?o } # INSERT DATA",
    "SELECT * { ?s rdfs:label 'x'@service }",
    "SELECT * { _:service ?p ?o }",
    "SELECT * { ?s bl:it\\'s ?o . ?o rdfs:label 'SERVICE' }",
    "SELECT ?fromage { ?s bl:from ?fromage }",
    # escapes
    "SEL\\u0045CT * { ?s a bl\\u003APattern }",
    "SELECT * { ?s rdfs:label '\\u0053ERVICE' }",
    # signs
    "SELECT * { ?s bl:n ?a, ?b FILTER(?a < ?b && ?b > 3) }",
    "SELECT * { ?s bl:n ?a FILTER(?a<5&&?a>3) }",
    "SELECT * { ?s (bl:a|^bl:b)/bl:c*/!(bl:d|^bl:e)? ?o }",
    "SELECT (COUNT(*) AS ?n) { ?s ?p ?o }",
    "SELECT * { ?s ?p [ bl:a ( 1 2.5 1e3 true ) ] }",
    "SELECT * { VALUES (?a ?b) { (1 UNDEF) (bl:A 'x'@en) } }",
    # graphs of ours
    f"SELECT * FROM <{PREFIXES['graph']}asserted> {{ ?s ?p ?o }}",
    "SELECT * FROM graph:asserted FROM NAMED src:one { GRAPH ?g { ?s ?p ?o } }",
    "SELECT*FROM graph:asserted{?s ?p ?o}",
]

REFUSED = {
    "BL-S02": [
        # updates
        "INSERT DATA { bl:A bl:p bl:B }",
        "insert { ?s ?p ?o } where { ?s ?p ?o }",
        "DELETE WHERE { ?s ?p ?o }",
        "LOAD <http://x.example/>",
        "LOAD SILENT <file:///etc/passwd> INTO GRAPH graph:x",
        "CLEAR ALL",
        "DROP GRAPH graph:asserted",
        "CREATE GRAPH graph:x",
        "COPY graph:a TO graph:b",
        "MOVE graph:a TO graph:b",
        "ADD graph:a TO graph:b",
        "WITH graph:a DELETE { ?s ?p ?o } WHERE { ?s ?p ?o }",
        "PREFIX x: <http://x/> CLEAR DEFAULT",
        "SELECT * { ?s ?p ?o } ; DROP ALL",
        "SELECT * { ?s ?p ?o } #\n; DROP ALL",
        "\\u0044ROP ALL",
        # SERVICE, plain and hidden
        f"SELECT * {{ SERVICE {FAR} {{ ?s ?p ?o }} }}",
        f"SELECT * {{ service silent {FAR} {{ ?s ?p ?o }} }}",
        f"SELECT*{{?s ?p ?o.SERVICE{FAR}{{?s ?p ?o}}}}",
        "SELECT * { SERVICE ?far { ?s ?p ?o } }",
        f"SELECT * {{ \\u0053ERVICE {FAR} {{ ?s ?p ?o }} }}",
        f"SELECT * {{ SER\\U00000056ICE {FAR} {{ ?s ?p ?o }} }}",
        f"SELECT * {{ SERVICE# note\n{FAR} {{ ?s ?p ?o }} }}",
        f"SELECT * {{ # \rSERVICE {FAR} {{ ?s ?p ?o }} \n }}",
        f"SELECT * {{ ?s ?p 'x' . SERVICE {FAR} {{ ?s ?p 'y' }} }}",
        f"SELECT * {{ ?s ?p 'a\\\\' . SERVICE {FAR} {{ ?s ?p ?o }} }}",
        f"SELECT * {{ ?s bl:a\\' ?o . SERVICE {FAR} {{ ?s bl:a\\' ?o }} }}",
        f"SELECT * {{ ?s bl:a\\# ?o . SERVICE {FAR} {{ ?s ?p ?o }} }}",
        f"SELECT * {{ ?s ?p 1SERVICE{FAR}{{ ?s ?p ?o }} }}",
        f"SELECT * {{ ?s ?p trueSERVICE{FAR}{{ ?s ?p ?o }} }}",
        f"SELECT * {{ ?s ?p 'x'@en.SERVICE{FAR}{{ ?s ?p ?o }} }}",
        f"SELECT * {{ FILTER(?a<?b)SERVICE#>\n{FAR}{{ ?s ?p ?o }} }}",  # measured
        # words that a parser takes apart (measured)
        "SELECT * { ?s SERVICEbl:p ?o }",
        f"PREFIX : {FAR} SELECT * {{ SERVICE:x {{ ?s ?p ?o }} }}",
        f"PREFIX SERVICEbl: {FAR} SELECT * {{ SERVICEbl:x {{ ?s ?p ?o }} }}",
        f"PREFIX serviceSilentbl: {FAR} SELECT * {{ serviceSilentbl:x {{ ?s ?p ?o }} }}",
        f"SELECT * {{ ?s a bl:x.bl:a.SERVICE{FAR}{{ ?s ?p ?o }} }}",
        f"SELECT * {{ ?s a bl:x._:b.SERVICE{FAR}{{ ?s ?p ?o }} }}",
        # graphs that are not ours
        "SELECT * FROM <http://elsewhere.example/> { ?s ?p ?o }",
        "SELECT * FROM NAMED <http://elsewhere.example/> { ?s ?p ?o }",
        "SELECT * FROM graph:asserted FROM <file:///etc/passwd> { ?s ?p ?o }",
        "SELECT * FROM <https://boxlock.example.elsewhere.example/> { ?s ?p ?o }",
        "SELECT * FROM <https://boxlock.example@elsewhere.example/> { ?s ?p ?o }",
        "SELECT * FROM <http://boxlock.example/graph/x> { ?s ?p ?o }",
        "SELECT * FROM skos:x { ?s ?p ?o }",
        "PREFIX graph: <http://elsewhere.example/> SELECT * FROM graph:x { ?s ?p ?o }",
        "PREFIX g: <https://boxlock.example/> PREFIX g: <http://x/> SELECT * FROM g:x { ?s ?p ?o }",
        "DESCRIBE bl:A FROM <http://elsewhere.example/>",
        "PREFIX FROMgraph: <http://x/> SELECT * FROMgraph:x { ?s ?p ?o }",
        "BASE <http://elsewhere.example/> SELECT * { ?s ?p ?o }",
    ],
    "BL-S01": [
        "",
        "  \n # only a note",
        "which instruments have a ratchet",
        "PREFIX x: <http://x/>",
        "{ ?s ?p ?o }",
        "SELECT * { ?s ex:p ?o }",
        "SELECT * { ?s ?p ?o",
        "SELECT * { ?s ?p ?o }}",
        "SELECT * { ?s ?p (1 2] }",
        "SELECT * { ?s ?p 'open }",
        "SELECT * FROM ?g { ?s ?p ?o }",
        "SELECT *FROMNAMED<http://x/>{ ?s ?p ?o }",
        "SELECT * FROM",
        "SELECT * { ?s ?p <relative> }",
        "SELECT * { << ?s ?p ?o >> ?q ?r }",
        "SELECT * { ?s ?p ?o }\0",
        "SELECT * { ?s ?p '\ud800' }",
        "\ufeffSELECT * { ?s ?p ?o }",
        # one reader's IRI is another's comparison with a word and a comment behind it (measured)
        f"PREFIX b: <urn:b> SELECT * {{ FILTER(?a<b:x)SERVICE#>\n{FAR}{{ ?s ?p ?o }} }}",
        f"SELECT * {{ # \\u000A\n \\u0022 SERVICE {FAR} {{ ?s ?p ?o }} }}",
    ],
    "BL-S03": [
        "SELECT * " + "{" * 20_000 + "}" * 20_000,
        "SELECT * " + "{" * 9_000 + "}" * 9_000,
        "SELECT * " + "{" * 61 + "}" * 61,
        "SELECT * { FILTER" + "(" * 60 + "1" + ")" * 60 + " }",
        "SELECT * { ?s ?p " + "[ bl:p " * 60 + "1" + "]" * 60 + " }",
        "SELECT * { FILTER(" + "!" * 1_001 + "?x) }",
        "SELECT * { ?s " + "/".join(["bl:p"] * 1_003) + " ?o }",
        "SELECT * { " + "{} UNION " * 201 + "{} }",
        "SELECT * { " + "OPTIONAL { ?s ?p ?o } " * 201 + "}",
        'SELECT * { ?s ?p "' + "x" * 20_000 + '" }',
        "SELECT * { ?s ?p ?o } #" + " " * 20_000,
    ],
}


@pytest.mark.parametrize("query", ACCEPTED)
def test_accepted_and_read_by_the_parser(query: str) -> None:
    checked = check(query)
    assert check_query(query) is checked.form
    ox.Store().query(checked.text)  # raises SyntaxError if the guard lets through what is not SPARQL


@pytest.mark.parametrize(("code", "query"), [(code, q) for code, qs in REFUSED.items() for q in qs])
def test_error_refused(code: str, query: str) -> None:
    with pytest.raises(QueryError) as caught:
        check_query(query)
    assert caught.value.code == code


@pytest.mark.parametrize(
    ("query", "form"),
    [
        ("SELECT * { }", QueryForm.SELECT),
        ("PREFIX ask: <http://x/> ask { ask:a ask:b 1 }", QueryForm.ASK),
        ("#SELECT\nconstruct where { ?s ?p ?o }", QueryForm.CONSTRUCT),
        ("DESCRIBE ?s { ?s a bl:Pattern }", QueryForm.DESCRIBE),
    ],
)
def test_form(query: str, form: QueryForm) -> None:
    assert check_query(query) is form


@pytest.mark.parametrize(
    ("query", "message"),
    [
        (
            f"SELECT *\n{{ SERVICE {FAR} {{ }} }}",
            "SERVICE asks another computer (line 2, column 3) [BL-S02]\n"
            "A query reads this catalogue only. For data elsewhere, save it to a file and load it.",
        ),
        (
            "DROP ALL",
            "DROP changes data; only reading is allowed (line 1, column 1) [BL-S02]\nTo add data, use: boxlock add FILE",
        ),
        (
            "SELECT * {\n  ?s ex:p ?o }",
            'the prefix "ex:" is not declared (line 2, column 6) [BL-S01]\n'
            "Declare it: PREFIX ex: <...>   Known without: bl, dcterms, graph, kind, not, owl, prov, rdf, "
            "rdfs, skos, some, src, xsd.",
        ),
        (
            "which forceps",
            "this does not begin a query (line 1, column 1) [BL-S01]\n"
            "A query begins with SELECT, ASK, CONSTRUCT or DESCRIBE, after its PREFIX lines.",
        ),
        ("SELECT * { ?s ?p ?o", "this { is never closed (line 1, column 10) [BL-S01]"),
        ("x" * 20_001, "the query has 20,001 characters; 20,000 are the limit [BL-S03]"),
    ],
)
def test_error_messages(query: str, message: str) -> None:
    with pytest.raises(QueryError) as caught:
        check_query(query)
    assert str(caught.value) == message


def test_the_limits_themselves_are_allowed() -> None:
    depth = guard.MAX_DEPTH
    assert check_query("SELECT * " + "{" * depth + "}" * depth) is QueryForm.SELECT
    assert check_query("ASK {" + "{} UNION " * guard.MAX_CLAUSES + "{} }") is QueryForm.ASK
    query = "ASK { FILTER(1" + "+1" * (guard.MAX_OPERATORS) + ") }"
    assert check_query(query) is QueryForm.ASK
    assert check_query("ASK { }".ljust(guard.MAX_LENGTH)) is QueryForm.ASK


def test_only_missing_prefixes_are_added_and_lines_stay() -> None:
    checked = check("PREFIX bl: <http://mine/>\nSELECT * { bl:a rdfs:label ?l ; skos:note ?n }")
    rdfs, skos = PREFIXES["rdfs"], PREFIXES["skos"]
    assert checked.text == (
        f"PREFIX rdfs: <{rdfs}> PREFIX skos: <{skos}> PREFIX bl: <http://mine/>\n"
        "SELECT * { bl:a rdfs:label ?l ; skos:note ?n }"
    )


@pytest.mark.parametrize(
    ("query", "place"),
    [
        ("SELECT * { ?s bl:p }", "'}' (line 1, column 20)"),
        ("SELECT *\n{ ?s rdfs:label '\\u0041' . ?o bl:p }", "'}' (line 2, column 36)"),
        ("SELECT * { } LIMIT", "its end (line 1, column 19)"),
    ],
)
def test_error_the_parsers_message_is_told_in_the_typed_query(query: str, place: str) -> None:
    checked = check(query)
    with pytest.raises(SyntaxError) as fault:
        ox.Store().query(checked.text)
    error = checked.syntax_error(str(fault.value))
    assert error.code == "BL-S01"
    assert error.message == f"the query cannot be read at {place}"


def test_error_a_parser_message_without_a_place() -> None:
    assert check("ASK { }").syntax_error("?").message == "the query is not SPARQL 1.1"


@pytest.mark.parametrize(
    ("query", "ordered", "names_graphs"),
    [
        ("SELECT * { ?s ?p ?o } ORDER BY ?s", True, False),
        ("SELECT * { { SELECT ?s { ?s ?p ?o } ORDER BY ?s } }", False, False),
        ("SELECT * FROM graph:a { ?s ?p ?o }", False, True),
        ("SELECT ?order { ?order bl:from 'ORDER' }", False, False),
    ],
)
def test_what_the_sandbox_needs_to_know(query: str, ordered: bool, names_graphs: bool) -> None:
    checked = check(query)
    assert (checked.ordered, checked.names_graphs) == (ordered, names_graphs)


PIECES = st.sampled_from(
    [
        *(
            "SERVICE",
            "service",
            "SERVICE SILENT",
            FAR,
            "<urn:x>",
            "<rel>",
            "<",
            "<<",
            ">",
            "{ ?s ?p ?o }",
            "{",
            "}",
        ),
        *(
            "#",
            "#\n",
            "\n",
            "\r",
            " ",
            "?x",
            "bl:x",
            "b:",
            ":x",
            "bl:a\\'",
            "bl:a\\#",
            "bl:a.",
            "_:b",
            "_:b.",
            "'",
        ),
        *(
            '"',
            "'''",
            '"""',
            "'x'",
            "@en",
            "@en.",
            "1",
            "1.",
            "true",
            "a",
            "FILTER(",
            "?a<?b)",
            ")",
            "(",
            "^^",
            ".",
        ),
        *(
            "\\u0053ERVICE",
            "\\u0023",
            "\\u000A",
            "\\u0022",
            "\\u007B",
            ";",
            ",",
            "[]",
            "!",
            "|",
            "/",
            "OPTIONAL",
        ),
        *(
            "?s ?p ?o.",
            "?s a bl:x.",
            "%41",
            "é",
            "\u00b7",
            "\u2028",
            "GRAPH ?g",
            "\\",
            "FROM",
            "DROP",
            "PREFIX",
        ),
    ]
)
PROLOGUE = st.sampled_from(
    ["", f"PREFIX : {FAR} ", f"PREFIX service: {FAR} ", "PREFIX SERVICEbl: <http://a/> ", f"PREFIX b: {FAR} "]
)
TAILS = st.sampled_from(
    [
        "",
        f"SERVICE{FAR}{{}}",
        "SERVICE:x{}",
        "SERVICEbl:x{}",
        f"SERVICE#>\n{FAR}{{}}",
        f"\\u0053ERVICE{FAR}{{}}",
    ]
)


def reads(query: str) -> bool:
    """True if the library parses the query, whatever comes of running it on an empty store."""
    try:
        ox.Store().query(query)
    except (SyntaxError, UnicodeEncodeError):
        return False
    except (OSError, RuntimeError):
        return True
    return True


@settings(max_examples=400, deadline=None, derandomize=True)
@given(PROLOGUE, st.lists(PIECES, max_size=8).map("".join), TAILS, st.lists(PIECES, max_size=3).map("".join))
def test_nothing_accepted_is_read_as_service(prologue: str, body: str, tail: str, rest: str) -> None:
    """A query in which the library reads SERVICE stops being one when the word is changed to another."""
    query = f"{prologue}SELECT * {{ {body}{tail}{rest}\n}}"
    try:
        checked = check(query)
    except QueryError:
        return
    if reads(checked.text):
        assert reads(re.sub("(?i)service", "zervice", checked.text))


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.one_of(st.text(), st.lists(PIECES).map("".join), st.binary().map(lambda b: b.decode("latin-1"))))
def test_the_guard_raises_query_errors_only(text: str) -> None:
    for query in (text, f"SELECT * {{ {text} }}"):
        try:
            assert check_query(query) in QueryForm
        except QueryError as error:
            assert error.code in ("BL-S01", "BL-S02", "BL-S03")


@settings(max_examples=200, deadline=None, derandomize=True)
@given(
    st.sampled_from(["SERVICE", "drop", "Insert", "LOAD", "from"]),
    st.text(alphabet="ab {}()<>#;.", max_size=20),
)
def test_a_forbidden_word_in_a_string_is_data(word: str, around: str) -> None:
    for quote in ("'", '"', "'''", '"""'):
        value = f"{around} {word} {around}"
        checked = check(f"SELECT ({quote}{value}{quote} AS ?x) {{ }}")
        assert [row["x"].value for row in ox.Store().query(checked.text)] == [value]
