"""Blocks -> HTML, for a page or a notebook. Every text is cleaned and escaped; nothing is ever markup but what is made here."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape as _escape

from kg.render.blocks import Block, Heading, Para, Spans, Table, Verbatim
from kg.render.spans import clean

_CLASSES = {"name": "bl-name", "source": "bl-source", "remark": "bl-remark", "dispute": "bl-dispute", "caution": "bl-caution"}
_NOTEBOOK = (
    ".bl{line-height:1.45;max-width:62em}.bl table{border-collapse:collapse;margin:.4em 0}"
    ".bl th,.bl td{text-align:left;vertical-align:top;padding:.2em .8em .2em 0;border-bottom:1px solid #8884}"
    ".bl p{margin:.3em 0}.bl .bl-name{font-weight:600}.bl .bl-source,.bl .bl-remark{opacity:.75}"
    ".bl .bl-caution{font-style:italic}"
    ".bl .bl-in1{margin-left:1.4em}.bl .bl-in2{margin-left:2.8em}.bl .bl-in3{margin-left:4.2em}"
)


def text(value: str) -> str:
    """A text as HTML, safe in content and in a quoted attribute; what steers or reorders a line is replaced."""
    return _escape(clean(value), quote=True)


def to_html(blocks: Iterable[Block], level: int = 3) -> str:
    """Blocks as HTML, headings at ``level``; no blocks give the empty text."""
    out: list[str] = []
    for block in blocks:
        match block:
            case Heading(words, _):
                out.append(f"<h{level}>{text(words)}</h{level}>")
            case Para(spans, indent, lead):
                inside = (_spans(lead) + " " if lead else "") + _spans(spans)
                out.append(f'<p class="bl-in{min(indent, 3)}">{inside}</p>' if indent else f"<p>{inside}</p>")
            case Table():
                out.append(_table(block))
            case Verbatim(lines):
                out.append("<pre>" + "\n".join(text(words) for _, words in lines) + "</pre>")
    return "\n".join(out)


def answer_html(blocks: Iterable[Block]) -> str:
    """Blocks with a style of their own, as a notebook shows them."""
    return f'<div class="bl"><style>{_NOTEBOOK}</style>\n{to_html(blocks, 4)}\n</div>'


def _table(block: Table) -> str:
    if not block.rows:
        return ""
    head = ""
    if any(block.header):
        head = "<thead><tr>" + "".join(f'<th scope="col">{text(h)}</th>' for h in block.header) + "</tr></thead>"
    rows = []
    for row in block.rows:
        first, *rest = (_spans(cell) for cell in row)
        rows.append(f'<tr><th scope="row">{first}</th>' + "".join(f"<td>{cell}</td>" for cell in rest) + "</tr>")
    table = f"<table>{head}<tbody>{''.join(rows)}</tbody></table>"
    return f'<div class="bl-wide" tabindex="0" role="region" aria-label="Table">{table}</div>'


def _spans(spans: Spans) -> str:
    out = []
    for style, words in spans:
        kind = _CLASSES.get(style)
        out.append(f'<span class="{kind}">{text(words)}</span>' if kind else text(words))
    return "".join(out)
