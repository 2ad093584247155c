"""What people say -> observations, or an error with its place."""

from __future__ import annotations

import pytest

from kg import QuestionError
from kg.language import nodes


def seen(catalogue, text: str) -> list[nodes.Expr]:
    return [o.expr for o in catalogue.identifier.observe(text)]


def test_a_description_is_cut_into_what_is_seen(catalogue) -> None:
    text = "ring handled, box lock, transverse serration on half the jaw, no teeth, about 14 cm, curved"
    assert seen(catalogue, text) == [
        nodes.Has("bl:handle", "bl:RingHandle"),
        nodes.Has("bl:joint", "bl:BoxLock"),
        nodes.Has("bl:jawSurface", "bl:TransverseSerration"),
        nodes.Has("bl:serrationExtent", "bl:DistalHalfSerration"),
        nodes.Not(nodes.Has("bl:tipTeeth", "bl:TipTeeth")),
        nodes.Length("=", 140.0),
        nodes.Has("bl:curvature", "bl:Curved"),
    ]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("It has a ratchet and I can see a box lock.", [nodes.HasPart("bl:Ratchet"), nodes.Has("bl:joint", "bl:BoxLock")]),
        ("a ratchet but no finger rings", [nodes.HasPart("bl:Ratchet"), nodes.Not(nodes.HasPart("bl:FingerRings"))]),
        ("no teeth and a ratchet", [nodes.Not(nodes.Has("bl:tipTeeth", "bl:TipTeeth")), nodes.HasPart("bl:Ratchet")]),
        ("between 12 and 14 cm long", [nodes.Length("between", 120.0, 140.0)]),
        ("joint=box lock", [nodes.Has("bl:joint", "bl:BoxLock")]),
        ("bl:joint=bl:BoxLock", [nodes.Has("bl:joint", "bl:BoxLock")]),
        ("joint=BoxLock, length=14cm", [nodes.Has("bl:joint", "bl:BoxLock"), nodes.Length("=", 140.0)]),
        ("ratchet=no", [nodes.Not(nodes.HasPart("bl:Ratchet"))]),
        ("ratchet=yes", [nodes.HasPart("bl:Ratchet")]),
        ("curved, curved", [nodes.Has("bl:curvature", "bl:Curved")]),
        (
            "straight blades",  # of scissors, of a knife, of a laryngoscope
            [
                nodes.Or(
                    (
                        nodes.Has("bl:bladeEdge", "bl:StraightEdge"),
                        nodes.Has("bl:bladeForm", "bl:StraightBlade"),
                        nodes.Has("bl:curvature", "bl:Straight"),
                    )
                )
            ],
        ),
    ],
)
def test_ways_to_say_it(catalogue, text: str, expected: list[nodes.Expr]) -> None:
    assert seen(catalogue, text) == expected


@pytest.mark.parametrize(
    ("text", "code", "marked"),
    [
        ("", "BL-Q01", ""),
        (", ;", "BL-Q01", ", ;"),
        ("curved, flibber", "BL-Q02", "flibber"),
        ("a curved flibber", "BL-Q02", "flibber"),
        ("curved, Kelly forceps", "BL-Q03", "Kelly forceps"),
        ("joint=banana", "BL-Q03", "banana"),
        ("ratchet=perhaps", "BL-Q03", "perhaps"),
        ("length=long", "BL-Q03", "long"),
        ("what is a box lock?", "BL-Q03", "what is"),
        ("curved, scissors by joint", "BL-Q03", "by"),
    ],
)
def test_what_is_not_understood_is_marked(catalogue, text: str, code: str, marked: str) -> None:
    with pytest.raises(QuestionError) as caught:
        catalogue.identifier.observe(text)
    error = caught.value
    assert error.code == code
    assert text[error.span[0] : error.span[1]] == marked


@pytest.mark.parametrize(
    "text", ["(" * 100, "no " * 300, "curved, " * 400, "=", "==", "joint=", "=joint", "14", "14 cm 14", "\x00"]
)
def test_odd_input_is_refused_or_read_but_never_fails(catalogue, text: str) -> None:
    try:
        found = catalogue.identifier.observe(text)
    except QuestionError as error:
        assert error.code.startswith("BL-Q")
        assert 0 <= error.span[0] <= error.span[1] <= len(error.question)
    else:
        assert found


def test_what_is_not_understood_can_be_set_aside(catalogue) -> None:
    outcome = catalogue.identify("curved flibber, box lock", strict=False)
    assert outcome.set_aside == ("flibber",)
    assert outcome.to_json()["not_understood"] == ["flibber"]
    assert len(outcome.seen) == 2
    with pytest.raises(QuestionError):
        catalogue.identify("flibber", strict=False)


def test_setting_aside_never_turns_an_absence_into_a_presence(catalogue) -> None:
    aside: list[QuestionError] = []
    found = catalogue.identifier.observe("curved, no flibber teeth", aside)
    assert [o.expr for o in found] == [nodes.Has("bl:curvature", "bl:Curved")]
    assert aside


def test_by_default_unknown_words_are_named_with_the_nearest_known_one(catalogue) -> None:
    outcome = catalogue.identify("ring handles, a ratchuet, serrated over the distal half")
    assert outcome.candidates[0].label == "Kelly forceps"
    assert dict(zip(outcome.set_aside, outcome.nearest, strict=True)) == {"ratchuet": "ratchet"}
    with pytest.raises(QuestionError):
        catalogue.identify("ring handles, a ratchuet", strict=True)
