"""A small catalogue: the shipped terms and axioms with made-up patterns, so that whole answers stay the same."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

PREFIXES = "".join(
    f"@prefix {p}: <{iri}> .\n"
    for p, iri in {
        "bl": "https://boxlock.example/ns#",
        "src": "https://boxlock.example/source/",
        "some": "https://boxlock.example/some/",
        "not": "https://boxlock.example/not/",
        "owl": "http://www.w3.org/2002/07/owl#",
        "rdfs": "http://www.w3.org/2000/01/rdf-schema#",
        "skos": "http://www.w3.org/2004/02/skos/core#",
        "dcterms": "http://purl.org/dc/terms/",
    }.items()
)

PATTERNS = """
bl:AlderClamp a owl:NamedIndividual , bl:Pattern ; rdfs:label "Alder clamp"@en ;
    skos:definition "A made-up clamp."@en ; dcterms:source src:book .
bl:BirchClamp a owl:NamedIndividual , bl:Pattern ; rdfs:label "Birch clamp"@en ;
    skos:definition "A made-up clamp."@en ; dcterms:source src:book .
bl:CedarScissors a owl:NamedIndividual , bl:Pattern ; rdfs:label "Cedar scissors"@en ;
    skos:definition "Made-up scissors."@en ; dcterms:source src:book .
bl:ElmHolder a owl:NamedIndividual , bl:Pattern ; rdfs:label "Elm holder"@en ;
    skos:definition "A made-up needle holder."@en ; dcterms:source src:book .
"""

EVIDENCE = {
    "book": (
        "A made-up book",
        "textbook",
        """
bl:AlderClamp bl:purpose bl:ClampBowel ; bl:tissueTrauma bl:Atraumatic ; bl:jawSurface bl:LongitudinalSerration .
bl:BirchClamp bl:purpose bl:ClampBowel ; bl:crushing bl:Crushing ; bl:jawSurface bl:LongitudinalSerration .
bl:CedarScissors bl:purpose bl:CutTissue ; bl:joint bl:LapJoint ; bl:bladeTips bl:SharpSharpTips .
bl:ElmHolder bl:purpose bl:HoldNeedle ; bl:handle bl:RingHandle .
""",
    ),
    "page": (
        "A made-up page",
        "teaching site",
        """
bl:AlderClamp bl:crushing bl:NonCrushing .
bl:BirchClamp bl:jawSurface bl:CrissCrossSerration .
bl:ElmHolder bl:hasPart bl:FingerRings ; not:usedOn bl:Bowel ; bl:shortestLength 150.0 ; bl:longestLength 180.0 .
""",
    ),
}


@pytest.fixture(scope="session")
def small_folder(tmp_path_factory: pytest.TempPathFactory, ontology_folder: Path) -> Path:
    """The folder of the small ontology."""
    root = tmp_path_factory.mktemp("small") / "ontology"
    left_out = shutil.ignore_patterns("generated", "__pycache__", "patterns", "evidence")
    shutil.copytree(ontology_folder, root, ignore=left_out)
    for folder in ("patterns", "evidence"):
        (root / folder).mkdir()
    (root / "patterns" / "made-up.ttl").write_text(PREFIXES + PATTERNS, encoding="utf-8")
    for name, (title, kind, said) in EVIDENCE.items():
        source = f'src:{name} a bl:Source ; dcterms:title "{title}" ; bl:sourceKind "{kind}" ; bl:field "human" .\n'
        (root / "evidence" / f"{name}.ttl").write_text(PREFIXES + source + said, encoding="utf-8")
    return root


@pytest.fixture(scope="session")
def small(small_folder: Path, tmp_path_factory: pytest.TempPathFactory):
    """The small catalogue, built in process and opened."""
    from kg.build import build
    from kg.catalogue import Catalogue
    from kg.closure import read_stamp

    folder = tmp_path_factory.mktemp("generated")
    build(small_folder, folder, hermit=False)
    opened = Catalogue(small_folder, folder, read_stamp(folder), None)
    yield opened
    opened.close()


@pytest.fixture(scope="session")
def small_staged(small_folder: Path):
    from kg.build import stage

    return stage(small_folder)


@pytest.fixture
def told(small):
    """``told(question)``: the answer as plain text, 100 columns, without what stands under every answer."""
    from kg import CAUTION, answer_lines, plain

    def ask(question: str) -> str:
        answer = replace(small.ask(question), next_questions=())  # what to ask next is tested elsewhere
        lines = plain(answer_lines(answer, 100)).splitlines()
        kept = [line for line in lines if not line.startswith("Inferences ") and line != CAUTION]
        return "\n".join(kept).strip() + "\n"

    return ask
