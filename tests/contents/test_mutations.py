"""Broken ontologies must be noticed: each mutation is caught by competency questions or by a consistency check.

Each test changes one thing in a copy, stages it in process (no Java), and asks the competency questions of it.
"""

from __future__ import annotations

import re
import shutil
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from kg.build import Staged, contents, stage
from kg.check import clashes
from kg.closure import QUADS
from kg.evidence.catalogue import Fact
from kg.facts import FactReader
from kg.language.nodes import Not
from kg.reason.horn import ROOT
from kg.sparql.filters import filter_query
from kg.store.embedded import EmbeddedStore
from kg.truth import evaluate, normalise

QUESTIONS = Path(__file__).parents[1] / "questions"
HELD = {1: True, -1: False, 0: "not recorded"}


@pytest.fixture
def copy(ontology_folder: Path, tmp_path: Path) -> Path:
    left_out = shutil.ignore_patterns("generated", "__pycache__")
    return Path(shutil.copytree(ontology_folder, tmp_path / "ontology", ignore=left_out))


@pytest.fixture(scope="module")
def questions(catalogue) -> dict[str, tuple[dict, object]]:
    """The competency questions that ask for patterns or for yes or no, read with the sound words."""
    out = {}
    for file in sorted(QUESTIONS.glob("*.toml")):
        entry = tomllib.loads(file.read_text(encoding="utf-8"))
        tree = catalogue.parse(entry["sentence"])
        if hasattr(tree, "expr") and ("expect" in entry or "holds" in entry):
            out[file.stem.split("-", 1)[1]] = (entry, tree)
    assert len(out) > 70
    return out


def failing(staged: Staged, questions) -> set[str]:
    """The questions whose expectations no longer hold."""
    out = set()
    words = staged.vocabulary
    with EmbeddedStore.from_quads(contents(staged)[QUADS].encode()) as store:
        reader = FactReader(store, words)
        for name, (entry, tree) in questions.items():
            try:
                form = normalise(Not(tree.expr) if getattr(tree, "negated", False) else tree.expr, words)
            except KeyError:  # a category that is no more
                out.add(name)
                continue
            if "holds" in entry:
                known = reader.facts([tree.pattern])[tree.pattern].known
                if HELD[evaluate(form, known, words)] != entry["holds"]:
                    out.add(name)
                continue
            rows = store.select(filter_query(form, words))
            matches = {row["p"].short for row in rows if row["m"].value == "true"}
            if set(entry["expect"]) - matches or set(entry.get("never", ())) & matches:
                out.add(name)
    return out


# What no piece can be at once (common sense of the trade): facts that must clash.
EXCLUSIVE = [
    {("bl:crushing", "bl:Crushing"), ("bl:crushing", "bl:NonCrushing")},
    {("bl:crushing", "bl:Crushing"), ("bl:tissueTrauma", "bl:Atraumatic")},
    {("bl:serrationExtent", "bl:DistalHalfSerration"), ("bl:serrationExtent", "bl:FullLengthSerration")},
    {("bl:serrationExtent", "bl:FullLengthSerration"), ("bl:jawSurface", "bl:SmoothJaw")},
    {("bl:jawSurface", "bl:InterdigitatingRows"), ("bl:jawSurface", "bl:TransverseSerration")},
    {("bl:tipTeeth", "bl:OneByTwoTeeth"), ("bl:tipTeeth", "bl:NoTipTeeth")},
    {("bl:curvature", "bl:Straight"), ("bl:curvature", "bl:RightAngled")},
    {("bl:hasPart", "bl:Ratchet"), ("bl:lacksPart", "bl:Ratchet")},
    {("bl:handle", "bl:RingHandle"), ("bl:lacksPart", "bl:FingerRings")},
    {("bl:handle", "bl:KnifeHandle"), ("bl:hasPart", "bl:Joint")},
    {("bl:handle", "bl:CrossActionHandle"), ("bl:hasPart", "bl:Ratchet")},
    {("bl:purpose", "bl:HoldNeedle"), ("bl:lacksPart", "bl:Jaws")},
]


def holes(staged: Staged) -> list[set]:
    """The pairs above that the axioms let pass."""
    return [pair for pair in EXCLUSIVE if not staged.engine.close([ROOT, *pair]).clashes]


def change(file: Path, pattern: str, replacement: str) -> None:
    """Replaces text that must be there exactly once."""
    text, count = re.subn(pattern, replacement, file.read_text(encoding="utf-8"), flags=re.S)
    assert count == 1, f"{file.name}: {pattern!r} found {count} times"
    file.write_text(text, encoding="utf-8")


def test_the_sound_ontology_passes(staged, questions):
    assert failing(staged, questions) == set()
    assert holes(staged) == []
    assert list(clashes(staged)) == []


# --- mutations that questions catch ----------------------------------------------------------------------------------
def artery_forceps_defined_as_something_else(root: Path) -> None:
    pattern = r"(bl:ArteryForceps owl:equivalentClass[^)]*)bl:ClampVesselToStopBleeding"
    change(root / "axioms/categories.ttl", pattern, r"\1bl:ClampBowel")


def non_crushing_clamps_defined_as_crushing(root: Path) -> None:
    pattern = r"(bl:NonCrushingClamp owl:equivalentClass[^)]*)bl:NonCrushing "
    change(root / "axioms/categories.ttl", pattern, r"\1bl:Crushing ")


def a_condition_left_out(root: Path) -> None:
    """Needle holders with a cutter are then all needle holders."""
    pattern = r"(bl:NeedleHolderWithCutter owl:equivalentClass[^(]*\(\s*bl:Pattern bl:NeedleHolder)\s*\[[^\]]*\]"
    change(
        root / "axioms/categories.ttl",
        pattern,
        r"\1 [ a owl:Restriction ; owl:onProperty bl:hasPart ; owl:hasValue bl:Jaws ]",
    )


def a_value_under_another(root: Path) -> None:
    """Stopping bleeding no longer counts as clamping."""
    change(
        root / "terms/purposes.ttl",
        r"(bl:ClampVesselToStopBleeding a [^.]*skos:broader) bl:Clamping",
        r"\1 bl:Grasping",
    )


def half_counts_as_full(root: Path) -> None:
    pattern = r"(bl:DistalHalfSerration a [^.]*?skos:broader) bl:PartLengthSerration"
    change(root / "terms/jaws.ttl", pattern, r"\1 bl:FullLengthSerration")


def a_broader_value_lost(root: Path) -> None:
    """Interdigitating rows no longer count as lengthwise, nor as serrated."""
    pattern = r"(bl:InterdigitatingRows a [^.]*?); skos:broader bl:LongitudinalSerration "
    change(root / "terms/jaws.ttl", pattern, r"\1")


def atraumatic_says_nothing_of_crushing(root: Path) -> None:
    """The rule "what is atraumatic does not crush" is deleted."""
    change(root / "axioms/links.ttl", r"bl:With-tissueTrauma-Atraumatic rdfs:subClassOf\s*\[[^\]]*\] \.\n", "")


def several_extents_at_once(root: Path) -> None:
    """The extent of the serration becomes a feature with many values: its values no longer exclude each other."""
    change(root / "terms/jaws.ttl", r"(bl:serrationExtent a owl:ObjectProperty.*?bl:choice bl:)Single", r"\1Multi")


def a_witness_turned_round(root: Path) -> None:
    """One word in one evidence file: the towel clip of the chapter no longer has sharp points."""
    pattern = r"(bl:BackhausTowelClip.*?)bl:tipTeeth bl:PerforatingPoints"
    for file in (root / "evidence").glob("*.ttl"):
        text = file.read_text(encoding="utf-8")
        file.write_text(re.sub(pattern, r"\1bl:tipTeeth bl:NoTipTeeth", text, count=1, flags=re.S), encoding="utf-8")


def other_weights(root: Path) -> None:
    """Textbooks count more than all others: for the Allis forceps as many say the one thing as the other."""
    change(root / "adoption.toml", r"textbook = 4", "textbook = 90")


CAUGHT: list[tuple[Callable[[Path], None], set[str]]] = [
    (artery_forceps_defined_as_something_else, {"haemostats-serrated-over-only-half-the-jaw"}),
    (non_crushing_clamps_defined_as_crushing, {"non-crushing-clamps-with-longitudinal-serration"}),
    (a_condition_left_out, {"needle-holders-with-a-suture-cutter"}),
    (a_value_under_another, {"crushing-clamps", "clamps-used-on-pedicles"}),
    (half_counts_as_full, {"is-the-crile-serrated-over-half-the-jaw"}),
    (a_broader_value_lost, {"vascular-clamps-with-longitudinal-serration"}),
    (atraumatic_says_nothing_of_crushing, {"clamps-that-do-not-crush-and-have-no-ratchet"}),
    (several_extents_at_once, {"is-the-crile-serrated-over-half-the-jaw"}),
    (a_witness_turned_round, {"towel-clips-with-perforating-points"}),
    (other_weights, {"is-the-allis-traumatic"}),
]


@pytest.mark.parametrize(("mutate", "caught_by"), [pytest.param(*c, id=c[0].__name__) for c in CAUGHT])
def test_questions_catch(copy, questions, mutate, caught_by):
    mutate(copy)
    assert caught_by <= failing(stage(copy), questions)


def test_questions_catch_a_deleted_definition(copy, questions):
    """Without its axiom "artery forceps" is an empty word, and so are the categories below it."""
    change(copy / "axioms/categories.ttl", r"bl:ArteryForceps owl:equivalentClass[^)]*\) \] \.\n", "")
    broken = stage(copy)
    lost = {n for n, (_, tree) in questions.items() if re.search(r"'bl:\w*ArteryForceps'", repr(tree))}
    assert len(lost) > 10
    assert lost - {"is-the-satinsky-clamp-an-artery-forceps"} <= failing(broken, questions)
    assert not any("ArteryForceps" in category for types in broken.types().values() for category in types)


# --- mutations that the consistency check catches --------------------------------------------------------------------
def parts_there_and_absent(root: Path) -> None:
    change(root / "axioms/parts.ttl", r"bl:hasPart owl:propertyDisjointWith bl:lacksPart \.", "")


def full_serration_of_smooth_jaws(root: Path) -> None:
    pattern = r"bl:With-serrationExtent-FullLengthSerration rdfs:subClassOf\s*\[[^\]]*\] \.\n"
    change(root / "axioms/links.ttl", pattern, "")


def rings_on_self_closing_handles(root: Path) -> None:
    change(root / "axioms/links.ttl", r"bl:With-handle-CrossActionHandle rdfs:subClassOf.*?\] \.\n", "")


def hinged_knife_handles(root: Path) -> None:
    change(root / "axioms/links.ttl", r"bl:With-handle-KnifeHandle rdfs:subClassOf.*?\] \.\n", "")


def crushing_clamps_that_do_no_harm(root: Path) -> None:
    """Both ways from "crushing" to "not atraumatic" are cut."""
    change(root / "axioms/links.ttl", r"bl:With-crushing-Crushing rdfs:subClassOf\s*\[[^\]]*\] \.\n", "")
    atraumatic_says_nothing_of_crushing(root)


@pytest.mark.parametrize(
    ("mutate", "number"),
    [
        (parts_there_and_absent, 5),
        (several_extents_at_once, 1),
        (full_serration_of_smooth_jaws, 1),
        (rings_on_self_closing_handles, 1),
        (hinged_knife_handles, 1),
        (crushing_clamps_that_do_no_harm, 1),
    ],
)
def test_facts_that_exclude_each_other_no_longer_clash(copy, mutate, number):
    mutate(copy)
    assert len(holes(stage(copy))) == number


def test_a_forced_contradiction_is_reported(staged):
    """The check names the pattern and the facts if adoption should ever let two of them through."""
    record = staged.records["bl:KellyForceps"]
    literal = ("bl:serrationExtent", "bl:FullLengthSerration")
    broken = replace(record, facts=record.facts | {literal: Fact(literal, "own", record.pattern)})
    found = list(clashes(replace(staged, records={"bl:KellyForceps": broken})))
    assert found
    assert all(f.severity == "error" and f.code == "BL-R04" and "bl:KellyForceps" in f.text for f in found)
    sides = ("serrated over the full length", "serrated over the distal half")
    assert any(all(f"The Kelly forceps is {side}" in f.text for side in sides) for f in found)
