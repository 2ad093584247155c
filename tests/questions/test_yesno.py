"""Yes or no in words, before an answer that is a comparison, a definition, a list or a table."""

from __future__ import annotations

import pytest

from kg import answer_lines, plain
from kg.language import nodes

CASES = [
    # care, where the notes decide it
    ("can scissors with tungsten carbide inserts be autoclaved?", "Yes, as the lines below"),
    ("do I close the ratchet before autoclaving?", "No, as the lines below"),
    ("must the box lock be open in the washer?", "Yes, as the lines below"),
    ("can instruments be left in saline?", "No, as the lines below"),
    ("does an ordinary autoclave cycle kill prions?", "No, as the lines below"),
    ("can you autoclave needle holders with tungsten carbide inserts?", "Yes, as the lines below"),
    # more of one than of another; the only one
    ("do retractors outnumber clamps?", "Yes, by what is recorded: "),
    ("are there fewer saws than mallets?", "No, by what is recorded: "),
    ("are there as many towel clips as mallets?", "No, by what is recorded: "),
    ("are there more curved or more straight scissors?", "More curved scissors, by what is recorded: "),
    ("are more clamps crushing or non-crushing?", "More clamps that are crushing, by what is recorded: "),
    ("is the Gigli the only flexible saw?", "No: these are, too."),
    # one and the same
    ("are the Kocher and the Ochsner one and the same?", "Yes: both are names of"),
    ("do Mixter, Lahey and Gemini mean the same instrument?", "Yes: all are names of"),
    ("is there any difference between a needle holder and a needle driver?", "No: both are names of"),
    ("does TC stand for tungsten carbide?", "Yes: it is short for"),
    ("is a Spencer Wells the same as a Kelly?", "No: they are two patterns, told apart by"),
    ("is a Backhaus the same as a towel clip?", "Not quite: Backhaus towel clip is one of"),
    ("is a haemostat the same as a clamp?", "Not quite: every"),
    ("is a rib shear the same as a rib spreader?", "No: "),
    ("another word for Metzenbaum is Nelson, right?", "No: Metzenbaum is a name of"),
    # taken for one another
    ("can the Allis and the Babcock be mixed up?", "Yes: they are look-alikes"),
    ("is it easy to confuse a Kocher with a Kelly?", "Yes: they are look-alikes"),
    ("do the Frazier and the Poole look alike?", "Not by what is recorded"),
    # one aspect of two
    ("do Allis and Babcock differ in teeth?", "Yes. Tip teeth: "),
    ("do Kelly and Crile differ in their joint?", "No. Type of joint: the same, box lock."),
    ("do a Kelly and a Crile have the same serration?", "No. Extent of the serration: "),
    ("do haemostats differ from thumb forceps in having a ratchet?", "Yes. Ratchet: "),
    ("Kelly vs Crile serration", "Extent of the serration: "),
    ("compare the teeth of the Allis and the Babcock", "Tip teeth: "),
    ("is there a difference between a Kelly and a Crile?", "Yes: they are told apart by"),
    ("what have the Allis and the Babcock in common?", "In common: "),
    ("is the Kelly longer than the Crile?", "No: the recorded lengths are the same."),
    ("is a mosquito smaller than a Kelly?", "Mostly: "),
    ("is a Deaver wider than a Richardson?", "What is recorded does not decide it"),
    # one value and no other
    ("are iris scissors only made straight?", "No: curved is recorded too."),
    ("do Metzenbaums come only curved?", "No: straight is recorded too."),
    ("is a Balfour only held by a rack?", "Yes, as far as is recorded."),
    # disputes
    ("is there disagreement about how long the Mayo scissors are?", "No: no dispute"),
    ("do the sources disagree about the Kocher?", "Yes: 3 disputes"),
    ("do the authorities agree that the Allis is traumatic?", "No: the sources disagree."),
    ("do writers agree about the Kielland's pelvic curve?", "No: 1 dispute"),
    ("is there agreement on the joint of the Mayo-Hegar?", "Yes, as far as is recorded"),
    ("do writers disagree about the curvature of the Kielland?", "No dispute is recorded, and nothing is"),
    ("does everybody agree that the Babcock has no teeth?", "Yes, as far as is recorded."),
    ("do the sources agree that Allis forceps are traumatic?", "No: the sources disagree."),
    # made both ways, all of them
    ("is there an Adson without teeth?", "Yes."),
    ("can a mosquito have teeth?", "Yes."),
    ("are Mayo scissors always curved?", "No, not always."),
    ("are sponge holders always serrated?", "No, not always."),
    ("can sponge forceps be smooth?", "Yes, some of them."),
    ("does a curved Kocher exist?", "Yes."),
    ("is there a Richardson that is double ended?", "No: none is recorded."),
    ("do the Kelly and the Kocher both have teeth?", "No: only Kocher forceps."),
    ("do the Allis and the Babcock both have a ratchet?", "Yes."),
    ("do the Allis and the Babcock have a ratchet?", "Yes."),
    ("do the Kelly and the Crile have teeth?", "No: neither."),
    ("is it true that neither the Kelly nor the Crile has teeth?", "Yes: neither."),
    ("is it true that neither the Kocher nor the Crile has teeth?", "No: Kocher forceps."),
    ("neither the Payr nor the Doyen is crushing, right?", "No: Payr clamp."),
    ("are the Kelly and the Crile both curved?", "Yes, of some pieces"),
    ("are Crile and Kelly different instruments?", "Yes: they are told apart by"),
    ("is a Kelly different from a haemostat?", "Kelly forceps is one of the artery forceps."),
    ("does a Kelly have the same handle as a Babcock?", "Yes. Type of handle: the same, ring handle."),
    # each value that is named of one instrument
    ("are the Mathieu needle holder's handles finger rings?", "No, by what is recorded: not finger rings."),
    ("is the joint of the Kocher a box lock or a screw joint?", "Box lock: yes; screw joint: no."),
    ("do Metzenbaum scissors come straight as well as curved?", "Yes, both: straight and curved"),
    ("is the Adson made both toothed and plain?", "Yes, both: "),
    ("is the Weitlaner made with both sharp and blunt prongs?", "Yes, both: sharp prongs and blunt prongs"),
    ("do artery forceps come in both straight and curved forms?", "Yes, both: straight and curved"),
    # another name of the same; one last name of several
    ("is the Coupland a chisel?", "By name it is: it is also called Coupland chisel."),
    ("is the Gigli saw a wire saw?", "Yes: both are names of Gigli saw."),
    ("is the Volkmann a retractor or a curette?", "Both, as several bear the name."),
    ("is the Doyen a clamp or a retractor?", "Both, as several bear the name."),
    ("is the Sims a speculum or a curette?", "Both, as several bear the name."),
    ("is the Cushing a retractor or a rongeur?", "Retractor: Cushing vein retractor; rongeur: none of them."),
    # the use of two, where one line is not recorded of both
    ("do a Lane's tissue forceps and an Allis have the same use?", "Yes, as far as is recorded of both. Purpose: "),
    # what is recorded of a whole family, where no note decides
    ("can i put a rongeur in the autoclave?", "Yes, by what is recorded: steam"),
    ("is it ok to autoclave bone rasps?", "Yes, by what is recorded: steam"),
    ("are Halsted mosquitoes only straight, or curved too?", "Both: straight and curved"),
    ("do artery forceps come only curved, or straight too?", "Not only: "),
    # two halves
    ("is the Kocher toothed and the Kelly not?", "Yes. Kocher forceps: yes"),
    ("is the Kocher toothed but the Kelly isn't?", "Yes. Kocher forceps: yes"),
    ("is the Kelly toothed and the Kocher one not?", "No. Kelly forceps: no"),
    ("has the Mayo-Hegar a box lock and the Gillies a screw joint?", "Yes. Mayo-Hegar needle holder: yes"),
    # one of several families, or of a last name
    ("is a Deaver a retractor or a speculum?", "Retractor: yes; speculum: no."),
    ("is a Howarth an elevator or a retractor?", "Elevator: yes; retractor: no."),
    ("is the Freer an elevator?", "Yes: Freer elevator."),
    # lists
    ("are there needle holders longer than 20 cm?", "Yes, in some sizes."),
    ("are there any specula with three blades?", "Not for certain: none is recorded to be so"),
    ("is there any instrument used on both bone and cartilage?", "Yes."),
    ("are bone rongeurs double action?", "Some are, as far as is recorded"),
    # care
    ("is high-level disinfection enough for a scalpel handle?", "No: it is a critical item"),
    ("is high-level disinfection enough for a vaginal speculum?", "High-level disinfection is the least"),
    ("must a vaginal speculum be sterile?", "Not in every case"),
    ("can carbon steel instruments be autoclaved?", "Yes, but it rusts in steam"),
    ("should scissors be lubricated before sterilising?", "Yes, as the lines"),
    ("should instruments be dried before they are packed?", "Yes, as the lines"),
    # used on
    ("can I use toothed dissecting forceps on bowel?", "No, by what is recorded"),
    ("can I use a Babcock on the bowel?", "The sources disagree on use on bowel"),
    ("can I use Mayo scissors on fascia?", "Yes, by what is recorded"),
    ("can you use an Allis on a vessel?", "Not recorded"),
    # recorded, said by whom
    ("is the length of the Gelpi recorded?", "Yes."),
    ("do you know how long a Morris is?", "No."),
    ("do you know everything about the Babcock?", "No: not recorded are"),
    ("does any book say the Kelly has teeth?", "No: no source"),
    ("does any source say that the Mixter is straight?", "No: no source"),
    ("is there a source for the Babcock having fenestrated jaws?", "Yes."),
]


@pytest.mark.parametrize(("question", "verdict"), CASES)
def test_it_begins_with_yes_or_no(question, verdict, catalogue):
    found = catalogue.ask(question)
    assert found.unread is None
    assert found.verdict.startswith(verdict)
    assert found.to_json()["verdict"] == found.verdict
    assert verdict in " ".join(plain(answer_lines(found, 200)).split())


@pytest.mark.parametrize(
    "question",
    [
        "which clamps look like the Kelly?",
        "where do the books differ on the Kelly?",
        "can you name the disputes about the Kocher?",
        "could you list the curved scissors?",
        "is the Kelly curved?",
        "does an Adson have teeth?",
        "is the Weitlaner not disputed?",
        "which retractors have disputed facts?",
        "compare the Kelly and the Crile",
        "what is the Kelly used on?",
        "should lubricant be removed before sterilising?",
        "is there a difference between the handle of the Mathieu and finger rings?",
        "would Mayo scissors be all right for cutting sutures?",
    ],
)
def test_no_yes_where_none_is_wanted(question, catalogue):
    assert catalogue.ask(question).verdict == ""


@pytest.mark.parametrize(
    "question",
    [
        "does TC mean titanium coated?",
        "is a mosquito just a small haemostat?",
        "is a Kelly not the same as a Crile?",
        "are the teeth of a Kocher one into two?",
    ],
)
def test_no_yes_where_words_were_not_read(question, catalogue):
    found = catalogue.ask(question)
    assert found.unread is not None
    assert found.verdict == ""


def test_disputes_on_what_the_first_of_two_questions_asks(catalogue):
    found = catalogue.ask("how long is the Crile and do the sources agree?")
    assert found.kind == "value"
    assert found.also.tree == nodes.Disputes(nodes.Named("bl:CrileForceps"), ("bl:length",))
    assert found.also.verdict.startswith("Yes, as far as is recorded")


def test_facts_on_one_source_on_a_maker_on_veterinary_sources(catalogue):
    for basis, words in (
        ("one", "rest on one source"),
        ("maker", "come only from makers"),
        ("veterinary", "come from veterinary sources"),
    ):
        found = catalogue.ask(f"which facts about the Kelly {words}?")
        assert found.tree == nodes.Weak(nodes.Named("bl:KellyForceps"), basis)
    one = catalogue.ask("which facts about the Kelly rest on one source?")
    assert one.count == len(one.values) + sum(int(n.split()[0]) for n in one.notes if "more are not listed" in n)
    assert all(len(v.sources) == 1 for v in one.values)


def test_a_claim_about_a_name_of_several_is_asked_of_which(catalogue):
    from kg import QuestionError

    with pytest.raises(QuestionError) as caught:
        catalogue.ask("a Gillies is between 6 and 10 inches, true or false?")
    assert caught.value.code == "BL-Q05"


def test_it_stands_for_the_instrument_before_where_degrees_are_compared(catalogue):
    before = catalogue.ask("describe the Kocher")
    found = catalogue.ask("is it gentler on tissue than an Allis?", after=before)
    assert found.tree.pattern == "bl:RochesterOchsnerForceps"
    assert found.argument.holds is False


@pytest.mark.parametrize(
    ("question", "holds"),
    [
        ("is a Hohmann a self-retaining retractor?", False),
        ("is the Balfour a self-retaining retractor?", True),
        ("is a bulldog clamp held by a ratchet?", False),
        ("is the Weitlaner held open by a ratchet?", True),
        ("does the Sims speculum have one blade?", True),
        ("does the Sims speculum have no blade?", False),
        ("does a Deaver have a cutting blade?", "not recorded"),
        ("is the Deaver curved?", True),
        ("do the teeth of a tenaculum pierce?", True),
        ("does the Bonney have teeth that damage vessels?", True),
        ("does the DeBakey forceps have teeth that could injure a vessel?", False),
        ("would a Metzenbaum be alright for cutting sutures? My tutor said no", False),
        ("can you hold a swab with a Rampley?", True),
        ("does the Roberts clamp have a ratchet?", True),
    ],
)
def test_what_it_says_of_one_instrument(question, holds, catalogue):
    found = catalogue.ask(question)
    assert found.unread is None
    assert found.argument.holds == holds
