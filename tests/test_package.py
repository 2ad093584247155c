"""The wheel holds what is needed to ask, and no tests; package data can be read back."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def names_in_wheel(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    out = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(out), str(ROOT)], check=True
    )
    (wheel,) = out.glob("*.whl")
    return zipfile.ZipFile(wheel).namelist()


def test_wheel_holds_the_ontology_and_the_closure(names_in_wheel: list[str]) -> None:
    for needed in (
        "ontology/manifest.toml",
        "ontology/adoption.toml",
        "ontology/lexicon/en.toml",
        "ontology/generated/closure.nq",
        "ontology/generated/vocabulary.json",
        "ontology/generated/stamp.json",
        "ontology/evidence/common-practice.ttl",
        "kg/py.typed",
        "kg/export/page.css",
        "kg/export/page.js",
        "kg/export/page.typ",
    ):
        assert needed in names_in_wheel


def test_wheel_holds_every_input(names_in_wheel: list[str]) -> None:
    from kg.load import manifest

    inputs = {f"ontology/{p.relative_to(ROOT / 'ontology').as_posix()}" for p, _ in manifest(ROOT / "ontology")}
    assert inputs <= set(names_in_wheel)


def test_wheel_holds_no_tests(names_in_wheel: list[str]) -> None:
    assert not [n for n in names_in_wheel if n.startswith(("tests", ".ci"))]
