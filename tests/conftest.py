"""Shared by all tests: a clean environment, the shipped catalogue, and the staged build of the shipped ontology."""

from __future__ import annotations

from pathlib import Path

import pytest

ONTOLOGY = Path(__file__).resolve().parents[1] / "ontology"
SETTINGS = (
    *(
        "BOXLOCK_ONTOLOGY",
        "BOXLOCK_HOME",
        "BOXLOCK_STORE",
        "BOXLOCK_STORE_USER",
        "BOXLOCK_STORE_PASSWORD",
        "BOXLOCK_STORE_TOKEN",
    ),
    *("NO_COLOR", "FORCE_COLOR", "COLUMNS", "LINES", "PAGER", "LANG", "LC_ALL"),
)


@pytest.fixture(autouse=True)
def clean_environment(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """No setting of the person who runs the tests counts, and nothing is written to that person's folders."""
    for name in SETTINGS:
        monkeypatch.delenv(name, raising=False)
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("HOME", str(home))
    for name in ("XDG_CACHE_HOME", "XDG_STATE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
        monkeypatch.setenv(name, str(home / name.lower()))


@pytest.fixture(scope="session")
def ontology_folder() -> Path:
    """The folder of the ontology in this checkout."""
    return ONTOLOGY


@pytest.fixture(scope="session")
def catalogue():
    """The shipped catalogue, opened once."""
    from kg.opening import open_catalogue

    opened = open_catalogue(ONTOLOGY)
    yield opened
    opened.close()


@pytest.fixture(scope="session")
def staged():
    """The shipped ontology, read, adopted and reasoned over in process; nothing is written."""
    from kg.build import stage

    return stage(ONTOLOGY)
