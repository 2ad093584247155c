"""The data files are checked, and every check catches its bad example."""

from __future__ import annotations

import copy

import pytest

from kg import load, tables
from kg.evidence.statements import read_sources
from kg.terms import read_vocabulary


@pytest.fixture(scope="module")
def given(ontology_folder):
    ontology = load.load(ontology_folder)
    words = read_vocabulary(ontology.triples("header", "terms", "axioms", "patterns"), {}, ())
    sources = set(read_sources(f for f in ontology.files if f.role == "evidence"))
    return ontology_folder, load.words(ontology_folder), words, sources


def test_the_shipped_files_are_in_order(given):
    assert tables.faults(*given) == []


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"method": "bl:Ratchet"}, "no value of"),
        ({"load": "teapots"}, "teapots"),
        ({"steriliser": "kettle"}, "kettle"),
        ({"source": "src:nobody"}, "src:nobody"),
        ({"minutes": [30, 4]}, "minutes must be"),
        ({"minutes": [True]}, "minutes must be"),
        ({"minutes": []}, "minutes must be"),
        ({"celsius": [-5]}, "celsius must be"),
        ({"colour": "red"}, "colour"),
        ({"load": ""}, "no load"),
    ],
)
def test_a_bad_cycle_is_found_with_its_line(given, change, said):
    root, words, vocabulary, sources = given
    words = copy.deepcopy(words)
    words["cycle"][1] |= change
    found = tables.faults(root, words, vocabulary, sources)
    assert any(said in f.text for f in found)
    text = (root / tables.CYCLES).read_text(encoding="utf-8").splitlines()
    assert {text[f.line - 1] for f in found} == {"[[cycle]]"}
    assert len({f.line for f in found}) == 1


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"any": [{"part": "bl:Steam"}]}, "is no part"),
        ({"any": [{"feature": "bl:spaulding", "value": "bl:BoxLock"}]}, "no value of"),
        ({"any": [{"feature": "bl:nothing", "value": "bl:BoxLock"}]}, "no feature"),
        ({"any": [{"colour": "red"}]}, "a condition is"),
        ({"source": ["src:nobody"]}, "src:nobody"),
        ({"text": ""}, "no text"),
        ({"lacking": "bl:Ratchet"}, "no feature"),
        ({"when": "always"}, "when"),
    ],
)
def test_a_bad_rule_is_found(given, change, said):
    root, words, vocabulary, sources = given
    words = copy.deepcopy(words)
    words["reprocessing"]["rule"][0] |= change
    assert any(said in f.text and f.line for f in tables.faults(root, words, vocabulary, sources))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"about": ["teapots"]}, "is no topic"),
        ({"about": []}, "no about"),
        ({"source": ["src:nobody"]}, "src:nobody"),
        ({"text": ""}, "no text"),
        ({"when": "always"}, "when"),
    ],
)
def test_a_bad_note_on_care_is_found_with_its_line(given, change, said):
    root, words, vocabulary, sources = given
    words = copy.deepcopy(words)
    words["care"]["rule"][1] |= change
    found = tables.faults(root, words, vocabulary, sources)
    assert any(said in f.text for f in found)
    text = (root / tables.CARE).read_text(encoding="utf-8").splitlines()
    assert {text[f.line - 1] for f in found} == {"[[care.rule]]"}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"kind": "colour"}, "kind must be"),
        ({"say": "the joint"}, "read back"),
        ({"also": ["teapots"]}, "is no topic"),
        ({"needs": "teapots"}, "is no topic"),
        ({"held": [{"part": "bl:Steam"}]}, "is no part"),
        ({"words": [], "sure": []}, "has phrases"),
        ({"colour": "red"}, "colour"),
    ],
)
def test_a_bad_topic_of_care_is_found(given, change, said):
    root, words, vocabulary, sources = given
    words = copy.deepcopy(words)
    words["care"]["topic"]["ratchet"] |= change
    assert any(said in f.text and f.line for f in tables.faults(root, words, vocabulary, sources))


def test_two_files_cannot_have_one_table(tmp_path, ontology_folder):
    import shutil

    from kg.errors import CatalogueError

    root = tmp_path / "ontology"
    shutil.copytree(ontology_folder, root, ignore=shutil.ignore_patterns("evidence", "generated", "patterns"))
    (root / "cycles.toml").write_text("[words]\narticles = []\n", encoding="utf-8")
    with pytest.raises(CatalogueError) as caught:
        load.words(root)
    assert "words" in str(caught.value)
