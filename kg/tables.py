"""The data files beside the graph, checked: sterilisation cycles, rules of reprocessing, notes on care and on reasons.

What they hold is asked for by name, so a slip here would show in an answer; ``faults`` finds it in ``boxlock check``.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from kg.model import Finding
from kg.vocabulary import Vocabulary

CYCLES, RULES, CARE, REASONS = "cycles.toml", "reprocessing.toml", "care.toml", "reasons.toml"
_SPANS = ("celsius", "fahrenheit", "minutes", "drying", "aeration_hours")
_CYCLE = {"method", "load", "steriliser", "source", "least", "conditions", "used", "second_hand", *_SPANS}
_RULE = {"step", "any", "lacking", "text", "source", "ends", "open", "varies"}
_NOTE = {"about", "step", "text", "source"}
_VERDICT = {"asks", "to", "with", "says", "needs", "unless", "open"}
_TOPIC = {"say", "kind", "sure", "words", "also", "held", "any", "weak", "half", "late", "needs", "own", "plain", "listed"}
_REASON = {"say", "asks", "about", "also", "no", "either", "first", "known", "unless", "text", "source", "bears"}
_KINDS = ("thing", "agent", "state", "step")


def faults(root: Path, tables: Mapping[str, Any], vocabulary: Vocabulary, sources: Collection[str]) -> list[Finding]:
    """What is wrong with the data files at ``root``, with line and remedy; empty if all is well or there are none.

    ``tables`` is what ``load.words`` gives; ``sources`` are the short names of all declared sources.
    """
    known = {*sources, *(t.name for t in vocabulary.by_role("source"))}
    out: list[Finding] = []
    for file, heading, rows, check in (
        (CYCLES, "[[cycle]]", tables.get("cycle", ()), _cycle),
        (RULES, "[[reprocessing.rule]]", tables.get("reprocessing", {}).get("rule", ()), _rule),
        (CARE, "[[care.rule]]", tables.get("care", {}).get("rule", ()), _note),
    ):
        lines = _lines(root / file, heading)
        for number, row in enumerate(rows):
            line = lines[number] if number < len(lines) else 0
            for text in check(row, tables, vocabulary, known):
                out.append(Finding("error", file, line, "BL-I03", text, f"The head of {file} says what a block may hold."))
    for name, topic in tables.get("care", {}).get("topic", {}).items():
        line = next(iter(_lines(root / CARE, f"[care.topic.{name}]")), 0)
        for text in _topic(topic, tables, vocabulary):
            out.append(Finding("error", CARE, line, "BL-I03", text, f"The head of {CARE} says what a block may hold."))
    for number, verdict in enumerate(tables.get("care", {}).get("verdict", ())):
        line = _lines(root / CARE, "[[care.verdict]]")[number]
        for text in _verdict(verdict, tables):
            out.append(Finding("error", CARE, line, "BL-I03", text, f"The head of {CARE} says what a block may hold."))
    for name, note in tables.get("reasons", {}).get("note", {}).items():
        line = next(iter(_lines(root / REASONS, f"[reasons.note.{name}]")), 0)
        for text in _reason(note, tables, known):
            out.append(Finding("error", REASONS, line, "BL-I03", text, f"The head of {REASONS} says what a block may hold."))
    for name, topic in tables.get("reasons", {}).get("topic", {}).items():
        line = next(iter(_lines(root / REASONS, f"[reasons.topic.{name}]")), 0)
        for text in _reason_topic(topic):
            out.append(Finding("error", REASONS, line, "BL-I03", text, f"The head of {REASONS} says what a block may hold."))
    return out


def _lines(path: Path, heading: str) -> list[int]:
    """The lines on which blocks with this heading begin, counted from 1."""
    try:
        text = path.read_text(encoding="utf-8")
    except OSError:
        return []
    return [n for n, line in enumerate(text.splitlines(), 1) if line.strip() == heading]


def _cycle(
    row: Mapping[str, Any], tables: Mapping[str, Any], vocabulary: Vocabulary, sources: Collection[str]
) -> Iterator[str]:
    words = tables.get("cycles", {})
    yield from _keys(row, _CYCLE, ("method", "load", "source"))
    method = row.get("method", "")
    if method and (method not in vocabulary.terms or vocabulary.terms[method].feature != words.get("feature")):
        yield f"{method} is no value of {words.get('feature')}"
    for key in ("load", "steriliser"):
        if row.get(key) and row[key] not in words.get(f"{key}s", {}):
            yield f'the {key} "{row[key]}" has no words in the word file, [cycles.{key}s]'
    yield from _source([row.get("source", "")], sources)
    for key in _SPANS:
        span = row.get(key, [])
        numbers = isinstance(span, list) and all(isinstance(n, int | float) and not isinstance(n, bool) and n > 0 for n in span)
        if not numbers or len(span) > 2 or (len(span) == 2 and span[0] >= span[1]) or (key in row and not span):
            yield f"{key} must be [one number] or [low, high], above 0"
    if row.get("used", True) and not row.get("minutes"):
        yield "a cycle that is used has minutes"


def _rule(row: Mapping[str, Any], _: Mapping[str, Any], vocabulary: Vocabulary, sources: Collection[str]) -> Iterator[str]:
    yield from _keys(row, _RULE, ("step", "text", "source"))
    yield from _source(row.get("source", ()), sources)
    if row.get("lacking") and row["lacking"] not in vocabulary.features:
        yield f"{row['lacking']} is no feature"
    yield from _conditions(row.get("any", ()), vocabulary)


def _note(row: Mapping[str, Any], tables: Mapping[str, Any], _: Vocabulary, sources: Collection[str]) -> Iterator[str]:
    yield from _keys(row, _NOTE, ("about", "step", "text", "source"))
    yield from _source(row.get("source", ()), sources)
    topics = tables.get("care", {}).get("topic", {})
    for name in row.get("about", ()):
        if name not in topics:
            yield f'"{name}" is no topic'


def _verdict(verdict: Mapping[str, Any], tables: Mapping[str, Any]) -> Iterator[str]:
    yield from _keys(verdict, _VERDICT, ("asks", "to", "says"))
    care = tables["care"]
    for name in (t for each in (*verdict.get("to", ()), *verdict.get("with", ())) for t in each.split("|")):
        if name not in care.get("topic", {}):
            yield f'"{name}" is no topic'
    for kind in verdict.get("asks", ()):
        if kind not in care.get("asking", {}):
            yield f'"{kind}" is no kind of question'
    if verdict.get("says") not in care.get("told", {}):
        yield "says must be yes or no"


def _topic(topic: Mapping[str, Any], tables: Mapping[str, Any], vocabulary: Vocabulary) -> Iterator[str]:
    yield from _keys(topic, _TOPIC, ("say", "kind"))
    topics = tables["care"]["topic"]
    if topic.get("kind") not in _KINDS:
        yield f"kind must be one of {', '.join(_KINDS)}"
    if not (topic.get("sure") or topic.get("words")):
        yield "a topic has phrases: sure, words or both"
    if sum(other.get("say") == topic.get("say") for other in topics.values()) > 1:
        yield f'another topic is read back as "{topic.get("say")}" too'
    for name in (*topic.get("also", ()), *([topic["needs"]] if "needs" in topic else ())):
        if name not in topics:
            yield f'"{name}" is no topic'
    yield from _conditions(topic.get("held", ()), vocabulary)


def _reason(note: Mapping[str, Any], tables: Mapping[str, Any], sources: Collection[str]) -> Iterator[str]:
    yield from _keys(note, _REASON, ("say", "about", "text", "source"))
    yield from _source(note.get("source", ()), sources)
    words = tables["reasons"]
    named = [t for group in note.get("about", ()) for t in group.split("|")]
    for name in (*named, *note.get("also", ()), *note.get("unless", ()), *([note["first"]] if "first" in note else ())):
        if name not in words.get("topic", {}):
            yield f'"{name}" is no topic'
    for kind in note.get("asks", ()):
        if kind not in words.get("asks", {}):
            yield f'"{kind}" is no kind of question'
    if sum(other.get("say") == note.get("say") for other in words["note"].values()) > 1:
        yield f'another note is read back as "{note.get("say")}" too'


def _reason_topic(topic: Mapping[str, Any]) -> Iterator[str]:
    yield from _keys(topic, {"words", "terms", "holds"}, ())
    if not topic:
        yield "a topic has words or terms"


def _conditions(conditions: Iterable[Mapping[str, Any]], vocabulary: Vocabulary) -> Iterator[str]:
    parts = {t.name for t in vocabulary.by_role("part")}
    for condition in conditions:
        if set(condition) == {"part"}:
            if condition["part"] not in parts:
                yield f"{condition['part']} is no part"
        elif set(condition) == {"feature", "value"}:
            if condition["feature"] not in vocabulary.features:
                yield f"{condition['feature']} is no feature"
            elif condition["value"] not in vocabulary.values_of(condition["feature"]):
                yield f"{condition['value']} is no value of {condition['feature']}"
        else:
            yield "a condition is { part = ... } or { feature = ..., value = ... }"


def _keys(row: Mapping[str, Any], allowed: Collection[str], needed: Collection[str]) -> Iterator[str]:
    for key in sorted(set(row) - set(allowed)):
        yield f'"{key}" means nothing here'
    for key in needed:
        if not row.get(key):
            yield f"no {key} is given"


def _source(named: Any, sources: Collection[str]) -> Iterator[str]:
    for source in named if isinstance(named, list) else [named]:
        if source and source not in sources:
            yield f"{source} is not declared as a source"
