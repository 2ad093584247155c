"""Answers, raw results and findings as JSON and CSV. Both are complete: nothing is shortened as in a text.

JSON keeps the keys of the contract. In CSV a cell that a spreadsheet would run as a formula gets a leading apostrophe.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from kg.model import Answer, Comparison, Cycle, Difference, Disputed, Finding, Placement
from kg.names import expand
from kg.render.english import CAUTION

if TYPE_CHECKING:
    from kg.store.sandbox import RawResult

_FORMULA = ("=", "+", "-", "@", "\t", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""What a spreadsheet takes for the begin of a formula, in full width too (OWASP, CSV injection)."""
_STEERING = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ud800-\udfff]")
"""What steers a terminal or reorders a line; JSON escapes it, so that nothing is lost, CSV cannot."""


# --- JSON -----------------------------------------------------------------------------------------------------------
def json_text(value: Any, *, ascii_only: bool = False, lines: bool = False) -> str:
    """JSON text that ends in a line end; ``lines``: all on one line.

    Lone surrogates are always escaped, and whatever could steer the terminal that it may be printed on.
    """
    text = json.dumps(value, ensure_ascii=ascii_only, indent=None if lines else 2)
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        text = json.dumps(value, ensure_ascii=True, indent=None if lines else 2)
    return _STEERING.sub(lambda found: f"\\u{ord(found[0]):04x}", text) + "\n"


def answer_json(answer: Answer) -> dict[str, Any]:
    """``Answer.to_json`` with the standing caution among the notes."""
    out = answer.to_json()
    if CAUTION not in out["notes"]:
        out["notes"] = [*out["notes"], CAUTION]
    return out


def raw_json(result: RawResult) -> dict[str, Any]:
    """``form``, ``truncated``, and ``variables`` and ``rows``, or ``answer``, or ``triples`` (N-Triples)."""
    out: dict[str, Any] = {"form": str(result.form), "truncated": result.truncated}
    if result.form == "select":
        rows = [{v: _cell_json(row[v]) for v in result.variables if v in row} for row in result.rows]
        return out | {"variables": list(result.variables), "rows": rows}
    if result.form == "ask":
        return out | {"answer": result.text == "true"}
    return out | {"triples": result.text}


def _cell_json(cell) -> dict[str, str]:
    out = {"kind": cell.kind, "value": cell.value}
    return out | {k: v for k, v in (("datatype", cell.datatype), ("lang", cell.lang)) if v}


def findings_json(findings: Sequence[Finding], consistent: bool | None) -> dict[str, Any]:
    return {"findings": [f.to_json() for f in findings], "consistent": consistent}


# --- CSV ------------------------------------------------------------------------------------------------------------
def csv_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A header and rows with Unix line ends; formula signs at the start of a cell are defused."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([_cell(c) for c in header])
    writer.writerows([_cell(c) for c in row] for row in rows)
    return out.getvalue()


def _cell(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    # A carriage return alone would end the row for some readers.
    text = _STEERING.sub("\ufffd", str(value).replace("\r\n", "\n").replace("\r", "\n"))
    return f"'{text}" if text.startswith(_FORMULA) else text


Tabled = tuple[Sequence[str], Sequence[Sequence[object]]]
"""A header, and rows of as many cells."""


def answer_csv(answer: Answer) -> str:
    """One row for each match, value, group, difference, reason or dispute, with a header that fits the kind."""
    return "".join(csv_text(header, rows) for header, rows in answer_tables(answer))


def answer_tables(answer: Answer) -> list[Tabled]:
    """The tables of an answer: one, or for a new category its place and then its members. Never empty."""
    from kg.render.describe import bench_csv  # not needed for JSON

    bench = bench_csv(answer)
    if bench is not None:
        return [bench]
    if answer.comparison is not None:
        return [_comparison(answer.comparison)]
    if answer.argument is not None:
        return [_argument(answer)]
    if answer.cycles is not None:
        return [_cycles(answer.cycles)]
    if answer.care is not None:
        lines = [
            (c.step, c.text, c.because, c.status, _join(c.fact_sources), _join(c.applies_to), _join(c.sources))
            for c in answer.care
        ]
        return [(("step", "text", "because", "status", "fact_sources", "applies_to", "sources"), lines)]
    if answer.placement is not None:
        return [_placement(answer.placement), *([] if answer.placement.impossible else [_patterns(answer)])]
    if answer.kind == "disputes":
        disputes = [
            (d.label, expand(d.name), d.feature, d.adopted.value, _join(d.adopted.sources), q.value, _join(q.sources))
            for d in answer.disputed
            for q in d.also_said
        ]
        return [(("label", "iri", "feature", "adopted", "adopted_sources", "also_said", "sources"), disputes)]
    if answer.groups:
        groups = [(g.value, g.count, _join(g.labels)) for g in answer.groups]
        return [(("value", "count", "labels"), groups)]
    if answer.values is not None:
        values = [(v.feature, v.label, v.status, v.subject, _join(v.sources)) for v in answer.values]
        return [(("feature", "value", "status", "said_of", "sources"), values)]
    return [_patterns(answer)]


def _patterns(answer: Answer) -> Tabled:
    rows: list[tuple[object, ...]] = [
        (
            "match",
            m.label,
            expand(m.name),
            m.inferred,
            m.basis,
            expand(m.variant_of) if m.variant_of else "",
            "a source says otherwise" if m.contested else "",
        )
        for m in answer.matches
    ]
    rows += [("disputed", d.label, expand(d.name), "", "", "", _sides(d)) for d in answer.disputed]
    rows += [("could match", p.label, expand(p.name), "", "", "", f"{_join(p.missing)} ({p.reason})") for p in answer.possible]
    return ("result", "label", "iri", "inferred", "basis", "variant_of", "reason"), rows


def _sides(disputed: Disputed) -> str:
    adopted = disputed.adopted.value or "none adopted"
    return f"{disputed.feature}: {adopted}; also said: {_join(q.value for q in disputed.also_said)}"


def _comparison(comparison: Comparison) -> Tabled:
    def rows(kind: str, lines: Iterable[Difference]) -> Iterable[Sequence[object]]:
        for d in lines:
            said = dict(d.values)
            yield (kind, d.part, d.feature, d.decides, *(_join(said.get(s, ())) for s in comparison.subjects))

    every = [
        *rows("difference", (*comparison.differences, *comparison.overlapping)),
        *rows("shared", comparison.shared),
        *rows("not recorded", comparison.not_recorded),
    ]
    return ("kind", "part", "feature", "decides", *comparison.subjects), every


def _placement(placement: Placement) -> Tabled:
    kinds = ("equivalent", "broader", "narrower", "disjoint")
    rows: list[tuple[object, ...]] = [(kind, label) for kind in kinds for label in getattr(placement, kind)]
    rows += [("impossible", placement.impossible)] if placement.impossible else []
    rows += [("members", text) for text in placement.by_members]
    return ("place", "category"), [*rows, ("owl", placement.turtle)]


def _argument(answer: Answer) -> Tabled:
    argument = answer.argument
    assert argument is not None
    holds = argument.holds if isinstance(argument.holds, str) else "yes" if argument.holds else "no"
    rows: list[tuple[object, ...]] = [
        (holds, "reason", way, n, r.text, r.disputed, _join(r.sources))
        for way, reasons in enumerate(argument.justifications, 1)
        for n, r in enumerate(reasons, 1)
    ]
    rows += [(holds, "missing", "", n, text, "", "") for n, text in enumerate(argument.missing, 1)]
    return ("holds", "kind", "way", "step", "text", "disputed", "sources"), rows or [(holds, *[""] * 6)]


def _cycles(cycles: Iterable[Cycle]) -> Tabled:
    rows = [
        (
            c.method,
            c.load,
            c.steriliser,
            _ends(c.celsius),
            _ends(c.fahrenheit),
            _ends(c.minutes),
            "at least" if c.least else "",
            _ends(c.drying),
            _ends(c.aeration_hours),
            _join(c.conditions),
            "" if c.used else "not applicable",
            "seen at second hand" if c.second_hand else "",
            c.source,
        )
        for c in cycles
    ]
    header = ("method", "load", "steriliser", "celsius", "fahrenheit", "minutes", "minimum", "drying_minutes", "aeration_hours")
    return (*header, "conditions", "used", "seen", "source"), rows


def _ends(numbers: Iterable[float]) -> str:
    return "..".join(f"{n:g}" for n in numbers)


def _join(items: Iterable[str]) -> str:
    return "; ".join(items)


def raw_csv(result: RawResult) -> str:
    """SELECT with full IRIs; ASK as one cell; triples as lines of N-Triples, which keep the kinds of terms."""
    if result.form == "select":
        rows = [[row[v].value if v in row else "" for v in result.variables] for row in result.rows]
        return csv_text(result.variables, rows)
    if result.form == "ask":
        return csv_text(("answer",), [(result.text == "true",)])
    return csv_text(("triple",), [(line,) for line in result.text.splitlines()])


def findings_csv(findings: Sequence[Finding]) -> str:
    rows = [(f.severity, f.file, f.line, f.code, f.text, f.fix) for f in findings]
    return csv_text(("severity", "file", "line", "code", "text", "fix"), rows)
