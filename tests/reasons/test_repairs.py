"""Contradictions in plain words: the smallest clashing sets, where they stand, and the smallest repairs."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from kg.check import clashes
from kg.reason.horn import ROOT
from kg.repairs import Stated, clashing, hitting_sets, impossible, impossible_text

ALDER = "bl:AlderClamp"


def test_a_clash_through_a_rule(small_staged):
    """Crushing against atraumatic: two features, linked by an axiom."""
    told = clashing(
        ALDER,
        [
            Stated(("bl:crushing", "bl:Crushing"), "A made-up page", "page.ttl", 11, 1.0),
            Stated(("bl:tissueTrauma", "bl:Atraumatic"), "A made-up book", "book.ttl", 7, 4.0),
            Stated(("bl:purpose", "bl:ClampBowel"), "A made-up book", "book.ttl", 7, 4.0),
        ],
        small_staged.engine,
        small_staged.vocabulary,
    )
    assert told is not None and not told.capped
    assert [t.text() for t in told.troubles] == [
        "The Alder clamp is crushing (page.ttl:11). The Alder clamp counts as atraumatic (book.ttl:7). "
        "A pattern that counts as atraumatic is non-crushing. Crushing and non-crushing exclude each other (effect on tissue)."
    ]
    assert [(r.text, r.weight) for r in told.repairs] == [
        ('Withdraw "The Alder clamp is crushing".', 1.0),
        ('Withdraw "The Alder clamp counts as atraumatic".', 4.0),
    ]


def test_one_withdrawal_that_mends_several_clashes_comes_first(small_staged):
    """Crushing clashes with atraumatic and with non-crushing: one withdrawal is enough, the other way takes two."""
    told = clashing(
        ALDER,
        [
            Stated(("bl:crushing", "bl:Crushing"), weight=9.0),
            Stated(("bl:tissueTrauma", "bl:Atraumatic"), weight=1.0),
            Stated(("bl:crushing", "bl:NonCrushing"), weight=1.0),
        ],
        small_staged.engine,
        small_staged.vocabulary,
    )
    assert len(told.troubles) == 2
    assert [r.withdraw for r in told.repairs] == [(("bl:crushing", "bl:Crushing"),)]


def test_a_part_both_there_and_absent(small_staged):
    told = clashing(
        ALDER,
        [Stated(("bl:hasPart", "bl:Ratchet")), Stated(("bl:lacksPart", "bl:Ratchet"))],
        small_staged.engine,
        small_staged.vocabulary,
    )
    assert told.troubles[0].axiom == "A pattern cannot both have and lack ratchet."
    assert told.troubles[0].sentences == ("The Alder clamp has a ratchet.", "The Alder clamp has no ratchet.")


def test_statements_that_agree_give_nothing(small_staged):
    stated = [Stated(fact) for fact in small_staged.records[ALDER].facts]
    assert clashing(ALDER, stated, small_staged.engine, small_staged.vocabulary) is None


def test_withdrawing_a_repair_leaves_no_clash(small_staged):
    facts = [
        ("bl:crushing", "bl:Crushing"),
        ("bl:crushing", "bl:NonCrushing"),
        ("bl:tissueTrauma", "bl:Atraumatic"),
        ("bl:handle", "bl:RingHandle"),
        ("bl:lacksPart", "bl:FingerRings"),
        ("bl:jawSurface", "bl:LongitudinalSerration"),
        ("bl:jawSurface", "bl:CrissCrossSerration"),
    ]
    told = clashing(ALDER, [Stated(f) for f in facts], small_staged.engine, small_staged.vocabulary)
    assert told.repairs
    for repair in told.repairs:
        left = [f for f in facts if f not in repair.withdraw]
        assert not small_staged.engine.close([ROOT, *left]).clashes
        for back in repair.withdraw:
            assert small_staged.engine.close([ROOT, *left, back]).clashes


SETS = st.lists(st.frozensets(st.sampled_from([("f", c) for c in "abcdefg"]), min_size=1, max_size=4), min_size=1, max_size=5)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(SETS)
def test_hitting_sets_against_trying_all(sets):
    """Every minimal hitting set, found by trying all subsets."""
    members = sorted(set().union(*sets))
    all_hits = [
        frozenset(c)
        for size in range(len(members) + 1)
        for c in combinations(members, size)
        if all(s & frozenset(c) for s in sets)
    ]
    minimal = {h for h in all_hits if not any(o < h for o in all_hits)}
    assert set(hitting_sets(sets, cap=1000)) == minimal


def test_check_names_files_lines_and_repairs(small_staged):
    """A fact put in past the adoption is found with the places of what it contradicts."""
    record = small_staged.records[ALDER]
    facts = {**record.facts, ("bl:crushing", "bl:Crushing"): next(iter(record.facts.values()))}
    broken = replace(small_staged, records={**small_staged.records, ALDER: replace(record, facts=facts)})
    found = list(clashes(broken))
    assert {(f.severity, f.code, f.file) for f in found} == {
        ("error", "BL-R04", "evidence/book.ttl"),
        ("error", "BL-R04", "evidence/page.ttl"),
    }
    assert all(f.line > 0 for f in found)
    assert all('Withdraw "The Alder clamp is crushing".' in f.fix for f in found)
    assert list(clashes(small_staged)) == []


def test_categories_that_nothing_can_be(small_staged):
    words = small_staged.vocabulary
    assert impossible(small_staged.engine, words) == []
    broken = {**words.definitions, "bl:Clamp": (("bl:crushing", "bl:Crushing"), ("bl:tissueTrauma", "bl:Atraumatic"))}
    found = impossible(small_staged.engine, replace(words, definitions=broken))
    assert [(category, conditions) for category, conditions, _ in found] == [
        ("bl:Clamp", (("bl:crushing", "bl:Crushing"), ("bl:tissueTrauma", "bl:Atraumatic")))
    ]
    assert impossible_text(found[0][0], found[0][2], words) == (
        "Nothing can be a clamp. A pattern that counts as atraumatic is non-crushing. "
        "Crushing and non-crushing exclude each other (effect on tissue)."
    )
