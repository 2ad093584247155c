"""What a raw SPARQL query must pass before any parser sees it: a read-only, local, bounded query.

The library that runs queries crashes the whole process on deep nesting and opens sockets for SERVICE, so both
are refused here, on tokens, in time linear in the text. A word counts only where it is a word: not in a
string, an IRI, a comment, a variable or a prefixed name. Whether the grammar is met is not checked here: that
needs the parser, which runs in the child process (``kg.store.sandbox``).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from kg.errors import QueryError
from kg.names import PREFIXES
from kg.store.lexer import Plain, Token, fault, normalise, tokens

MAX_LENGTH = 20_000  # characters of the query
MAX_DEPTH = 60  # open brackets of all kinds; the parser crashes between 400 and 2,000
MAX_CLAUSES = 200  # UNION, OPTIONAL, FILTER and the like together
MAX_OPERATORS = 1_000  # signs of paths and expressions together

_OURS = PREFIXES["graph"].removesuffix("graph/")
_FORMS = ("SELECT", "ASK", "CONSTRUCT", "DESCRIBE")
_UPDATES = frozenset(("INSERT", "DELETE", "LOAD", "CLEAR", "DROP", "CREATE", "COPY", "MOVE", "ADD", "WITH", "USING", "INTO"))
_CLAUSES = frozenset(("UNION", "OPTIONAL", "MINUS", "GRAPH", "EXISTS", "FILTER", "BIND", "VALUES", "SELECT", "LATERAL"))
_OPERATORS = frozenset("/|^*+-!&=<>?")
_PAIRS = {")": "(", "]": "[", "}": "{"}
_LOCAL_HINT = "A query reads this catalogue only. For data elsewhere, save it to a file and load it."


class QueryForm(StrEnum):
    """The four forms of a SPARQL query."""

    SELECT = "select"
    ASK = "ask"
    CONSTRUCT = "construct"
    DESCRIBE = "describe"


@dataclass(frozen=True, slots=True)
class Checked:
    """A query that may run.

    ``text`` is what to run: the query with its escapes decoded, its comments blanked and the missing PREFIX
    declarations put in front, on the first line. ``names_graphs`` is True if it has FROM or FROM NAMED,
    ``ordered`` if the whole result has an ORDER BY.
    """

    form: QueryForm
    text: str
    names_graphs: bool
    ordered: bool
    plain: Plain
    added: int  # characters put in front

    def syntax_error(self, message: str) -> QueryError:
        """BL-S01 for the parser's own message, with line and column of the query as it was typed."""
        found = re.search(r"\bat (\d+):(\d+)", message)
        if not found:
            return QueryError("BL-S01", "the query is not SPARQL 1.1")
        line, column = int(found[1]), int(found[2])
        starts = [0, *(match.end() for match in re.finditer("\n", self.text))]
        place = starts[min(line, len(starts)) - 1] + column - 1 - self.added
        place = min(max(place, 0), len(self.plain.text))
        rest = self.plain.text[place : place + 30].split("\n")[0].strip()
        where = f"the query cannot be read at {rest!r}" if rest else "the query cannot be read at its end"
        # What the parser says it expected there comes from a branch it gave up, and would mislead.
        hint = "Look at this place and just before it: often a term, a full stop or a bracket is missing."
        return self.plain.fault("BL-S01", where, place, hint=hint)


def check_query(text: str) -> QueryForm:
    """The form of a query that may run. Raises QueryError as ``check`` does."""
    return check(text).form


def check(text: str) -> Checked:
    """Check a raw query and make it ready to run; nothing is run or opened, and nothing recurses.

    Raises QueryError: BL-S03 if it is too long, too deep or has too many clauses or operators; BL-S02 for an
    update, SERVICE, BASE, or FROM with a graph that is not ours; BL-S01 for what cannot be SPARQL (no form, a
    bracket that does not match, an undeclared prefix, an unclosed string).
    """
    if len(text) > MAX_LENGTH:
        raise QueryError("BL-S03", f"the query has {len(text):,} characters; {MAX_LENGTH:,} are the limit")
    for char, place in ((c, i) for i, c in enumerate(text) if c == "\0" or "\ud800" <= c <= "\udfff"):
        raise fault("BL-S01", f"the character {char!r} cannot stand in a query", text, place)
    plain = normalise(text)
    found = tokens(plain)
    _check_size(plain, found)
    declared = _declared(found)
    _check_words(plain, found, declared)
    form = _form(plain, found)
    _check_brackets(plain, found)
    missing = _missing_prefixes(plain, found, declared)
    names_graphs = _check_graphs(plain, found, declared)
    front = "".join(f"PREFIX {prefix}: <{PREFIXES[prefix]}> " for prefix in missing)
    return Checked(form, front + plain.text, names_graphs, _ordered(found), plain, len(front))


def _check_size(plain: Plain, found: list[Token]) -> None:
    depth = clauses = operators = 0
    for token in found:
        if token.kind == "punct":
            depth += (token.text in "([{") - (token.text in ")]}")
            operators += token.text in _OPERATORS
        elif token.kind == "word":
            clauses += token.text.upper() in _CLAUSES
        if depth > MAX_DEPTH:
            raise plain.fault("BL-S03", f"brackets are nested more than {MAX_DEPTH} deep", token.start)
        if clauses > MAX_CLAUSES:
            raise plain.fault("BL-S03", f"the query has more than {MAX_CLAUSES} clauses", token.start)
        if operators > MAX_OPERATORS:
            raise plain.fault("BL-S03", f"the query has more than {MAX_OPERATORS:,} operators", token.start)


def _check_brackets(plain: Plain, found: list[Token]) -> None:
    """Brackets match in kind and order; else the depth counted above need not be what the parser sees."""
    opened: list[Token] = []
    for token in found:
        if token.kind != "punct":
            continue
        if token.text in "([{":
            opened.append(token)
        elif token.text in _PAIRS and (not opened or opened.pop().text != _PAIRS[token.text]):
            raise plain.fault("BL-S01", f"this {token.text} closes nothing", token.start)
    if opened:
        raise plain.fault("BL-S01", f"this {opened[-1].text} is never closed", opened[-1].start)


def _declared(found: list[Token]) -> dict[str, list[str]]:
    """Prefix -> all IRIs it is declared as, for the PREFIX declarations of the query."""
    declared: dict[str, list[str]] = {}
    for first, label, iri in zip(found, found[1:], found[2:], strict=False):
        if first.kind == "word" and first.text.upper() == "PREFIX" and label.kind == "name" and iri.kind == "iri":
            declared.setdefault(label.text.removesuffix(":"), []).append(iri.text[1:-1])
    return declared


def _check_words(plain: Plain, found: list[Token], declared: dict[str, list[str]]) -> None:
    for token in found:
        word = token.text.upper()
        if token.kind == "word":
            if word in _UPDATES:
                message = f"{word} changes data; only reading is allowed"
                raise plain.fault("BL-S02", message, token.start, hint="To add data, use: boxlock add FILE")
            # Parsers take a word apart ("trueSERVICE"), so it is sought inside words too; no other word
            # contains it.
            if "SERVICE" in word:
                raise plain.fault("BL-S02", "SERVICE asks another computer", token.start, hint=_LOCAL_HINT)
            if word == "BASE":
                hint = "Write IRIs in full, or with a prefix."
                raise plain.fault("BL-S02", "BASE is not allowed here", token.start, hint=hint)
            if "FROM" in word and word != "FROM":
                raise plain.fault("BL-S01", "write a space before and after FROM", token.start)
        elif token.kind in ("name", "blank"):
            # "bl:a.b.SERVICE" is one name by the grammar, but parsers may end it at a dot and read on.
            if any("SERVICE" in part for part in word.split(".")[1:]):
                hint = "Write the IRI in full, in <...>."
                raise plain.fault("BL-S02", f"{token.text} can be read as SERVICE", token.start, hint=hint)
            if token.kind == "name":
                _check_label(plain, token, declared)


def _check_label(plain: Plain, token: Token, declared: dict[str, list[str]]) -> None:
    """Refuse a prefix that parsers take apart: "SERVICEbl:x" is to them also SERVICE bl:x."""
    label = token.text.partition(":")[0]
    for keyword, follower in (("service", "silent"), ("from", "named")):
        for match in re.finditer(keyword, label, re.IGNORECASE):
            rest = label[match.end() :]
            tail = rest[len(follower) :] if rest.lower().startswith(follower) else rest
            if {rest, tail} & (declared.keys() | PREFIXES.keys()):
                message = f"{token.text} can be read as {keyword.upper()} and a name"
                raise plain.fault("BL-S02", message, token.start, hint=f'Give the prefix "{label}:" another name.')


def _form(plain: Plain, found: list[Token]) -> QueryForm:
    words = (token for token in found if token.kind == "word" and token.text.upper() != "PREFIX")
    first = next(words, None)
    if first is None or first.text.upper() not in _FORMS:
        hint = "A query begins with SELECT, ASK, CONSTRUCT or DESCRIBE, after its PREFIX lines."
        if not found:
            raise QueryError("BL-S01", "the query is empty", hint=hint)
        place = found[0].start if first is None else first.start
        raise plain.fault("BL-S01", "this does not begin a query", place, hint=hint)
    return QueryForm(first.text.lower())


def _missing_prefixes(plain: Plain, found: list[Token], declared: dict[str, list[str]]) -> list[str]:
    """The standard prefixes that are used and not declared, sorted."""
    missing = set()
    for token in found:
        prefix = token.text.partition(":")[0]
        if token.kind != "name" or prefix in declared:
            continue
        if prefix not in PREFIXES:
            hint = f"Declare it: PREFIX {prefix}: <...>   Known without: {', '.join(sorted(PREFIXES))}."
            raise plain.fault("BL-S01", f'the prefix "{prefix}:" is not declared', token.start, hint=hint)
        missing.add(prefix)
    return sorted(missing)


def _check_graphs(plain: Plain, found: list[Token], declared: dict[str, list[str]]) -> bool:
    """True if the query names graphs with FROM; refuses every graph that is not ours."""
    named = False
    for graph in _graphs(found):
        named = True
        if graph.kind == "iri":
            iris = [graph.text[1:-1]]
        elif graph.kind == "name":
            prefix, _, local = graph.text.partition(":")
            iris = [base + local for base in declared.get(prefix, [PREFIXES.get(prefix, "")])]
        else:
            raise plain.fault("BL-S01", "after FROM stands the IRI of a graph", graph.start)
        if not all(iri.startswith(_OURS) for iri in iris):
            hint = f"{_LOCAL_HINT} Our graphs begin with {_OURS}"
            raise plain.fault("BL-S02", f"FROM {graph.text} is not a graph of this catalogue", graph.start, hint=hint)
    return named


def _graphs(found: list[Token]) -> Iterator[Token]:
    for at, token in enumerate(found):
        if token.kind == "word" and token.text.upper() == "FROM":
            rest = found[at + 1 : at + 3]
            if rest and rest[0].text.upper() == "NAMED":
                rest = rest[1:]
            yield rest[0] if rest else token


def _ordered(found: list[Token]) -> bool:
    """True if ORDER stands outside all braces, where it orders the whole result."""
    depth = 0
    for token in found:
        if token.kind == "punct":
            depth += (token.text == "{") - (token.text == "}")
        elif token.kind == "word" and token.text.upper() == "ORDER" and depth == 0:
            return True
    return False
