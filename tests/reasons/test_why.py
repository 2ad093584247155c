"""Why and why not, whole answers on the small catalogue, and what holds for every membership of the shipped one."""

from __future__ import annotations

import pytest

from kg import names
from kg.answer.justify import CAP, SENTENCES, closure_of
from kg.answer.reasons import needs, what_fails
from kg.language import nodes
from kg.truth import normalise


def test_all_ways_in_reading_order(told):
    assert (
        told("why is the Alder clamp a non-crushing clamp")
        == """\
I read this as: why is Alder clamp a non-crushing clamp?

It is so.

Because (one of 2 ways)
  1. The Alder clamp is made for clamping bowel.
      A made-up book
  2. The Alder clamp is non-crushing.
      A made-up page
  3. What is made for clamping bowel is made for clamping.
  4. A clamp is a pattern that is made for clamping.
  5. A non-crushing clamp is a clamp that is non-crushing.

Or because (2 of 2)
  1. The Alder clamp is made for clamping bowel.
      sources as above
  2. The Alder clamp counts as atraumatic.
      A made-up book
  3. What is made for clamping bowel is made for clamping.
  4. What counts as atraumatic is non-crushing.
  5. A clamp is a pattern that is made for clamping.
  6. A non-crushing clamp is a clamp that is non-crushing.
"""
    )


def test_many_small_steps_become_one_sentence(told):
    assert (
        told("why are Cedar scissors sharp-sharp scissors")
        == """\
I read this as: why is Cedar scissors sharp-sharp scissors?

It is so.

Because
  1. The Cedar scissors have a screw joint.
      A made-up book
  2. The Cedar scissors have sharp-sharp tips.
      A made-up book
  3. The Cedar scissors are made for cutting tissue.
      A made-up book
  4. What has sharp-sharp tips has a blade; what has a screw joint has a joint; what is made for
     cutting tissue is made for cutting with two blades.
  5. Scissors are patterns that have a blade, have a joint and are made for cutting with two blades.
  6. Sharp-sharp scissors are scissors that have sharp-sharp tips.
"""
    )


def test_disputed_statements_are_marked(told):
    reasons, bearing = told("why is the Birch clamp serrated longitudinally").split("\n\nWhat bears on it")
    assert (
        reasons
        == """\
I read this as: why does Birch clamp have longitudinal serration?

It is so, by the weight of the sources; but they disagree, see below.

Because
  1. The Birch clamp has longitudinal serration. (disputed)
      A made-up book

Disputed
  Birch clamp: jaw surface
    adopted   longitudinal serration (A made-up book)
    also said criss-cross serration (A made-up page)"""
    )
    assert "longitudinal serration means" in bearing
    assert "clamping bowel" in bearing
    assert "What sources say of the reason" in bearing  # of lengthwise grooves on bowel clamps


def test_what_bears_on_a_reason_is_told_where_none_is_recorded(told):
    """Not of a category, whose definition is the reason, and not where it is asked whether it is so."""
    text = told("why is the Alder clamp not atraumatic")
    assert "a reason why something is made or done so is not" in text
    assert "atraumatic means" in text
    assert "effect on tissue" in text
    for other in ("why is the Alder clamp a non-crushing clamp", "is the Alder clamp atraumatic"):
        assert "What bears on it" not in told(other)


@pytest.mark.parametrize(
    "question",
    [
        "why is the Birch clamp not a non-crushing clamp",
        "why isn't the Birch clamp a non-crushing clamp?",
        "why is it that the Birch clamp is not a non-crushing clamp",
        "what keeps the Birch clamp from being a non-crushing clamp",
        "what would it take for the Birch clamp to be a non-crushing clamp",
    ],
)
def test_why_not(told, question):
    assert (
        told(question)
        == """\
I read this as: why is Birch clamp not a non-crushing clamp?

It is so.

Because
  1. The Birch clamp is crushing.
      A made-up book
  2. A piece has one effect on tissue: crushing rules out non-crushing.

What fails or is not recorded
  1. effect on tissue: non-crushing (fails: recorded as crushing)
"""
    )


def test_why_not_where_it_is_open(told):
    assert (
        told("why is the Elm holder not a needle holder with a ratchet")
        == """\
I read this as: why is Elm holder not a needle holder with a ratchet?

Not recorded: the sources of the catalogue do not decide it. It may be so or not.

What is open
  1. ratchet (not recorded)
"""
    )


def test_nearest_condition_first(small):
    """One statement more is nearer than one withdrawn and one more: the ratchet before the purpose."""
    missing = small.ask("why is the Elm holder a clamp with a ratchet").argument.missing
    assert missing == ("ratchet (not recorded)", "purpose: clamping (fails: recorded as holding a suture needle)")


def test_nearest_alternative_first(small):
    """The Elm holder lacks one condition of the second alternative and two of the first."""
    ctx = small.context
    expr = nodes.Or(
        (
            nodes.And((nodes.IsA("bl:Clamp"), nodes.HasPart("bl:Ratchet"))),
            nodes.And((nodes.IsA("bl:NeedleHolder"), nodes.HasPart("bl:Ratchet"))),
        )
    )
    facts = ctx.reader.facts(["bl:ElmHolder"])["bl:ElmHolder"]
    form = normalise(expr, ctx.vocabulary)
    assert [len(way) for way in needs(ctx, form, facts)] == [1, 2]
    assert what_fails(ctx, form, facts)[0] == "ratchet (not recorded)"


def test_what_excludes_itself_says_so(small):
    argument = small.ask("why is the Alder clamp a crushing non-crushing clamp").argument
    assert argument.holds is False
    assert argument.missing == ("The conditions exclude each other: nothing can be all of this.",)


def test_statement_forms(small):
    told = {
        "Alder clamp is a non-crushing clamp": ("why", True),
        "the Birch clamp is not a non-crushing clamp": ("why", True),
        "Alder clamp but not Birch clamp is a non-crushing clamp": ("contrast", True),
        "why is the Alder clamp a clamp": ("why", True),
    }
    for statement, expected in told.items():
        answer = small.why(statement)
        assert (answer.kind, answer.argument.holds) == expected, statement


def test_a_denial_and_a_size_have_their_witnesses(small):
    denied = small.ask("why is the Elm holder not used on bowel").argument
    assert [(r.text, r.sources) for r in denied.justifications[0]] == [
        ("Expressly denied: used on bowel.", ("A made-up page",))
    ]
    sized = small.ask("why is the Elm holder shorter than 20 cm").argument
    assert [(r.text, r.sources) for r in sized.justifications[0]] == [
        ("All sizes recorded lie between 150 and 180 mm.", ("A made-up page",))
    ]


def test_alternatives_do_not_repeat_what_a_smaller_set_shows(small):
    """No justification holds all the statements of another one."""
    argument = small.ask("why is the Alder clamp an intestinal clamp or a non-crushing clamp").argument
    assert len(argument.justifications) == 1
    assert argument.justifications[0][0].text == "The Alder clamp is made for clamping bowel."


def test_every_membership_of_the_shipped_catalogue_has_short_reasons(catalogue):
    """Each inferred membership has a justification; as many as minimal sets up to the cap; about seven sentences at most."""
    ctx = catalogue.context
    patterns = [t.name for t in ctx.vocabulary.by_role("pattern")]
    seen: set[tuple[str, frozenset]] = set()
    checked = 0
    for pattern, facts in ctx.reader.facts(patterns).items():
        closure = closure_of(ctx, facts)
        for prop, category in sorted(facts.known.holds):
            sets = closure.literals.get((prop, category), ())
            key = (category, frozenset(sets))
            if prop != names.TYPE or category not in ctx.vocabulary.definitions or key in seen:
                continue
            seen.add(key)
            argument = catalogue.answer(nodes.Why(pattern, nodes.IsA(category))).argument
            assert argument.holds is True
            assert len(argument.justifications) == min(len(sets), CAP)
            assert argument.capped is (len(sets) > CAP)
            for way, premises in zip(argument.justifications, sets, strict=False):
                assert len(premises) <= len(way) <= SENTENCES + 1, [r.text for r in way]
                assert all(r.text.endswith(".") for r in way)
            checked += 1
    assert checked > 100


def test_a_why_not_about_what_is_so_says_so(told):
    assert told("why is the Alder clamp not atraumatic").split("\n\n")[1:3] == [
        "The question supposes what is not so.",
        "Because\n  1. The Alder clamp counts as atraumatic.\n      A made-up book",
    ]
