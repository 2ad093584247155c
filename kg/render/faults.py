"""Errors as blocks and as JSON: what went wrong, where, and what would work."""

from __future__ import annotations

from typing import Any

from kg.errors import BoxlockError, InputError, QuestionError
from kg.render.blocks import Block, Heading, Para, Verbatim, words
from kg.render.spans import MIN_WIDTH, clean, take, width_of

_INDENT = 4
_LONGEST = 600  # characters of a message that quotes what was typed
_MOST_FINDINGS = 40
_MOST = 8  # near words, or things that could stand there


def error_blocks(error: BoxlockError, width: int) -> list[Block]:
    """The message with its code, the marked question, near words, what could stand there, readings and the hint.

    ``width`` is that of the layout: the question is cut around the marked place so that it fits.
    """
    where = ""
    if isinstance(error, InputError) and error.file:
        file = _cut(error.file)
        where = f"{file}:{error.line}: " if error.line else f"{file}: "
    out: list[Block] = [Para((("error", where + _cut(error.message)), ("code", f" [{error.code}]")))]
    if isinstance(error, QuestionError):
        out += _question(error, width)
    if error.hint:
        out.append(Para(words(error.hint), close=True))
    if isinstance(error, InputError):
        out += _all_found(error)
    return out


def _all_found(error: InputError) -> list[Block]:
    """Each of many faults on lines of its own, the first ones in a text; JSON has all."""
    out: list[Block] = []
    for found in error.findings[:_MOST_FINDINGS]:
        where = f"{found.file}:{found.line}: " if found.line else f"{found.file}: "
        style = "error" if found.severity == "error" else ""
        out.append(Para(((style, where + _cut(found.text)), ("code", f" [{found.code}]")), 1, close=True))
        if found.fix:
            out.append(Para(words(found.fix), 2, close=True))
    if len(error.findings) > _MOST_FINDINGS:
        out.append(Para(words(f"and {len(error.findings) - _MOST_FINDINGS} more", "remark"), 1, close=True))
    return out


def _question(error: QuestionError, width: int) -> list[Block]:
    out: list[Block] = []
    if error.question.strip():
        text, marks = marked(error.question, error.span, max(width, MIN_WIDTH) - _INDENT)
        out.append(Verbatim((("", " " * _INDENT + text), ("mark", " " * _INDENT + marks)), close=True))
    if error.near:
        out.append(Para((("", "Did you mean: "), ("name", ", ".join(error.near[:_MOST]))), close=True))
    if error.expected:
        named = list(error.expected[:_MOST])
        more = len(error.expected) - len(named)
        text = "; ".join(named) + (f"; and {more} more" if more > 0 else "")
        out.append(Para((("", "What could stand there: "), ("name", text)), close=True))
    if error.readings:
        out.append(Heading("It can be read as"))
        size = len(str(len(error.readings)))
        out += [
            Para(words(reading, "query"), 1, (("number", f"{n:>{size}}"),), close=True)
            for n, reading in enumerate(error.readings, 1)
        ]
    return out


def _cut(message: str) -> str:
    return message if len(message) <= _LONGEST else f"{message[: _LONGEST // 2]} … {message[-_LONGEST // 2 :]}"


def marked(question: str, span: tuple[int, int], width: int) -> tuple[str, str]:
    """The question on one line of at most ``width`` columns and a line of ``^`` under the span.

    A long question is cut on either side of the span, with an ellipsis for what is left out. A span outside of the
    question is moved to its end; an empty span is marked by one ``^``.
    """
    text = clean(question)
    start = min(max(span[0], 0), len(text))
    end = min(max(span[1], start), len(text))
    before, inside, after = text[:start], text[start:end], text[end:]
    # The marked words come first, at most two thirds of the line; what stands before them gets half of the rest.
    if _wider(inside, width * 2 // 3):
        inside = take(inside, width * 2 // 3 - 1) + "…"
    left = width - max(width_of(inside), 1)
    ahead = take(after, max(left, 1)) if after else ""
    room = max(left - min(width_of(ahead), left // 2), 0)
    before = _tail(before, room)
    left -= width_of(before)
    if _wider(after, left):
        after = take(after, left - 1) + "…" if left > 1 else ""
    line = before + inside + after
    return line.rstrip(), " " * width_of(before) + "^" * max(width_of(inside), 1)


def _wider(text: str, columns: int) -> bool:
    return len(take(text, columns)) < len(text) or width_of(text[: columns + 1]) > columns


def _tail(text: str, columns: int) -> str:
    """The end of a text that fits, after an ellipsis if something is left out."""
    kept: list[str] = []
    used = 0
    for char in reversed(text[-4 * columns - 4 :] if columns else ""):
        used += width_of(char)
        if used > columns:
            break
        kept.append(char)
    if len(kept) == len(text):
        return text
    while kept and used > columns - 1:
        used = sum(map(width_of, kept[:-1]))
        kept.pop()
    return "…" + "".join(reversed(kept)) if columns else ""


def error_json(error: BoxlockError) -> dict[str, Any]:
    """The keys of the contract, for every error; those that do not apply are empty. A file and a line where known."""
    of_question = error if isinstance(error, QuestionError) else QuestionError(error.code, error.message)
    out: dict[str, Any] = {
        "code": error.code,
        "message": error.message,
        "span": list(of_question.span),
        "expected": list(of_question.expected),
        "near": list(of_question.near),
        "readings": list(of_question.readings),
        "hint": error.hint,
    }
    if isinstance(error, InputError) and error.file:
        out |= {"file": error.file, "line": error.line}
    if isinstance(error, InputError) and error.findings:
        out["findings"] = [f.to_json() for f in error.findings]
    return out
