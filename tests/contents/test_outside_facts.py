"""The catalogue against published sources outside the project, the source beside each fact.

Facts marked "common practice" have no published source that was found, and those marked "from memory" were not looked
up when they were written down; both are few and say so. A veterinary source is marked (vet).
"""

from __future__ import annotations

import pytest

from kg.language.nodes import Has, HasPart, IsA, Length, Not, Or
from kg.truth import evaluate, normalise

F921 = "ASTM F921, Standard Terminology Relating to Hemostatic Forceps"
F1078 = "ASTM F1078, Terminology for Surgical Scissors"
F1026 = "ASTM F1026-86, General Workmanship and Performance Measurements of Hemostatic Forceps"
F1325 = "ASTM F1325-91, Stainless Steel Suture Needle Holders"
F1079 = "ASTM F1079-87, Inserted and Noninserted Surgical Scissors"
CDC = "CDC/HICPAC, Guideline for Disinfection and Sterilization in Healthcare Facilities, 2008"
SPAULDING = "American Academy of Pediatrics, table of the Spaulding categories"
VSO_HAEMOSTATS = "VetSurgeryOnline, Hemostatic Forceps (vet)"
VSO_NEEDLE = "VetSurgeryOnline, Needle Holders (vet)"
VSO_TISSUE = "VetSurgeryOnline, Tissue Forceps (vet)"
VSO_THUMB = "VetSurgeryOnline, Thumb Forceps (vet)"
VSO_TOWEL = "VetSurgeryOnline, Towel Clamps (vet)"
VSO_SCISSORS = "VetSurgeryOnline, Scissors (vet)"
VSO_SCALPEL = "VetSurgeryOnline, Scalpels (vet)"
VSO_OTHER = "VetSurgeryOnline, Other Forceps (vet)"
BSAVA = "BSAVA Manual of Canine and Feline Head, Neck and Thoracic Surgery, p. 16 (vet)"
ZOO = "Zoo Animal Learning and Training, table 14.1 (vet)"
OPERATIVE = "Operative Review of Surgery, Surgical Technology: Grasping Instruments"
PRIMARY = "Primary Surgery, lists of forceps, scalpels and scissors"
PENN = "University of Pennsylvania, Surgery Instruments: Forceps (vet)"
WIKI_SCISSORS = "Wikipedia, Surgical scissors"
WIKI_SCALPEL = "Wikipedia, Scalpel"
GYNAE = "Instrumentation, ch. 3 of a text on gynaecologic surgery"
SLIDES = "Surgery Instruments part A, lecture slides"
DOYEN = "surgicalunits.com, Doyen's intestinal clamp"


def has(value: str, feature: str = "") -> Has:
    return Has(f"bl:{feature}", f"bl:{value}")


def part(name: str) -> HasPart:
    return HasPart(f"bl:{name}")


def a(category: str) -> IsA:
    return IsA(f"bl:{category}")


# Source, pattern, description, 1 so / 0 of some pieces or not known / -1 not so.
FACTS = [
    # --- the parts of haemostatic forceps
    (F921, "KellyForceps", part("Jaws"), 1),
    (F921, "KellyForceps", part("Ratchet"), 1),
    (F921, "KellyForceps", part("Shank"), 1),
    (F921, "KellyForceps", part("FingerRings"), 1),
    (F921, "KellyForceps", has("BoxLock", "joint"), 1),
    (F921, "KellyForceps", has("SerratedJaw", "jawSurface"), 1),
    (F921, "CrileForceps", part("FingerRings"), 1),
    (F921, "CrileForceps", has("BoxLock", "joint"), 1),
    (F921, "RochesterOchsnerForceps", part("Ratchet"), 1),
    (F921, "HalstedMosquitoForceps", a("RingHandledInstrument"), 1),
    # --- the parts of scissors
    (F1078, "MayoScissors", part("Blade"), 1),
    (F1078, "MayoScissors", part("CuttingEdge"), 1),
    (F1078, "MayoScissors", part("Joint"), 1),
    (F1078, "MayoScissors", part("Shank"), 1),
    (F1078, "MayoScissors", part("FingerRings"), 1),
    (F1078, "MetzenbaumScissors", has("LapJoint", "joint"), 1),  # "a screw holds the blades so they pivot"
    (F1078, "MetzenbaumScissors", has("BoxLock", "joint"), -1),
    # --- reprocessing
    (CDC, "KellyForceps", a("CriticalDevice"), 1),
    (CDC, "ScalpelHandle3", has("Critical", "spaulding"), 1),
    (CDC, "MayoScissors", has("SteamSterilisation", "sterilisationMethod"), 1),
    (SPAULDING, "BabcockForceps", has("Critical", "spaulding"), 1),
    # Noncritical is what touches intact skin only: an artery forceps enters tissue.
    (SPAULDING, "KellyForceps", has("Noncritical", "spaulding"), -1),
    # --- Kelly, Crile and the other haemostats
    (VSO_HAEMOSTATS, "KellyForceps", has("DistalHalfSerration", "serrationExtent"), 1),
    (BSAVA, "KellyForceps", has("DistalHalfSerration", "serrationExtent"), 1),
    (OPERATIVE, "KellyForceps", has("FullLengthSerration", "serrationExtent"), -1),
    (VSO_HAEMOSTATS, "CrileForceps", has("FullLengthSerration", "serrationExtent"), 1),
    (OPERATIVE, "CrileForceps", has("PartLengthSerration", "serrationExtent"), -1),
    (ZOO, "HartmannMosquitoForceps", has("FullLengthSerration", "serrationExtent"), 1),
    (BSAVA, "KellyForceps", has("TransverseSerration", "jawSurface"), 1),
    (BSAVA, "CrileForceps", has("TransverseSerration", "jawSurface"), 1),
    (BSAVA, "HalstedMosquitoForceps", has("FineTip", "tipShape"), 1),
    (VSO_HAEMOSTATS, "HalstedMosquitoForceps", has("Pedicle", "usedOn"), -1),
    (VSO_HAEMOSTATS, "HalstedMosquitoForceps", has("Crushing", "crushing"), 1),
    (VSO_HAEMOSTATS, "KellyForceps", Or((has("Straight", "curvature"), has("Curved", "curvature"))), 1),
    (VSO_HAEMOSTATS, "KellyForceps", has("Curved", "curvature"), 0),  # made both ways
    (ZOO, "RochesterCarmaltForceps", has("LongitudinalWithCrossHatchedTip", "jawSurface"), 1),
    (VSO_HAEMOSTATS, "RochesterCarmaltForceps", a("CrushingClamp"), 1),
    (BSAVA, "RochesterPeanForceps", has("HeavyBuild", "build"), 1),
    (BSAVA, "RochesterPeanForceps", has("Pedicle", "usedOn"), 1),
    (VSO_OTHER, "RochesterOchsnerForceps", a("ToothedArteryForceps"), 1),
    (PRIMARY, "RochesterOchsnerForceps", has("Traumatic", "tissueTrauma"), 1),
    (OPERATIVE, "MixterForceps", a("RightAngledForceps"), 1),
    (BSAVA, "MixterForceps", has("PassLigature", "usedFor"), 1),
    (BSAVA, "KellyForceps", Length("between", 127.0, 177.8), 1),  # 14 cm; Operative Review: 5 to 7 inches
    (OPERATIVE, "HalstedMosquitoForceps", Length("<", 177.8), 1),  # 3 to 5 inches
    ("common practice", "KellyForceps", a("ToothedArteryForceps"), -1),
    ("common practice", "CrileForceps", has("NoTipTeeth", "tipTeeth"), 1),
    # --- bowel clamps
    (DOYEN, "DoyenIntestinalClamp", a("NonCrushingIntestinalClamp"), 1),
    (DOYEN, "DoyenIntestinalClamp", has("LongitudinalSerration", "jawSurface"), 1),
    (VSO_TISSUE, "DoyenIntestinalClamp", has("BowedJaws", "jawShape"), 1),
    (VSO_TISSUE, "DoyenIntestinalClamp", Length(">=", 165.1), 1),  # 6.5 to 9 inches
    ("Surgical atlas, gastrectomy with a Payr clamp", "PayrClamp", a("CrushingIntestinalClamp"), 1),
    # --- vessel clamps
    ("Wikipedia, Bulldog forceps", "BulldogClamp", has("SerratedJaw", "jawSurface"), 1),
    ("Vascular bulldog clamp (instrument notes)", "BulldogClamp", part("Ratchet"), -1),
    ("Forceps (dictionary entry)", "BulldogClamp", has("CrossActionHandle", "handle"), 1),
    ("World J Surg, history of haemostatic forceps", "SatinskyClamp", has("TangentialOcclusion", "usedFor"), 1),
    ("From memory: a Satinsky clamp is bent, never straight", "SatinskyClamp", has("Straight", "curvature"), -1),
    # --- tissue and thumb forceps
    (PENN, "AllisForceps", has("InterlockingTeeth", "tipTeeth"), 1),
    (BSAVA, "AllisForceps", has("Traumatic", "tissueTrauma"), 1),
    (PENN, "BabcockForceps", has("TipTeeth", "tipTeeth"), -1),
    (PENN, "BabcockForceps", has("Atraumatic", "tissueTrauma"), 1),
    (PRIMARY, "BabcockForceps", part("Ratchet"), 1),
    (GYNAE, "BabcockForceps", has("FallopianTube", "usedOn"), 1),
    ("Wikipedia, Pennington clamp", "PenningtonClamp", has("FenestratedJaws", "fenestration"), 1),
    (OPERATIVE, "AdsonBrownForceps", has("FineTeethRows", "tipTeeth"), 1),
    (VSO_THUMB, "AdsonBrownForceps", a("ToothedThumbForceps"), 1),
    (VSO_THUMB, "RatToothForceps", has("InterlockingTeeth", "tipTeeth"), 1),
    ("VSAC 205, Lab 1 (vet)", "RatToothForceps", has("DelicateTissue", "notUsedOn"), 1),
    (OPERATIVE, "DeBakeyForceps", has("InterdigitatingRows", "jawSurface"), 1),
    (VSO_THUMB, "DeBakeyForceps", has("LongitudinalSerration", "jawSurface"), 1),
    (VSO_THUMB, "DeBakeyForceps", part("Ratchet"), -1),  # thumb forceps do not lock
    (VSO_THUMB, "PlainDissectingForceps", has("PencilGrip", "grip"), 1),
    (PRIMARY, "TrevesForceps", has("OneByTwoTeeth", "tipTeeth"), 1),
    (PRIMARY, "McIndoeForceps", has("TipTeeth", "tipTeeth"), -1),
    # --- needle holders
    (VSO_NEEDLE, "OlsenHegarNeedleHolder", a("NeedleHolderWithCutter"), 1),
    (VSO_NEEDLE, "MayoHegarNeedleHolder", part("SutureCutter"), -1),  # what tells it from Olsen-Hegar
    (VSO_NEEDLE, "MathieuNeedleHolder", has("PalmGrip", "grip"), 1),
    (VSO_NEEDLE, "MathieuNeedleHolder", part("Ratchet"), 1),
    (VSO_NEEDLE, "CastroviejoNeedleHolder", part("SpringLatch"), 1),
    ("Wikipedia, Needle holder", "CastroviejoNeedleHolder", has("Microsurgery", "procedure"), 1),
    ("BAPRAS/162, Gillies needle holders", "GilliesNeedleHolder", part("Ratchet"), -1),
    ("BAPRAS/162, Gillies needle holders", "GilliesNeedleHolder", part("SutureCutter"), 1),
    ("BAPRAS/162, Gillies needle holders", "GilliesNeedleHolder", part("FingerRings"), 1),
    # --- towel clips and sponge forceps
    (VSO_TOWEL, "BackhausTowelClip", a("PerforatingTowelClip"), 1),
    (VSO_TOWEL, "NonPerforatingTowelClip", a("PerforatingTowelClip"), -1),
    (VSO_TOWEL, "RoederTowelClip", part("BallStops"), 1),
    (SLIDES, "BackhausTowelClip", part("Ratchet"), 1),
    (SLIDES, "RampleySpongeForceps", has("FenestratedJaws", "fenestration"), 1),
    ("WikiMD, Foerster clamp", "FoersterSpongeForceps", part("Ratchet"), 1),
    # --- scissors
    (WIKI_SCISSORS, "IrisScissors", a("SharpSharpScissors"), 1),
    (WIKI_SCISSORS, "MayoScissors", a("BluntBluntScissors"), 1),
    (WIKI_SCISSORS, "MetzenbaumScissors", has("SharpSharpTips", "bladeTips"), -1),
    (VSO_SCISSORS, "MayoScissors", has("HeavyBuild", "build"), 1),
    (VSO_SCISSORS, "MetzenbaumScissors", has("BluntDissection", "usedFor"), 1),
    (VSO_SCISSORS, "OperatingScissorsSharpBlunt", a("SharpBluntScissors"), 1),
    ("Stitch scissors (instrument notes)", "SpencerStitchScissors", has("HookedTip", "bladeTips"), 1),
    (VSO_SCISSORS, "MetzenbaumScissors", part("Ratchet"), -1),
    # --- scalpels
    (PRIMARY, "ScalpelBlade11", has("PointedBlade", "bladeEdge"), 1),
    (PRIMARY, "ScalpelBlade22", has("LargeCurvedEdge", "bladeEdge"), 1),
    (PRIMARY, "ScalpelBlade15", has("SmallCurvedEdge", "bladeEdge"), 1),
    (WIKI_SCALPEL, "ScalpelBlade12", has("HookedBlade", "bladeEdge"), 1),
    (VSO_SCALPEL, "ScalpelBlade15", has("ScalpelHandle7", "fits"), 1),
    (VSO_SCALPEL, "ScalpelBlade11", has("ScalpelHandle7", "fits"), 1),
    ("common practice", "ScalpelHandle3", Not(part("Jaws")), 1),
]


@pytest.mark.parametrize(
    ("source", "pattern", "expr", "value"),
    [pytest.param(*f, id=f"{n:03d}-{f[1]}") for n, f in enumerate(FACTS, 1)],
)
def test_the_catalogue_agrees_with(catalogue, source, pattern, expr, value):
    name = f"bl:{pattern}"
    known = catalogue.context.reader.facts([name])[name].known
    assert evaluate(normalise(expr, catalogue.vocabulary), known, catalogue.vocabulary) == value, source


def test_there_are_enough_and_few_without_a_source():
    weak = [f for f in FACTS if f[0].startswith(("common practice", "From memory"))]
    assert len(FACTS) - len(weak) >= 32
    assert len(weak) <= 5
    assert len({f[0] for f in FACTS}) >= 20


@pytest.mark.parametrize(
    ("source", "handle", "blades"),
    [
        (WIKI_SCALPEL, "ScalpelHandle3", ("10", "11", "12", "15")),
        (VSO_SCALPEL, "ScalpelHandle3", ("10", "11", "12", "12B", "15", "15C")),
        (PRIMARY, "ScalpelHandle4", ("20", "21", "22", "23", "24")),
        (PRIMARY, "ScalpelHandle5", ("10", "11", "12", "15")),
    ],
)
def test_the_blades_that_a_handle_takes(catalogue, source, handle, blades):
    facts = catalogue.context.reader.facts(sorted(t.name for t in catalogue.vocabulary.by_role("pattern")))
    fitting = {p for p, f in facts.items() if ("bl:fits", f"bl:{handle}") in f.known.holds}
    assert {f"bl:ScalpelBlade{b}" for b in blades} <= fitting, source
    # The two sizes of fitting never mix: "larger fitment than No. 3" (VetSurgeryOnline, Scalpels).
    other = {"10", "11", "12", "12B", "15", "15C"} if handle == "ScalpelHandle4" else {"20", "21", "22", "23", "24"}
    assert not {f"bl:ScalpelBlade{b}" for b in other} & fitting, source


def test_no_steel_but_those_the_standards_permit(catalogue):
    """F1026 (haemostatic forceps), F1325 (needle holders) and F1079 (scissors) permit grades of martensitic stainless
    steel (410, 416, 420, some 440) only; a source may say less, such as "stainless steel". Of what is no steel (umbilical
    scissors are made of plastic too, to be thrown away) they say nothing."""
    steels = catalogue.vocabulary.subtree("bl:Steel")
    permitted = {"bl:MartensiticStainlessSteel", *catalogue.vocabulary.ancestors("bl:MartensiticStainlessSteel")}
    facts = catalogue.context.reader.facts(sorted(t.name for t in catalogue.vocabulary.by_role("pattern")))
    seen = set()
    for source, category in ((F1026, "bl:ArteryForceps"), (F1325, "bl:NeedleHolder"), (F1079, "bl:Scissors")):
        for pattern, found in facts.items():
            if ("rdf:type", category) in found.known.holds:
                recorded = {v for f, v in found.known.holds if f == "bl:material"}
                recorded |= set(found.known.varies.get("bl:material", ()))
                assert recorded & steels <= permitted, (source, pattern)
                seen |= recorded
    assert "bl:MartensiticStainlessSteel" in seen


@pytest.mark.parametrize(
    ("source", "one", "other", "feature"),
    [
        (VSO_HAEMOSTATS, "KellyForceps", "CrileForceps", "extent of the serration"),
        (PRIMARY, "AllisForceps", "BabcockForceps", "tip teeth"),
        (VSO_NEEDLE, "MayoHegarNeedleHolder", "OlsenHegarNeedleHolder", "suture cutter"),
        ("The Basic Surgery Kit (vet)", "MayoScissors", "MetzenbaumScissors", "build"),
        (VSO_TOWEL, "BackhausTowelClip", "RoederTowelClip", "ball stops"),
        ("Veterinary text on needle holders: palmed against ringed handles", "MathieuNeedleHolder",
         "MayoHegarNeedleHolder", "grip"),
    ],
)  # fmt: skip
def test_what_tells_look_alikes_apart(catalogue, source, one, other, feature):
    from kg.language.nodes import Compare

    answer = catalogue.answer(Compare((f"bl:{one}", f"bl:{other}")))
    assert feature in {d.feature for d in answer.comparison.differences if d.decides}, source


@pytest.mark.parametrize(
    ("pattern", "feature", "sides"),
    [
        # Traumatic: BSAVA, VetSurgeryOnline. Atraumatic: zoo text, two gynaecological texts.
        ("AllisForceps", "tissue trauma", {"traumatic", "atraumatic"}),
        # Lengthwise: surgicalunits. Criss-cross: a teaching tradition (common practice).
        ("DoyenIntestinalClamp", "jaw surface", {"longitudinal serration", "criss-cross serration"}),
        # None: Primary Surgery. Heavy teeth: Operative Review.
        ("BonneyForceps", "tip teeth", {"no teeth at the tip"}),
        # Rows: a maker's page. Cross-hatched: an article on the Cooley clamp.
        ("DeBakeyVascularClamp", "jaw surface", {"criss-cross serration"}),
    ],
)
def test_known_disagreements_of_the_sources_are_shown(catalogue, pattern, feature, sides):
    from kg.language.nodes import Disputes, Named

    answer = catalogue.answer(Disputes(Named(f"bl:{pattern}")))
    found = [d for d in answer.disputed if d.name == f"bl:{pattern}" and d.feature == feature]
    assert len(found) == 1
    said = {q.value for q in found[0].also_said} | {found[0].adopted.value}
    assert sides <= said
    assert all(q.sources for q in found[0].also_said)
