"""The command ``draw``: schematic drawings of one pattern or two, written as SVG."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

import kg
from repl.oneshot import open_catalogue, show_json
from repl.screen import Screen

if TYPE_CHECKING:
    from kg import Catalogue, Drawing


def draw(options: Namespace, screen: Screen) -> int:
    """Draws what was named. As SVG the drawing itself goes to standard output if no file is given."""
    if options.to is None and screen.format == "text":
        raise kg.InputError("BL-I01", "A drawing needs a file.", hint='boxlock draw "NAME" --to FILE.svg')
    path = svg_path(options.to) if options.to is not None else None
    catalogue = open_catalogue(screen)
    drawing = drawn(catalogue, options.names)
    if path is not None:
        kg.write_text(path, drawing.svg())
    if screen.format == "json":
        show_json(screen, drawing.to_json() | {"file": str(path) if path else None})
    elif screen.format == "svg":
        if path is None:
            screen.write(drawing.svg())
    else:
        screen.show(kg.drawing_lines(drawing, str(path), screen.width()))
    screen.out.flush()
    catalogue.keep()
    return 0


def drawn(catalogue: Catalogue, names: list[str]) -> Drawing:
    """One name or two, each in quotation marks; several words that are no names by themselves are one name.

    Raises QuestionError if a name is not understood, InputError (BL-I01) for more than two names.
    """
    if len(names) == 1:
        return catalogue.draw(names[0])
    if len(names) == 2:
        try:
            return catalogue.draw(*names)
        except kg.QuestionError as apart:
            try:
                return catalogue.draw(" ".join(names))
            except kg.QuestionError:
                raise apart from None
    try:
        return catalogue.draw(" ".join(names))
    except kg.QuestionError as e:
        hint = 'Put each name in quotation marks: boxlock draw "NAME" "NAME" --to FILE.svg'
        raise kg.InputError("BL-I01", "A drawing shows one instrument, or two side by side.", hint=hint) from e


def svg_path(text: str) -> Path:
    """Where a drawing may be written. Raises InputError (BL-I01, BL-I02)."""
    path = Path(text)
    if path.suffix.lower() != ".svg":
        raise kg.InputError("BL-I01", "A drawing is written as SVG.", file=text, hint="Give a file that ends in .svg")
    if path.is_dir() or not path.parent.is_dir():
        raise kg.InputError("BL-I02", "The file cannot be written: there is no such folder.", file=text)
    return path
