"""``boxlock export``: an answer as a handout, or the workbook to fill in with evidence."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

import kg
from repl.oneshot import open_catalogue, show_json
from repl.screen import Screen


def export(options: Namespace, screen: Screen) -> int:
    question = " ".join(options.question)
    if options.template:
        if question or options.to:
            raise kg.InputError("BL-I01", "--template stands alone: it writes a workbook, not an answer.", hint=_HINT)
        return _template(options, screen)
    if not question.strip():
        raise kg.InputError("BL-I01", "There is no question to write a handout of.", hint=_HINT)
    wishes = kg.Wishes(
        title=options.title or "",
        date=options.date or "",
        fields=_listed(options.fields),
        order=options.order or "",
        group=options.group or "",
        cover=options.cover or "nothing",
        paper=options.paper or "a4",
        photos=Path(options.photos) if options.photos else None,
        seed=options.seed or 0,
        drawings=not options.no_drawings,
    )
    catalogue = open_catalogue(screen)
    path = kg.export_answer(
        catalogue, question, Path(options.to) if options.to else None, wishes, replace=options.replace, say=screen.progress
    )
    if screen.format == "json":
        show_json(screen, {"file": str(path), "bytes": path.stat().st_size})
    else:
        screen.write(f"Written to {kg.clean(str(path))}.\n")
    screen.out.flush()
    catalogue.keep()
    return 0


def _template(options: Namespace, screen: Screen) -> int:
    path = kg.export_template(open_catalogue(screen), Path(options.template))
    if screen.format == "json":
        show_json(screen, {"file": str(path)})
    else:
        shown = kg.clean(str(path))
        screen.write(f"Written to {shown}. Fill it in, then: boxlock check {shown}\n")
    return 0


def _listed(text: str | None) -> tuple[str, ...] | None:
    """Fields as typed, divided by commas; None if none were asked for."""
    found = tuple(part for piece in (text or "").split(",") if (part := piece.strip()))
    return found or None


_HINT = 'boxlock export "scissors" --to scissors.pdf'
