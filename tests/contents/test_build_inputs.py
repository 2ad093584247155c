"""Wrong inputs of the build: each is refused or reported with its place; none makes a closure or a traceback."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from kg.build import build, stage
from kg.check import consistent, constructs, shapes, statements
from kg.errors import CODES, BoxlockError
from kg.load import load
from kg.model import Finding
from kg.terms import read_vocabulary

PREFIXES = "".join(
    f"@prefix {p}: <https://boxlock.example/{n}> .\n"
    for p, n in (("bl", "ns#"), ("kind", "kind/"), ("src", "source/"), ("some", "some/"), ("not", "not/"))
)
PREFIXES += (
    "@prefix dcterms: <http://purl.org/dc/terms/> .\n@prefix owl: <http://www.w3.org/2002/07/owl#> .\n"
    "@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .\n"
)
SOURCE = 'src:trial a bl:Source ; dcterms:title "Trial" ; bl:sourceKind "textbook" ; bl:field "human" ; bl:work "trial" .\n'


@pytest.fixture
def copy(ontology_folder: Path, tmp_path: Path) -> Path:
    left_out = shutil.ignore_patterns("generated", "__pycache__")
    return Path(shutil.copytree(ontology_folder, tmp_path / "ontology", ignore=left_out))


@pytest.fixture
def witness(copy: Path):
    """Adds an evidence file; returns its path inside the ontology."""

    def add(body: str, source: str = SOURCE) -> str:
        (copy / "evidence" / "zz-trial.ttl").write_text(PREFIXES + source + body, encoding="utf-8")
        return "evidence/zz-trial.ttl"

    return add


def findings(root: Path) -> list[Finding]:
    ontology = load(root)
    words = read_vocabulary(ontology.triples("header", "terms", "axioms", "patterns"), {}, ())
    return [*constructs(ontology, words), *statements(ontology, words)]


def refused(root: Path) -> BoxlockError:
    """The error of a build, which must leave nothing behind."""
    folder = root / "generated"
    with pytest.raises(BoxlockError) as raised:
        build(root, folder, hermit=False)
    assert raised.value.code in CODES
    assert not folder.exists() or not any(folder.iterdir())
    return raised.value


def test_the_shipped_inputs_are_well_formed(ontology_folder):
    assert [f for f in findings(ontology_folder) if f.severity == "error"] == []
    assert [f for f in shapes(load(ontology_folder)) if f.severity == "error"] == []


# --- files that cannot be read ---------------------------------------------------------------------------------------
def test_a_slip_in_a_file_is_named_with_its_line(copy, witness):
    file = witness("\nbl:KellyForceps\n    bl:curvature bl:Straight\n    bl:grip bl:TripodGrip .\n")
    error = refused(copy)
    assert error.code == "BL-C04"
    assert error.message.startswith(f"{file}, line ")
    line = int(error.message.split("line ")[1].split(":")[0])
    text = (copy / file).read_text(encoding="utf-8").splitlines()
    assert "bl:grip" in text[line - 1]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("", "the list of ontology files cannot be used"),
        ("[[file]]\npath = 3\n", "the list of ontology files cannot be used"),
        ('[[file]]\npath = "terms/*.ttl"\nrole = "songs"\n', "unknown role 'songs'"),
        ('[[file]]\npath = "gone.ttl"\nrole = "terms"\n', "gone.ttl does not exist"),
    ],
)
def test_a_bad_manifest(copy, text, wanted):
    (copy / "manifest.toml").write_text(text, encoding="utf-8")
    error = refused(copy)
    assert error.code == "BL-C04"
    assert wanted in error.message
    assert "manifest.toml" in error.message


def test_a_file_that_is_not_text(copy):
    (copy / "terms" / "jaws.ttl").write_bytes(b"\xff\xfe\x00\x01")
    error = refused(copy)
    assert error.code == "BL-C04"
    assert "terms/jaws.ttl" in error.message


# --- evidence that is no evidence ------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("body", "source", "wanted"),
    [
        ("bl:KellyForceps bl:curvature bl:Straight .", "", "declares exactly one bl:Source, this one 0"),
        ("src:second a bl:Source .", SOURCE, "declares exactly one bl:Source, this one 2"),
        ('bl:KellyForceps bl:curvature "straight" .', SOURCE, "is not the form of a statement"),
        ("bl:KellyForceps dcterms:title bl:Straight .", SOURCE, "is not the form of a statement"),
        ("bl:KellyForceps bl:curvature <https://example.org/Straight> .", SOURCE, "https://example.org/Straight"),
        ("", SOURCE.replace("textbook", "rumour"), "no weight is set for sources of the kind 'rumour'"),
    ],
    ids=["no source", "two sources", "a text", "another property", "another namespace", "no weight"],
)
def test_evidence_that_cannot_be_used_is_refused(copy, witness, body, source, wanted):
    witness(body, source)
    error = refused(copy)
    assert error.code == "BL-C04"
    assert wanted in error.message


@pytest.mark.parametrize(
    ("body", "wanted", "near"),
    [
        ("bl:KellyForcep bl:curvature bl:Straight .", "bl:KellyForcep", "bl:KellyForceps"),
        ("bl:KellyForceps bl:curvatur bl:Straight .", "bl:curvatur is no feature", "bl:curvature"),
        ("bl:KellyForceps bl:curvature bl:Strait .", "bl:Strait is no value of bl:curvature", "bl:Straight"),
        ("bl:KellyForceps bl:curvature bl:BoxLock .", "bl:BoxLock is no value of bl:curvature", ""),
        ("bl:KellyForceps bl:hasPart bl:Rachet .", "bl:Rachet", "bl:Ratchet"),
        ("bl:KellyForceps bl:shortestLength 14000.0 ; bl:longestLength 14000.0 .", "14000", ""),
        ("bl:KellyForceps bl:shortestLength 180.0 ; bl:longestLength 140.0 .", "180", ""),
    ],
)
def test_statements_that_mean_nothing_are_found_with_their_place(copy, witness, body, wanted, near):
    file = witness(body)
    found = [f for f in findings(copy) if f.file == file]
    assert len(found) == 1
    assert found[0].severity == "error"
    assert wanted in found[0].text
    assert near in found[0].fix
    lines = ["", *(copy / file).read_text(encoding="utf-8").splitlines()]
    assert "bl:KellyForcep" in lines[found[0].line] + found[0].text


def test_a_stated_category_is_refused(copy, witness):
    file = witness("bl:KellyForceps a bl:ArteryForceps .")
    found = [f for f in findings(copy) if f.file == file]
    assert [f.severity for f in found] == ["error"]
    assert "bl:KellyForceps is said to be ArteryForceps: a category is inferred, never stated" in found[0].text
    assert "a category is inferred, never stated" in refused(copy).message


def test_one_source_that_contradicts_itself_is_an_error(copy, witness):
    file = witness("bl:KellyForceps bl:curvature bl:Straight .\nbl:KellyForceps bl:curvature bl:Curved .")
    found = [f for f in findings(copy) if f.file == file]
    assert [f.code for f in found] == ["BL-I03"]
    assert "one source says both" in found[0].text
    assert not consistent(found)


@pytest.mark.parametrize(
    "body",
    [
        "some:curvature bl:Straight , bl:Curved",  # made both ways
        "bl:jawSurface bl:SerratedJaw , bl:TransverseSerration",  # the one is broader than the other
        "bl:usedOn bl:Artery , bl:Vein",  # a feature with many values
    ],
)
def test_what_only_looks_like_a_contradiction_is_none(copy, witness, body):
    file = witness(f"bl:KellyForceps {body} .")
    assert [f for f in findings(copy) if f.file == file] == []


def test_two_sources_that_disagree_are_a_dispute_and_no_error(copy, witness):
    file = witness("bl:KellyForceps bl:serrationExtent bl:FullLengthSerration .")
    assert [f for f in findings(copy) if f.file == file] == []
    record = stage(copy).records["bl:KellyForceps"]
    assert ("bl:serrationExtent", "bl:DistalHalfSerration") in record.facts
    assert record.disputes["bl:serrationExtent"].also_said == ("bl:FullLengthSerration",)


@pytest.mark.parametrize("name", ["bl:curvatur bl:Straight", "bl:curvature bl:Strait", "bl:hasPart bl:Rachet"])
def test_an_unknown_name_in_the_evidence_never_reaches_a_closure(copy, witness, name):
    witness(f"bl:KellyForceps {name} .")
    error = refused(copy)
    assert error.code == "BL-C04"
    assert "src:trial uses an unknown name" in error.message


@pytest.mark.parametrize(
    "text", ["", "weight = 3", "[weight]\ntextbook = 'much'", "[weight]\ntextbook = 4\n[[size]]\nover = 1", "["]
)
def test_weights_that_cannot_be_used_are_refused(copy, text):
    (copy / "adoption.toml").write_text(text, encoding="utf-8")
    error = refused(copy)
    assert error.code == "BL-C04"
    assert "adoption.toml" in error.message


# --- logic that is not admitted --------------------------------------------------------------------------------------
def test_a_construct_that_is_not_admitted_is_named_with_its_place(copy):
    file = copy / "axioms" / "links.ttl"
    text = file.read_text(encoding="utf-8") + "\nbl:Clamp owl:disjointUnionOf ( bl:CrushingClamp bl:NonCrushingClamp ) .\n"
    file.write_text(text, encoding="utf-8")
    found = [f for f in findings(copy) if f.severity == "error"]
    assert found
    assert all(f.code in CODES and f.text for f in found)
    assert any("bl:Clamp: disjoint union" in f.text and f.fix for f in found)


def test_a_stale_closure_is_no_inconsistency():
    stale = Finding("error", "generated", 0, "BL-C03", "the closure is older than its inputs", "Run: boxlock build")
    assert consistent([stale])
    assert not consistent([stale, Finding("error", "", 0, "BL-R04", "HermiT: inconsistent", "")])


def test_an_impossible_category_is_told_where_it_is_defined(copy):
    from kg.check import clashes

    definition = """
bl:OddClamp owl:equivalentClass [ a owl:Class ; owl:intersectionOf ( bl:Pattern bl:CrushingClamp
        [ a owl:Restriction ; owl:onProperty bl:crushing ; owl:hasValue bl:NonCrushing ] ) ] .
"""
    words = """
bl:OddClamp a owl:Class ; bl:termRole "category" ; rdfs:label "odd clamp"@en ; rdfs:subClassOf bl:Pattern ;
    skos:definition "A clamp that crushes and does not."@en ; dcterms:source src:boxlock .
"""
    for folder, text in (("axioms", definition), ("terms", words)):
        file = copy / folder / "categories.ttl"
        file.write_text(file.read_text(encoding="utf-8") + text, encoding="utf-8")
    (found,) = clashes(stage(copy))
    lines = (copy / found.file).read_text(encoding="utf-8").split("\n")
    assert found.file == "axioms/categories.ttl" and lines[found.line - 1].startswith("bl:OddClamp")
    assert found.text.startswith("Nothing can be an odd clamp. Every crushing clamp is crushing.")
