"""Questions on parts and names: how something stays open or shut, how many pieces and teeth, how sizes are given, how a name is
written and where it comes from."""

from typing import Any

import pytest

import kg


@pytest.mark.parametrize(
    ("text", "reading"),
    [
        ("how does a Weitlaner stay open?", "what is the retention of Weitlaner retractor?"),
        ("what keeps a Gelpi open?", "what is the retention of Gelpi retractor?"),
        ("what holds a Foley catheter in place?", "what is the retention of Foley catheter?"),
        ("what keeps a bulldog clamp closed?", "describe the proximal end of bulldog clamp"),
        ("how does a towel clip lock?", "what are the parts and retention of towel clips?"),
        ("what is a Kelly? > then what keeps it closed?", "describe the proximal end of Kelly forceps"),
        ("what is a Kelly? > how should it be held? > how many teeth has it?", "what are the tip teeth of Kelly forceps?"),
        ("how many pieces is a Veress needle?", "what is the number of pieces of Veress needle?"),
        ("how many teeth does an Adson forceps have?", "what are the tip teeth of Adson forceps?"),
        ("what is catheter size given in?", "what is the size system of tubes and catheters?"),
        ("1 French is how many mm?", "what is French gauge?"),
        ("what does the 11 on a blade mean?", "what is No. 11 scalpel blade?"),
        ("what do surgeons call pickups?", "what is a thumb forceps?"),
        ("how do you spell Weitlaner?", "what is Weitlaner retractor?"),
        ("why use a malleable retractor?", "what is malleable retractor used for?"),
        ("how should I hold a Deaver?", "what is Deaver retractor held in?"),
        ("how does a double-action rongeur work?", "what is a double action?"),
        ("why is a box lock hard to clean?", "care notes on the joint and cleaning"),
        ("what is a Weitlaner? > how should it be reprocessed after use?", "reprocessing of Weitlaner retractor"),
        ("what locks a laparoscopic grasper?", "describe the proximal end of laparoscopic grasper"),
        ("what criteria make a clamp non-crushing?", "what is non-crushing?"),
        ("what sorts of curettes are there?", "curettes by kind"),
        ("how do scissors differ by blade shape?", "scissors by form of the blade"),
        ("what is the short name for a Mayo-Hegar needle holder?", "what is Mayo-Hegar needle holder?"),
        ("what does NH stand for?", "what is a needle holder?"),
        ("what does a ring handle give you?", "what is a ring handle?"),
        ("how many millimetres is 30 French?", "what is French gauge?"),
        ("group scissors by whether their blades are curved or straight", "scissors by curvature"),
        ("what is the lock of the Kielland forceps for?", "what is the sliding lock of Kielland forceps for?"),
        ("what is the lock of the Kelly for?", "what is the ratchet of Kelly forceps for?"),
        ("how many scissors have finger rings?", "how many scissors with finger rings?"),
        ("how many clamps with a ratchet are there?", "how many clamps with a ratchet?"),
    ],
)
def test_read_as(text: str, reading: str, catalogue: Any) -> None:
    before: Any = None
    for turn in text.split(" > "):
        before = catalogue.ask(turn, after=before)
    assert before.reading == reading
    assert before.unread is None


@pytest.mark.parametrize(
    "text",
    [
        "who is the Kocher clamp named after?",
        "why is it called a mosquito?",
        "where does the name bulldog clamp come from?",
    ],
)
def test_where_a_name_comes_from_is_not_recorded(text: str, catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError) as caught:
        catalogue.ask(text)
    assert caught.value.code == "BL-Q11"


@pytest.mark.parametrize("text", ["how many finger rings do scissors have?", "how many jaws does a hemostat have?"])
def test_a_number_of_parts_is_no_count_of_instruments(text: str, catalogue: Any) -> None:
    assert catalogue.ask(text).kind != "count"


@pytest.mark.parametrize("text", ["then what keeps it closed?", "where does the tip of the curved blade go?"])
def test_no_meaning_stands_for_something_else(text: str, catalogue: Any) -> None:
    with pytest.raises(kg.QuestionError):
        catalogue.ask(text)


def test_that_no_reason_is_recorded_is_told_beside_a_meaning(catalogue: Any) -> None:
    answer = catalogue.ask("why do some scissors have no ratchet?")
    assert answer.kind == "define"
    assert any("does not record why" in note for note in answer.notes)


def test_a_feature_that_is_named_is_explained(catalogue: Any) -> None:
    answer = catalogue.ask("what is the pelvic curve of obstetric forceps?")
    assert answer.kind == "value"
    assert any("follow the birth canal" in note for note in answer.notes)


def test_what_is_said_twice_is_told(catalogue: Any) -> None:
    answer = catalogue.ask("which instruments are single use, i.e. not reprocessed?")
    assert answer.tree == catalogue.parse("which instruments are single use only?")
    assert any("i.e. not reprocessed" in note for note in answer.notes)
