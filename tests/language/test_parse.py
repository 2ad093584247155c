"""Sentences that are understood and sentences that are refused, from text files anyone may extend."""

from __future__ import annotations

from pathlib import Path

import pytest

from kg.errors import QuestionError
from kg.language import Lexicon, nodes, parse, parse_statement, say
from kg.language.tokens import MAX_CHARACTERS, MAX_NESTING

CASES = Path(__file__).parent / "cases"


def rows(name: str) -> list[tuple[str, ...]]:
    lines = (CASES / name).read_text(encoding="utf-8").splitlines()
    return [tuple(cell.strip() for cell in line.split(" ; ")) for line in lines if line and not line.startswith("#")]


SENTENCES = rows("sentences.txt")
REFUSED = rows("refused.txt")


def test_there_are_many_sentences() -> None:
    assert len(SENTENCES) >= 120
    assert len({sentence for sentence, _ in SENTENCES}) == len(SENTENCES)


@pytest.mark.parametrize(("sentence", "reading"), SENTENCES)
def test_sentence_is_read_back(sentence: str, reading: str, lexicon: Lexicon) -> None:
    question = parse(sentence, lexicon)
    assert say(question, lexicon) == reading
    assert parse(reading, lexicon) == question
    assert say(parse(reading, lexicon), lexicon) == reading


@pytest.mark.parametrize(("sentence", "code", "pointed_at"), REFUSED)
def test_error_sentence_is_refused(sentence: str, code: str, pointed_at: str, lexicon: Lexicon) -> None:
    with pytest.raises(QuestionError) as caught:
        parse(sentence, lexicon)
    error = caught.value
    start, end = error.span
    assert (error.code, sentence[start:end]) == (code, "" if pointed_at == "-" else pointed_at)
    assert error.question == sentence
    for reading in error.readings:
        assert reading != sentence


@pytest.mark.parametrize("sentence", [s for s, code, _ in REFUSED if code == "BL-Q05"])
def test_error_readings_are_themselves_understood(sentence: str, lexicon: Lexicon) -> None:
    with pytest.raises(QuestionError) as caught:
        parse(sentence, lexicon)
    assert caught.value.readings
    for reading in caught.value.readings:
        parse(reading, lexicon)


CLAMP, TEETH = nodes.IsA("bl:Clamp"), nodes.Has("bl:tipTeeth", "bl:TipTeeth")
RATCHET, RINGS = nodes.HasPart("bl:Ratchet"), nodes.HasPart("bl:FingerRings")
CURVED, STRAIGHT = nodes.Has("bl:curvature", "bl:Curved"), nodes.Has("bl:curvature", "bl:Straight")
CRUSHING = nodes.Has("bl:crushing", "bl:Crushing")


def used_on(value: str) -> nodes.Has:
    return nodes.Has("bl:usedOn", value)


@pytest.mark.parametrize(
    ("sentence", "question"),
    [
        ("clamps without teeth or a ratchet", nodes.Filter(nodes.And((CLAMP, nodes.Not(nodes.Or((TEETH, RATCHET))))))),
        ("clamps with no teeth or ratchet", nodes.Filter(nodes.And((CLAMP, nodes.Not(nodes.Or((TEETH, RATCHET))))))),
        ("clamps with teeth and a ratchet", nodes.Filter(nodes.And((CLAMP, TEETH, RATCHET)))),
        (
            "clamps with teeth or a ratchet and rings",
            nodes.Filter(nodes.And((CLAMP, nodes.Or((TEETH, nodes.And((RATCHET, RINGS))))))),
        ),
        (
            "clamps with (teeth or a ratchet) and rings",
            nodes.Filter(nodes.And((CLAMP, nodes.Or((TEETH, RATCHET)), RINGS))),
        ),
        ("clamps with no teeth and a ratchet", nodes.Filter(nodes.And((CLAMP, nodes.Not(TEETH), RATCHET)))),
        (
            "crushing curved or straight clamps",
            nodes.Filter(nodes.And((CLAMP, CRUSHING, nodes.Or((CURVED, STRAIGHT))))),
        ),
        (
            "crushing and curved or toothed clamps",
            nodes.Filter(nodes.And((CLAMP, nodes.Or((nodes.And((CRUSHING, CURVED)), TEETH))))),
        ),
        (
            "clamps used on bowel or vessels",
            nodes.Filter(nodes.And((CLAMP, nodes.Or((used_on("bl:Bowel"), used_on("bl:Vessel")))))),
        ),
        ("clamps not used on bowel", nodes.Filter(nodes.And((CLAMP, nodes.Not(used_on("bl:Bowel")))))),
        ("clamps never used on bowel", nodes.Filter(nodes.And((CLAMP, nodes.Has("bl:notUsedOn", "bl:Bowel"))))),
        (
            "artery forceps or clamps with a ratchet",  # what is said after families holds for all of them
            nodes.Filter(nodes.And((nodes.Or((nodes.IsA("bl:ArteryForceps"), CLAMP)), RATCHET))),
        ),
        (
            "artery forceps or (clamps with a ratchet)",
            nodes.Filter(nodes.Or((nodes.IsA("bl:ArteryForceps"), nodes.And((CLAMP, RATCHET))))),
        ),
        ("clamps longer than 5 1/2 inches", nodes.Filter(nodes.And((CLAMP, nodes.Length(">", 139.7))))),
        ("what is the joint of the Kelly forceps?", nodes.Value("bl:KellyForceps", ("bl:joint",))),
        ("why isn't Kelly crushing", nodes.Why("bl:KellyForceps", CRUSHING, True)),
        ("is Kelly not crushing", nodes.Holds("bl:KellyForceps", nodes.Not(CRUSHING))),
        ("who says Doyen is a non-crushing clamp", nodes.Sources("bl:DoyenIntestinalClamp", ("bl:crushing",))),
        ("what is disputed?", nodes.Disputes(nodes.Everything())),
        ("compare Kelly, Crile and clamps", nodes.Compare(("bl:KellyForceps", "bl:CrileForceps", "bl:Clamp"))),
        ("instruments", nodes.Filter(nodes.Everything())),
        ("Kelly", nodes.Value("bl:KellyForceps", ())),
        (
            "clamps that are not crushing clamps",
            nodes.Filter(nodes.And((CLAMP, nodes.Not(nodes.IsA("bl:CrushingClamp"))))),
        ),
        ("not crushing clamps", nodes.Filter(nodes.And((CLAMP, nodes.Not(CRUSHING))))),
    ],
)
def test_tree(sentence: str, question: nodes.Question, lexicon: Lexicon) -> None:
    assert parse(sentence, lexicon) == question


def test_spans_point_at_the_words(lexicon: Lexicon) -> None:
    sentence = "clamps with a box lock"
    question = parse(sentence, lexicon)
    assert isinstance(question, nodes.Filter) and isinstance(question.expr, nodes.And)
    assert [sentence[i.span[0] : i.span[1]] for i in question.expr.items] == ["clamps", "box lock"]


@pytest.mark.parametrize(
    ("statement", "expected"),
    [
        (
            "Doyen intestinal clamp is a non-crushing clamp",
            nodes.Holds("bl:DoyenIntestinalClamp", nodes.IsA("bl:NonCrushingClamp")),
        ),
        (
            "the Kelly forceps has a ratchet and no teeth",
            nodes.Holds("bl:KellyForceps", nodes.And((RATCHET, nodes.Not(TEETH)))),
        ),
        ("Kelly lacks teeth", nodes.Holds("bl:KellyForceps", nodes.Not(TEETH))),
        ("Kelly is not a clamp", nodes.Holds("bl:KellyForceps", nodes.Not(CLAMP))),
        ("blade 10 fits the no. 3 handle", nodes.Holds("bl:ScalpelBlade10", nodes.Has("bl:fits", "bl:ScalpelHandle3"))),
    ],
)
def test_statement(statement: str, expected: nodes.Holds, lexicon: Lexicon) -> None:
    assert parse_statement(statement, lexicon) == expected


@pytest.mark.parametrize(
    "text", ["clamps are crushing", "Kelly", "Kelly is", "is Kelly crushing", "compare Kelly and Crile", ""]
)
def test_error_statement(text: str, lexicon: Lexicon) -> None:
    with pytest.raises(QuestionError):
        parse_statement(text, lexicon)


# --- whole messages ---------------------------------------------------------------------------------------------------
def report(text: str, lexicon: Lexicon) -> str:
    """Everything a person is told."""
    with pytest.raises(QuestionError) as caught:
        parse(text, lexicon)
    error = caught.value
    lines = [str(error), f"  {text}", "  " + " " * error.span[0] + "^" * max(1, error.span[1] - error.span[0])]
    lines += [
        f"{name}: {' | '.join(getattr(error, name))}" for name in ("expected", "near", "readings") if getattr(error, name)
    ]
    return "\n".join(lines)


def test_error_unknown_word_message(lexicon: Lexicon) -> None:
    assert report("clamps by serratoin", lexicon) == (
        'I do not know the word "serratoin". [BL-Q02]\n'
        "  clamps by serratoin\n"
        "            ^^^^^^^^^\n"
        "expected: joint | jaw surface\n"
        "near: serration | serrations | serrated"
    )


def test_error_wrong_place_message(lexicon: Lexicon) -> None:
    assert report("clamps used on curved", lexicon) == (
        '"curved" cannot stand here. [BL-Q03]\n'
        "  clamps used on curved\n"
        "                 ^^^^^^\n"
        "expected: not | bowel | suture needle | skin"
    )


def test_error_too_early_message(lexicon: Lexicon) -> None:
    assert report("scissors longer than 14", lexicon) == (
        "The question stops too early. [BL-Q03]\n"
        "  scissors longer than 14\n"
        "                         ^\n"
        "expected: mm | cm | inches | metres"
    )


def test_error_bracket_message(lexicon: Lexicon) -> None:
    assert report("clamps with (a ratchet", lexicon) == (
        "This bracket is never closed. [BL-Q04]\n"
        'Add a ")" where its part of the question ends.\n'
        "  clamps with (a ratchet\n"
        "              ^"
    )


def test_error_ambiguous_name_message(lexicon: Lexicon) -> None:
    assert report("is Kocher crushing?", lexicon) == (
        '"Kocher" can mean 2 things: Kocher intestinal clamp, Rochester-Ochsner forceps. [BL-Q05]\n'
        "Ask with the full name.\n"
        "  is Kocher crushing?\n"
        "     ^^^^^^\n"
        "readings: is Kocher intestinal clamp crushing? | is Rochester-Ochsner forceps crushing?"
    )


def test_error_advice_message(lexicon: Lexicon) -> None:
    assert report("which clamp is best for my patient", lexicon) == (
        "Boxlock describes instruments; it cannot choose one for a patient or an operation. [BL-Q06]\n"
        "That choice lies with the responsible clinician, local policy and the maker's instructions. "
        "Ask what an instrument is, has or is used on.\n"
        "  which clamp is best for my patient\n"
        "                 ^^^^"
    )


def test_error_empty_message(lexicon: Lexicon) -> None:
    assert report("  \n ", lexicon).startswith("The question is empty. [BL-Q01]")


# --- limits --------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "BL-Q01"),
        ("\t\n", "BL-Q01"),
        ("?!", "BL-Q01"),
        ("clamps " * 20_000, "BL-Q07"),
        ("(" * 100_000, "BL-Q07"),
        ("x" * 100_000, "BL-Q07"),
        ("(" * (MAX_NESTING + 1) + "clamps" + ")" * (MAX_NESTING + 1), "BL-Q07"),
        ("not " * 400 + "curved", "BL-Q07"),
        ("that are " * 200 + "curved", "BL-Q07"),
        ("clamps\x00", "BL-Q08"),
        ("clamps\x1b[31m", "BL-Q08"),
        ("clamps \u202e curved", "BL-Q08"),
        ("clamps \ud800", "BL-Q08"),
        ("clamps \U0001f600", "BL-Q08"),
        ("🙂", "BL-Q08"),
        ("quelle pince est la meilleure?", "BL-Q02"),
        ("哪个钳子最好", "BL-Q02"),
        ("какой зажим", "BL-Q02"),
    ],
)
def test_error_limits(text: str, code: str, lexicon: Lexicon) -> None:
    with pytest.raises(QuestionError) as caught:
        parse(text, lexicon)
    assert caught.value.code == code
    start, end = caught.value.span
    assert 0 <= start <= end <= len(text)


def test_the_longest_and_deepest_question_is_read(lexicon: Lexicon) -> None:
    text = "(" * MAX_NESTING + "curved" + ")" * MAX_NESTING
    assert parse(text, lexicon) == nodes.Filter(CURVED)
    filled = "clamps" + " " * (MAX_CHARACTERS - 6)
    assert parse(filled, lexicon) == nodes.Filter(CLAMP)


def test_tabs_and_newlines_are_spaces(lexicon: Lexicon) -> None:
    assert parse("curved\n\tclamps\r\n", lexicon) == parse("curved clamps", lexicon)


@pytest.mark.parametrize("word", ["mainly", "usually", "titanium", "left-handed"])
def test_error_no_content_word_is_dropped(word: str, lexicon: Lexicon) -> None:
    with pytest.raises(QuestionError):
        parse(f"clamps {word} used on bowel", lexicon)
