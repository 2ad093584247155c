"""``boxlock plan``: a topic cut into sessions."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

import kg
from repl.oneshot import open_catalogue, show_json
from repl.screen import Screen

SUFFIXES = {".md": "markdown", ".csv": "csv", ".json": "json", ".html": "html", ".txt": "text"}
FILE_WIDTH = 100


def plan(options: Namespace, screen: Screen) -> int:
    form = file_format(options.to, SUFFIXES) if options.to else ""
    catalogue = open_catalogue(screen)
    found = catalogue.plan(
        " ".join(options.question),
        minutes=options.minutes,
        seconds=options.seconds,
        each=options.each,
        estimate=options.estimate or "",
        variants=options.variants,
    )
    if form:
        kg.write_text(Path(options.to), plan_text(found, form))
        done = {"file": options.to, "sessions": len(found.sessions), "proof": found.proof}
        if screen.format == "json":
            show_json(screen, done)
        else:
            screen.write(f"Written to {kg.clean(options.to)}: {len(found.sessions)} sessions, {found.proof}.\n")
    elif screen.format == "json":
        show_json(screen, kg.plan_json(found))
    elif screen.format == "text":
        screen.show(kg.plan_lines(found, screen.width()))
    else:
        screen.write(plan_text(found, screen.format))
    screen.out.flush()
    catalogue.keep()
    return 0


def plan_text(found: kg.Plan, form: str) -> str:
    match form:
        case "json":
            return kg.json_text(kg.plan_json(found))
        case "csv":
            return kg.plan_csv(found)
        case "markdown":
            return kg.plan_markdown(found)
        case "html":
            return kg.plan_page(found)
    return kg.plain(kg.plan_lines(found, FILE_WIDTH))


def file_format(name: str, suffixes: dict[str, str]) -> str:
    """The form that a file's name asks for. Raises InputError for any other ending (BL-I01), or if there is no such folder
    (BL-I02): better now than after a long search."""
    form = suffixes.get(Path(name).suffix.lower())
    if form is None:
        endings = ", ".join(suffixes)
        what = "The ending of the file does not say what to write."
        raise kg.InputError("BL-I01", what, file=name, hint=f"Use one of: {endings}.")
    if not Path(name).parent.is_dir():
        raise kg.InputError("BL-I02", "There is no such folder to write into.", file=name)
    return form
