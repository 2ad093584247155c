"""The table form without loss, figures recounted independently, and what changed between two catalogues."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import pyoxigraph as ox
import pytest

from kg import load, names
from kg.build import stage
from kg.changes import catalogue_changes, evidence_files, evidence_rows
from kg.errors import InputError
from kg.evidence.statements import Statement, migrate
from kg.statistics import measure
from repl.cli import main


@pytest.fixture(scope="module")
def figures(ontology_folder, staged):
    return measure(ontology_folder, staged)


def test_the_table_and_the_evidence_are_the_same(ontology_folder, staged, tmp_path):
    rows = evidence_rows(ontology_folder)
    assert len(rows) == len(staged.statements)
    texts = evidence_files(ontology_folder, rows, "table.csv")
    for name, text in texts.items():
        assert (ontology_folder / "evidence" / name).read_text(encoding="utf-8") == text, name
    assert set(texts) == {p.name for p in (ontology_folder / "evidence").glob("*.ttl")}


def test_the_commands_write_the_table_and_read_it_back(ontology_folder, tmp_path, capsys):
    table, folder = tmp_path / "all.csv", tmp_path / "back"
    assert main(["table", str(table)]) == 0
    with table.open(encoding="utf-8") as lines:
        assert next(csv.reader(lines)) == ["source", "subject", "mode", "feature", "value"]
    assert main(["table", str(table), "--into", str(folder)]) == 0
    one = ontology_folder / "evidence" / "bsava-head-neck-thorax-p16.ttl"
    assert (folder / one.name).read_bytes() == one.read_bytes()
    capsys.readouterr()


@pytest.mark.parametrize(
    ("row", "text"),
    [
        ({"source": "nobody", "subject": "KellyForceps", "mode": "is", "feature": "joint", "value": "BoxLock"}, "not declared"),
        ({"source": "memory", "subject": "KellyForceps", "mode": "maybe", "feature": "joint", "value": "BoxLock"}, "mode"),
        (
            {"source": "memory", "subject": "KellyForceps", "mode": "is", "feature": "length", "value": "long"},
            "not a statement",
        ),
        ({"source": "memory", "subject": "", "mode": "is", "feature": "joint", "value": "BoxLock"}, "no subject"),
    ],
)
def test_a_bad_row_is_located(ontology_folder, row, text):
    with pytest.raises(InputError) as raised:
        evidence_files(ontology_folder, [row], "table.csv")
    assert (raised.value.code, raised.value.file, raised.value.line) == ("BL-I03", "table.csv", 2)
    assert text in raised.value.message


def test_the_numbers_of_the_catalogue(figures):
    """The minima of the catalogue: 250 patterns, 14 families of 8 or more, variants at most 30 %, 2,500 statements, 120
    sources with two or more, at most 25 % of the adopted values from common practice or memory alone, 40 disputes."""
    assert figures.patterns >= 250
    assert len(figures.families) >= 14
    assert all(f.patterns >= 8 for f in figures.families)
    assert figures.variants <= 0.3 * figures.patterns
    assert figures.statements >= 2500
    assert figures.sources_with_two >= 120
    assert figures.weak_share <= 0.25
    assert figures.disputes >= 40
    assert figures.fill >= 0.75
    assert figures.weak_fill <= 0.25


def test_the_numbers_recounted_by_sparql(ontology_folder, figures):
    """An independent count over the files themselves: no code of the evidence package takes part."""
    store = ox.Store()
    for path, role in load.manifest(ontology_folder):
        if role in ("patterns", "evidence") and path.suffix == ".ttl":
            graph = ox.NamedNode(f"urn:file:{path.name}")
            store.bulk_load(path.read_bytes(), format=ox.RdfFormat.TURTLE, to_graph=graph)

    def count(body: str) -> int:
        prefixes = "".join(f"PREFIX {p}: <{iri}>\n" for p, iri in names.PREFIXES.items())
        return int(next(iter(store.query(prefixes + body)))["n"].value)

    assert count("SELECT (COUNT(DISTINCT ?p) AS ?n) { GRAPH ?g { ?p a bl:Pattern } }") == figures.patterns
    assert count("SELECT (COUNT(DISTINCT ?p) AS ?n) { GRAPH ?g { ?p bl:variantOf ?q } }") == figures.variants
    said = "GRAPH ?g { ?source a bl:Source . ?s ?f ?v FILTER(?s != ?source && ?f != bl:longestLength) }"
    assert count(f"SELECT (COUNT(*) AS ?n) {{ {said} }}") == figures.statements
    assert count(f"SELECT (COUNT(DISTINCT ?g) AS ?n) {{ {said} }}") == figures.sources
    two = f"SELECT ?g {{ {said} }} GROUP BY ?g HAVING(COUNT(*) >= 2)"
    assert count(f"SELECT (COUNT(*) AS ?n) {{ {{ {two} }} }}") == figures.sources_with_two


def test_the_figures_are_shown(capsys):
    assert main(["check", "--evidence", "--format", "json"]) == 0
    shown = json.loads(capsys.readouterr().out)
    assert {"patterns", "statements", "fill", "weak_share", "families", "alike", "basis"} <= set(shown)
    assert main(["check", "--evidence", "--width", "100"]) == 0
    assert "Fill by family" in capsys.readouterr().out


# --- changes and deprecated names ----------------------------------------------------------------------------------
@pytest.fixture
def older(ontology_folder, tmp_path) -> Path:
    folder = tmp_path / "older"
    shutil.copytree(ontology_folder, folder, ignore=shutil.ignore_patterns("generated", "__pycache__"))
    return folder


def test_what_changed_is_said(ontology_folder, older):
    assert not any(catalogue_changes(older, ontology_folder).to_json().values())
    file = older / "evidence" / "bsava-head-neck-thorax-p16.ttl"
    text = file.read_text(encoding="utf-8")
    assert "bl:serrationExtent bl:FullLengthSerration" in text or "bl:serrationExtent bl:DistalHalfSerration" in text
    file.write_text(text.replace("    bl:serrationExtent bl:DistalHalfSerration ;\n", ""), encoding="utf-8")
    changes = catalogue_changes(older, ontology_folder)
    assert [r["value"] for r in changes.added_statements] == ["DistalHalfSerration"]
    assert changes.removed_statements == ()
    assert changes.added_patterns == changes.removed_patterns == ()


def test_deprecated_names_in_evidence_are_migrated(older):
    """A term that was replaced keeps its meaning in data written for an older release."""
    terms = older / "terms" / "deprecated.ttl"
    head = "".join(f"@prefix {p}: <{names.PREFIXES[p]}> .\n" for p in ("bl", "dcterms", "owl"))
    terms.write_text(head + "bl:BoxedJoint owl:deprecated true ; dcterms:isReplacedBy bl:BoxLock .\n", encoding="utf-8")
    file = older / "evidence" / "common-practice.ttl"
    text = file.read_text(encoding="utf-8")
    assert "bl:joint bl:BoxLock" in text
    before = stage(older).statements
    file.write_text(text.replace("bl:joint bl:BoxLock", "bl:joint bl:BoxedJoint"), encoding="utf-8")
    assert stage(older).statements == before


def test_migration_follows_every_name():
    old = Statement("bl:A", "bl:f", "is", "bl:v", "src:s")
    assert migrate(old, {"bl:A": "bl:B", "bl:f": "bl:g", "bl:v": "bl:w"}) == Statement("bl:B", "bl:g", "is", "bl:w", "src:s")
