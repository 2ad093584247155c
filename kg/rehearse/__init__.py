"""Rehearsing for a viva: questions made from the graph, with model answers, and written answers marked fact by fact.

items = Rehearsal(context, settings).items(patterns, count=10, seed=1)
marked = Marker(context, settings).mark(items[0], "It has finger rings, a ratchet and ...")
"""

from kg.rehearse.mark import Marker
from kg.rehearse.past import Past
from kg.rehearse.records import Fact, Item, Mark, Marked, Sheet
from kg.rehearse.schedule import Rehearsal
from kg.rehearse.settings import Settings, read_settings

__all__ = ["Fact", "Item", "Mark", "Marked", "Marker", "Past", "Rehearsal", "Settings", "Sheet", "read_settings"]
