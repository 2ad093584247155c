"""Blocks -> HTML: a page that is read from disk, without network or scripts, and prints well in black and white."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from kg.render.blocks import Block, Heading, Para, Spans, Table, Verbatim
from kg.render.html import text as text_html

_QUIET = ("remark", "source")
_STYLE = """
:root { color-scheme: light dark; --ink: #1d2327; --paper: #fcfdfd; --line: #c3ced3; --quiet: #56646b; --head: #0f4a5c; }
* { box-sizing: border-box }
body { margin: 0 auto; padding: 1.5rem 1.2rem 4rem; max-width: 78rem; background: var(--paper); color: var(--ink);
  font: 1rem/1.5 system-ui, "Segoe UI", "Noto Sans", sans-serif }
h1 { font-size: 1.6rem; line-height: 1.25; margin: 0 0 .6rem; color: var(--head) }
h2 { font-size: 1.15rem; margin: 2.2rem 0 .5rem; color: var(--head); break-after: avoid }
p { margin: .4rem 0; max-width: 75ch; overflow-wrap: anywhere } .quiet { color: var(--quiet) }
ul { margin: .3rem 0; padding-left: 1.2rem; max-width: 85ch } li { margin: .15rem 0 }
.wide { overflow-x: auto } table { border-collapse: collapse; font-size: .95rem }
th, td { border-bottom: 1px solid var(--line); padding: .35rem .8rem .35rem 0; text-align: left; vertical-align: top }
thead th { color: var(--quiet); font-weight: 600 } tbody th { font-weight: 600 } tr { break-inside: avoid }
@media screen and (prefers-color-scheme: dark) { :root { --ink: #e4ebee; --paper: #12181b; --line: #3c4a50; --quiet: #9fb0b8;
  --head: #8fd0e3 } }
@media print { body { max-width: none; padding: 0; font-size: 9.5pt; color: #000; background: #fff }
  h1, h2 { color: #000 } .wide { overflow: visible } }
"""


def to_page(blocks: Sequence[Block], title: str) -> str:
    """A whole page in HTML 5 that needs nothing beside itself."""
    head = f"{page_head(title, _STYLE)}<header>\n<h1>{text_html(title)}</h1>\n</header>\n<main>\n"
    return head + "\n".join(blocks_html(blocks)) + "\n</main>\n</body>\n</html>\n"


def page_head(title: str, style: str) -> str:
    """Everything up to the begin of the body; nothing may be loaded and nothing may run."""
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
        f"<title>{text_html(title)}</title>\n<style>{style}</style>\n</head>\n<body>\n"
    )


def blocks_html(blocks: Sequence[Block]) -> Iterable[str]:
    """Blocks as sections: one a heading; indented paragraphs that follow each other are a list."""
    listed = section = False
    for block in blocks:
        item = isinstance(block, Para) and block.indent > 0
        if listed and not item:
            yield "</ul>"
        if item and not listed:
            yield "<ul>"
        listed = item
        match block:
            case Heading(text):
                yield ("</section>\n" if section else "") + f"<section>\n<h2>{text_html(text)}</h2>"
                section = True
            case Para(spans, indent, lead):
                before = f"<b>{_spans(lead)}</b> " if lead else ""
                yield f"<li>{before}{_spans(spans)}</li>" if indent else f"<p>{before}{_spans(spans)}</p>"
            case Table():
                yield _table(block)
            case Verbatim(lines):
                yield "<pre>" + "\n".join(text_html(text) for _, text in lines) + "</pre>"
    if listed:
        yield "</ul>"
    if section:
        yield "</section>"


def _table(block: Table) -> str:
    if not block.rows:
        return ""
    head = "".join(f"<th scope='col'>{text_html(h)}</th>" for h in block.header)
    lines = []
    for row in block.rows:
        first, *rest = row
        cells = f"<th scope='row'>{_spans(first)}</th>" + "".join(f"<td>{_spans(c)}</td>" for c in rest)
        lines.append(f"<tr>{cells}</tr>")
    top = f"<thead><tr>{head}</tr></thead>\n" if head else ""
    return f"<div class='wide'>\n<table>\n{top}<tbody>\n" + "\n".join(lines) + "\n</tbody>\n</table>\n</div>"


def _spans(spans: Spans) -> str:
    return "".join(f"<span class='quiet'>{text_html(t)}</span>" if style in _QUIET else text_html(t) for style, t in spans)
