"""The adoption rule and inheritance on small evidence made up for the purpose."""

from __future__ import annotations

from itertools import permutations

import pytest

from kg.evidence.adopt import RULING, Decision, Weighing, decide
from kg.evidence.catalogue import (
    KIND,
    OWN,
    RULE,
    VARIANT,
    Record,
    SizeRule,
    assemble,
    decide_all,
    lengths,
    vary_by_variants,
)
from kg.evidence.statements import Source, Statement
from kg.reason.horn import ROOT, Engine
from kg.vocabulary import Feature, Rule, Term, Vocabulary

HAS, LACKS = "bl:hasPart", "bl:lacksPart"
WEIGHTS = {"textbook": 4.0, "society": 3.0, "site": 1.0, "common practice": 0.0, "memory": 0.0, RULING: 1000.0}


def values(feature: str, tree: dict[str, str]) -> list[Term]:
    return [Term(f"bl:{v}", "value", v, feature=feature, broader=f"bl:{b}" if b else "") for v, b in tree.items()]


def make_vocabulary() -> Vocabulary:
    terms = [
        *values("bl:face", {"Serrated": "", "Across": "Serrated", "Along": "Serrated", "Smooth": ""}),
        *values("bl:usedOn", {"Vessel": "", "Artery": "Vessel", "Vein": "Vessel", "Bowel": ""}),
        *values("bl:sizeClass", {"Short": "", "Long": ""}),
        Term("kind:Forceps", "kind", "forceps", feature="bl:ofKind"),
        Term("kind:Clamp", "kind", "clamp", feature="bl:ofKind", broader="kind:Forceps"),
        Term("kind:Other", "kind", "other", feature="bl:ofKind"),
        Term("bl:Ratchet", "part", "ratchet"),
        Term("bl:A", "pattern", "A"),
        Term("bl:A1", "pattern", "A1", broader="bl:A"),
        Term("bl:B", "pattern", "B"),
    ]
    features = [
        Feature("bl:face", single=True),
        Feature("bl:usedOn"),
        Feature("bl:notUsedOn", denies="bl:usedOn"),
        Feature("bl:ofKind", single=True),
        Feature("bl:sizeClass", single=True),
    ]
    rules = (
        *(Rule((("bl:face", n),), ("bl:face", "bl:Serrated"), "tree", "") for n in ("bl:Across", "bl:Along")),
        Rule((("bl:face", "bl:Across"), ("bl:face", "bl:Along")), None, "siblings", ""),
        Rule((("bl:face", "bl:Serrated"), ("bl:face", "bl:Smooth")), None, "siblings", ""),
        Rule(((HAS, "bl:Ratchet"), (LACKS, "bl:Ratchet")), None, "parts", ""),
        Rule(((HAS, "bl:Ratchet"), ("bl:face", "bl:Smooth")), None, "ratchets are only on serrated ones", ""),
    )
    return Vocabulary({t.name: t for t in terms}, {f.name: f for f in features}, {}, lambda: rules)


VOCABULARY = make_vocabulary()
SOURCES = {
    s.name: s
    for s in (
        Source("src:book", "Book", kind="textbook", work="book"),
        Source("src:book2", "Second book", kind="textbook", work="book2"),
        Source("src:society", "Society", kind="society", work="society"),
        Source("src:site", "Site", kind="site", work="site"),
        Source("src:site2", "Second site", kind="site", work="site2"),
        Source("src:copy", "A copy of the site", kind="site", work="site"),
        Source("src:practice", "Practice", kind="common practice", work="practice"),
        Source("src:memory", "Memory", kind="memory", work="memory"),
        Source("src:editor", "Ruling", kind=RULING, work="editor"),
    )
}
WEIGHING = Weighing(WEIGHTS, SOURCES)


def said(text: str, subject: str = "bl:A", feature: str = "bl:face") -> list[Statement]:
    """``"book Across, site some Smooth, site2 not Along"`` -> statements."""
    out = []
    for item in text.split(", "):
        source, *mode, value = item.split()
        out.append(Statement(subject, feature, mode[0] if mode else "is", f"bl:{value}", f"src:{source}"))
    return out


def one(text: str) -> Decision:
    """The decision on a feature with one value; the same whatever the order of the statements."""
    statements = said(text)
    found = {decide("bl:A", "bl:face", p, VOCABULARY, WEIGHING, single=True) for p in permutations(statements)}
    assert len(found) == 1
    return found.pop()


def many(text: str) -> Decision:
    statements = said(text, feature="bl:usedOn")
    found = {decide("bl:A", "bl:usedOn", p, VOCABULARY, WEIGHING, single=False) for p in permutations(statements)}
    assert len(found) == 1
    return found.pop()


# --- one value ------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("text", "adopted", "also"),
    [
        ("book Across", "Across", ""),
        ("book Across, society Along", "Across", "Along"),  # 4 against 3
        ("book Across, society Along, site Along, site2 Along", "Along", "Across"),  # 4 against 5
        (
            "book Across, society Along, site Along, copy Along",
            "Serrated",
            "Across Along",
        ),  # a copy has no vote: 4 to 4
        ("book Serrated, site Across", "Across", ""),  # a broader value supports a narrower one
        ("book Serrated, site Across, society Smooth", "Across", "Smooth"),
        ("site Across, site2 Along", "Serrated", "Across Along"),  # a tie: what both say, and the tie is shown
        ("site Across, site2 Along, society Smooth", "Smooth", "Across Along"),
        ("memory Smooth, site Across", "Across", "Smooth"),  # memory counts only where nothing is published
        ("practice Smooth, site Serrated", "Serrated", "Smooth"),
        ("memory Along, practice Across", "Across", "Along"),  # practice before memory
        ("memory Along", "Along", ""),
        ("practice Across, site Serrated", "Serrated", ""),  # a narrower value of practice neither counts nor disputes
        ("editor Smooth, book Across, book2 Across", "Smooth", "Across"),  # a ruling beats the count
        ("book Across, site not Across", "Across", ""),  # 4 to 1
        ("book Across, society not Across, site Along", "Serrated", "Across Along"),  # 4 less 3 ties with 1
    ],
)
def test_the_greatest_weight_is_adopted(text, adopted, also):
    decision = one(text)
    assert decision.values == (f"bl:{adopted}",)
    assert decision.also_said == tuple(f"bl:{v}" for v in also.split())
    assert not decision.open


@pytest.mark.parametrize(
    ("text", "also"),
    [
        ("book Across, book2 Smooth", "Across Smooth"),  # nothing is broader than both
        ("site Across, site2 not Across", "Across"),  # said and denied with equal weight
        ("site Across, book not Across", "Across"),  # denied with more weight
    ],
)
def test_a_tie_without_a_common_value_stays_open(text, also):
    decision = one(text)
    assert decision.open
    assert decision.disputed
    assert decision.values == ()
    assert decision.also_said == tuple(f"bl:{v}" for v in also.split())


def test_a_denial_alone_is_kept():
    decision = one("book not Smooth")
    assert (decision.values, decision.denied, decision.open) == ((), ("bl:Smooth",), False)


@pytest.mark.parametrize(
    ("text", "varies", "adopted"),
    [
        ("site some Across, site some Smooth", "Across Smooth", ""),
        ("site some Across, site some Smooth, site2 Across", "Across Smooth", ""),  # that one has seen one of the forms
        ("book some Smooth, site Across", "Across Smooth", ""),  # "some are smooth" beside "across": both are made
        ("site some Across, book Serrated, book2 Across", "", "Across"),  # "generally across" supports it
        ("site some Across, site some Along, book Smooth", "", "Smooth"),  # outweighed
        ("site some Across, site some Along, book Serrated, book2 Serrated", "Across Along", ""),  # finer, no contradiction
        ("site some Smooth, book Across, book2 Across", "", "Across"),  # one odd witness: 1 is less than half of 8
        ("book some Smooth, book2 Across, society Across, site Across", "Across Smooth", ""),  # 4 is half of 8
    ],
)
def test_made_one_way_or_the_other(text, varies, adopted):
    decision = one(text)
    assert decision.varies == tuple(f"bl:{v}" for v in varies.split())
    assert decision.values == tuple(f"bl:{v}" for v in adopted.split())


def test_the_odd_witness_is_shown_as_disputed():
    assert one("site some Smooth, book Across, book2 Across").also_said == ("bl:Smooth",)


# --- many values ----------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("text", "adopted", "denied", "also", "varies"),
    [
        ("book Artery, site Bowel", "Artery Bowel", "", "", ""),
        ("book Artery, site some Bowel", "Artery", "", "", "Bowel"),
        ("site Bowel, book not Bowel", "", "Bowel", "Bowel", ""),
        ("book Bowel, site not Bowel", "Bowel", "", "", ""),
        ("site Bowel, site2 not Bowel", "", "", "Bowel", ""),
        ("site Artery, book not Bowel", "Artery", "Bowel", "", ""),
        ("practice Bowel, site not Bowel", "", "Bowel", "Bowel", ""),
        ("practice Bowel, site Artery", "Artery", "", "", ""),  # something is published, so practice does not count
    ],
)
def test_many_values_add_up_unless_denied(text, adopted, denied, also, varies):
    decision = many(text)
    assert decision.values == tuple(f"bl:{v}" for v in adopted.split())
    assert decision.denied == tuple(f"bl:{v}" for v in denied.split())
    assert decision.also_said == tuple(f"bl:{v}" for v in also.split())
    assert decision.varies == tuple(f"bl:{v}" for v in varies.split())


# --- inheritance ----------------------------------------------------------------------------------------------------
SIZES = (SizeRule("bl:Short", 0, 130), SizeRule("bl:Long", 199, 10_000))


def records(*statements: Statement) -> dict[str, Record]:
    engine = Engine(VOCABULARY.rules)

    def clashes(facts):
        return [c.premises for c in engine.close([ROOT, *facts]).clashes]

    decisions = decide_all(statements, VOCABULARY, WEIGHING)
    return assemble(VOCABULARY, decisions, lengths(statements, WEIGHING), SIZES, clashes)


def kind(subject: str, of: str = "kind:Clamp") -> Statement:
    return Statement(subject, "bl:ofKind", "is", of, "src:book")


def levels(record: Record, feature: str) -> dict[str, str]:
    return {value: fact.level for (prop, value), fact in record.facts.items() if prop == feature}


def test_every_pattern_has_a_record_in_order_of_names():
    assert list(records()) == ["bl:A", "bl:A1", "bl:B"]
    assert records()["bl:B"].facts == {}


def test_own_before_parent_before_kind_before_broader_kind():
    wide = said("book Smooth", "kind:Forceps")
    narrow = said("book Along", "kind:Clamp")
    parent = said("site Across", "bl:A")
    own = said("site2 Smooth", "bl:A1")
    assert levels(records(kind("bl:A"), *wide)["bl:A1"], "bl:face") == {"bl:Smooth": KIND}
    assert levels(records(kind("bl:A"), *wide, *narrow)["bl:A1"], "bl:face") == {"bl:Along": KIND}
    assert levels(records(kind("bl:A"), *wide, *narrow, *parent)["bl:A1"], "bl:face") == {"bl:Across": VARIANT}
    found = records(kind("bl:A"), *wide, *narrow, *parent, *own)
    assert levels(found["bl:A1"], "bl:face") == {"bl:Smooth": OWN}
    assert levels(found["bl:A"], "bl:face") == {"bl:Across": OWN}
    assert found["bl:A1"].disputes == {}  # to differ from the parent is no dispute


def test_a_kind_does_not_hand_down_what_varies():
    found = records(kind("bl:A"), *said("book some Across, book some Smooth", "kind:Clamp"))["bl:A"]
    assert levels(found, "bl:face") == {}
    assert found.varies == {}
    assert found.disputes == {}


def test_a_parent_hands_down_what_varies_with_what_its_forms_share():
    found = records(*said("book some Across, book some Along", "bl:A"))["bl:A1"]
    assert found.varies == {"bl:face": ("bl:Across", "bl:Along")}
    assert levels(found, "bl:face") == {"bl:Serrated": VARIANT}


def test_an_own_dispute_blocks_inheritance():
    found = records(kind("bl:B"), *said("book Smooth", "kind:Clamp"), *said("site Across, site2 Smooth", "bl:B"))["bl:B"]
    assert levels(found, "bl:face") == {}
    assert found.disputes["bl:face"].open


def test_a_dispute_of_the_kind_blocks_nothing():
    tied = said("site Across, site2 Smooth", "kind:Clamp")
    found = records(kind("bl:B"), *tied, *said("book Along", "kind:Forceps"))["bl:B"]
    assert levels(found, "bl:face") == {"bl:Along": KIND}


def test_a_nearer_denial_stops_inheritance():
    found = records(kind("bl:B"), *said("book Across", "kind:Clamp"), *said("site not Serrated", "bl:B"))["bl:B"]
    assert levels(found, "bl:face") == {}
    assert found.denied == {"bl:face": ("bl:Serrated",)}


def test_an_inherited_value_that_clashes_with_an_own_one_is_dropped_in_silence():
    ratchet = Statement("kind:Clamp", HAS, "is", "bl:Ratchet", "src:book")
    found = records(kind("bl:B"), ratchet, *said("site Smooth", "bl:B"))["bl:B"]
    assert levels(found, HAS) == {}
    assert levels(found, "bl:face") == {"bl:Smooth": OWN}
    assert found.disputes == {}


def test_of_two_own_values_that_clash_the_weaker_is_withdrawn_and_disputed():
    ratchet = Statement("bl:B", HAS, "is", "bl:Ratchet", "src:book")
    found = records(ratchet, *said("site Smooth", "bl:B"))["bl:B"]
    assert levels(found, HAS) == {"bl:Ratchet": OWN}
    assert levels(found, "bl:face") == {}
    assert found.disputes["bl:face"].also_said == ("bl:Smooth",)
    assert found.disputes["bl:face"].open


def test_what_some_are_said_to_have_is_ruled_out_by_what_is_adopted():
    ratchet = Statement("bl:B", HAS, "is", "bl:Ratchet", "src:book")
    found = records(ratchet, *said("site some Serrated, site some Smooth", "bl:B"))["bl:B"]
    assert found.varies == {}
    assert found.disputes["bl:face"].also_said == ("bl:Smooth",)


def test_a_part_is_there_or_absent_and_a_denial_of_one_is_the_other():
    denied = Statement("bl:A", HAS, "not", "bl:Ratchet", "src:book")
    claimed = Statement("bl:A", HAS, "is", "bl:Ratchet", "src:site")
    found = records(denied, claimed)["bl:A"]
    assert levels(found, LACKS) == {"bl:Ratchet": OWN}
    assert levels(found, HAS) == {}
    assert found.disputes["bl:Ratchet"].also_said == (HAS,)


def test_many_values_add_to_what_is_inherited():
    found = records(
        kind("bl:A"),
        *said("book Bowel", "kind:Clamp", "bl:usedOn"),
        *said("book Vein", "bl:A", "bl:usedOn"),
        *said("site Artery", "bl:A1", "bl:usedOn"),
    )["bl:A1"]
    assert levels(found, "bl:usedOn") == {"bl:Artery": OWN, "bl:Vein": VARIANT, "bl:Bowel": KIND}


def test_an_own_denial_removes_what_would_be_inherited_and_what_is_narrower():
    kind_says = said("book Artery, book Bowel", "kind:Clamp", "bl:usedOn")
    found = records(kind("bl:A"), *kind_says, *said("site not Vessel", "bl:A", "bl:usedOn"))["bl:A"]
    assert levels(found, "bl:usedOn") == {"bl:Bowel": KIND}
    assert found.denied == {"bl:usedOn": ("bl:Vessel",)}


def test_not_used_on_denies_used_on():
    found = records(
        kind("bl:A"),
        *said("book Bowel", "kind:Clamp", "bl:usedOn"),
        *said("site Bowel", "bl:A", "bl:notUsedOn"),
    )["bl:A"]
    assert levels(found, "bl:usedOn") == {}
    assert levels(found, "bl:notUsedOn") == {"bl:Bowel": OWN}
    assert found.denied["bl:usedOn"] == ("bl:Bowel",)


# --- variants that differ --------------------------------------------------------------------------------------------
def varied(*statements: Statement) -> dict[str, Decision]:
    """The decisions on A, which has the variant A1."""
    return vary_by_variants(VOCABULARY, decide_all(statements, VOCABULARY, WEIGHING)).get("bl:A", {})


def test_a_pattern_whose_variant_differs_varies():
    found = varied(*said("book Across", "bl:A"), *said("site Smooth", "bl:A1"))["bl:face"]
    assert (found.values, found.varies) == ((), ("bl:Across", "bl:Smooth"))


def test_a_variant_that_says_more_makes_nothing_vary():
    found = varied(*said("book Serrated", "bl:A"), *said("site Across", "bl:A1"))["bl:face"]
    assert (found.values, found.varies) == (("bl:Serrated",), ())


def test_a_variant_alone_says_nothing_of_the_pattern():
    assert varied(*said("site Across", "bl:A1")) == {}


def test_a_pattern_keeps_its_kind_whatever_the_kinds_of_its_variants():
    found = varied(kind("bl:A", "kind:Forceps"), kind("bl:A1", "kind:Other"))
    assert found["bl:ofKind"].values == ("kind:Forceps",)


# --- lengths --------------------------------------------------------------------------------------------------------
def length(value: str, source: str = "book", subject: str = "bl:A") -> Statement:
    return Statement(subject, "bl:length", "is", value, f"src:{source}")


@pytest.mark.parametrize(
    ("spans", "wanted", "size"),
    [
        ([("120", "book")], (120, 120), "bl:Short"),
        ([("120", "book"), ("125..130", "site")], (120, 130), "bl:Short"),  # the limit belongs to the shorter class
        ([("120..131", "book")], (120, 131), None),
        ([("200..230", "book")], (200, 230), "bl:Long"),
        ([("199", "book")], (199, 199), None),
        ([("120", "book"), ("500", "memory")], (120, 120), "bl:Short"),  # memory counts only where nothing is published
        ([("500", "memory")], (500, 500), "bl:Long"),
    ],
)
def test_the_length_is_the_span_of_all_sizes_and_gives_the_size_class(spans, wanted, size):
    found = records(*(length(*s) for s in spans))["bl:A"]
    assert found.length == wanted
    assert levels(found, "bl:sizeClass") == ({size: RULE} if size else {})


def test_a_length_comes_from_the_parent_but_not_from_the_kind():
    found = records(kind("bl:B"), kind("bl:A"), length("120", subject="kind:Clamp"), length("140..210"))
    assert found["bl:B"].length is None
    assert (found["bl:A1"].length, found["bl:A1"].length_level) == ((140, 210), VARIANT)


def test_a_size_class_that_a_source_states_outranks_the_rule():
    stated = Statement("bl:A", "bl:sizeClass", "is", "bl:Long", "src:site")
    assert levels(records(stated, length("120"))["bl:A"], "bl:sizeClass") == {"bl:Long": OWN}
