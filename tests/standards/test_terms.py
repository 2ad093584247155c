"""Device classes, regulations and permitted steels against the published regulation and standards.

Sources: US Code of Federal Regulations, Title 21 (section beside each row); FDA product classification, 2019;
ASTM F1026-86 (2022), F1325-91 (2023), F1079-87 (2008) for steels; ASTM F899-12, table 1, for classes of steel.
"""

from __future__ import annotations

import pytest

# pattern, device class, section that names its kind
CLASSES = [
    ("KellyForceps", "I", "8784800"),  # 878.4800: hemostat, clamp, forceps; product codes GDJ, GEN
    ("MayoScissors", "I", "8784800"),  # product code LRW, Scissors, General, Surgical
    ("MayoHegarNeedleHolder", "I", "8764730"),  # 876.4730 names the needle holder
    ("ScalpelBlade10", "I", "8784800"),  # 878.4800: scalpel blade; GES
    ("ScalpelHandle3", "I", "8784800"),  # 878.4800: scalpel handle; GDZ
    ("BalfourRetractor", "I", "8784800"),  # 878.4800: retractor
    ("MacintoshLaryngoscope", "I", "8685540"),  # product code CCW, Laryngoscope, Rigid
    ("OropharyngealAirway", "I", "8685110"),  # 868.5110: Class I
    ("FoleyCatheter", "II", "8765130"),  # 876.5130: Class II
    ("SimpsonForceps", "II", "8844400"),  # 884.4400: Class II
    ("TenaculumForceps", "II", "8844530"),  # product code HDC, Tenaculum, Uterine
    ("RaneyClip", "II", "8824150"),  # 882.4150 Scalp clip: Class II
    ("TuohyNeedle", "II", "8685150"),  # 868.5150; product code class 2
    ("BarronLigator", "II", "8764400"),  # 876.4400 Hemorrhoidal ligator: Class II
]
STEELS = {
    "KellyForceps": "410 410X 416 416Mod 420A 420B",  # ASTM F1026-86
    "MayoHegarNeedleHolder": "410 410X 416 420A 420B 420C 420F 420FMod 440B",  # ASTM F1325-91
    "MayoScissors": "410 410K 416 420 420A 420B",  # ASTM F1079-87
}


def holds(catalogue, pattern: str) -> frozenset:
    return catalogue.context.reader.facts([pattern])[pattern].known.holds


@pytest.mark.parametrize(("pattern", "wanted", "section"), CLASSES, ids=lambda v: str(v))
def test_device_class_and_section(fresh, pattern, wanted, section):
    name = next((t.name for t in fresh.vocabulary.by_role("pattern") if t.name.startswith(f"bl:{pattern}")), "")
    assert name, f"{pattern} is no pattern"
    known = holds(fresh, name)
    assert ("bl:deviceClass", f"bl:DeviceClass{wanted}") in known
    assert ("bl:regulation", f"bl:Regulation{section}") in known


@pytest.mark.parametrize("pattern", STEELS)
def test_permitted_steels_are_those_of_the_standard(fresh, pattern):
    found = {v for f, v in holds(fresh, f"bl:{pattern}") if f == "bl:permittedSteel" and v.startswith("bl:Grade")}
    assert found == {f"bl:Grade{g}Steel" for g in STEELS[pattern].split()}


def test_grades_stand_under_their_class(fresh):
    # ASTM F899-12, table 1: all grades named in the three standards are of class 4, martensitic.
    for grades in STEELS.values():
        for grade in grades.split():
            assert "bl:Class4Steel" in fresh.vocabulary.ancestors(f"bl:Grade{grade}Steel")


def test_metal_and_plastic_vaginal_specula_differ_in_class(fresh):
    # 884.4520: metal vaginal speculum, class I; 884.4530, product code HIB: nonmetal speculum, class II.
    said = {(w.mode, w.value) for w in fresh.context.reader.witnesses("kind:VaginalSpeculum", "bl:deviceClass")}
    assert said == {("some", "bl:DeviceClassI"), ("some", "bl:DeviceClassII")}


@pytest.mark.parametrize(
    ("text", "expect", "never"),
    [
        ("instruments in device class II", ["bl:FoleyCatheter", "bl:SimpsonForceps"], ["bl:KellyForceps", "bl:MayoScissors"]),
        ("class 2 devices", ["bl:FoleyCatheter"], ["bl:KellyForceps"]),
        ("instruments named in 21 CFR 884.4400", ["bl:SimpsonForceps"], ["bl:KellyForceps"]),
        ("scissors that may be made of 420A steel", ["bl:MayoScissors"], ["bl:KellyForceps"]),
        ("critical devices", ["bl:KellyForceps", "bl:ScalpelBlade10"], ["bl:MacintoshLaryngoscope"]),
    ],
)
def test_questions_answer(fresh, text, expect, never):
    found = {m.name for m in fresh.ask(text, limit=1000).matches}
    assert set(expect) <= found
    assert not set(never) & found


def test_which_steel_may_a_needle_holder_be_made_of(fresh):
    answer = fresh.ask("which steel may a needle holder be made of")
    labels = {v.label.rpartition(" (")[0] for v in answer.values}
    assert labels >= {"grade 410 steel", "grade 420C steel", "grade 440B steel"}  # ASTM F1325-91
    assert "grade 410K steel" not in labels  # only in ASTM F1079-87, for scissors
    assert all(any("F1325" in s for s in v.sources) for v in answer.values if v.status == "adopted")


def test_what_spaulding_critical_means(fresh):
    # CDC 2008: critical items enter sterile tissue or the vascular system and have to be sterile.
    answer = fresh.ask("what does Spaulding critical mean")
    assert answer.kind == "define"
    assert "sterile tissue" in answer.values[0].label and "vascular" in answer.values[0].label
    assert any("Guideline for Disinfection" in s for s in answer.values[0].sources)


def test_evidence_is_in_the_canonical_form(ontology_folder):
    from kg import load
    from kg.evidence.statements import read_sources, read_statements
    from kg.evidence.table import to_turtle

    files = [f for f in load.load(ontology_folder).files if f.role == "evidence"]
    ours = [f for f in files if f.path.endswith(("-device-class.ttl", "-steels.ttl")) or "heat-sensitive" in f.path]
    assert len(ours) > 20
    sources = read_sources(files)
    for file in ours:
        said = read_statements(file)
        assert (ontology_folder / file.path).read_text(encoding="utf-8") == to_turtle(sources[said[0].source], said)
