"""SPARQL 1.1 Query Results JSON Format -> rows or a truth value, every piece checked: the text comes from elsewhere."""

from __future__ import annotations

import json
from typing import Any

from kg.errors import QueryError
from kg.names import PREFIXES
from kg.store.base import Cell, CellKind, Rows

MEDIA_TYPE = "application/sparql-results+json"
_STRING = PREFIXES["xsd"] + "string"
_DECIMAL = PREFIXES["xsd"] + "decimal"
_LANG_STRING = PREFIXES["rdf"] + "langString"
_KINDS: dict[str, CellKind] = {"uri": "iri", "literal": "literal", "typed-literal": "literal", "bnode": "blank"}
"""``typed-literal`` is what older servers say."""


class _Row(dict[str, Cell]):
    """A row of which a caller may ask for what the server left out."""

    def __init__(self, name: str) -> None:
        self._name = name

    def __missing__(self, variable: str) -> Cell:
        raise _unusable(self._name, f"a row lacks ?{variable}")


def read_results(data: bytes, name: str) -> Rows | bool:
    """The outcome of a SELECT or ASK query; ``name`` says in messages where it comes from.

    Blank nodes are renamed b0, b1, ... by first appearance. Raises QueryError (BL-S10) for whatever is not of the format.
    """
    try:
        found = json.loads(data)
    except (ValueError, RecursionError) as fault:  # also of text that is not UTF-8
        raise _unusable(name, "it is not JSON, or was cut off") from fault
    if not isinstance(found, dict):
        raise _unusable(name, "it is no object")
    if isinstance(found.get("boolean"), bool):
        return found["boolean"]
    head, results = found.get("head"), found.get("results")
    names = head.get("vars") if isinstance(head, dict) else None
    if not isinstance(names, list) or not all(isinstance(n, str) for n in names):
        raise _unusable(name, "its head lists no variables")
    bindings = results.get("bindings") if isinstance(results, dict) else None
    if not isinstance(bindings, list):
        raise _unusable(name, "it has neither rows nor a truth value")
    return Rows(tuple(names), _rows(bindings, names, name))


def _rows(bindings: list[Any], names: list[str], name: str) -> list[dict[str, Cell]]:
    known: dict[str, Cell] = {}
    labels: dict[str, str] = {}
    rows: list[dict[str, Cell]] = []
    for binding in bindings:
        if not isinstance(binding, dict) or not binding.keys() <= set(names):
            raise _unusable(name, "a row has variables that the query has not")
        row = _Row(name)
        for variable in names:  # in the order of the query, whatever the order in the text
            term = binding.get(variable)
            if term is None:
                continue
            try:
                kind, value = _KINDS[term["type"]], term["value"]
            except (KeyError, TypeError):
                raise _unusable(name, f"a value of ?{variable} has no known type") from None
            if not isinstance(value, str):
                raise _unusable(name, f"a value of ?{variable} is no text")
            if kind == "iri":
                row[variable] = known.get(value) or known.setdefault(value, Cell("iri", value))
            elif kind == "blank":
                row[variable] = Cell("blank", labels.setdefault(value, f"b{len(labels)}"))
            else:
                row[variable] = _literal(term, value, name)
        rows.append(row)
    return rows


def _literal(term: dict[str, Any], value: str, name: str) -> Cell:
    lang = term.get("xml:lang", "")
    datatype = term.get("datatype") or (_LANG_STRING if lang else _STRING)
    if not isinstance(lang, str) or not isinstance(datatype, str):
        raise _unusable(name, "a literal's language or datatype is no text")
    if datatype == _DECIMAL and "." in value:
        value = value.rstrip("0").rstrip(".") or "0"  # as the embedded store says it; servers differ: 165.0 and 165
    return Cell("literal", value, datatype, lang.lower())


def _unusable(name: str, why: str) -> QueryError:
    hint = "Check that the address is that of a SPARQL 1.1 query service; else ask whoever runs the server."
    return QueryError("BL-S10", f"the answer of {name} cannot be used: {why}", hint=hint)
