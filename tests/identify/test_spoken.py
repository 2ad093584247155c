"""Descriptions as a candidate would speak them: the right pattern is among the first three.

What is said of each instrument is taken from outside of the project; the source stands beside each case. "common practice"
marks what every textbook of the trade says and for which no single page was looked up.
"""

from __future__ import annotations

import pytest

CASES = [
    # vetsurgeryonline.com, Hemostatic Forceps: transverse serrations along the distal half of the jaws; straight or curved.
    # biologyinsights.com, What are Kelly forceps used for: ring handles, ratchet, 12.7 to 15.2 cm.
    ("Kelly forceps", "ring handles, a ratchet, transverse serrations on the distal half of the jaws, curved, about 14 cm"),
    # vetsurgeryonline.com, Hemostatic Forceps: transverse serrations along the entire length of the jaw.
    ("Crile forceps", "an artery forceps with transverse serrations over the full length of the jaws, no teeth, about 14 cm"),
    # vetsurgeryonline.com, Hemostatic Forceps: small, delicate, striations along the entire length.
    (
        "Halsted mosquito forceps",
        "a small artery forceps, delicate, transverse serrations over the whole length, about 12.5 cm",
    ),
    # open-exam-prep.com, Clamping, Grasping and Occluding Instruments: heavy transverse serrations and 1x2 teeth at the tip.
    ("Kocher forceps", "ring handles and a ratchet, transverse serrations, 1x2 teeth at the tip, heavy"),
    # open-exam-prep.com, as above: short interlocking teeth.
    ("Allis tissue forceps", "it has ring handles, a ratchet and a box lock; interlocking teeth at the tip"),
    # open-exam-prep.com, as above: atraumatic, broad fenestrated jaws.
    ("Babcock tissue forceps", "ring handles with a ratchet, broad fenestrated jaws, no teeth, atraumatic"),
    # brainscape.com, Surgical principles: one tooth fits between two; Adson common practice: fine tips, 12 cm.
    ("Adson forceps", "thumb forceps, spring handle, narrow jaws, one tooth on one side and two on the other, about 12 cm"),
    # Common practice: cutting edges behind the gripping jaws tell it from the plain needle holders.
    ("Olsen-Hegar needle holder", "a needle holder with a suture cutter, ring handles, ratchet"),
    # Common practice: palm handle without rings, with a ratchet.
    ("Mathieu needle holder", "a needle holder without finger rings, and with a ratchet"),
    # Common practice: short blades on long shanks.
    ("Metzenbaum scissors", "scissors, curved, blunt tips, long shanks and short blades"),
    # slideplayer.com/slide/3433993, Cutting and Dissecting: blunt probe tip; for bandages and dressings.
    ("Lister bandage scissors", "angled scissors with a blunt tip, used for cutting bandages"),
    # mymedicplus.com, Towel clamp (Backhaus): finger rings, ratchet, box lock, sharp tips that pierce the drape.
    ("Backhaus towel clip", "finger rings, ratchet, curved, sharp points"),
    # brainscape.com, Surgical principles: sponge forceps have round holes in the tips; common practice: about 25 cm.
    ("Foerster sponge forceps", "ring handles, ratchet, fenestrated and ring-shaped jaws, about 25 cm"),
    # Common practice: a small spring clamp that closes by itself, on vessels.
    ("bulldog clamp", "no finger rings, no ratchet, cross-action spring handle, used on vessels"),
    # Common practice: jaws at a right angle, for passing ligatures.
    ("Mixter forceps", "ring handles, ratchet, box lock, right-angled jaws"),
    # slidepub.com, Uro instruments: balloon catheter; common practice: two or three channels.
    ("Foley catheter", "a tube with a balloon near the tip and two lumens"),
    # Common practice: two ends, one bent at a right angle to each side, no joint.
    ("Sims speculum", "a two-ended speculum without a joint"),
]


@pytest.mark.parametrize(("name", "spoken"), CASES, ids=[name for name, _ in CASES])
def test_the_right_pattern_is_among_the_first_three(catalogue, name: str, spoken: str) -> None:
    identifier = catalogue.identifier
    wanted = catalogue.vocabulary.subtree(identifier.pattern_named(name))
    outcome = catalogue.identify(spoken)
    first = outcome.candidates[:3]
    assert any(c.name in wanted or c.variant_of in wanted for c in first), [c.label for c in first]
