"""``boxlock plan``: a topic cut into sessions."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

import kg
from repl.oneshot import open_catalogue, show_json
from repl.screen import Screen
from repl.writing import FILE_WIDTH, file_format


def plan(options: Namespace, screen: Screen) -> int:
    form = file_format(options.to) if options.to else ""
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
