"""A small vocabulary made by hand, and the shipped one where it has been built."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from kg.language import Lexicon
from kg.vocabulary import Feature, Term, Vocabulary

ROOT = Path(__file__).resolve().parents[2]
WORDS = ROOT / "ontology" / "lexicon" / "en.toml"
GENERATED = ROOT / "ontology" / "generated" / "vocabulary.json"

# name | label | synonyms | parent
PATTERNS = """
KellyForceps | Kelly forceps | Kelly; Kelly clamp |
CurvedKellyForceps | curved Kelly forceps | curved Kelly | KellyForceps
CrileForceps | Crile forceps | Crile |
HalstedMosquitoForceps | Halsted mosquito forceps | mosquito forceps; mosquito |
SpencerWellsForceps | Spencer Wells forceps | Spencer Wells |
RochesterOchsnerForceps | Rochester-Ochsner forceps | Kocher forceps; Kocher; Ochsner |
KocherIntestinalClamp | Kocher intestinal clamp | Kocher; Kocher bowel clamp |
RochesterPeanForceps | Rochester-Péan forceps | Pean |
DoyenIntestinalClamp | Doyen intestinal clamp | Doyen clamp; Doyen |
SatinskyClamp | Satinsky clamp | |
DeBakeyForceps | DeBakey thumb forceps | DeBakey; DeBakey forceps |
DeBakeyClamp | DeBakey vascular clamp | DeBakey; DeBakey clamp |
AllisForceps | Allis tissue forceps | Allis; Allis forceps |
BabcockForceps | Babcock tissue forceps | Babcock |
MayoHegarNeedleHolder | Mayo-Hegar needle holder | Mayo-Hegar |
MathieuNeedleHolder | Mathieu needle holder | Mathieu |
MayoScissors | Mayo scissors | |
ScalpelHandle3 | scalpel handle no. 3 | no. 3 |
ScalpelBlade10 | blade 10 | no. 10; number 10 blade |
"""

# name | label | plural | synonyms
CATEGORIES = """
Clamp | clamp | clamps |
ArteryForceps | artery forceps | artery forceps | haemostat; haemostatic forceps
ToothedArteryForceps | toothed artery forceps | toothed artery forceps | artery forceps with teeth
NonCrushingClamp | non-crushing clamp | non-crushing clamps | soft clamp
CrushingClamp | crushing clamp | crushing clamps |
IntestinalClamp | intestinal clamp | intestinal clamps | bowel clamp
VascularClamp | vascular clamp | vascular clamps |
NeedleHolder | needle holder | needle holders | needle driver
NeedleHolderWithCutter | needle holder with a suture cutter | needle holders with a suture cutter | \
needle holder with scissors; cutting needle holder
ThumbForceps | thumb forceps | thumb forceps | dissecting forceps
TissueForceps | tissue forceps | tissue forceps |
Scissors | scissors | scissors |
ScalpelBlade | scalpel blade | scalpel blades |
ScalpelHandle | scalpel handle | scalpel handles |
RingHandledInstrument | ring-handled instrument | ring-handled instruments |
RatchetlessInstrument | instrument without a ratchet | instruments without a ratchet | ratchetless instrument
"""

# feature | label | synonyms | part | single ; below it its values: name | label | synonyms | hidden | parent
FEATURES = """
jawSurface | jaw surface | jaw face | Jaws | single
  SerratedJaw | serrated jaws | serrated; serrations | |
  CrissCrossSerration | criss-cross serration | criss-cross; cross-hatched; crisscross | chris cross | SerratedJaw
  LongitudinalSerration | longitudinal serration | longitudinal | | SerratedJaw
  SmoothJaw | smooth jaws | smooth | |
serrationExtent | extent of the serration | serration extent | Jaws | single
  DistalHalfSerration | serrated over the distal half | half-serrated | |
  FullLengthSerration | serrated over the full length | fully serrated | |
curvature | curvature | bend | Jaws | single
  Straight | straight | | |
  Curved | curved | curved jaws | curvd |
  SlightlyCurved | slightly curved | | | Curved
  RightAngled | right-angled | right angled | |
crushing | effect on tissue | | | single
  Crushing | crushing | | |
  NonCrushing | non-crushing | noncrushing; soft | |
tipTeeth | tip teeth | | Tip | single
  TipTeeth | teeth at the tip | toothed; with teeth; teeth | |
  OneByTwoTeeth | one-by-two teeth | 1x2 teeth; 1x2 | | TipTeeth
  NoTipTeeth | no teeth at the tip | toothless; without teeth; plain | |
tipShape | tip shape | shape of the tip | Tip | single
  FineTip | fine tip | fine tips | |
  BluntTip | blunt tip | | |
joint | type of joint | joint; kind of joint | Joint | single
  BoxLock | box lock | box joint | boxlock |
  LapJoint | screw joint | lap joint | |
handle | type of handle | handle | Handle | single
  RingHandle | ring handle | ring-handled | |
  SpringHandle | spring handle | | |
purpose | purpose | function | | single
  StopBleeding | stopping bleeding | haemostasis | |
  HoldNeedle | holding a suture needle | holding needles | |
  CutSuture | cutting suture | cutting sutures | |
usedFor | further use | | | multi
  PassLigature | passing ligatures | | |
  CutSutureToo | cutting suture as a second use | also cutting sutures | |
usedOn | used on | structure | | multi
  Tissue | tissue | | |
  Bowel | bowel | intestine; gut | | Tissue
  Vessel | vessel | vessels; blood vessels | | Tissue
  Skin | skin | | | Tissue
  Needle | suture needle | needle; curved needle | |
notUsedOn | not used on | never used on | | multi
material | material | made of | | single
  StainlessSteel | stainless steel | steel | |
finish | finish | available in | | multi
  MirrorFinish | mirror finish | polished | |
fits | fits | | BladeSlot | multi
ofKind | kind | | | single
  kind:ThumbForceps | thumb forceps in general | | |
  kind:BulldogClamp | bulldog clamps in general | bulldog clamps | |
"""

# name | label | synonyms | hidden
PARTS = """
FingerRings | finger rings | rings; bows |
Ratchet | ratchet | catch | lock
Joint | joint | hinge |
Jaws | jaws | jaw |
Tip | tip | point |
Blade | blade | |
Handle | handle | |
NeedleGroove | needle groove | |
"""

CONCEPTS = """
TungstenCarbide | tungsten carbide | |
"""


def _rows(table: str) -> list[list[str]]:
    return [[cell.strip() for cell in row.split("|")] for row in table.strip("\n").splitlines()]


def _many(cell: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in cell.split(";") if part.strip())


def _short(name: str) -> str:
    return name if ":" in name else f"bl:{name}"


def make_vocabulary() -> Vocabulary:
    terms: dict[str, Term] = {}
    features: dict[str, Feature] = {}

    def add(term: Term) -> None:
        terms[term.name] = term

    for name, label, alt, parent in _rows(PATTERNS):
        add(Term(_short(name), "pattern", label, alt=_many(alt), broader=_short(parent) if parent else ""))
    for name, label, plural, alt in _rows(CATEGORIES):
        add(Term(_short(name), "category", label, plural=plural, alt=_many(alt)))
    for name, label, alt, hidden in _rows(PARTS):
        add(Term(_short(name), "part", label, alt=_many(alt), hidden=_many(hidden)))
    for name, label, alt, _ in _rows(CONCEPTS):
        add(Term(_short(name), "concept", label, alt=_many(alt)))
    current = ""
    for line in FEATURES.strip("\n").splitlines():
        cells = [cell.strip() for cell in line.split("|")]
        if line.startswith(" "):
            name, label, alt, hidden, parent = cells
            role = "kind" if name.startswith("kind:") else "value"
            add(
                Term(
                    _short(name),
                    role,
                    label,
                    alt=_many(alt),
                    hidden=_many(hidden),
                    feature=current,
                    broader=_short(parent) if parent else "",
                )
            )
        else:
            name, label, alt, part, choice = cells
            current = _short(name)
            add(Term(current, "feature", label, alt=_many(alt)))
            features[current] = Feature(current, choice == "single", part=_short(part) if part else "", order=len(features))
    definitions = {
        "bl:NonCrushingClamp": (("rdf:type", "bl:Clamp"), ("bl:crushing", "bl:NonCrushing")),
        "bl:RatchetlessInstrument": (("bl:lacksPart", "bl:Ratchet"),),
    }
    return Vocabulary(dict(sorted(terms.items())), features, definitions)


def words() -> dict:
    return tomllib.loads(WORDS.read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def vocabulary() -> Vocabulary:
    return make_vocabulary()


@pytest.fixture(scope="session")
def word_file() -> dict:
    return words()


@pytest.fixture(scope="session")
def lexicon(vocabulary: Vocabulary, word_file: dict) -> Lexicon:
    return Lexicon.build(vocabulary, word_file)


@pytest.fixture(scope="session")
def shipped() -> Lexicon:
    """The lexicon over the shipped vocabulary; tests that need it are skipped until it has been built."""
    if not GENERATED.is_file():
        pytest.skip("the vocabulary has not been built")
    return Lexicon.build(Vocabulary.from_json(GENERATED.read_text(encoding="utf-8")), words())
