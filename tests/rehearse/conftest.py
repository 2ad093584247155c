"""The rehearsal of the shipped catalogue, and every question that it can ask."""

from __future__ import annotations

import pytest

from kg.rehearse.settings import TASKS


@pytest.fixture(scope="session")
def every_item(catalogue):
    """All questions on all patterns; of look-alikes a pattern's first three."""
    rehearsal = catalogue.rehearsal
    alike = rehearsal.look_alikes()
    out = []
    for pattern in (t.name for t in catalogue.vocabulary.by_role("pattern")):
        out += [rehearsal.tasks.item(task, pattern) for task in TASKS if task != "tell apart"]
        out += [rehearsal.tasks.item("tell apart", pattern, other) for other in sorted(alike.get(pattern, ()))[:3]]
    return [item for item in out if item]


@pytest.fixture
def ask(catalogue):
    """Makes one question by task and label."""
    names = {t.label: t.name for t in catalogue.vocabulary.by_role("pattern")}

    def make(task: str, label: str, other: str = ""):
        item = catalogue.rehearsal.tasks.item(task, names[label], names.get(other, ""))
        assert item is not None
        return item

    return make
