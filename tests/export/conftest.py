"""Handouts of the shipped catalogue, a made-up catalogue with hostile texts, and a browser."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from kg import closure, load
from kg.build import contents, release, stage
from kg.catalogue import Catalogue
from kg.opening import open_catalogue
from tests.export.hostile import HOSTILE


@pytest.fixture(scope="session")
def shipped(ontology_folder: Path) -> Iterator[Catalogue]:
    opened = open_catalogue(ontology_folder)
    yield opened
    opened.close()


@pytest.fixture(scope="session")
def hostile(ontology_folder: Path, staged, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Catalogue]:
    """A catalogue of patterns with the labels of ``HOSTILE``, said by a source whose title is no better."""
    head = "".join(f"@prefix {p}: <https://boxlock.example/{q}> .\n" for p, q in (("bl", "ns#"), ("src", "source/")))
    head += "@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .\n@prefix dcterms: <http://purl.org/dc/terms/> .\n"
    patterns, said = head, head + "@prefix some: <https://boxlock.example/some/> .\n"
    said += (
        f'src:bad a bl:Source ; bl:sourceKind "textbook" ; bl:field "human" ; dcterms:title {_quoted(HOSTILE["Script"])} .\n'
    )
    for name, label in HOSTILE.items():
        patterns += f"bl:Hostile{name} a bl:Pattern ; rdfs:label {_quoted(label)}@en .\n"
        said += f"bl:Hostile{name} bl:purpose bl:OccludeVesselTemporarily ; bl:curvature bl:Curved .\n"
    files = [
        load.SourceFile(f"own/{role}/hostile.ttl", role, tuple(load.triples_of(text)))
        for role, text in (("patterns", patterns), ("evidence", said))
    ]
    texts = contents(stage(ontology_folder, files, base=staged, alone=True))
    stamp = closure.stamp_of(texts, "hostile", "", release())
    folder = tmp_path_factory.mktemp("hostile")
    closure.write(folder, texts, stamp)
    opened = Catalogue(ontology_folder, folder, stamp)
    yield opened
    opened.close()


def _quoted(text: str) -> str:
    """A Turtle string; characters that Turtle or N-Quads cannot hold as they are get their number."""
    return '"' + "".join(c if (c.isalnum() and c.isascii()) or c == " " else f"\\u{ord(c):04X}" for c in text) + '"'


# --- the browser ------------------------------------------------------------------------------------------------------
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
)


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory):
    """Debian's Chromium, driven by selenium. Without one these tests are skipped, and fail where BOXLOCK_BROWSER is set."""
    chromium = next((found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), "")
    driver = shutil.which("chromedriver") or ""
    if not (chromium and driver):
        what = "no Chromium with its chromedriver was found: apt-get install chromium chromium-driver"
        if os.environ.get("BOXLOCK_BROWSER"):
            pytest.fail(f"{what}; BOXLOCK_BROWSER says that there must be one")
        pytest.skip(f"{what}; the tests of the page in a browser are left out")
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('browser')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    opened = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    opened.set_window_size(1280, 1000)
    yield opened
    opened.quit()
