"""The table form of evidence: one row a statement, to and from the Turtle of an evidence graph, without loss.

Columns: ``source, subject, mode, feature, value``. Names may leave out their prefix: ``src:`` for sources, ``bl:`` for the
rest. A length value is millimetres: ``140`` or ``127..177.8``.
"""

from __future__ import annotations

import json
from collections.abc import Iterable

from kg import names
from kg.evidence.statements import LENGTH, PREFIX_OF_MODE, SOURCE_FIELDS, Source, Statement, format_span, parse_span

COLUMNS = ("source", "subject", "mode", "feature", "value")
HEADER = names.turtle_head("bl", "kind", "src", "some", "not", "rdfs", "dcterms", "xsd")


def from_row(row: dict[str, str]) -> Statement:
    """One row -> one statement. Raises ValueError with a plain message for a malformed row."""
    cells = {c: (row.get(c) or "").strip() for c in COLUMNS}
    missing = [c for c in COLUMNS if not cells[c]]
    if missing:
        raise ValueError(f"no {missing[0]} given")
    mode = cells["mode"]
    if mode not in PREFIX_OF_MODE:
        raise ValueError(f"mode is {mode!r}; it must be one of {', '.join(PREFIX_OF_MODE)}")
    feature = _full(cells["feature"], "bl")
    value = cells["value"]
    if feature == LENGTH:
        parse_span(value)
        if mode != "is":
            raise ValueError("a length has the mode 'is'")
    else:
        value = _full(value, "bl")
    return Statement(_full(cells["subject"], "bl"), feature, mode, value, _full(cells["source"], "src"))


def to_row(statement: Statement) -> dict[str, str]:
    """The reverse of ``from_row``, with the usual prefixes left out."""
    return {
        "source": statement.source.removeprefix("src:"),
        "subject": statement.subject.removeprefix("bl:"),
        "mode": statement.mode,
        "feature": statement.feature.removeprefix("bl:"),
        "value": statement.value.removeprefix("bl:"),
    }


def to_turtle(source: Source, statements: Iterable[Statement]) -> str:
    """The text of one evidence file: the source, then its statements, sorted, one value a line."""
    lines = [HEADER, f"{source.name} a bl:Source ;"]
    body = []
    for prop, field in SOURCE_FIELDS.items():
        value = getattr(source, field)
        if value:
            body.append(f"    {prop} " + (f"<{_iri(value)}>" if field == "url" else json.dumps(value, ensure_ascii=False)))
    lines.append(" ;\n".join(body) + " .\n")
    by_subject: dict[str, list[str]] = {}
    for s in _one_span_each(statements):
        rows = by_subject.setdefault(s.subject, [])
        if s.feature == LENGTH:
            low, high = parse_span(s.value)
            rows.append(f"    {names.LENGTH_MIN} {_decimal(low)}")
            rows.append(f"    {names.LENGTH_MAX} {_decimal(high)}")
        else:
            rows.append(f"    {PREFIX_OF_MODE[s.mode]}:{s.feature.split(':', 1)[1]} {s.value}")
    for subject, rows in by_subject.items():
        lines.append(subject + "\n" + " ;\n".join(rows) + " .\n")
    return "\n".join(lines)


def _one_span_each(statements: Iterable[Statement]) -> list[Statement]:
    """Sorted, with several lengths of one subject joined into their span: one source gives the sizes that are made."""
    spans: dict[str, list[tuple[float, float]]] = {}
    rest: list[Statement] = []
    source = ""
    for s in statements:
        source = s.source
        if s.feature == LENGTH:
            spans.setdefault(s.subject, []).append(parse_span(s.value))
        else:
            rest.append(s)
    for subject, ends in spans.items():
        value = format_span(min(low for low, _ in ends), max(high for _, high in ends))
        rest.append(Statement(subject, LENGTH, "is", value, source))
    return sorted(rest)


def _full(name: str, prefix: str) -> str:
    short = name if ":" in name else f"{prefix}:{name}"
    if not names.is_short(short):
        raise ValueError(f"{name!r} is not a name of a term")
    return short


def _decimal(number: float) -> str:
    text = f"{number:g}"
    return text if "." in text else text + ".0"


def _iri(url: str) -> str:
    return "".join(c if c not in '<>"{}|\\^` ' and ord(c) > 32 else f"%{ord(c):02X}" for c in url)
