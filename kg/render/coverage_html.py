"""What a course covers as one HTML file: readable from disk, without network or scripts; prints also in black and white.

The heat map shades a cell by how many taught instruments meet the objective, in one hue, and prints the figure in every cell.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from kg.course.records import Coverage, ObjectiveResult, Status
from kg.render.blocks import Block, Heading, Para, Spans, Table, Verbatim
from kg.render.coverage import coverage_blocks, groups_matrix, have, short, standing_sentence
from kg.render.coverage_data import SHADES, shade
from kg.render.spans import clean

SIGNS = {Status.MET: "●", Status.SHORT: "◐", Status.IMPOSSIBLE: "✕", Status.UNCONFIRMED: "◌", Status.UNMAPPED: "○"}
"""A shape beside the word, so that nothing hangs on colour."""
LONGEST_TEXT = 90
_STYLE = """
:root { color-scheme: light dark; --ink: #221b2e; --paper: #fdfcfe; --line: #cdc4dc; --quiet: #655b75; --head: #3e2770; }
* { box-sizing: border-box }
body { margin: 0 auto; padding: 1.5rem 1.2rem 4rem; max-width: 82rem; background: var(--paper); color: var(--ink);
  font: 1rem/1.5 system-ui, "Segoe UI", "Noto Sans", sans-serif }
h1 { font-size: 1.6rem; line-height: 1.25; margin: 0 0 .4rem; color: var(--head) }
h2 { font-size: 1.1rem; margin: 2.2rem 0 .5rem; color: var(--head); break-after: avoid }
p { margin: .3rem 0; max-width: 70ch } .lead { font-size: 1.1rem } .quiet { color: var(--quiet) }
ul { margin: .3rem 0; padding-left: 1.2rem; max-width: 80ch } li { margin: .15rem 0 } li b { margin-right: .3em }
.wide { overflow-x: auto } table { border-collapse: collapse; font-size: .92rem }
th, td { border-bottom: 1px solid var(--line); padding: .25rem .6rem .25rem 0; text-align: left; vertical-align: top }
thead th { color: var(--quiet); font-weight: 600 } tr { break-inside: avoid }
.map { border-collapse: separate; border-spacing: 2px }
.map td, .map th { vertical-align: middle; border: 0; padding: .2rem .45rem }
.map thead th { vertical-align: bottom } .map thead th.family { padding: .2rem .1rem; font-weight: 500 }
.map thead th.family span { writing-mode: vertical-rl; transform: rotate(180deg); max-height: 13rem }
.map td { white-space: nowrap } .map tbody th { font-weight: 400; max-width: 24rem; min-width: 14rem }
.map td.cell { text-align: center; min-width: 2.1rem; font-variant-numeric: tabular-nums; border-radius: 3px;
  print-color-adjust: exact; -webkit-print-color-adjust: exact }
.map td.s0 { color: var(--quiet) } .key td.cell { padding: .2rem .8rem }
@media screen and (prefers-color-scheme: dark) { :root { --ink: #e9e4f2; --paper: #17131f; --line: #463b5a; --quiet: #ab9fc0;
  --head: #c9b6f2 } }
@media print { body { max-width: none; padding: 0; font-size: 9.5pt; color: #000; background: #fff }
  h1, h2 { color: #000 } .wide { overflow: visible } .map thead th.family span { max-height: 9rem } }
"""
_KEY = ("0", "1", "2", "3 or 4", "5 to 9", "10 and more")


def coverage_html(found: Coverage) -> str:
    """The whole report as a page in HTML 5 that needs nothing beside itself."""
    heading, standing, *blocks = coverage_blocks(found, whole=True)
    del heading, standing  # the page says both in its own way
    title = _text(found.title)
    body = [
        f"<header>\n<h1>{title}</h1>\n<p class='lead'>{_text(standing_sentence(found))}</p>\n</header>",
        "<main>",
        *_map(found),
        *_blocks(blocks),
        "</main>",
    ]
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
        f"<title>What the course covers: {title}</title>\n<style>{_STYLE}{_shades()}</style>\n</head>\n<body>\n"
        + "\n".join(body)
        + "\n</body>\n</html>\n"
    )


def _shades() -> str:
    """The five shades: on paper and a light screen the more the darker, on a dark screen the more the lighter."""
    dark = _rules(reversed(SHADES), light_first=False)
    return _rules(SHADES, light_first=True) + "@media screen and (prefers-color-scheme: dark) {\n" + dark + "}\n"


def _rules(colours: Iterable[str], *, light_first: bool) -> str:
    letters = ["#1a1230"] * 3 + ["#fff"] * 2
    pairs = zip(colours, letters if light_first else reversed(letters), strict=True)
    return "".join(f".s{n} {{ background: #{colour}; color: {ink} }}\n" for n, (colour, ink) in enumerate(pairs, 1))


# --- the heat map ---------------------------------------------------------------------------------------------------
def _map(found: Coverage) -> Iterable[str]:
    families, rows = groups_matrix(found)
    yield "<section aria-labelledby='map'>\n<h2 id='map'>Objectives by family</h2>"
    yield (
        "<p class='quiet'>Each cell counts the instruments shown that meet the objective, by the family that sources put them "
        "in; the more, the stronger. The sign says how the objective stands.</p>"
    )
    yield "<div class='wide' tabindex='0' role='region' aria-labelledby='map'>\n<table class='map'>"
    heads = "".join(f"<th scope='col' class='family'><span>{_text(short(f.label))}</span></th>" for f in families)
    yield f"<thead><tr><th scope='col'>objective</th><th scope='col'>standing</th><th scope='col'>has</th>{heads}</tr></thead>"
    yield "<tbody>"
    for objective, counts in rows:
        cells = "".join(f"<td class='cell s{shade(n)}'>{n}</td>" for n in counts)
        yield f"<tr>{_name(objective)}<td>{_standing(objective)}</td><td>{_text(have(objective))}</td>{cells}</tr>"
    yield "</tbody>\n</table>\n</div>"
    key = "".join(f"<td class='cell s{n}'>{label}</td>" for n, label in enumerate(_KEY))
    yield f"<table class='map key'><tbody><tr><td class='quiet'>shades</td>{key}</tr></tbody></table>\n</section>"


def _name(o: ObjectiveResult) -> str:
    text = o.text or o.reading
    shown = text if len(text) <= LONGEST_TEXT else f"{text[: LONGEST_TEXT - 1]}…"
    return f"<th scope='row'><b>{_text(o.id)}</b> {_text(shown)}</th>"


def _standing(o: ObjectiveResult) -> str:
    sign = SIGNS.get(o.status, "–")
    return f"<span aria-hidden='true'>{sign}</span> {_text(str(o.status))}"


# --- blocks ---------------------------------------------------------------------------------------------------------
def _blocks(blocks: Sequence[Block]) -> Iterable[str]:
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
                yield ("</section>\n" if section else "") + f"<section>\n<h2>{_text(text)}</h2>"
                section = True
            case Para(spans, indent, lead):
                before = f"<b>{_spans(lead)}</b> " if lead else ""
                yield f"<li>{before}{_spans(spans)}</li>" if indent else f"<p>{before}{_spans(spans)}</p>"
            case Table():
                yield _table(block)
            case Verbatim(lines):
                yield "<pre>" + "\n".join(_text(text) for _, text in lines) + "</pre>"
    if listed:
        yield "</ul>"
    if section:
        yield "</section>"


def _table(block: Table) -> str:
    if not block.rows:
        return ""
    head = "".join(f"<th scope='col'>{_text(h)}</th>" for h in block.header)
    lines = []
    for row in block.rows:
        first, *rest = row
        cells = f"<th scope='row'>{_spans(first)}</th>" + "".join(f"<td>{_spans(c)}</td>" for c in rest)
        lines.append(f"<tr>{cells}</tr>")
    top = f"<thead><tr>{head}</tr></thead>\n" if head else ""
    return f"<div class='wide'>\n<table>\n{top}<tbody>\n" + "\n".join(lines) + "\n</tbody>\n</table>\n</div>"


def _spans(spans: Spans) -> str:
    quiet = ("remark", "source")
    return "".join(f"<span class='quiet'>{_text(t)}</span>" if style in quiet else _text(t) for style, t in spans)


def _text(text: str) -> str:
    return escape(clean(text))
