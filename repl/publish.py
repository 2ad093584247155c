"""The command ``publish``: the catalogue's graphs onto a server, and what came of it."""

from __future__ import annotations

from argparse import Namespace

import kg
from repl.oneshot import open_catalogue, show_json
from repl.screen import Screen


def publish(options: Namespace, screen: Screen) -> int:
    screen.store = ""  # what is published is what is here
    catalogue = open_catalogue(screen)
    done = kg.publish_catalogue(catalogue, options.url, dry_run=options.dry_run, say=screen.progress)
    if screen.format == "json":
        show_json(screen, done.to_json())
    else:
        screen.show(kg.block_lines([kg.Para((("", text),), close=i > 0) for i, text in enumerate(_said(done))], screen.width()))
    return 0


def _said(done: kg.Publication) -> list[str]:
    would = done.dry_run
    if not done.sent and not done.removed:
        return [f"{done.server} has the whole catalogue already ({_graphs(done.unchanged)})."]
    sent = f"{_graphs(done.sent)}, {done.triples:,} triples, {done.size / 1e6:,.1f} MB"
    lines = [f"{'To be sent' if would else 'Sent'} to {done.server}: {sent}."]
    if done.unchanged:
        lines.append(f"There already and unchanged: {_graphs(done.unchanged)}.")
    if done.removed:
        lines.append(f"{'To be removed' if would else 'Removed'}, of an older catalogue: {_graphs(done.removed)}.")
    return lines


def _graphs(count: int) -> str:
    return f"{count:,} graph{'' if count == 1 else 's'}"
