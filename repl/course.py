"""``boxlock coverage``: what a course covers, and what it leaves out."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

import kg
from repl.oneshot import open_catalogue, show_json
from repl.screen import Screen
from repl.writing import file_format

FORMS = {".csv": "csv", ".xlsx": "xlsx", ".html": "html", ".md": "markdown", ".json": "json"}


def coverage(options: Namespace, screen: Screen) -> int:
    """Prints the report, or writes it with ``--to``; 1 with ``--strict`` if there is a gap or a contradiction."""
    target = Path(options.to) if options.to else None
    form = file_format(options.to, FORMS) if target else ""
    catalogue = open_catalogue(screen)
    found = catalogue.coverage(
        options.files,
        against=options.against or (),
        smallest=options.smallest,
        every_value=options.every_value,
        more=options.more,
        among_course=options.among_shown,
        work=options.seconds,
    )
    if target:
        _write(found, target, form)
        if screen.format == "json":
            show_json(screen, {"file": str(target), "complete": found.complete})
        else:
            screen.write(f"Written to {kg.clean(str(target))}.\n")
    else:
        _show(found, screen)
    screen.out.flush()
    catalogue.keep()
    return int(options.strict and not found.complete)


def _show(found: kg.Coverage, screen: Screen) -> None:
    if screen.format == "json":
        show_json(screen, kg.coverage_json(found))
    elif screen.format == "csv":
        screen.write(kg.coverage_csv(found))
    elif screen.format == "markdown":
        screen.write(kg.coverage_markdown(found))
    else:
        screen.show(kg.coverage_lines(found, screen.width()))


def _write(found: kg.Coverage, target: Path, form: str) -> None:
    if form == "xlsx":
        kg.write_bytes(target, kg.coverage_xlsx(found))
        return
    match form:
        case "csv":
            text = kg.coverage_csv(found)
        case "html":
            text = kg.coverage_html(found)
        case "markdown":
            text = kg.coverage_markdown(found)
        case _:
            text = kg.json_text(kg.coverage_json(found))
    kg.write_text(target, text)
