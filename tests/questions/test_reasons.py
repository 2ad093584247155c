"""Questions for a reason, a danger or a grip: the note that speaks of what is asked, and none that speaks of something else."""

from contextlib import suppress

import pytest

from kg import QuestionError
from kg.language import nodes

TOLD = [
    ("Why should you only put an Allis on tissue that is going to be removed?", "allistaken"),
    ("What is the danger of a large fenestrated aneurysm clip?", "fenestratedgap"),
    ("Why would a neurosurgeon choose a fenestrated aneurysm clip?", "fenestratedreach"),
    ("What is the drawback of a wire lid speculum?", "wirespeculum"),
    ("Why would a urologist prefer a rigid cystoscope to a flexible one?", "rigidscope"),
    ("Why use a dermatome instead of a free-hand knife?", "dermatomefreehand"),
    ("What is the trouble with the thickness setting of a dermatome?", "dermatome"),
    ("why are the rings of some needle holders gold?", "gold"),
    ("what is the advantage of a satin finish?", "satin"),
    ("why are most dissecting scissors curved?", "curvedscissors"),
    ("why shouldn't I cut stitches with Metzenbaums?", "nosuture"),
    ("should skin be held with toothed or plain forceps, and why?", "toothedskin"),
    ("what's the risk of putting a crushing clamp on healthy bowel?", "kocherbowel"),
    ("what makes the Babcock gentler than the Allis?", "babcock"),
    ("why does the Kelly have a ratchet?", "ratchet"),
    ("what does the double joint of a rongeur buy you?", "doubleaction"),
    ("how is a thumb forceps held?", "gripthumb"),
    ("how do I hold an artery clip?", "gripringed"),
    ("how is a Mathieu held?", "grippalm"),
    ("what can go wrong with a Braithwaite knife?", "braithwaite"),
    ("why are instruments counted before closure?", "count"),
    ("what does a satin finish do?", "satin"),
    ("what is titanium good for in microsurgery?", "titanium"),
    ("how should I hold scissors with ring handles?", "gripringed"),
    ("which fingers go in the rings of a needle holder?", "gripringed"),
]
NOT_TOLD = [
    "why does the sinus forceps have a ratchet?",  # it has none
    "what makes the Allis gentler than the Babcock?",
    "why are Metzenbaum scissors used to cut sutures?",
    "why is the Kelly an artery forceps?",
    "why are the handles of scissors curved?",
    "why count on me?",
    "why are there two Kochers?",
    "why do I need two Babcocks?",
    "how are scissors sharpened?",
    "how is the needle held in a needle holder?",
    "which forceps are held like a pencil?",
    "what are gold handles?",
    "what does a needle holder do?",
    "what is a dental mirror good for?",
    "why must ratchets be open in the autoclave?",
]


def notes(catalogue, text, after=None):
    """The notes that an answer tells, by itself or beside it."""
    answer = catalogue.ask(text, after=after)
    told = [a.tree for a in (answer, answer.also) if a is not None]
    return [n for tree in told if isinstance(tree, nodes.ReasonNotes) for n in tree.notes]


@pytest.mark.parametrize(("text", "note"), TOLD)
def test_the_note_that_speaks_of_it_is_told(catalogue, text, note):
    assert note in notes(catalogue, text)


@pytest.mark.parametrize("text", NOT_TOLD)
def test_no_note_stands_for_something_else(catalogue, text):
    with suppress(QuestionError):
        assert not notes(catalogue, text)


def test_a_reason_is_asked_of_what_went_before(catalogue):
    before = catalogue.ask("describe the sinus forceps")
    assert notes(catalogue, "why has it got no ratchet?", before) == ["sinusratchet"]


def test_what_went_before_is_meant_where_only_a_part_is_named(catalogue):
    before = catalogue.ask("what are bandage scissors?")
    assert notes(catalogue, "why is the tip blunt?", before) == ["bandageknob"]


def test_every_topic_names_what_there_is(catalogue):
    for name, topic in catalogue.lexicon.words.reasons["topic"].items():
        unknown = [t for t in (*topic.get("terms", ()), *topic.get("holds", ())) if t not in catalogue.vocabulary.terms]
        assert not unknown, name


def test_every_note_is_read_back_and_has_its_sources(catalogue):
    for name, note in catalogue.lexicon.words.reasons["note"].items():
        answer = catalogue.answer(nodes.ReasonNotes((name,)))
        assert catalogue.understand(answer.reading).question == nodes.ReasonNotes((name,))
        assert len(answer.care[0].sources) == len(note["source"])
        assert bool(answer.care[0].applies_to) == bool(note.get("bears"))


def test_what_something_can_be_had_with_is_listed(catalogue):
    found = catalogue.ask("which needle holders are available with tungsten carbide inserts?")
    assert "Crile-Wood needle holder" in {m.label for m in found.matches}
    assert "with it and without it" in found.notes[0]
    assert not catalogue.ask("needle holders with tungsten carbide inserts").matches


def test_a_tray_is_decided_locally(catalogue):
    found = catalogue.ask("what goes on a basic tonsillectomy tray?")
    assert found.matches and "decided locally" in found.notes[0]
    assert not any("tray" in n for n in catalogue.ask("instruments used in tonsillectomy").notes)


def test_a_name_may_hold_the_word_of_another_topic(catalogue):
    assert catalogue.ask("is the cow horn an extraction forceps?").argument.holds is True
    with pytest.raises(QuestionError) as refused:
        catalogue.ask("which instruments are used on cows?")
    assert refused.value.code == "BL-Q11"
