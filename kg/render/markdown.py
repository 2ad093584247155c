"""Blocks -> Markdown. Text is escaped, so that no label can become markup."""

from __future__ import annotations

import re
from collections.abc import Iterable

from kg.render.blocks import Block, Heading, Para, Spans, Table, Verbatim
from kg.render.spans import clean

_MARKUP = re.compile(r"([\\`*_{}\[\]<>#|~])")


def to_markdown(blocks: Iterable[Block]) -> str:
    """Markdown that ends in a line end; no blocks give the empty text."""
    out: list[str] = []
    for block in blocks:
        match block:
            case Heading(text):
                out.append(f"### {escape(text)}\n")
            case Para(spans, indent, lead):
                text = (_text(lead) + " " if lead else "") + _text(spans)
                out.append(f"{'  ' * (indent - 1)}- {text}\n" if indent else f"{text}\n")
            case Table():
                out.append(_table(block))
            case Verbatim(lines):
                texts = [clean(text) for _, text in lines]
                fence = "`" * (3 + max((len(m) for text in texts for m in re.findall(r"`+", text)), default=0))
                out.append("\n".join([fence, *texts, fence]) + "\n")
    return _joined(out)


def _joined(texts: list[str]) -> str:
    """Blank lines between blocks, none between the items of a list."""
    out = ""
    for i, text in enumerate(texts):
        if i and not (text.lstrip().startswith("- ") and texts[i - 1].lstrip().startswith("- ")):
            out += "\n"
        out += text
    return out


def _table(block: Table) -> str:
    if not block.rows:
        return ""
    columns = len(block.rows[0])
    header = block.header or ("",) * columns
    lines = [header_row(header), "|" + " --- |" * columns]
    lines += ["| " + " | ".join(_text(cell) for cell in row) + " |" for row in block.rows]
    return "\n".join(lines) + "\n"


def header_row(header: Iterable[str]) -> str:
    return "| " + " | ".join(escape(h) for h in header) + " |"


def _text(spans: Spans) -> str:
    parts = []
    for style, text in spans:
        escaped = escape(text)
        bare = escaped.strip()
        parts.append(escaped.replace(bare, f"**{bare}**") if style == "name" and bare else escaped)
    return "".join(parts)


def escape(text: str) -> str:
    """Text that no reader of Markdown takes for markup; control characters are replaced."""
    return _MARKUP.sub(r"\\\1", clean(text))
