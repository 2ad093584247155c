"""The reckoning: probabilities against Bayes' rule done by hand, what is unknown, what is taken back."""

from __future__ import annotations

import math

import pytest

from kg.facts import PatternFacts
from kg.identify import Identifier
from kg.identify.belief import believe
from kg.identify.fit import error, fits, likelihoods
from kg.identify.gain import gains, separating
from kg.identify.settings import Settings
from kg.identify.table import build_table
from kg.truth import Known, Lengths, OneOf, judge
from kg.vocabulary import Feature, Term, Vocabulary

SETTINGS = Settings(error_rate=0.1, confusion=2, silence=0.0)


def toy(rows: dict[str, dict], parents: dict[str, str] | None = None):
    """A table of patterns. A row: ``colour`` (value or several), ``length``, ``parts`` (part -> there)."""
    terms = {
        "bl:colour": Term("bl:colour", "feature", "colour"),
        "bl:Red": Term("bl:Red", "value", "red", feature="bl:colour"),
        "bl:DarkRed": Term("bl:DarkRed", "value", "dark red", feature="bl:colour", broader="bl:Red"),
        "bl:LightRed": Term("bl:LightRed", "value", "light red", feature="bl:colour", broader="bl:Red"),
        "bl:Blue": Term("bl:Blue", "value", "blue", feature="bl:colour"),
        "bl:Lid": Term("bl:Lid", "part", "lid"),
    }
    for name in rows:
        terms[name] = Term(name, "pattern", name[3:], broader=(parents or {}).get(name, ""))
    vocabulary = Vocabulary(dict(sorted(terms.items())), {"bl:colour": Feature("bl:colour", single=True, applies="bl:Lid")}, {})
    facts = []
    for name, row in rows.items():
        colours = row.get("colour", ())
        colours = (colours,) if isinstance(colours, str) else colours
        holds = {("bl:colour", c) for c in colours} if len(colours) == 1 else set()
        holds |= {("bl:colour", a) for c in colours if len(colours) == 1 for a in vocabulary.ancestors(c)}
        holds |= {("bl:hasPart" if there else "bl:lacksPart", part) for part, there in row.get("parts", {}).items()}
        known = Known(
            (name, *vocabulary.ancestors(name)),
            frozenset(holds),
            varies={"bl:colour": tuple(colours)} if len(colours) > 1 else {},
            inapplicable=frozenset(row.get("inapplicable", ())),
            length=row.get("length"),
        )
        facts.append(PatternFacts(name, known))
    return build_table(list(rows), facts, vocabulary, SETTINGS)


def colour(table, value: str) -> OneOf:
    return OneOf("bl:colour", table.vocabulary.subtree(value))


def test_bayes_by_hand() -> None:
    table = toy({"bl:A": {"colour": "bl:DarkRed"}, "bl:B": {"colour": "bl:Blue"}})
    form = colour(table, "bl:DarkRed")
    assert fits(form, table) == [1.0, 0.0]
    # Half of the patterns answer to it, so a wrong observation is this one with the whole error rate.
    assert likelihoods(form, table) == pytest.approx([0.9, 0.1])
    belief = believe(table, [likelihoods(form, table)])
    assert dict(belief.ranked) == pytest.approx({0: 0.9, 1: 0.1})
    twice = believe(table, [likelihoods(form, table)] * 2)
    assert twice.weights[0] == pytest.approx(0.81 / 0.82)


def test_what_is_rare_is_seldom_seen_by_mistake() -> None:
    assert error(0.5, SETTINGS) == pytest.approx(0.1)
    assert error(0.9, SETTINGS) == pytest.approx(0.1)
    assert error(0.4, SETTINGS) == pytest.approx(0.1 * 0.4 / 0.6)
    assert error(0.01, SETTINGS) == pytest.approx(0.05)  # bounded by ``confusion``


def test_unknown_counts_neither_way() -> None:
    rows = {f"bl:P{i}": {"colour": "bl:DarkRed" if i < 3 else "bl:Blue"} for i in range(4)}
    table = toy(rows | {"bl:Unknown": {}})
    found = fits(colour(table, "bl:DarkRed"), table)
    assert found[:4] == [1.0, 1.0, 1.0, 0.0]
    assert found[4] == pytest.approx(0.75, abs=0.08)  # as common as among those of which it is recorded, but for smoothing
    both = found[4] + fits(colour(table, "bl:Blue"), table)[4]
    assert both == pytest.approx(1.0, abs=0.12)  # what is left is the smoothing of values that nobody recorded


def test_broader_and_narrower_values() -> None:
    table = toy({"bl:A": {"colour": "bl:Red"}, "bl:B": {"colour": "bl:DarkRed"}, "bl:C": {"colour": "bl:Blue"}})
    assert fits(colour(table, "bl:Red"), table) == [1.0, 1.0, 0.0]
    narrow = fits(colour(table, "bl:DarkRed"), table)
    assert 0 < narrow[0] < 1 and narrow[1] == 1.0 and narrow[2] == 0.0


def test_what_varies_counts_by_share() -> None:
    table = toy(
        {"bl:A": {"colour": ("bl:DarkRed", "bl:Blue")}, "bl:B": {"colour": "bl:Blue"}, "bl:C": {"colour": "bl:DarkRed"}}
    )
    found = fits(colour(table, "bl:DarkRed"), table)
    assert found[0] == pytest.approx(0.5)


def test_inapplicable_is_known() -> None:
    table = toy({"bl:A": {"inapplicable": ["bl:colour"]}, "bl:B": {"colour": "bl:Blue"}, "bl:C": {}})
    assert fits(colour(table, "bl:Blue"), table)[0] == 0.0


def test_lengths_have_ranges_and_a_tolerance() -> None:
    table = toy({"bl:A": {"length": (120.0, 160.0)}, "bl:B": {"length": (300.0, 300.0)}, "bl:C": {}})
    exact = fits(Lengths(((140.0, True, 140.0, True),)), table)
    assert exact[0] == 1.0 and exact[1] < 0.001
    assert exact[2] == pytest.approx((exact[0] + exact[1]) / 2)
    near = fits(Lengths(((165.0, True, 165.0, True),)), table)
    assert 0.9 < near[0] < 1.0


def test_variants_are_folded_and_the_better_one_is_named() -> None:
    rows = {
        "bl:A": {"colour": ("bl:Blue", "bl:DarkRed")},
        "bl:A1": {"colour": "bl:Blue"},
        "bl:A2": {"colour": "bl:DarkRed"},
        "bl:B": {},
    }
    table = toy(rows, {"bl:A1": "bl:A", "bl:A2": "bl:A"})
    assert len(table.groups) == 2
    belief = believe(table, [likelihoods(colour(table, "bl:DarkRed"), table)])
    assert [table.patterns[i] for i, _ in belief.ranked] == ["bl:A2", "bl:B"]
    assert table.patterns[believe(table, []).ranked[0][0]] == "bl:A"
    assert sum(p for _, p in belief.ranked) == pytest.approx(1.0)


def test_nothing_is_ruled_out_for_good() -> None:
    table = toy({"bl:A": {"colour": "bl:DarkRed", "parts": {"bl:Lid": True}}, "bl:B": {"colour": "bl:Blue"}})
    belief = believe(table, [likelihoods(colour(table, "bl:DarkRed"), table)] * 5)
    assert all(p > 0 for _, p in belief.ranked)


def test_gain_is_that_of_the_best_question() -> None:
    # Four candidates; the lid splits them in halves, the colour singles one out: the lid tells more (1 bit against 0.81).
    rows = {f"bl:P{i}": {"parts": {"bl:Lid": i % 2 == 0}, "colour": "bl:Blue" if i else "bl:DarkRed"} for i in range(4)}
    table = toy(rows)
    belief = believe(table, [])
    found = gains(table, belief.weights, ())
    assert [slot for slot, _ in found] == ["bl:Lid", "bl:colour"]
    e = SETTINGS.error_rate
    # Answers are even and right with 1 - e: by hand, (1 - e) x log2(0.9 / 0.5), less the default cost.
    assert found[0][1] == pytest.approx((1 - e) * math.log2(0.9 / 0.5) * (1 - SETTINGS.default_cost), rel=0.01)
    assert gains(table, belief.weights, {"bl:Lid"}) == found[1:]


def test_what_separates_two_patterns() -> None:
    table = toy({"bl:A": {"colour": "bl:Red"}, "bl:B": {"colour": "bl:DarkRed"}, "bl:C": {"colour": "bl:Blue"}, "bl:D": {}})
    assert separating(table, 0, 2) == ["bl:colour"]
    assert separating(table, 0, 1) == []  # dark red is red
    assert separating(table, 2, 3) == []


# --- on the catalogue ------------------------------------------------------------------------------------------------
def test_probabilities_add_up_and_order_makes_no_difference(catalogue) -> None:
    identifier: Identifier = catalogue.identifier
    observations = identifier.observe("ring handles, box lock, curved, about 14 cm")
    there = identifier.identify(observations, limit=10_000)
    back = identifier.identify(observations[::-1], limit=10_000)
    assert sum(c.probability for c in there.candidates) == pytest.approx(1.0)
    assert len(there.candidates) == there.count
    assert [c.name for c in there.candidates] == [c.name for c in back.candidates]
    assert [c.probability for c in there.candidates] == pytest.approx([c.probability for c in back.candidates])


def test_taking_back_is_as_if_it_had_not_been_said(catalogue) -> None:
    identifier: Identifier = catalogue.identifier
    all_of_it = identifier.observe("ring handles, box lock, no teeth")
    without = identifier.observe("ring handles, no teeth")
    kept = tuple(o for o in all_of_it if o.text != "box lock")
    assert identifier.identify(kept).to_json() == identifier.identify(without).to_json()


def test_fits_agree_with_the_three_valued_truth(catalogue) -> None:
    """1 where the description is true, 0 where it is false, between where it is not known (no witness says otherwise)."""
    identifier: Identifier = catalogue.identifier
    table = identifier.table
    for item in identifier.observe("ring handle, box lock, transverse serration, straight, smooth jaws, a ratchet"):
        if not isinstance(item.form, OneOf):
            continue
        for facts, fit in zip(table.facts, fits(item.form, table), strict=True):
            truth = judge(item.form, facts.known, catalogue.vocabulary)
            if truth == 1:
                assert fit == 1.0
            elif truth == -1 and not facts.disputed:
                assert fit == 0.0
            elif truth == 0:
                assert fit < 1.0


def test_a_claim_is_argued(catalogue) -> None:
    outcome = catalogue.identify("ring handles, transverse serration, fully serrated", claim="Kelly forceps")
    claim = outcome.claim
    assert claim is not None and claim.label == "Kelly forceps"
    assert "has transverse serration" in claim.for_
    assert any(text.startswith("is serrated over the full length; recorded: ") for text in claim.against)
    assert claim.to_json().keys() >= {"label", "for", "against", "not_recorded"}


def test_the_contract_of_the_json(catalogue) -> None:
    outcome = catalogue.identify("ring handles, box lock").to_json()
    assert outcome.keys() >= {"candidates", "next", "inseparable", "spoken"}
    assert outcome["candidates"][0].keys() >= {"iri", "label", "probability", "unknown"}
    assert outcome["next"][0].keys() >= {"feature", "bits"}
    bits = [look["bits"] for look in outcome["next"]]
    assert bits == sorted(bits, reverse=True)
    assert "claim" not in outcome


def test_the_sentence(catalogue) -> None:
    spoken = catalogue.identify("ring handles, ratchet, transverse serration, half serrated, curved, about 14 cm").spoken
    assert spoken.startswith("Most likely a curved Kelly forceps, also called ")
    assert " because it " in spoken and "it could be " in spoken and spoken.endswith(".")
    assert "  " not in spoken and ",," not in spoken


def test_inseparable_groups_have_no_separating_feature(catalogue) -> None:
    identifier: Identifier = catalogue.identifier
    index = {catalogue.vocabulary.label(p): i for i, p in enumerate(identifier.table.patterns)}
    found = 0
    for text in ("ring handles, box lock, curved", "scissors", "thumb forceps, teeth at the tip", "a retractor"):
        for group in catalogue.identify(text).inseparable:
            found += 1
            assert len(group) > 1
            for one in group:
                for two in group:
                    assert one == two or not separating(identifier.table, index[one], index[two])
    assert found
