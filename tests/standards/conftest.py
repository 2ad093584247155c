"""The catalogue of this checkout: the shipped closure where it is fresh, else one built without HermiT for these tests."""

from __future__ import annotations

import pytest

from kg import closure, load, paths
from kg.catalogue import Catalogue


@pytest.fixture(scope="session")
def fresh(ontology_folder, tmp_path_factory):
    """An open catalogue that holds everything in the ontology folder."""
    folder = paths.generated_dir(ontology_folder)
    if not (folder / "stamp.json").exists() or closure.read_stamp(folder).inputs != load.input_hash(ontology_folder):
        from kg.build import build

        folder = tmp_path_factory.mktemp("closure")
        build(ontology_folder, folder, hermit=False)
    opened = Catalogue(ontology_folder, folder, closure.read_stamp(folder))
    yield opened
    opened.close()
