"""``boxlock stations``: a circuit of examination stations, for the examiner and for the candidate."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

import kg
from repl.oneshot import open_catalogue, show_json
from repl.screen import Screen
from repl.writing import FILE_WIDTH, file_format


def stations(options: Namespace, screen: Screen) -> int:
    form = file_format(options.to) if options.to else ""
    catalogue = open_catalogue(screen)
    circuit = catalogue.stations(
        " ".join(options.question),
        count=options.count,
        seed=options.seed,
        blueprint=options.blueprint or "",
        look_alikes=options.look_alikes,
    )
    if form:
        _write(options.to, circuit, options.sheet, form, screen)
    elif screen.format == "json":
        show_json(screen, kg.stations_json(circuit, options.sheet))
    elif screen.format == "text":
        screen.show(kg.stations_lines(circuit, options.sheet, screen.width()))
    else:
        screen.write(_text(circuit, options.sheet, screen.format))
    screen.out.flush()
    catalogue.keep()
    return 0


def _write(name: str, circuit: kg.Circuit, sheet: str, form: str, screen: Screen) -> None:
    """Both sheets make two files, so that the answers do not go out with the questions."""
    path = Path(name)
    files = [(path, sheet)]
    if sheet == "both":
        files = [(path.with_stem(f"{path.stem}-{one}"), one) for one in ("examiner", "candidate")]
    for file, one in files:
        kg.write_text(file, _text(circuit, one, form))
    if screen.format == "json":
        show_json(screen, {"files": [str(file) for file, _ in files], "stations": len(circuit.items), "marks": circuit.marks})
        return
    for file, one in files:
        screen.write(f"Written to {kg.clean(str(file))}: the {one}'s sheet, {len(circuit.items)} stations.\n")


def _text(circuit: kg.Circuit, sheet: str, form: str) -> str:
    match form:
        case "json":
            return kg.json_text(kg.stations_json(circuit, sheet))
        case "csv":
            return kg.stations_csv(circuit, sheet)
        case "markdown":
            return kg.stations_markdown(circuit, sheet)
        case "html":
            return kg.stations_page(circuit, sheet)
    return kg.plain(kg.stations_lines(circuit, sheet, FILE_WIDTH))
